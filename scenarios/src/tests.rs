//! Whole files through the whole crate. The aircraft and the throw (test-data/) are invented; the line numbers and the numbers in
//! these tests are counted and worked by hand.

mod built;
mod changed;
mod extremes;
mod measured;
mod right;
mod wrong;
mod wrong_scenarios;

use crate::error::FileError;
use crate::load::{LoadedAirframe, LoadedScenario, airframe_from_bytes, scenario_from};
use crate::overrides::Override;
use crate::read::Document;
use std::path::Path;

const KNOT: &str = include_str!("../test-data/knot.json");
const STEP: &str = include_str!("../test-data/step.json");
const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/test-data");

/// The text with one piece, which must be in it, replaced once.
fn with(text: &str, from: &str, to: &str) -> String {
    assert!(text.contains(from), "the file has no {from}");
    text.replacen(from, to, 1)
}

fn airframe(text: &str, overrides: &[Override]) -> Result<LoadedAirframe, FileError> {
    airframe_from_bytes("knot.json", text.as_bytes().to_vec(), overrides)
}

fn scenario(text: &str) -> Result<LoadedScenario, FileError> {
    let document = Document::from_bytes("step.json", text.as_bytes().to_vec())?;
    scenario_from(&Path::new(FOLDER).join("step.json"), document, &[])
}

fn close(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "found {found}, expected {expected}"
    );
}
