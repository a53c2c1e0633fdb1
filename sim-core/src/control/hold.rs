//! A pilot who holds a heading, a height or a climb on a plan (MODEL.md § 7.3).

use super::{Feedback, limited};
use crate::frames::{EulerAngles, rotation};
use crate::pilot::Programme;
use crate::state::State;
use std::f64::consts::{PI, TAU};

/// A person who looks at the aircraft now and then and acts after a reaction time.
#[derive(Clone, Debug, PartialEq)]
pub struct Hold {
    /// Time between looks, s.
    pub sample_time_s: f64,
    /// From a look to what the hands make of it, s.
    pub delay_s: f64,
    /// The heading to hold.
    pub heading: Option<HeadingHold>,
    /// The height or climb to hold.
    pub climb: Option<ClimbHold>,
}

/// Holds a heading by banking, and the bank by left-minus-right difference.
#[derive(Clone, Debug, PartialEq)]
pub struct HeadingHold {
    /// Heading of the nose over time, rad.
    pub plan: Programme,
    /// Bank wanted for each angle of heading missing.
    pub bank_per_heading: f64,
    /// Largest bank wanted, rad.
    pub largest_bank_rad: f64,
    /// Difference for each radian of bank missing.
    pub gain_1_rad: f64,
    /// Largest difference.
    pub largest_difference: f64,
}

/// Holds a climb by the throttle of all motors.
#[derive(Clone, Debug, PartialEq)]
pub struct ClimbHold {
    /// What the climb comes from.
    pub plan: ClimbPlan,
    /// Throttle for each m/s of climb missing, s/m.
    pub gain_s_m: f64,
    /// Largest change of the throttle.
    pub largest_throttle: f64,
}

/// Where the wanted climb comes from.
#[derive(Clone, Debug, PartialEq)]
pub enum ClimbPlan {
    /// A climb over time, m/s.
    Climb(Programme),
    /// A height over time, m.
    Height {
        /// Height of the balance point over the ground over time, m.
        plan: Programme,
        /// Climb wanted for each metre missing, 1/s.
        climb_per_height_1_s: f64,
        /// Largest climb wanted, up or down, m/s.
        largest_climb_m_s: f64,
    },
}

impl Hold {
    /// Whether there is anything to hold.
    pub fn is_on(&self) -> bool {
        self.heading.is_some() || self.climb.is_some()
    }

    /// What a look at a time (s) leads to.
    pub fn command(&self, time_s: f64, state: &State<f64>) -> Feedback {
        let to_earth = rotation(&state.attitude);
        let angles = EulerAngles::of(&to_earth);
        let climb_m_s = -(to_earth * state.velocity).z;
        Feedback {
            collective: self.climb.as_ref().map_or(0.0, |hold| {
                let wanted = hold.plan.climb_m_s(time_s, state.height());
                limited(hold.gain_s_m * (wanted - climb_m_s), hold.largest_throttle)
            }),
            difference: self.heading.as_ref().map_or(0.0, |hold| {
                let missing = half_turn_at_most(hold.plan.after(time_s) - angles.yaw_rad);
                let bank = limited(hold.bank_per_heading * missing, hold.largest_bank_rad);
                limited(
                    hold.gain_1_rad * (bank - angles.roll_rad),
                    hold.largest_difference,
                )
            }),
        }
    }
}

impl ClimbPlan {
    fn climb_m_s(&self, time_s: f64, height_m: f64) -> f64 {
        match self {
            ClimbPlan::Climb(plan) => plan.after(time_s),
            ClimbPlan::Height {
                plan,
                climb_per_height_1_s,
                largest_climb_m_s,
            } => limited(
                climb_per_height_1_s * (plan.after(time_s) - height_m),
                *largest_climb_m_s,
            ),
        }
    }
}

/// An angle (rad) less whole turns, from −π up to π.
fn half_turn_at_most(angle_rad: f64) -> f64 {
    angle_rad - TAU * ((angle_rad + PI) / TAU).floor()
}

#[cfg(test)]
mod tests {
    use super::*;

    // By hand: 10° wanted from 350° is 20° to the right, not 340° to the left.
    #[test]
    fn the_short_way_round_is_taken() {
        for (wanted_deg, heading_deg, missing_deg) in [
            (10.0_f64, 350.0_f64, 20.0_f64),
            (350.0, 10.0, -20.0),
            (90.0, -90.0, -180.0),
            (725.0, 0.0, 5.0),
        ] {
            let missing = half_turn_at_most(wanted_deg.to_radians() - heading_deg.to_radians());
            assert!(
                (missing.to_degrees() - missing_deg).abs() < 1e-12,
                "{wanted_deg} {heading_deg}"
            );
        }
    }
}
