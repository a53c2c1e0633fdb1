//! The quick way from a scenario to one with other numbers: what they do not touch is shared with it. It gives up where anything is wrong; the
//! whole way then says what.

use super::LoadedScenario;
use super::whole::built;
use crate::field::Step;
use crate::overrides::{Numbers, Override, Section};
use crate::scenario_checks;
use crate::scenario_file::ScenarioFile;
use crate::schema::Kind;
use serde::Deserialize;
use serde_json::Value;
use std::sync::Arc;

impl LoadedScenario {
    /// The same scenario with further overrides, where these change nothing but numbers of the throw, to right ones.
    pub(crate) fn quickly_changed_by(&self, more: &[Override]) -> Option<Self> {
        let of_airframe = more.iter().filter(|one| one.kind() == Kind::Airframe);
        let of_airframe: Vec<Override> = of_airframe.cloned().collect();
        let airframe = match of_airframe.as_slice() {
            [] => Arc::clone(&self.airframe),
            more => self.airframe.quickly_changed_by(more)?,
        };
        let file = self.file_with(more)?;
        scenario_checks::check(&file).ok()?;
        if !self.has_zones_of(&file) {
            return None;
        }
        let zones = || Ok(self.zones_of_file().to_vec());
        let built = built(&file, &airframe, zones).ok()?;
        Some(LoadedScenario {
            path: Arc::clone(&self.path),
            bytes: Arc::clone(&self.bytes),
            other_bytes: Arc::clone(&self.other_bytes),
            file,
            airframe,
            built,
            overrides: self.overrides.iter().chain(more).cloned().collect(),
            document: Arc::clone(&self.document),
            numbers: Arc::default(),
        })
    }

    fn file_with(&self, more: &[Override]) -> Option<ScenarioFile> {
        let of_scenario = more.iter().filter(|one| one.kind() == Kind::Scenario);
        let numbers = self
            .numbers
            .get_or_init(|| Numbers::new(self.changed().0, Kind::Scenario));
        let sections = numbers.changed(of_scenario, |section| {
            let mut file = self.file.clone();
            read_into(&mut file, section).is_some() && file == self.file
        })?;
        let mut file = self.file.clone();
        for section in &sections {
            read_into(&mut file, section)?;
        }
        Some(file)
    }
}

/// Reads a section of a scenario file anew.
fn read_into(file: &mut ScenarioFile, section: &Section) -> Option<()> {
    let [Step::Key(name)] = section.path.0.as_slice() else {
        return None;
    };
    let value = &section.value;
    match name.as_str() {
        "launch" => read(&mut file.launch, value),
        "air" => read(&mut file.air, value),
        "pilot" => read(&mut file.pilot, value),
        "site" => read(&mut file.site, value),
        "end" => read(&mut file.end, value),
        "summary" => read(&mut file.summary, value),
        "solver" => read(&mut file.solver, value),
        "record" => read(&mut file.record, value),
        _ => None,
    }
}

pub(super) fn read<'v, T: Deserialize<'v>>(section: &mut T, value: &'v Value) -> Option<()> {
    *section = T::deserialize(value).ok()?;
    Some(())
}
