//! JSON and table, failed flights, and independence from steps and record rows.

use super::bodies::{G, ball, throw};
use super::{near, sum_up};
use crate::{Cell, EndWord, Summary, SummarySettings, summarise};
use nalgebra::Vector3;
use sim_core::flight::Throw;
use sim_core::launch::Launch;
use sim_core::record::{row, row_times_s};

fn tumbling() -> Throw {
    throw(
        ball(),
        Launch {
            path_angle_rad: 0.6,
            rates_rad_s: Vector3::new(2.0, 3.0, -1.0),
            ..Launch::level(1.6, 8.0)
        },
        10.0,
    )
}

#[test]
fn table_and_json_carry_the_same_names_and_numbers() {
    let summary = sum_up(&tumbling());
    let json = serde_json::to_value(&summary).unwrap();
    let json = json.as_object().unwrap();
    let (columns, row) = (Summary::columns(), summary.row());
    assert_eq!(json.len(), columns.len());
    assert_eq!(row.len(), columns.len());
    for (column, cell) in columns.iter().zip(&row) {
        let value = &json[column.name];
        match cell {
            Cell::Number(x) => assert_eq!(value.as_f64(), Some(*x), "{}", column.name),
            Cell::Empty => assert!(value.is_null() || value.as_array().is_some_and(Vec::is_empty)),
            Cell::Text(text) if column.name == "model_range" => {
                assert!(text.starts_with(value[0]["what"].as_str().unwrap()));
            }
            Cell::Text(text) => assert_eq!(value.as_str(), Some(text.as_str())),
        }
    }
    assert_eq!(json["ended_by"], "ground");
}

#[test]
fn cells_are_short_and_give_the_number_back() {
    for (number, text) in [(0.0, "0"), (-2.25, "-2.25"), (9.5e-15, "9.5e-15")] {
        assert_eq!(Cell::Number(number).to_string(), text);
        assert_eq!(text.parse(), Ok(number));
    }
    assert_eq!(Cell::Empty.to_string(), "");
}

#[test]
fn every_unit_ends_its_name() {
    let endings = [
        ("s", "_s"),
        ("m", "_m"),
        ("m/s", "_m_s"),
        ("deg", "_deg"),
        ("mAh", "_mAh"),
    ];
    for column in Summary::columns() {
        match endings.iter().find(|(unit, _)| *unit == column.unit) {
            Some((_, ending)) => assert!(column.name.ends_with(ending), "{}", column.name),
            None => assert_eq!(column.unit, "", "{}", column.name),
        }
    }
}

#[test]
fn a_failed_flight_has_a_reason_and_no_metric() {
    let mut failing = tumbling();
    // Gravity that no number can follow.
    failing.air.gravity.surface_m_s2 = 1e308;
    let summary = sum_up(&failing);
    assert_eq!(summary.ended_by, EndWord::Failed);
    assert!(summary.failure.is_some() && summary.failed_at_s.is_some());
    let filled: Vec<&str> = Summary::columns()
        .iter()
        .zip(summary.row())
        .filter(|(_, cell)| *cell != Cell::Empty)
        .map(|(column, _)| column.name)
        .collect();
    assert_eq!(filled, ["ended_by", "failure", "failed_at_s"]);
}

#[test]
fn a_diverged_flight_that_says_nothing_is_failed_too() {
    let mut diverging = tumbling();
    diverging.vehicle.coefficients.span = f64::NAN;
    diverging.vehicle.coefficients.reference.x = f64::NAN;
    let summary = sum_up(&diverging);
    assert_eq!(summary.ended_by, EndWord::Failed);
    assert_eq!(summary.flight_time_s, None);
}

// The same flight with smaller steps, and after rows were taken at two intervals: the numbers stay.
#[test]
fn numbers_depend_neither_on_steps_nor_on_rows() {
    let coarse = tumbling();
    let mut fine = coarse.clone();
    fine.tolerance.largest_step_s = 0.013;
    let flight = coarse.fly().unwrap();
    let before = summarise(&flight, None, &SummarySettings::default());
    for interval in [0.01, 0.3] {
        let rows: Vec<_> = row_times_s(&flight, interval)
            .into_iter()
            .map(|t| row(&flight, t))
            .collect();
        assert!(!rows.is_empty());
        assert_eq!(
            summarise(&flight, None, &SummarySettings::default()),
            before
        );
    }
    let after = sum_up(&fine);
    for ((column, a), b) in Summary::columns().iter().zip(before.row()).zip(after.row()) {
        if let (Cell::Number(a), Cell::Number(b)) = (&a, &b) {
            // Times of flat extremes are as sharp as the square root of the numbers' noise.
            let within = if column.name.ends_with("time_s") {
                1e-4
            } else {
                1e-6
            };
            assert!(
                (a - b).abs() <= within * (1.0 + a.abs()),
                "{}: {a}, {b}",
                column.name
            );
        }
    }
    near(
        after.height_gained_m,
        (8.0 * 0.6_f64.sin()).powi(2) / (2.0 * G),
        1e-8,
    );
}
