//! What a person would draw of an airframe: its parts and surfaces as lines and dots.

use super::mass::shapes_of;
use super::outside::copies_of;
use super::surfaces::panels_of;
use crate::airframe_file::AirframeFile;
use sim_core::frames::BuilderPoint;
use sim_core::mass::PartShape;

/// One thing to draw, builder's axes, m.
#[derive(Clone, Debug, PartialEq)]
pub enum Drawn {
    /// The edge of a part's sheet.
    Sheet(Vec<BuilderPoint>),
    /// A rod or strip.
    Line(Vec<BuilderPoint>),
    /// A lump of mass.
    Lump {
        /// The part's name.
        name: String,
        /// Where.
        at: BuilderPoint,
        /// Mass, kg.
        mass_kg: f64,
    },
    /// A body: the box it fills, by its lowest and highest corner in every direction.
    Body {
        /// Its name.
        name: String,
        /// Foremost, leftmost, lowest corner and the one across from it.
        corners: [BuilderPoint; 2],
    },
    /// The edge of a lifting surface.
    Surface(Vec<BuilderPoint>),
}

/// Everything to draw, parts first, mirrored copies included.
pub fn drawn(file: &AirframeFile) -> Vec<Drawn> {
    let parts = file.mass.parts.iter().flatten().flat_map(|part| {
        shapes_of(part).into_iter().map(move |shape| match shape {
            PartShape::Point { at, mass_kg } => Drawn::Lump {
                name: part.name().to_owned(),
                at,
                mass_kg,
            },
            PartShape::Rod { from, to, .. } => Drawn::Line(vec![from, to]),
            PartShape::Strip { path, .. } => Drawn::Line(path),
            PartShape::Sheet { outline, .. } => Drawn::Sheet(outline),
        })
    });
    let surfaces = file
        .surfaces
        .iter()
        .flat_map(panels_of)
        .map(|panel| Drawn::Surface(panel.corners().to_vec()));
    let bodies = file.bodies.iter().flat_map(|body| {
        copies_of(body).into_iter().map(|copy| {
            let corners = copy.corners();
            Drawn::Body {
                name: body.name().to_owned(),
                corners: [corners[0], corners[7]],
            }
        })
    });
    parts.chain(bodies).chain(surfaces).collect()
}
