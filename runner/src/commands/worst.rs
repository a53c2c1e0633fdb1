//! `tossline worst`.

use crate::args::{HarmKind, WorstArguments, WorstKind};
use crate::exit::Outcome;
use crate::output::files::{prove_writable, write_whole};
use crate::output::table::number;
use crate::output::{CAUTION, complain, print, print_json, warn};
use crate::plan::{self, engine};
use scenarios::gust_search::{GustHarm, GustSearch};
use scenarios::power_cut::Worst;
use scenarios::worst::{Found, Search, WorstError, find, scenario_with};
use serde::Serialize;

#[derive(Debug, Serialize)]
struct Report {
    scenario: String,
    airframe: String,
    tossline_version: &'static str,
    engine: String,
    #[serde(flatten)]
    found: Found,
    #[serde(skip_serializing_if = "Option::is_none")]
    written_to: Option<String>,
    warnings: Vec<String>,
    caution: &'static str,
}

/// Looks for the worst of a scenario and writes it as a scenario.
pub fn run(arguments: &WorstArguments) -> Outcome {
    let search = match search(arguments) {
        Ok(search) => search,
        Err(fault) => return complain(&fault, Outcome::BadInput),
    };
    let scenario = match plan::scenario(&arguments.scenario, &arguments.overrides) {
        Ok(scenario) => scenario,
        Err(error) => return complain(&error, Outcome::BadInput),
    };
    scenario.warnings().iter().for_each(|warning| warn(warning));
    let name = arguments.scenario.display();
    let found = match find(&scenario, &search) {
        Ok(found) => found,
        Err(error @ WorstError::Failed(_)) => {
            return complain(&format!("{name}: {error}"), Outcome::FlightFailed);
        }
        Err(error) => return complain(&format!("{name}: {error}"), Outcome::BadInput),
    };
    let mut written_to = None;
    if let Some(out) = &arguments.out {
        if let Err(error) = prove_writable(out) {
            return complain(&error, Outcome::CannotWrite);
        }
        let file = match scenario_with(&scenario, &search, &found, out) {
            Ok(file) => file,
            Err(error) => return complain(&format!("{name}: {error}"), Outcome::BadInput),
        };
        let path = out.join(format!("{}.json", file.name));
        let mut json = match serde_json::to_vec_pretty(&file) {
            Ok(json) => json,
            Err(error) => return complain(&error, Outcome::CannotWrite),
        };
        json.push(b'\n');
        if let Err(error) = write_whole(&path, &json) {
            return complain(&error, Outcome::CannotWrite);
        }
        written_to = Some(path.display().to_string());
    }
    let report = Report {
        scenario: scenario.file.name.clone(),
        airframe: scenario.airframe.file.name.clone(),
        tossline_version: env!("CARGO_PKG_VERSION"),
        engine: engine(&scenario),
        found,
        written_to,
        warnings: scenario
            .warnings()
            .iter()
            .map(ToString::to_string)
            .collect(),
        caution: CAUTION,
    };
    if arguments.json {
        print_json(&report)
    } else {
        print(&text(&report))
    }
}

/// # Errors
/// What of two options does not go together.
fn search(arguments: &WorstArguments) -> Result<Search, String> {
    let harm = arguments.harm;
    match (arguments.of, harm) {
        (WorstKind::GustLength, HarmKind::LowestPoint | HarmKind::HeightLost) => {
            Ok(Search::GustLength(GustSearch {
                gust: usize::from(arguments.gust) - 1,
                harm: if harm == HarmKind::LowestPoint {
                    GustHarm::LowestPoint
                } else {
                    GustHarm::HeightLost
                },
                ..GustSearch::default()
            }))
        }
        (WorstKind::PowerCut, HarmKind::LowestPoint) => {
            Ok(Search::PowerCut(Worst::LowestMinimumAltitude))
        }
        (WorstKind::PowerCut, HarmKind::LandingNearest) => {
            Ok(Search::PowerCut(Worst::LandingNearest))
        }
        (WorstKind::PowerCut, HarmKind::LandingFurthest) => {
            Ok(Search::PowerCut(Worst::LandingFurthest))
        }
        (WorstKind::GustLength, _) => {
            Err("--harm: of a gust length wanted lowest-point or height-lost".to_owned())
        }
        (WorstKind::PowerCut, _) => Err(
            "--harm: of a power cut wanted lowest-point, landing-nearest or landing-furthest"
                .to_owned(),
        ),
    }
}

fn text(report: &Report) -> String {
    let found = &report.found;
    let what = match (found.gust_length_m, found.power_cut_time_s) {
        (Some(length_m), _) => format!(
            "worst gust length {length_m:.2} m (as written {} m)",
            number(found.gust_length_as_written_m, 2)
        ),
        (_, Some(time_s)) => format!("worst power cut at {time_s:.3} s"),
        _ => "nothing".to_owned(),
    };
    let outcome = found.outcome.trim_end_matches("_m").replace('_', " ");
    let mut text = format!(
        "{}: {what}: {outcome} {:.3} m, as written {} m, worse by {} m ({} flights)\n",
        report.scenario,
        found.worst_m,
        number(found.as_written_m, 3),
        number(found.worse_by_m, 3),
        found.flights
    );
    if found.power_cut_time_s.is_some() && found.outcome == "minimum_altitude_m" {
        text += "As written: of the same flight without this cut, looked for from the same moment on.\n";
    }
    if found.is_at_an_end {
        text += "It lies at an end of what was looked through: worse may lie beyond.\n";
    }
    text += "A scan and a closer look at its worst; between the scan's flights worse can hide.\n";
    if let Some(path) = &report.written_to {
        text += &format!("Written to {path}: fly it with tossline fly.\n");
    }
    text + CAUTION + "\n"
}
