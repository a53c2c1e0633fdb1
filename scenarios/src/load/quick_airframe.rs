//! The quick way from an airframe to one with other numbers: parts, surfaces and propellers that these do not touch are neither read nor drawn,
//! checked nor built again. It gives up where anything is wrong; the whole way then says what.

use super::changed::formed;
use super::quick::read;
use super::{ChangedMass, LoadedAirframe};
use crate::airframe_checks;
use crate::airframe_file::{AirframeFile, Coefficient, Part};
use crate::build::{self, Pieces, surfaces_with};
use crate::estimate::on_reading::{missing_reference, worked_out};
use crate::estimate::write_missing;
use crate::field::Step;
use crate::overrides::{self, Change, Numbers, Override, Section, Stage};
use crate::schema::Kind;
use crate::shape::LARGEST;
use std::collections::VecDeque;
use std::sync::{Arc, Mutex};

/// An airframe before anything is estimated, as further changes start from it.
#[derive(Debug)]
pub(super) struct Meant {
    numbers: Numbers,
    file: AirframeFile,
    written_down: AirframeFile,
    pieces: Pieces,
    /// What it was changed to lately: flights that differ in their throw alone share an airframe.
    lately: Mutex<VecDeque<Lately>>,
}

/// Overrides, and what they made.
type Lately = (Arc<[Override]>, Arc<LoadedAirframe>);

/// How many changed airframes are kept, of some 50 kB each.
const KEPT: usize = 64;

impl Meant {
    /// None for an airframe that is not for the quick way.
    fn of(airframe: &LoadedAirframe) -> Option<Self> {
        let mut value = airframe.document.value.clone();
        let own = &airframe.overrides;
        overrides::apply(&mut value, Kind::Airframe, own, Stage::Build).ok()?;
        let (file, written_down) = formed(&value, &airframe.drawings()).ok()?;
        Some(Meant {
            numbers: Numbers::new(value, Kind::Airframe),
            pieces: Pieces::of(&written_down, None).ok()?,
            file,
            written_down,
            lately: Mutex::default(),
        })
    }

    fn known(&self, more: &[Override]) -> Option<Arc<LoadedAirframe>> {
        let lately = self.lately.lock().ok()?;
        let same = lately.iter().rev().find(|(by, _)| **by == *more)?;
        Some(Arc::clone(&same.1))
    }

    fn keep(&self, more: &[Override], airframe: &Arc<LoadedAirframe>) {
        if let Ok(mut lately) = self.lately.lock() {
            if lately.len() == KEPT {
                lately.pop_front();
            }
            lately.push_back((more.into(), Arc::clone(airframe)));
        }
    }

    /// The file with numbers changed, and the same with its outlines written down.
    fn with<'o>(
        &self,
        more: impl Iterator<Item = &'o Override> + Clone,
    ) -> Option<(AirframeFile, AirframeFile)> {
        let sections = self.numbers.changed(more, |section| {
            let mut file = self.file.clone();
            read_into(&mut file, section).is_some() && file == self.file
        })?;
        let (mut file, mut written) = (self.file.clone(), self.written_down.clone());
        for section in &sections {
            read_into(&mut file, section)?;
            read_into(&mut written, section)?;
            self.draw_again(&mut written, section)?;
        }
        Some((file, written))
    }

    /// Puts the corners back that a section of `written` has from a drawing, where the drawing is taken as before.
    fn draw_again(&self, written: &mut AirframeFile, section: &Section) -> Option<()> {
        match section.path.0.as_slice() {
            [Step::Key(mass), Step::Key(_), Step::Index(i)] if mass == "mass" => {
                let meant = self.file.mass.parts.as_ref()?.get(*i)?;
                let drawn = self.written_down.mass.parts.as_ref()?.get(*i)?;
                let now = written.mass.parts.as_mut()?.get_mut(*i)?;
                let (Part::Sheet(meant), Part::Sheet(drawn), Part::Sheet(now)) =
                    (meant, drawn, now)
                else {
                    return Some(());
                };
                let same = (
                    &now.outline_svg,
                    now.plane,
                    now.mirrored,
                    &now.outline,
                    &now.holes,
                ) == (
                    &meant.outline_svg,
                    meant.plane,
                    meant.mirrored,
                    &meant.outline,
                    &meant.holes,
                );
                if now.outline_svg.take().is_some() {
                    (now.outline, now.holes) = (drawn.outline.clone(), drawn.holes.clone());
                    return same.then_some(());
                }
            }
            [Step::Key(surfaces), Step::Index(i)] if surfaces == "surfaces" => {
                let (meant, drawn) = (
                    self.file.surfaces.get(*i)?,
                    self.written_down.surfaces.get(*i)?,
                );
                let now = written.surfaces.get_mut(*i)?;
                let same = (&now.outline_svg, now.plane, now.mirrored, &now.outline)
                    == (
                        &meant.outline_svg,
                        meant.plane,
                        meant.mirrored,
                        &meant.outline,
                    );
                if now.outline_svg.take().is_some() {
                    now.outline.clone_from(&drawn.outline);
                    return same.then_some(());
                }
            }
            _ => {}
        }
        Some(())
    }
}

impl LoadedAirframe {
    /// The same airframe with further overrides, all of them of the airframe, where these change nothing but numbers, to right ones.
    pub(super) fn quickly_changed_by(&self, more: &[Override]) -> Option<Arc<Self>> {
        let meant = self.meant.get_or_init(|| Meant::of(self)).as_ref()?;
        if let Some(known) = meant.known(more) {
            return Some(known);
        }
        let changed = Arc::new(self.changed_from(meant, more)?);
        meant.keep(more, &changed);
        Some(changed)
    }

    fn changed_from(&self, meant: &Meant, more: &[Override]) -> Option<Self> {
        let all = || self.overrides.iter().chain(more);
        if all().any(|one| is_at(Stage::Reference)(&one)) {
            return None;
        }
        let (mut file, mut written) = meant.with(more.iter().filter(is_at(Stage::Build)))?;
        airframe_checks::check_again(&written, &meant.written_down).ok()?;
        let pieces = Pieces::of(&written, Some(&meant.pieces)).ok()?;
        let surfaces = || surfaces_with(&written, &pieces.surfaces.sections);
        if let Some(reference) = missing_reference(&written, surfaces).ok()? {
            (file.reference, written.reference) = (Some(reference.clone()), Some(reference));
            airframe_checks::check_table(&written).ok()?;
        }
        let (mut estimated, mut lattice, mut built) = (None, None, None);
        if written.is_estimated() {
            let worked = worked_out(&written, &pieces, self.lattice.as_ref()).ok()?;
            let given = written.clone();
            write_missing(&mut file, &given, &worked.table);
            write_missing(&mut written, &given, &worked.table);
            (estimated, lattice) = (Some(worked.at), Some(worked.lattice));
            built = Some(worked.built);
        }
        let of_table = all().filter(is_at(Stage::Table));
        for one in of_table.clone() {
            change_coefficient(&mut file, one)?;
            change_coefficient(&mut written, one)?;
        }
        // As in a whole reading: sources are noted once all numbers are changed.
        for one in of_table.clone() {
            note_source(&mut file, one)?;
            note_source(&mut written, one)?;
        }
        airframe_checks::check_table(&written).ok()?;
        airframe_checks::check_filled_of(&written, &pieces).ok()?;
        let built = match built {
            None => build::airframe_of(&written, &pieces),
            Some(mut built) => {
                if of_table.clone().next().is_some() {
                    build::exchange_table(&mut built, &written, &pieces);
                }
                built
            }
        };
        Some(LoadedAirframe {
            path: Arc::clone(&self.path),
            bytes: Arc::clone(&self.bytes),
            other_bytes: Arc::clone(&self.other_bytes),
            file,
            written_down: written,
            estimated,
            lattice,
            built,
            overrides: all().cloned().collect(),
            document: Arc::clone(&self.document),
            meant: Arc::default(),
        })
    }
}

impl LoadedAirframe {
    /// What it would weigh with further overrides of the airframe, where these change nothing but numbers, to right ones.
    pub(super) fn quick_mass(&self, more: &[Override]) -> Option<ChangedMass> {
        let meant = self.meant.get_or_init(|| Meant::of(self)).as_ref()?;
        let (_, file) = meant.with(more.iter().filter(is_at(Stage::Build)))?;
        airframe_checks::check_again(&file, &meant.written_down).ok()?;
        let pieces = Pieces::of(&file, Some(&meant.pieces)).ok()?;
        let (whole, parts) = pieces.whole_and_parts(&file);
        Some(ChangedMass { file, whole, parts })
    }
}

fn is_at(stage: Stage) -> impl Fn(&&Override) -> bool + Clone {
    move |one| Stage::of(one.inner_path()) == stage
}

/// The coefficient whose value an override of the table changes; none where that is not what it does.
fn coefficient<'f>(file: &'f mut AirframeFile, path: &str) -> Option<&'f mut Coefficient> {
    let mut steps = path.split('.');
    let found = match steps.next()? {
        "coefficients" => {
            let name = steps.next()?;
            let named = file.coefficients.named();
            let place = named.iter().position(|(other, _)| *other == name)?;
            file.coefficients.all_mut().into_iter().nth(place)?
        }
        "tabs" => {
            let tab = steps.next()?;
            let tab = file.tabs.iter_mut().find(|one| one.name == tab)?;
            let name = steps.next()?;
            let place = tab.named().iter().position(|(other, _)| *other == name)?;
            tab.all_mut().into_iter().nth(place)?
        }
        _ => return None,
    };
    (steps.next() == Some("value") && steps.next().is_none()).then_some(found)
}

fn change_coefficient(file: &mut AirframeFile, one: &Override) -> Option<()> {
    let coefficient = coefficient(file, one.inner_path())?;
    let new = match &one.change {
        Change::Set(value) => value.as_f64()?,
        // A coefficient that is left out has no number in the file to change.
        _ if !coefficient.is_given() => return None,
        Change::Add(x) => coefficient.value + x,
        Change::Multiply(x) => coefficient.value * x,
    };
    coefficient.value = Some(new).filter(|size| size.abs() <= LARGEST)?;
    Some(())
}

fn note_source(file: &mut AirframeFile, one: &Override) -> Option<()> {
    let coefficient = coefficient(file, one.inner_path())?;
    let note = overrides::note(one);
    if !coefficient.source.ends_with(&note) {
        coefficient.source = format!("{}; {note}", coefficient.source);
    }
    Some(())
}

/// Reads a section of an airframe file anew.
fn read_into(file: &mut AirframeFile, section: &Section) -> Option<()> {
    let value = &section.value;
    match section.path.0.as_slice() {
        [Step::Key(mass), Step::Key(name)] if mass == "mass" => match name.as_str() {
            "glue_fraction" => read(&mut file.mass.glue_fraction, value),
            "measured" => read(&mut file.mass.measured, value),
            _ => None,
        },
        [Step::Key(mass), Step::Key(parts), Step::Index(i)]
            if mass == "mass" && parts == "parts" =>
        {
            read(file.mass.parts.as_mut()?.get_mut(*i)?, value)
        }
        [Step::Key(name), Step::Index(i)] => match name.as_str() {
            "surfaces" => read(file.surfaces.get_mut(*i)?, value),
            "bodies" => read(file.bodies.get_mut(*i)?, value),
            "tabs" => read(file.tabs.get_mut(*i)?, value),
            "propellers" => read(file.propellers.get_mut(*i)?, value),
            "motors" => read(file.motors.get_mut(*i)?, value),
            _ => None,
        },
        [Step::Key(name)] => match name.as_str() {
            "estimate" => read(&mut file.estimate, value),
            "cell" => read(&mut file.cell, value),
            "damper" => read(&mut file.damper, value),
            "propeller_effects" => read(&mut file.propeller_effects, value),
            _ => None,
        },
        _ => None,
    }
}
