//! Sobol indices and elementary effects against a reference library and closed forms (MODEL.md § 27).
//!
//! The Ishigami function y = sin x1 + a sin² x2 + b x3⁴ sin x1, x even over −π … π (Ishigami & Homma 1990; here a = 7, b = 0.1), has, each integral
//! being elementary: V = 1/2 + a²/8 + b π⁴/5 + b² π⁸/18; alone V1 = (1 + b π⁴/5)²/2, V2 = a²/8, V3 = 0; together V13 = b² π⁸ (1/18 − 1/50).

use scenarios::study::keep::SensitivityKind;
use scenarios::study::sensitivity::{FieldShare, Gathered, WithInterval};
use scenarios::study::{Plan, Purpose, StudyFile, study_file_from_bytes};
use serde_json::json;
use std::f64::consts::PI;
use tossline_tests::known::random::Random;
use tossline_tests::published::Table;

fn shares(gathered: &Gathered) -> Vec<FieldShare> {
    gathered.shares(0.95, 1).fields.expect("it varies")
}

fn sobol(share: &FieldShare) -> (WithInterval, WithInterval) {
    match share {
        FieldShare::Sobol { first_order, total } => (*first_order, *total),
        FieldShare::Elementary { .. } => panic!("Sobol indices"),
    }
}

// Indices of the same values to rounding; half widths of two bootstraps of 1000 and 2000 resamples, each good to about 2 %.
#[test]
fn indices_and_intervals_are_the_reference_library_s() {
    let groups = Table::read("sensitivity_groups").rows(["a", "b", "ab1", "ab2", "ab3"]);
    let mut gathered = Gathered::new(SensitivityKind::SobolIndices, 3, groups.len() as u64);
    for (sample, group) in groups.iter().enumerate() {
        gathered.add(sample as u64, &group.map(Some), &[]);
    }
    let expected = Table::read("sensitivity_indices").rows([
        "first",
        "first_half_width",
        "total",
        "total_half_width",
    ]);
    for (share, [first, first_width, total, total_width]) in shares(&gathered).iter().zip(expected)
    {
        let (found_first, found_total) = sobol(share);
        assert!((found_first.estimate - first).abs() < 1e-12);
        assert!((found_total.estimate - total).abs() < 1e-12);
        assert!((found_first.plus_minus / first_width - 1.0).abs() < 0.1);
        assert!((found_total.plus_minus / total_width - 1.0).abs() < 0.1);
    }
}

fn study(kind: &str, flights: u32, fields: usize, least: f64, most: f64) -> StudyFile {
    // Any fields will do: the plan's values are fed to a function, not to a flight.
    let names = [
        "launch.release_speed_m_s",
        "launch.bank_deg",
        "launch.heading_deg",
    ];
    let fields: Vec<_> = names[..fields]
        .iter()
        .map(|field| json!({"distribution": "uniform", "field": field, "least": least, "most": most}))
        .collect();
    let value = json!({
        "tossline": 1, "kind": "study", "name": "s", "base": "b.json", "flights": flights, "seed": 11,
        "scatter": {"fields": fields},
        "sensitivity": {"kind": kind, "columns": ["flight_time_s"]}
    });
    study_file_from_bytes("study.json", value.to_string().into_bytes()).expect("a study")
}

/// What a study's own samples make of a function.
fn of_function(file: &StudyFile, function: impl Fn(&[f64]) -> f64) -> Vec<FieldShare> {
    let plan = Plan::new(file, Purpose::State);
    let kind = file.sensitivity.as_ref().expect("asked for").kind;
    let fields = file.scatter.fields.len();
    let mut gathered = Gathered::new(kind, fields, u64::from(file.flights));
    for sample in 0..u64::from(file.flights) {
        let flights = (0..plan.group()).map(|i| plan.flight(sample * plan.group() + i));
        let group: Vec<_> = flights
            .map(|flight| Some(function(&flight.values)))
            .collect();
        let steps = match kind {
            SensitivityKind::ElementaryEffects => plan.steps(sample),
            SensitivityKind::SobolIndices => Vec::new(),
        };
        gathered.add(sample, &group, &steps);
    }
    shares(&gathered)
}

// With 4096 scrambled Sobol samples within 0.01 of the closed form, and the stated interval holds it.
#[test]
fn the_ishigami_function_has_its_closed_form() {
    let (a, b) = (7.0, 0.1);
    let file = study("sobol_indices", 4096, 3, -PI, PI);
    let found = of_function(&file, |x| {
        x[0].sin() + a * x[1].sin().powi(2) + b * x[2].powi(4) * x[0].sin()
    });
    let variance = 0.5 + a * a / 8.0 + b * PI.powi(4) / 5.0 + b * b * PI.powi(8) / 18.0;
    let alone = [0.5 * (1.0 + b * PI.powi(4) / 5.0).powi(2), a * a / 8.0, 0.0];
    let together = b * b * PI.powi(8) * (1.0 / 18.0 - 1.0 / 50.0);
    let whole = [alone[0] + together, alone[1], together];
    for (i, share) in found.iter().enumerate() {
        let (first, total) = sobol(share);
        for (found, exact) in [(first, alone[i] / variance), (total, whole[i] / variance)] {
            let off = (found.estimate - exact).abs();
            assert!(off < 0.01, "{i}: {found:?} {exact}");
            assert!(off <= found.plus_minus, "{i}: {found:?} {exact}");
        }
    }
}

// y = 2 u1 − 3 u2 + u1 u2: effects 2 + u2 (mean 2.5) and −3 + u1 (mean −2.5), each spread 1/√12.
#[test]
fn elementary_effects_have_their_closed_form() {
    let file = study("elementary_effects", 1024, 2, 0.0, 1.0);
    let found = of_function(&file, |u| 2.0 * u[0] - 3.0 * u[1] + u[0] * u[1]);
    for (share, expected) in found.iter().zip([2.5, -2.5]) {
        let FieldShare::Elementary {
            mean_size,
            mean,
            standard_deviation,
        } = share
        else {
            panic!("effects");
        };
        assert!((mean.estimate - expected).abs() < 0.01, "{mean:?}");
        assert!((mean_size.estimate - 2.5).abs() < 0.01);
        assert!((standard_deviation - 12.0_f64.sqrt().recip()).abs() < 0.01);
    }
}

// Coverage by simulation, samples drawn apart: y = x1 + 2 x2 of even fields, whose indices are 1/5 and 4/5 alone and in all. Of 300 intervals
// at 95 % each holds its index 300 · 0.95 ± 3 √(300 · 0.95 · 0.05) times, 274 to 296 (a normal interval of 200 samples may be somewhat off: 268 to 299).
#[test]
fn intervals_hold_the_true_index_as_often_as_they_say() {
    let mut random = Random::new(17);
    let mut held = [0; 4];
    for seed in 0..300 {
        let mut gathered = Gathered::new(SensitivityKind::SobolIndices, 2, 200);
        for sample in 0..200 {
            let mut next = || random.between(0.0, 1.0);
            let (a, b) = ([next(), next()], [next(), next()]);
            let y = |x1: f64, x2: f64| Some(x1 + 2.0 * x2);
            let group = [y(a[0], a[1]), y(b[0], b[1]), y(b[0], a[1]), y(a[0], b[1])];
            gathered.add(sample, &group, &[]);
        }
        let fields = gathered.shares(0.95, seed).fields.expect("it varies");
        for (i, share) in fields.iter().enumerate() {
            let exact = [0.2, 0.8][i];
            let (first, total) = sobol(share);
            for (j, found) in [first, total].into_iter().enumerate() {
                held[2 * i + j] += i32::from((found.estimate - exact).abs() <= found.plus_minus);
            }
        }
    }
    assert!(held.iter().all(|h| (268..=299).contains(h)), "{held:?}");
}
