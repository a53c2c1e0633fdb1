//! Before and after: two airframes in the same throw and air, or two results, number by number (MODEL.md § 26).
//!
//! [`fields`] says what changed in the files, [`numbers`] what an airframe comes to, [`mod@meaning`] what a difference means; here they are set side
//! by side with the band of each difference.

pub mod fields;
pub mod meaning;
pub mod numbers;

use crate::airframe_file::PropellerEffects;
use crate::load::LoadedScenario;
use crate::overrides::{Change, Override};
use meaning::meaning;
use numbers::Number;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::borrow::Cow;
use std::cmp::Ordering;

/// How many one sigmas a difference must exceed to be told (common practice, no source).
const SURE_SIGMAS: f64 = 2.0;
/// Share of the larger number below which two numbers are the same: what rounding leaves.
const SAME_SHARE: f64 = 1e-9;

/// What can be said of two numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// They are the same.
    Same,
    /// They differ by more than the estimate is unsure of.
    Sure,
    /// They differ by less than that.
    Unsure,
    /// They differ, and nothing is known of how sure that is.
    NoBand,
    /// One of them is not there.
    OnlyOne,
}

/// A number before and after.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Difference {
    /// Name, with its unit.
    pub name: String,
    /// Unit, as people read it.
    pub unit: Cow<'static, str>,
    /// Before; absent where there is no such number.
    pub before: Option<f64>,
    /// After.
    pub after: Option<f64>,
    /// After less before.
    pub difference: Option<f64>,
    /// One standard deviation of that difference.
    pub one_sigma: Option<f64>,
    /// What can be said.
    pub verdict: Verdict,
    /// What it means; of those that are told.
    pub meaning: Option<String>,
}

/// Both sides' numbers with one uncertain field moved in both.
#[derive(Clone, Debug, PartialEq)]
pub struct MovedPair {
    /// Of before.
    pub before: Vec<Number>,
    /// Of after.
    pub after: Vec<Number>,
}

/// Sets two lists of numbers side by side. `moved` holds for each uncertain field both sides with it moved up, and down.
pub fn differences(
    before: &[Number],
    after: &[Number],
    moved: &[[MovedPair; 2]],
) -> Vec<Difference> {
    let value = |numbers: &[Number], i: usize| numbers.get(i).and_then(|n| n.value);
    before
        .iter()
        .enumerate()
        .map(|(i, number)| {
            let after = value(after, i);
            let difference = number.value.zip(after).map(|(b, a)| a - b);
            let at = |pair: &MovedPair| Some(value(&pair.after, i)? - value(&pair.before, i)?);
            let halves =
                moved
                    .iter()
                    .filter_map(|[up, down]| match (at(up), at(down), difference) {
                        (Some(up), Some(down), _) => Some(0.5 * (up - down)),
                        (Some(one), None, Some(middle)) | (None, Some(one), Some(middle)) => {
                            Some(one - middle)
                        }
                        _ => None,
                    });
            let halves: Vec<f64> = halves.collect();
            let band = halves.iter().map(|half| half * half).sum::<f64>().sqrt();
            let one_sigma = (difference.is_some() && !halves.is_empty()).then_some(band);
            let verdict = verdict(number.value, after, one_sigma);
            let told = matches!(verdict, Verdict::Sure | Verdict::NoBand);
            Difference {
                name: number.name.clone(),
                unit: number.unit.into(),
                before: number.value,
                after,
                meaning: difference
                    .filter(|_| told)
                    .and_then(|by| meaning(&number.name, number.value, after, by)),
                difference,
                one_sigma,
                verdict,
            }
        })
        .collect()
}

fn verdict(before: Option<f64>, after: Option<f64>, one_sigma: Option<f64>) -> Verdict {
    let (before, after) = match (before, after) {
        (Some(before), Some(after)) => (before, after),
        (None, None) => return Verdict::Same,
        _ => return Verdict::OnlyOne,
    };
    let size = (after - before).abs();
    if size <= SAME_SHARE * before.abs().max(after.abs()) {
        return Verdict::Same;
    }
    match one_sigma.map(|sigma| size.total_cmp(&(SURE_SIGMAS * sigma))) {
        None => Verdict::NoBand,
        Some(Ordering::Greater) => Verdict::Sure,
        Some(_) => Verdict::Unsure,
    }
}

/// A field that is not known exactly, with its one sigma in each of two airframes.
#[derive(Clone, Debug, PartialEq)]
pub struct Uncertain {
    /// Its path, for overrides.
    pub path: String,
    /// Value and one sigma before; none where it is not there, or exact.
    before: Option<(f64, f64)>,
    /// The same after.
    after: Option<(f64, f64)>,
    least: f64,
}

impl Uncertain {
    /// Moves it in one of the two (after or before), up (1) or down (−1). No override where it is exact there.
    pub fn moved(&self, after: bool, direction: f64) -> Vec<Override> {
        let side = if after { self.after } else { self.before };
        side.map(|(value, sigma)| Override {
            path: self.path.clone(),
            change: Change::Set(Value::from((value + direction * sigma).max(self.least))),
            file: "band".to_owned(),
            line: None,
        })
        .into_iter()
        .collect()
    }
}

/// Every coefficient, effect of a tab and factor of propeller effects that has a one sigma in either airframe.
pub fn uncertain(before: &LoadedScenario, after: &LoadedScenario) -> Vec<Uncertain> {
    let (of_before, of_after) = (with_one_sigma(before), with_one_sigma(after));
    let find = |list: &[(String, f64, f64)], path: &str| {
        let one = list.iter().find(|one| one.0 == path);
        one.map(|one| (one.1, one.2))
    };
    let mut paths: Vec<&str> = of_before.iter().map(|one| one.0.as_str()).collect();
    for (path, ..) in &of_after {
        if find(&of_before, path).is_none() {
            paths.push(path);
        }
    }
    paths
        .into_iter()
        .map(|path| Uncertain {
            path: path.to_owned(),
            before: find(&of_before, path),
            after: find(&of_after, path),
            least: if path.starts_with("propeller_effects") {
                0.0
            } else {
                f64::NEG_INFINITY
            },
        })
        .collect()
}

/// Path, value and one sigma.
fn with_one_sigma(scenario: &LoadedScenario) -> Vec<(String, f64, f64)> {
    let file = &scenario.airframe.file;
    let of_table = file
        .coefficients
        .named()
        .into_iter()
        .map(|(name, coefficient)| (format!("coefficients.{name}.value"), coefficient));
    let of_tabs = file.tabs.iter().flat_map(|tab| {
        let path = |name: &str| format!("tabs.{}.{name}.value", tab.name);
        tab.named().map(|(name, effect)| (path(name), effect))
    });
    let mut all: Vec<(String, f64, f64)> = of_table
        .chain(of_tabs)
        .filter_map(|(path, of)| {
            let sigma = of.one_sigma.filter(|&sigma| sigma > 0.0)?;
            Some((path, of.value, sigma))
        })
        .collect();
    if !file.motors.is_empty() {
        let effects = &file.propeller_effects;
        let on = [
            (effects.disc_normal_force, effects.disc_normal_force_factor),
            (effects.wash, effects.wash_factor),
            (effects.suction, effects.suction_factor),
        ];
        for ((name, sigma), (is_on, value)) in
            PropellerEffects::FACTORS_ONE_SIGMA.into_iter().zip(on)
        {
            if is_on {
                all.push((format!("propeller_effects.{name}"), value, sigma));
            }
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(value: Option<f64>) -> Vec<Number> {
        vec![Number {
            name: "mass_g".to_owned(),
            unit: "g",
            value,
        }]
    }

    fn pair(before: f64, after: f64) -> MovedPair {
        MovedPair {
            before: number(Some(before)),
            after: number(Some(after)),
        }
    }

    // By hand: two fields move the difference of 3 by ±1 and by ±0.75: √(1 + 0.5625) = 1.25. Twice that is 2.5.
    #[test]
    fn a_difference_counts_over_two_sigmas_of_what_both_share() {
        let (before, after) = (number(Some(10.0)), number(Some(13.0)));
        let moved = [
            [pair(20.0, 24.0), pair(0.0, 2.0)],
            [pair(10.0, 13.75), pair(10.0, 12.25)],
        ];
        let sure = &differences(&before, &after, &moved)[0];
        assert!((sure.one_sigma.unwrap() - 1.25).abs() < 1e-12);
        assert_eq!(sure.verdict, Verdict::Sure);
        assert!(sure.meaning.as_ref().unwrap().contains("heavier"));
        let unsure = &differences(&before, &number(Some(12.4)), &moved)[0];
        assert_eq!(unsure.verdict, Verdict::Unsure);
        assert_eq!(unsure.meaning, None);
    }

    #[test]
    fn what_is_the_same_missing_or_without_band_is_called_so() {
        let of = |before: Option<f64>, after: Option<f64>| {
            differences(&number(before), &number(after), &[])[0].verdict
        };
        assert_eq!(of(Some(1.0), Some(1.0 + 1e-12)), Verdict::Same);
        assert_eq!(of(None, None), Verdict::Same);
        assert_eq!(of(Some(1.0), None), Verdict::OnlyOne);
        assert_eq!(of(Some(1.0), Some(1.1)), Verdict::NoBand);
    }
}
