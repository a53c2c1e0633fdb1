//! Checks of parts, of measured mass, and of the inertia they come to.

use super::Check;
use super::planar::Planar;
use crate::airframe_file::{Mass, Measured, Part, SheetPart};
use crate::build::{GLUE, whole};
use crate::check::{names_are_unique, not_negative, over_zero, within};
use crate::error::{Problem, number, quoted};
use crate::field::FieldPath;
use crate::outline::polygon;
use sim_core::mass::inertia_is_physical;

/// Relative excess of one principal moment over the sum of the others that measuring may cause.
const MEASURED_SLACK: f64 = 0.02;
/// The same for added-up parts: rounding only.
const COMPUTED_SLACK: f64 = 1e-9;
/// Smallest principal moment over the largest: below it the airframe would be a needle, and its inverse rounding noise.
const FLATTEST: f64 = 1e-6;

/// Parts that are among `right` at the same place are not looked at again.
pub(super) fn mass(mass: &Mass, at: &FieldPath, right: Option<&[Part]>) -> Check {
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
        (Some(list), None) => parts(list, &at.key("parts"), right.unwrap_or_default())?,
        (None, Some(given)) => measured(given, &at.key("measured"))?,
    }
    glue(mass, at)?;
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

fn parts(parts: &[Part], at: &FieldPath, right: &[Part]) -> Check {
    if parts.is_empty() {
        return Err(Problem::new(
            at.clone(),
            "an empty list",
            "one part at least",
        ));
    }
    names_are_unique(at, "name", parts.iter().map(Part::name))?;
    for (i, part) in parts.iter().enumerate() {
        if right.get(i) == Some(part) {
            continue;
        }
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
    whole_number(at, "layers", sheet.layers, 1, MOST_LAYERS)?;
    facing(sheet, at)?;
    let flat = Planar {
        what: "sheet",
        plane: sheet.plane,
        right_mm: sheet.right_mm,
        up_mm: sheet.up_mm,
    };
    flat.has_its_place(at)?;
    let outline_at = at.key("outline");
    let outline = flat.corners(&sheet.outline, &outline_at)?;
    polygon::is_simple(&outline, &outline_at)?;
    let mut holes: Vec<Vec<polygon::Flat>> = Vec::new();
    for (k, hole) in sheet.holes.iter().enumerate() {
        let at = at.key("holes").index(k);
        let hole = flat.corners(hole, &at)?;
        polygon::is_simple(&hole, &at)?;
        if let Some(found) = polygon::hole_fault(&outline, &holes, &hole) {
            let wanted = "holes inside the outline and apart from one another";
            return Err(Problem::new(at, found, wanted));
        }
        holes.push(hole);
    }
    Ok(())
}

/// Most sheets on one another.
const MOST_LAYERS: u32 = 100;

fn facing(sheet: &SheetPart, at: &FieldPath) -> Check {
    match (sheet.facing_areal_density_g_m2, sheet.faced_sides) {
        (None, None) => Ok(()),
        (Some(density), Some(sides)) => {
            not_negative(at, "facing_areal_density_g_m2", density)?;
            whole_number(at, "faced_sides", sides, 0, 2)
        }
        (Some(_), None) => {
            let wanted = "0, 1 or 2, with facing_areal_density_g_m2";
            Err(Problem::new(at.key("faced_sides"), "nothing", wanted))
        }
        (None, Some(_)) => {
            let wanted = "the mass of the facing, with faced_sides";
            Err(Problem::new(
                at.key("facing_areal_density_g_m2"),
                "nothing",
                wanted,
            ))
        }
    }
}

fn whole_number(at: &FieldPath, name: &str, value: u32, least: u32, most: u32) -> Check {
    if (least..=most).contains(&value) {
        return Ok(());
    }
    let wanted = format!("a whole number from {least} to {most}");
    Err(Problem::new(at.key(name), value.to_string(), wanted))
}

fn glue(mass: &Mass, at: &FieldPath) -> Check {
    /// More glue than this is no glue fraction.
    const MOST: f64 = 1.0;
    let Some(fraction) = mass.glue_fraction else {
        return Ok(());
    };
    within(at, "glue_fraction", fraction, 0.0, MOST)?;
    let Some(parts) = &mass.parts else {
        let wanted = "none where the mass is measured: it holds the glue";
        return Err(Problem::new(
            at.key("glue_fraction"),
            number(fraction),
            wanted,
        ));
    };
    if let Some(i) = parts
        .iter()
        .position(|part| part.name() == GLUE && fraction > 0.0)
    {
        let wanted = "another name, or no glue_fraction: its glue is listed by that name";
        return Err(Problem::new(
            at.key("parts").index(i).key("name"),
            quoted(GLUE),
            wanted,
        ));
    }
    Ok(())
}
