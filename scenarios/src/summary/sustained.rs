//! What stays after the throttle step: height against the twin, sustained climb, the longest stall (MODEL.md § 24).

use super::metrics::Summary;
use super::moment::Trace;
use super::refine::largest;
use super::validity;
use nalgebra::Vector3;
use sim_core::air::STANDARD_GRAVITY_M_S2;
use sim_core::flight::{End, Flight};

/// How long the stall, the height gained and the climb are looked at, in periods.
const LOOKED_AT: f64 = 3.0;
/// How long the flight is given to settle before its climb counts, in periods.
const SETTLING: f64 = 1.0;
/// How long its height is compared with the twin's, in periods.
pub const WITH_TWIN: f64 = 2.0;

/// Fills it in for a step (s) the flight reached, with the length of its ramp (s) and the period (s) of the slow swing of speed and height.
pub fn fill(
    summary: &mut Summary,
    trace: &Trace<'_>,
    twin: Option<&Flight>,
    (step_s, ramp_s): (f64, f64),
    period_s: f64,
) {
    let flight = trace.flight;
    if let Some(twin) = twin.filter(|twin| !matches!(twin.end, End::Failed(_))) {
        let end_s = (step_s + WITH_TWIN * period_s)
            .min(flight.end_time_s)
            .min(twin.end_time_s);
        let below = |time_s: f64| twin.state_at(time_s).height() - flight.state_at(time_s).height();
        let points: Vec<(f64, f64)> = trace
            .points(step_s, end_s, |m| m.height_m)
            .into_iter()
            .map(|(time_s, height)| (time_s, twin.state_at(time_s).height() - height))
            .collect();
        summary.height_below_twin_m = largest(&points, below)
            .map(|(_, below)| below)
            .filter(|below| below.is_finite());
    }
    let end_s = step_s + LOOKED_AT * period_s;
    if flight.end_time_s >= end_s {
        let longest = validity::stalled(trace)
            .stretches
            .into_iter()
            .map(|(from, to)| to.min(end_s) - from.max(step_s))
            .fold(0.0, f64::max);
        summary.longest_stall_after_step_s = Some(longest);
        let height = |time_s: f64| flight.state_at(time_s).height();
        summary.height_gain_since_step_m = Some(height(end_s) - height(step_s));
    }
    let full_s = step_s + ramp_s;
    let (from_s, to_s) = (full_s + SETTLING * period_s, full_s + LOOKED_AT * period_s);
    if flight.end_time_s >= to_s {
        let climb =
            (energy_height_m(flight, to_s) - energy_height_m(flight, from_s)) / (to_s - from_s);
        summary.sustained_climb_m_s = Some(climb).filter(|climb| climb.is_finite());
    }
}

/// Height and the height its speed through the mean wind would bring, m.
fn energy_height_m(flight: &Flight, time_s: f64) -> f64 {
    let (state, at) = flight.evaluation_at(time_s);
    let height = state.height();
    let wind: Vector3<f64> = flight.throw().air.mean_wind_at(height);
    let speed = (at.to_earth * state.velocity - wind).norm();
    height + speed * speed / (2.0 * STANDARD_GRAVITY_M_S2)
}
