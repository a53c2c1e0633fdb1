//! All of an airframe that does not change in flight, computed once.

use crate::aero::apparent_mass::ApparentMass;
use crate::aero::coefficients::Coefficients;
use crate::aero::post_stall::PostStall;
use crate::number::{Number, lane_data};
use crate::power::cell::Cell;
use crate::power::motor::Motor;
use crate::vector::dot;
use nalgebra::{Matrix3, Vector3};

lane_data! {
    /// A vehicle ready to fly: body axes, balance point at the origin.
    ///
    /// At most [`crate::state::MAX_MOTORS`] motors; their order is that of rotors and throttles everywhere.
    pub struct Vehicle<T> {
        /// Mass, kg.
        pub mass: T,
        /// Inertia tensor about the balance point, kg m².
        pub inertia: Matrix3<T>,
        /// Its inverse.
        pub inverse_inertia: Matrix3<T>,
        /// Linear coefficients.
        pub coefficients: Coefficients<T>,
        /// What happens beyond them.
        pub post_stall: PostStall<T>,
        /// The air carried along, where it is flown with.
        pub apparent_mass: Option<ApparentMass<T>>,
        /// The cell.
        pub cell: Cell<T>,
        /// The motors.
        pub motors: Vec<Motor<T>>,
        /// Outermost points of the airframe from the balance point, m.
        pub outline: Vec<Vector3<T>>,
    }
}

impl<T: Number> Vehicle<T> {
    /// How far the airframe reaches from the balance point in a direction (unit vector, body axes), m.
    #[inline(always)]
    pub fn reach(&self, direction: &Vector3<T>) -> T {
        let mut reach = T::zero();
        for point in &self.outline {
            reach = reach.larger(dot(point, direction));
        }
        for motor in &self.motors {
            let along = dot(&motor.axis, direction);
            let square = (T::one() - along * along).larger(T::zero());
            let rim = T::constant(0.5) * motor.propeller.diameter * square.sqrt();
            reach = reach.larger(dot(&motor.place, direction) + rim);
        }
        reach
    }
}

impl Vehicle<f64> {
    /// How far the airframe reaches from the balance point in any direction, m.
    pub fn farthest_reach_m(&self) -> f64 {
        let points = self.outline.iter().map(Vector3::norm);
        let discs = self.motors.iter();
        // A disc's rim is no farther than this, and that far only where the disc stands square to its place.
        let rims = discs.map(|motor| motor.place.norm() + 0.5 * motor.propeller.diameter);
        points.chain(rims).fold(0.0, f64::max)
    }

    /// The vehicle with its balance point moved aft by a distance (m) and nothing else changed: mass and inertia stay, every place keeps its
    /// station. The plates' damping integrals, which no steady straight flight feels, are left as they are.
    pub fn with_balance_moved_aft(&self, aft_m: f64) -> Self {
        let ahead = Vector3::new(aft_m, 0.0, 0.0);
        let mut moved = self.clone();
        moved.apparent_mass = self.apparent_mass.as_ref().map(|air| air.about(&-ahead));
        moved.coefficients.reference += ahead;
        moved.post_stall.level.quarter_chord += ahead;
        moved.post_stall.upright.quarter_chord += ahead;
        moved
            .motors
            .iter_mut()
            .for_each(|motor| motor.place += ahead);
        moved.outline.iter_mut().for_each(|point| *point += ahead);
        moved
    }
}
