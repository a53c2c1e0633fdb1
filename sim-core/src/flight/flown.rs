//! What a flown throw can be asked for.

use super::{Flight, Leg, Throw};
use crate::control::Feedback;
use crate::events;
use crate::forces::{Evaluation, evaluate};
use crate::state::State;

impl Flight {
    /// What was flown.
    pub fn throw(&self) -> &Throw {
        &self.throw
    }

    fn leg_at(&self, time_s: f64) -> &Leg {
        let i = self.legs.partition_point(|leg| leg.end_s <= time_s);
        &self.legs[i.min(self.legs.len() - 1)]
    }

    /// State at a time (s) from release to the end; just after a cut where the time is one. Times outside give the nearest end.
    pub fn state_at(&self, time_s: f64) -> State<f64> {
        State::from_array(&self.leg_at(time_s).piece.at(time_s.min(self.end_time_s)))
    }

    /// Forces, flow and power at a time (s).
    pub fn evaluation_at(&self, time_s: f64) -> (State<f64>, Evaluation<f64>) {
        let leg = self.leg_at(time_s);
        let time_s = time_s.clamp(0.0, self.end_time_s);
        let state = State::from_array(&leg.piece.at(time_s));
        let evaluation = evaluate(
            &self.throw.vehicle,
            &self.throw.air,
            &leg.segment,
            time_s,
            &state,
        );
        (state, evaluation)
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

    /// Height of the airframe's lowest point over the ground at a time (s), m.
    pub fn clearance_at(&self, time_s: f64) -> f64 {
        let throw = &self.throw;
        events::clearance(&throw.vehicle, &throw.site, &self.state_at(time_s))
    }

    /// Times at which the flight is cut: release, every discontinuity met, the end; s.
    pub fn cut_times_s(&self) -> Vec<f64> {
        std::iter::once(0.0)
            .chain(self.legs.iter().map(|leg| leg.end_s))
            .collect()
    }

    /// Times close enough together to look at everything that happens: each step in [`events::LOOKS_PER_STEP`] parts, from release to
    /// the end. They come from the solver's own steps, not from the record interval.
    pub fn look_times_s(&self) -> Vec<f64> {
        let mut times = vec![0.0];
        for leg in &self.legs {
            times.extend(
                events::looks(&leg.piece)
                    .map(|(_, after)| after)
                    .filter(|&t| t < leg.end_s),
            );
            times.push(leg.end_s);
        }
        times
    }
}
