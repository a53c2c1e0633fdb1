//! What the air sees beside the surfaces' shape: bodies, and how surfaces are made (MODEL.md § 18.2, 18.3).

use crate::airframe_file::{
    AirframeFile, Body as BodyFile, BoxBody, Doubler as DoublerFile, Edge as EdgeFile, Part, Plane,
    Surface as SurfaceFile,
};
use crate::units::{m_from_mm, place};
use sim_core::estimate::assemble::Skin;
use sim_core::estimate::bodies::{Body, BodyShape};
use sim_core::estimate::friction::{Doubler, Edge};

/// Thickness of a surface that has none and that no sheet part is named after, mm: common foam sheet.
const USUAL_THICKNESS_MM: f64 = 3.0;

/// Bodies of an airframe in file order, mirrored copies right after their originals.
pub(crate) fn bodies(file: &AirframeFile) -> Vec<Body> {
    file.bodies.iter().flat_map(copies_of).collect()
}

/// A body and its mirror image where it has one.
pub(super) fn copies_of(body: &BodyFile) -> Vec<Body> {
    let boxed = |shape, one: &BoxBody| (shape, [one.length_mm, one.width_mm, one.height_mm]);
    let (shape, size_mm) = match body {
        BodyFile::Block(one) => boxed(BodyShape::Block, one),
        BodyFile::RoundedBlock(one) => boxed(BodyShape::RoundedBlock, one),
        BodyFile::Streamlined(one) => boxed(BodyShape::Streamlined, one),
        BodyFile::StackedCanopy(one) => boxed(BodyShape::StackedCanopy, one),
        BodyFile::Rod(rod) => {
            let (long, round) = (rod.length_mm, rod.diameter_mm);
            let size = match rod.plane {
                Plane::Level => [round, long, round],
                Plane::Upright => [round, round, long],
            };
            (BodyShape::Rod, size)
        }
    };
    let own = Body {
        shape,
        size_m: size_mm.map(m_from_mm),
        middle: place(body.at()),
    };
    let image = body.is_mirrored().then(|| Body {
        middle: own.middle.mirrored(),
        ..own
    });
    std::iter::once(own).chain(image).collect()
}

/// How a surface is made. Without a thickness of its own it is as thick as the sheet part of its name.
pub(crate) fn skin(file: &AirframeFile, surface: &SurfaceFile) -> Skin {
    let of_sheet = || {
        file.mass
            .parts
            .iter()
            .flatten()
            .find_map(|part| match part {
                Part::Sheet(sheet) if sheet.name == surface.name => {
                    Some(f64::from(sheet.layers) * sheet.thickness_mm)
                }
                _ => None,
            })
    };
    let thickness_mm = surface.thickness_mm.or_else(of_sheet);
    Skin {
        thickness_m: m_from_mm(thickness_mm.unwrap_or(USUAL_THICKNESS_MM)),
        leading: edge(surface.leading_edge),
        trailing: edge(surface.trailing_edge),
        doublers: surface.doublers.iter().map(doubler).collect(),
    }
}

fn doubler(doubler: &DoublerFile) -> Doubler {
    Doubler {
        thickness_m: m_from_mm(doubler.thickness_mm),
        span_shares: [doubler.from_span_fraction, doubler.to_span_fraction],
        chord_shares: [doubler.from_chord_fraction, doubler.to_chord_fraction],
        leading: edge(doubler.leading_edge),
        trailing: edge(doubler.trailing_edge),
    }
}

fn edge(edge: EdgeFile) -> Edge {
    match edge {
        EdgeFile::Square => Edge::Square,
        EdgeFile::Rounded => Edge::Rounded,
        EdgeFile::Tapered => Edge::Tapered,
    }
}
