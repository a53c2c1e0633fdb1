//! Propeller tables and motor constants: as the file gives them, or worked out from what was measured (MODEL.md § 21).

use super::WorkedOut;
use crate::airframe_file::{AirframeFile, Motor, Propeller};
use crate::error::Problem;
use crate::field::FieldPath;
use crate::units::{m_from_mm, n_from_gram_force, n_from_mn, rad_s_from_rpm};
use sim_core::estimate::propulsion::{
    MotorEstimate, MotorMeasured, PropellerEstimate, PropellerMeasured, PropulsionError,
    PropulsionEstimate, estimate,
};
use sim_core::power::motor::constant_of_speed_constant;
use sim_core::power::propeller::PropellerRow;
use std::f64::consts::TAU;

/// What motors and propellers of a file come to, in file order.
#[derive(Debug, Default)]
pub(crate) struct Propulsion {
    pub tables: Vec<Vec<PropellerRow>>,
    pub motors: Vec<MotorConstants>,
    pub worked_out: Vec<WorkedOut>,
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct MotorConstants {
    pub constant: f64,
    pub resistance: f64,
    pub no_load_current: f64,
}

/// Estimates already made for this file; both motors are mostly alike.
type Made = Vec<(
    Option<PropellerMeasured>,
    Option<MotorMeasured>,
    PropulsionEstimate,
)>;

/// Works out what the file leaves to measurements.
pub(crate) fn propulsion(file: &AirframeFile) -> Result<Propulsion, Problem> {
    let (mut whole, mut made) = (Propulsion::default(), Made::new());
    for (i, propeller) in file.propellers.iter().enumerate() {
        if let Some(rows) = &propeller.table {
            whole.tables.push(rows.iter().map(row).collect());
            continue;
        }
        // The first motor that turns it may know the speed or the power of the weighing.
        let j = file
            .motors
            .iter()
            .position(|motor| motor.propeller == propeller.name);
        let found = worked_out(file, Some(i), j, &mut made)?;
        let table = found.propeller.expect("a propeller was asked for");
        say_propeller(propeller, &table, &mut whole.worked_out);
        whole.tables.push(table.rows);
    }
    for (j, motor) in file.motors.iter().enumerate() {
        let given = (
            motor.speed_constant_rpm_v,
            motor.resistance_ohm,
            motor.no_load_current_a,
        );
        whole.motors.push(
            if let (Some(rpm_v), Some(resistance), Some(no_load_current)) = given {
                MotorConstants {
                    constant: constant_of_speed_constant(rpm_v),
                    resistance,
                    no_load_current,
                }
            } else {
                let i = file
                    .propellers
                    .iter()
                    .position(|one| one.name == motor.propeller && one.measured.is_some());
                let found = worked_out(file, i, Some(j), &mut made)?;
                let found = found.motor.expect("a motor was asked for");
                say_motor(motor, &found, &mut whole.worked_out);
                MotorConstants {
                    constant: found.constant.0.value,
                    resistance: found.resistance_ohm.0.value,
                    no_load_current: found.no_load_current_a.0.value,
                }
            },
        );
    }
    Ok(whole)
}

fn row(row: &crate::airframe_file::PropellerRow) -> PropellerRow {
    PropellerRow {
        advance_ratio: row.advance_ratio,
        thrust_coefficient: row.thrust_coefficient,
        power_coefficient: row.power_coefficient,
    }
}

fn worked_out(
    file: &AirframeFile,
    i: Option<usize>,
    j: Option<usize>,
    made: &mut Made,
) -> Result<PropulsionEstimate, Problem> {
    let propeller = i.and_then(|i| propeller_measured(&file.propellers[i]));
    let motor = j.map(|j| motor_measured(&file.motors[j]));
    if let Some((.., found)) = made.iter().find(|one| one.0 == propeller && one.1 == motor) {
        return Ok(found.clone());
    }
    let found =
        estimate(propeller.as_ref(), motor.as_ref()).map_err(|error| problem(file, i, j, error))?;
    made.push((propeller, motor, found.clone()));
    Ok(found)
}

pub(super) fn propeller_measured(propeller: &Propeller) -> Option<PropellerMeasured> {
    let measured = propeller.measured.as_ref()?;
    Some(PropellerMeasured {
        diameter_m: m_from_mm(propeller.diameter_mm),
        blades: measured.blades,
        pitch_m: measured.pitch_mm.map(m_from_mm),
        mean_chord_m: measured.mean_chord_mm.map(m_from_mm),
        static_thrust_n: measured
            .static_thrust_mn
            .map(n_from_mn)
            .or(measured.static_thrust_g.map(n_from_gram_force)),
        current_a: measured.at_current_a,
        voltage_v: measured.at_voltage_v,
        speed_rad_s: measured.at_rpm.map(rad_s_from_rpm),
    })
}

fn motor_measured(motor: &Motor) -> MotorMeasured {
    let measured = motor.measured.clone().unwrap_or_default();
    MotorMeasured {
        constant: motor.speed_constant_rpm_v.map(constant_of_speed_constant),
        resistance_ohm: motor.resistance_ohm,
        no_load_current_a: motor.no_load_current_a,
        no_load: measured
            .no_load_voltage_v
            .zip(measured.no_load_rpm.map(rad_s_from_rpm)),
        stall: measured.stall_voltage_v.zip(measured.stall_current_a),
        can_diameter_m: measured.can_diameter_mm.map(m_from_mm),
    }
}

/// Which field an error is about.
fn problem(
    file: &AirframeFile,
    i: Option<usize>,
    j: Option<usize>,
    error: PropulsionError,
) -> Problem {
    use PropulsionError as E;
    let top = FieldPath::default();
    let of_propeller = i.map(|i| {
        let measured = file.propellers[i]
            .measured
            .as_ref()
            .expect("it has measurements");
        let at = top.key("propellers").index(i).key("measured");
        let thrust = if measured.static_thrust_g.is_some() {
            "static_thrust_g"
        } else {
            "static_thrust_mN"
        };
        let speed = if measured.at_rpm.is_some() {
            "at_rpm"
        } else {
            thrust
        };
        match error {
            E::ThrustBeyondDisc { .. }
            | E::ThrustUnlikely { .. }
            | E::EfficiencyBeyondMotor { .. } => at.key(thrust),
            E::FasterThanFree { .. } => at.key(speed),
            E::CurrentAtStall { .. } | E::NoLoadCurrentTooLarge { .. } => at.key("at_current_A"),
            _ => at,
        }
    });
    let of_motor = j.map(|j| {
        let at = top.key("motors").index(j);
        if file.motors[j].measured.is_some() {
            at.key("measured")
        } else {
            at
        }
    });
    let (at, wanted) = match error {
        E::NotEnough { .. } => (
            of_motor.or(of_propeller),
            "measurements that fix the motor's constants",
        ),
        E::ThrustUnlikely { .. } => (
            of_propeller.or(of_motor),
            "the thrust of one propeller, within three times either way; look at grams and mN, at the speed, and at blades and pitch",
        ),
        E::FasterThanFree { .. } => (
            of_propeller.or(of_motor),
            "a speed the motor can reach; look at speed, voltage and speed constant, or measure \"at_rpm\"",
        ),
        E::NoThrust => (
            of_propeller.or(of_motor),
            "blades and a pitch that give thrust",
        ),
        _ => (
            of_propeller.or(of_motor),
            "measurements that agree with one another",
        ),
    };
    Problem::new(at.unwrap_or(top), error.to_string(), wanted)
}

fn say_propeller(propeller: &Propeller, table: &PropellerEstimate, list: &mut Vec<WorkedOut>) {
    let mut say = |name: &str, unit, value, one_sigma| {
        list.push(WorkedOut {
            path: format!("propellers.{}.{name}", propeller.name),
            unit,
            value,
            one_sigma,
            method: table.method.clone(),
        });
    };
    for (k, row) in table.rows.iter().enumerate() {
        let ratio = row.advance_ratio;
        say(
            &format!("thrust_coefficient at advance ratio {ratio:.3}"),
            "",
            row.thrust_coefficient,
            table.thrust_one_sigma[k],
        );
        say(
            &format!("power_coefficient at advance ratio {ratio:.3}"),
            "",
            row.power_coefficient,
            table.power_one_sigma[k],
        );
    }
    if let Some(speed) = table.static_speed_rad_s {
        let rpm = 60.0 / TAU;
        say(
            "rotor speed at rest",
            "rpm",
            speed.value * rpm,
            speed.one_sigma * rpm,
        );
    }
}

fn say_motor(motor: &Motor, found: &MotorEstimate, list: &mut Vec<WorkedOut>) {
    let (constant, constant_method) = found.constant;
    let speed_constant = 60.0 / (TAU * constant.value);
    let (resistance, resistance_method) = found.resistance_ohm;
    let (current, current_method) = found.no_load_current_a;
    for (name, unit, value, one_sigma, method, given) in [
        (
            "speed_constant_rpm_V",
            "rpm/V",
            speed_constant,
            speed_constant * constant.one_sigma / constant.value,
            constant_method,
            motor.speed_constant_rpm_v,
        ),
        (
            "resistance_ohm",
            "ohm",
            resistance.value,
            resistance.one_sigma,
            resistance_method,
            motor.resistance_ohm,
        ),
        (
            "no_load_current_A",
            "A",
            current.value,
            current.one_sigma,
            current_method,
            motor.no_load_current_a,
        ),
    ] {
        if given.is_none() {
            list.push(WorkedOut {
                path: format!("motors.{}.{name}", motor.name),
                unit,
                value,
                one_sigma,
                method: method.words().to_owned(),
            });
        }
    }
}
