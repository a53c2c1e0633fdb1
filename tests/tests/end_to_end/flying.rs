//! `fly`, `trim` and `inspect` on the ready files.

use crate::command::{all_ready, err, out, ready, run, tossline, workspace};
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Stdio;

/// Every file below a folder, by its path from there.
fn contents(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut files = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if path.is_dir() {
            files.extend(
                contents(&path)
                    .into_iter()
                    .map(|(inner, bytes)| (format!("{name}/{inner}"), bytes)),
            );
        } else {
            files.insert(name, fs::read(&path).unwrap());
        }
    }
    files
}

#[test]
fn every_ready_scenario_flies_to_the_same_bytes_on_one_two_and_seven_threads() {
    let scenarios = all_ready();
    let results: Vec<BTreeMap<String, Vec<u8>>> = ["1", "2", "7"]
        .iter()
        .map(|threads| {
            let folder = tempfile::tempdir().unwrap();
            let output = tossline()
                .args(["fly", "--threads", threads, "--out"])
                .arg(folder.path())
                .args(&scenarios)
                .output()
                .unwrap();
            assert_eq!(output.status.code(), Some(0), "{}", err(&output));
            contents(folder.path())
        })
        .collect();
    // A twin is flown where a flight reaches a throttle step, and its summary then has the step's time.
    let stepped = results[0].values().filter(|bytes| {
        let summary = serde_json::from_slice::<serde_json::Value>(bytes);
        summary.is_ok_and(|record| record["summary"]["throttle_step_time_s"].is_number())
    });
    assert_eq!(
        results[0].len(),
        2 * scenarios.len() + stepped.count() + 3,
        "trajectory and summary each, twins, table, picture and page"
    );
    assert_eq!(results[0], results[1]);
    assert_eq!(results[0], results[2]);
}

#[test]
fn a_trajectory_is_uniform_in_time_and_has_no_number_that_is_none() {
    let folder = tempfile::tempdir().unwrap();
    let output = run(&[
        "fly",
        &ready("step-in-calm"),
        "--out",
        &folder.path().display().to_string(),
    ]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    let mut reader =
        csv::Reader::from_path(folder.path().join("step-in-calm/trajectory.csv")).unwrap();
    let heads = reader.headers().unwrap().clone();
    for wanted in [
        "time_s",
        "north_m",
        "height_m",
        "pitch_deg",
        "airspeed_m_s",
        "alpha_deg",
        "beta_deg",
        "path_angle_deg",
        "cell_voltage_V",
        "motor_left_thrust_N",
        "motor_left_current_A",
    ] {
        assert!(
            heads.iter().any(|head| head == wanted),
            "{wanted} is not in {heads:?}"
        );
    }
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    for (i, row) in rows.iter().enumerate() {
        for value in row.iter().filter(|value| !value.is_empty()) {
            assert!(value.parse::<f64>().unwrap().is_finite());
        }
        let time: f64 = row[0].parse().unwrap();
        if i + 1 < rows.len() {
            assert!(
                (time - 0.01 * i as f64).abs() < 1e-12,
                "row {i} at {time} s"
            );
        }
    }
    let summary: Value =
        serde_json::from_slice(&fs::read(folder.path().join("step-in-calm/summary.json")).unwrap())
            .unwrap();
    for made_by in [
        "tossline_version",
        "inputs_sha256",
        "engine",
        "seed",
        "caution",
    ] {
        assert!(summary.get(made_by).is_some(), "{made_by}");
    }
    let last: f64 = rows[rows.len() - 1][0].parse().unwrap();
    assert_eq!(summary["summary"]["flight_time_s"].as_f64(), Some(last));
}

#[test]
fn a_result_s_hash_follows_its_inputs() {
    let hash = |more: &[&str]| {
        let folder = tempfile::tempdir().unwrap();
        let (scenario, out_dir) = (ready("step-in-calm"), folder.path().display().to_string());
        let output = run(&[&["fly", &scenario, "--out", &out_dir, "--json"], more].concat());
        assert_eq!(output.status.code(), Some(0), "{}", err(&output));
        let summaries: Value = serde_json::from_str(&out(&output)).unwrap();
        summaries[0]["inputs_sha256"].as_str().unwrap().to_owned()
    };
    assert_eq!(hash(&[]), hash(&[]));
    assert_ne!(
        hash(&[]),
        hash(&["--set", "motors.*.thrust_elevation_deg=-1"])
    );
}

#[test]
fn the_record_interval_does_not_change_the_summary() {
    let text = fs::read_to_string(ready("step-in-calm")).unwrap();
    let airframe = workspace().join("demo-airframes");
    let text = text.replace("../../demo-airframes", &airframe.display().to_string());
    let mut scenario: Value = serde_json::from_str(&text).unwrap();
    let mut summaries = Vec::new();
    for interval_s in [0.01, 0.1] {
        let folder = tempfile::tempdir().unwrap();
        scenario["record"] = serde_json::json!({ "interval_s": interval_s });
        let file = folder.path().join("throw.json");
        fs::write(&file, scenario.to_string()).unwrap();
        let output = run(&[
            "fly",
            &file.display().to_string(),
            "--out",
            &folder.path().display().to_string(),
            "--json",
        ]);
        assert_eq!(output.status.code(), Some(0), "{}", err(&output));
        let json: Value = serde_json::from_str(&out(&output)).unwrap();
        summaries.push(json[0]["summary"].clone());
    }
    assert_eq!(summaries[0], summaries[1]);
}

#[test]
fn a_flight_that_fails_numerically_is_a_row_with_its_reason_and_code_1() {
    let folder = tempfile::tempdir().unwrap();
    let out_dir = folder.path().display().to_string();
    // Rotors almost without inertia: far too stiff for an explicit method.
    let blown = run(&[
        "fly",
        &ready("step-in-calm"),
        "--out",
        &out_dir,
        "--json",
        "--set",
        "motors.*.rotor_inertia_g_mm2=1e-9",
    ]);
    assert_eq!(
        blown.status.code(),
        Some(1),
        "{}{}",
        out(&blown),
        err(&blown)
    );
    let json: Value = serde_json::from_str(&out(&blown)).unwrap();
    assert_eq!(json[0]["summary"]["ended_by"], "failed");
    assert!(json[0]["summary"]["failure"].is_string());
    assert!(
        json[0]["summary"]["minimum_altitude_m"].is_null(),
        "no summary of a diverged flight"
    );
}

#[test]
fn a_reader_that_goes_away_is_no_error() {
    let mut child = tossline()
        .args(["schema", "airframe"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let status = child.wait_with_output().unwrap();
    assert_eq!(status.status.code(), Some(0), "{}", err(&status));
}

#[test]
fn trim_and_inspect_answer_for_every_demonstration_aircraft() {
    for name in ["dunlin", "avocet", "godwit"] {
        let file = workspace()
            .join(format!("demo-airframes/{name}.json"))
            .display()
            .to_string();
        let trim = run(&["trim", &file, "--json"]);
        assert_eq!(trim.status.code(), Some(0), "{}", err(&trim));
        let json: Value = serde_json::from_str(&out(&trim)).unwrap();
        let glide = &json["steady"][0];
        let ratio = glide["glide_ratio"]
            .as_f64()
            .unwrap_or_else(|| panic!("{name} does not glide: {glide}"));
        assert!((1.0..30.0).contains(&ratio), "{name} glides at {ratio}");
        let inspect = run(&["inspect", &file]);
        assert_eq!(inspect.status.code(), Some(0), "{}", err(&inspect));
        assert!(
            out(&inspect).contains("its air blows back"),
            "{}",
            out(&inspect)
        );
    }
}

#[test]
fn what_inspect_prints_as_json_flies_the_same() {
    let inspect = run(&["inspect", &ready("step-in-calm"), "--json"]);
    let json: Value = serde_json::from_str(&out(&inspect)).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let mut scenario = json["scenario"].clone();
    scenario["airframe"] = "airframe.json".into();
    scenario.as_object_mut().unwrap().remove("overrides");
    fs::write(
        folder.path().join("airframe.json"),
        json["airframe"].to_string(),
    )
    .unwrap();
    // The airframe still names its drawing, from the folder it is in.
    let outlines = workspace().join("demo-airframes/outlines");
    fs::create_dir(folder.path().join("outlines")).unwrap();
    fs::copy(
        outlines.join("dunlin.svg"),
        folder.path().join("outlines/dunlin.svg"),
    )
    .unwrap();
    fs::write(folder.path().join("scenario.json"), scenario.to_string()).unwrap();
    let summary = |file: &str| {
        let results = tempfile::tempdir().unwrap();
        let output = run(&[
            "fly",
            file,
            "--out",
            &results.path().display().to_string(),
            "--json",
        ]);
        assert_eq!(output.status.code(), Some(0), "{}", err(&output));
        let json: Value = serde_json::from_str(&out(&output)).unwrap();
        json[0]["summary"].clone()
    };
    let written = folder.path().join("scenario.json").display().to_string();
    assert_eq!(summary(&written), summary(&ready("step-in-calm")));
}

#[test]
fn help_and_completions_are_there() {
    let help = run(&["fly", "--help"]);
    assert!(out(&help).contains("trajectory.csv"));
    for shell in ["bash", "zsh", "fish"] {
        let script = run(&["completions", shell]);
        assert!(out(&script).contains("tossline") && script.status.code() == Some(0));
    }
}

// The estimate goes out as an airframe file of its own, with a band beside each number, and that file flies.
#[test]
fn an_estimate_is_a_file_that_flies() {
    let folder = tempfile::tempdir().unwrap();
    let dunlin = workspace()
        .join("scenarios/test-data/hand-made/dunlin.json")
        .display()
        .to_string();
    let out_dir = folder.path().display().to_string();
    let page = run(&["balance", &dunlin, "--estimate", "--out", &out_dir]);
    assert_eq!(page.status.code(), Some(0), "{}", err(&page));
    assert!(out(&page).contains("one sigma") && out(&page).contains("lift_alpha_per_rad"));
    let estimated = folder.path().join("dunlin-estimated.json");
    let file: Value = serde_json::from_slice(&fs::read(&estimated).unwrap()).unwrap();
    for (name, entry) in file["coefficients"].as_object().unwrap() {
        assert_eq!(entry["origin"], "estimate", "{name}");
        assert!(entry["one_sigma"].as_f64().unwrap() >= 0.0, "{name}");
    }
    // Its page carries the bands on, and says what the estimate says about itself.
    let own = run(&["balance", &estimated.display().to_string()]);
    assert_eq!(own.status.code(), Some(0), "{}", err(&own));
    for words in [
        "±",
        "one standard deviation",
        "estimate: not validated at this size",
        "the leading edge at the root of surface plate",
        "lists no bodies",
    ] {
        assert!(out(&own).contains(words), "{words} in {}", out(&own));
    }
    let json = run(&["balance", &estimated.display().to_string(), "--json"]);
    let json: Value = serde_json::from_str(&out(&json)).unwrap();
    assert!(
        json["one_sigma"]["static_margin_fraction"]
            .as_f64()
            .unwrap()
            > 0.0
    );
    assert!(json["estimate"].is_null() && json["estimate_notes"][0].is_string());
    let trim = run(&["trim", &estimated.display().to_string(), "--json"]);
    assert_eq!(trim.status.code(), Some(0), "{}", err(&trim));
    let json: Value = serde_json::from_str(&out(&trim)).unwrap();
    let ratio = json["steady"][0]["glide_ratio"].as_f64().unwrap();
    assert!(
        (2.0..12.0).contains(&ratio),
        "a foam plate glides at {ratio}"
    );
}

#[test]
fn balance_answers_and_draws_for_every_demonstration_aircraft() {
    for name in ["dunlin", "avocet", "godwit"] {
        let folder = tempfile::tempdir().unwrap();
        let file = workspace()
            .join(format!("demo-airframes/{name}.json"))
            .display()
            .to_string();
        let out_dir = folder.path().display().to_string();
        let page = run(&["balance", &file, "--out", &out_dir]);
        assert_eq!(page.status.code(), Some(0), "{}", err(&page));
        for words in [
            "Mark the balance point",
            "static margin",
            "It glides",
            "Not validated at this size",
            "all together",
            "The neutral point is at",
            "±",
            "not validated at this size",
        ] {
            assert!(out(&page).contains(words), "{words} in {}", out(&page));
        }
        let drawing =
            fs::read_to_string(folder.path().join(format!("{name}-balance.svg"))).unwrap();
        for words in [
            "from above",
            "from the left",
            "thrust",
            "air",
            "neutral point",
        ] {
            assert!(drawing.contains(words), "{words}");
        }
        assert!(!drawing.contains("NaN") && !drawing.contains("inf"));
        let json = run(&["balance", &file, "--json"]);
        let value: Value = serde_json::from_str(&out(&json)).unwrap();
        assert!(value["balance"]["static_margin_fraction"].as_f64().unwrap() > 0.0);
    }
}
