//! Ready scenarios, loaded once.

use scenarios::load::{LoadedScenario, load_scenario};
use sim_core::flight::Throw;
use sim_core::solver::Method;
use std::path::Path;
use std::sync::OnceLock;

/// Every ready scenario with its name.
pub fn all() -> &'static [(String, LoadedScenario)] {
    static ALL: OnceLock<Vec<(String, LoadedScenario)>> = OnceLock::new();
    ALL.get_or_init(|| {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios/ready");
        let mut names: Vec<_> = std::fs::read_dir(&folder)
            .expect("the ready scenarios are there")
            .map(|entry| entry.expect("readable").path())
            .filter(|path| path.extension().is_some_and(|e| e == "json"))
            .collect();
        names.sort();
        let load = |path: &std::path::PathBuf| {
            let name = path
                .file_stem()
                .expect("a file")
                .to_string_lossy()
                .into_owned();
            (name, load_scenario(path).expect("a ready scenario loads"))
        };
        names.iter().map(load).collect()
    })
}

/// A throw for the lanes at a tolerance.
pub fn in_lanes(throw: &Throw, tolerance: f64) -> Throw {
    let mut throw = throw.clone();
    throw.tolerance.method = Method::Lanes;
    throw.tolerance.relative = tolerance;
    throw
}
