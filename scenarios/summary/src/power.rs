//! What the throttle step does to the nose: the flight against its twin.

use super::metrics::Summary;
use super::moment::{Flown, Stretch, Trace, Values};
use super::refine::{largest, smallest};
use sim_core::error::NumericalFailure;
use sim_core::flight::End;

/// Fills in everything about the power window after a step (s) that the flight reached.
pub fn fill(
    summary: &mut Summary,
    trace: &Trace<'_>,
    twin: Option<Flown<'_>>,
    step_s: f64,
    window_s: f64,
    values: &mut Values,
) {
    let flight = trace.flight;
    if let Some(End::Failed(failure)) = twin.map(|twin| twin.end) {
        summary.twin_failure = Some(failure.to_string());
    }
    let twin = twin.filter(|twin| !matches!(twin.end, End::Failed(_)));
    let twin_end_s = twin.map_or(f64::INFINITY, |twin| twin.end_time_s);
    let end_s = (step_s + window_s).min(flight.end_time_s).min(twin_end_s);
    summary.throttle_step_time_s = Some(step_s);
    summary.power_window_end_s = Some(end_s);

    let window = trace.between(step_s, end_s);
    let pitch = |time_s: f64| flight.pitch_at(time_s);
    if let Some((time, lowest)) = smallest(&window.of(|m| m.pitch_rad), pitch) {
        let at_step = window.moment(0).pitch_rad;
        summary.nose_drop_deg = Some((at_step - lowest).to_degrees());
        summary.nose_drop_time_s = Some(time);
    }
    if end_s > step_s {
        let heights = [step_s, end_s].map(|t| flight.height_at(t));
        summary.mean_climb_rate_m_s = Some((heights[1] - heights[0]) / (end_s - step_s));
    }

    let Some(twin) = twin else {
        return;
    };
    let nose_below_twin = |time_s: f64| twin.pitch_at(time_s) - flight.pitch_at(time_s);
    differences(&window, &flight, &twin, values);
    if values.iter().any(|(_, angle)| !angle.is_finite()) {
        summary.twin_failure = Some(NumericalFailure::NotFinite.to_string());
        return;
    }
    let airspeed_above_twin = |time_s: f64| {
        let of = |flight: Flown<'_>| flight.moment_at(time_s).airspeed_m_s;
        Some(of(flight) - of(twin)).filter(|x| x.is_finite())
    };
    if let Some((time, angle)) = largest(&values[..], nose_below_twin) {
        summary.pitch_down_under_power_deg = Some(angle.to_degrees());
        summary.pitch_down_time_s = Some(time);
        summary.airspeed_above_twin_at_pitch_down_m_s = airspeed_above_twin(time);
    }
    if let Some((time, angle)) = smallest(&values[..], nose_below_twin) {
        // Not −angle: a nose that never rises above the twin's gives 0, not −0.
        summary.pitch_up_under_power_deg = Some(0.0 - angle.to_degrees());
        summary.pitch_up_time_s = Some(time);
        summary.airspeed_above_twin_at_pitch_up_m_s = airspeed_above_twin(time);
    }
}

/// How far the nose is below the twin's (time, rad) at the looks of both in the flight's window, each time once.
fn differences(window: &Stretch<'_>, flight: &Flown<'_>, twin: &Flown<'_>, values: &mut Values) {
    values.clear();
    let from_s = window.moment(0).time_s;
    let to_s = window.moment(window.len() - 1).time_s;
    let of_twin = twin.pitches().filter(|p| p.0 > from_s && p.0 < to_s);
    let mut of_twin = of_twin.peekable();
    for moment in window.moments() {
        while let Some((time_s, pitch_rad)) = of_twin.next_if(|p| p.0 < moment.time_s) {
            values.push((time_s, pitch_rad - flight.pitch_at(time_s)));
        }
        of_twin.next_if(|p| p.0 == moment.time_s);
        values.push((
            moment.time_s,
            twin.pitch_at(moment.time_s) - moment.pitch_rad,
        ));
    }
}
