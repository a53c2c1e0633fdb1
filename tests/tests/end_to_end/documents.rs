//! What the documents say is there, is there.

use crate::command::{err, ready, run, workspace};
use std::fs;

#[test]
fn every_path_named_in_the_documents_exists() {
    let mut named = 0;
    for document in ["README.md", "DEVELOPERS.md", "demo-airframes/README.md"] {
        let text = fs::read_to_string(workspace().join(document)).unwrap();
        let folder = workspace().join(document).parent().unwrap().to_path_buf();
        let quoted = text.split('`').skip(1).step_by(2);
        let linked = text
            .split("](")
            .skip(1)
            .filter_map(|rest| rest.split(')').next());
        for word in quoted.chain(linked) {
            let tops = [
                "sim-core/",
                "scenarios/",
                "runner/",
                "tests/",
                "benches/",
                "demo-airframes/",
                ".ci/",
            ];
            let is_path =
                tops.iter().any(|top| word.starts_with(top)) && !word.contains([' ', '*']);
            if is_path || word.ends_with(".md") && !word.contains(' ') {
                let there = workspace().join(word).exists() || folder.join(word).exists();
                assert!(there, "{document} names {word}");
                named += 1;
            }
        }
    }
    assert!(named > 20, "the documents name paths");
}

#[test]
fn the_readme_s_picture_is_what_the_command_draws() {
    let folder = tempfile::tempdir().unwrap();
    let output = run(&[
        "fly",
        &ready("step-in-calm"),
        &ready("step-in-calm-cured"),
        &ready("step-in-calm-overcured"),
        "--out",
        &folder.path().display().to_string(),
    ]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    let drawn = fs::read_to_string(folder.path().join("picture.svg")).unwrap();
    let shown =
        fs::read_to_string(workspace().join("demo-airframes/pictures/dunlin-step.svg")).unwrap();
    assert!(
        drawn == shown,
        "a snapshot of our own output: look at the new picture and copy it over the old"
    );
    let table = String::from_utf8(output.stdout).unwrap();
    let readme = fs::read_to_string(workspace().join("README.md")).unwrap();
    for line in table.lines().take(5) {
        assert!(
            readme.contains(line.trim_end()),
            "the README's table lacks: {line}"
        );
    }
}
