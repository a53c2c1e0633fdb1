//! `tossline report`, and the pages other commands leave. What a browser makes of them is checked in tests/browser.

use crate::command::{err, out, ready, run, workspace};
use serde_json::{Value, json};
use std::fs;
use std::path::{Path, PathBuf};

/// What must stand on a page as text.
const MARKUP: &str = "<script>alert('note')</script> & \"so\"";

/// A ready file with a note that looks like markup, changed further, in a folder of its own.
fn noted(folder: &Path, from: &str, change: impl Fn(&mut Value)) -> String {
    let text = fs::read_to_string(workspace().join("scenarios").join(from)).unwrap();
    let mut file: Value = serde_json::from_str(&text).unwrap();
    file["note"] = MARKUP.into();
    change(&mut file);
    let path = folder.join(Path::new(from).file_name().unwrap());
    fs::write(&path, file.to_string()).unwrap();
    path.display().to_string()
}

fn demo(name: &str) -> String {
    let path = workspace().join("demo-airframes").join(name);
    path.display().to_string()
}

/// Runs a command that leaves a result in a folder, and gives the folder.
fn result(folder: &Path, arguments: &[&str]) -> PathBuf {
    let results = folder.join("out");
    let place = results.display().to_string();
    let output = run(&[arguments, &["--out", &place]].concat());
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    results
}

fn flight(folder: &Path) -> PathBuf {
    let throw = noted(folder, "ready/step-in-calm.json", |file| {
        file["airframe"] = demo("dunlin.json").into();
    });
    result(folder, &["fly", &throw])
}

fn footprint(folder: &Path) -> PathBuf {
    let study = noted(folder, "studies/footprint-from-the-dyke.json", |file| {
        file["base"] = ready("from-the-dyke-under-power").into();
        file["flights"] = 6.into();
    });
    result(folder, &["footprint", &study, "--cut-moments", "2"])
}

fn thrust_line(folder: &Path) -> PathBuf {
    let study = noted(folder, "studies/thrust-line-dunlin.json", |file| {
        let base = workspace().join("scenarios/studies/throws/dunlin.json");
        file["base"] = base.display().to_string().into();
        file["flights"] = 2.into();
        file["axes"] = json!([{"field": "motors.*.thrust_elevation_deg", "values": [-14, 0]}]);
        // One circumstance, so that it is soon flown.
        file.as_object_mut().unwrap().remove("bands");
        crate::command::asked_everywhere(file);
    });
    let dunlin = demo("dunlin.json");
    result(folder, &["thrustline", &dunlin, "--study", &study])
}

fn sweep(folder: &Path) -> PathBuf {
    let study = noted(folder, "studies/marsh-afternoon.json", |file| {
        file["base"] = ready("step-in-calm-cured").into();
        file["flights"] = 8.into();
    });
    result(folder, &["sweep", &study])
}

fn weight(folder: &Path) -> PathBuf {
    let study = noted(folder, "studies/thrust-line-dunlin.json", |file| {
        let base = workspace().join("scenarios/studies/throws/dunlin.json");
        file["base"] = base.display().to_string().into();
        file["flights"] = 1.into();
    });
    let dunlin = demo("dunlin.json");
    let asked = ["thrustline", &dunlin, "--level-throttle", "0.5"];
    result(folder, &[&asked[..], &["--study", &study]].concat())
}

fn wind(folder: &Path) -> PathBuf {
    let godwit = demo("godwit.json");
    let few = ["--throttle", "0.7,1", "--wind-m-s", "0,4", "--throws", "6"];
    let short = ["--gust-m-s", "1", "--time-s", "2"];
    result(folder, &[&["wind", &godwit][..], &few, &short].concat())
}

fn compared_airframes(folder: &Path) -> PathBuf {
    let (dunlin, godwit) = (demo("dunlin.json"), demo("godwit.json"));
    result(folder, &["compare", &dunlin, &godwit])
}

/// Two flights of one scenario, compared; the folders of both lie beside that of the comparison.
fn compared_results(folder: &Path) -> PathBuf {
    let throw = ready("step-in-calm");
    let fly = |name: &str, elevation: &str| {
        let set = format!("motors.*.thrust_elevation_deg={elevation}");
        let results = folder.join(name).display().to_string();
        let output = run(&["fly", &throw, "--out", &results, "--set", &set]);
        assert_eq!(output.status.code(), Some(0), "{}", err(&output));
        results
    };
    let (before, after) = (fly("old", "0"), fly("new", "-14"));
    result(folder, &["compare", &before, &after])
}

fn report(folder: &Path) -> std::process::Output {
    run(&["report", &folder.display().to_string()])
}

/// Nothing is fetched from anywhere: the only addresses are the name of SVG's language and files of the result.
fn is_self_contained(page: &str, folder: &Path) {
    let addresses = page.matches("://").count();
    let names = page.matches("xmlns=\"http://www.w3.org/2000/svg\"").count();
    assert_eq!(addresses, names, "an address beside xmlns");
    for word in [
        " src=", "@import", "url(//", "<link", "<iframe", "<img", "<object", "<embed",
    ] {
        assert!(!page.contains(word), "{word}");
    }
    let links: Vec<&str> = page
        .split("href=\"")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .collect();
    assert!(!links.is_empty());
    for link in links {
        assert!(folder.join(link).is_file(), "{link} leads nowhere");
    }
    assert!(page.contains("default-src 'none'"));
}

#[test]
fn every_command_leaves_a_page_that_is_whole_and_report_writes_the_same_again() {
    type Make = fn(&Path) -> PathBuf;
    let flights = [
        "Side view",
        "Plan view, from above",
        "Pitch",
        "Height",
        "Airspeed",
        "Power",
    ];
    let kinds: [(Make, &[&str]); 8] = [
        (
            flight,
            &[
                "Side view",
                "Plan view, from above",
                "Pitch",
                "Height",
                "Airspeed",
                "Throttle",
                "Power",
            ],
        ),
        (footprint, &["Map, north up", "the creek"]),
        (
            sweep,
            &[
                "Share of throws that meet each condition",
                "Minimum altitude",
                "Minimum altitude over |No scattered field",
                "trajectories/flight-",
                "launch.bank_deg",
            ],
        ),
        (
            thrust_line,
            &[
                "Window of angles",
                "Nose in steady flight",
                "Set the motors|cannot be told|No angle",
            ],
        ),
        (
            weight,
            &[
                "Level at throttle 0.50 it can be",
                "Greatest mass at throttle 0.50",
                "tabs as set|re-set",
                "motor-bridge|cell",
                "Not flown again",
            ],
        ),
        (
            wind,
            &[
                "Tabs as set",
                "no longer comes back|comes back from no wind",
                "class=\"verdict",
                "Height needed",
            ],
        ),
        (compared_airframes, &flights),
        (compared_results, &flights),
    ];
    for (make, wanted) in kinds {
        let folder = tempfile::tempdir().unwrap();
        let results = make(folder.path());
        let path = results.join("report.html");
        let page = fs::read_to_string(&path).unwrap();
        is_self_contained(&page, &results);
        for words in wanted {
            assert!(
                words.split('|').any(|words| page.contains(words)),
                "{words}"
            );
        }
        // Escaped as text: the note is there and cannot be obeyed.
        assert!(!page.contains("<script>alert"));
        let has_note = [flight as Make, footprint, thrust_line, sweep].contains(&make);
        let note = "&lt;script&gt;alert('note')&lt;/script&gt; &amp; &quot;so&quot;";
        assert_eq!(page.contains(note), has_note);
        for words in [
            "Computed, not flown",
            ", f64, ",
            env!("CARGO_PKG_VERSION"),
            "SHA-256",
        ] {
            assert!(page.contains(words), "{words}");
        }
        assert!(!page.contains("NaN"));
        fs::remove_file(&path).unwrap();
        let output = report(&results);
        assert_eq!(output.status.code(), Some(0), "{}", err(&output));
        assert!(out(&output).contains("report.html"));
        assert!(fs::read_to_string(&path).unwrap() == page, "the same bytes");
    }
}

// The distance along the release heading is worked out anew from the trajectory; summary.json has it from the flight's own solution.
#[test]
fn the_last_row_drawn_is_the_end_of_the_flight() {
    let folder = tempfile::tempdir().unwrap();
    let results = result(folder.path(), &["fly", &ready("step-downwind")]);
    let text = fs::read_to_string(results.join("step-downwind/summary.json")).unwrap();
    let record: Value = serde_json::from_str(&text).unwrap();
    let end = |name: &str| record["summary"][name].as_f64().unwrap();
    let page = fs::read_to_string(results.join("report.html")).unwrap();
    let data = page
        .split("<script type=\"application/json\">")
        .nth(1)
        .unwrap();
    let data: Value = serde_json::from_str(data.split("</script>").next().unwrap()).unwrap();
    let series = data["series"].as_array().unwrap();
    let flight = series
        .iter()
        .find(|s| s["name"] == "step-downwind")
        .unwrap();
    let last = |key: &str| {
        let column = flight["columns"][key].as_array().unwrap();
        column.last().unwrap().as_f64().unwrap()
    };
    for (key, expected) in [
        ("along_m", end("distance_along_m")),
        ("right_m", end("distance_right_m")),
        ("height_m", end("end_height_m")),
        ("time_s", end("flight_time_s")),
    ] {
        assert!(
            (last(key) - expected).abs() < 1e-4,
            "{key}: {} {expected}",
            last(key)
        );
    }
}

#[test]
fn a_page_can_be_left_out_and_an_older_one_does_not_stay() {
    let folder = tempfile::tempdir().unwrap();
    let results = result(folder.path(), &["fly", &ready("step-in-calm")]);
    assert!(results.join("report.html").exists());
    let again = result(folder.path(), &["fly", &ready("step-in-calm"), "--no-page"]);
    assert!(!again.join("report.html").exists());

    let results = compared_results(folder.path());
    assert!(results.join("report.html").exists());
    let place = |name: &str| folder.path().join(name).display().to_string();
    let again = result(
        folder.path(),
        &["compare", &place("old"), &place("new"), "--no-page"],
    );
    assert!(!again.join("report.html").exists());
}

// Results that are compared stay where they are: their page draws them from there, links nothing outside its folder, and says so where they have
// gone or have been flown anew since.
#[test]
fn a_page_of_compared_results_draws_no_other_flights_than_those_compared() {
    let folder = tempfile::tempdir().unwrap();
    let results = compared_results(folder.path());
    let page = || {
        let output = report(&results);
        assert_eq!(output.status.code(), Some(0), "{}", err(&output));
        fs::read_to_string(results.join("report.html")).unwrap()
    };
    let first = page();
    assert!(!first.contains("href=\"..") && !first.contains("is not drawn"));
    let trajectory = folder.path().join("new/step-in-calm/trajectory.csv");
    let whole = fs::read_to_string(&trajectory).unwrap();
    fs::write(&trajectory, whole.replacen("\n0.01,", "\n0.011,", 1)).unwrap();
    let changed = page();
    assert!(changed.contains("after: step-in-calm is not drawn: another trajectory"));
    assert!(
        changed.contains("before: step-in-calm: from"),
        "the other is drawn"
    );
    fs::remove_dir_all(folder.path().join("old")).unwrap();
    assert!(
        page().contains("before: step-in-calm is not drawn: its trajectory is no longer where")
    );

    // Trajectories of airframes are part of the result.
    let results = compared_airframes(folder.path());
    fs::remove_file(results.join("report.html")).unwrap();
    let trajectory = results.join("after/trajectory.csv");
    let whole = fs::read_to_string(&trajectory).unwrap();
    fs::write(&trajectory, whole.replacen("\n0.01,", "\n0.011,", 1)).unwrap();
    let output = report(&results);
    assert_eq!(output.status.code(), Some(2), "{}", err(&output));
    assert!(err(&output).contains("another trajectory than that compared"));
    assert!(!results.join("report.html").exists());
}

#[test]
fn unknown_and_half_folders_are_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let refused = |place: &Path, says: &[&str]| {
        let output = report(place);
        assert_eq!(output.status.code(), Some(2), "{}", err(&output));
        for words in says {
            assert!(err(&output).contains(words), "{words}: {}", err(&output));
        }
        assert!(!place.join("report.html").exists());
    };
    refused(&folder.path().join("nowhere"), &["no such folder"]);
    refused(
        folder.path(),
        &[
            "no result to report",
            "thrustline.json",
            "plan.json of tossline sweep",
        ],
    );

    let results = flight(folder.path());
    fs::remove_file(results.join("report.html")).unwrap();
    let trajectory = results.join("step-in-calm/trajectory.csv");
    let whole = fs::read_to_string(&trajectory).unwrap();
    fs::write(&trajectory, whole.replacen("\n0.01,", "\nsoon,", 1)).unwrap();
    refused(
        &results,
        &["trajectory.csv: line 3: time_s: found \"soon\", wanted a number"],
    );
    fs::remove_file(&trajectory).unwrap();
    refused(&results, &["trajectory.csv: found no such file"]);
    fs::write(&trajectory, whole).unwrap();
    let summary = results.join("step-in-calm/summary.json");
    let text = fs::read_to_string(&summary).unwrap();
    let mut record: Value = serde_json::from_str(&text).unwrap();
    record["inputs_sha256"] = "of another run".into();
    fs::write(&summary, record.to_string()).unwrap();
    refused(&results, &["other inputs than in summary.csv"]);
    fs::write(&summary, text).unwrap();
    fs::write(results.join("footprint.json"), "{}").unwrap();
    refused(
        &results,
        &["results of tossline fly and of tossline footprint"],
    );
    fs::remove_file(results.join("summary.csv")).unwrap();
    refused(&results, &["footprint.json", "missing field"]);
}

#[test]
fn a_sweep_that_is_not_finished_or_only_a_part_has_no_page_and_it_is_said_why() {
    let folder = tempfile::tempdir().unwrap();
    let results = sweep(folder.path());
    fs::remove_file(results.join("report.html")).unwrap();
    let refused = |says: &str| {
        let output = report(&results);
        assert_eq!(output.status.code(), Some(2), "{}", err(&output));
        assert!(err(&output).contains(says), "{says}: {}", err(&output));
        assert!(!results.join("report.html").exists());
    };
    let [summary, plan] = ["summary.json", "plan.json"].map(|name| results.join(name));
    let whole = fs::read_to_string(&summary).unwrap();
    fs::remove_file(&summary).unwrap();
    refused("found a sweep that is not finished, wanted a finished one: the same tossline sweep");
    let text = fs::read_to_string(&plan).unwrap();
    let mut part: Value = serde_json::from_str(&text).unwrap();
    part["plan"]["part"] = json!({"number": 2, "of": 3});
    fs::write(&plan, part.to_string()).unwrap();
    refused("found part 2/3 of a sweep, wanted the whole: tossline gather");
    fs::write(&plan, text).unwrap();
    let mut other: Value = serde_json::from_str(&whole).unwrap();
    other["inputs_sha256"] = "of another run".into();
    fs::write(&summary, other.to_string()).unwrap();
    refused("other inputs than in plan.json");
}

// A result's list of trajectories cannot lead out of its folder.
#[test]
fn a_trajectory_elsewhere_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let results = thrust_line(folder.path());
    let path = results.join("thrustline.json");
    let mut answer: Value = serde_json::from_str(&fs::read_to_string(&path).unwrap()).unwrap();
    for elsewhere in ["../study.json", "/etc/hosts", "javascript:alert(1)"] {
        answer["trajectories"] =
            json!([{"name": "before", "role": "before", "file": elsewhere, "flight": 0}]);
        fs::write(&path, answer.to_string()).unwrap();
        let output = report(&results);
        assert_eq!(output.status.code(), Some(2), "{}", err(&output));
        assert!(err(&output).contains(elsewhere), "{}", err(&output));
    }
}
