//! `tossline footprint`, and halls and zones on the command line.

use crate::command::{err, out, ready, run, workspace};
use serde_json::Value;
use std::fs;
use std::path::Path;

/// A study of a few throws of a ready scenario, in a folder of its own.
fn small_study(folder: &Path, change: impl Fn(&mut Value)) -> String {
    let from = workspace().join("scenarios/studies/footprint-from-the-dyke.json");
    let mut study: Value = serde_json::from_str(&fs::read_to_string(from).unwrap()).unwrap();
    study["base"] = ready("from-the-dyke-under-power").into();
    study["flights"] = 12.into();
    change(&mut study);
    let path = folder.join("study.json");
    fs::write(&path, study.to_string()).unwrap();
    path.display().to_string()
}

#[test]
fn a_footprint_is_the_same_on_any_number_of_threads_and_its_table_adds_up() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), |_| {});
    let names = [
        "footprint.json",
        "footprint.svg",
        "landings.csv",
        "power-cut-landings.csv",
    ];
    let of = |threads: &str| {
        let results = folder.path().join(threads).display().to_string();
        let output = run(&[
            "footprint",
            &study,
            "--out",
            &results,
            "--threads",
            threads,
            "--cut-moments",
            "3",
        ]);
        assert_eq!(output.status.code(), Some(0), "{}", err(&output));
        assert!(err(&output).contains("zone the creek is water"));
        names.map(|name| fs::read(folder.path().join(threads).join(name)).unwrap())
    };
    let one = of("1");
    assert!(one == of("2") && one == of("7"));

    let report: Value = serde_json::from_slice(&one[0]).unwrap();
    assert_eq!(report["throws"], 12);
    let ends = report["ends"].as_object().unwrap();
    assert_eq!(ends.values().filter_map(Value::as_u64).sum::<u64>(), 12);
    let table = String::from_utf8(one[2].clone()).unwrap();
    let mut rows = csv::Reader::from_reader(table.as_bytes());
    let heads = rows.headers().unwrap().clone();
    let column = |name: &str| heads.iter().position(|head| head == name).unwrap();
    let records: Vec<csv::StringRecord> = rows.records().map(Result::unwrap).collect();
    assert_eq!(records.len(), 12);
    let wet = records
        .iter()
        .filter(|r| r[column("landed_in_zone")].contains("the creek"))
        .count();
    let zone = &report["zones"][0];
    assert_eq!(zone["lands"]["count"], wet);
    let dry = records
        .iter()
        .filter(|r| &r[column("meets dry")] == "true")
        .count();
    assert_eq!(dry + wet, 12);
    let mean = records
        .iter()
        .map(|r| r[column("end_north_m")].parse::<f64>().unwrap())
        .sum::<f64>()
        / 12.0;
    assert!((report["landings"]["mean_north_m"].as_f64().unwrap() - mean).abs() < 1e-9);
    // A throw that comes down in a zone by itself or by a power cut at one of three moments.
    let cuts = String::from_utf8(one[3].clone()).unwrap();
    assert_eq!(cuts.lines().count(), 1 + 12 * 3);
    let mut hit: Vec<&str> = cuts
        .lines()
        .filter(|l| l.contains("the creek"))
        .map(|l| l.split(',').next().unwrap())
        .collect();
    hit.dedup();
    assert_eq!(zone["lands_after_power_cut"]["count"], hit.len());
}

#[test]
fn a_condition_that_must_hold_and_does_not_ends_with_1_and_axes_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let results = folder.path().join("results");
    let out_dir = results.display().to_string();
    let study = small_study(folder.path(), |study| {
        study["conditions"] = serde_json::json!([
            {"name": "far", "column": "distance_along_m", "comparison": "above", "limit": 1000, "must_hold": true}
        ]);
    });
    let output = run(&["footprint", &study, "--out", &out_dir, "--cut-moments", "0"]);
    assert_eq!(output.status.code(), Some(1), "{}", err(&output));
    assert!(out(&output).contains("MUST HOLD, DOES NOT"));
    assert!(!results.join("power-cut-landings.csv").exists());
    let study = small_study(folder.path(), |study| {
        study["axes"] = serde_json::json!([{"field": "air.wind.up_m_s", "values": [0, 1]}]);
    });
    let output = run(&["footprint", &study, "--out", &out_dir]);
    assert_eq!(output.status.code(), Some(2));
    assert!(err(&output).contains("axes"), "{}", err(&output));
}

#[test]
fn the_report_says_what_was_hit_and_the_trim_whether_a_turn_fits() {
    let folder = tempfile::tempdir().unwrap();
    let out_dir = folder.path().display().to_string();
    let output = run(&[
        "fly",
        &ready("under-the-hall-roof"),
        &ready("from-the-dyke"),
        "--out",
        &out_dir,
    ]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    let text = out(&output);
    assert!(
        text.contains("under-the-hall-roof: hit the ceiling at"),
        "{text}"
    );
    assert!(
        text.contains("from-the-dyke: CAME DOWN IN the creek"),
        "{text}"
    );
    let dunlin = workspace()
        .join("demo-airframes/dunlin.json")
        .display()
        .to_string();
    let hall = ready("under-the-hall-roof");
    let output = run(&["trim", &dunlin, "--site", &hall, "--json"]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    let report: Value = serde_json::from_str(&out(&output)).unwrap();
    // The hall is 24 by 14 m: half its width.
    let radius = report["hall"]["largest_circle_radius_m"].as_f64().unwrap();
    assert!((radius - 7.0).abs() < 0.003, "{radius}");
    let turn = &report["hall"]["turns"][0];
    let number = |name: &str| turn[name].as_f64().unwrap();
    let reach = report["hall"]["airframe_reach_m"].as_f64().unwrap();
    assert!((radius - number("turn_radius_m") - reach - number("to_spare_m")).abs() < 1e-9);
    assert_eq!(turn["fits"], number("to_spare_m") > 0.0);
    let output = run(&["trim", &dunlin, "--site", &ready("step-in-calm")]);
    assert_eq!(output.status.code(), Some(2));
    assert!(err(&output).contains("site.hall"));
}
