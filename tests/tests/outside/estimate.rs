//! The estimate against published cases, blind: the estimates of `estimate_cases.csv` were committed before the measured values of
//! `measured_cases.csv` were put beside them. Sources at the head of the tables.

use tossline_tests::known::estimate_cases;
use tossline_tests::published::Table;

fn deviations() -> Vec<(f64, f64)> {
    let estimates = Table::read("estimate_cases").rows(["case", "estimate", "one_sigma"]);
    let measured = Table::read("measured_cases").rows(["case", "measured"]);
    assert_eq!(estimates.len(), measured.len());
    estimates
        .iter()
        .zip(&measured)
        .map(|([case, estimate, sigma], [of, measured])| {
            assert_eq!(case, of);
            (*case, (measured - estimate) / sigma)
        })
        .collect()
}

// The count that MODEL.md § 20.2 states.
#[test]
fn published_cases_fall_where_the_model_page_says() {
    let deviations = deviations();
    let inside = |limit: f64| deviations.iter().filter(|(_, d)| d.abs() <= limit).count();
    assert_eq!(
        (inside(1.0), inside(2.0), deviations.len()),
        (7, 8, 11),
        "{deviations:?}"
    );
    let outside: Vec<f64> = deviations
        .iter()
        .filter(|(_, d)| d.abs() > 2.0)
        .map(|(case, _)| *case)
        .collect();
    assert_eq!(outside, [1.0, 8.0, 9.0], "{deviations:?}");
}

// The estimate of today is still the one that was compared, and is no surer of itself than it was; 1 % lets the lattice's panels change.
#[test]
fn estimate_is_still_the_one_that_was_compared() {
    let blind = Table::read("estimate_cases").rows(["estimate", "one_sigma"]);
    for (now, [estimate, sigma]) in estimate_cases::all().iter().zip(&blind) {
        assert!(
            (now.estimate / estimate - 1.0).abs() < 0.01,
            "{now:?}: was {estimate}"
        );
        assert!(now.one_sigma > 0.99 * sigma, "{now:?}: was {sigma}");
    }
}
