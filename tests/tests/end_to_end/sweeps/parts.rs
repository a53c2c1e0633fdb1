//! Shares for several machines, and what refuses to mix.

use super::{Study, assert_same, err, files, run};
use serde_json::json;
use std::process::Output;

fn gather(study: &Study, parts: &[&str], out: &str) -> Output {
    let parts: Vec<String> = parts.iter().map(|part| study.text(part)).collect();
    let out = study.text(out);
    let mut arguments = vec!["gather"];
    arguments.extend(parts.iter().map(String::as_str));
    arguments.extend(["--out", &out]);
    run(&arguments)
}

#[test]
fn parts_join_to_the_bytes_of_one_machine() {
    for (format, which) in [
        ("csv", json!({"which": "every", "step": 40})),
        (
            "parquet",
            json!({"which": "worst", "count": 3, "column": "airspeed_min_m_s", "end": "lowest"}),
        ),
    ] {
        let study = Study::new(150, |s| {
            s["keep"] = json!({"format": format, "trajectories": which});
        });
        let whole = study.swept("whole", &[]);
        for (part, threads) in [("1/3", "1"), ("2/3", "2"), ("3/3", "7")] {
            let out = format!("part-{}", &part[..1]);
            study.swept(&out, &["--part", part, "--threads", threads]);
        }
        let output = gather(&study, &["part-3", "part-1", "part-2"], "joined");
        assert_eq!(output.status.code(), Some(0), "{}", err(&output));
        assert_same(&files(&study.path("joined")), &whole, format);
        // One machine finds nothing left to do in the joined folder.
        assert_same(&study.swept("joined", &[]), &whole, format);
    }
}

#[test]
fn missing_doubled_foreign_and_unfinished_parts_are_named_and_nothing_is_written() {
    let study = Study::new(64, |s| s["keep"] = json!({}));
    study.swept("one", &["--part", "1/4"]);
    study.swept("twin", &["--part", "1/4"]);
    study.swept("three", &["--part", "3/4"]);
    study.swept("other", &["--part", "2/4", "--set", "launch.heading_deg=5"]);
    study.swept("whole", &[]);
    study.swept("four", &["--part", "4/4"]);
    let table = study.path("four/flights.csv");
    let text = std::fs::read_to_string(&table).unwrap();
    std::fs::write(&table, &text[..text.len() - 9]).unwrap();
    let output = gather(
        &study,
        &["one", "twin", "three", "other", "whole", "four", "none"],
        "joined",
    );
    assert_eq!(output.status.code(), Some(2));
    let said = err(&output);
    for piece in [
        "part 2/4 is missing",
        "twin: part 1/4 doubled",
        "other: foreign: not of the same sweep as",
        "--set: then none, now launch.heading_deg=5",
        "whole: no part but a whole study",
        "four: part 4/4: not finished: 0 of 16 flights",
        "none: no results of a sweep",
    ] {
        assert!(said.contains(piece), "{piece}: {said}");
    }
    assert!(!study.path("joined").exists());
}

#[test]
fn what_has_changed_is_named_and_refused() {
    let study = Study::new(20, |s| s["keep"] = json!({}));
    let before = study.swept("a", &[]);
    let refused = |more: &[&str], piece: &str| {
        let output = study.sweep("a", more);
        assert_eq!(output.status.code(), Some(2), "{piece}: {}", err(&output));
        assert!(err(&output).contains(piece), "{piece}: {}", err(&output));
        assert_same(&files(&study.path("a")), &before, piece);
    };
    refused(
        &["--set", "launch.heading_deg=5"],
        "--set: then none, now launch.heading_deg=5",
    );
    refused(&["--part", "1/2"], "part: then the whole, now 1/2");
    for (name, from, to) in [
        ("study.json", "\"seed\":3", "\"seed\":4"),
        ("knot.json", "Invented", "invented"),
        ("short.json", "\"heading_deg\":90", "\"heading_deg\":91"),
    ] {
        let text = std::fs::read_to_string(study.path(name)).unwrap();
        assert!(text.contains(from), "{name} {from}");
        study.write(name, &text.replacen(from, to, 1));
        refused(&[], &format!("{name}: its content has changed"));
        study.write(name, &text);
    }
    assert_same(&study.swept("a", &[]), &before, "unchanged again");
    let text = std::fs::read_to_string(study.path("study.json")).unwrap();
    study.write("study.json", &text.replacen("\"seed\":3", "\"seed\":4", 1));
    refused(&[], "(seed: then 3, now 4)");
    study.write("study.json", &text);
    // Somebody else's table is left alone.
    std::fs::create_dir(study.path("b")).unwrap();
    study.write("b/flights.csv", "mine\n");
    let output = study.sweep("b", &[]);
    assert_eq!(output.status.code(), Some(2), "{}", err(&output));
    assert_eq!(
        std::fs::read(study.path("b/flights.csv")).unwrap(),
        b"mine\n"
    );
}
