//! Stopped from outside: what was finished is saved.

use crate::command::{err, ready, tossline, workspace};
use serde_json::Value;
use std::fs;
use std::process::{Command, Stdio};
use std::time::Duration;

#[test]
fn an_interrupt_saves_what_was_finished() {
    let folder = tempfile::tempdir().unwrap();
    let text = fs::read_to_string(ready("step-in-calm")).unwrap();
    let airframes = workspace().join("demo-airframes").display().to_string();
    let mut scenario: Value =
        serde_json::from_str(&text.replace("../../demo-airframes", &airframes)).unwrap();
    scenario["solver"] =
        serde_json::json!({ "relative_tolerance": 1e-13, "absolute_tolerance": 1e-13 });
    let files: Vec<_> = (0..2000)
        .map(|i| {
            scenario["name"] = format!("throw-{i}").into();
            let file = folder.path().join(format!("throw-{i}.json"));
            fs::write(&file, scenario.to_string()).unwrap();
            file
        })
        .collect();
    let results = folder.path().join("results");
    let mut child = tossline()
        .args(["fly", "--threads", "1", "--out"])
        .arg(&results)
        .args(&files)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // Until the first result is there; the other 1999 take far longer than the signal.
    while !results.join("throw-0/summary.json").exists() {
        assert!(child.try_wait().unwrap().is_none(), "it still flies");
        std::thread::sleep(Duration::from_millis(5));
    }
    let kill = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .unwrap();
    assert!(kill.success());
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(130), "{}", err(&output));
    let rows = csv::Reader::from_path(results.join("summary.csv"))
        .unwrap()
        .into_records()
        .count();
    let folders = fs::read_dir(&results)
        .unwrap()
        .filter(|e| e.as_ref().unwrap().path().is_dir())
        .count();
    assert_eq!(rows, folders, "a row for every throw that was finished");
    assert!((1..2000).contains(&rows));
    assert!(
        err(&output).contains(&format!("{rows} of 2000")),
        "{}",
        err(&output)
    );
}
