//! Checks of cell, propellers, motors and their mounts.

mod measured;

use super::Check;
use crate::airframe_file::{
    AirframeFile, Cell, Motor, Part, Propeller, PropellerEffects, PropellerRow,
};
use crate::build::{PartMass, Side, mount_place, part_mass, side_of};
use crate::check::{names_are_unique, not_negative, over_zero, rises, within};
use crate::error::{Problem, number, one_of, quoted};
use crate::field::FieldPath;

/// Largest advance ratio of a table. Beyond it a propeller is a windmill, and neighbouring rows no longer differ in angle.
const LARGEST_ADVANCE_RATIO: f64 = 20.0;

pub(super) fn cell(cell: &Cell, at: &FieldPath) -> Check {
    over_zero(at, "capacity_mAh", cell.capacity_mah)?;
    // A single cell of a few grams has tenths of an ohm; tens are milliohms taken for ohms.
    within(
        at,
        "internal_resistance_ohm",
        cell.internal_resistance_ohm,
        0.0,
        5.0,
    )?;
    not_negative(at, "electronics_current_A", cell.electronics_current_a)?;
    let table = at.key("open_circuit_voltage");
    let rows = &cell.open_circuit_voltage;
    if rows.len() < 2 {
        return Err(Problem::new(
            table,
            format!("{} rows", rows.len()),
            "two rows at least, from 0 to 1",
        ));
    }
    let charge = |k: usize, wanted: &str| {
        let at = table.index(k).key("charge_fraction");
        Err(Problem::new(at, number(rows[k].charge_fraction), wanted))
    };
    if rows[0].charge_fraction != 0.0 {
        return charge(0, "0 in the first row");
    }
    rises(
        &table,
        "charge_fraction",
        rows.iter().map(|row| row.charge_fraction),
    )?;
    if rows[rows.len() - 1].charge_fraction != 1.0 {
        return charge(rows.len() - 1, "1 in the last row");
    }
    rows.iter()
        .enumerate()
        .try_for_each(|(k, row)| over_zero(&table.index(k), "voltage_V", row.voltage_v))?;
    if let Some(voltage_v) = cell.cut_off_voltage_v {
        over_zero(at, "cut_off_voltage_V", voltage_v)?;
        let full_v = rows[rows.len() - 1].voltage_v;
        if voltage_v >= full_v {
            let wanted = format!("less than the full cell's {} V", number(full_v));
            let at = at.key("cut_off_voltage_V");
            return Err(Problem::new(at, number(voltage_v), wanted));
        }
    }
    Ok(())
}

pub(super) fn propellers(propellers: &[Propeller], at: &FieldPath) -> Check {
    names_are_unique(
        at,
        "name",
        propellers.iter().map(|propeller| propeller.name.as_str()),
    )?;
    for (i, propeller) in propellers.iter().enumerate() {
        let at = at.index(i);
        over_zero(&at, "diameter_mm", propeller.diameter_mm)?;
        if let Some(given) = propeller.blade_side_area_cm2 {
            over_zero(&at, "blade_side_area_cm2", given)?;
            // Blades seen from the side fill a small part of the disc's square.
            let most = propeller.diameter_mm * propeller.diameter_mm * 1e-2 / 4.0;
            within(&at, "blade_side_area_cm2", given, 0.0, most)?;
        }
        not_negative(
            &at,
            "stopped_thrust_coefficient",
            propeller.stopped_thrust_coefficient,
        )?;
        not_negative(
            &at,
            "stopped_torque_coefficient",
            propeller.stopped_torque_coefficient,
        )?;
        match (&propeller.table, &propeller.measured) {
            (Some(rows), None) => table(rows, &at.key("table"))?,
            (None, Some(given)) => measured::propeller(given, &at.key("measured"))?,
            (None, None) => {
                let found = "neither \"table\" nor \"measured\"";
                return Err(Problem::new(at, found, "\"table\" or \"measured\""));
            }
            (Some(_), Some(_)) => {
                let wanted = "\"table\" or \"measured\", not both";
                return Err(Problem::new(at, "\"table\" and \"measured\"", wanted));
            }
        }
    }
    Ok(())
}

fn table(rows: &[PropellerRow], table: &FieldPath) -> Check {
    if rows.len() < 2 {
        return Err(Problem::new(
            table.clone(),
            format!("{} rows", rows.len()),
            "two rows at least",
        ));
    }
    if rows[0].advance_ratio != 0.0 {
        let found = number(rows[0].advance_ratio);
        let at = table.index(0).key("advance_ratio");
        return Err(Problem::new(at, found, "0 in the first row"));
    }
    rises(
        table,
        "advance_ratio",
        rows.iter().map(|row| row.advance_ratio),
    )?;
    for (k, row) in rows.iter().enumerate() {
        within(
            &table.index(k),
            "advance_ratio",
            row.advance_ratio,
            0.0,
            LARGEST_ADVANCE_RATIO,
        )?;
    }
    over_zero(
        &table.index(0),
        "power_coefficient",
        rows[0].power_coefficient,
    )
}

pub(super) fn effects(effects: &PropellerEffects, at: &FieldPath) -> Check {
    for (name, factor) in [
        ("disc_normal_force_factor", effects.disc_normal_force_factor),
        ("wash_factor", effects.wash_factor),
        ("suction_factor", effects.suction_factor),
    ] {
        within(at, name, factor, 0.0, 5.0)?;
    }
    Ok(())
}

pub(super) fn motors(file: &AirframeFile, at: &FieldPath) -> Check {
    const MOST: usize = sim_core::state::MAX_MOTORS;
    if file.motors.len() > MOST {
        return Err(Problem::new(
            at.clone(),
            format!("{} motors", file.motors.len()),
            format!("{MOST} at most"),
        ));
    }
    names_are_unique(
        at,
        "name",
        file.motors.iter().map(|motor| motor.name.as_str()),
    )?;
    let parts: Vec<PartMass> = file.mass.parts.iter().flatten().map(part_mass).collect();
    for (i, motor) in file.motors.iter().enumerate() {
        self::motor(file, motor, &parts, &at.index(i))?;
    }
    Ok(())
}

fn motor(file: &AirframeFile, motor: &Motor, parts: &[PartMass], at: &FieldPath) -> Check {
    let names: Vec<&str> = file
        .propellers
        .iter()
        .map(|propeller| propeller.name.as_str())
        .collect();
    if !names.contains(&motor.propeller.as_str()) {
        let wanted = match names.as_slice() {
            [] => "the name of a propeller; \"propellers\" lists none".to_owned(),
            _ => one_of(names.iter().copied()),
        };
        let problem = Problem::new(at.key("propeller"), quoted(&motor.propeller), wanted);
        return Err(problem.with_nearest(&motor.propeller, names));
    }
    measured::motor(motor, at)?;
    over_zero(at, "rotor_inertia_g_mm2", motor.rotor_inertia_g_mm2)?;
    within(
        at,
        "thrust_elevation_deg",
        motor.thrust_elevation_deg,
        -90.0,
        90.0,
    )?;
    mount(file, motor, &at.key("mount"))?;
    let Some(place) = mount_place(&motor.mount, parts) else {
        return Ok(());
    };
    let (name, turn, other_name, other, where_it_is) = match side_of(&place) {
        Side::Centre => (
            "thrust_right_deg",
            motor.thrust_right_deg,
            "thrust_toe_deg",
            motor.thrust_toe_deg,
            "on the centre line",
        ),
        Side::Left | Side::Right => (
            "thrust_toe_deg",
            motor.thrust_toe_deg,
            "thrust_right_deg",
            motor.thrust_right_deg,
            "off the centre line",
        ),
    };
    if let Some(given) = other {
        let wanted = format!("\"{name}\" instead, for a motor {where_it_is}");
        return Err(Problem::new(at.key(other_name), number(given), wanted));
    }
    within(at, name, turn.unwrap_or(0.0), -90.0, 90.0)
}

fn mount(file: &AirframeFile, motor: &Motor, at: &FieldPath) -> Check {
    let mount = &motor.mount;
    let fixed = [
        ("station_mm", mount.station_mm),
        ("right_mm", mount.right_mm),
        ("up_mm", mount.up_mm),
    ];
    let carried = [
        ("station_from_carrier_mm", mount.station_from_carrier_mm),
        ("right_from_carrier_mm", mount.right_from_carrier_mm),
        ("up_from_carrier_mm", mount.up_from_carrier_mm),
    ];
    let (needed, refused, kind) = match &mount.carried_by {
        Some(_) => (carried, fixed, "a mount with \"carried_by\""),
        None => (fixed, carried, "a mount without \"carried_by\""),
    };
    for (name, value) in refused {
        if let Some(given) = value {
            return Err(Problem::new(
                at.key(name),
                number(given),
                format!("none in {kind}"),
            ));
        }
    }
    for (name, value) in needed {
        if value.is_none() {
            return Err(Problem::new(
                at.key(name),
                "nothing",
                format!("a number, in {kind}"),
            ));
        }
    }
    let Some(carrier) = &mount.carried_by else {
        return Ok(());
    };
    let at = at.key("carried_by");
    let parts = file.mass.parts.as_deref().unwrap_or_default();
    let Some(part) = parts.iter().find(|part| part.name() == carrier) else {
        let names: Vec<&str> = parts.iter().map(Part::name).collect();
        let wanted = match names.as_slice() {
            [] => "a fixed mount, since the mass is measured and not listed by parts".to_owned(),
            _ => format!("the name of a part: {}", one_of(names.iter().copied())),
        };
        return Err(Problem::new(at, quoted(carrier), wanted).with_nearest(carrier, names));
    };
    let centroid = part_mass(part).centroid;
    if part.is_mirrored() && side_of(&centroid) != Side::Centre {
        let found = format!("{}, which stands on both sides", quoted(carrier));
        return Err(Problem::new(
            at,
            found,
            "a part that is not mirrored; write it as two parts",
        ));
    }
    Ok(())
}
