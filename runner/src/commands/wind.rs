//! `tossline wind`.

mod ask;
pub mod page;
pub mod table;

use super::report::{Kind, at_the_end};
use crate::args::WindArguments;
use crate::exit::Outcome;
use crate::output::files::{prove_writable, write_whole};
use crate::output::{CAUTION, complain, print, print_json, verdicts, warn};
use crate::plan::{engine, study_sha256};
use crate::work::stop_on_interrupt;
use ask::Asked;
use scenarios::study::LoadedStudy;
use scenarios::wind_limits::built_in::Rows;
use scenarios::wind_limits::dive::{Dive, Recovery, recovery};
use scenarios::wind_limits::penetration::{self, Penetration, penetration};
use serde::{Deserialize, Serialize};
use sim_core::air::Air;
use std::path::Path;
use table::{Table, Tabled};

/// The dive and what each throttle makes of it.
#[derive(Debug, Serialize, Deserialize)]
pub struct DiveReport {
    /// How far down it points, deg.
    pub angle_deg: f64,
    /// Its airspeed, m/s.
    pub airspeed_m_s: f64,
    /// Throttle before it is changed.
    pub throttle_before_fraction: f64,
    /// What each throttle makes of it.
    pub recoveries: Vec<Recovery>,
}

/// What is written and printed.
#[derive(Debug, Serialize, Deserialize)]
pub struct Report {
    /// Name of the airframe.
    pub airframe: String,
    /// What to know of it, in a paragraph.
    pub in_plain_words: String,
    /// Version that answered.
    pub tossline_version: String,
    /// Engine and its numbers.
    pub engine: String,
    /// Steady flight against winds.
    pub penetration: Penetration,
    /// The dive.
    pub dive: DiveReport,
    /// Go and no-go.
    pub tables: Vec<Table>,
    /// What is worth saying.
    pub warnings: Vec<String>,
    /// The usual cautions.
    pub caution: String,
}

/// Works out in how much wind an airframe still goes.
pub fn run(arguments: &WindArguments) -> Outcome {
    let asked = match Asked::new(arguments) {
        Ok(asked) => asked,
        Err(fault) => return complain(&fault, Outcome::BadInput),
    };
    let (airframe, glide) = (&asked.airframe, &asked.glide);
    let Some(base) = asked.studies.first().map(|(_, study)| &study.base) else {
        return complain(&"nothing to fly", Outcome::BadInput);
    };
    if let Some(out) = &arguments.out
        && let Err(error) = prove_writable(out)
    {
        return complain(&error, Outcome::CannotWrite);
    }
    base.warnings().iter().for_each(|warning| warn(warning));

    let throw = &base.built.throw;
    let steady = penetration::Asked {
        throttles: &asked.throttles,
        winds_m_s: &asked.winds_m_s,
        reserve_m_s: arguments.reserve_m_s,
        height_m: throw.launch.height_m,
        charge_fraction: throw.launch.charge_fraction,
    };
    let penetration = match penetration(&airframe.built, &Air::calm(), &steady) {
        Ok(found) => found,
        Err(error) => return complain(&error, Outcome::BadInput),
    };
    let dive = Dive {
        angle_rad: arguments.dive_angle_deg.to_radians(),
        airspeed_m_s: arguments.dive_airspeed_m_s.unwrap_or(glide.airspeed_m_s),
        incidence_rad: glide.alpha_rad,
        throttle_before_fraction: arguments.dive_throttle,
    };
    let mut recoveries = Vec::new();
    let mut throttles = asked.throttles.clone();
    if throttles.first() != Some(&0.0) {
        throttles.insert(0, 0.0);
    }
    for throttle in throttles {
        match recovery(throw, &dive, throttle) {
            Ok(found) => recoveries.push(found),
            Err(error) => return complain(&error, Outcome::BadInput),
        }
    }

    let stop = stop_on_interrupt("throws");
    let mut tables: Vec<Tabled> = Vec::new();
    for (rows, study) in &asked.studies {
        match Tabled::fly(*rows, study, arguments, &stop) {
            Some(tabled) => tables.push(tabled),
            None => return complain(&"stopped; nothing was written", Outcome::Stopped),
        }
    }
    let mut report = Report {
        airframe: airframe.file.name.clone(),
        in_plain_words: String::new(),
        tossline_version: env!("CARGO_PKG_VERSION").to_owned(),
        engine: engine(base),
        penetration,
        dive: DiveReport {
            angle_deg: arguments.dive_angle_deg,
            airspeed_m_s: dive.airspeed_m_s,
            throttle_before_fraction: dive.throttle_before_fraction,
            recoveries,
        },
        warnings: base.warnings().iter().map(ToString::to_string).collect(),
        tables: tables.iter().map(|tabled| tabled.table.clone()).collect(),
        caution: CAUTION.to_owned(),
    };
    report.in_plain_words = page::plain_words(&report);
    if let Some(out) = &arguments.out {
        if let Err(error) = write(out, &report, &tables) {
            return complain(&error, Outcome::CannotWrite);
        }
        if let Err(error) = at_the_end(Kind::Wind, out, &arguments.page) {
            return complain(&error, error.outcome());
        }
    }
    let shown = if arguments.json {
        print_json(&report)
    } else {
        print(&page::text(
            &report,
            arguments.out.as_deref(),
            arguments.page,
        ))
    };
    let failed = report.dive.recoveries.iter().any(|r| r.failure.is_some())
        || report.tables.iter().any(Table::fails);
    match shown {
        Outcome::Done if failed => Outcome::FlightFailed,
        shown => shown,
    }
}

fn write(out: &Path, report: &Report, tables: &[Tabled]) -> Result<(), Box<dyn std::error::Error>> {
    let mut json = serde_json::to_vec_pretty(report)?;
    json.push(b'\n');
    write_whole(&out.join("wind.json"), &json)?;
    write_whole(
        &out.join("wind-cells.csv"),
        &table::cells_csv(&report.tables)?,
    )?;
    write_whole(&out.join("wind-throws.csv"), &table::throws_csv(tables)?)?;
    let svg = verdicts::draw(&page::pictures(report));
    write_whole(&out.join("wind.svg"), svg.as_bytes())?;
    Ok(())
}

/// Hash of what decides a table.
fn sha256(study: &LoadedStudy, arguments: &WindArguments) -> String {
    let asked = format!("wind {}", arguments.share_fraction);
    study_sha256(study, &arguments.overrides.set, &asked)
}
