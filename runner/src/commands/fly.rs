//! `tossline fly`.

pub mod words;

use super::report::{Kind, at_the_end};
use crate::args::{FlyArguments, PageOption};
use crate::exit::Outcome;
use crate::output::chart::Look;
use crate::output::curves::Curves;
use crate::output::picture::{self, MOST_FLIGHTS};
use crate::output::summary_row::SummaryRow;
use crate::output::table::of_numbers;
use crate::output::{CAUTION, complain, files, print, print_json, trajectory, warn};
use crate::plan::{FlyPlan, PlanError, engine};
use crate::work::{in_parallel, stop_on_interrupt};
use scenarios::load::LoadedScenario;
use scenarios::summary::{EndWord, Summary, fly_with_twin, summarise};
use serde::Serialize;
use sim_core::flight::Flight;
use std::path::Path;
use std::sync::atomic::Ordering;

/// What `summary.json` holds: what made a flight, and what it comes to.
#[derive(Debug, Serialize)]
pub struct Record {
    scenario: String,
    #[serde(skip_serializing_if = "String::is_empty")]
    note: String,
    airframe: String,
    tossline_version: &'static str,
    inputs_sha256: String,
    engine: String,
    /// What the gyro's noise was drawn from; a throw without noise has no chance in it.
    seed: Option<u64>,
    derivative_calls: u32,
    accepted_steps: u32,
    rejected_steps: u32,
    warnings: Vec<String>,
    /// What the flight comes to.
    pub summary: Summary,
    caution: &'static str,
}

impl Record {
    /// Name of the scenario.
    pub fn scenario(&self) -> &str {
        &self.scenario
    }

    /// Name of the airframe.
    pub fn airframe(&self) -> &str {
        &self.airframe
    }

    /// Version that flew it.
    pub fn tossline_version(&self) -> &str {
        self.tossline_version
    }

    /// Hash of what decides the result.
    pub fn inputs_sha256(&self) -> &str {
        &self.inputs_sha256
    }

    /// Method, number type, use of fused multiply-add.
    pub fn engine(&self) -> &str {
        &self.engine
    }

    /// What the gyro's noise was drawn from, where there is noise.
    pub fn seed(&self) -> Option<u64> {
        self.seed
    }

    /// Of a flight and its twin.
    pub fn new(
        scenario: &LoadedScenario,
        inputs_sha256: String,
        flight: &Flight,
        twin: Option<&Flight>,
    ) -> Self {
        Record {
            scenario: scenario.file.name.clone(),
            note: scenario.file.note.clone(),
            airframe: scenario.airframe.file.name.clone(),
            tossline_version: env!("CARGO_PKG_VERSION"),
            inputs_sha256,
            engine: engine(scenario),
            seed: seed(scenario),
            derivative_calls: flight.counts.derivative_calls,
            accepted_steps: flight.counts.accepted_steps,
            rejected_steps: flight.counts.rejected_steps,
            warnings: scenario
                .warnings()
                .iter()
                .map(ToString::to_string)
                .collect(),
            summary: summarise(flight, twin, &scenario.built.summary),
            caution: CAUTION,
        }
    }
}

/// A flight that has been flown and written.
struct Flown {
    record: Record,
    /// To be drawn; none of a flight that failed before its first row was whole.
    curves: Option<Curves>,
}

/// Flies the scenarios and writes their results.
pub fn run(arguments: &FlyArguments) -> Outcome {
    let plan = match FlyPlan::new(&arguments.scenarios, &arguments.out, &arguments.overrides) {
        Ok(plan) => plan,
        Err(error @ PlanError::CannotWrite(_)) => return complain(&error, Outcome::CannotWrite),
        Err(error) => return complain(&error, Outcome::BadInput),
    };
    for scenario in &plan.scenarios {
        scenario.warnings().iter().for_each(|warning| warn(warning));
    }

    let stop = stop_on_interrupt("throws");
    let results = in_parallel(
        &plan.scenarios,
        arguments.flying.threads,
        &stop,
        |scenario| fly(&plan, scenario),
    );

    let mut outcome = Outcome::Done;
    let mut flown = Vec::new();
    for result in results.into_iter().flatten() {
        match result {
            Ok(one) => flown.push(one),
            Err((error, code)) => outcome = complain(&error, code),
        }
    }
    if outcome == Outcome::Done
        && flown
            .iter()
            .any(|f| f.record.summary.ended_by == EndWord::Failed)
    {
        outcome = Outcome::FlightFailed;
    }
    // With nothing to tell, an older table stays.
    if !flown.is_empty()
        && let Err(error) = write_together(&plan, &flown)
    {
        return complain(&error, Outcome::CannotWrite);
    }
    if !flown.is_empty()
        && let Err(error) = at_the_end(Kind::Fly, &plan.out, &arguments.page)
    {
        return complain(&error, error.outcome());
    }
    let shown = if arguments.json {
        let records: Vec<&Record> = flown.iter().map(|f| &f.record).collect();
        print_json(&records)
    } else if flown.is_empty() {
        outcome
    } else {
        print(&said(&plan.out, &flown, &arguments.page))
    };
    if stop.load(Ordering::Relaxed) {
        let text = format!(
            "stopped; {} of {} throws are saved",
            flown.len(),
            plan.scenarios.len()
        );
        return complain(&text, Outcome::Stopped);
    }
    if shown == Outcome::Done {
        outcome
    } else {
        shown
    }
}

/// Flies one scenario and writes its folder.
fn fly(plan: &FlyPlan, scenario: &LoadedScenario) -> Result<Flown, (String, Outcome)> {
    let built = &scenario.built;
    let name = &scenario.file.name;
    let settings = built.summary;
    let (flight, twin) = fly_with_twin(&built.throw, &settings).map_err(|error| {
        let text = format!("{}: {error}", scenario.path.display());
        (text, Outcome::BadInput)
    })?;
    let record = Record::new(
        scenario,
        plan.inputs_sha256(scenario),
        &flight,
        twin.as_ref(),
    );
    let cannot = |error: &dyn std::fmt::Display| (error.to_string(), Outcome::CannotWrite);
    let folder = plan.out.join(name);
    let rows = trajectory::csv(&flight, &scenario.airframe.built, built.record_interval_s)
        .map_err(|error| cannot(&error))?;
    let mut json = serde_json::to_vec_pretty(&record).map_err(|error| cannot(&error))?;
    json.push(b'\n');
    files::write_whole(&folder.join("trajectory.csv"), &rows).map_err(|error| cannot(&error))?;
    let twin_path = folder.join("twin.csv");
    match &twin {
        Some(twin) => {
            let rows = trajectory::csv(twin, &scenario.airframe.built, built.record_interval_s)
                .map_err(|error| cannot(&error))?;
            files::write_whole(&twin_path, &rows).map_err(|error| cannot(&error))?;
        }
        // What an earlier run has left there is not about this throw.
        None if twin_path.exists() => {
            std::fs::remove_file(&twin_path).map_err(|error| cannot(&error))?;
        }
        None => {}
    }
    files::write_whole(&folder.join("summary.json"), &json).map_err(|error| cannot(&error))?;
    Ok(Flown {
        record,
        curves: Curves::read(name, Look::of(0), &rows).ok(),
    })
}

/// A flight's curves for the picture, with the look of a number among those drawn together; none where it has no row that can be drawn.
pub fn curves(scenario: &LoadedScenario, flight: &Flight, number: usize) -> Option<Curves> {
    let interval_s = scenario.built.record_interval_s;
    let rows = trajectory::csv(flight, &scenario.airframe.built, interval_s).ok()?;
    Curves::read(&scenario.file.name, Look::of(number), &rows).ok()
}

/// The seed of the gyro's noise, where there is noise.
fn seed(scenario: &LoadedScenario) -> Option<u64> {
    let damper = scenario.built.throw.pilot.module.damper?;
    (damper.is_on() && damper.gyro.noise_rad_s > 0.0).then_some(damper.gyro.seed)
}

/// `summary.csv` and the picture of all flights.
fn write_together(plan: &FlyPlan, flown: &[Flown]) -> Result<(), Box<dyn std::error::Error>> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let made_by = [
        "scenario",
        "airframe",
        "tossline_version",
        "inputs_sha256",
        "engine",
        "seed",
    ];
    let columns = Summary::columns();
    writer.write_record(made_by.into_iter().chain(columns.iter().map(|c| c.name)))?;
    for Flown { record, .. } in flown {
        let head = [
            &record.scenario,
            &record.airframe,
            record.tossline_version,
            &record.inputs_sha256,
            &record.engine,
            &record.seed.map_or(String::new(), |seed| seed.to_string()),
        ];
        let cells = record.summary.row();
        writer.write_record(
            head.into_iter()
                .map(str::to_owned)
                .chain(cells.iter().map(ToString::to_string)),
        )?;
    }
    files::write_whole(&plan.out.join("summary.csv"), &writer.into_inner()?)?;
    let drawn = flown.iter().filter_map(|f| f.curves.clone());
    let drawn: Vec<Curves> = drawn
        .take(MOST_FLIGHTS)
        .enumerate()
        .map(|(i, curves)| Curves {
            look: Look::of(i),
            ..curves
        })
        .collect();
    files::write_whole(
        &plan.out.join("picture.svg"),
        picture::draw(&drawn).as_bytes(),
    )?;
    Ok(())
}

/// The table at the end, what the flights have to say, and where the files are.
fn said(out: &Path, flown: &[Flown], page: &PageOption) -> String {
    let flights: Vec<SummaryRow> = flown
        .iter()
        .map(|Flown { record, .. }| SummaryRow::of(&record.scenario, &record.summary))
        .collect();
    let mut text = of_numbers(
        "throw (how it ended)",
        &words::COLUMNS,
        &words::rows(&flights),
    );
    text += words::MEANING;
    for sentence in flights.iter().flat_map(words::about) {
        text += &format!("{sentence}\n");
    }
    if flown.len() > MOST_FLIGHTS {
        text += &format!("The picture shows the first {MOST_FLIGHTS} throws.\n");
    }
    text += &format!(
        "Written to {}: NAME/trajectory.csv, NAME/twin.csv, NAME/summary.json, summary.csv, picture.svg{}\n{CAUTION}\n",
        out.display(),
        page.named()
    );
    text
}
