//! The lowest point after the throttle step.

use super::metrics::{DipEnd, Summary};
use super::moment::{Flown, Trace};
use super::refine::smallest;
use sim_core::flight::End;
use sim_core::frames::rotation;
use sim_core::look::Moment;
use sim_core::root::bisect;

/// Rise of the height that ends a dip, m.
pub const RISE_M: f64 = 0.1;
/// Height a flight may lose and still have had no dip, m: what nobody can see, and more than the numbers' own noise.
const NO_DIP_M: f64 = 1e-3;

/// Fills in the minimum altitude and what stands beside it, looked for from a time (s) on.
pub fn fill(summary: &mut Summary, trace: &Trace<'_>, start_s: f64, window_s: f64) {
    let flight = trace.flight;
    let look_end_s = (start_s + window_s).min(flight.end_time_s);
    let climbed_from = dip_bottom_s(trace, start_s, look_end_s);
    let end_s = climbed_from.unwrap_or(look_end_s);
    let touched =
        climbed_from.is_none() && flight.end == End::Ground && look_end_s == flight.end_time_s;

    let dip = trace.between(start_s, end_s);
    let height = |time_s: f64| flight.height_at(time_s);
    let Some((_, lowest)) = smallest(&dip.of(|m| m.height_m), height) else {
        return;
    };
    let lost = dip.moment(0).height_m - lowest;
    summary.height_lost_since_step_m = Some(lost);
    let least = smallest(&dip.of(|m| m.clearance_m), |time_s| {
        flight.clearance_at(time_s)
    });
    // At the touch the clearance is 0 by definition, not what the root's last digits leave.
    let least = if touched { Some((end_s, 0.0)) } else { least };
    summary.minimum_altitude_time_s = least.map(|(time, _)| time);
    summary.minimum_altitude_m = least.map(|(_, clearance)| clearance);
    summary.dip_ended_by = Some(if touched {
        DipEnd::Ground
    } else if lost <= NO_DIP_M {
        DipEnd::NoDip
    } else if climbed_from.is_some() {
        DipEnd::Climbed
    } else {
        DipEnd::Window
    });
}

/// Climb rate at a time (s), m/s: that of [`Moment::ground_m_s`].
fn climb_m_s(flight: &Flown<'_>, time_s: f64) -> f64 {
    let state = flight.state_at(time_s);
    -(rotation(&state.attitude) * state.velocity).z
}

/// The first minimum of the height after the start from which it rises [`RISE_M`] before it falls below it again and before the end (s).
fn dip_bottom_s(trace: &Trace<'_>, start_s: f64, end_s: f64) -> Option<f64> {
    let stretch = trace.between(start_s, end_s);
    let climb = |m: &Moment| -m.ground_m_s.z;
    let mut bottom: Option<(f64, f64)> = None;
    for (before, after) in stretch.moments().zip(stretch.moments().skip(1)) {
        if climb(before) < 0.0 && climb(after) >= 0.0 {
            let time = bisect(before.time_s, after.time_s, |time_s| {
                climb_m_s(&trace.flight, time_s)
            });
            let height = trace.flight.height_at(time);
            if bottom.is_none_or(|(_, lowest)| height < lowest) {
                bottom = Some((time, height));
            }
        }
        match bottom {
            Some((time, lowest)) if after.height_m >= lowest + RISE_M => return Some(time),
            // Lower than the last minimum: that one was not the bottom; the next one will be.
            Some((_, lowest)) if after.height_m < lowest => bottom = None,
            _ => {}
        }
    }
    None
}
