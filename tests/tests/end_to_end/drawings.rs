//! Airframes with outlines from drawings, through the real command.

use crate::command::{err, out, tossline, workspace};
use serde_json::{Value, json};
use std::fs;
use std::path::Path;

/// The dunlin's plate as a drawing on a page of 300 × 300 mm: its right half, the centre line at x = 20, station 100 at the top edge.
const PLATE: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 300 300">
  <path id="plate" d="M20 5 V165 L270 127.5 V17.5 Z"/>
</svg>
"#;

/// A dunlin with a hand-made table and written outlines, and the same with its plate cut by a drawing, and a throw of each, in a folder.
fn write(folder: &Path, drawing: &str) {
    let hand_made = workspace().join("scenarios/test-data/hand-made/dunlin.json");
    let text = fs::read_to_string(hand_made).unwrap();
    fs::write(folder.join("written.json"), &text).unwrap();
    let mut dunlin: Value = serde_json::from_str(&text).unwrap();
    let plate = dunlin["mass"]["parts"][0].as_object_mut().unwrap();
    assert_eq!(plate["name"], "plate");
    plate.remove("outline");
    plate.insert(
        "outline_svg".into(),
        json!({"file": "outlines/plate.svg", "id": "plate", "station_from_mm": 100, "right_from_mm": -20}),
    );
    fs::write(folder.join("dunlin.json"), dunlin.to_string()).unwrap();
    fs::create_dir_all(folder.join("outlines")).unwrap();
    fs::write(folder.join("outlines/plate.svg"), drawing).unwrap();
    let text = fs::read_to_string(workspace().join("scenarios/ready/step-in-calm.json")).unwrap();
    let mut throw: Value = serde_json::from_str(&text).unwrap();
    for (airframe, file) in [
        ("dunlin.json", "throw.json"),
        ("written.json", "throw-written.json"),
    ] {
        throw["airframe"] = airframe.into();
        fs::write(folder.join(file), throw.to_string()).unwrap();
    }
}

fn summary(scenario: &Path) -> Value {
    let results = tempfile::tempdir().unwrap();
    let output = tossline()
        .arg("fly")
        .arg(scenario)
        .arg("--out")
        .arg(results.path())
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    let text = fs::read(results.path().join("step-in-calm/summary.json")).unwrap();
    serde_json::from_slice(&text).unwrap()
}

#[test]
fn a_drawn_dunlin_flies_like_the_written_one_and_its_drawing_is_hashed() {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), PLATE);
    let drawn = summary(&folder.path().join("throw.json"));
    let written = summary(&folder.path().join("throw-written.json"));
    // The corners are the same but for rounding, and so is the flight.
    for column in ["minimum_altitude_m", "pitch_down_under_power_deg"] {
        let (a, b) = (&drawn["summary"][column], &written["summary"][column]);
        let (a, b) = (a.as_f64().unwrap(), b.as_f64().unwrap());
        assert!((a - b).abs() < 1e-6, "{column}: {a} and {b}");
    }
    assert_eq!(
        summary(&folder.path().join("throw.json"))["inputs_sha256"],
        drawn["inputs_sha256"]
    );
    write(
        folder.path(),
        &PLATE.replace("<path", "<!-- cut inside the line --><path"),
    );
    let commented = summary(&folder.path().join("throw.json"));
    assert_ne!(commented["inputs_sha256"], drawn["inputs_sha256"]);
    assert_eq!(commented["summary"], drawn["summary"]);
}

#[test]
fn a_template_saved_in_pixels_is_refused_with_its_line() {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), &PLATE.replace("300mm", "300"));
    let airframe = folder.path().join("dunlin.json");
    let output = tossline().arg("inspect").arg(&airframe).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(out(&output), "");
    let expected = format!(
        "{}:1: page, width (for mass.parts.plate.outline_svg): found \"300\" in pixels, which at 96 to the inch would be 79.4 mm, \
         wanted the width of the page in mm, such as \"297mm\"",
        folder.path().join("outlines/plate.svg").display()
    );
    assert!(err(&output).contains(&expected), "{}", err(&output));
}
