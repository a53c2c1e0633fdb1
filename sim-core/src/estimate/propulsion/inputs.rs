//! Everything an estimate starts from, each with its one sigma (MODEL.md § 21.1, 21.4).

use super::blade::{Blade, Section};
use super::motor::{Known, usual_current_share};
use super::solve::{SpeedFrom, Table};
use super::{MotorMeasured, PropellerMeasured, PropulsionError};
use std::f64::consts::TAU;

/// A number and one standard deviation of it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Input {
    pub value: f64,
    one_sigma: f64,
}

impl Input {
    fn relative(value: f64, share: f64) -> Self {
        Input {
            value,
            one_sigma: value.abs() * share,
        }
    }
}

#[derive(Clone, Debug)]
pub(super) struct PropellerInputs {
    blades: u32,
    pub diameter: Input,
    pitch: Input,
    chord: Input,
    zero_lift: Input,
    lift_slope: Input,
    separation_lift: Input,
    friction_factor: Input,
    pub density: Input,
    pub thrust: Option<Input>,
    voltage: Option<Input>,
    current: Option<Input>,
    pub speed: Option<Input>,
    assumed: Vec<String>,
}

#[derive(Clone, Debug)]
struct MotorInputs {
    constant: Option<Input>,
    resistance: Option<Input>,
    no_load_current: Option<Input>,
    no_load: Option<[Input; 2]>,
    stall: Option<[Input; 2]>,
    current_share: Input,
}

/// Propeller and motor.
#[derive(Clone, Debug)]
pub(super) struct Inputs {
    pub propeller: Option<PropellerInputs>,
    motor: Option<MotorInputs>,
}

// One sigma of what a kitchen scale, a ruler and a cheap meter say, as shares. Common practice, no source.
const VOLTAGE: f64 = 0.01;
const CURRENT: f64 = 0.03;
const THRUST: f64 = 0.03;
const SPEED: f64 = 0.01;
const SPEED_CONSTANT: f64 = 0.03;
const RESISTANCE: f64 = 0.05;
const NO_LOAD_CURRENT: f64 = 0.10;

/// Usual pitch over the diameter. Common practice, no source.
pub(super) const USUAL_PITCH_SHARE: f64 = 0.7;

/// Usual chord of a blade over the diameter. Common practice, no source.
pub(super) fn usual_chord_share(diameter_m: f64) -> f64 {
    let way = ((diameter_m - 0.075) / 0.025).clamp(0.0, 1.0);
    0.125 + way * (0.085 - 0.125)
}

impl PropellerInputs {
    /// The propeller of the blade calculation.
    pub fn blade(&self) -> Blade {
        Blade {
            diameter_m: self.diameter.value,
            pitch_m: self.pitch.value,
            blades: self.blades,
            chord_m: self.chord.value,
            section: Section {
                zero_lift_rad: self.zero_lift.value,
                lift_slope: self.lift_slope.value,
                separation_lift: self.separation_lift.value,
                friction_factor: self.friction_factor.value,
            },
        }
    }
}

impl Inputs {
    pub fn of(
        propeller: Option<&PropellerMeasured>,
        motor: Option<&MotorMeasured>,
    ) -> Result<Self, PropulsionError> {
        Ok(Inputs {
            propeller: propeller.map(propeller_inputs).transpose()?,
            motor: motor.map(motor_inputs).transpose()?,
        })
    }

    fn slots(&mut self) -> Vec<&mut Input> {
        let mut slots = Vec::new();
        if let Some(p) = &mut self.propeller {
            slots.extend([
                &mut p.diameter,
                &mut p.pitch,
                &mut p.chord,
                &mut p.zero_lift,
                &mut p.lift_slope,
                &mut p.separation_lift,
                &mut p.friction_factor,
                &mut p.density,
            ]);
            slots.extend(p.thrust.iter_mut().chain(&mut p.voltage));
            slots.extend(p.current.iter_mut().chain(&mut p.speed));
        }
        if let Some(m) = &mut self.motor {
            slots.extend(m.constant.iter_mut().chain(&mut m.resistance));
            slots.extend(m.no_load_current.iter_mut());
            slots.extend(
                m.no_load
                    .iter_mut()
                    .flatten()
                    .chain(m.stall.iter_mut().flatten()),
            );
            slots.push(&mut m.current_share);
        }
        slots
    }

    /// Which inputs have a band at all.
    pub fn uncertain(&self) -> Vec<usize> {
        let mut copy = self.clone();
        let slots = copy.slots();
        (0..slots.len())
            .filter(|&i| slots[i].one_sigma > 0.0)
            .collect()
    }

    /// The same with one input off by so many sigma.
    pub fn with_moved(&self, i: usize, sigmas: f64) -> Self {
        let mut moved = self.clone();
        let slot = &mut *moved.slots()[i];
        slot.value += sigmas * slot.one_sigma;
        moved
    }

    /// Voltage and current of the static run.
    pub fn electric(&self) -> Option<(f64, f64)> {
        let p = self.propeller.as_ref()?;
        Some((p.voltage?.value, p.current?.value))
    }

    pub fn motor_known(&self) -> Option<Known> {
        let m = self.motor.as_ref()?;
        let value = |input: Option<Input>| input.map(|input| input.value);
        let pair = |inputs: Option<[Input; 2]>| inputs.map(|[a, b]| (a.value, b.value));
        Some(Known {
            constant: value(m.constant),
            resistance: value(m.resistance),
            no_load_current: value(m.no_load_current),
            no_load: pair(m.no_load),
            stall: pair(m.stall),
            current_share: m.current_share.value,
        })
    }

    /// Speed of the static run by a motor that is known without it.
    pub fn speed_of_motor(&self) -> Result<Option<f64>, PropulsionError> {
        let (Some((voltage, current)), Some(known)) = (self.electric(), self.motor_known()) else {
            return Ok(None);
        };
        let (Some(constant), Some(resistance)) = known.alone() else {
            return Ok(None);
        };
        let back = voltage - resistance * current;
        if back <= 0.0 {
            let stall_a = voltage / resistance;
            return Err(PropulsionError::CurrentAtStall {
                current_a: current,
                stall_a,
            });
        }
        Ok(Some(back / constant))
    }

    /// Shaft power of the static run by a motor whose R and I_0 are known without it.
    pub fn shaft_power_of_motor(&self) -> Option<f64> {
        let (voltage, current) = self.electric()?;
        let known = self.motor_known()?;
        let resistance = known.alone().1?;
        Some((voltage - resistance * current) * (current - known.no_load_current?))
    }

    /// How the table came about.
    pub fn words(&self, table: &Table) -> String {
        let p = self.propeller.as_ref().expect("a table is a propeller's");
        let mut words = "blade calculation (MODEL.md § 21)".to_owned();
        for assumed in &p.assumed {
            words += &format!(", {assumed}");
        }
        let rpm = table.speed.map_or(0.0, |speed| speed * 60.0 / TAU);
        match (table.scale, p.thrust) {
            (Some(scale), _) => {
                let from = if table.speed_from == SpeedFrom::Motor {
                    " by the motor's constants"
                } else {
                    ""
                };
                words += &format!(
                    "; thrust times {scale:.3} to meet the weighed one at {rpm:.0} rpm{from}"
                );
            }
            (None, Some(_)) => {
                words += &format!(
                    "; not scaled, since no rotor speed is known: the weighed thrust gives {rpm:.0} rpm"
                );
            }
            (None, None) => words += "; not scaled, since no thrust was weighed",
        }
        if table.power_from_motor {
            words += "; power by the motor's constants";
        }
        words
    }
}

fn positive(what: &'static str, value: f64) -> Result<f64, PropulsionError> {
    if value.is_finite() && value > 0.0 {
        Ok(value)
    } else {
        Err(PropulsionError::NotPositive { what, value })
    }
}

fn optional(
    what: &'static str,
    value: Option<f64>,
    share: f64,
) -> Result<Option<Input>, PropulsionError> {
    value
        .map(|value| Ok(Input::relative(positive(what, value)?, share)))
        .transpose()
}

fn propeller_inputs(p: &PropellerMeasured) -> Result<PropellerInputs, PropulsionError> {
    let diameter = positive("a diameter of", p.diameter_m)?;
    positive("a number of blades of", f64::from(p.blades))?;
    let mut assumed = Vec::new();
    let pitch = optional("a pitch of", p.pitch_m, 0.05)?.unwrap_or_else(|| {
        assumed.push(format!("pitch assumed {:.1} mm ± 25 %", 700.0 * diameter));
        Input::relative(USUAL_PITCH_SHARE * diameter, 0.25)
    });
    let chord = optional("a mean chord of", p.mean_chord_m, 0.10)?.unwrap_or_else(|| {
        let chord = usual_chord_share(diameter) * diameter;
        assumed.push(format!("chord assumed {:.1} mm ± 25 %", 1e3 * chord));
        Input::relative(chord, 0.25)
    });
    Ok(PropellerInputs {
        blades: p.blades,
        diameter: Input::relative(diameter, 0.005),
        pitch,
        chord,
        zero_lift: Input {
            value: (-4.0_f64).to_radians(),
            one_sigma: 1.5_f64.to_radians(),
        },
        lift_slope: Input::relative(0.9 * TAU, 0.07),
        separation_lift: Input {
            value: 1.3,
            one_sigma: 0.2,
        },
        friction_factor: Input::relative(1.8, 0.30),
        density: Input::relative(1.20, 0.02),
        thrust: optional("a static thrust of", p.static_thrust_n, THRUST)?,
        voltage: optional("a voltage of", p.voltage_v, VOLTAGE)?,
        current: optional("a current of", p.current_a, CURRENT)?,
        speed: optional("a rotor speed of", p.speed_rad_s, SPEED)?,
        assumed,
    })
}

fn motor_inputs(m: &MotorMeasured) -> Result<MotorInputs, PropulsionError> {
    let pair = |name, given: Option<(f64, f64)>, second: f64| {
        given
            .map(|(a, b)| {
                Ok([
                    Input::relative(positive(name, a)?, VOLTAGE),
                    Input::relative(positive(name, b)?, second),
                ])
            })
            .transpose()
    };
    if let Some(diameter) = m.can_diameter_m {
        positive("a can diameter of", diameter)?;
    }
    let (share, factor) = usual_current_share(m.can_diameter_m);
    // No current without load is unusual and allowed: a motor of the textbook.
    let no_load_current = match m.no_load_current_a {
        Some(0.0) => Some(Input {
            value: 0.0,
            one_sigma: 0.0,
        }),
        other => optional("a current without load of", other, NO_LOAD_CURRENT)?,
    };
    Ok(MotorInputs {
        constant: optional("a motor constant of", m.constant, SPEED_CONSTANT)?,
        resistance: optional("a resistance of", m.resistance_ohm, RESISTANCE)?,
        no_load_current,
        no_load: pair("a run without load at", m.no_load, SPEED)?,
        stall: pair("a run held fast at", m.stall, CURRENT)?,
        current_share: Input::relative(share, factor - 1.0),
    })
}
