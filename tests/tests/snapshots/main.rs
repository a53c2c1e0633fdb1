//! Regression snapshots: our own output, kept to notice change, never to say what is right.
//!
//! When one of these fails after a change that is meant to change results, look at the new flights, say in CHANGELOG.md what changed
//! for a user, and make the snapshot anew: `TOSSLINE_RENEW=1 cargo test -p tossline-tests --test snapshots`.

use scenarios::load::load_scenario;
use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};

fn workspace() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .expect("tests lie in the workspace")
}

fn ready() -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = fs::read_dir(workspace().join("scenarios/ready"))
        .expect("ready scenarios are there")
        .map(|entry| entry.expect("an entry").path())
        .collect();
    files.sort();
    files
}

/// Steps and derivative calls guard speed as no clock can, and the last state's bits guard the order of operations. The model's elementary
/// functions are the `libm` crate's; the solver crate's step control takes the platform's power function, so another C library may
/// give other last digits.
#[test]
fn steps_derivative_calls_and_last_states() {
    let mut text = String::from(
        "scenario,derivative_calls,accepted_steps,rejected_steps,end_s,fold_of_last_state\n",
    );
    for file in ready() {
        let flight = load_scenario(&file)
            .expect("it loads")
            .built
            .throw
            .fly()
            .expect("it starts");
        let bits = flight
            .state_at(flight.end_time_s)
            .to_array()
            .iter()
            .fold(0_u64, |fold, x| fold.rotate_left(7) ^ x.to_bits());
        let counts = flight.counts;
        writeln!(
            text,
            "{},{},{},{},{},{bits:016x}",
            file.file_stem().expect("a name").to_string_lossy(),
            counts.derivative_calls,
            counts.accepted_steps,
            counts.rejected_steps,
            flight.end_time_s
        )
        .expect("text can be written");
    }
    compare("ready_flights.csv", &text);
}

fn compare(name: &str, text: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/snapshots")
        .join(name);
    if std::env::var_os("TOSSLINE_RENEW").is_some() {
        fs::write(&path, text).expect("the snapshot can be written");
    }
    let kept = fs::read_to_string(&path).expect("the snapshot is there");
    let changed: Vec<String> = kept
        .lines()
        .zip(text.lines())
        .filter(|(kept, new)| kept != new)
        .map(|(kept, new)| format!("- {kept}\n+ {new}"))
        .collect();
    assert!(
        kept == text,
        "flights have changed; see the head of this file for what to do\n{}",
        changed.join("\n")
    );
}
