//! `tossline inspect`.

mod airframe;

use crate::args::InspectArguments;
use crate::exit::Outcome;
use crate::output::table::{number, of_texts};
use crate::output::{complain, print, print_json, warn};
use crate::plan;
use airframe::about_airframe;
use scenarios::build::BuiltAirframe;
use scenarios::effective::Effective;
use scenarios::error::FileError;
use scenarios::load::LoadedScenario;
use scenarios::read::Document;
use scenarios::schema::Kind;
use scenarios::study::{LoadedStudy, Purpose};
use scenarios::summary::{SummarySettings, summarise};
use serde_json::{Value, json};
use sim_core::mass::MassProperties;

/// Says what a file means after defaults and overrides.
pub fn run(arguments: &InspectArguments) -> Outcome {
    match inspected(arguments) {
        Ok(outcome) => outcome,
        Err(error) => complain(&error, Outcome::BadInput),
    }
}

fn inspected(arguments: &InspectArguments) -> Result<Outcome, FileError> {
    match Document::open(&arguments.file)?.kind()? {
        Kind::Airframe => {
            let airframe = plan::airframe(&arguments.file, &arguments.overrides)?;
            airframe.warnings().iter().for_each(|warning| warn(warning));
            let effective = airframe.effective();
            Ok(if arguments.json {
                print_json(&effective.value)
            } else {
                print(&(about_airframe(&airframe) + &about_fields(&effective)))
            })
        }
        Kind::Study => {
            let study = plan::study(&arguments.file, &arguments.overrides)?;
            let base = &study.base;
            base.warnings().iter().for_each(|warning| warn(warning));
            Ok(if arguments.json {
                print_json(&json!({
                    "study": study.file,
                    "scenario": base.effective().value,
                    "airframe": base.airframe.effective().value
                }))
            } else {
                print(&(about_study(&study) + "\n" + &about_scenario(base)))
            })
        }
        Kind::Scenario => {
            let scenario = plan::scenario(&arguments.file, &arguments.overrides)?;
            scenario.warnings().iter().for_each(|warning| warn(warning));
            let (own, airframe) = (scenario.effective(), scenario.airframe.effective());
            Ok(if arguments.json {
                print_json(&json!({ "scenario": own.value, "airframe": airframe.value }))
            } else {
                print(
                    &(about_scenario(&scenario)
                        + &about_fields(&own)
                        + "\n"
                        + &about_airframe(&scenario.airframe)
                        + &about_fields(&airframe)),
                )
            })
        }
    }
}

/// What each part weighs and where, and all together.
pub(super) fn mass_table(built: &BuiltAirframe) -> String {
    let mm = |m: f64| number(Some(m * 1e3), 1);
    let row = |name: String, p: &MassProperties| {
        vec![
            name,
            format!("{:.2}", p.mass_kg * 1e3),
            mm(p.balance.station_m),
            mm(p.balance.right_m),
            mm(p.balance.up_m),
        ]
    };
    let mut rows: Vec<Vec<String>> = built
        .parts
        .iter()
        .map(|part| {
            let name = if part.copies > 1 {
                format!("{} ({} together)", part.name, part.copies)
            } else {
                part.name.clone()
            };
            row(name, &part.properties)
        })
        .collect();
    rows.push(row("all together".into(), &built.mass));
    of_texts(
        &["part", "mass\ng", "station\nmm", "right\nmm", "up\nmm"],
        &rows,
    )
}

/// How many flights a study has, and the fields it moves with their first values.
fn about_study(study: &LoadedStudy) -> String {
    let plan = study.plan(Purpose::State);
    let file = &study.file;
    let mut text = format!("study {}\n", file.name);
    if !file.note.is_empty() {
        text += &format!("{}\n", file.note);
    }
    text += &format!(
        "{} flights: {} points of the axes, {} throws at each\nthe first throws:\n",
        plan.flights(),
        plan.axis_points(),
        file.flights
    );
    let first: Vec<Vec<f64>> = (0..plan.flights().min(4))
        .map(|index| plan.flight(index).values)
        .collect();
    for (i, field) in plan.fields().enumerate() {
        let values: Vec<String> = first.iter().map(|v| number(Some(v[i]), 4)).collect();
        text += &format!("  {field}: {}\n", values.join(", "));
    }
    text
}

fn about_scenario(scenario: &LoadedScenario) -> String {
    let (file, built) = (&scenario.file, &scenario.built);
    let mut text = format!("scenario {}\n", file.name);
    if !file.note.is_empty() {
        text += &format!("{}\n", file.note);
    }
    // The release as it works out needs no more than the first instant of the flight.
    let mut instant = built.throw.clone();
    instant.time_limit_s = 1e-6;
    text += &match instant.fly() {
        Ok(flight) => {
            let at = summarise(&flight, None, &SummarySettings::default());
            let shown = |value: Option<f64>| value.map_or("–".into(), |v| format!("{v:.2}"));
            let rotors: Vec<String> = flight
                .state_at(0.0)
                .rotors
                .iter()
                .take(built.throw.vehicle.motors.len())
                .map(|speed| format!("{:.0} rpm", speed * 60.0 / std::f64::consts::TAU))
                .collect();
            format!(
                "at release: airspeed {} m/s, incidence {} deg, sideslip {} deg; rotors {}; lowest point {:.2} m over the ground\n",
                shown(at.release_airspeed_m_s),
                shown(at.release_alpha_deg),
                shown(at.release_beta_deg),
                if rotors.is_empty() {
                    "none".into()
                } else {
                    rotors.join(", ")
                },
                flight.clearance_at(0.0),
            )
        }
        Err(error) => format!("it cannot be released: {error}\n"),
    };
    text
}

fn about_fields(effective: &Effective) -> String {
    let list = |head: &str, paths: &[String]| {
        if paths.is_empty() {
            return String::new();
        }
        let lines: Vec<String> = paths
            .iter()
            .map(|path| format!("  {path}{}", value_at(&effective.value, path)))
            .collect();
        format!("{head}\n{}\n", lines.join("\n"))
    };
    list("changed by an override:", &effective.overridden)
        + &list("not in the file, default taken:", &effective.defaulted)
}

/// " = value" of a path whose list elements are named or counted from 1 in brackets; a coefficient's value alone, a list's length.
fn value_at(value: &Value, path: &str) -> String {
    let keys = path.split(['.', '[']).map(|key| key.trim_end_matches(']'));
    let found = keys
        .into_iter()
        .try_fold(value, |inside, key| match inside {
            Value::Array(list) => list
                .iter()
                .find(|one| one.get("name").and_then(Value::as_str) == Some(key))
                .or_else(|| list.get(key.parse::<usize>().ok()?.checked_sub(1)?)),
            other => other.get(key),
        });
    match found.map(|found| found.get("value").unwrap_or(found)) {
        Some(Value::Array(list)) => format!(" = a table of {} rows", list.len()),
        Some(found) => format!(" = {found}"),
        None => String::new(),
    }
}
