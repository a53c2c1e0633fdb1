//! What the benches fly. The benches themselves lie under `benches/`; README.md beside this crate says how to run them.

use scenarios::load::{LoadedScenario, load_scenario};
use std::path::Path;

/// A ready scenario by name.
///
/// # Panics
/// Where it does not load: benches have nobody to tell.
pub fn ready(name: &str) -> LoadedScenario {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios/ready");
    load_scenario(folder.join(name).with_extension("json")).expect("a ready scenario loads")
}
