//! From numbers between 0 and 1 to values of scattered fields.

use super::file::{Correlation, ScatteredField};
use crate::digits::to_digits;
use nalgebra::DMatrix;
use statrs::distribution::{ContinuousCDF, Normal};

/// The lower triangle L with L Lᵀ the matrix of correlations between fields; none where there is no such matrix.
pub(super) fn cholesky(list: &[Correlation], fields: &[ScatteredField]) -> Option<DMatrix<f64>> {
    let n = fields.len();
    let mut matrix = DMatrix::identity(n, n);
    let place = |path: &str| fields.iter().position(|field| field.field() == path);
    for one in list {
        let (i, j) = (place(&one.first)?, place(&one.second)?);
        matrix[(i, j)] = one.coefficient;
        matrix[(j, i)] = one.coefficient;
    }
    matrix.cholesky().map(|factor| factor.l())
}

/// Numbers between 0 and 1 made to go together: normal scores times the lower triangle.
pub(super) fn correlated(numbers: &[f64], lower: &DMatrix<f64>) -> Vec<f64> {
    let bell = Normal::standard();
    let scores: Vec<f64> = numbers.iter().map(|&u| bell.inverse_cdf(u)).collect();
    (0..scores.len())
        .map(|i| {
            let off_diagonal = (0..i).any(|j| lower[(i, j)] != 0.0);
            if !off_diagonal {
                return numbers[i];
            }
            let score: f64 = (0..=i).map(|j| lower[(i, j)] * scores[j]).sum();
            bell.cdf(score)
        })
        .collect()
}

/// Value of a field at a number between 0 and 1: the distribution's quantile, to 12 significant digits.
pub fn quantile(field: &ScatteredField, u: f64) -> f64 {
    let bell = Normal::standard();
    rounded(match field {
        ScatteredField::Normal(n) => n.mean + n.standard_deviation * bell.inverse_cdf(u),
        ScatteredField::TruncatedNormal(n) => {
            let share = |end: f64| bell.cdf((end - n.mean) / n.standard_deviation);
            let (low, high) = (share(n.least), share(n.most));
            let value = n.mean + n.standard_deviation * bell.inverse_cdf(low + u * (high - low));
            value.clamp(n.least, n.most)
        }
        ScatteredField::Uniform(n) => n.least + u * (n.most - n.least),
        ScatteredField::WholeNumber(n) => {
            (n.least + (u * (n.most - n.least + 1.0)).floor()).min(n.most)
        }
        ScatteredField::Triangular(t) => {
            let (width, rise) = (t.most - t.least, t.most_likely - t.least);
            if u * width < rise {
                t.least + (u * width * rise).sqrt()
            } else {
                t.most - ((1.0 - u) * width * (t.most - t.most_likely)).sqrt()
            }
        }
    })
}

/// A number to 12 significant digits.
pub(super) fn rounded(value: f64) -> f64 {
    to_digits(value, 12)
}

#[cfg(test)]
mod tests {
    use super::super::file::{ChangeWord, Normal, Triangular, TruncatedNormal, Uniform};
    use super::*;

    fn normal(field: &str) -> ScatteredField {
        ScatteredField::Normal(Normal {
            field: field.into(),
            change: ChangeWord::Set,
            mean: 0.0,
            standard_deviation: 1.0,
        })
    }

    // scipy.stats norm.ppf(u), truncnorm.ppf(u, -1, 2.5, loc=3, scale=0.4), triang.ppf(u, 0.25, loc=1, scale=4); SciPy 1.17.1.
    #[test]
    fn quantiles_are_scipys() {
        let (field, change) = (String::new(), ChangeWord::Set);
        let truncated = ScatteredField::TruncatedNormal(TruncatedNormal {
            field: field.clone(),
            change,
            mean: 3.0,
            standard_deviation: 0.4,
            least: 2.6,
            most: 4.0,
        });
        let triangle = ScatteredField::Triangular(Triangular {
            field: field.clone(),
            change,
            least: 1.0,
            most_likely: 2.0,
            most: 5.0,
        });
        let even = ScatteredField::Uniform(Uniform {
            field,
            change,
            least: -2.0,
            most: 6.0,
        });
        for (u, of_normal, of_truncated, of_triangle) in [
            (1e-6, -4.753424308822899, 2.600001380553191, 1.002),
            (0.01, -2.3263478740408408, 2.6135752412787747, 1.2),
            (
                0.3,
                -0.5244005127080409,
                2.908154312095222,
                2.1017246507621126,
            ),
            (
                0.77,
                0.7388468491852137,
                3.3390969455028205,
                3.338675227416385,
            ),
            (
                0.999,
                3.090232306167813,
                3.981988344977608,
                4.890455488498967,
            ),
        ] {
            let close = |field: &ScatteredField, expected: f64| {
                let found = quantile(field, u);
                assert!((found - expected).abs() < 1e-10, "{u}: {found} {expected}");
            };
            close(&normal("a"), of_normal);
            close(&truncated, of_truncated);
            close(&triangle, of_triangle);
            close(&even, -2.0 + 8.0 * u);
        }
    }

    #[test]
    fn twelve_digits_and_no_more() {
        assert_eq!(rounded(1.0 / 3.0), 0.333333333333);
        assert_eq!(rounded(-2.0e-7 / 3.0), -6.66666666667e-8);
        assert_eq!(rounded(0.0), 0.0);
    }

    // Two normal fields with a coefficient ρ have correlation ρ; a third stays apart. From 4000 pairs, one sigma (1 − ρ²)/√n = 0.008.
    #[test]
    fn correlated_fields_have_their_correlation_and_others_none() {
        use super::super::file::Sampling;
        use super::super::sampling::{Key, Sampler};
        let fields = [normal("a"), normal("b"), normal("c")];
        let pair = [Correlation {
            first: "c".into(),
            second: "a".into(),
            coefficient: -0.7,
        }];
        let lower = cholesky(&pair, &fields).unwrap();
        let sampler = Sampler::new(Sampling::LatinHypercube, 4000, 3);
        let key = Key {
            seed: 3,
            purpose: 0,
            block: 0,
        };
        let draws: Vec<Vec<f64>> = (0..4000)
            .map(|i| {
                let numbers = correlated(&sampler.sample(key, i), &lower);
                numbers.iter().map(|&u| quantile(&fields[0], u)).collect()
            })
            .collect();
        let moment = |i: usize, j: usize| draws.iter().map(|d| d[i] * d[j]).sum::<f64>() / 4000.0;
        let correlation = |i, j| moment(i, j) / (moment(i, i) * moment(j, j)).sqrt();
        assert!(
            (correlation(0, 2) + 0.7).abs() < 0.03,
            "{}",
            correlation(0, 2)
        );
        assert!(correlation(0, 1).abs() < 0.05 && correlation(1, 2).abs() < 0.05);
        let impossible = [("a", "b"), ("b", "c"), ("a", "c")].map(|(first, second)| Correlation {
            first: first.into(),
            second: second.into(),
            coefficient: -0.9,
        });
        assert!(cholesky(&impossible, &fields).is_none());
    }
}
