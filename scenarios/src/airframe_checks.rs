//! Whether an airframe makes sense: ranges and references, after its form is known to be right.

mod mass;
mod outline;
mod power;

use crate::airframe_file::{AirframeFile, Reference, Stall, Surface, Tab};
use crate::build::{Side, part_mass, propulsion, side_of};
use crate::check::{name_is_plain, names_are_unique, not_negative, over_zero, within};
use crate::error::Problem;
use crate::field::FieldPath;

type Check = Result<(), Problem>;

/// Checks everything but the form.
pub(crate) fn check(file: &AirframeFile) -> Check {
    let top = FieldPath::default();
    name_is_plain(&top.key("name"), &file.name)?;
    mass::mass(&file.mass, &top.key("mass"))?;
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
        (Some(given), false) => power::cell(given, &top.key("cell"))?,
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
    power::propellers(&file.propellers, &top.key("propellers"))?;
    power::motors(file, &top.key("motors"))?;
    propulsion(file).map(|_| ())
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
