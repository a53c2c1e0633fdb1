//! From a flight, and its twin without the throttle step, to named numbers.
//!
//! Everything is computed on the flight's dense solution, looked at eight times in each of the solver's own steps and refined in between;
//! nothing depends on the record interval.

mod dip;
mod metrics;
mod moment;
mod path;
mod power;
pub mod refine;
mod site;
mod sustained;
#[cfg(test)]
mod tests;
mod together;
mod validity;

pub use metrics::word;
pub use metrics::{Cell, Coarse, Column, DipEnd, EndWord, Holds, Summary};
pub use site::touched;
pub use together::{Summed, Together};
pub use validity::{RangeKind, RangeNote};

use moment::{Flown, Trace, Values};
use refine::{largest, smallest};
use sim_core::error::{LaunchError, NumericalFailure};
use sim_core::flight::{End, Flight, Flying, Throw, Trajectory};
use sim_core::frames::{EulerAngles, rotation};
use sim_core::look::Moment;
use sim_core::pilot::{Pilot, Programme};
use sim_core::record::COULOMB_PER_MILLIAMPERE_HOUR;
use sim_core::solver::Method;

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
    step_times(pilot).collect()
}

/// The same one by one.
fn step_times(pilot: &Pilot) -> impl Iterator<Item = f64> + '_ {
    let throttle = &pilot.throttle;
    let mut last_s = None;
    throttle
        .changes
        .iter()
        .filter(|change| change.time_s >= 0.0 && change.to != throttle.before(change.time_s))
        .filter(|change| pilot.power_cut_s.is_none_or(|cut_s| change.time_s < cut_s))
        .map(|change| change.time_s)
        .filter(move |&time_s| last_s.replace(time_s) != Some(time_s))
}

/// The step the twin leaves out: its time (s), where the throw has a motor and that many steps.
fn step_time_s(throw: &Throw, number: usize) -> Option<f64> {
    if throw.vehicle.motors.is_empty() {
        return None;
    }
    let index = number.checked_sub(1)?;
    step_times(&throw.pilot).nth(index)
}

/// Length of the ramp of the change of throttle that begins at a time, s.
fn ramp_s(pilot: &Pilot, step_s: f64) -> f64 {
    let mut changes = pilot.throttle.changes.iter().rev();
    let here = changes.find(|change| change.time_s == step_s);
    here.map_or(0.0, |change| change.ramp_s)
}

/// Whether a flight reached a throttle step (s) with power on its motors.
fn reaches(flight: &Trajectory, step_s: f64) -> bool {
    step_s < flight.end_time_s && flight.cut_off_time_s.is_none_or(|cut_s| step_s <= cut_s)
}

/// The twin of a throw: the same in everything up to the throttle step, then the programme of the throttle kept as it was just before it;
/// whoever holds or damps goes on doing so by the same laws (MODEL.md § 7.6). It ends with the power window, or two periods after the step
/// where that is later, as nothing later is asked of it. None where there is no such step, or no motor, or the step comes after the time limit.
pub fn twin(throw: &Throw, settings: &SummarySettings) -> Option<Throw> {
    let mut throttle = Programme::default();
    let twin = twin_flying(throw, settings, &mut throttle)?;
    let time_limit_s = twin.time_limit_s;
    Some(Throw {
        pilot: Pilot {
            throttle,
            ..throw.pilot.clone()
        },
        time_limit_s,
        ..throw.clone()
    })
}

/// The same as the throw with its own throttle programme and time limit, the programme put into storage that is used again.
fn twin_flying<'a>(
    throw: &'a Throw,
    settings: &SummarySettings,
    throttle: &'a mut Programme,
) -> Option<Flying<'a>> {
    let step_s = step_time_s(throw, settings.throttle_step_number)?;
    let periods = |period_s: f64| sustained::WITH_TWIN * period_s;
    let window_s = settings
        .power_window_s
        .max(settings.phugoid_period_s.map_or(0.0, periods));
    if step_s >= throw.time_limit_s {
        return None;
    }
    throttle.hold_from(&throw.pilot.throttle, step_s);
    Some(Flying {
        throw,
        throttle,
        time_limit_s: throw.time_limit_s.min(step_s + window_s),
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
    let mut summariser = Summariser::new();
    let twin = twin.map(Flight::trajectory);
    summariser.sum_up(flight.throw(), flight.trajectory(), twin, settings);
    summariser.summary
}

/// Sums flights up one after another, in storage that it keeps from one to the next.
///
/// Once it has seen flights as long, a summary allocates nothing but for what the site names (zones, walls) and reasons of failures.
#[derive(Debug, Default)]
pub struct Summariser {
    summary: Summary,
    moments: Vec<Moment>,
    values: Values,
}

impl Summariser {
    /// One that has seen no flight yet.
    pub fn new() -> Self {
        Summariser::default()
    }

    /// The summary of a throw by what became of it and of its twin, as [`summarise`] gives it.
    pub fn sum_up(
        &mut self,
        throw: &Throw,
        trajectory: &Trajectory,
        twin: Option<&Trajectory>,
        settings: &SummarySettings,
    ) -> &Summary {
        let flight = Flown::new(throw, trajectory);
        let twin = twin.map(|twin| Flown::new(throw, twin));
        let mut notes = std::mem::take(&mut self.summary.model_range);
        notes.clear();
        self.summary = Summary {
            model_range: notes,
            ..Summary::default()
        };
        if let Err((reason, time_s)) = self.fill(flight, twin, settings) {
            self.summary = failed(reason, time_s);
        }
        let is_screened = throw.tolerance.method == Method::LanesSingle;
        self.summary.screened_in = is_screened.then_some(Coarse::Bits24);
        &self.summary
    }

    /// Fills the summary in; else why the numbers failed, and the last moment (s) before.
    fn fill(
        &mut self,
        flight: Flown<'_>,
        twin: Option<Flown<'_>>,
        settings: &SummarySettings,
    ) -> Result<(), (String, f64)> {
        let summary = &mut self.summary;
        let values = &mut self.values;
        (summary.ended_by, summary.wall_number) = end_word(&flight)?;
        let trace = Trace::of(flight, &mut self.moments)
            .map_err(|time_s| (NumericalFailure::NotFinite.to_string(), time_s))?;
        let reached = |step: Option<f64>| step.filter(|step_s| reaches(&flight, *step_s));
        let throw = flight.throw();
        let first_step_s = reached(step_time_s(throw, 1)).unwrap_or(0.0);
        if let Some(step_s) = reached(step_time_s(throw, settings.throttle_step_number)) {
            let window_s = settings.power_window_s;
            power::fill(summary, &trace, twin, step_s, window_s, values);
            if let Some(period_s) = settings.phugoid_period_s {
                let step = (step_s, ramp_s(&throw.pilot, step_s));
                sustained::fill(summary, &trace, twin, step, period_s, values);
            }
        }
        dip::fill(summary, &trace, first_step_s, settings.dip_window_s);
        path::fill(summary, &trace, first_step_s, values);
        ends(summary, &trace);
        site::fill(summary, &trace);
        extremes(summary, &trace);
        let mut stalled_s = 0.0;
        validity::stalled(&trace, |start, end| stalled_s += end - start);
        summary.stalled_time_s = Some(stalled_s);
        validity::note(&trace, &mut summary.model_range);
        Ok(())
    }
}

/// The end as a word and the wall touched, counted from 1; of a failed flight the reason and the time (s).
fn end_word(flight: &Trajectory) -> Result<(EndWord, Option<usize>), (String, f64)> {
    match flight.end {
        End::Ground => Ok((EndWord::Ground, None)),
        End::Wall(i) => Ok((EndWord::Wall, Some(i + 1))),
        End::HallWall(_) => Ok((EndWord::Wall, None)),
        End::Ceiling => Ok((EndWord::Ceiling, None)),
        End::Time => Ok((EndWord::Time, None)),
        End::CellEmpty => Ok((EndWord::CellEmpty, None)),
        End::Failed(failure) => Err((failure.to_string(), flight.end_time_s)),
        _ => Err((
            "the flight ended in a way without a word".into(),
            flight.end_time_s,
        )),
    }
}

/// The minimum altitude (m) of a flight looked for from a time (s) on instead of from the first throttle step; none where the flight was
/// over by then, or failed.
pub fn minimum_altitude_from_m(flight: &Flight, start_s: f64, window_s: f64) -> Option<f64> {
    if start_s >= flight.end_time_s || matches!(flight.end, End::Failed(_)) {
        return None;
    }
    let mut summary = Summary::default();
    let mut moments = Vec::new();
    let trace = Trace::of(flight.into(), &mut moments).ok()?;
    dip::fill(&mut summary, &trace, start_s, window_s);
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
    let whole = trace.whole();
    let highest = |f: Measure| largest(&whole.of(f), trace.value(f));
    let lowest = |f: Measure| smallest(&whole.of(f), trace.value(f));
    let bank_deg = |roll_rad: f64| roll_rad.abs().to_degrees();
    let airspeed: Measure = |m| m.airspeed_m_s;
    let alpha: Measure = |m| m.alpha_rad.to_degrees();
    (summary.airspeed_min_time_s, summary.airspeed_min_m_s) = lowest(airspeed).unzip();
    (summary.airspeed_max_time_s, summary.airspeed_max_m_s) = highest(airspeed).unzip();
    (summary.alpha_min_time_s, summary.alpha_min_deg) = lowest(alpha).unzip();
    (summary.alpha_max_time_s, summary.alpha_max_deg) = highest(alpha).unzip();
    (summary.beta_largest_time_s, summary.beta_largest_deg) =
        highest(|m| m.beta_rad.abs().to_degrees()).unzip();
    (summary.bank_largest_time_s, summary.bank_largest_deg) =
        largest(&whole.of(|m| bank_deg(m.roll_rad)), |time_s| {
            let state = trace.flight.state_at(time_s);
            bank_deg(EulerAngles::of(&rotation(&state.attitude)).roll_rad)
        })
        .unzip();
}
