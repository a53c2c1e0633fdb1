//! A starting airframe out of a few measures, and the manual pages.

use crate::command::{err, out, run};
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::Output;

/// `tossline new` for a usual kit with these motors.
fn new(folder: &Path, name: &str, more: &[&str]) -> Output {
    let folder = folder.display().to_string();
    let usual = [
        "new",
        name,
        "--out",
        &folder,
        "--span-mm",
        "480",
        "--root-chord-mm",
        "95",
        "--tip-chord-mm",
        "65",
        "--areal-density-g-m2",
        "110",
    ];
    run(&[&usual, more].concat())
}

// The static margin promised is a tenth of the chord (common practice, no source). A straight glide from 1.7 m goes as far as height times
// glide ratio, a little more for the flare above the ground and less for the airframe's own depth.
#[test]
fn it_balances_and_glides_as_it_stands() {
    let folder = tempfile::tempdir().unwrap();
    for (name, more) in [
        ("without", ["--motors", "none"].as_slice()),
        ("with-one", &["--motors", "one", "--module-mass-g", "11"]),
        ("with-two", &["--motors", "two", "--module-mass-g", "13"]),
        (
            "heavy-and-strong",
            &[
                "--motors",
                "two",
                "--module-mass-g",
                "40",
                "--static-thrust-g",
                "20",
            ],
        ),
    ] {
        let made = new(folder.path(), name, more);
        assert_eq!(made.status.code(), Some(0), "{}", err(&made));
        let airframe = folder.path().join(format!("{name}.json"));
        let balance = run(&["balance", &airframe.display().to_string(), "--json"]);
        assert_eq!(balance.status.code(), Some(0), "{}", err(&balance));
        let balance: Value = serde_json::from_str(&out(&balance)).unwrap();
        let balance = &balance["balance"];
        let margin = balance["static_margin_fraction"].as_f64().unwrap();
        assert!((margin - 0.1).abs() < 0.01, "{name}: {margin}");

        let throw = folder.path().join(format!("{name}-test-glide.json"));
        let results = folder.path().join("out");
        let flown = run(&[
            "fly",
            &throw.display().to_string(),
            "--out",
            &results.display().to_string(),
            "--json",
        ]);
        assert_eq!(flown.status.code(), Some(0), "{}", err(&flown));
        let flown: Value = serde_json::from_str(&out(&flown)).unwrap();
        let summary = &flown[0]["summary"];
        assert_eq!(summary["ended_by"], "ground", "{name}");
        assert_eq!(summary["stalled_time_s"], 0.0, "{name}");
        let ratio = balance["glide"]["glide_ratio"].as_f64().unwrap();
        let along = summary["distance_along_m"].as_f64().unwrap();
        assert!(
            (0.8..1.25).contains(&(along / (1.7 * ratio))),
            "{name}: {along} {ratio}"
        );
    }
}

#[test]
fn nothing_is_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let there = folder.path().join("curlew-test-glide.json");
    fs::write(&there, "mine").unwrap();
    let refused = new(folder.path(), "curlew", &["--motors", "none"]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(
        err(&refused).contains("curlew-test-glide.json: found a file, wanted none"),
        "{}",
        err(&refused)
    );
    assert_eq!(fs::read_to_string(&there).unwrap(), "mine");
    assert_eq!(
        fs::read_dir(folder.path()).unwrap().count(),
        1,
        "nothing half written"
    );
}

#[test]
fn wrong_and_missing_measures_are_named_by_their_flags() {
    let folder = tempfile::tempdir().unwrap();
    for (name, more, said) in [
        (
            "curlew",
            ["--motors", "two", "--module-mass-g", "-1"].as_slice(),
            "error: --module-mass-g: found -1, wanted 2 to 100\n",
        ),
        (
            "curlew",
            &["--motors", "none", "--thickness-mm", "30"],
            "error: --thickness-mm: found 30, wanted 1 to 10\n",
        ),
        (
            "a curlew",
            &["--motors", "none"],
            "name: found \"a curlew\"",
        ),
        (
            "curlew",
            &["--motors", "two"],
            "error: --module-mass-g: found nothing, wanted 2 to 100: mass of the power module",
        ),
        (
            "curlew",
            &[],
            "error: --motors: found nothing, wanted none, one or two\n",
        ),
    ] {
        let refused = new(folder.path(), name, more);
        assert_eq!(refused.status.code(), Some(2), "{said}");
        assert!(err(&refused).contains(said), "{said}: {}", err(&refused));
    }
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
}

#[test]
fn there_is_a_manual_page_for_each_command() {
    let folder = tempfile::tempdir().unwrap();
    let written = run(&["man", "--out", &folder.path().display().to_string()]);
    assert_eq!(written.status.code(), Some(0), "{}", err(&written));
    let help = out(&run(&["--help"]));
    let (_, commands) = help.split_once("Commands:\n").unwrap();
    let names = commands.lines().take_while(|line| !line.is_empty());
    let names = names
        .filter_map(|line| line.split_whitespace().next())
        .filter(|name| *name != "help");
    let mut count = 0;
    for name in names {
        let page = fs::read_to_string(folder.path().join(format!("tossline-{name}.1"))).unwrap();
        assert!(page.contains(".SH SYNOPSIS"), "{name}");
        count += 1;
    }
    assert!(count > 8, "{count} commands");
    let page = fs::read_to_string(folder.path().join("tossline.1")).unwrap();
    assert_eq!(out(&run(&["man"])), page);
    assert!(page.contains(".TH tossline 1"), "{page}");
}
