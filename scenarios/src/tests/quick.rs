//! The quick way to a scenario with other numbers against reading its file anew: the same throw to the bit, or the same words.

use crate::error::FileError;
use crate::load::{LoadedScenario, STUDY_TOLERANCE, load_scenario, load_scenario_with};
use crate::overrides::{Numbers, Override, is_of_scenario, paths_of};
use crate::schema::Kind;
use crate::study::{Purpose, load_study};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// Ready throws that between them have every section a throw may have, and all three airframes.
const READY: [&str; 9] = [
    "gust-on-the-climb",
    "turbulent-afternoon",
    "turn-downwind-in-shear",
    "avocet-turn-by-rudder",
    "godwit-step-lower-motors",
    "damper-in-side-gust",
    "under-the-hall-roof",
    "from-the-dyke-under-power",
    "flight-to-cut-off",
];

fn ready(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("ready");
    folder.join(name).with_extension("json")
}

/// Everything of a scenario that flies or is shown, or why there is none.
fn shown(loaded: Result<LoadedScenario, FileError>) -> Result<String, String> {
    let loaded = loaded.map_err(|error| error.to_string())?;
    let airframe = &loaded.airframe;
    Ok(format!(
        "{:?}\n{:?}\n{:?}\n{:?}\n{:?}\n{:?}\n{:?}\n{:?}",
        loaded.file,
        loaded.built,
        loaded.warnings(),
        loaded.effective(),
        airframe.file,
        airframe.written_down,
        airframe.estimated,
        airframe.built,
    ))
}

fn below(random: &mut ChaCha8Rng, n: usize) -> usize {
    (random.next_u64() % n as u64) as usize
}

/// Paths of all numbers of a file.
fn numbers_of(value: &Value, kind: Kind) -> Vec<String> {
    let mut paths = paths_of(value, kind);
    paths.retain(|path| is_of_scenario(path) == (kind == Kind::Scenario));
    let numbers = Numbers::new(value.clone(), kind);
    paths.retain(|path| {
        let same = Override::new(path, &json!({"multiply": 1})).expect("an override");
        numbers.changed([&same].into_iter(), |_| true).is_some()
    });
    paths
}

/// A change of a field: mostly a little of what is there, now and then something wild.
fn change(random: &mut ChaCha8Rng) -> Value {
    let little = below(random, 2001) as f64 / 1000.0 - 1.0;
    match below(random, 32) {
        0 => json!(little * 1e3),
        1 => json!(1e-3 * little),
        2 => json!(3e9 * little),
        3 => json!(below(random, 9)),
        4 => json!(-7),
        5 => json!("far"),
        6 => json!({"multiply": -1e12}),
        7 => json!({"add": 1e308}),
        8 => json!(0),
        9..=20 => json!({"multiply": 1.0 + 0.05 * little}),
        _ => json!({"add": 0.05 * little}),
    }
}

fn agree(anew: Result<String, String>, quick: Result<String, String>, what: &[Override]) -> bool {
    let flew = anew.is_ok();
    let (a, b) = (anew.unwrap_or_else(|e| e), quick.unwrap_or_else(|e| e));
    let differs = a.bytes().zip(b.bytes()).position(|(a, b)| a != b);
    let near = |text: &str| {
        let from = differs.unwrap_or(0).saturating_sub(80);
        text.chars().skip(from).take(200).collect::<String>()
    };
    assert!(a == b, "{what:?}\n…{}\n…{}", near(&a), near(&b));
    flew
}

#[test]
fn a_changed_scenario_is_the_file_read_anew() {
    let mut random = ChaCha8Rng::seed_from_u64(1);
    let (mut flew, mut refused, mut quickly) = (0, 0, 0);
    for name in READY {
        let base = load_scenario(ready(name)).expect("a ready throw");
        let paths = numbers_of(&base.effective().value, Kind::Scenario);
        let of_airframe = numbers_of(&base.airframe.effective().value, Kind::Airframe);
        for _ in 0..12 {
            let mut draw = |count: usize, from: &[String]| -> Vec<Override> {
                (0..count)
                    .map(|_| {
                        let path = &from[below(&mut random, from.len())];
                        Override::new(path, &change(&mut random)).expect("an override")
                    })
                    .collect()
            };
            let mut overrides = draw(2, &paths);
            overrides.extend(draw(1, &of_airframe));
            quickly += usize::from(base.quickly_changed_by(&overrides).is_some());
            let anew = shown(load_scenario_with(ready(name), &overrides));
            match agree(anew, shown(base.changed_by(&overrides)), &overrides) {
                true => flew += 1,
                false => refused += 1,
            }
        }
    }
    assert!(flew > 20 && refused > 20, "{flew} flew, {refused} refused");
    assert!(quickly > 10, "{quickly} by the quick way");
}

// One field at a time, all of them, a little and far off. What is read of the base is not read anew here, so that all fields take no minutes.
#[test]
fn every_field_changes_alike_both_ways() {
    let mut random = ChaCha8Rng::seed_from_u64(2);
    let mut quickly = Vec::new();
    for name in READY {
        let base = load_scenario(ready(name)).expect("a ready throw");
        let mut paths = paths_of(&base.effective().value, Kind::Scenario);
        paths.retain(|path| is_of_scenario(path));
        if name == "turbulent-afternoon" {
            let of_airframe = paths_of(&base.airframe.effective().value, Kind::Airframe);
            paths.extend(
                of_airframe
                    .into_iter()
                    .filter(|path| !path.ends_with("source")),
            );
        }
        for path in paths {
            for by in [json!({"multiply": 1.001}), change(&mut random)] {
                let overrides = [Override::new(&path, &by).expect("an override")];
                let plain = |loaded: Result<LoadedScenario, FileError>| {
                    let loaded = loaded.map_err(|error| error.to_string())?;
                    let airframe = &loaded.airframe;
                    Ok(format!(
                        "{:?} {:?} {:?} {:?} {:?}",
                        loaded.file,
                        loaded.built,
                        airframe.file,
                        airframe.written_down,
                        airframe.built
                    ))
                };
                if base.quickly_changed_by(&overrides).is_some() {
                    quickly.push(path.clone());
                }
                let whole = plain(base.changed_at_length_by(&overrides));
                agree(whole, plain(base.changed_by(&overrides)), &overrides);
            }
        }
    }
    // What studies move goes the quick way.
    for path in [
        "launch.release_speed_m_s",
        "air.gusts.1.gust_start_m",
        "pilot.throttle.changes.1.time_s",
        "mass.parts.cell.at.station_mm",
        "mass.parts.cell.mass_g",
        "motors.left.thrust_elevation_deg",
        "tabs.elevon.setting_deg",
        "cell.internal_resistance_ohm",
        "coefficients.roll_zero.value",
    ] {
        assert!(quickly.iter().any(|one| one == path), "{path}");
    }
}

// Sharing equal parts once lost the sign of a zero here.
#[test]
fn a_part_on_the_other_side_of_the_middle_keeps_the_signs_of_zeros() {
    let base = load_scenario(ready("avocet-turn-by-rudder")).expect("a ready throw");
    let far = Override::new("mass.parts.glue.at.right_mm", &json!({"multiply": -1e12}));
    let overrides = [far.expect("an override")];
    let anew = load_scenario_with(ready("avocet-turn-by-rudder"), &overrides);
    agree(shown(anew), shown(base.changed_by(&overrides)), &overrides);
}

#[test]
fn flights_of_ready_studies_are_their_files_read_anew() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("studies");
    for (name, scenario) in [
        ("marsh-afternoon", "ready/step-in-calm-cured"),
        ("release-and-gust", "ready/gust-on-the-climb"),
        ("thrust-line-dunlin", "studies/throws/dunlin"),
        ("thrust-line-avocet", "studies/throws/avocet"),
    ] {
        let study = load_study(folder.join(name).with_extension("json"), &[]).expect("a study");
        let base = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join(scenario)
            .with_extension("json");
        let plan = study.plan(Purpose::State);
        let engine = [
            ("solver.method", json!("lanes")),
            ("solver.relative_tolerance", json!(STUDY_TOLERANCE)),
        ]
        .map(|(path, value)| Override::new(path, &value).expect("an override"));
        for i in 0..4 {
            let flight = plan.flight(i * plan.flights() / 4 + i);
            assert!(
                study.base.quickly_changed_by(&flight.overrides).is_some(),
                "{name} {i}"
            );
            let overrides = [&engine, flight.overrides.as_slice()].concat();
            let anew = shown(load_scenario_with(&base, &overrides));
            assert!(agree(
                anew,
                shown(study.scenario(&flight)),
                &flight.overrides
            ));
            let mass = study
                .base
                .mass_changed_by(&flight.overrides)
                .expect("it has a mass");
            assert_eq!(
                mass.whole,
                study.scenario(&flight).unwrap().airframe.built.mass
            );
        }
    }
}
