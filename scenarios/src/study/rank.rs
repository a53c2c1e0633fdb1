//! How much one number goes with another, whatever the bend (MODEL.md § 27).

/// Rank correlation (Spearman): −1 where one always falls as the other rises, 1 where it always rises. Equal values share the mean of their
/// ranks. None of fewer than three pairs, or where either does not vary.
pub fn rank_correlation(pairs: &[(f64, f64)]) -> Option<f64> {
    if pairs.len() < 3 {
        return None;
    }
    let first = ranks(pairs.iter().map(|pair| pair.0).collect());
    let second = ranks(pairs.iter().map(|pair| pair.1).collect());
    let mean = 0.5 * (pairs.len() as f64 - 1.0);
    let (mut both, mut of_first, mut of_second) = (0.0, 0.0, 0.0);
    for (a, b) in first.iter().zip(&second) {
        both += (a - mean) * (b - mean);
        of_first += (a - mean) * (a - mean);
        of_second += (b - mean) * (b - mean);
    }
    (of_first > 0.0 && of_second > 0.0).then(|| both / (of_first * of_second).sqrt())
}

/// Rank of every value, from 0.
fn ranks(values: Vec<f64>) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
    let mut ranks = vec![0.0; values.len()];
    let mut at = 0;
    for equal in order.chunk_by(|&a, &b| values[a] == values[b]) {
        let shared = at as f64 + 0.5 * (equal.len() as f64 - 1.0);
        equal.iter().for_each(|&i| ranks[i] = shared);
        at += equal.len();
    }
    ranks
}

#[cfg(test)]
mod tests {
    use super::*;

    // scipy.stats.spearmanr, SciPy 1.17.1; with equal values on both sides.
    #[test]
    fn it_is_scipys() {
        let first = [1.0, 2.0, 2.0, 3.0, 5.0, 8.0, 13.0];
        let second = [2.5, 1.0, 4.0, 4.0, 9.0, 3.0, 20.0];
        let pairs: Vec<(f64, f64)> = first.into_iter().zip(second).collect();
        let found = rank_correlation(&pairs).unwrap();
        assert!((found - 0.681_818_181_818_181_9).abs() < 1e-12, "{found}");
    }

    #[test]
    fn what_does_not_vary_goes_with_nothing() {
        assert_eq!(
            rank_correlation(&[(1.0, 2.0), (1.0, 3.0), (1.0, 4.0)]),
            None
        );
        assert_eq!(rank_correlation(&[(1.0, 2.0), (2.0, 3.0)]), None);
        let falls = [(1.0, 9.0), (2.0, 4.0), (3.0, -7.0)];
        assert_eq!(rank_correlation(&falls), Some(-1.0));
    }
}
