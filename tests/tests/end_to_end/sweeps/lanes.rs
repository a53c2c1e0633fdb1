//! Studies flown in lanes: the same bytes however they are shared out, the numbers of the other engine, and the engine named.

use super::{Study, assert_same};

const LANES: [&str; 4] = [
    "--set",
    "solver.method=lanes",
    "--set",
    "solver.relative_tolerance=1e-8",
];

#[test]
fn flights_in_lanes_are_the_same_bytes_on_any_number_of_threads_and_the_other_engines_numbers() {
    let study = Study::new(150, |_| ());
    study.swept("by-itself", &[]);
    let by_itself = study.summary("by-itself");
    assert!(
        by_itself["engine"]
            .as_str()
            .is_some_and(|engine| engine.contains("lanes, f64"))
    );
    let swept = |out: &str, more: &[&str]| study.swept(out, &[&LANES[..], more].concat());
    let whole = swept("whole", &[]);
    assert_same(&swept("one", &["--threads", "1"]), &whole, "one thread");
    assert_same(
        &swept("seven", &["--threads", "7"]),
        &whole,
        "seven threads",
    );
    // As fine as the lanes: the study by itself flies its cheap throws loosely, and in lanes as well.
    let fine = [
        "--set",
        "solver.method=dopri5",
        "--set",
        "solver.relative_tolerance=1e-8",
        "--set",
        "solver.absolute_tolerance=1e-8",
    ];
    let by_the_other = study.swept("other", &fine);
    let (lanes, other) = (study.rows("whole"), study.rows("other"));
    assert_eq!(lanes.len(), 150);
    for (lanes, other) in lanes.iter().zip(&other) {
        assert_eq!(lanes["ended_by"], other["ended_by"]);
        assert_eq!(lanes["could_not_start"], other["could_not_start"]);
        let speed = |row: &std::collections::BTreeMap<String, String>| {
            row["airspeed_min_m_s"].parse::<f64>()
        };
        if let (Ok(a), Ok(b)) = (speed(lanes), speed(other)) {
            assert!((a - b).abs() < 1e-6, "{a} {b}");
        }
    }
    assert_ne!(whole, by_the_other);
    let engine = |out: &str| study.summary(out)["engine"].as_str().map(str::to_owned);
    assert!(engine("whole").is_some_and(|engine| engine.contains("lanes, f64, fused")));
    assert!(engine("other").is_some_and(|engine| engine.contains("dopri5")));
}

#[test]
fn a_screening_says_that_it_is_one() {
    let study = Study::new(20, |_| ());
    let single = [
        "--set",
        "solver.method=lanes_single",
        "--set",
        "solver.relative_tolerance=1e-5",
    ];
    study.swept("screened", &single);
    let summary = study.summary("screened");
    let engine = summary["engine"].as_str().unwrap_or_default();
    assert!(
        engine.starts_with("SCREENING") && engine.contains("f32"),
        "{engine}"
    );
    let rows = study.rows("screened");
    assert!(rows.iter().all(|row| row["screened_in"] == "24_bits"));
    assert!(study.swept("not", &[]) != study.swept("screened", &single));
    assert!(
        study
            .rows("not")
            .iter()
            .all(|row| row["screened_in"].is_empty())
    );
}
