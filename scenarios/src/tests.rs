//! Whole files through the whole crate. The aircraft and the throw (test-data/) are invented; the line numbers and the numbers in
//! these tests are counted and worked by hand.

mod air;
mod apparent_mass;
mod bodies;
mod built;
mod changed;
mod controls;
mod drawn;
mod estimated;
mod extremes;
mod gust_search;
mod measured;
mod parts;
mod propeller_effects;
mod quick;
mod right;
mod studies;
mod surfaces;
mod wrong;
mod wrong_drawings;
mod wrong_parts;
mod wrong_scenarios;
mod zones;

use crate::error::FileError;
use crate::load::{
    LoadedAirframe, LoadedScenario, airframe_from_bytes, load_airframe, scenario_from,
};
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

/// The knot with drawings beside it, in a folder of its own; that folder is left out of what is said.
fn airframe_with_drawings(
    text: &str,
    drawings: &[(&str, &str)],
    overrides: &[Override],
) -> Result<LoadedAirframe, String> {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, drawing) in drawings {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
        std::fs::write(path, drawing).expect("a drawing");
    }
    let path = folder.path().join("knot.json");
    std::fs::write(&path, text).expect("an airframe file");
    let prefix = format!("{}/", folder.path().display());
    load_airframe(&path, overrides).map_err(|error| error.to_string().replace(&prefix, ""))
}

/// The knot's wing with this in place of its outline.
fn wing_with(instead: &str) -> String {
    let start = KNOT.find("\"outline\": [").expect("the outline");
    let end = KNOT
        .find("        \"mirrored\": true")
        .expect("what follows");
    format!("{}{instead},\n{}", &KNOT[..start], &KNOT[end..])
}

fn close(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "found {found}, expected {expected}"
    );
}
