//! What `inspect` and `trim` say, against what the file says and against each other.

use crate::command::{err, out, run, workspace};
use serde_json::Value;
use std::fs;

fn demo(name: &str) -> String {
    let file = workspace().join(format!("demo-airframes/{name}.json"));
    file.display().to_string()
}

/// The line of `inspect` about a motor, for fields set.
fn about_motor(name: &str, sets: &[&str]) -> String {
    let file = demo("dunlin");
    let mut arguments = vec!["inspect", file.as_str()];
    for set in sets {
        arguments.extend(["--set", set]);
    }
    let output = run(&arguments);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    let text = out(&output);
    let head = format!("motor {name}:");
    let line = text.lines().find(|line| line.starts_with(&head));
    line.unwrap_or_else(|| panic!("no {head} in {text}"))
        .to_owned()
}

// A propeller's air goes the other way than its push (Newton's third law). Elevation is up, toe outwards (design of the files): −5°
// pushes down and blows up, +5° the reverse; a left motor toed out pushes left and blows right, the right one the reverse.
#[test]
fn inspect_says_which_way_a_tilted_motor_pushes_and_blows() {
    let tilt = |degrees: i32| format!("motors.*.thrust_elevation_deg={degrees}");
    for (name, sets, push, blow) in [
        ("left", vec![tilt(0)], "forward,", "back;"),
        ("left", vec![tilt(-5)], "forward and down,", "back and up;"),
        ("right", vec![tilt(5)], "forward and up,", "back and down;"),
        (
            "left",
            vec![tilt(0), "motors.*.thrust_toe_deg=4".into()],
            "forward and left,",
            "back and right;",
        ),
        (
            "right",
            vec![tilt(-5), "motors.*.thrust_toe_deg=4".into()],
            "forward and down and right,",
            "back and up and left;",
        ),
    ] {
        let sets: Vec<&str> = sets.iter().map(String::as_str).collect();
        let line = about_motor(name, &sets);
        for words in [
            format!("it pushes the airframe {push} "),
            format!("its air blows {blow} "),
        ] {
            assert!(line.contains(&words), "{words:?} is not in {line}");
        }
    }
}

fn steady(arguments: &[&str]) -> Vec<Value> {
    let output = run(arguments);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    let json: Value = serde_json::from_str(&out(&output)).unwrap();
    json["steady"].as_array().unwrap().clone()
}

#[test]
fn throttle_left_is_what_the_throttle_leaves() {
    let flights = steady(&["trim", &demo("dunlin"), "--json", "--throttle", "0.25"]);
    let number = |flight: &Value, name: &str| {
        let value = flight[name].as_f64();
        value.unwrap_or_else(|| panic!("no {name} in {flight}"))
    };
    let of = |name: &str| {
        let found = flights.iter().find(|flight| flight["flight"] == name);
        found.unwrap_or_else(|| panic!("no {name} in {flights:?}"))
    };
    assert_eq!(number(of("glide"), "throttle_left_fraction"), 1.0);
    assert_eq!(number(of("throttle 0.25"), "throttle_left_fraction"), 0.75);
    let level = of("level");
    let (used, left) = (
        number(level, "throttle_fraction"),
        number(level, "throttle_left_fraction"),
    );
    assert!(used > 0.0 && used < 1.0 && used != left);
    assert!((used + left - 1.0).abs() < 1e-15, "{used} {left}");
}

// Thrust far below the balance point: beyond some throttle nothing holds the nose down short of stall, and no steady flight is found.
// Every throttle asked for is answered all the same, in rising order, with a flight or with why there is none.
#[test]
fn trim_answers_for_every_throttle_asked_for() {
    let file = demo("dunlin");
    let mut arguments = vec!["trim", file.as_str(), "--json"];
    arguments.extend(["--set", "motors.*.mount.up_from_carrier_mm=-300"]);
    let asked = ["0.05", "0.4", "0.6", "0.8", "1"];
    for throttle in asked.iter().rev() {
        arguments.extend(["--throttle", throttle]);
    }
    let flights = steady(&arguments);
    let answers: Vec<&Value> = flights
        .iter()
        .filter(|flight| flight["flight"].as_str().unwrap().starts_with("throttle "))
        .collect();
    let names: Vec<&str> = answers
        .iter()
        .map(|answer| answer["flight"].as_str().unwrap())
        .collect();
    let wanted = asked.map(|throttle| format!("throttle {throttle}"));
    assert_eq!(names, wanted);
    let reasons = answers
        .iter()
        .filter(|answer| answer["not_found"].is_string());
    assert!(reasons.count() >= 2, "{answers:?}");
    for answer in answers {
        let found = answer["airspeed_m_s"].is_number();
        assert_ne!(found, answer["not_found"].is_string(), "{answer}");
    }
}

#[test]
fn a_throttle_for_an_airframe_without_motors_warns() {
    let hand_made = workspace().join("scenarios/test-data/hand-made/dunlin.json");
    let text = fs::read_to_string(hand_made).unwrap();
    let mut airframe: Value = serde_json::from_str(&text).unwrap();
    for field in ["motors", "propellers", "cell"] {
        airframe.as_object_mut().unwrap().remove(field);
    }
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("glider.json");
    fs::write(&file, airframe.to_string()).unwrap();
    let file = file.display().to_string();
    let plain = run(&["trim", &file]);
    assert_eq!(plain.status.code(), Some(0), "{}", err(&plain));
    assert!(!err(&plain).contains("--throttle"), "{}", err(&plain));
    let asked = run(&["trim", &file, "--throttle", "0.5"]);
    assert_eq!(asked.status.code(), Some(0), "{}", err(&asked));
    assert!(err(&asked).contains("--throttle"), "{}", err(&asked));
    assert!(!out(&asked).contains("throttle 0.5"), "{}", out(&asked));
}
