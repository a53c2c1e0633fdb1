use super::worst::{ordered, unordered};
use super::*;
use crate::study::sensitivity::FieldShare;
use crate::study::{Purpose, study_file_from_bytes};
use serde_json::{Value, json};

fn study(change: impl Fn(&mut Value)) -> StudyFile {
    let mut value = json!({
        "tossline": 1, "kind": "study", "name": "s", "base": "b.json", "flights": 8,
        "scatter": {"fields": [
            {"distribution": "uniform", "field": "launch.release_speed_m_s", "least": 4, "most": 6},
            {"distribution": "uniform", "field": "launch.bank_deg", "least": -5, "most": 5}
        ]},
        "keep": {"columns": ["flight_time_s", "model_range"]},
        "conditions": [{"name": "long", "column": "flight_time_s", "comparison": "at_least", "limit": 4}]
    });
    change(&mut value);
    study_file_from_bytes("study.json", value.to_string().into_bytes()).unwrap()
}

/// A row whose flight lasts so long (s).
fn row(flight: u64, inputs: [f64; 2], time_s: Option<f64>) -> Row {
    let number = time_s.map_or(Cell::Empty, Cell::Number);
    Row {
        flight,
        inputs: inputs.to_vec(),
        // ended_by, failure, flight_time_s, model_range: the order of the summary.
        outputs: vec![
            Cell::Text("ground".into()),
            Cell::Empty,
            number,
            Cell::Empty,
        ],
        meets: vec![Some(time_s.is_some_and(|t| t >= 4.0))],
        ..Row::default()
    }
}

fn answer(file: &StudyFile, rows: impl Iterator<Item = Row>) -> Answer {
    let mut tally = Tally::new(file, &Plan::new(file, Purpose::State));
    for row in rows {
        tally.add(&row);
    }
    tally.finish().0
}

// By hand: times 1 … 8 s, of which 5 meet 4 s; Clopper-Pearson of 5 of 8 by scipy.stats.binomtest(5, 8).proportion_ci(0.95), SciPy 1.17.1.
#[test]
fn shares_moments_and_extremes_by_hand() {
    let file = study(|_| {});
    let found = answer(
        &file,
        (0..8).map(|i| row(i, [5.0, 0.0], Some((i + 1) as f64))),
    );
    let meets = &found.conditions[0].share.meets;
    assert_eq!((meets.count, meets.of), (5, 8));
    assert!((meets.low_fraction - 0.24486321637).abs() < 1e-8);
    assert!((meets.high_fraction - 0.91476658586).abs() < 1e-8);
    let times = &found.columns[0];
    assert_eq!((times.flights, times.mean), (8, Some(4.5)));
    // Variance of 1 … n is n(n + 1)/12: 6.
    assert!((times.standard_deviation.unwrap() - 6.0_f64.sqrt()).abs() < 1e-12);
    assert_eq!(times.most.map(|most| most.flight), Some(7));
    assert_eq!(times.quantile("0.5"), Some(4.5));
    let bins = &times.histogram.as_ref().unwrap().counts;
    assert_eq!((bins.len(), bins.iter().sum::<u64>()), (20, 8));
    assert_eq!(found.ends["ground"], 8);
    assert_eq!(found.left_model_range, Some(0));
}

// By hand: speeds 1, 2, 3 missed it, 5, 6, 7 met it: means 2 and 6; squares about the mean of all, 4: 9 + 4 + 1 + 1 + 4 + 9 = 28, over 6.
#[test]
fn what_missed_flights_have_in_common_by_hand() {
    let file = study(|_| {});
    let speeds = [1.0, 2.0, 3.0, 5.0, 6.0, 7.0];
    let rows = speeds.iter().enumerate().map(|(i, &speed)| {
        let time = if speed < 4.0 { 1.0 } else { 9.0 };
        row(i as u64, [speed, (i % 2) as f64], Some(time))
    });
    let common = answer(&file, rows).conditions[0]
        .missed_have_in_common
        .clone();
    assert_eq!(common[0].field, "launch.release_speed_m_s");
    let expected = -4.0 / (28.0_f64 / 6.0).sqrt();
    assert!((common[0].difference_in_standard_deviations - expected).abs() < 1e-12);
    assert_eq!(
        (common[0].mean_of_missed, common[0].mean_of_met),
        (2.0, 6.0)
    );
}

#[test]
fn what_has_no_result_stays_in_the_number_and_says_why() {
    let file = study(|_| {});
    let rows = (0..4).map(|i| {
        let mut row = row(i, [5.0, 0.0], Some(5.0));
        match i {
            1 => {
                row.could_not_start = Some("below the ground".into());
                row.outputs = vec![Cell::Empty; 4];
                row.meets = vec![None];
            }
            2 => {
                row.outputs[0] = Cell::Text("failed".into());
                row.outputs[1] = Cell::Text("a number".into());
                row.outputs[2] = Cell::Empty;
                row.meets = vec![Some(false)];
            }
            _ => {}
        }
        row
    });
    let found = answer(&file, rows);
    let meets = found.conditions[0].share.meets;
    assert_eq!((meets.count, meets.of), (2, 4));
    assert_eq!(found.could_not_start.first_flight, Some(1));
    assert_eq!(found.failed.first_reason.as_deref(), Some("a number"));
    assert_eq!(found.columns[0].flights, 2);
}

// Means and extremes are of all; quantiles of a part that is as good as drawn by chance: the median of an even column within three sigma,
// 3 · 0.5/√16384 of its range.
#[test]
fn memory_stays_bounded_and_quantiles_close() {
    let count = 200_000_u64;
    let file = study(|s| s["flights"] = json!(count));
    let found = answer(
        &file,
        (0..count).map(|i| row(i, [5.0, 0.0], Some(i as f64))),
    );
    let times = &found.columns[0];
    assert_eq!(times.flights, count);
    assert!((times.mean.unwrap() - 99_999.5).abs() < 1e-6);
    assert!((8_192..=32_768).contains(&times.quantiles_of_flights));
    let half = times.quantile("0.5").unwrap() / count as f64;
    assert!((half - 0.5).abs() < 0.012, "{half}");
}

// Whole rows, in order, no more than 512 and no fewer than a quarter of that; every one of a few.
#[test]
fn a_sample_of_rows_is_bounded_and_whole_where_they_are_few() {
    for (count, fewest) in [(8, 8), (512, 512), (20_000, 128)] {
        let file = study(|s| s["flights"] = json!(count));
        let mut tally = Tally::new(&file, &Plan::new(&file, Purpose::State));
        let made = |i| row(i, [5.0, i as f64], Some(i as f64));
        for i in 0..count {
            tally.add(&made(i));
        }
        let sample = tally.sample();
        assert!((fewest..=512).contains(&sample.len()), "{}", sample.len());
        assert!(
            sample
                .windows(2)
                .all(|pair| pair[0].flight < pair[1].flight)
        );
        assert!(sample.iter().all(|one| *one == made(one.flight)));
    }
}

#[test]
fn the_worst_are_found_in_order_and_the_first_of_equal_ones() {
    let file = study(|s| {
        s["keep"]["trajectories"] =
            json!({"which": "worst", "count": 3, "column": "flight_time_s", "end": "lowest"});
    });
    let times = [
        Some(3.0),
        Some(-1.0),
        None,
        Some(2.0),
        Some(-1.0),
        Some(2.0),
    ];
    let rows = (0..6).map(|i| row(i, [5.0, 0.0], times[i as usize]));
    let worst: Vec<(u64, f64)> = answer(&file, rows)
        .worst_flights
        .iter()
        .map(|one| (one.flight, one.value))
        .collect();
    assert_eq!(worst, [(1, -1.0), (4, -1.0), (3, 2.0)]);
    let values = [-f64::MAX, -1.0, -1e-300, 0.0, 1e-300, 2.0, f64::MAX];
    assert!(values.windows(2).all(|p| ordered(p[0]) < ordered(p[1])));
    assert!(values.iter().all(|&v| unordered(ordered(v)) == v));
    assert_eq!(ordered(-0.0), ordered(0.0));
}

#[test]
fn points_come_one_by_one_and_the_best_is_named() {
    let file = study(|s| {
        s["axes"] = json!([{"field": "launch.heading_deg", "values": [10, 20, 30]}]);
        s["flights"] = json!(4);
    });
    let mut tally = Tally::new(&file, &Plan::new(&file, Purpose::State));
    let mut points = Vec::new();
    for flight in 0..12 {
        // Of the second point all last long enough, of the first one, of the third none.
        let time = match flight {
            4..8 | 2 => 5.0,
            _ => 1.0,
        };
        let mut one = row(flight, [5.0, 0.0], Some(time));
        one.inputs.insert(0, 0.0);
        points.extend(tally.add(&one));
    }
    let (answer, last) = tally.finish();
    points.extend(last);
    let counts: Vec<u64> = points.iter().map(|p| p.conditions[0].count).collect();
    assert_eq!(counts, [1, 4, 0]);
    // (1 + 1 + 5 + 1)/4, to the rounding of a running mean.
    assert!((points[0].means[0].unwrap() - 2.0).abs() < 1e-12);
    assert_eq!(answer.best_point.unwrap().axis_values, [20.0]);
    assert_eq!(answer.worst_point.unwrap().axis_values, [30.0]);
}

// Exchanged flights only show what decides: they are in no share. The time is the speed: it decides everything, bank nothing.
#[test]
fn only_flights_drawn_apart_are_counted() {
    let file = study(|s| {
        s["sensitivity"] = json!({"kind": "sobol_indices"});
        s["flights"] = json!(64);
    });
    let plan = Plan::new(&file, Purpose::State);
    let rows = (0..plan.flights()).map(|i| {
        let values = plan.flight(i).values;
        row(i, [values[0], values[1]], Some(values[0]))
    });
    let found = answer(&file, rows);
    assert_eq!((found.flights, found.counted_flights), (256, 128));
    let decides = &found.sensitivities[0];
    assert_eq!((decides.samples, decides.left_out), (64, 0));
    assert_eq!(decides.fields[0].field, "launch.release_speed_m_s");
    let FieldShare::Sobol { total, .. } = decides.fields[1].share else {
        panic!("Sobol indices");
    };
    assert_eq!(total.estimate, 0.0);
}
