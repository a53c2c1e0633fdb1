//! What a sweep says, against what its table says.

use super::{Study, err};
use crate::command::out;
use serde_json::json;

fn number(text: &str) -> Option<f64> {
    (!text.is_empty()).then(|| text.parse().expect("a number"))
}

#[test]
fn a_small_study_ends_with_a_paragraph_and_numbers_that_its_table_bears_out() {
    let study = Study::new(200, |_| {});
    let output = study.sweep("a", &["--threads", "2"]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    let said = out(&output);
    for piece in [
        "Plan of short: 200 flights.",
        "200 throws of step",
        "\"fast\" (airspeed min at least 7 m/s) held in",
        "could not start, the first of them flight",
    ] {
        assert!(said.contains(piece), "{piece}: {said}");
    }
    let (summary, rows) = (study.summary("a"), study.rows("a"));
    assert_eq!(rows.len(), 200);
    for (i, row) in rows.iter().enumerate() {
        assert_eq!(row["flight"], i.to_string());
        // Inputs stand beside outputs, also of a flight that could not start; its reason names no folder.
        let height = number(&row["launch.release_height_m"]).unwrap();
        let reason = &row["could_not_start"];
        assert!(
            reason.is_empty() || reason.contains("launch.release_height_m"),
            "{reason}"
        );
        assert!(!reason.contains('/') && (height > 0.0 || !reason.is_empty()));
        assert_eq!(reason.is_empty(), !row["ended_by"].is_empty());
        let met = number(&row["airspeed_min_m_s"]).map(|speed| speed >= 7.0);
        assert_eq!(
            row["meets fast"],
            met.map_or(String::new(), |m| m.to_string())
        );
    }
    let count = |of: &dyn Fn(&str) -> bool, column: &str| {
        rows.iter().filter(|row| of(&row[column])).count()
    };
    let lost = count(&|reason| !reason.is_empty(), "could_not_start");
    assert!(lost > 0 && lost < 100, "{lost}");
    assert_eq!(summary["could_not_start"]["flights"], lost);
    let met = count(&|word| word == "true", "meets fast");
    assert_eq!(summary["conditions"][0]["meets"]["count"], met);
    assert_eq!(summary["conditions"][0]["meets"]["of"], 200);
    // Quantile, mean and histogram of a column, worked out anew; the median of an even count lies in the middle.
    let mut speeds: Vec<f64> = rows
        .iter()
        .filter_map(|row| number(&row["airspeed_max_m_s"]))
        .collect();
    speeds.sort_by(f64::total_cmp);
    let columns = summary["columns"].as_array().unwrap();
    let column = columns
        .iter()
        .find(|column| column["column"] == "airspeed_max_m_s")
        .unwrap();
    let n = speeds.len();
    let median = 0.5 * (speeds[(n - 1) / 2] + speeds[n / 2]);
    let close = |found: &serde_json::Value, expected: f64| {
        let found = found.as_f64().unwrap();
        assert!((found - expected).abs() < 1e-9, "{found} {expected}");
    };
    close(&column["quantiles"]["0.5"], median);
    close(&column["mean"], speeds.iter().sum::<f64>() / n as f64);
    close(&column["most"]["value"], speeds[n - 1]);
    let bins = column["histogram"]["counts"].as_array().unwrap();
    assert_eq!(
        bins.iter().filter_map(|b| b.as_u64()).sum::<u64>(),
        n as u64
    );
    // Every fiftieth trajectory, where there was a flight.
    for (flight, row) in rows.iter().enumerate() {
        let there = study
            .path(&format!("a/trajectories/flight-{flight:010}.csv"))
            .exists();
        let wanted = flight % 50 == 0 && row["could_not_start"].is_empty();
        assert_eq!(there, wanted, "{flight}");
    }
    // Called again it has nothing to fly and says the same.
    let again = study.sweep("a", &[]);
    assert!(said.ends_with(&out(&again)), "{}", out(&again));
}

#[test]
fn the_same_bytes_on_one_two_and_seven_threads_as_text_and_as_parquet() {
    for format in ["csv", "parquet"] {
        let study = Study::new(150, |s| s["keep"]["format"] = format.into());
        let one = study.swept("1", &["--threads", "1"]);
        for threads in ["2", "7"] {
            let found = study.swept(threads, &["--threads", threads]);
            super::assert_same(&found, &one, &format!("{format}, {threads} threads"));
        }
    }
}

#[test]
fn text_and_parquet_come_to_the_same_answer() {
    let study = Study::new(150, |_| {});
    study.swept("text", &[]);
    let binary = Study::new(150, |s| s["keep"]["format"] = "parquet".into());
    binary.swept("binary", &[]);
    let (mut text, mut parts) = (study.summary("text"), binary.summary("binary"));
    for summary in [&mut text, &mut parts] {
        summary["table"] = json!(null);
        summary["inputs_sha256"] = json!(null);
    }
    assert_eq!(text, parts);
}

#[test]
fn axes_have_a_table_of_points_and_a_condition_that_must_hold_ends_with_1() {
    let study = Study::new(10, |s| {
        s["axes"] = json!([{"field": "air.wind.speed_m_s", "values": [0, 2, 4]}]);
        s["conditions"][0]["least_share_fraction"] = json!(1);
        s["conditions"][0]["must_hold"] = json!(true);
        s["keep"] = json!({"columns": ["airspeed_min_m_s"]});
    });
    let output = study.sweep("a", &[]);
    assert_eq!(output.status.code(), Some(1), "{}", err(&output));
    assert!(out(&output).contains("IT MUST HOLD"), "{}", out(&output));
    let rows = study.rows("a");
    let mut points = csv::Reader::from_path(study.path("a/points.csv")).unwrap();
    let heads = points.headers().unwrap().clone();
    let place = |name: &str| heads.iter().position(|head| head == name).unwrap();
    let points: Vec<csv::StringRecord> = points.records().map(Result::unwrap).collect();
    assert_eq!(points.len(), 3);
    for (point, wind) in points.iter().zip(["0", "2", "4"]) {
        assert_eq!(&point[place("air.wind.speed_m_s")], wind);
        let here = || rows.iter().filter(|row| row["air.wind.speed_m_s"] == wind);
        assert_eq!(here().count(), 10);
        let met = here().filter(|row| row["meets fast"] == "true").count();
        assert_eq!(point[place("meets fast: flights")], met.to_string());
        let speeds: Vec<f64> = here()
            .filter_map(|row| number(&row["airspeed_min_m_s"]))
            .collect();
        let mean: f64 = point[place("mean_airspeed_min_m_s")].parse().unwrap();
        assert!((mean - speeds.iter().sum::<f64>() / speeds.len() as f64).abs() < 1e-9);
    }
    // A headwind of 4 m/s makes it fast.
    let summary = study.summary("a");
    assert_eq!(summary["best_point"]["axis_values"], json!([4.0]));
    // Only the columns asked for, and how it ended.
    assert!(rows[0].contains_key("ended_by") && !rows[0].contains_key("flight_time_s"));
}

#[test]
fn sensitivities_name_the_field_that_decides() {
    for (kind, flights) in [("sobol_indices", 64 * 4), ("elementary_effects", 64 * 3)] {
        let study = Study::new(64, |s| {
            s["sensitivity"] = json!({"kind": kind});
            // All can start.
            s["scatter"]["fields"][1]["mean"] = json!(2);
            s["keep"] = json!({"trajectories": {"which": "worst", "count": 2, "column": "airspeed_min_m_s", "end": "lowest"}});
        });
        study.swept("a", &[]);
        let summary = study.summary("a");
        assert_eq!(summary["flights"], flights);
        let decides = &summary["sensitivities"][0];
        assert_eq!(decides["fields"][0]["field"], "launch.release_speed_m_s");
        if kind == "sobol_indices" {
            // The speed of a level throw hardly hangs on its height.
            let share = decides["fields"][0]["first_order"]["estimate"]
                .as_f64()
                .unwrap();
            assert!((share - 1.0).abs() < 0.1, "{share}");
        }
        // The worst two of the table are those whose trajectories are kept.
        let rows = study.rows("a");
        let mut order: Vec<usize> = (0..rows.len()).collect();
        let speed = |i: &usize| number(&rows[*i]["airspeed_min_m_s"]).unwrap();
        order.sort_by(|a, b| speed(a).total_cmp(&speed(b)));
        let worst = summary["worst_flights"].as_array().unwrap();
        for (found, flight) in worst.iter().zip(order) {
            assert_eq!(found["flight"], flight);
            assert!(
                study
                    .path(&format!("a/trajectories/flight-{flight:010}.csv"))
                    .exists()
            );
        }
        assert_eq!(worst.len(), 2);
    }
}

#[test]
fn the_plan_alone_flies_nothing() {
    let study = Study::new(1_000_000_000, |s| s["keep"] = json!({}));
    let output = study.sweep("a", &["--plan-only"]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    assert!(
        out(&output).contains("1000000000 flights"),
        "{}",
        out(&output)
    );
    assert!(!study.path("a/flights.csv").exists());
}
