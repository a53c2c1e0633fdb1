//! The lowest point after the throttle step.

use super::metrics::{DipEnd, Summary};
use super::moment::Trace;
use super::refine::smallest;
use sim_core::flight::End;
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

    let heights = trace.points(start_s, end_s, |m| m.height_m);
    let Some((_, lowest)) = smallest(&heights, trace.value(|m| m.height_m)) else {
        return;
    };
    let lost = heights[0].1 - lowest;
    summary.height_lost_since_step_m = Some(lost);
    let clearances = trace.points(start_s, end_s, |m| m.clearance_m);
    let least = smallest(&clearances, trace.value(|m| m.clearance_m));
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

/// The first minimum of the height after the start from which it rises [`RISE_M`] before it falls below it again and before the end (s).
fn dip_bottom_s(trace: &Trace<'_>, start_s: f64, end_s: f64) -> Option<f64> {
    let climb = trace.value(|m| -m.ground_m_s.z);
    let points = trace.points(start_s, end_s, |m| -m.ground_m_s.z);
    let mut bottom: Option<(f64, f64)> = None;
    for pair in points.windows(2) {
        let [(before, falling), (after, rising)] = [pair[0], pair[1]];
        if falling < 0.0 && rising >= 0.0 {
            let time = bisect(before, after, &climb);
            let height = trace.flight.state_at(time).height();
            if bottom.is_none_or(|(_, lowest)| height < lowest) {
                bottom = Some((time, height));
            }
        }
        let height = trace.flight.state_at(after).height();
        match bottom {
            Some((time, lowest)) if height >= lowest + RISE_M => return Some(time),
            // Lower than the last minimum: that one was not the bottom; the next one will be.
            Some((_, lowest)) if height < lowest => bottom = None,
            _ => {}
        }
    }
    None
}
