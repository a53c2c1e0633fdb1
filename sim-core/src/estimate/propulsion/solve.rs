//! One pass without bands: the speed of the weighing, the scaled table, the motor (MODEL.md § 21.2).

use super::PropulsionError;
use super::blade::disc_power_coefficient;
use super::inputs::Inputs;
use super::motor::{Constants, Run};
use crate::power::propeller::PropellerRow;
use std::f64::consts::{PI, TAU};

/// Rows of an estimated table.
const ROWS: u32 = 11;
/// Speed n·D (m/s) where neither thrust nor speed is known: 40 m/s at the tip.
const USUAL_TURNS_TIMES_DIAMETER_M_S: f64 = 40.0 / PI;
/// Largest and smallest ratio of weighed to calculated thrust that is believed.
const BELIEVED: f64 = 3.0;

/// Where the speed of the static run comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum SpeedFrom {
    Measured,
    Motor,
    Calculation,
}

pub(super) struct Table {
    pub rows: Vec<PropellerRow>,
    pub speed: Option<f64>,
    pub speed_from: SpeedFrom,
    pub scale: Option<f64>,
    pub power_from_motor: bool,
}

pub(super) struct Solved {
    pub blades: Option<Table>,
    pub motor: Option<Constants>,
}

/// One pass without bands; the rows at given advance ratios, or at those that fit.
pub(super) fn solve(inputs: &Inputs, ratios: Option<&[f64]>) -> Result<Solved, PropulsionError> {
    let blades = match &inputs.propeller {
        Some(_) => Some(table(inputs, ratios)?),
        None => None,
    };
    let run = inputs.electric().map(|(voltage, current)| {
        let table = blades.as_ref().expect("a run is a propeller's");
        // The table is the word on power, unless it had that from the motor.
        let shaft_power = table
            .speed
            .filter(|_| !table.power_from_motor)
            .map(|speed| {
                let p = inputs.propeller.as_ref().expect("a run is a propeller's");
                let turns = speed / TAU;
                table.rows[0].power_coefficient
                    * p.density.value
                    * turns.powi(3)
                    * p.diameter.value.powi(5)
            });
        let speed = table.speed.filter(|_| table.speed_from != SpeedFrom::Motor);
        Run {
            voltage,
            current,
            speed,
            shaft_power,
        }
    });
    let motor = match inputs.motor_known() {
        Some(known) => Some(known.solve(run.as_ref())?),
        None => None,
    };
    Ok(Solved { blades, motor })
}

fn table(inputs: &Inputs, ratios: Option<&[f64]>) -> Result<Table, PropulsionError> {
    let p = inputs.propeller.as_ref().expect("asked for a propeller");
    let blade = p.blade();
    let (diameter, density) = (p.diameter.value, p.density.value);
    let thrust = p.thrust.map(|thrust| thrust.value);
    let electric = inputs.electric();
    let disc =
        |thrust: f64| thrust.powf(1.5) / (2.0 * density * PI / 4.0 * diameter * diameter).sqrt();
    if let (Some(thrust_n), Some((voltage, current))) = (thrust, electric) {
        let (needed_w, found_w) = (disc(thrust_n), voltage * current);
        if needed_w > found_w {
            return Err(PropulsionError::ThrustBeyondDisc {
                thrust_n,
                needed_w,
                found_w,
                electrical: true,
            });
        }
    }

    let (speed, speed_from) = if let Some(speed) = p.speed {
        (Some(speed.value), SpeedFrom::Measured)
    } else if let Some(speed) = inputs.speed_of_motor()? {
        (Some(speed), SpeedFrom::Motor)
    } else if let Some(thrust) = thrust {
        let mut scale = USUAL_TURNS_TIMES_DIAMETER_M_S;
        for _ in 0..8 {
            let (coefficient, _) = blade.coefficients(0.0, scale);
            if coefficient <= 0.0 {
                return Err(PropulsionError::NoThrust);
            }
            scale = (thrust / (density * coefficient)).sqrt() / diameter;
        }
        (Some(scale / diameter * TAU), SpeedFrom::Calculation)
    } else {
        (None, SpeedFrom::Calculation)
    };
    let turns = speed.map(|speed| speed / TAU);
    let turns_times_diameter = turns.map_or(USUAL_TURNS_TIMES_DIAMETER_M_S, |n| n * diameter);

    let (static_thrust, static_power) = blade.coefficients(0.0, turns_times_diameter);
    if static_thrust <= 0.0 {
        return Err(PropulsionError::NoThrust);
    }
    let scale = match (thrust, turns, speed_from) {
        (Some(thrust_n), Some(n), SpeedFrom::Measured | SpeedFrom::Motor) => {
            let expected_n = static_thrust * density * n * n * diameter.powi(4);
            let ratio = thrust_n / expected_n;
            if !(1.0 / BELIEVED..=BELIEVED).contains(&ratio) {
                return Err(PropulsionError::ThrustUnlikely {
                    thrust_n,
                    expected_n,
                    speed_rad_s: n * TAU,
                });
            }
            Some(ratio)
        }
        _ => None,
    };
    let scaled = |(thrust, power): (f64, f64), ratio: f64| {
        let s = scale.unwrap_or(1.0);
        let ideal = |thrust: f64| disc_power_coefficient(thrust, ratio);
        (
            s * thrust,
            s * power + ideal(s * thrust) - s * ideal(thrust),
        )
    };
    let power_scale = match (inputs.shaft_power_of_motor(), turns) {
        (Some(power), Some(n)) if power > 0.0 => {
            if let Some(thrust_n) = thrust.filter(|&thrust| disc(thrust) > power) {
                return Err(PropulsionError::ThrustBeyondDisc {
                    thrust_n,
                    needed_w: disc(thrust_n),
                    found_w: power,
                    electrical: false,
                });
            }
            let calculated = scaled((static_thrust, static_power), 0.0).1;
            Some(power / (density * n.powi(3) * diameter.powi(5)) / calculated)
        }
        _ => None,
    };
    let fitting: Vec<f64>;
    let ratios = match ratios {
        Some(given) => given,
        None => {
            let zero = blade
                .zero_thrust_ratio(turns_times_diameter)
                .ok_or(PropulsionError::NoThrust)?;
            fitting = (0..ROWS)
                .map(|k| 1.1 * zero * f64::from(k) / f64::from(ROWS - 1))
                .collect();
            &fitting
        }
    };
    let mut rows = Vec::with_capacity(ratios.len());
    for &ratio in ratios {
        let (thrust, power) = scaled(blade.coefficients(ratio, turns_times_diameter), ratio);
        let power = power * power_scale.unwrap_or(1.0);
        let least = disc_power_coefficient(thrust, ratio);
        if thrust > 0.0 && power < least {
            return Err(PropulsionError::PowerBelowDisc {
                advance_ratio: ratio,
                power,
                least,
            });
        }
        rows.push(PropellerRow {
            advance_ratio: ratio,
            thrust_coefficient: thrust,
            power_coefficient: power,
        });
    }
    Ok(Table {
        rows,
        speed,
        speed_from,
        scale,
        power_from_motor: power_scale.is_some(),
    })
}
