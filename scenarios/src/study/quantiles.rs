//! Quantiles of flights or draws: one definition wherever one is stated (MODEL.md § 27).

use statrs::statistics::{Data, OrderStatistics};

/// Quantiles of values at shares between 0 and 1: Hyndman & Fan's type 8. None of no values, and none that lies next to a value without end.
pub fn quantiles<const N: usize>(values: Vec<f64>, shares: [f64; N]) -> [Option<f64>; N] {
    let mut values = Data::new(values);
    shares.map(|share| Some(values.quantile(share)).filter(|at| at.is_finite()))
}

#[cfg(test)]
mod tests {
    use super::*;

    // numpy.quantile([16, 1, 8, 2, 4], ..., method='median_unbiased'), NumPy 2.4.6.
    #[test]
    fn quantiles_are_numpys_median_unbiased_ones() {
        let shares = [0.01, 0.05, 0.25, 0.5, 0.75, 0.95, 0.99];
        let expected = [
            1.0,
            1.0,
            1.6666666666666667,
            4.0,
            10.666666666666664,
            16.0,
            16.0,
        ];
        let found = quantiles(vec![16.0, 1.0, 8.0, 2.0, 4.0], shares);
        for ((share, found), expected) in shares.into_iter().zip(found).zip(expected) {
            let found = found.unwrap();
            assert!((found - expected).abs() < 1e-12, "{share}: {found}");
        }
        assert_eq!(quantiles(vec![], [0.5]), [None]);
        assert_eq!(quantiles(vec![3.0], [0.0, 0.99]), [Some(3.0); 2]);
    }

    #[test]
    fn a_quantile_next_to_a_value_without_end_is_left_open() {
        let values = vec![f64::NEG_INFINITY, 1.0, 2.0, 3.0];
        let found = quantiles(values, [0.1, 0.3, 0.9]);
        assert_eq!(found[..2], [None, None]);
        assert!(found[2].is_some());
    }
}
