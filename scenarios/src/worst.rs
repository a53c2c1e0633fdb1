//! The worst gust length or power cut of a scenario, how much worse it is than the scenario as written, and the scenario with it.

use crate::gust_search::{GustHarm, GustSearch, GustSearchError, worst_gust_length};
use crate::load::LoadedScenario;
use crate::overrides::{Change, Override};
use crate::power_cut::{Look, Worst, worst_power_cut};
use crate::scenario_file::{PowerCut, ScenarioFile};
use crate::schema::Kind;
use crate::summary::{minimum_altitude_from_m, summarise};
use serde::Serialize;
use serde_json::{Map, Value, json};
use sim_core::error::LaunchError;
use sim_core::flight::{End, Flight};
use std::path::{Component, Path, PathBuf};
use thiserror::Error;

/// What is looked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Search {
    /// The worst length of a gust.
    GustLength(GustSearch),
    /// The worst moment of a power cut.
    PowerCut(Worst),
}

/// What was found. Lengths, times and outcomes of the worst flight and, for comparison, of the scenario as it stands.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Found {
    /// Worst gust length, m; absent for a power cut.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gust_length_m: Option<f64>,
    /// The length in the scenario as it stands, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gust_length_as_written_m: Option<f64>,
    /// Worst moment of a power cut, s; absent for a gust.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub power_cut_time_s: Option<f64>,
    /// What is compared: minimum_altitude_m, height_lost_since_step_m, or landing_distance_m (from the release).
    pub outcome: &'static str,
    /// Its worst value, m.
    pub worst_m: f64,
    /// Its value as written, m; absent where that flight has none (a flight that does not come down has no landing).
    pub as_written_m: Option<f64>,
    /// How much worse, m; 0 where the scenario is the worst already.
    pub worse_by_m: Option<f64>,
    /// Flights flown in the search.
    pub flights: usize,
    /// Whether the worst lies at an end of what was looked through, so that worse may lie beyond.
    pub is_at_an_end: bool,
}

/// A search without an answer.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum WorstError {
    /// Gust.
    #[error(transparent)]
    Gust(#[from] GustSearchError),
    /// The throw cannot start.
    #[error(transparent)]
    Launch(#[from] LaunchError),
    /// A flight whose numbers failed.
    #[error("the scenario as written fails: {0}")]
    Failed(String),
    /// Nothing to make worse.
    #[error("the airframe has no motor; there is no power to cut")]
    NoMotor,
    /// Power cut, and no flight has what is compared.
    #[error("no flight with a power cut came down within end.time_limit_s; raise it")]
    NothingLands,
    /// Two overrides of one path that cannot be written as one.
    #[error("overrides \"{0}\": given twice, the second time to add or multiply; give it once")]
    GivenTwice(String),
}

/// Looks for the worst of a scenario.
///
/// # Errors
/// [`WorstError`] where there is nothing to look for or a flight fails.
pub fn find(scenario: &LoadedScenario, search: &Search) -> Result<Found, WorstError> {
    let built = &scenario.built;
    let flight = built.throw.fly()?;
    let summary = summarise(&flight, None, &built.summary);
    if let Some(failure) = summary.failure {
        return Err(WorstError::Failed(failure));
    }
    match search {
        Search::GustLength(search) => {
            let found = worst_gust_length(built, search)?;
            let worst = found.worst;
            let ends = [search.shortest_m, search.longest_m];
            let (outcome, worst_m, as_written_m, sign) = match search.harm {
                GustHarm::LowestPoint => (
                    "minimum_altitude_m",
                    worst.minimum_altitude_m,
                    summary.minimum_altitude_m,
                    -1.0,
                ),
                GustHarm::HeightLost => (
                    "height_lost_since_step_m",
                    worst.height_lost_m,
                    summary.height_lost_since_step_m,
                    1.0,
                ),
            };
            Ok(Found {
                gust_length_m: Some(worst.gust_length_m),
                gust_length_as_written_m: Some(built.throw.air.gusts[search.gust].length),
                power_cut_time_s: None,
                outcome,
                worst_m,
                as_written_m,
                worse_by_m: worse_by(worst_m, as_written_m, sign),
                flights: found.flights,
                is_at_an_end: ends
                    .iter()
                    .any(|end| (worst.gust_length_m / end - 1.0).abs() < 0.01),
            })
        }
        Search::PowerCut(worst) => {
            if built.throw.vehicle.motors.is_empty() {
                return Err(WorstError::NoMotor);
            }
            let look = Look {
                dip_window_s: built.summary.dip_window_s,
                ..Look::until(flight.end_time_s)
            };
            let found = worst_power_cut(&built.throw, *worst, &look)?;
            let at = found.worst.ok_or(WorstError::NothingLands)?;
            let worst_m = at.outcome_m.ok_or(WorstError::NothingLands)?;
            let (outcome, as_written_m, sign) = match worst {
                Worst::LowestMinimumAltitude => (
                    "minimum_altitude_m",
                    minimum_altitude_from_m(&flight, at.at_s, look.dip_window_s),
                    -1.0,
                ),
                Worst::LandingNearest => ("landing_distance_m", landing_m(&flight), -1.0),
                Worst::LandingFurthest => ("landing_distance_m", landing_m(&flight), 1.0),
            };
            let step_s = (look.to_s - look.from_s) / (look.times - 1) as f64;
            Ok(Found {
                gust_length_m: None,
                gust_length_as_written_m: None,
                power_cut_time_s: Some(at.at_s),
                outcome,
                worst_m,
                as_written_m,
                worse_by_m: worse_by(worst_m, as_written_m, sign),
                flights: found.flown.len(),
                is_at_an_end: look.to_s - at.at_s < 0.1 * step_s,
            })
        }
    }
}

fn worse_by(worst_m: f64, as_written_m: Option<f64>, sign: f64) -> Option<f64> {
    as_written_m.map(|written| (sign * (worst_m - written)).max(0.0))
}

fn landing_m(flight: &Flight) -> Option<f64> {
    (flight.end == End::Ground).then(|| flight.state_at(flight.end_time_s).position.xy().norm())
}

/// The scenario with the worst in it, as a file for `folder`: overrides of a command line included, paths as seen from there.
///
/// # Errors
/// [`WorstError::GivenTwice`].
pub fn scenario_with(
    scenario: &LoadedScenario,
    search: &Search,
    found: &Found,
    folder: &Path,
) -> Result<ScenarioFile, WorstError> {
    let mut file = scenario.file.clone();
    let own = scenario.path.parent().unwrap_or(Path::new(""));
    file.airframe = seen_from(folder, &own.join(&file.airframe));
    file.site.zones_geojson = file
        .site
        .zones_geojson
        .map(|zones| seen_from(folder, &own.join(zones)));
    file.overrides = of_airframe(scenario.overrides())?;
    let what = match (search, found.gust_length_m, found.power_cut_time_s) {
        (Search::GustLength(search), Some(length_m), _) => {
            if let Some(gust) = file.air.gusts.get_mut(search.gust) {
                gust.gust_length_m = Some(length_m);
            }
            "gust-length"
        }
        (_, _, Some(at_s)) => {
            file.pilot.power_cut = Some(PowerCut { at_s });
            "power-cut"
        }
        _ => "as-it-was",
    };
    file.note = format!("As {}, with the worst {what} found.", file.name);
    file.name = format!("{}-worst-{what}", file.name);
    Ok(file)
}

/// Overrides of the airframe as a file writes them; those of the scenario are in its fields already.
fn of_airframe(overrides: &[Override]) -> Result<Map<String, Value>, WorstError> {
    let mut map = Map::new();
    for one in overrides.iter().filter(|o| o.kind() == Kind::Airframe) {
        let value = match &one.change {
            Change::Set(value) => {
                // What is set last is what holds, whatever came before it.
                map.shift_remove(&one.path);
                value.clone()
            }
            Change::Add(x) => json!({"add": x}),
            Change::Multiply(x) => json!({"multiply": x}),
        };
        if map.insert(one.path.clone(), value).is_some() {
            return Err(WorstError::GivenTwice(one.path.clone()));
        }
    }
    Ok(map)
}

/// A file's path as a file in a folder writes it; the whole path where there is no way between them.
fn seen_from(folder: &Path, file: &Path) -> String {
    let whole = |path: &Path| path.canonicalize().unwrap_or_else(|_| path.to_path_buf());
    let (folder, file) = (whole(folder), whole(file));
    let shared = folder
        .components()
        .zip(file.components())
        .take_while(|(a, b)| a == b)
        .count();
    if shared == 0 || !folder.is_absolute() {
        return file.display().to_string();
    }
    let up = folder
        .components()
        .skip(shared)
        .map(|_| Component::ParentDir);
    let way: PathBuf = up.chain(file.components().skip(shared)).collect();
    let steps: Vec<String> = way
        .components()
        .map(|step| step.as_os_str().to_string_lossy().into_owned())
        .collect();
    steps.join("/")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_set_last_holds_and_two_additions_are_refused() {
        let one = |text: &str| Override::parse(text).unwrap();
        let map = of_airframe(&[
            one("motors.*.thrust_elevation_deg+=2"),
            one("launch.heading_deg=3"),
            one("motors.*.thrust_elevation_deg=5"),
        ])
        .unwrap();
        assert_eq!(
            Value::Object(map),
            json!({"motors.*.thrust_elevation_deg": 5})
        );
        let twice = [
            one("mass.parts.glue.mass_g=1"),
            one("mass.parts.glue.mass_g*=2"),
        ];
        let path = "mass.parts.glue.mass_g".to_owned();
        assert_eq!(of_airframe(&twice), Err(WorstError::GivenTwice(path)));
    }

    #[test]
    fn paths_are_seen_from_the_folder() {
        let root = tempfile::tempdir().unwrap();
        for folder in ["a/b", "c"] {
            std::fs::create_dir_all(root.path().join(folder)).unwrap();
        }
        std::fs::write(root.path().join("c/x.json"), "").unwrap();
        let from = root.path().join("a/b");
        let seen = seen_from(&from, &root.path().join("c/x.json"));
        assert_eq!(seen, "../../c/x.json");
        assert_eq!(
            seen_from(&root.path().join("c"), &root.path().join("c/x.json")),
            "x.json"
        );
    }
}
