//! Whether an airframe makes sense: ranges and references, after its form is known to be right.

mod bodies;
mod damper;
mod mass;
mod planar;
mod power;
mod surfaces;

use crate::airframe_file::{AirframeFile, ApparentMass, EstimateAt, Reference, Stall, Tab};
use crate::build::{self, Pieces, Side, part_mass, propulsion, side_of, surfaces_with};
use crate::check::{name_is_plain, names_are_unique, not_negative, over_zero, within};
use crate::error::{Problem, number};
use crate::field::FieldPath;
use sim_core::estimate::geometry::Surface;
use sim_core::mass::MassProperties;

type Check = Result<(), Problem>;

/// Checks everything but the form. Outlines from drawings are written down before.
pub(crate) fn check(file: &AirframeFile) -> Check {
    let top = FieldPath::default();
    name_is_plain(&top.key("name"), &file.name)?;
    mass::mass(&file.mass, &top.key("mass"), None)?;
    surfaces::surfaces(file, &top.key("surfaces"))?;
    bodies::bodies(&file.bodies, &top.key("bodies"))?;
    complete(file, &top)?;
    check_table(file)?;
    power(file, &top)
}

/// Checks cell, propellers, motors and what hangs on them.
fn power(file: &AirframeFile, top: &FieldPath) -> Check {
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
    if let Some(given) = &file.damper {
        damper::damper(file, given, &top.key("damper"))?;
    }
    power::effects(&file.propeller_effects, &top.key("propeller_effects"))?;
    propulsion(file).map(|_| ())
}

/// Checks the coefficient table, what it refers to, tabs and stall.
pub(crate) fn check_table(file: &AirframeFile) -> Check {
    let top = FieldPath::default();
    if let Some(given) = &file.reference {
        reference(given, &top.key("reference"))?;
    }
    if let Some(given) = &file.estimate {
        estimate_at(given, &top.key("estimate"))?;
    }
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
    if let Some(given) = &file.stall {
        stall(given, &top.key("stall"))?;
    }
    Ok(())
}

/// Checks an airframe that differs by numbers from another one which makes sense, up to its table: what is the same in both is not looked at again.
pub(crate) fn check_again(file: &AirframeFile, before: &AirframeFile) -> Check {
    let top = FieldPath::default();
    let same_mass = file.mass == before.mass;
    if !same_mass {
        mass::mass(&file.mass, &top.key("mass"), before.mass.parts.as_deref())?;
    }
    if file.surfaces != before.surfaces {
        surfaces::surfaces(file, &top.key("surfaces"))?;
    }
    if file.bodies != before.bodies {
        bodies::bodies(&file.bodies, &top.key("bodies"))?;
    }
    complete(file, &top)?;
    check_table(file)?;
    // Motors hang on the parts that carry them.
    let same_power = same_mass
        && (&file.cell, &file.propellers) == (&before.cell, &before.propellers)
        && (&file.motors, &file.damper) == (&before.motors, &before.damper)
        && file.propeller_effects == before.propeller_effects;
    if same_power {
        Ok(())
    } else {
        power(file, &top)
    }
}

/// Checks what an estimate may have filled in.
pub(crate) fn check_filled(file: &AirframeFile) -> Check {
    check_filled_with(file, || build::surfaces(file), &build::whole(&file.mass).0)
}

/// The same, where the pieces are known.
pub(crate) fn check_filled_of(file: &AirframeFile, pieces: &Pieces) -> Check {
    let surfaces = || surfaces_with(file, &pieces.surfaces.sections);
    check_filled_with(file, surfaces, &pieces.whole(file))
}

fn check_filled_with(
    file: &AirframeFile,
    surfaces: impl FnOnce() -> Vec<Surface>,
    mass: &MassProperties,
) -> Check {
    let top = FieldPath::default();
    apparent_mass(file, surfaces, &top)?;
    alpha_rate(file, mass, &top.key("coefficients"))
}

/// Coefficients no table can do without.
const NEEDED: [&str; 9] = [
    "lift_alpha_per_rad",
    "drag_min",
    "pitch_alpha_per_rad",
    "pitch_q_per_rad",
    "side_beta_per_rad",
    "roll_beta_per_rad",
    "roll_p_per_rad",
    "yaw_beta_per_rad",
    "yaw_r_per_rad",
];

/// An airframe that is not estimated must give what an estimate would.
fn complete(file: &AirframeFile, at: &FieldPath) -> Check {
    if file.is_estimated() {
        return Ok(());
    }
    let or_estimate = "or \"estimate\": {} for an estimate of what is left out";
    let missing = |name: &str, what: &str| {
        let wanted = format!("{what}, {or_estimate}");
        Err(Problem::new(at.key(name), "nothing", wanted))
    };
    if file.reference.is_none() {
        return missing("reference", "what the coefficients refer to");
    }
    if file.stall.is_none() {
        return missing("stall", "stall angles");
    }
    let left_out = |name: &&&str| {
        let all = file.coefficients.named();
        all.iter()
            .any(|(other, one)| *other == **name && !one.is_given())
    };
    match NEEDED.iter().find(left_out) {
        Some(name) => Err(Problem::new(
            at.key("coefficients").key(name),
            "nothing",
            format!("a coefficient, {or_estimate}"),
        )),
        None => Ok(()),
    }
}

fn estimate_at(estimate: &EstimateAt, at: &FieldPath) -> Check {
    if let Some(airspeed) = estimate.airspeed_m_s {
        within(at, "airspeed_m_s", airspeed, 0.5, 50.0)?;
    }
    match estimate.incidence_deg {
        Some(incidence) => within(at, "incidence_deg", incidence, -10.0, 30.0),
        None => Ok(()),
    }
}

/// Apparent mass comes from plates that make sense, and once (MODEL.md § 5.4).
fn apparent_mass(
    file: &AirframeFile,
    surfaces: impl FnOnce() -> Vec<Surface>,
    top: &FieldPath,
) -> Check {
    if file.flown_apparent_mass() == ApparentMass::None {
        return Ok(());
    }
    if file.coefficients.includes_apparent_mass {
        return Err(Problem::new(
            top.key("apparent_mass"),
            "\"from_surfaces\"",
            "\"none\" beside coefficients that include apparent mass already (includes_apparent_mass): it would count twice",
        ));
    }
    for (i, surface) in surfaces().iter().enumerate() {
        surface.check().map_err(|error| {
            Problem::new(
                top.key("surfaces").index(i),
                error.to_string(),
                "a surface whose apparent mass can be worked out, or \"apparent_mass\": \"none\"",
            )
        })?;
    }
    Ok(())
}

/// Alpha-rate coefficients so large that accelerations would feed themselves are no downwash lag (MODEL.md § 5.2).
fn alpha_rate(file: &AirframeFile, mass: &MassProperties, at: &FieldPath) -> Check {
    /// Densest air flown in, with room, kg/m³.
    const DENSEST: f64 = 1.5;
    let inverse = mass
        .inertia_kg_m2
        .try_inverse()
        .expect("inertia is checked before");
    let table = build::coefficients(file, &mass.balance);
    let feedback = match file.flown_apparent_mass() {
        ApparentMass::None => table.alpha_rate_feedback(DENSEST, mass.mass_kg, &inverse),
        ApparentMass::FromSurfaces => {
            table.alpha_rate_feedback_with_air(DENSEST, mass.mass_kg, &inverse)
        }
    };
    if feedback < 0.5 {
        return Ok(());
    }
    let (lift, pitch) = (
        file.coefficients.lift_alpha_rate_per_rad.value,
        file.coefficients.pitch_alpha_rate_per_rad.value,
    );
    let name = if lift.abs() >= pitch.abs() {
        "lift_alpha_rate_per_rad"
    } else {
        "pitch_alpha_rate_per_rad"
    };
    Err(Problem::new(
        at.key(name).key("value"),
        number(if lift.abs() >= pitch.abs() {
            lift
        } else {
            pitch
        }),
        format!(
            "one {:.0} times smaller: for this mass and inertia accelerations would feed themselves",
            (2.0 * feedback).ceil()
        ),
    ))
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
    for (i, body) in file.bodies.iter().enumerate() {
        if body.is_mirrored() && body.at().right_mm == 0.0 {
            let text = "its middle lies on the centre line, so that its mirror image lies in it and its drag counts twice";
            list.push((top.key("bodies").index(i).key("mirrored"), text.to_owned()));
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
