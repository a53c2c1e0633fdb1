//! Where the flight went: heights, distances, heading, glide ratios.

use super::dip::RISE_M;
use super::metrics::{EndWord, Summary};
use super::moment::{Trace, Values};
use super::refine::{integral, largest, smallest};
use nalgebra::Vector3;
use sim_core::frames::{EulerAngles, rotation};
use sim_core::look::Moment;
use sim_core::root::EVENT_RESOLUTION_S;
use std::f64::consts::{PI, TAU};

/// Least height lost that a glide ratio is made from, m; as for the end of a dip. Less is mostly the airframe's own attitude.
const LEAST_LOSS_M: f64 = RISE_M;
/// Turns of the heading are followed in parts of at most this, rad.
const TURN_PART_RAD: f64 = 0.5;
/// Within [`EVENT_RESOLUTION_S`] only a pass through the vertical turns the heading this far, rad.
const FLIP_RAD: f64 = 3.0;
/// Stretch over which the best climb is taken, s.
const CLIMB_STRETCH_S: f64 = 1.0;

/// Fills in heights, distances, heading and glide ratios; climb counts from `climb_from_s` on.
pub fn fill(summary: &mut Summary, trace: &Trace<'_>, climb_from_s: f64, values: &mut Values) {
    heights(summary, trace);
    best_climb(summary, trace, climb_from_s, values);
    distances(summary, trace);
    summary.heading_change_deg = Some(heading_change_rad(trace).to_degrees());
}

fn heights(summary: &mut Summary, trace: &Trace<'_>) {
    let (flight, whole) = (trace.flight, trace.whole());
    let low = smallest(&whole.of(|m| m.clearance_m), |time_s| {
        flight.clearance_at(time_s)
    });
    (summary.lowest_clearance_time_s, summary.lowest_clearance_m) = match summary.ended_by {
        // The touch is found to a nanosecond; what is left of clearance there is not worth telling from none.
        EndWord::Ground => (Some(trace.last().time_s), Some(0.0)),
        _ => low.unzip(),
    };
    let top = largest(&whole.of(|m| m.height_m), |time_s| flight.height_at(time_s));
    let Some((time, highest)) = top else {
        return;
    };
    summary.highest_point_m = Some(highest);
    summary.highest_point_time_s = Some(time);
    summary.height_gained_m = Some(highest - trace.first().height_m);
    summary.height_lost_m = Some(highest - trace.last().height_m);
}

fn best_climb(summary: &mut Summary, trace: &Trace<'_>, from_s: f64, values: &mut Values) {
    let flight = trace.flight;
    let last_start_s = flight.end_time_s - CLIMB_STRETCH_S;
    if last_start_s < from_s {
        return;
    }
    let rise = |time_s: f64, height_m: f64| {
        (flight.height_at(time_s + CLIMB_STRETCH_S) - height_m) / CLIMB_STRETCH_S
    };
    values.clear();
    let stretch = trace.between(from_s, last_start_s);
    values.extend(
        stretch
            .moments()
            .map(|m| (m.time_s, rise(m.time_s, m.height_m))),
    );
    let best = largest(&values[..], |time_s| rise(time_s, flight.height_at(time_s)));
    summary.best_climb_rate_m_s = best.map(|(_, rate)| rate);
}

fn distances(summary: &mut Summary, trace: &Trace<'_>) {
    let (sin, cos) = libm::sincos(trace.flight.throw().launch.heading_rad);
    let moved = trace.last().position_m - trace.first().position_m;
    summary.distance_along_m = Some(moved.x * cos + moved.y * sin);
    summary.distance_right_m = Some(moved.y * cos - moved.x * sin);
    summary.distance_from_release_m = Some(moved.xy().norm());
    let start = trace.first().position_m;
    let along = |x: &Vector3<f64>| (x.x - start.x) * cos + (x.y - start.y) * sin;
    let (flight, whole) = (trace.flight, trace.whole());
    summary.furthest_back_m = smallest(&whole.of(|m| along(&m.position_m)), |time_s| {
        along(&flight.state_at(time_s).position)
    })
    .map(|(_, least)| least);

    let over = |f: fn(&Moment) -> f64| integral(&whole.of(f), trace.value(f));
    let track = over(Moment::ground_speed_m_s);
    summary.track_length_m = Some(track);
    let glide_ratio =
        |length_m: f64, lost_m: f64| (lost_m >= LEAST_LOSS_M).then(|| length_m / lost_m);
    summary.glide_ratio_over_ground = glide_ratio(track, moved.z);
    summary.glide_ratio_through_air = glide_ratio(
        over(Moment::air_speed_from_above_m_s),
        over(|m: &Moment| m.air_m_s.z),
    );
}

/// Turn of the heading of body x over the flight, added up, rad.
fn heading_change_rad(trace: &Trace<'_>) -> f64 {
    let heading =
        |time_s: f64| EulerAngles::of(&rotation(&trace.flight.state_at(time_s).attitude)).yaw_rad;
    trace
        .moments
        .windows(2)
        .map(|w| {
            let [before, after] = [&w[0], &w[1]].map(|m| (m.time_s, m.yaw_rad));
            turn_rad(before, after, &heading)
        })
        .fold(0.0, |sum, turn| sum + turn)
}

/// Turn between two looks; halved where it is too much to tell right from left.
fn turn_rad(before: (f64, f64), after: (f64, f64), heading: &impl Fn(f64) -> f64) -> f64 {
    let turn = (after.1 - before.1 + PI).rem_euclid(TAU) - PI;
    if turn.abs() <= TURN_PART_RAD {
        return turn;
    }
    if after.0 - before.0 <= EVENT_RESOLUTION_S {
        return if turn.abs() >= FLIP_RAD { 0.0 } else { turn };
    }
    let time_s = 0.5 * (before.0 + after.0);
    let middle = (time_s, heading(time_s));
    turn_rad(before, middle, heading) + turn_rad(middle, after, heading)
}
