//! The worst moment for the motors to die (MODEL.md § 7.5).

use crate::summary::minimum_altitude_from_m;
use sim_core::error::LaunchError;
use sim_core::flight::{End, Flight, Throw};
use sim_core::root::golden_section;
use std::cell::RefCell;

/// What counts as worst.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Worst {
    /// The lowest minimum altitude from the cut on.
    LowestMinimumAltitude,
    /// The landing nearest to the release.
    LandingNearest,
    /// The landing furthest from the release.
    LandingFurthest,
}

/// Where to look.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// First time of a cut, s.
    pub from_s: f64,
    /// Last time of a cut, s.
    pub to_s: f64,
    /// Even times flown from one to the other, two at least.
    pub times: usize,
    /// How long after the cut the lowest point is looked for, s.
    pub dip_window_s: f64,
}

impl Look {
    /// 41 times from release to a time (s), the lowest point looked for during 5 s.
    pub fn until(to_s: f64) -> Self {
        Look {
            from_s: 0.0,
            to_s,
            times: 41,
            dip_window_s: 5.0,
        }
    }
}

/// A power cut and what came of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PowerCut {
    /// When the power went, s.
    pub at_s: f64,
    /// Minimum altitude, or distance of the landing from the release, m. None where the flight had ended by then, failed, or (for landings)
    /// did not come down.
    pub outcome_m: Option<f64>,
}

/// The worst power cut, and all that were flown on the way to it.
#[derive(Clone, Debug, PartialEq)]
pub struct WorstPowerCut {
    /// The worst; none where no flight had an outcome.
    pub worst: Option<PowerCut>,
    /// All, in order of time.
    pub flown: Vec<PowerCut>,
}

/// Where golden section stops, s.
const RESOLUTION_S: f64 = 1e-3;

/// Flies a throw with the power cut at even times, then closes in on the worst by golden section between its neighbours.
///
/// The grid is the claim: a worse moment can hide between its times where the outcome is not smooth.
///
/// # Errors
/// [`LaunchError`] where the throw cannot start.
pub fn worst_power_cut(
    throw: &Throw,
    worst: Worst,
    look: &Look,
) -> Result<WorstPowerCut, LaunchError> {
    let fly = |at_s: f64| -> Result<PowerCut, LaunchError> {
        let mut cut = throw.clone();
        cut.pilot.power_cut_s = Some(at_s);
        let outcome_m = outcome_m(&cut.fly()?, worst, at_s, look.dip_window_s);
        Ok(PowerCut { at_s, outcome_m })
    };
    let steps = look.times.max(2) - 1;
    let time_s = |i: usize| look.from_s + (look.to_s - look.from_s) * i as f64 / steps as f64;
    let mut flown = (0..=steps)
        .map(|i| fly(time_s(i)))
        .collect::<Result<Vec<_>, _>>()?;
    if let Some(i) = worst_of(&flown, worst) {
        let between = (
            flown[i.saturating_sub(1)].at_s,
            flown[(i + 1).min(steps)].at_s,
        );
        // A throw that starts with one power cut starts with every other.
        let closer = RefCell::new(Vec::new());
        golden_section(between, RESOLUTION_S, |at_s| {
            let Ok(cut) = fly(at_s) else {
                return f64::NEG_INFINITY;
            };
            closer.borrow_mut().push(cut);
            badness(&cut, worst)
        });
        flown.extend(closer.into_inner());
        flown.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
    }
    Ok(WorstPowerCut {
        worst: worst_of(&flown, worst).map(|i| flown[i]),
        flown,
    })
}

/// Larger is worse; −∞ without an outcome.
fn badness(cut: &PowerCut, worst: Worst) -> f64 {
    let sign = match worst {
        Worst::LowestMinimumAltitude | Worst::LandingNearest => -1.0,
        Worst::LandingFurthest => 1.0,
    };
    cut.outcome_m.map_or(f64::NEG_INFINITY, |m| sign * m)
}

/// The first of the worst.
fn worst_of(flown: &[PowerCut], worst: Worst) -> Option<usize> {
    let with = (0..flown.len()).filter(|&i| flown[i].outcome_m.is_some());
    with.min_by(|&i, &j| badness(&flown[j], worst).total_cmp(&badness(&flown[i], worst)))
}

fn outcome_m(flight: &Flight, worst: Worst, cut_s: f64, dip_window_s: f64) -> Option<f64> {
    match worst {
        Worst::LowestMinimumAltitude => minimum_altitude_from_m(flight, cut_s, dip_window_s),
        Worst::LandingNearest | Worst::LandingFurthest => (flight.end == End::Ground
            && flight.end_time_s > cut_s)
            .then(|| flight.state_at(flight.end_time_s).position.xy().norm()),
    }
}
