//! What a trajectory, and a flown throw, can be asked for.

use super::{Flight, Leg, Throw, Trajectory};
use crate::control::Feedback;
use crate::events;
use crate::forces::{Evaluation, evaluate};
use crate::frames::{EulerAngles, rotation};
use crate::segment::Segment;
use crate::state::State;
use nalgebra::Vector4;
use std::ops::Deref;

/// A flight in one moment; just after a cut where the time is one.
#[derive(Clone, Copy, Debug)]
pub struct Instant<'a> {
    /// Time, s.
    pub time_s: f64,
    /// State.
    pub state: State<f64>,
    /// What holds then.
    pub segment: &'a Segment<f64>,
}

/// Which number of a state is the position's down component.
const DOWN: usize = 2;
/// Which is the first of the attitude's.
const ATTITUDE: usize = 3;

impl Flight {
    /// A throw and what became of it.
    pub fn new(throw: Throw, trajectory: Trajectory) -> Self {
        Flight { throw, trajectory }
    }

    /// What was flown.
    pub fn throw(&self) -> &Throw {
        &self.throw
    }

    /// What became of it.
    pub fn trajectory(&self) -> &Trajectory {
        &self.trajectory
    }

    /// The same, without the throw.
    pub fn into_trajectory(self) -> Trajectory {
        self.trajectory
    }

    /// Forces, flow and power at a time (s).
    pub fn evaluation_at(&self, time_s: f64) -> (State<f64>, Evaluation<f64>) {
        let at = self.at(time_s);
        let throw = &self.throw;
        let evaluation = evaluate(&throw.vehicle, &throw.air, at.segment, at.time_s, &at.state);
        (at.state, evaluation)
    }

    /// Height of the airframe's lowest point over the ground at a time (s), m.
    pub fn clearance_at(&self, time_s: f64) -> f64 {
        let throw = &self.throw;
        events::clearance(&throw.vehicle, &throw.site, &self.state_at(time_s))
    }
}

impl Deref for Flight {
    type Target = Trajectory;
    fn deref(&self) -> &Trajectory {
        &self.trajectory
    }
}

impl Trajectory {
    fn leg_at(&self, time_s: f64) -> &Leg {
        let i = self.legs.partition_point(|leg| leg.end_s <= time_s);
        &self.legs[i.min(self.legs.len() - 1)]
    }

    /// State at a time (s) from release to the end; just after a cut where the time is one. Times outside give the nearest end.
    pub fn state_at(&self, time_s: f64) -> State<f64> {
        State::from_array(&self.leg_at(time_s).piece.at(time_s.min(self.end_time_s)))
    }

    /// Height of the balance point over the ground under the release at a time (s), m: that of [`Trajectory::state_at`].
    pub fn height_at(&self, time_s: f64) -> f64 {
        let piece = &self.leg_at(time_s).piece;
        let [down] = piece.numbers_at(DOWN, time_s.min(self.end_time_s));
        -down
    }

    /// Elevation of body x over the horizon at a time (s), rad: that of [`Trajectory::state_at`].
    pub fn pitch_at(&self, time_s: f64) -> f64 {
        let piece = &self.leg_at(time_s).piece;
        let attitude: [f64; 4] = piece.numbers_at(ATTITUDE, time_s.min(self.end_time_s));
        EulerAngles::of(&rotation(&Vector4::from(attitude))).pitch_rad
    }

    /// The flight at a time (s) from release to the end; times outside give the nearest end.
    pub fn at(&self, time_s: f64) -> Instant<'_> {
        let leg = self.leg_at(time_s);
        let time_s = time_s.clamp(0.0, self.end_time_s);
        Instant {
            time_s,
            state: State::from_array(&leg.piece.at(time_s)),
            segment: &leg.segment,
        }
    }

    /// Whether throttle and left-right difference ask a motor for more than it has at a time (s).
    pub fn throttle_held_at(&self, time_s: f64) -> bool {
        self.leg_at(time_s).controls.held_at_limit
    }

    /// What holding pilot and damper add to the programmes at a time (s).
    pub fn feedback_at(&self, time_s: f64) -> Feedback {
        self.leg_at(time_s).controls.feedback
    }

    /// Whether the motors have power at a time (s); just after a cut where the time is one.
    pub fn powered_at(&self, time_s: f64) -> bool {
        self.leg_at(time_s).controls.powered
    }

    /// Angle of each tab at a time (s), rad; just after a cut where the time is one.
    pub fn tab_angles_at(&self, time_s: f64) -> impl Iterator<Item = f64> + '_ {
        let leg = self.leg_at(time_s);
        leg.segment.tab_angles(time_s.clamp(0.0, self.end_time_s))
    }

    /// Times at which the flight is cut: release, every discontinuity met, the end; s.
    pub fn cut_times_s(&self) -> Vec<f64> {
        self.cut_times().collect()
    }

    /// The same one by one.
    pub fn cut_times(&self) -> impl Iterator<Item = f64> + '_ {
        std::iter::once(0.0).chain(self.legs.iter().map(|leg| leg.end_s))
    }

    /// Times close enough together to look at everything that happens: each step in [`events::LOOKS_PER_STEP`] parts, from release to
    /// the end. They come from the solver's own steps, not from the record interval.
    pub fn look_times_s(&self) -> Vec<f64> {
        self.look_times().collect()
    }

    /// The same one by one.
    pub fn look_times(&self) -> impl Iterator<Item = f64> + '_ {
        self.times_with_legs().map(|(time_s, _)| time_s)
    }

    /// The flight at these times.
    pub fn looks(&self) -> impl Iterator<Item = Instant<'_>> + '_ {
        self.times_with_legs().map(|(time_s, leg)| match leg {
            None => self.at(time_s),
            Some(leg) => Instant {
                time_s,
                state: State::from_array(&leg.piece.at(time_s)),
                segment: &leg.segment,
            },
        })
    }

    /// Times to look at; inside a leg with that leg.
    fn times_with_legs(&self) -> impl Iterator<Item = (f64, Option<&Leg>)> + '_ {
        let legs = self.legs.iter().flat_map(|leg| {
            leg.looks_inside()
                .map(move |time_s| (time_s, Some(leg)))
                .chain(std::iter::once((leg.end_s, None)))
        });
        std::iter::once((0.0, None)).chain(legs)
    }
}
