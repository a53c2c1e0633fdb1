//! `tossline compare`.

use crate::command::{err, out, ready, refused, run, workspace};
use serde_json::Value;
use std::fs;
use std::path::Path;

/// The dunlin with its motors at an elevation, without its propellers' effects, in a folder of its own beside its drawings.
fn dunlin(folder: &Path, name: &str, elevation_deg: f64) -> String {
    let demo = workspace().join("demo-airframes");
    let text = fs::read_to_string(demo.join("dunlin.json")).unwrap();
    let mut file: Value = serde_json::from_str(&text).unwrap();
    for motor in file["motors"].as_array_mut().unwrap() {
        motor["thrust_elevation_deg"] = elevation_deg.into();
    }
    fs::create_dir_all(folder.join("outlines")).unwrap();
    let drawing = "outlines/dunlin.svg";
    fs::copy(demo.join(drawing), folder.join(drawing)).unwrap();
    let path = folder.join(name);
    fs::write(&path, file.to_string()).unwrap();
    path.display().to_string()
}

fn json(output: &std::process::Output) -> Value {
    assert_eq!(output.status.code(), Some(0), "{}", err(output));
    serde_json::from_str(&out(output)).unwrap()
}

// Before and after must be what `tossline fly` makes of the same throw: summaries number by number, and their differences.
#[test]
fn differences_of_a_tilted_motor_are_those_that_were_flown() {
    let folder = tempfile::tempdir().unwrap();
    let (before, after) = (
        dunlin(folder.path(), "before.json", 0.0),
        dunlin(folder.path(), "after.json", -14.0),
    );
    let place = |name: &str| folder.path().join(name).display().to_string();
    let scenario = ready("step-in-calm");
    let compared = json(&run(&[
        "compare",
        &before,
        &after,
        "--scenario",
        &scenario,
        "--out",
        &place("c"),
        "--json",
    ]));
    let tilted: Vec<&Value> = compared["fields"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|field| field["worked_out"] == false)
        .collect();
    let paths: Vec<&str> = tilted.iter().filter_map(|f| f["path"].as_str()).collect();
    assert_eq!(
        paths,
        [
            "motors.left.thrust_elevation_deg",
            "motors.right.thrust_elevation_deg"
        ]
    );
    let flown = |elevation: &str| {
        let set = format!("motors.*.thrust_elevation_deg={elevation}");
        let results = place(&format!("fly{elevation}"));
        let flights = json(&run(&[
            "fly", &scenario, "--out", &results, "--set", &set, "--json",
        ]));
        flights[0]["summary"].clone()
    };
    let (old, new) = (flown("0"), flown("-14"));
    let numbers = compared["pairs"][0]["numbers"].as_array().unwrap();
    let mut checked = 0;
    for name in [
        "pitch_down_under_power_deg",
        "minimum_altitude_m",
        "distance_along_m",
        "alpha_max_deg",
    ] {
        let one = numbers.iter().find(|one| one["name"] == name).unwrap();
        let (a, b) = (old[name].as_f64().unwrap(), new[name].as_f64().unwrap());
        assert_eq!(one["before"].as_f64(), Some(a), "{name}");
        assert_eq!(one["after"].as_f64(), Some(b), "{name}");
        assert!((one["difference"].as_f64().unwrap() - (b - a)).abs() < 1e-12);
        checked += 1;
    }
    assert_eq!(checked, 4);
    // design.md: lowering e of a pusher above the balance point lifts the nose.
    let words = compared["in_plain_words"].as_str().unwrap();
    assert!(
        words.contains("drops the nose") && words.contains("less"),
        "{words}"
    );
    for file in [
        "compare.csv",
        "compare.svg",
        "fields.csv",
        "before/trajectory.csv",
    ] {
        assert!(Path::new(&place("c")).join(file).is_file(), "{file}");
    }

    // The two results on disk, without a band: the same difference.
    let results = json(&run(&[
        "compare",
        &place("fly0"),
        &place("fly-14"),
        "--out",
        &place("r"),
        "--json",
    ]));
    let drop = results["pairs"][0]["numbers"].as_array().unwrap();
    let drop = drop
        .iter()
        .find(|one| one["name"] == "pitch_down_under_power_deg")
        .unwrap();
    assert_eq!(drop["verdict"], "no_band");
    assert_eq!(drop["before"], old["pitch_down_under_power_deg"]);
    assert_eq!(drop["after"], new["pitch_down_under_power_deg"]);
}

#[test]
fn the_same_file_twice_has_no_differences_on_any_number_of_threads() {
    let folder = tempfile::tempdir().unwrap();
    let file = dunlin(folder.path(), "same.json", -5.0);
    let of = |threads: &str| {
        let results = folder.path().join(threads);
        let output = run(&[
            "compare",
            &file,
            &file,
            "--threads",
            threads,
            "--out",
            &results.display().to_string(),
        ]);
        assert_eq!(output.status.code(), Some(0), "{}", err(&output));
        assert!(out(&output).contains("No differences."), "{}", out(&output));
        fs::read(results.join("compare.json")).unwrap()
    };
    let one = of("1");
    assert!(one == of("3"));
    let report: Value = serde_json::from_slice(&one).unwrap();
    assert_eq!(report["fields"].as_array().unwrap().len(), 0);
    for number in report["pairs"][0]["numbers"].as_array().unwrap() {
        assert_eq!(number["verdict"], "same", "{number}");
    }
}

#[test]
fn what_cannot_be_compared_is_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let file = dunlin(folder.path(), "one.json", 0.0);
    let results = folder.path().join("out");
    let refused =
        |files: &[&str], says: &str| refused(&[&["compare"], files].concat(), &results, says);
    let empty = folder.path().join("outlines").display().to_string();
    refused(&["nowhere.json", &file], "nowhere.json");
    refused(&[&file, &empty], "is a result");
    refused(&[&empty, &empty], "no summary.json");
    refused(
        &[&file, &file, "--scenario", "nowhere.json"],
        "nowhere.json",
    );
    refused(&[&file, &file, "--set", "no.such=1"], "no.such");
}
