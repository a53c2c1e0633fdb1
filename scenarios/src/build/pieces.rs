//! What parts, surfaces and propellers of an airframe come to by themselves, before anything is measured from a balance point. Airframes that have
//! them in common share them.

use super::PartMass;
use super::disc::near_surfaces;
use super::mass::{outermost_corners, part_mass_of, shapes_of, whole_of};
use super::propulsion::{Propulsion, propulsion};
use super::surfaces::{outermost_of, panels_of, sections_of};
use crate::airframe_file::{AirframeFile, Motor, Part, Propeller, Surface as SurfaceFile};
use crate::error::Problem;
use sim_core::aero::post_stall::Panel;
use sim_core::estimate::geometry::Section;
use sim_core::frames::BuilderPoint;
use sim_core::mass::MassProperties;
use sim_core::power::disc::near::NearSurface;
use std::sync::Arc;

/// The pieces of a checked airframe.
#[derive(Clone, Debug)]
pub(crate) struct Pieces {
    pub parts: Vec<Arc<PartPiece>>,
    pub surfaces: Arc<SurfacePieces>,
    pub power: Arc<PowerPieces>,
}

/// A part by itself.
#[derive(Debug)]
pub(crate) struct PartPiece {
    of: Part,
    pub mass: PartMass,
    /// Its outermost points and those of its mirror image.
    pub corners: Vec<BuilderPoint>,
}

/// The surfaces by themselves.
#[derive(Debug)]
pub(crate) struct SurfacePieces {
    of: Vec<SurfaceFile>,
    pub panels: Vec<Panel>,
    pub corners: Vec<BuilderPoint>,
    pub near: Vec<NearSurface>,
    /// Sections of each.
    pub sections: Vec<Vec<Section>>,
}

/// Propellers and motors by themselves.
#[derive(Debug)]
pub(crate) struct PowerPieces {
    of: (Vec<Propeller>, Vec<Motor>),
    pub propulsion: Propulsion,
}

impl Pieces {
    /// Of a checked airframe, outlines written down; what it has in common with another is taken from there.
    ///
    /// # Errors
    /// Where measurements of motors and propellers do not agree.
    pub fn of(file: &AirframeFile, before: Option<&Pieces>) -> Result<Self, Problem> {
        let parts = file.mass.parts.iter().flatten().enumerate();
        Ok(Pieces {
            parts: parts
                .map(|(i, part)| {
                    let same = before.and_then(|before| before.parts.get(i));
                    let same = same.filter(|piece| piece.of == *part);
                    same.map_or_else(|| Arc::new(PartPiece::of(part)), Arc::clone)
                })
                .collect(),
            surfaces: match before.filter(|before| before.surfaces.of == file.surfaces) {
                Some(before) => Arc::clone(&before.surfaces),
                None => Arc::new(SurfacePieces::of(file)),
            },
            power: match before.filter(|before| before.power.is_of(file)) {
                Some(before) => Arc::clone(&before.power),
                None => Arc::new(PowerPieces {
                    of: (file.propellers.clone(), file.motors.clone()),
                    propulsion: propulsion(file)?,
                }),
            },
        })
    }
}

impl Pieces {
    /// Mass, balance point and inertia of the whole airframe.
    pub fn whole(&self, file: &AirframeFile) -> MassProperties {
        self.whole_and_parts(file).0
    }

    /// The same, with those of each part.
    pub fn whole_and_parts(&self, file: &AirframeFile) -> (MassProperties, Vec<PartMass>) {
        let masses = || self.parts.iter().map(|part| part.mass.clone()).collect();
        whole_of(&file.mass, masses)
    }
}

impl PartPiece {
    fn of(part: &Part) -> Self {
        let shapes = shapes_of(part);
        PartPiece {
            of: part.clone(),
            corners: shapes.iter().flat_map(outermost_corners).collect(),
            mass: part_mass_of(part, &shapes),
        }
    }
}

impl SurfacePieces {
    fn of(file: &AirframeFile) -> Self {
        SurfacePieces {
            of: file.surfaces.clone(),
            panels: file.surfaces.iter().flat_map(panels_of).collect(),
            corners: file.surfaces.iter().flat_map(outermost_of).collect(),
            near: near_surfaces(file),
            sections: file.surfaces.iter().map(sections_of).collect(),
        }
    }
}

impl PowerPieces {
    fn is_of(&self, file: &AirframeFile) -> bool {
        let (propellers, motors) = &self.of;
        let same = |(a, b): (&Motor, &Motor)| {
            (&a.name, &a.propeller) == (&b.name, &b.propeller)
                && a.measured == b.measured
                && a.speed_constant_rpm_v == b.speed_constant_rpm_v
                && a.resistance_ohm == b.resistance_ohm
                && a.no_load_current_a == b.no_load_current_a
        };
        *propellers == file.propellers
            && motors.len() == file.motors.len()
            && motors.iter().zip(&file.motors).all(same)
    }
}
