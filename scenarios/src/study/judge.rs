//! Conditions: whether a flight meets one, and how sure a count is.

use super::file::{Comparison, Condition};
use crate::summary::{Cell, Summary};
use serde::{Deserialize, Serialize};
use statrs::distribution::{Beta, ContinuousCDF, Normal};

/// Whether a flight meets a condition. A flight whose numbers failed meets none.
pub fn meets(condition: &Condition, summary: &Summary) -> bool {
    if summary.failure.is_some() {
        return false;
    }
    let columns = Summary::columns();
    let place = columns.iter().position(|c| c.name == condition.column);
    let cell = place.map_or(Cell::Empty, |place| summary.row().swap_remove(place));
    cell_meets(condition, &cell)
}

/// Whether a cell of a condition's column meets it.
pub(super) fn cell_meets(condition: &Condition, cell: &Cell) -> bool {
    match condition.comparison {
        Comparison::Is | Comparison::IsNot => {
            let text = cell.to_string();
            let is_word = !text.is_empty() && condition.word.as_deref() == Some(text.as_str());
            is_word == (condition.comparison == Comparison::Is)
        }
        comparison => {
            let (Cell::Number(value), Some(limit)) = (cell, condition.limit) else {
                return false;
            };
            match comparison {
                Comparison::AtLeast => *value >= limit,
                Comparison::AtMost => *value <= limit,
                Comparison::Above => *value > limit,
                _ => *value < limit,
            }
        }
    }
}

/// Whether a condition is asked of a flight at a point of the axes whose values have these names.
pub fn is_asked(condition: &Condition, names: &[String]) -> bool {
    condition.at.is_empty() || condition.at.iter().any(|name| names.contains(name))
}

/// The same for a flight at a point of the axes whose values have these names: where the condition is not asked, it is met by all but
/// flights whose numbers failed.
pub fn meets_at(condition: &Condition, names: &[String], summary: &Summary) -> bool {
    if is_asked(condition, names) {
        meets(condition, summary)
    } else {
        summary.failure.is_none()
    }
}

/// A share of flights, counted, with an interval around it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Share {
    /// How many.
    pub count: u64,
    /// Of how many.
    pub of: u64,
    /// The share counted; absent of no flights.
    pub share_fraction: Option<f64>,
    /// Lower end of the interval of Clopper and Pearson.
    pub low_fraction: f64,
    /// Its upper end.
    pub high_fraction: f64,
}

impl Share {
    /// A count with its interval at a confidence over 0 and under 1.
    ///
    /// The interval is exact for flights drawn apart from one another: it holds the true share with at least that confidence. Samples
    /// spread by a Latin hypercube or Sobol points make counts scatter less, as a rule, so that it errs to the wide side.
    pub fn new(count: u64, of: u64, confidence_fraction: f64) -> Self {
        let (low, high) = clopper_pearson(count, of, confidence_fraction);
        Share {
            count,
            of,
            share_fraction: (of > 0).then(|| count as f64 / of as f64),
            low_fraction: low,
            high_fraction: high,
        }
    }
}

/// A condition's share of a study's flights, and whether it is what the study asks for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ConditionShare {
    /// The condition's name.
    pub condition: String,
    /// Flights that meet it.
    pub meets: Share,
    /// Whether it must hold.
    pub must_hold: bool,
    /// Share that must meet it.
    pub least_share_fraction: f64,
    /// Whether the share counted is that or more.
    pub holds: bool,
}

impl ConditionShare {
    /// Of a condition and its count.
    pub fn new(condition: &Condition, meets: Share) -> Self {
        let least = condition.least_share_fraction;
        ConditionShare {
            condition: condition.name.clone(),
            meets,
            must_hold: condition.must_hold,
            least_share_fraction: least,
            holds: meets.share_fraction.is_some_and(|share| share >= least),
        }
    }

    /// Whether it must hold and does not.
    pub fn fails(&self) -> bool {
        self.must_hold && !self.holds
    }
}

/// Interval of Clopper & Pearson (1934): quantiles of the beta distribution. Never below its confidence.
///
/// # Panics
/// Where more are counted than there are.
pub fn clopper_pearson(count: u64, of: u64, confidence_fraction: f64) -> (f64, f64) {
    assert!(count <= of, "a part is no more than the whole");
    let tail = 0.5 * (1.0 - confidence_fraction);
    let (k, n) = (count as f64, of as f64);
    let quantile = |a: f64, b: f64, u: f64| Beta::new(a, b).map_or(f64::NAN, |d| d.inverse_cdf(u));
    let low = match count {
        0 => 0.0,
        _ => quantile(k, n - k + 1.0, tail),
    };
    let high = if count == of {
        1.0
    } else {
        quantile(k + 1.0, n - k, 1.0 - tail)
    };
    (low, high)
}

/// Interval of Wilson (1927): from the normal score test. Narrower, right in the mean, at times below its confidence.
///
/// # Panics
/// Where more are counted than there are.
pub fn wilson(count: u64, of: u64, confidence_fraction: f64) -> (f64, f64) {
    assert!(count <= of, "a part is no more than the whole");
    if of == 0 {
        return (0.0, 1.0);
    }
    let (k, n) = (count as f64, of as f64);
    let z = Normal::standard().inverse_cdf(0.5 + 0.5 * confidence_fraction);
    let (share, z2) = (k / n, z * z);
    let middle = share + z2 / (2.0 * n);
    let half = z * (share * (1.0 - share) / n + z2 / (4.0 * n * n)).sqrt();
    let whole = 1.0 + z2 / n;
    let low = if count == 0 {
        0.0
    } else {
        (middle - half) / whole
    };
    let high = if count == of {
        1.0
    } else {
        (middle + half) / whole
    };
    (low, high)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::summary::EndWord;

    // scipy.stats.binomtest(k, n).proportion_ci(0.95, method='wilson' and 'exact'), SciPy 1.17.1.
    #[test]
    fn intervals_are_scipys() {
        for (k, n, w_low, w_high, e_low, e_high) in [
            (0, 20, 0.0, 0.16112515805281935, 0.0, 0.16843347098308548),
            (
                3,
                20,
                0.05236874589621662,
                0.3604188647407569,
                0.03207093718554477,
                0.37892682654529564,
            ),
            (
                10,
                50,
                0.11243750015776106,
                0.33037105932225413,
                0.10030223747222769,
                0.33718310838351306,
            ),
            (
                197,
                200,
                0.9568342712073097,
                0.9948857622067417,
                0.9567917180822902,
                0.9968958923784449,
            ),
            (200, 200, 0.9811546736227335, 1.0, 0.9817246596448512, 1.0),
        ] {
            let close = |found: (f64, f64), low: f64, high: f64| {
                assert!(
                    (found.0 - low).abs() < 1e-8 && (found.1 - high).abs() < 1e-8,
                    "{k} of {n}: {found:?} {low} {high}"
                );
            };
            close(wilson(k, n, 0.95), w_low, w_high);
            close(clopper_pearson(k, n, 0.95), e_low, e_high);
        }
        assert_eq!(clopper_pearson(0, 0, 0.95), (0.0, 1.0));
    }

    // Coverage by simulation: 5000 counts of 40 throws at each true share. Clopper-Pearson never below 95 % (less two sigma of the simulation,
    // 0.6 %); Wilson 93.5 to 97 % in the mean over shares (Brown, Cai & DasGupta 2001, from memory).
    #[test]
    fn intervals_hold_the_true_share_as_often_as_they_say() {
        let mut state = 12345_u64;
        let mut uniform = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            ((state >> 11) as f64) / (1_u64 << 53) as f64
        };
        let shares = [0.02, 0.1, 0.25, 0.5, 0.7, 0.93];
        let table: Vec<_> = (0..=40)
            .map(|k| (wilson(k, 40, 0.95), clopper_pearson(k, 40, 0.95)))
            .collect();
        let mut of_wilson = 0.0;
        for share in shares {
            let (mut by_wilson, mut by_exact) = (0, 0);
            for _ in 0..5000 {
                let count = (0..40).filter(|_| uniform() < share).count();
                let (w, e) = table[count];
                by_wilson += i32::from(w.0 <= share && share <= w.1);
                by_exact += i32::from(e.0 <= share && share <= e.1);
            }
            assert!(f64::from(by_exact) / 5000.0 > 0.944, "{share}: {by_exact}");
            of_wilson += f64::from(by_wilson) / 5000.0 / shares.len() as f64;
        }
        assert!((0.935..0.97).contains(&of_wilson), "{of_wilson}");
    }

    #[test]
    fn numbers_words_and_what_is_not_there() {
        let mut summary = Summary {
            minimum_altitude_m: Some(1.5),
            ended_by: EndWord::Ground,
            ..Summary::default()
        };
        let condition = |column: &str, comparison, limit, word: Option<&str>| Condition {
            name: "c".into(),
            column: column.into(),
            comparison,
            limit,
            word: word.map(str::to_owned),
            must_hold: false,
            least_share_fraction: 1.0,
            at: Vec::new(),
            counts: true,
        };
        let high =
            |comparison, limit| condition("minimum_altitude_m", comparison, Some(limit), None);
        assert!(meets(&high(Comparison::AtLeast, 1.5), &summary));
        assert!(!meets(&high(Comparison::Above, 1.5), &summary));
        assert!(meets(&high(Comparison::AtMost, 1.5), &summary));
        assert!(!meets(&high(Comparison::Below, 1.5), &summary));
        assert!(!meets(
            &condition(
                "glide_ratio_over_ground",
                Comparison::Above,
                Some(-9.0),
                None
            ),
            &summary
        ));
        let word = |column, comparison, word| condition(column, comparison, None, Some(word));
        assert!(meets(&word("ended_by", Comparison::Is, "ground"), &summary));
        assert!(!meets(
            &word("ended_by", Comparison::IsNot, "ground"),
            &summary
        ));
        assert!(meets(
            &word("landed_in_zone", Comparison::IsNot, "pond"),
            &summary
        ));
        assert!(!meets(
            &word("landed_in_zone", Comparison::Is, "pond"),
            &summary
        ));
        let here = Condition {
            at: vec!["calm".into()],
            ..high(Comparison::AtLeast, 9.0)
        };
        assert!(!meets_at(&here, &["calm".into()], &summary));
        assert!(meets_at(&here, &["windy".into()], &summary));
        summary.failure = Some("a number".into());
        assert!(!meets_at(&here, &["windy".into()], &summary));
        assert!(!meets(&high(Comparison::AtLeast, 0.0), &summary));
        assert!(!meets(
            &word("landed_in_zone", Comparison::IsNot, "pond"),
            &summary
        ));
    }
}
