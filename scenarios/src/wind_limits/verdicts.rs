//! Go or no-go, from counts (MODEL.md § 10.4).

use crate::study::judge::{Share, meets_at};
use crate::study::{LoadedStudy, PlannedFlight};
use crate::summary::{Summary, fly_with_twin, summarise};
use serde::{Deserialize, Serialize};

/// What the throws of a cell say.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// The whole interval is at or over the share asked for.
    Go,
    /// The whole interval is under it.
    NoGo,
    /// The share asked for lies inside the interval.
    CannotTell,
}

impl Verdict {
    /// Of a share against the one asked for.
    pub fn of(share: &Share, asked_fraction: f64) -> Self {
        if share.low_fraction >= asked_fraction {
            Verdict::Go
        } else if share.high_fraction < asked_fraction {
            Verdict::NoGo
        } else {
            Verdict::CannotTell
        }
    }

    /// As people say it.
    pub fn words(self) -> &'static str {
        match self {
            Verdict::Go => "go",
            Verdict::NoGo => "no-go",
            Verdict::CannotTell => "cannot tell",
        }
    }
}

/// One throw: what it came to, and which conditions it meets; or why it could not start.
#[derive(Clone, Debug)]
pub struct JudgedThrow {
    /// Which flight of the plan.
    pub flight: PlannedFlight,
    /// Summary, and whether each condition is met.
    pub result: Result<(Summary, Vec<bool>), String>,
}

impl JudgedThrow {
    /// Flies a planned throw and judges it by the study's conditions.
    pub fn fly(study: &LoadedStudy, flight: &PlannedFlight) -> Self {
        let flown = || -> Result<(Summary, Vec<bool>), String> {
            let built = study.scenario(flight).map_err(|e| e.to_string())?.built;
            let (first, twin) =
                fly_with_twin(&built.throw, &built.summary).map_err(|e| e.to_string())?;
            let summary = summarise(&first, twin.as_ref(), &built.summary);
            let conditions = study.file.conditions.iter();
            let met = conditions
                .map(|c| meets_at(c, &flight.names, &summary))
                .collect();
            Ok((summary, met))
        };
        JudgedThrow {
            flight: flight.clone(),
            result: flown(),
        }
    }

    /// Whether it meets every condition. One that could not start meets none.
    pub fn meets_all(&self) -> bool {
        self.meets(|met| met.iter().all(|&met| met))
    }

    fn meets(&self, which: impl Fn(&[bool]) -> bool) -> bool {
        self.result.as_ref().is_ok_and(|(_, met)| which(met))
    }

    /// Whether its numbers failed.
    pub fn failed(&self) -> bool {
        let failed = |(summary, _): &(Summary, Vec<bool>)| summary.failure.is_some();
        self.result.as_ref().is_ok_and(failed)
    }
}

/// One wind (or gust) at one throttle.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cell {
    /// Value of the first axis.
    pub first: f64,
    /// Throttle.
    pub throttle_fraction: f64,
    /// Throws that meet every condition.
    pub meets_all: Share,
    /// The verdict.
    pub verdict: Verdict,
    /// Throws that meet each condition, in their order.
    pub meets_each: Vec<Share>,
    /// Throws that could not start; they meet no condition.
    pub could_not_start: u64,
    /// Throws whose numbers failed; they meet none either.
    pub failed: u64,
}

impl Cell {
    /// Counts the throws at one point of a study's axes: the values of its two axes, and the share asked for.
    pub fn of(
        study: &LoadedStudy,
        (first, throttle_fraction): (f64, f64),
        throws: &[&JudgedThrow],
        asked_fraction: f64,
    ) -> Self {
        let of = throws.len() as u64;
        let count = |which: &dyn Fn(&JudgedThrow) -> bool| {
            throws.iter().filter(|throw| which(throw)).count() as u64
        };
        let share = |count| Share::new(count, of, study.file.confidence_fraction);
        let meets_all = share(count(&JudgedThrow::meets_all));
        Cell {
            first,
            throttle_fraction,
            verdict: Verdict::of(&meets_all, asked_fraction),
            meets_all,
            meets_each: (0..study.file.conditions.len())
                .map(|i| share(count(&|throw| throw.meets(|met| met[i]))))
                .collect(),
            could_not_start: count(&|throw| throw.result.is_err()),
            failed: count(&JudgedThrow::failed),
        }
    }
}

/// The last of the verdicts, from the first on, that all go; none where the first does not.
pub fn last_that_goes(verdicts: impl IntoIterator<Item = Verdict>) -> Option<usize> {
    let going = verdicts.into_iter().take_while(|&v| v == Verdict::Go);
    going.count().checked_sub(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Intervals of Clopper & Pearson at 95 % (SciPy, as in study::judge): 197 of 200 0.957 to 0.997; 10 of 50 0.100 to 0.337.
    #[test]
    fn a_verdict_needs_the_whole_interval() {
        let share = Share::new(197, 200, 0.95);
        assert_eq!(Verdict::of(&share, 0.95), Verdict::Go);
        assert_eq!(Verdict::of(&share, 0.96), Verdict::CannotTell);
        assert_eq!(Verdict::of(&share, 0.998), Verdict::NoGo);
        let share = Share::new(10, 50, 0.95);
        assert_eq!(Verdict::of(&share, 0.34), Verdict::NoGo);
        assert_eq!(Verdict::of(&share, 0.33), Verdict::CannotTell);
        assert_eq!(Verdict::of(&share, 0.10), Verdict::Go);
        assert_eq!(
            Verdict::of(&Share::new(0, 0, 0.95), 0.5),
            Verdict::CannotTell
        );
    }

    #[test]
    fn a_go_behind_a_no_go_is_not_reached() {
        use Verdict::{CannotTell, Go, NoGo};
        assert_eq!(last_that_goes([Go, Go, NoGo, Go]), Some(1));
        assert_eq!(last_that_goes([CannotTell, Go]), None);
        assert_eq!(last_that_goes([Go, Go]), Some(1));
        assert_eq!(last_that_goes([]), None);
    }
}
