//! From a flight, and its twin without the throttle step, to named numbers.
//!
//! Everything is computed on the flight's dense solution, looked at eight times in each of the solver's own steps and refined in between;
//! nothing depends on the record interval.

mod dip;
mod metrics;
mod moment;
mod path;
mod power;
pub(crate) mod refine;
mod site;
mod sustained;
#[cfg(test)]
mod tests;
mod validity;

pub(crate) use metrics::word;
pub use metrics::{Cell, Column, DipEnd, EndWord, Holds, Summary};
pub use site::touched;
pub use validity::{RangeKind, RangeNote};

use moment::{Moment, Trace};
use refine::{largest, smallest};
use sim_core::error::{LaunchError, NumericalFailure};
use sim_core::flight::{End, Flight, Throw};
use sim_core::pilot::Pilot;
use sim_core::record::COULOMB_PER_MILLIAMPERE_HOUR;

/// Windows of the summary, and the step it is about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SummarySettings {
    /// Length of the power window after the step, s.
    pub power_window_s: f64,
    /// Longest look for the minimum altitude, s.
    pub dip_window_s: f64,
    /// Which throttle step the twin flight leaves out, counted from 1.
    pub throttle_step_number: usize,
    /// Period of the slow swing of speed and height, s; without it nothing is said of what stays after the step.
    pub phugoid_period_s: Option<f64>,
}

impl Default for SummarySettings {
    /// 2 s, 5 s, the first step, no period.
    fn default() -> Self {
        SummarySettings {
            power_window_s: 2.0,
            dip_window_s: 5.0,
            throttle_step_number: 1,
            phugoid_period_s: None,
        }
    }
}

/// Times (s) at which the throttle begins to change: starts of steps and ramps from release on. A change to the value it has is none, nor
/// is one at or after a power cut.
pub fn throttle_step_times_s(pilot: &Pilot) -> Vec<f64> {
    let throttle = &pilot.throttle;
    let mut times: Vec<f64> = throttle
        .changes
        .iter()
        .filter(|change| change.time_s >= 0.0 && change.to != throttle.before(change.time_s))
        .filter(|change| pilot.power_cut_s.is_none_or(|cut_s| change.time_s < cut_s))
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

/// Length of the ramp of the change of throttle that begins at a time, s.
fn ramp_s(pilot: &Pilot, step_s: f64) -> f64 {
    let mut changes = pilot.throttle.changes.iter().rev();
    let here = changes.find(|change| change.time_s == step_s);
    here.map_or(0.0, |change| change.ramp_s)
}

/// Whether a flight reached a throttle step (s) with power on its motors.
fn reaches(flight: &Flight, step_s: f64) -> bool {
    step_s < flight.end_time_s && flight.cut_off_time_s.is_none_or(|cut_s| step_s <= cut_s)
}

/// The twin of a throw: the same in everything up to the throttle step, then the programme of the throttle kept as it was just before it;
/// whoever holds or damps goes on doing so by the same laws (MODEL.md § 7.6). It ends with the power window, or two periods after the step
/// where that is later, as nothing later is asked of it. None where there is no such step, or no motor, or the step comes after the time limit.
pub fn twin(throw: &Throw, settings: &SummarySettings) -> Option<Throw> {
    let step_s = step_time_s(throw, settings.throttle_step_number)?;
    let periods = |period_s: f64| sustained::WITH_TWIN * period_s;
    let window_s = settings
        .power_window_s
        .max(settings.phugoid_period_s.map_or(0.0, periods));
    (step_s < throw.time_limit_s).then(|| Throw {
        pilot: throw.pilot.with_throttle_held_from(step_s),
        time_limit_s: throw.time_limit_s.min(step_s + window_s),
        ..throw.clone()
    })
}

/// Flies a throw and, where the flight lasts to the step, its twin.
///
/// # Errors
/// [`LaunchError`] where either cannot start.
pub fn fly_with_twin(
    throw: &Throw,
    settings: &SummarySettings,
) -> Result<(Flight, Option<Flight>), LaunchError> {
    let flight = throw.fly()?;
    let twin = twin_of(&flight, settings).map(|twin| twin.fly());
    Ok((flight, twin.transpose()?))
}

/// The twin of a flown throw, where the flight lasts to the step.
pub fn twin_of(flight: &Flight, settings: &SummarySettings) -> Option<Throw> {
    let step_s = step_time_s(flight.throw(), settings.throttle_step_number)?;
    let twin = || twin(flight.throw(), settings);
    reaches(flight, step_s).then(twin).flatten()
}

/// Sums a flight up. `twin` is the flight of [`twin`]; without it the numbers that compare the two are absent.
///
/// Of a flight whose numbers failed the summary holds the reason and the time, and no metric.
pub fn summarise(flight: &Flight, twin: Option<&Flight>, settings: &SummarySettings) -> Summary {
    let mut summary = Summary::default();
    (summary.ended_by, summary.wall_number) = match flight.end {
        End::Ground => (EndWord::Ground, None),
        End::Wall(i) => (EndWord::Wall, Some(i + 1)),
        End::HallWall(_) => (EndWord::Wall, None),
        End::Ceiling => (EndWord::Ceiling, None),
        End::Time => (EndWord::Time, None),
        End::CellEmpty => (EndWord::CellEmpty, None),
        End::Failed(failure) => return failed(failure.to_string(), flight.end_time_s),
        _ => {
            return failed(
                "the flight ended in a way without a word".into(),
                flight.end_time_s,
            );
        }
    };
    let trace = match Trace::of(flight) {
        Ok(trace) => trace,
        Err(time_s) => return failed(NumericalFailure::NotFinite.to_string(), time_s),
    };

    let reached = |step: Option<f64>| step.filter(|step_s| reaches(flight, *step_s));
    let throw = flight.throw();
    let first_step_s = reached(step_time_s(throw, 1)).unwrap_or(0.0);
    if let Some(step_s) = reached(step_time_s(throw, settings.throttle_step_number)) {
        power::fill(&mut summary, &trace, twin, step_s, settings.power_window_s);
        if let Some(period_s) = settings.phugoid_period_s {
            let step = (step_s, ramp_s(&throw.pilot, step_s));
            sustained::fill(&mut summary, &trace, twin, step, period_s);
        }
    }
    dip::fill(&mut summary, &trace, first_step_s, settings.dip_window_s);
    path::fill(&mut summary, &trace, first_step_s);
    ends(&mut summary, &trace);
    site::fill(&mut summary, &trace);
    extremes(&mut summary, &trace);
    summary.stalled_time_s = Some(validity::stalled(&trace).total_s());
    summary.model_range = validity::notes(&trace);
    summary
}

/// The minimum altitude (m) of a flight looked for from a time (s) on instead of from the first throttle step; none where the flight was
/// over by then, or failed.
pub fn minimum_altitude_from_m(flight: &Flight, start_s: f64, window_s: f64) -> Option<f64> {
    if start_s >= flight.end_time_s || matches!(flight.end, End::Failed(_)) {
        return None;
    }
    let mut summary = Summary::default();
    dip::fill(&mut summary, &Trace::of(flight).ok()?, start_s, window_s);
    summary.minimum_altitude_m
}

fn failed(reason: String, time_s: f64) -> Summary {
    Summary {
        ended_by: EndWord::Failed,
        failure: Some(reason),
        failed_at_s: Some(time_s),
        ..Summary::default()
    }
}

/// Release and end.
fn ends(summary: &mut Summary, trace: &Trace<'_>) {
    let (first, last) = (trace.first(), trace.last());
    summary.flight_time_s = Some(last.time_s);
    summary.release_airspeed_m_s = Some(first.airspeed_m_s);
    summary.release_alpha_deg = Some(first.alpha_rad.to_degrees());
    summary.release_beta_deg = Some(first.beta_rad.to_degrees());
    if summary.ended_by == EndWord::Ground {
        summary.ground_impact_speed_m_s = Some(last.ground_m_s.norm());
    }
    let vehicle = &trace.flight.throw().vehicle;
    if !vehicle.motors.is_empty() {
        summary.charge_used_mAh =
            Some((last.charge_c - first.charge_c) / COULOMB_PER_MILLIAMPERE_HOUR);
        summary.cut_off_time_s = trace.flight.cut_off_time_s;
        summary.charge_left_fraction =
            Some(1.0 - last.charge_c / vehicle.cell.capacity).filter(|x| x.is_finite());
    }
}

/// Extremes over the whole flight.
fn extremes(summary: &mut Summary, trace: &Trace<'_>) {
    type Measure = fn(&Moment) -> f64;
    let highest = |f: Measure| largest(&trace.all(f), trace.value(f));
    let lowest = |f: Measure| smallest(&trace.all(f), trace.value(f));
    let airspeed: Measure = |m| m.airspeed_m_s;
    let alpha: Measure = |m| m.alpha_rad.to_degrees();
    (summary.airspeed_min_time_s, summary.airspeed_min_m_s) = lowest(airspeed).unzip();
    (summary.airspeed_max_time_s, summary.airspeed_max_m_s) = highest(airspeed).unzip();
    (summary.alpha_min_time_s, summary.alpha_min_deg) = lowest(alpha).unzip();
    (summary.alpha_max_time_s, summary.alpha_max_deg) = highest(alpha).unzip();
    (summary.beta_largest_time_s, summary.beta_largest_deg) =
        highest(|m| m.beta_rad.abs().to_degrees()).unzip();
    (summary.bank_largest_time_s, summary.bank_largest_deg) =
        highest(|m| m.angles.roll_rad.abs().to_degrees()).unzip();
}
