//! Outlines out of drawings: reads the SVG files an airframe names and writes their paths down as corners (MODEL.md § 12).

mod drawings;
mod page;
mod path;
mod placed;
pub(crate) mod polygon;

use crate::airframe_file::{AirframeFile, Part};
use crate::error::Problem;
use crate::field::FieldPath;
pub(crate) use drawings::{Drawings, NamedBytes};
use placed::{Drawing, Role};

/// The airframe with every outline written down as corners. `drawings` is none where it did not come from a file.
pub(crate) fn written_down(
    file: &AirframeFile,
    drawings: Option<&Drawings>,
) -> Result<AirframeFile, Problem> {
    let mut file = file.clone();
    let top = FieldPath::default();
    for (i, part) in file.mass.parts.iter_mut().flatten().enumerate() {
        let Part::Sheet(sheet) = part else {
            continue;
        };
        let at = top.key("mass").key("parts").index(i);
        if let Some(drawing) = sheet.outline_svg.take() {
            refuse_both(!sheet.outline.is_empty(), &at)?;
            let role = Role {
                plane: sheet.plane,
                mirrored: sheet.mirrored,
            };
            let drawn = Drawing {
                outline: &drawing,
                role,
                at: &at.key("outline_svg"),
            }
            .corners(drawings)?;
            sheet.outline = drawn.outline;
            sheet.holes.splice(0..0, drawn.holes);
        } else if sheet.outline.is_empty() {
            let wanted = "\"outline\" or \"outline_svg\"";
            return Err(Problem::new(
                at,
                "neither \"outline\" nor \"outline_svg\"",
                wanted,
            ));
        }
    }
    for (i, surface) in file.surfaces.iter_mut().enumerate() {
        let at = top.key("surfaces").index(i);
        if let Some(drawing) = surface.outline_svg.take() {
            refuse_both(!surface.outline.is_empty(), &at)?;
            let plane = surface.plane.ok_or_else(|| plane_needed(&at))?;
            let role = Role {
                plane,
                mirrored: surface.mirrored,
            };
            surface.outline = Drawing {
                outline: &drawing,
                role,
                at: &at.key("outline_svg"),
            }
            .corners(drawings)?
            .outline;
        }
    }
    Ok(file)
}

/// The problem of a surface with an outline and without `plane`.
pub(crate) fn plane_needed(at: &FieldPath) -> Problem {
    let wanted = "\"level\" or \"upright\", in a surface with an outline";
    Problem::new(at.key("plane"), "nothing", wanted)
}

fn refuse_both(has_outline: bool, at: &FieldPath) -> Result<(), Problem> {
    if !has_outline {
        return Ok(());
    }
    let wanted = "one of them";
    Err(Problem::new(
        at.clone(),
        "\"outline\" and \"outline_svg\"",
        wanted,
    ))
}
