//! What the documents say is there, is there.

use crate::command::{err, out, ready, run, tossline, workspace};
use std::fs;

#[test]
fn every_path_named_in_the_documents_exists() {
    let mut named = 0;
    for document in [
        "README.md",
        "DEVELOPERS.md",
        "demo-airframes/README.md",
        "demo-airframes/from-foam-to-first-throw.md",
        "runner/python/README.md",
    ] {
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

// The builder's page goes by the same steps as a builder.
#[test]
fn the_builder_s_page_shows_what_its_commands_say_and_draw() {
    let page = workspace().join("demo-airframes/from-foam-to-first-throw.md");
    let page = fs::read_to_string(page).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let in_folder = |line: &str| {
        let output = tossline()
            .args(line.replace('\'', "").split_whitespace().skip(1))
            .current_dir(folder.path())
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(0), "{line}: {}", err(&output));
        out(&output)
    };
    let commands: Vec<&str> = page
        .split("```sh\n")
        .skip(1)
        .flat_map(|block| block.split("```").next().unwrap().lines())
        .collect();
    let [new, balance, glide, power] = commands.as_slice() else {
        panic!("four commands: {commands:?}");
    };
    for line in in_folder(new).lines().take(3) {
        assert!(page.contains(line), "the page lacks: {line}");
    }
    for command in [balance, glide, power] {
        in_folder(command);
    }
    for (drawn, shown) in [
        ("out/curlew-balance.svg", "curlew-balance.svg"),
        ("out/picture.svg", "curlew-test-glide.svg"),
        ("out-power/picture.svg", "curlew-power.svg"),
    ] {
        let drawn = fs::read_to_string(folder.path().join(drawn)).unwrap();
        let shown = workspace().join("demo-airframes/pictures").join(shown);
        let shown = fs::read_to_string(shown).unwrap();
        assert!(
            drawn == shown,
            "a snapshot of our own output: look at the new picture and copy it over the old"
        );
    }
}
