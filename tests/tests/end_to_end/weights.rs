//! `tossline thrustline --level-throttle`.

use crate::command::{err, out, refused, run, workspace};
use serde_json::{Value, json};
use std::fs;
use std::path::Path;

fn dunlin() -> String {
    let path = workspace().join("demo-airframes/dunlin.json");
    path.display().to_string()
}

/// The ready study of the dunlin with so many draws and a seed.
fn study(folder: &Path, flights: u32, seed: u32) -> String {
    let from = workspace().join("scenarios/studies/thrust-line-dunlin.json");
    let mut study: Value = serde_json::from_str(&fs::read_to_string(from).unwrap()).unwrap();
    let base = workspace().join("scenarios/studies/throws/dunlin.json");
    study["base"] = base.display().to_string().into();
    study["flights"] = flights.into();
    study["seed"] = seed.into();
    study["axes"] = json!([{"field": "motors.*.thrust_elevation_deg", "values": [0]}]);
    crate::command::asked_everywhere(&mut study);
    let path = folder.join(format!("study-{flights}-{seed}.json"));
    fs::write(&path, study.to_string()).unwrap();
    path.display().to_string()
}

fn asked(folder: &Path, more: &[&str]) -> (Value, String) {
    let results = folder.join("out").display().to_string();
    let dunlin = dunlin();
    let mut all = vec![
        "thrustline",
        &dunlin,
        "--level-throttle",
        "0.5",
        "--as-built",
    ];
    all.extend_from_slice(&["--out", &results, "--json"]);
    all.extend_from_slice(more);
    let output = run(&all);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    (serde_json::from_str(&out(&output)).unwrap(), results)
}

// Parts add up to the mass; moments about the balance point vanish: Σ m_p k_p = 0 for k = (x_p − x_b)/(x_b − x_n), by definition of x_b. What
// a gram does to the balance point is the file's own with a gram less.
#[test]
fn parts_add_up_and_their_levers_balance() {
    let folder = tempfile::tempdir().unwrap();
    let study = study(folder.path(), 2, 1);
    let (report, results) = asked(folder.path(), &["--study", &study]);
    let parts = report["parts"].as_array().unwrap();
    let of = |part: &Value, name: &str| part[name].as_f64().unwrap();
    let sum: f64 = parts.iter().map(|part| of(part, "mass_g")).sum();
    assert!((sum - report["mass_g"].as_f64().unwrap()).abs() < 1e-9);
    let masses: Vec<f64> = parts.iter().map(|part| of(part, "mass_g")).collect();
    assert!(masses.is_sorted_by(|a, b| a >= b));
    let levers = parts
        .iter()
        .map(|part| of(part, "mass_g") * of(&part["with_ballast"], "saved_per_gram"));
    assert!(levers.sum::<f64>().abs() < 1e-9);
    let cell = parts.iter().find(|part| part["part"] == "cell").unwrap();
    let (lighter, _) = asked(
        folder.path(),
        &["--study", &study, "--set", "mass.parts.cell.mass_g+=-1"],
    );
    let moved = lighter["balance_station_mm"].as_f64().unwrap()
        - report["balance_station_mm"].as_f64().unwrap();
    assert!(
        (moved - of(cell, "balance_moves_aft_mm")).abs() < 1e-9,
        "{moved}"
    );
    for name in ["weight.json", "weight-parts.csv", "weight-draws.csv"] {
        assert!(Path::new(&results).join(name).is_file(), "{name}");
    }
}

// The ends hold nine in ten builds: checked against other and more draws. With 40 draws the share between their 5 % and 95 % quantiles has about
// the beta distribution of 36.5 of 41 (order statistics): mean 0.89, one sigma 0.048; 200 others add 0.021. Three of both together: 0.16.
#[test]
fn the_margin_holds_other_builds() {
    let folder = tempfile::tempdir().unwrap();
    let (few, _) = asked(folder.path(), &["--study", &study(folder.path(), 40, 1)]);
    let (_, results) = asked(folder.path(), &["--study", &study(folder.path(), 200, 77)]);
    let ends = &few["margin"]["tab_re_set"];
    let low = ends["greatest_mass_low_g"].as_f64().unwrap();
    let high = ends["greatest_mass_high_g"].as_f64().unwrap();
    let mut rows = csv::Reader::from_path(Path::new(&results).join("weight-draws.csv")).unwrap();
    let heads = rows.headers().unwrap().clone();
    let column = heads
        .iter()
        .position(|head| head == "tab_re_set_g")
        .unwrap();
    let masses: Vec<f64> = rows
        .records()
        .map(|row| row.unwrap()[column].parse().unwrap())
        .collect();
    assert_eq!(masses.len(), 200);
    let inside = masses.iter().filter(|mass| (low..=high).contains(*mass));
    let share = inside.count() as f64 / 200.0;
    assert!((share - 0.89).abs() < 0.16, "{share}");
}

#[test]
fn wrong_throttles_are_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let results = folder.path().join("out");
    let dunlin = dunlin();
    let refused = |more: &[&str], says: &str| {
        refused(&[&["thrustline", &dunlin], more].concat(), &results, says);
    };
    for wrong in ["0", "1.01", "-0.5", "NaN"] {
        refused(&["--level-throttle", wrong], "--level-throttle");
    }
    let far = ["--level-throttle", "0.5", "--ballast-station-mm", "9999"];
    refused(&far, "--ballast-station-mm");
    refused(&["--level-throttle", "0.5", "--height", "3"], "--height");
}
