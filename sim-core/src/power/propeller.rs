//! Propeller thrust and torque in every axial flow (MODEL.md § 6.2).

use crate::interpolate::MonotoneCubic;
use crate::number::{Number, lane_data};
use std::f64::consts::{FRAC_PI_2, TAU};

lane_data! {
    /// A propeller by thrust and torque over χ = atan2(axial speed, n D), defined also when it stands still.
    pub struct Propeller<T> {
        /// Diameter, m.
        pub diameter: T,
        /// Largest advance ratio of the measured table.
        pub last_advance_ratio: T,
        /// K_T over χ.
        pub thrust: MonotoneCubic<T>,
        /// K_Q over χ.
        pub torque: MonotoneCubic<T>,
    }
}

/// One row of a propeller's table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PropellerRow {
    /// J = V/(n D).
    pub advance_ratio: f64,
    /// C_T = T/(ρ n² D⁴).
    pub thrust_coefficient: f64,
    /// C_P = P/(ρ n³ D⁵).
    pub power_coefficient: f64,
}

/// K_T and K_Q of the stopped propeller, by default. Common practice, no source.
pub const STOPPED_DEFAULT: (f64, f64) = (0.04, 0.006);

impl Propeller<f64> {
    /// A propeller from its measured table (first row J = 0, at least two, J rising) and its stopped drag and torque.
    ///
    /// # Panics
    /// Where the table is not so; file checks come first.
    pub fn from_table(diameter_m: f64, rows: &[PropellerRow], stopped: (f64, f64)) -> Self {
        let back = PropellerRow {
            advance_ratio: -rows[1].advance_ratio,
            thrust_coefficient: 2.0 * rows[0].thrust_coefficient - rows[1].thrust_coefficient,
            power_coefficient: 2.0 * rows[0].power_coefficient - rows[1].power_coefficient,
        };
        let mut thrust = vec![(-FRAC_PI_2, stopped.0)];
        let mut torque = vec![(-FRAC_PI_2, 0.0)];
        for row in std::iter::once(&back).chain(rows) {
            let angle = libm::atan(row.advance_ratio);
            let share = libm::cos(angle) * libm::cos(angle);
            thrust.push((angle, row.thrust_coefficient * share));
            torque.push((angle, row.power_coefficient * share / TAU));
        }
        thrust.push((FRAC_PI_2, -stopped.0));
        torque.push((FRAC_PI_2, -stopped.1));
        Propeller {
            diameter: diameter_m,
            last_advance_ratio: rows.last().expect("two rows").advance_ratio,
            thrust: MonotoneCubic::through(&thrust),
            torque: MonotoneCubic::through(&torque),
        }
    }
}

impl<T: Number> Propeller<T> {
    /// Thrust (N) and aerodynamic torque against the rotation (N m) at an axial speed (m/s), rotor speed (rad/s) and density.
    #[inline(always)]
    pub fn thrust_and_torque(&self, axial: T, rotor: T, density: T) -> (T, T) {
        let tip = (rotor.abs() * self.diameter).over(T::constant(TAU), T::constant(1.0 / TAU));
        let angle = axial.atan2(tip);
        let scale = density * self.diameter * self.diameter * tip.times_plus(tip, axial * axial);
        let (thrust, torque) = self.thrust.both_at(&self.torque, angle);
        (scale * thrust, scale * self.diameter * torque)
    }
}
