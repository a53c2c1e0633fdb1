//! Propeller table and motor constants from what a builder has: a ruler, a kitchen scale, a meter (MODEL.md § 21).
//!
//! The blade calculation ([`blade`]) gives the shape of the table, the weighed static thrust its size, voltage and current the motor's
//! constants. Each result has a band of one standard deviation; measurements that contradict one another are refused.

pub mod blade;
mod error;
mod inputs;
mod motor;
mod solve;
#[cfg(test)]
mod tests;

pub use error::PropulsionError;
pub use motor::MotorMethod;

use crate::power::disc::blade_side_area;
use crate::power::propeller::PropellerRow;
use inputs::Inputs;
use motor::Constants;
use solve::{Solved, solve};

/// One sigma of the blade calculation by itself, as shares of C_T and C_P at rest.
const METHOD: (f64, f64) = (0.06, 0.08);

/// What is known of a propeller.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PropellerMeasured {
    /// Diameter, m.
    pub diameter_m: f64,
    /// Number of blades, 1 at least.
    pub blades: u32,
    /// Pitch, m per turn; 0.7 of the diameter where not known.
    pub pitch_m: Option<f64>,
    /// Mean chord of a blade, m; a usual share of the diameter where not known.
    pub mean_chord_m: Option<f64>,
    /// Thrust at rest at full throttle, N, of one propeller.
    pub static_thrust_n: Option<f64>,
    /// Current of this one motor then, A.
    pub current_a: Option<f64>,
    /// Voltage at the motor then, V.
    pub voltage_v: Option<f64>,
    /// Rotor speed then, rad/s.
    pub speed_rad_s: Option<f64>,
}

impl PropellerMeasured {
    /// Projected side area of the blades, m² (MODEL.md § 6.5): of what is known, and the usual where it is not.
    pub fn side_area_m2(&self) -> f64 {
        let chord = self
            .mean_chord_m
            .unwrap_or_else(|| inputs::usual_chord_share(self.diameter_m) * self.diameter_m);
        let pitch = self
            .pitch_m
            .unwrap_or(inputs::USUAL_PITCH_SHARE * self.diameter_m);
        blade_side_area(self.blades, chord, pitch, self.diameter_m)
    }
}

/// What is known of a motor without its propeller.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct MotorMeasured {
    /// k, N m per A or V s per rad.
    pub constant: Option<f64>,
    /// Winding resistance with leads, Ω.
    pub resistance_ohm: Option<f64>,
    /// Current without load, A.
    pub no_load_current_a: Option<f64>,
    /// Voltage (V) and speed (rad/s) without load.
    pub no_load: Option<(f64, f64)>,
    /// Voltage (V) and current (A) with the shaft held fast.
    pub stall: Option<(f64, f64)>,
    /// Diameter of the motor's can, m; says how large the current without load usually is.
    pub can_diameter_m: Option<f64>,
}

/// A value and its band.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Banded {
    /// The value.
    pub value: f64,
    /// One standard deviation, same unit.
    pub one_sigma: f64,
}

/// A propeller's table worked out.
#[derive(Clone, Debug, PartialEq)]
pub struct PropellerEstimate {
    /// The table, from rest to a little beyond zero thrust.
    pub rows: Vec<PropellerRow>,
    /// One sigma of C_T, row by row.
    pub thrust_one_sigma: Vec<f64>,
    /// One sigma of C_P, row by row.
    pub power_one_sigma: Vec<f64>,
    /// Rotor speed of the static run, rad/s, where there was one.
    pub static_speed_rad_s: Option<Banded>,
    /// Weighed over calculated static thrust, where it was weighed and the speed known; the table is scaled by it.
    pub thrust_scale: Option<f64>,
    /// How it was done and what was assumed, in words.
    pub method: String,
}

/// A motor's constants worked out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MotorEstimate {
    /// k, N m per A or V s per rad, and how it came about.
    pub constant: (Banded, MotorMethod),
    /// R, Ω.
    pub resistance_ohm: (Banded, MotorMethod),
    /// I_0, A.
    pub no_load_current_a: (Banded, MotorMethod),
}

/// A propeller and the motor that turns it, worked out together.
#[derive(Clone, Debug, PartialEq)]
pub struct PropulsionEstimate {
    /// The propeller, where one was asked for.
    pub propeller: Option<PropellerEstimate>,
    /// The motor, where one was asked for.
    pub motor: Option<MotorEstimate>,
}

/// Works out a propeller's table, a motor's constants, or both at once. Pure; the same inputs give the same bits.
///
/// The method and its validity (small propellers, chord Reynolds numbers of some 1e4 to 2e5) are in MODEL.md § 21.
///
/// # Errors
/// [`PropulsionError`] where an input is not a positive number, where measurements contradict one another, or where they do not fix
/// the motor.
pub fn estimate(
    propeller: Option<&PropellerMeasured>,
    motor: Option<&MotorMeasured>,
) -> Result<PropulsionEstimate, PropulsionError> {
    let inputs = Inputs::of(propeller, motor)?;
    let nominal = solve(&inputs, None)?;
    let ratios: Option<Vec<f64>> = nominal
        .blades
        .as_ref()
        .map(|table| table.rows.iter().map(|row| row.advance_ratio).collect());
    let mut squares = Squares::none(ratios.as_ref().map_or(0, Vec::len));
    for i in inputs.uncertain() {
        let (moved, scale) = moved(&inputs, i, ratios.as_deref())?;
        squares.add(&nominal, &moved, scale);
    }
    let motor = nominal.motor.map(|found| {
        let banded = |(value, method): (f64, MotorMethod), square: f64| {
            (
                Banded {
                    value,
                    one_sigma: square.sqrt(),
                },
                method,
            )
        };
        MotorEstimate {
            constant: banded(found.constant, squares.motor[0]),
            resistance_ohm: banded(found.resistance, squares.motor[1]),
            no_load_current_a: banded(found.no_load_current, squares.motor[2]),
        }
    });
    let propeller = nominal.blades.map(|table| {
        let at_rest = table.rows[0];
        let with_method = |square: f64, method: f64| (square + method * method).sqrt();
        PropellerEstimate {
            thrust_one_sigma: squares
                .thrust
                .iter()
                .map(|&square| with_method(square, METHOD.0 * at_rest.thrust_coefficient))
                .collect(),
            power_one_sigma: squares
                .power
                .iter()
                .map(|&square| with_method(square, METHOD.1 * at_rest.power_coefficient))
                .collect(),
            static_speed_rad_s: table.speed.map(|value| Banded {
                value,
                one_sigma: squares.speed.sqrt(),
            }),
            method: inputs.words(&table),
            thrust_scale: table.scale,
            rows: table.rows,
        }
    });
    Ok(PropulsionEstimate { propeller, motor })
}

/// The whole with input `i` one sigma off, and by what the change must be multiplied; a smaller step, or the other way, where a full
/// one leads to a contradiction.
fn moved(
    inputs: &Inputs,
    i: usize,
    ratios: Option<&[f64]>,
) -> Result<(Solved, f64), PropulsionError> {
    let mut last = None;
    for step in [1.0, -1.0, 0.25, -0.25, 0.02, -0.02] {
        match solve(&inputs.with_moved(i, step), ratios) {
            Ok(found) => return Ok((found, 1.0 / step)),
            Err(error) => last = Some(error),
        }
    }
    Err(last.expect("tried at least once"))
}

/// Sums of squared changes.
struct Squares {
    thrust: Vec<f64>,
    power: Vec<f64>,
    speed: f64,
    motor: [f64; 3],
}

impl Squares {
    fn none(rows: usize) -> Self {
        Squares {
            thrust: vec![0.0; rows],
            power: vec![0.0; rows],
            speed: 0.0,
            motor: [0.0; 3],
        }
    }

    fn add(&mut self, nominal: &Solved, moved: &Solved, scale: f64) {
        let square = |a: f64, b: f64| ((a - b) * scale).powi(2);
        if let (Some(a), Some(b)) = (&nominal.blades, &moved.blades) {
            for (k, (a, b)) in a.rows.iter().zip(&b.rows).enumerate() {
                self.thrust[k] += square(a.thrust_coefficient, b.thrust_coefficient);
                self.power[k] += square(a.power_coefficient, b.power_coefficient);
            }
            if let (Some(a), Some(b)) = (a.speed, b.speed) {
                self.speed += square(a, b);
            }
        }
        if let (Some(a), Some(b)) = (&nominal.motor, &moved.motor) {
            let three = |c: &Constants| [c.constant.0, c.resistance.0, c.no_load_current.0];
            for (sum, (a, b)) in self
                .motor
                .iter_mut()
                .zip(three(a).into_iter().zip(three(b)))
            {
                *sum += square(a, b);
            }
        }
    }
}
