//! Whether an airframe makes sense: ranges and references, after its form is known to be right.

use crate::airframe_file::{
    AirframeFile, Cell, Mass, Measured, Motor, Part, Plane, Propeller, Reference, SheetPart, Stall,
    Surface, Tab,
};
use crate::build::{Side, mount_place, side_of};
use crate::build_mass::{PartMass, part_mass, whole};
use crate::check::{name_is_plain, names_are_unique, not_negative, over_zero, within};
use crate::error::{Problem, number, one_of, quoted};
use crate::field::FieldPath;
use crate::outline_check;
use sim_core::mass::inertia_is_physical;

type Check = Result<(), Problem>;

/// Relative excess of one principal moment over the sum of the others that measuring may cause.
const MEASURED_SLACK: f64 = 0.02;
/// The same for added-up parts: rounding only.
const COMPUTED_SLACK: f64 = 1e-9;
/// Smallest principal moment over the largest: below it the airframe would be a needle, and its inverse rounding noise.
const FLATTEST: f64 = 1e-6;

/// Checks everything but the form.
pub(crate) fn check(file: &AirframeFile) -> Check {
    let top = FieldPath::default();
    name_is_plain(&top.key("name"), &file.name)?;
    mass(&file.mass, &top.key("mass"))?;
    surfaces(&file.surfaces, &top.key("surfaces"))?;
    reference(&file.reference, &top.key("reference"))?;
    tabs(&file.tabs, &top.key("tabs"))?;
    not_negative(
        &top.key("coefficients").key("drag_min"),
        "value",
        file.coefficients.drag_min.value,
    )?;
    not_negative(
        &top.key("coefficients").key("drag_factor"),
        "value",
        file.coefficients.drag_factor.value,
    )?;
    stall(&file.stall, &top.key("stall"))?;
    match (&file.cell, file.motors.is_empty()) {
        (Some(given), false) => cell(given, &top.key("cell"))?,
        (None, false) => {
            return Err(Problem::new(
                top.key("cell"),
                "nothing",
                "the cell that feeds the motors",
            ));
        }
        (Some(_), true) => {
            return Err(Problem::new(
                top.key("cell"),
                "a cell",
                "none in an airframe without motors",
            ));
        }
        (None, true) => {}
    }
    propellers(&file.propellers, &top.key("propellers"))?;
    motors(file, &top.key("motors"))
}

fn mass(mass: &Mass, at: &FieldPath) -> Check {
    match (&mass.parts, &mass.measured) {
        (Some(_), Some(_)) => {
            let wanted = "\"parts\" or \"measured\", not both";
            return Err(Problem::new(
                at.clone(),
                "\"parts\" and \"measured\"",
                wanted,
            ));
        }
        (None, None) => {
            let wanted = "\"parts\" or \"measured\"";
            return Err(Problem::new(
                at.clone(),
                "neither \"parts\" nor \"measured\"",
                wanted,
            ));
        }
        (Some(list), None) => parts(list, &at.key("parts"))?,
        (None, Some(given)) => measured(given, &at.key("measured"))?,
    }
    let (whole, _) = whole(mass);
    let slack = if mass.measured.is_some() {
        MEASURED_SLACK
    } else {
        COMPUTED_SLACK
    };
    let moments = whole.inertia_kg_m2.symmetric_eigenvalues();
    let flat = moments.min() < FLATTEST * moments.max();
    if inertia_is_physical(&whole.inertia_kg_m2, slack) && !flat {
        return Ok(());
    }
    let mut sorted: Vec<f64> = moments.iter().copied().collect();
    sorted.sort_by(f64::total_cmp);
    let found = format!(
        "principal moments of inertia {:.3e}, {:.3e} and {:.3e} kg m²",
        sorted[0], sorted[1], sorted[2]
    );
    Err(if mass.measured.is_some() {
        let wanted =
            "moments a real body can have: all over 0, none above the sum of the other two";
        Problem::new(at.key("measured"), found, wanted)
    } else {
        let wanted = "mass spread along more than one line";
        Problem::new(at.key("parts"), found, wanted)
    })
}

fn measured(measured: &Measured, at: &FieldPath) -> Check {
    over_zero(at, "mass_g", measured.mass_g)?;
    over_zero(at, "inertia_xx_kg_m2", measured.inertia_xx_kg_m2)?;
    over_zero(at, "inertia_yy_kg_m2", measured.inertia_yy_kg_m2)?;
    over_zero(at, "inertia_zz_kg_m2", measured.inertia_zz_kg_m2)
}

fn parts(parts: &[Part], at: &FieldPath) -> Check {
    if parts.is_empty() {
        return Err(Problem::new(
            at.clone(),
            "an empty list",
            "one part at least",
        ));
    }
    names_are_unique(at, "name", parts.iter().map(Part::name))?;
    for (i, part) in parts.iter().enumerate() {
        let at = at.index(i);
        match part {
            Part::Point(point) => over_zero(&at, "mass_g", point.mass_g)?,
            Part::Rod(rod) => {
                over_zero(&at, "mass_g", rod.mass_g)?;
                if rod.from == rod.to {
                    let wanted = "another place than its other end; a \"point\" has no length";
                    return Err(Problem::new(at.key("to"), "the place of \"from\"", wanted));
                }
            }
            Part::Strip(strip) => {
                over_zero(&at, "linear_density_g_m", strip.linear_density_g_m)?;
                for (k, leg) in strip.path.windows(2).enumerate() {
                    if leg[0] == leg[1] {
                        let wanted = "another place than the one before";
                        return Err(Problem::new(
                            at.key("path").index(k + 1),
                            "the same place twice",
                            wanted,
                        ));
                    }
                }
            }
            Part::Sheet(sheet) => self::sheet(sheet, &at)?,
        }
    }
    Ok(())
}

fn sheet(sheet: &SheetPart, at: &FieldPath) -> Check {
    over_zero(at, "areal_density_g_m2", sheet.areal_density_g_m2)?;
    over_zero(at, "thickness_mm", sheet.thickness_mm)?;
    let level = sheet.plane == Plane::Level;
    let word = if level { "level" } else { "upright" };
    let needed = |at: &FieldPath, name: &str, value: Option<f64>| {
        value.ok_or_else(|| {
            Problem::new(
                at.key(name),
                "nothing",
                format!("a number, in a sheet with plane \"{word}\""),
            )
        })
    };
    let refused = |at: &FieldPath, name: &str, value: Option<f64>| match value {
        Some(given) => {
            let wanted = format!("none in a sheet with plane \"{word}\"");
            Err(Problem::new(at.key(name), number(given), wanted))
        }
        None => Ok(()),
    };
    let in_plane = |at: &FieldPath, right: Option<f64>, up: Option<f64>, across_is_right: bool| {
        if across_is_right {
            refused(at, "up_mm", up)?;
            needed(at, "right_mm", right)
        } else {
            refused(at, "right_mm", right)?;
            needed(at, "up_mm", up)
        }
    };
    // A level sheet's corners go by right and its place by up; an upright one's the other way round.
    in_plane(at, sheet.right_mm, sheet.up_mm, !level)?;
    let outline = at.key("outline");
    let mut corners = Vec::new();
    for (k, corner) in sheet.outline.iter().enumerate() {
        let across = in_plane(&outline.index(k), corner.right_mm, corner.up_mm, level)?;
        corners.push((corner.station_mm, across));
    }
    outline_check::is_simple(&corners, &outline)
}

fn surfaces(surfaces: &[Surface], at: &FieldPath) -> Check {
    if surfaces.is_empty() {
        return Err(Problem::new(
            at.clone(),
            "an empty list",
            "one surface at least",
        ));
    }
    names_are_unique(
        at,
        "name",
        surfaces.iter().map(|surface| surface.name.as_str()),
    )?;
    for (i, surface) in surfaces.iter().enumerate() {
        let at = at.index(i);
        over_zero(&at, "root_chord_mm", surface.root_chord_mm)?;
        not_negative(&at, "tip_chord_mm", surface.tip_chord_mm)?;
        over_zero(&at, "half_span_mm", surface.half_span_mm)?;
        within(
            &at,
            "leading_edge_sweep_deg",
            surface.leading_edge_sweep_deg,
            -85.0,
            85.0,
        )?;
        within(&at, "dihedral_deg", surface.dihedral_deg, -90.0, 90.0)?;
    }
    Ok(())
}

fn reference(reference: &Reference, at: &FieldPath) -> Check {
    over_zero(at, "area_cm2", reference.area_cm2)?;
    over_zero(at, "span_mm", reference.span_mm)?;
    over_zero(at, "chord_mm", reference.chord_mm)
}

fn tabs(tabs: &[Tab], at: &FieldPath) -> Check {
    names_are_unique(at, "name", tabs.iter().map(|tab| tab.name.as_str()))?;
    for (i, tab) in tabs.iter().enumerate() {
        within(&at.index(i), "setting_deg", tab.setting_deg, -60.0, 60.0)?;
    }
    Ok(())
}

fn stall(stall: &Stall, at: &FieldPath) -> Check {
    for (name, value) in [
        ("alpha_stall_deg", stall.alpha_stall_deg),
        ("alpha_blend_deg", stall.alpha_blend_deg),
        ("beta_stall_deg", stall.beta_stall_deg),
        ("beta_blend_deg", stall.beta_blend_deg),
    ] {
        within(at, name, value, 0.1, 90.0)?;
    }
    match stall.normal_force_coefficient_at_90_deg {
        Some(given) => over_zero(at, "normal_force_coefficient_at_90_deg", given),
        None => Ok(()),
    }
}

fn cell(cell: &Cell, at: &FieldPath) -> Check {
    over_zero(at, "capacity_mAh", cell.capacity_mah)?;
    not_negative(at, "internal_resistance_ohm", cell.internal_resistance_ohm)?;
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
    if let Some(k) =
        (1..rows.len()).find(|&k| rows[k].charge_fraction <= rows[k - 1].charge_fraction)
    {
        return charge(k, "more than in the row before");
    }
    if rows[rows.len() - 1].charge_fraction != 1.0 {
        return charge(rows.len() - 1, "1 in the last row");
    }
    rows.iter()
        .enumerate()
        .try_for_each(|(k, row)| over_zero(&table.index(k), "voltage_V", row.voltage_v))
}

fn propellers(propellers: &[Propeller], at: &FieldPath) -> Check {
    names_are_unique(
        at,
        "name",
        propellers.iter().map(|propeller| propeller.name.as_str()),
    )?;
    for (i, propeller) in propellers.iter().enumerate() {
        let at = at.index(i);
        over_zero(&at, "diameter_mm", propeller.diameter_mm)?;
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
        let (table, rows) = (at.key("table"), &propeller.table);
        let ratio = |k: usize, wanted: &str| {
            let at = table.index(k).key("advance_ratio");
            Err(Problem::new(at, number(rows[k].advance_ratio), wanted))
        };
        if rows.len() < 2 {
            return Err(Problem::new(
                table,
                format!("{} rows", rows.len()),
                "two rows at least",
            ));
        }
        if rows[0].advance_ratio != 0.0 {
            return ratio(0, "0 in the first row");
        }
        if let Some(k) =
            (1..rows.len()).find(|&k| rows[k].advance_ratio <= rows[k - 1].advance_ratio)
        {
            return ratio(k, "more than in the row before");
        }
        over_zero(
            &table.index(0),
            "power_coefficient",
            rows[0].power_coefficient,
        )?;
    }
    Ok(())
}

fn motors(file: &AirframeFile, at: &FieldPath) -> Check {
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
    over_zero(at, "speed_constant_rpm_V", motor.speed_constant_rpm_v)?;
    over_zero(at, "resistance_ohm", motor.resistance_ohm)?;
    not_negative(at, "no_load_current_A", motor.no_load_current_a)?;
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

/// What is allowed and still worth saying: where, and what.
pub(crate) fn warnings(file: &AirframeFile) -> Vec<(FieldPath, String)> {
    let top = FieldPath::default();
    let mut list = Vec::new();
    for (i, part) in file.mass.parts.iter().flatten().enumerate() {
        if part.is_mirrored() && side_of(&part_mass(part).centroid) == Side::Centre {
            let text = "its middle lies on the centre line, so that its mirror image lies on top of it and its mass counts twice";
            list.push((
                top.key("mass").key("parts").index(i).key("mirrored"),
                text.to_owned(),
            ));
        }
    }
    for (i, propeller) in file.propellers.iter().enumerate() {
        if !file
            .motors
            .iter()
            .any(|motor| motor.propeller == propeller.name)
        {
            list.push((
                top.key("propellers").index(i),
                "no motor turns this propeller".to_owned(),
            ));
        }
    }
    list
}
