//! Checks of parts, of measured mass, and of the inertia they come to.

use super::{Check, outline};
use crate::airframe_file::{Mass, Measured, Part, Plane, SheetPart};
use crate::build::whole;
use crate::check::{names_are_unique, over_zero};
use crate::error::{Problem, number};
use crate::field::FieldPath;
use sim_core::mass::inertia_is_physical;

/// Relative excess of one principal moment over the sum of the others that measuring may cause.
const MEASURED_SLACK: f64 = 0.02;
/// The same for added-up parts: rounding only.
const COMPUTED_SLACK: f64 = 1e-9;
/// Smallest principal moment over the largest: below it the airframe would be a needle, and its inverse rounding noise.
const FLATTEST: f64 = 1e-6;

pub(super) fn mass(mass: &Mass, at: &FieldPath) -> Check {
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
    let outline_at = at.key("outline");
    let mut corners = Vec::new();
    for (k, corner) in sheet.outline.iter().enumerate() {
        let across = in_plane(&outline_at.index(k), corner.right_mm, corner.up_mm, level)?;
        corners.push((corner.station_mm, across));
    }
    outline::is_simple(&corners, &outline_at)
}
