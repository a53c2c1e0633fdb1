//! Runs the command `tossline`.

use std::path::Path;
use std::process::{Command, Output};

/// The workspace's top folder.
pub fn workspace() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .expect("the package lies in the workspace")
}

/// A command that runs the built `tossline`.
pub fn tossline() -> Command {
    Command::new(env!("CARGO_BIN_EXE_tossline"))
}

/// Asks the conditions of a study everywhere, as its axes lose their names.
pub fn asked_everywhere(study: &mut serde_json::Value) {
    for condition in study["conditions"].as_array_mut().expect("a list") {
        condition
            .as_object_mut()
            .expect("a condition is an object")
            .remove("at");
    }
}

/// Runs `tossline` with arguments and waits.
pub fn run(arguments: &[&str]) -> Output {
    tossline()
        .args(arguments)
        .output()
        .expect("the command runs")
}

/// Standard output as text.
pub fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("output is UTF-8")
}

/// Standard error as text.
pub fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).expect("errors are UTF-8")
}

/// Runs it with a folder for results and demands that it is refused as bad input, says so, and writes nothing.
///
/// # Panics
/// Where it is not.
pub fn refused(arguments: &[&str], results: &Path, says: &str) {
    let place = results.display().to_string();
    let output = run(&[arguments, &["--out", &place]].concat());
    assert_eq!(output.status.code(), Some(2), "{}", err(&output));
    assert!(err(&output).contains(says), "{}", err(&output));
    assert!(!results.exists());
}

/// A ready scenario's path.
pub fn ready(name: &str) -> String {
    let path = workspace()
        .join("scenarios/ready")
        .join(name)
        .with_extension("json");
    path.display().to_string()
}

/// All ready scenarios, in order of name.
pub fn all_ready() -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(workspace().join("scenarios/ready"))
        .expect("ready scenarios are there")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|e| e == "json"))
        .map(|path| path.display().to_string())
        .collect();
    names.sort();
    names
}
