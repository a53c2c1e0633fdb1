//! What stays after the throttle step: height against the twin, sustained climb, the longest stall (MODEL.md § 24).

use super::metrics::Summary;
use super::moment::{Flown, Trace, Values};
use super::refine::largest;
use super::validity;
use nalgebra::Vector3;
use sim_core::air::STANDARD_GRAVITY_M_S2;
use sim_core::flight::End;

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
    twin: Option<Flown<'_>>,
    (step_s, ramp_s): (f64, f64),
    period_s: f64,
    values: &mut Values,
) {
    let flight = trace.flight;
    if let Some(twin) = twin.filter(|twin| !matches!(twin.end, End::Failed(_))) {
        let end_s = (step_s + WITH_TWIN * period_s)
            .min(flight.end_time_s)
            .min(twin.end_time_s);
        let below = |time_s: f64, height_m: f64| twin.height_at(time_s) - height_m;
        values.clear();
        let stretch = trace.between(step_s, end_s);
        values.extend(
            stretch
                .moments()
                .map(|m| (m.time_s, below(m.time_s, m.height_m))),
        );
        let most = largest(&values[..], |time_s| {
            below(time_s, flight.height_at(time_s))
        });
        summary.height_below_twin_m = most.map(|(_, below)| below).filter(|x| x.is_finite());
    }
    let end_s = step_s + LOOKED_AT * period_s;
    if flight.end_time_s >= end_s {
        let mut longest = 0.0_f64;
        validity::stalled(trace, |from, to| {
            longest = longest.max(to.min(end_s) - from.max(step_s));
        });
        summary.longest_stall_after_step_s = Some(longest);
        let height = |time_s: f64| flight.height_at(time_s);
        summary.height_gain_since_step_m = Some(height(end_s) - height(step_s));
    }
    let full_s = step_s + ramp_s;
    let (from_s, to_s) = (full_s + SETTLING * period_s, full_s + LOOKED_AT * period_s);
    if flight.end_time_s >= to_s {
        let climb =
            (energy_height_m(&flight, to_s) - energy_height_m(&flight, from_s)) / (to_s - from_s);
        summary.sustained_climb_m_s = Some(climb).filter(|climb| climb.is_finite());
    }
}

/// Height and the height its speed through the mean wind would bring, m.
fn energy_height_m(flight: &Flown<'_>, time_s: f64) -> f64 {
    let at = flight.moment_at(time_s);
    let wind: Vector3<f64> = flight.throw().air.mean_wind_at(at.height_m);
    let speed = (at.ground_m_s - wind).norm();
    at.height_m + speed * speed / (2.0 * STANDARD_GRAVITY_M_S2)
}
