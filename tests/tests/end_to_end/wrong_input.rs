//! Bad input: code 2, file, line and field named, nothing written. Line numbers are counted in the files made here.

use crate::command::{err, ready, run, workspace};
use std::fs;
use std::path::Path;

/// A copy of a ready scenario and its airframe, in which `from` has become `to` once.
fn altered(folder: &Path, file: &str, from: &str, to: &str) -> (String, usize) {
    let airframe =
        fs::read_to_string(workspace().join("scenarios/test-data/hand-made/dunlin.json")).unwrap();
    let scenario = fs::read_to_string(ready("step-in-calm"))
        .unwrap()
        .replace("../../demo-airframes/", "");
    for (name, text) in [("dunlin.json", airframe), ("scenario.json", scenario)] {
        fs::write(folder.join(name), text).unwrap();
    }
    let path = folder.join(file);
    let text = fs::read_to_string(&path).unwrap();
    let at = text
        .find(from)
        .unwrap_or_else(|| panic!("{from} is not in {file}"));
    fs::write(&path, text.replacen(from, to, 1)).unwrap();
    let line = text[..at].matches('\n').count() + 1;
    (folder.join("scenario.json").display().to_string(), line)
}

/// Flies an altered file and expects code 2, a message with file, line and every one of `words`, and no results.
fn refused(file: &str, from: &str, to: &str, words: &[&str]) {
    let folder = tempfile::tempdir().unwrap();
    let (scenario, line) = altered(folder.path(), file, from, to);
    let results = folder.path().join("results");
    let output = run(&["fly", &scenario, "--out", &results.display().to_string()]);
    let message = err(&output);
    assert_eq!(output.status.code(), Some(2), "{message}");
    assert!(
        message.contains(&format!("{file}:{line}: ")),
        "line {line} in: {message}"
    );
    for word in words {
        assert!(message.contains(word), "{word} in: {message}");
    }
    assert!(!results.exists(), "nothing is written");
}

#[test]
fn three_wrong_airframes() {
    refused(
        "dunlin.json",
        "\"stall\"",
        "\"stal\"",
        &["stal", "did you mean \"stall\""],
    );
    refused(
        "dunlin.json",
        "\"clockwise\"",
        "\"clokwise\"",
        &["spin", "clokwise", "\"clockwise\""],
    );
    refused(
        "dunlin.json",
        "\"diameter_mm\": ",
        "\"diameter_mm\": -",
        &["diameter_mm", "found -"],
    );
}

#[test]
fn three_wrong_scenarios() {
    refused(
        "scenario.json",
        "\"release_speed_m_s\"",
        "\"release_sped_m_s\"",
        &["release_sped_m_s", "release_speed_m_s"],
    );
    refused(
        "scenario.json",
        "\"release_height_m\": ",
        "\"bank_deg\": \"high\", \"release_height_m\": ",
        &["bank_deg", "\"high\"", "number"],
    );
    refused(
        "scenario.json",
        "\"time_limit_s\": ",
        "\"time_limit_s\": -",
        &["time_limit_s", "found -"],
    );
}

// A throw that cannot start is bad input like any other: found before anything is written, with its line.
#[test]
fn throws_that_cannot_start() {
    refused(
        "scenario.json",
        "\"release_height_m\": 4",
        "\"release_height_m\": 0.01",
        &["launch.release_height_m", "found 0.01", "under the ground"],
    );
    refused(
        "scenario.json",
        "\"end\": ",
        "\"site\": {\"walls\": [{\"heading_deg\": 0, \"distance_m\": 0.05}]}, \"end\": ",
        &["site.walls", "distance_m", "0.05", "wall"],
    );
}

#[test]
fn results_of_an_earlier_run_stay_where_a_later_one_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let results = folder.path().join("results");
    let out_dir = results.display().to_string();
    let good = run(&["fly", &ready("step-in-calm"), "--out", &out_dir]);
    assert_eq!(good.status.code(), Some(0));
    let table = fs::read(results.join("summary.csv")).unwrap();
    let (low, _) = altered(
        folder.path(),
        "scenario.json",
        "\"release_height_m\": 4",
        "\"release_height_m\": 0.01",
    );
    let refused = run(&["fly", &low, "--out", &out_dir]);
    assert_eq!(refused.status.code(), Some(2));
    assert_eq!(
        String::from_utf8_lossy(&refused.stdout),
        "",
        "nothing is said to be written"
    );
    assert_eq!(fs::read(results.join("summary.csv")).unwrap(), table);
}

#[test]
fn set_adds_and_multiplies() {
    let dunlin = workspace()
        .join("demo-airframes/dunlin.json")
        .display()
        .to_string();
    let value = |set: &str| {
        let output = run(&[
            "inspect",
            &dunlin,
            "--json",
            "--set",
            "motors.left.thrust_elevation_deg=4",
            "--set",
            set,
        ]);
        assert_eq!(output.status.code(), Some(0), "{}", err(&output));
        let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        json["motors"][0]["thrust_elevation_deg"].as_f64().unwrap()
    };
    assert_eq!(value("motors.*.thrust_elevation_deg+=-3"), 1.0);
    assert_eq!(value("motors.left.thrust_elevation_deg*=0.5"), 2.0);
    assert_eq!(value("motors.*.thrust_elevation_deg=-3"), -3.0);
}

#[test]
fn a_doubled_name_is_refused_before_flying() {
    let folder = tempfile::tempdir().unwrap();
    let results = folder.path().join("results");
    let scenario = ready("step-in-calm");
    let output = run(&[
        "fly",
        &scenario,
        &scenario,
        "--out",
        &results.display().to_string(),
    ]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        err(&output).contains("both named \"step-in-calm\""),
        "{}",
        err(&output)
    );
    assert!(!results.exists());
}

#[test]
fn every_bad_file_is_named_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let output = run(&[
        "fly",
        "no-such-1.json",
        "no-such-2.json",
        "--out",
        &folder.path().display().to_string(),
    ]);
    assert_eq!(output.status.code(), Some(2));
    assert!(err(&output).contains("no-such-1.json") && err(&output).contains("no-such-2.json"));
}

#[test]
fn an_override_that_names_nothing_gives_the_nearest_path() {
    let folder = tempfile::tempdir().unwrap();
    let results = folder.path().join("results").display().to_string();
    let output = run(&[
        "fly",
        &ready("step-in-calm"),
        "--out",
        &results,
        "--set",
        "motors.*.thrust_elevaton_deg=-3",
    ]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        err(&output).contains("thrust_elevation_deg"),
        "{}",
        err(&output)
    );
}

#[test]
fn a_folder_that_cannot_be_written_is_code_3() {
    let folder = tempfile::tempdir().unwrap();
    let blocker = folder.path().join("file");
    fs::write(&blocker, "").unwrap();
    let output = run(&[
        "fly",
        &ready("step-in-calm"),
        "--out",
        &blocker.join("results").display().to_string(),
    ]);
    assert_eq!(output.status.code(), Some(3), "{}", err(&output));
}

#[test]
fn numbers_typed_out_of_range_are_refused() {
    let dunlin = workspace()
        .join("demo-airframes/dunlin.json")
        .display()
        .to_string();
    for wrong in [
        ["--throttle", "1.5"],
        ["--left-minus-right", "-2"],
        ["--charge-fraction", "0"],
        ["--height-m", "1e9"],
    ] {
        let output = run(&["trim", &dunlin, wrong[0], wrong[1]]);
        assert_eq!(output.status.code(), Some(2), "{wrong:?}: {}", err(&output));
        assert!(err(&output).contains(wrong[0]), "{}", err(&output));
    }
}
