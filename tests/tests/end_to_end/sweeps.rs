//! `tossline sweep` and `tossline gather`: what comes out, and that nothing is ever lost.

mod damage;
mod lanes;
mod parts;
mod results;

use crate::command::{err, run, tossline, workspace};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;
use tempfile::TempDir;

/// A folder with a cheap study: throws of a fiftieth of a second.
struct Study {
    folder: TempDir,
}

impl Study {
    /// So many flights, changed.
    fn new(flights: u32, change: impl Fn(&mut Value)) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let data = workspace().join("scenarios/test-data");
        fs::copy(data.join("knot.json"), folder.path().join("knot.json")).expect("a copy");
        let text = fs::read_to_string(data.join("step.json")).expect("a scenario");
        let mut scenario: Value = serde_json::from_str(&text).expect("JSON");
        scenario["end"] = json!({"time_limit_s": 0.02});
        // What is tested here is bytes: how exactly they are flown does not matter.
        scenario["solver"] = json!({"relative_tolerance": 1e-3, "absolute_tolerance": 1e-3});
        scenario["pilot"] = json!({});
        let object = scenario.as_object_mut().expect("an object");
        object.remove("summary");
        let air = object["air"].as_object_mut().expect("an object");
        air.remove("gusts");
        fs::write(folder.path().join("short.json"), scenario.to_string()).expect("a file");
        let mut study = json!({
            "tossline": 1, "kind": "study", "name": "short", "base": "short.json", "flights": flights, "seed": 3,
            "scatter": {"fields": [
                {"distribution": "normal", "field": "launch.release_speed_m_s", "mean": 6, "standard_deviation": 0.5},
                {"distribution": "normal", "field": "launch.release_height_m", "mean": 0.12, "standard_deviation": 0.05}
            ]},
            "conditions": [
                {"name": "fast", "column": "airspeed_min_m_s", "comparison": "at_least", "limit": 7, "least_share_fraction": 0.5}
            ],
            "keep": {"trajectories": {"which": "every", "step": 50}}
        });
        change(&mut study);
        let made = Study { folder };
        made.write("study.json", &study.to_string());
        made
    }

    fn write(&self, name: &str, text: &str) {
        fs::write(self.path(name), text).expect("a file");
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn text(&self, name: &str) -> String {
        self.path(name).display().to_string()
    }

    /// `tossline sweep` into a folder.
    fn sweep(&self, out: &str, more: &[&str]) -> Output {
        let (study, out) = (self.text("study.json"), self.text(out));
        let mut arguments = vec!["sweep", &study, "--out", &out];
        arguments.extend(more);
        run(&arguments)
    }

    /// The same, which must end well; gives what it has left.
    fn swept(&self, out: &str, more: &[&str]) -> Files {
        let output = self.sweep(out, more);
        assert_eq!(output.status.code(), Some(0), "{}", err(&output));
        files(&self.path(out))
    }

    fn summary(&self, out: &str) -> Value {
        let text = fs::read(self.path(out).join("summary.json")).expect("a summary");
        serde_json::from_slice(&text).expect("JSON")
    }

    /// The rows of a text table by their heads.
    fn rows(&self, out: &str) -> Vec<BTreeMap<String, String>> {
        let mut reader = csv::Reader::from_path(self.path(out).join("flights.csv")).expect("rows");
        reader
            .deserialize()
            .map(|row| row.expect("a row"))
            .collect()
    }
}

/// Every file of a folder, by its path in it, with its bytes.
type Files = BTreeMap<PathBuf, Vec<u8>>;

fn files(folder: &Path) -> Files {
    fn add(all: &mut Files, top: &Path, folder: &Path) {
        for entry in fs::read_dir(folder).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                add(all, top, &path);
            } else {
                let name = path.strip_prefix(top).expect("inside").to_path_buf();
                all.insert(name, fs::read(&path).expect("a file"));
            }
        }
    }
    let mut all = Files::new();
    add(&mut all, folder, folder);
    all
}

/// That two folders hold the same, byte by byte.
fn assert_same(found: &Files, expected: &Files, after: &str) {
    let names = |files: &Files| files.keys().cloned().collect::<Vec<_>>();
    assert_eq!(names(found), names(expected), "{after}");
    for (name, bytes) in expected {
        assert!(&found[name] == bytes, "{after}: {}", name.display());
    }
}

/// Numbers by chance, the same every time (constants of Knuth's MMIX, from memory).
struct Chance(u64);

impl Chance {
    fn below(&mut self, end: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % end
    }
}
