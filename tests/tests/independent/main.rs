//! The model flown by somebody else: a script written from MODEL.md alone, in Python with SciPy at 1e-12, by an author who had not read the
//! code (`tests/independent/fly.py`), against this library at 1e-11.
//!
//! The states it arrives at lie in `tests/independent/reference.json`; they are the script's, never ours. `.ci/run` flies the script anew
//! and hands its fresh file over in `TOSSLINE_INDEPENDENT`. Where a ready scenario, an aircraft or the model has changed, fly it again:
//! `python3 tests/independent/fly.py scenarios/ready/*.json tests/independent/everything-at-once.json --out tests/independent/reference.json`
//!
//! The script has no vortex lattice: the coefficients each scenario's airframe is flown with, which may be estimated, lie for it in
//! `tests/independent/tables.json`. That file is ours, and no check of an estimate: `TOSSLINE_RENEW=1 cargo test -p tossline-tests --test
//! independent tables` writes it anew.

use nalgebra::{Vector3, Vector4};
use scenarios::airframe_file::{AirframeFile, Coefficient};
use scenarios::load::load_scenario;
use serde::Deserialize;
use serde_json::{Map, Value, json};
use sim_core::flight::{End, Flight};
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

#[derive(Deserialize)]
struct Reference {
    scenarios: Vec<One>,
}

#[derive(Deserialize)]
struct One {
    name: String,
    end: String,
    end_time_s: f64,
    state: Reached,
    samples: Vec<Reached>,
    mass_kg: f64,
    inertia_kg_m2: [[f64; 3]; 3],
}

#[derive(Deserialize)]
#[allow(non_snake_case, reason = "the script's file keeps the unit's capital")]
struct Reached {
    time_s: f64,
    position_m: [f64; 3],
    attitude: [f64; 4],
    velocity_body_m_s: [f64; 3],
    rates_rad_s: [f64; 3],
    rotor_speed_rad_s: Vec<f64>,
    charge_C: f64,
}

fn workspace() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .expect("tests lie in the workspace")
}

fn reference() -> Reference {
    let path = std::env::var_os("TOSSLINE_INDEPENDENT").map_or(
        workspace().join("tests/independent/reference.json"),
        PathBuf::from,
    );
    let bytes = fs::read(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    serde_json::from_slice(&bytes).expect("the script writes JSON")
}

fn scenario_path(name: &str) -> PathBuf {
    let ready = workspace()
        .join("scenarios/ready")
        .join(name)
        .with_extension("json");
    if ready.exists() {
        ready
    } else {
        workspace()
            .join("tests/independent")
            .join(name)
            .with_extension("json")
    }
}

/// Largest departures of a flight from a state the script reached: m, rad, m/s, rad/s, rad/s of a rotor, C.
fn departures(flight: &Flight, reached: &Reached) -> [f64; 6] {
    let state = flight.state_at(reached.time_s);
    let attitude = state.attitude.normalize();
    let theirs = Vector4::from(reached.attitude);
    // Between unit quaternions up to sign, the angle of the rotation that takes one to the other.
    let angle = 2.0 * (attitude - theirs).norm().min((attitude + theirs).norm());
    let rotors = reached.rotor_speed_rad_s.iter().zip(state.rotors);
    [
        (state.position - Vector3::from(reached.position_m)).norm(),
        angle,
        (state.velocity - Vector3::from(reached.velocity_body_m_s)).norm(),
        (state.rates - Vector3::from(reached.rates_rad_s)).norm(),
        rotors
            .map(|(theirs, ours)| (theirs - ours).abs())
            .fold(0.0, f64::max),
        (state.charge - reached.charge_C).abs(),
    ]
}

#[test]
fn every_ready_scenario_ends_where_the_script_written_from_the_model_ends() {
    let mut worst: [f64; 6] = [0.0; 6];
    for one in reference().scenarios {
        let loaded = load_scenario(scenario_path(&one.name)).expect("it loads");
        // Both sides exact: this compares models. What the default tolerance costs is `physics::convergence`'s business.
        let mut throw = loaded.built.throw;
        throw.tolerance.relative = 1e-11;
        throw.tolerance.absolute = 1e-11;
        let flight = throw.fly().expect("it starts");
        let word = match flight.end {
            End::Ground => "ground",
            End::Wall(_) | End::HallWall(_) => "wall",
            End::Ceiling => "ceiling",
            End::Time => "time limit",
            End::CellEmpty => "cell empty",
            _ => "failed",
        };
        assert_eq!(word, one.end, "{}", one.name);
        assert!(
            (flight.end_time_s - one.end_time_s).abs() < 1e-6,
            "{}",
            one.name
        );
        let last = one
            .samples
            .iter()
            .filter(|sample| sample.time_s < one.end_time_s);
        for reached in last.chain([&one.state]) {
            let away = departures(&flight, reached);
            let what = format!("{} at {} s: {away:?}", one.name, reached.time_s);
            assert!(away[0] < 1e-6 && away[1] < 1e-6, "{what}");
            assert!(
                away[2] < 1e-5 && away[3] < 1e-5 && away[4] < 1e-3 && away[5] < 1e-6,
                "{what}"
            );
            worst = std::array::from_fn(|i| worst[i].max(away[i]));
        }
    }
    println!("worst departures (m, rad, m/s, rad/s, rad/s of a rotor, C): {worst:?}");
}

#[test]
fn mass_and_inertia_from_parts_are_the_script_s() {
    for one in reference().scenarios {
        let vehicle = load_scenario(scenario_path(&one.name))
            .expect("it loads")
            .built
            .throw
            .vehicle;
        assert!(
            (vehicle.mass / one.mass_kg - 1.0).abs() < 1e-12,
            "{}",
            one.name
        );
        for i in 0..3 {
            for j in 0..3 {
                let away = vehicle.inertia[(i, j)] - one.inertia_kg_m2[i][j];
                assert!(away.abs() < 1e-15, "{}: {i}{j} by {away}", one.name);
            }
        }
    }
}

/// The numbers an airframe's coefficients, tabs, stall and reference have after overrides and estimate.
fn table_of(file: &AirframeFile) -> Value {
    let values = |named: &[(&str, &Coefficient)]| -> Map<String, Value> {
        let entry = |(name, one): &(&str, &Coefficient)| ((*name).to_owned(), json!(one.value));
        named.iter().map(entry).collect()
    };
    let tabs = file.tabs.iter();
    json!({
        "reference": file.reference(),
        "coefficients": values(&file.coefficients.named()),
        "tabs": tabs.map(|tab| (tab.name.clone(), values(&tab.named()).into())).collect::<Map<_, Value>>(),
        "stall": file.stall(),
    })
}

#[test]
fn the_tables_the_script_reads_are_those_flown_with() {
    let path = workspace().join("tests/independent/tables.json");
    let now: Map<String, Value> = wanted()
        .into_iter()
        .map(|name| {
            let loaded = load_scenario(scenario_path(&name)).expect("it loads");
            (name, table_of(&loaded.airframe.file))
        })
        .collect();
    let now = format!("{:#}\n", Value::Object(now));
    if std::env::var_os("TOSSLINE_RENEW").is_some() {
        fs::write(&path, &now).expect("the file can be written");
    }
    let there = fs::read_to_string(&path).unwrap_or_default();
    assert!(
        there == now,
        "{} is out of date: renew it, then fly the script again (see the head of this test)",
        path.display()
    );
}

/// Names of all scenarios the script has to fly.
fn wanted() -> BTreeSet<String> {
    let ready = fs::read_dir(workspace().join("scenarios/ready"))
        .expect("ready scenarios are there")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| {
            path.extension()
                .is_some_and(|extension| extension == "json")
        })
        .filter_map(|path| Some(path.file_stem()?.to_string_lossy().into_owned()));
    ready.chain(["everything-at-once".to_owned()]).collect()
}

#[test]
fn the_script_has_flown_every_ready_scenario_and_the_hard_one() {
    let flown: BTreeSet<String> = reference()
        .scenarios
        .into_iter()
        .map(|one| one.name)
        .collect();
    assert_eq!(flown, wanted());
}
