//! Checks of what was measured on propellers and motors, one number at a time; what they say together is judged by the estimate.

use super::super::Check;
use crate::airframe_file::{MeasuredPropeller, Motor};
use crate::check::{not_negative, over_zero, within};
use crate::error::Problem;
use crate::field::FieldPath;

pub(super) fn propeller(measured: &MeasuredPropeller, at: &FieldPath) -> Check {
    if !(1..=8).contains(&measured.blades) {
        return Err(Problem::new(
            at.key("blades"),
            measured.blades.to_string(),
            "a whole number from 1 to 8",
        ));
    }
    for (name, value) in [
        ("pitch_mm", measured.pitch_mm),
        ("mean_chord_mm", measured.mean_chord_mm),
        ("static_thrust_mN", measured.static_thrust_mn),
        ("static_thrust_g", measured.static_thrust_g),
        ("at_current_A", measured.at_current_a),
        ("at_voltage_V", measured.at_voltage_v),
        ("at_rpm", measured.at_rpm),
    ] {
        value.map_or(Ok(()), |value| over_zero(at, name, value))?;
    }
    if measured.static_thrust_mn.is_some() && measured.static_thrust_g.is_some() {
        return Err(Problem::new(
            at.key("static_thrust_g"),
            "\"static_thrust_mN\" as well",
            "the weighed thrust once",
        ));
    }
    together(
        at,
        ("at_current_A", measured.at_current_a),
        ("at_voltage_V", measured.at_voltage_v),
    )?;
    let weighed = measured.static_thrust_mn.or(measured.static_thrust_g);
    if weighed.is_some() && measured.at_rpm.is_none() && measured.at_current_a.is_none() {
        let wanted =
            "\"at_rpm\", or \"at_current_A\" and \"at_voltage_V\", beside the weighed thrust";
        return Err(Problem::new(at.clone(), "a weighed thrust alone", wanted));
    }
    Ok(())
}

pub(super) fn motor(motor: &Motor, at: &FieldPath) -> Check {
    let three = [
        ("speed_constant_rpm_V", motor.speed_constant_rpm_v),
        ("resistance_ohm", motor.resistance_ohm),
        ("no_load_current_A", motor.no_load_current_a),
    ];
    for (name, value) in three {
        match value {
            Some(value) if name == "no_load_current_A" => not_negative(at, name, value)?,
            // From large outrunners to the smallest coreless motors, with room on both sides.
            Some(value) if name == "speed_constant_rpm_V" => {
                within(at, name, value, 50.0, 200_000.0)?
            }
            Some(value) => over_zero(at, name, value)?,
            None if motor.measured.is_none() => {
                let wanted = "a number, or \"measured\" with what was measured on the motor";
                return Err(Problem::new(at.key(name), "nothing", wanted));
            }
            None => {}
        }
    }
    let Some(measured) = &motor.measured else {
        return Ok(());
    };
    let at = at.key("measured");
    if three.iter().all(|(_, value)| value.is_some()) {
        let found = "measurements beside all three of \"speed_constant_rpm_V\", \"resistance_ohm\" and \"no_load_current_A\"";
        return Err(Problem::new(at, found, "one or the other"));
    }
    let (free_rpm, free_v) = (measured.no_load_rpm, measured.no_load_voltage_v);
    let (stall_a, stall_v) = (measured.stall_current_a, measured.stall_voltage_v);
    for (name, value) in [
        ("no_load_rpm", free_rpm),
        ("no_load_voltage_V", free_v),
        ("stall_current_A", stall_a),
        ("stall_voltage_V", stall_v),
        ("can_diameter_mm", measured.can_diameter_mm),
    ] {
        value.map_or(Ok(()), |value| over_zero(&at, name, value))?;
    }
    together(
        &at,
        ("no_load_rpm", free_rpm),
        ("no_load_voltage_V", free_v),
    )?;
    together(
        &at,
        ("stall_current_A", stall_a),
        ("stall_voltage_V", stall_v),
    )
}

/// Two numbers of which one says nothing without the other.
fn together(at: &FieldPath, a: (&str, Option<f64>), b: (&str, Option<f64>)) -> Check {
    let (missing, given) = match (a.1, b.1) {
        (Some(_), None) => (b.0, a.0),
        (None, Some(_)) => (a.0, b.0),
        _ => return Ok(()),
    };
    let wanted = format!("a number beside \"{given}\"");
    Err(Problem::new(at.key(missing), "nothing", wanted))
}
