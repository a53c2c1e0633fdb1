//! The worst length of a gust: short ones pass before the airframe answers, long ones let it follow; in between one hurts most.
//!
//! A scan over lengths even in their logarithm, one flight each, then Brent's method round every length that is worse than its
//! neighbours and could hide the worst. A gust that starts where it did and grows longer also lasts longer, so the worst length belongs to
//! the scenario: its throw, its throttle and where the gust starts.

use crate::build::BuiltScenario;
use crate::scenario_checks::SHORTEST_GUST_M;
use crate::summary::refine::largest_within;
use crate::summary::summarise;
use sim_core::error::LaunchError;
use sim_core::flight::Throw;
use std::cell::RefCell;
use thiserror::Error;

/// What makes a gust bad.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GustHarm {
    /// The lower `minimum_altitude_m`, the worse.
    LowestPoint,
    /// The larger `height_lost_since_step_m`, the worse.
    HeightLost,
}

/// What to search.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GustSearch {
    /// Which of the scenario's gusts, counted from 0. It must be one in place.
    pub gust: usize,
    /// Shortest length tried, m.
    pub shortest_m: f64,
    /// Longest length tried, m.
    pub longest_m: f64,
    /// Lengths of the scan, 3 or more.
    pub lengths: usize,
    /// What counts as worse.
    pub harm: GustHarm,
}

impl Default for GustSearch {
    /// The first gust, 25 lengths from 1 to 100 m, by the lowest point.
    fn default() -> Self {
        GustSearch {
            gust: 0,
            shortest_m: 1.0,
            longest_m: 100.0,
            lengths: 25,
            harm: GustHarm::LowestPoint,
        }
    }
}

/// One length and what its flight came to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GustAnswer {
    /// Length of the gust, m.
    pub gust_length_m: f64,
    /// `minimum_altitude_m` of the summary.
    pub minimum_altitude_m: f64,
    /// `height_lost_since_step_m` of the summary.
    pub height_lost_m: f64,
}

/// The worst length found.
#[derive(Clone, Debug, PartialEq)]
pub struct WorstGust {
    /// The worst, its length good to half a per cent. Where it lies at an end of the range, worse ones may lie beyond; where several are
    /// as bad (all on the ground), the shortest of the scan.
    pub worst: GustAnswer,
    /// The lengths of the scan, rising.
    pub scan: Vec<GustAnswer>,
    /// Flights flown.
    pub flights: usize,
}

/// A search that cannot be done.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum GustSearchError {
    /// No such gust.
    #[error("the scenario has {gusts} gusts; there is no gust {gust}")]
    NoSuchGust {
        /// Gust asked for, counted from 1.
        gust: usize,
        /// How many there are.
        gusts: usize,
    },
    /// A gust laid out in time has no length.
    #[error("gust {gust} is laid out in time; only one in place has a length")]
    InTime {
        /// Gust asked for, counted from 1.
        gust: usize,
    },
    /// Lengths that are no range.
    #[error(
        "found {lengths} lengths from {shortest_m} m to {longest_m} m, wanted 3 or more from 0.1 m or more to a longer one"
    )]
    NoRange {
        /// Lengths of the scan.
        lengths: usize,
        /// Shortest, m.
        shortest_m: f64,
        /// Longest, m.
        longest_m: f64,
    },
    /// The throw cannot start.
    #[error(transparent)]
    Launch(#[from] LaunchError),
    /// A flight failed.
    #[error("with a gust of {gust_length_m} m the flight failed: {reason}")]
    Failed {
        /// Length of the gust, m.
        gust_length_m: f64,
        /// Why.
        reason: String,
    },
}

/// Width, in the logarithm of the length, at which the search is content.
const RESOLUTION: f64 = 0.005;

/// Flies a scenario with one of its gusts at many lengths, everything else kept, and finds the worst.
///
/// # Errors
/// [`GustSearchError`] where there is nothing to search or a flight fails.
pub fn worst_gust_length(
    scenario: &BuiltScenario,
    search: &GustSearch,
) -> Result<WorstGust, GustSearchError> {
    let gusts = &scenario.throw.air.gusts;
    let asked = gusts.get(search.gust).ok_or(GustSearchError::NoSuchGust {
        gust: search.gust + 1,
        gusts: gusts.len(),
    })?;
    if asked.is_in_time() {
        return Err(GustSearchError::InTime {
            gust: search.gust + 1,
        });
    }
    let is_range = search.shortest_m >= SHORTEST_GUST_M
        && search.longest_m > search.shortest_m
        && search.longest_m.is_finite();
    if !is_range || search.lengths < 3 {
        return Err(GustSearchError::NoRange {
            lengths: search.lengths,
            shortest_m: search.shortest_m,
            longest_m: search.longest_m,
        });
    }

    let mut flights = search.lengths;
    let step = libm::log(search.longest_m / search.shortest_m) / (search.lengths - 1) as f64;
    let scan = (0..search.lengths)
        .map(|i| {
            fly(
                scenario,
                search,
                search.shortest_m * libm::exp(step * i as f64),
            )
        })
        .collect::<Result<Vec<_>, _>>()?;
    let harm = |answer: &GustAnswer| match search.harm {
        GustHarm::LowestPoint => -answer.minimum_altitude_m,
        GustHarm::HeightLost => answer.height_lost_m,
    };
    let points: Vec<(f64, f64)> = scan
        .iter()
        .map(|answer| (libm::log(answer.gust_length_m), harm(answer)))
        .collect();
    // The refinement wants a plain function; a flight that fails inside it is kept for afterwards.
    let refined: RefCell<Vec<Result<GustAnswer, GustSearchError>>> = RefCell::default();
    largest_within(&points[..], RESOLUTION, |log_length| {
        let answer = fly(scenario, search, libm::exp(log_length));
        let value = answer.as_ref().map_or(f64::NEG_INFINITY, harm);
        refined.borrow_mut().push(answer);
        value
    });
    let mut worst = scan[0];
    let refined = refined.into_inner();
    flights += refined.len();
    for answer in scan.iter().cloned().map(Ok).chain(refined) {
        let answer = answer?;
        if harm(&answer) > harm(&worst) {
            worst = answer;
        }
    }
    Ok(WorstGust {
        worst,
        scan,
        flights,
    })
}

fn fly(
    scenario: &BuiltScenario,
    search: &GustSearch,
    gust_length_m: f64,
) -> Result<GustAnswer, GustSearchError> {
    let mut throw: Throw = scenario.throw.clone();
    throw.air.gusts[search.gust].length = gust_length_m;
    let summary = summarise(&throw.fly()?, None, &scenario.summary);
    match (summary.minimum_altitude_m, summary.height_lost_since_step_m) {
        (Some(minimum_altitude_m), Some(height_lost_m)) => Ok(GustAnswer {
            gust_length_m,
            minimum_altitude_m,
            height_lost_m,
        }),
        _ => Err(GustSearchError::Failed {
            gust_length_m,
            reason: summary.failure.unwrap_or_default(),
        }),
    }
}
