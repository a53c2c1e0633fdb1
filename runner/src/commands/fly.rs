//! `tossline fly`.

use crate::args::FlyArguments;
use crate::exit::Outcome;
use crate::output::picture::{self, Curves, MOST_FLIGHTS, Point};
use crate::output::table::{Column, Worst, of_numbers};
use crate::output::{CAUTION, complain, files, print, print_json, trajectory, warn};
use crate::plan::{FlyPlan, PlanError, engine};
use crate::work::{in_parallel, stop_on_interrupt};
use scenarios::load::LoadedScenario;
use scenarios::summary::{EndWord, Summary, fly_with_twin, summarise};
use serde::Serialize;
use sim_core::flight::Flight;
use sim_core::frames::EulerAngles;
use sim_core::record::row_times_s;
use std::path::Path;
use std::sync::atomic::Ordering;

/// What `summary.json` holds: what made a flight, and what it comes to.
#[derive(Debug, Serialize)]
pub struct Record {
    scenario: String,
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
            airframe: scenario.airframe.file.name.clone(),
            tossline_version: env!("CARGO_PKG_VERSION"),
            inputs_sha256,
            engine: engine(scenario),
            seed: seed(scenario),
            derivative_calls: flight.counts.derivative_calls,
            accepted_steps: flight.counts.accepted_steps,
            rejected_steps: flight.counts.rejected_steps,
            warnings: scenario.warnings.iter().map(ToString::to_string).collect(),
            summary: summarise(flight, twin, &scenario.built.summary),
            caution: CAUTION,
        }
    }
}

/// A flight that has been flown and written.
struct Flown {
    record: Record,
    curves: Curves,
}

/// Flies the scenarios and writes their results.
pub fn run(arguments: &FlyArguments) -> Outcome {
    let plan = match FlyPlan::new(&arguments.scenarios, &arguments.out, &arguments.overrides) {
        Ok(plan) => plan,
        Err(error @ PlanError::CannotWrite(_)) => return complain(&error, Outcome::CannotWrite),
        Err(error) => return complain(&error, Outcome::BadInput),
    };
    for scenario in &plan.scenarios {
        scenario.warnings.iter().for_each(|warning| warn(warning));
    }

    let stop = stop_on_interrupt("throws");
    let results = in_parallel(&plan.scenarios, arguments.threads, &stop, |scenario| {
        fly(&plan, scenario)
    });

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
    let shown = if arguments.json {
        let records: Vec<&Record> = flown.iter().map(|f| &f.record).collect();
        print_json(&records)
    } else if flown.is_empty() {
        outcome
    } else {
        print(&report(&plan.out, &flown))
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
    files::write_whole(&folder.join("summary.json"), &json).map_err(|error| cannot(&error))?;
    Ok(Flown {
        curves: curves(name, &flight, scenario.file.launch.heading_deg.to_radians()),
        record,
    })
}

/// The seed of the gyro's noise, where there is noise.
fn seed(scenario: &LoadedScenario) -> Option<u64> {
    let damper = scenario.built.throw.pilot.module.damper?;
    (damper.is_on() && damper.gyro.noise_rad_s > 0.0).then_some(damper.gyro.seed)
}

/// Time between two points of the picture, s.
const PICTURE_INTERVAL_S: f64 = 0.02;

/// A flight's curves for the picture; distances are along a heading (rad).
pub fn curves(name: &str, flight: &Flight, heading_rad: f64) -> Curves {
    let (sin, cos) = heading_rad.sin_cos();
    let motors = flight.throw().vehicle.motors.len().max(1) as f64;
    let points = row_times_s(flight, PICTURE_INTERVAL_S)
        .into_iter()
        .map(|time_s| {
            let (state, at) = flight.evaluation_at(time_s);
            Point {
                time_s,
                along_m: state.position.x * cos + state.position.y * sin,
                height_m: state.height(),
                pitch_deg: EulerAngles::of(&at.to_earth).pitch_rad.to_degrees(),
                airspeed_m_s: at.flow.airspeed,
                throttle_fraction: at.motors.iter().map(|m| m.duty).sum::<f64>() / motors,
            }
        })
        .collect();
    Curves {
        name: name.to_owned(),
        points,
    }
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
    let curves: Vec<Curves> = flown.iter().map(|f| f.curves.clone()).collect();
    files::write_whole(
        &plan.out.join("picture.svg"),
        picture::draw(&curves)?.as_bytes(),
    )?;
    Ok(())
}

const COLUMNS: [Column; 10] = [
    column("flew", "s", 2, Worst::None),
    column("nose down", "deg", 1, Worst::Highest),
    column("nose up", "deg", 1, Worst::Highest),
    column("dip to", "m", 2, Worst::Lowest),
    column("lowest", "m", 2, Worst::Lowest),
    column("climb", "m/s", 2, Worst::Lowest),
    column("incidence", "deg", 1, Worst::Highest),
    column("stalled", "s", 2, Worst::Highest),
    column("bank", "deg", 0, Worst::Highest),
    column("along", "m", 1, Worst::None),
];

const fn column(name: &'static str, unit: &'static str, decimals: usize, worst: Worst) -> Column {
    Column {
        name,
        unit,
        decimals,
        worst,
    }
}

/// What was hit other than the ground, and which zones the flight was over or came down in.
fn about_site(name: &str, s: &Summary) -> String {
    let mut text = String::new();
    if let (Some(touched), Some(north), Some(east), Some(height), Some(speed)) = (
        s.touched.as_ref().filter(|_| s.ended_by != EndWord::Ground),
        s.end_north_m,
        s.end_east_m,
        s.end_height_m,
        s.touch_speed_m_s,
    ) {
        let the = if touched == "ceiling" { "the " } else { "" };
        text += &format!(
            "{name}: hit {the}{touched} at {speed:.1} m/s ({:.1} m/s square to it), {north:.1} m north and {east:.1} m east of the release, \
{height:.1} m up\n",
            s.touch_speed_square_m_s.unwrap_or(0.0)
        );
    }
    if let Some(zones) = &s.landed_in_zone {
        text += &format!("{name}: CAME DOWN IN {zones}; do not throw like this here\n");
    } else if let Some(zones) = &s.zones_overflown {
        text += &format!(
            "{name}: flew over {zones} for {:.1} s; where power or pilot fail there, it comes down there\n",
            s.time_over_zones_s.unwrap_or(0.0)
        );
    }
    text
}

/// The table at the end, what the flights have to say, and where the files are.
fn report(out: &Path, flown: &[Flown]) -> String {
    let rows: Vec<(String, Vec<Option<f64>>)> = flown
        .iter()
        .map(|Flown { record, .. }| {
            let s = &record.summary;
            let end = match s.ended_by {
                EndWord::Ground => "ground",
                EndWord::Wall => "wall",
                EndWord::Ceiling => "ceiling",
                EndWord::Time => "in the air",
                EndWord::CellEmpty => "cell empty",
                EndWord::Failed => "FAILED",
            };
            let values = vec![
                s.flight_time_s,
                s.pitch_down_under_power_deg,
                s.pitch_up_under_power_deg,
                s.minimum_altitude_m
                    .filter(|_| s.throttle_step_time_s.is_some()),
                s.lowest_clearance_m
                    .filter(|_| s.ended_by != EndWord::Ground),
                s.mean_climb_rate_m_s,
                s.alpha_max_deg,
                s.stalled_time_s,
                s.bank_largest_deg,
                s.distance_along_m,
            ];
            (format!("{} ({end})", record.scenario), values)
        })
        .collect();
    let mut text = of_numbers("throw (how it ended)", &COLUMNS, &rows);
    text += "nose down, nose up: most against the same throw without the throttle step; dip to: clearance at the first low point after the step;
lowest: least clearance of a flight that stays up; climb: from the step to the end of its window; incidence: largest angle of attack;
* worst of the column; – there is none.\n";
    for Flown { record, .. } in flown {
        if let Some(reason) = &record.summary.failure {
            let at = record.summary.failed_at_s.unwrap_or(0.0);
            text += &format!(
                "{}: the numbers failed at {at:.4} s: {reason}\n",
                record.scenario
            );
        }
        text += &about_site(&record.scenario, &record.summary);
        if let Some(reason) = &record.summary.twin_failure {
            text += &format!(
                "{}: no comparison without the step, the twin's numbers failed: {reason}\n",
                record.scenario
            );
        }
        if let Some(at) = record.summary.cut_off_time_s {
            text += &format!(
                "{}: the driver cut the motors off at {at:.2} s, the cell's voltage being too low; from then on it glides\n",
                record.scenario
            );
        }
        for note in &record.summary.model_range {
            text += &format!("{}: outside the model's range: {note}\n", record.scenario);
        }
    }
    if flown.len() > MOST_FLIGHTS {
        text += &format!("The picture shows the first {MOST_FLIGHTS} throws.\n");
    }
    text += &format!(
        "Written to {}: NAME/trajectory.csv, NAME/summary.json, summary.csv, picture.svg\n{CAUTION}\n",
        out.display()
    );
    text
}
