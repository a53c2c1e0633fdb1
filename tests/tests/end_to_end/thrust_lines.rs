//! `tossline thrustline`.

use crate::command::{err, out, run, workspace};
use scenarios::load::load_airframe;
use serde_json::{Value, json};
use std::fs;
use std::path::Path;

fn dunlin() -> String {
    workspace()
        .join("demo-airframes/dunlin.json")
        .display()
        .to_string()
}

/// The dunlin's ready study with few flights, or changed further, in a folder of its own.
fn small_study(folder: &Path, change: impl Fn(&mut Value)) -> String {
    let from = workspace().join("scenarios/studies/thrust-line-dunlin.json");
    let mut study: Value = serde_json::from_str(&fs::read_to_string(from).unwrap()).unwrap();
    study["base"] = crate::command::ready("step-in-calm").into();
    study["flights"] = 4.into();
    study["axes"] = json!([{"field": "motors.*.thrust_elevation_deg", "values": [-22, -14, 0]}]);
    change(&mut study);
    let path = folder.join("study.json");
    fs::write(&path, study.to_string()).unwrap();
    path.display().to_string()
}

// Without propeller effects power pitches by its lever arm alone, and does not where the line of thrust passes through the balance point:
// tan e = −(height over it)/(distance behind it), by trigonometry on the places of the file.
#[test]
fn the_cured_angle_of_a_pure_lever_arm_is_that_of_the_drawing() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), |study| {
        study["scatter"] = json!({});
        study["flights"] = 2.into();
    });
    let results = folder.path().join("out").display().to_string();
    let output = run(&[
        "thrustline",
        &dunlin(),
        "--study",
        &study,
        "--out",
        &results,
        "--json",
        "--set",
        "propeller_effects.disc_normal_force=false",
        "--set",
        "propeller_effects.wash=false",
        "--set",
        "propeller_effects.suction=false",
    ]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    let report: Value = serde_json::from_str(&out(&output)).unwrap();
    let built = load_airframe(dunlin(), &[]).unwrap().built;
    let (motor, balance) = (built.motors[0].place, built.mass.balance);
    let expected = -((motor.up_m - balance.up_m) / (motor.station_m - balance.station_m))
        .atan()
        .to_degrees();
    let found = report["answers"][0]["balanced_deg"].as_f64().unwrap();
    assert!((found - expected).abs() < 0.05, "{found} {expected}");

    assert_eq!(report["pushers"], true);
}

// design.md, 'The demonstration': one cure at low speed stalls at full power (the dunlin at −22°), and elevation < 0 on a pusher lifts the nose.
#[test]
fn the_steep_cure_is_refused_at_full_power_and_the_table_holds_every_flight() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), |_| {});
    let of = |threads: &str| {
        let results = folder.path().join(threads);
        let output = run(&[
            "thrustline",
            &dunlin(),
            "--study",
            &study,
            "--threads",
            threads,
            "--out",
            &results.display().to_string(),
        ]);
        assert_eq!(output.status.code(), Some(0), "{}", err(&output));
        ["thrustline.json", "thrustline.csv", "thrustline.svg"]
            .map(|name| fs::read(results.join(name)).unwrap())
    };
    let one = of("1");
    assert!(one == of("3"), "threads do not change the answer");
    let report: Value = serde_json::from_slice(&one[0]).unwrap();
    let mut rows = csv::Reader::from_reader(one[1].as_slice());
    let heads = rows.headers().unwrap().clone();
    let column = |name: &str| heads.iter().position(|head| head == name).unwrap();
    let records: Vec<csv::StringRecord> = rows.records().map(Result::unwrap).collect();
    assert_eq!(report["flights"], records.len());
    let drawn = |angle: &str| {
        let this = |r: &&csv::StringRecord| {
            &r[column("pass")] == "unscattered"
                && &r[column("motors.*.thrust_elevation_deg")] == angle
        };
        records.iter().find(this).unwrap()
    };
    assert_eq!(
        &drawn("-22")[column("meets no-stall-at-full-power")],
        "false"
    );
    assert_eq!(&drawn("-14")[column("meets all")], "true");
    let drop = |angle: &str| -> f64 {
        drawn(angle)[column("pitch_down_under_power_deg")]
            .parse()
            .unwrap()
    };
    assert!(
        drop("0") > drop("-14") + 5.0,
        "{} {}",
        drop("0"),
        drop("-14")
    );
    for at in report["answers"][0]["chosen"].as_array().unwrap() {
        let angle = at["angle_deg"].as_f64().unwrap();
        let met = records.iter().filter(|r| {
            &r[column("pass")] == "choose"
                && r[column("motors.*.thrust_elevation_deg")].parse() == Ok(angle)
                && &r[column("meets all")] == "true"
        });
        assert_eq!(at["meets"]["count"], met.count());
    }
}

#[test]
fn wrong_questions_are_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let results = folder.path().join("out");
    let refused = |arguments: &[&str], says: &str| {
        let place = results.display().to_string();
        let mut all = vec!["thrustline"];
        all.extend_from_slice(arguments);
        all.extend_from_slice(&["--out", &place]);
        let output = run(&all);
        assert_eq!(output.status.code(), Some(2), "{}", err(&output));
        assert!(err(&output).contains(says), "{}", err(&output));
        assert!(!results.exists());
    };
    let dunlin = dunlin();
    refused(&[&dunlin, "--share-fraction", "1"], "--share-fraction");
    refused(&[&dunlin, "--height", "9000"], "--height");
    refused(&["nowhere.json"], "nowhere.json");
    let study = small_study(folder.path(), |study| study["axes"] = json!([]));
    refused(&[&dunlin, "--study", &study], "one axis of angles");
    let study = small_study(folder.path(), |study| study["conditions"] = json!([]));
    refused(&[&dunlin, "--study", &study], "at least one condition");
    let study = small_study(folder.path(), |_| {});
    let avocet = workspace()
        .join("demo-airframes/avocet.json")
        .display()
        .to_string();
    refused(&[&avocet, "--study", &study], "a scenario that flies");
}
