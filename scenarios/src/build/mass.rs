//! Parts and measured values to mass, balance point and inertia.

use crate::airframe_file::{Corner, Mass, Measured, Part, Plane};
use crate::units::{kg_from_g, m_from_mm, place};
use nalgebra::Vector3;
use sim_core::frames::BuilderPoint;
use sim_core::mass::{MassProperties, PartShape, SheetPlane, combine, inertia_tensor};

/// One named part's contribution.
#[derive(Clone, Debug, PartialEq)]
pub struct PartMass {
    /// The part's name.
    pub name: String,
    /// How many of it there are: 2 where it is mirrored.
    pub copies: usize,
    /// Mass, balance point and inertia of all copies together.
    pub properties: MassProperties,
    /// Centroid of the copy the file describes, builder's axes, m: what a motor carried by the part is measured from.
    pub centroid: BuilderPoint,
}

/// The part as the file describes it, without its mirror image.
pub(crate) fn shape_of(part: &Part) -> PartShape {
    match part {
        Part::Point(point) => PartShape::Point {
            at: place(&point.at),
            mass_kg: kg_from_g(point.mass_g),
        },
        Part::Rod(rod) => PartShape::Rod {
            from: place(&rod.from),
            to: place(&rod.to),
            mass_kg: kg_from_g(rod.mass_g),
        },
        Part::Strip(strip) => PartShape::Strip {
            path: strip.path.iter().map(place).collect(),
            linear_density_kg_m: kg_from_g(strip.linear_density_g_m),
        },
        Part::Sheet(sheet) => {
            // Checked before: a level sheet has its height and right-left corners, an upright one the other way round.
            let (right, up) = (sheet.right_mm.unwrap_or(0.0), sheet.up_mm.unwrap_or(0.0));
            let corner = |c: &Corner| match sheet.plane {
                Plane::Level => (c.station_mm, c.right_mm.unwrap_or(0.0), up),
                Plane::Upright => (c.station_mm, right, c.up_mm.unwrap_or(0.0)),
            };
            PartShape::Sheet {
                outline: sheet
                    .outline
                    .iter()
                    .map(|c| {
                        let (station, right, up) = corner(c);
                        BuilderPoint::new(m_from_mm(station), m_from_mm(right), m_from_mm(up))
                    })
                    .collect(),
                plane: match sheet.plane {
                    Plane::Level => SheetPlane::Level,
                    Plane::Upright => SheetPlane::Upright,
                },
                areal_density_kg_m2: kg_from_g(sheet.areal_density_g_m2),
                thickness_m: m_from_mm(sheet.thickness_mm),
            }
        }
    }
}

/// The same shape on the other side of the centre line.
pub(crate) fn mirror_image(shape: &PartShape) -> PartShape {
    let mirror = |points: &[BuilderPoint]| points.iter().map(BuilderPoint::mirrored).collect();
    match shape.clone() {
        PartShape::Point { at, mass_kg } => PartShape::Point {
            at: at.mirrored(),
            mass_kg,
        },
        PartShape::Rod { from, to, mass_kg } => PartShape::Rod {
            from: from.mirrored(),
            to: to.mirrored(),
            mass_kg,
        },
        PartShape::Strip {
            path,
            linear_density_kg_m,
        } => PartShape::Strip {
            path: mirror(&path),
            linear_density_kg_m,
        },
        PartShape::Sheet {
            outline,
            plane,
            areal_density_kg_m2,
            thickness_m,
        } => PartShape::Sheet {
            outline: mirror(&outline),
            plane,
            areal_density_kg_m2,
            thickness_m,
        },
    }
}

/// Every copy of every part.
pub(crate) fn shapes_of(part: &Part) -> Vec<PartShape> {
    let shape = shape_of(part);
    let image = part.is_mirrored().then(|| mirror_image(&shape));
    std::iter::once(shape).chain(image).collect()
}

/// What a part weighs and where.
pub(crate) fn part_mass(part: &Part) -> PartMass {
    let copies: Vec<MassProperties> = shapes_of(part)
        .iter()
        .map(PartShape::mass_properties)
        .collect();
    PartMass {
        name: part.name().to_owned(),
        copies: copies.len(),
        properties: combine(&copies),
        centroid: copies[0].balance,
    }
}

/// Mass, balance point and inertia of the whole airframe, and of each part.
pub(crate) fn whole(mass: &Mass) -> (MassProperties, Vec<PartMass>) {
    match (&mass.measured, &mass.parts) {
        (Some(measured), _) => (measured_mass(measured), Vec::new()),
        (None, parts) => {
            let parts: Vec<PartMass> = parts.iter().flatten().map(part_mass).collect();
            let each: Vec<MassProperties> = parts.iter().map(|part| part.properties).collect();
            (combine(&each), parts)
        }
    }
}

fn measured_mass(measured: &Measured) -> MassProperties {
    MassProperties {
        mass_kg: kg_from_g(measured.mass_g),
        balance: place(&measured.balance),
        inertia_kg_m2: inertia_tensor(
            Vector3::new(
                measured.inertia_xx_kg_m2,
                measured.inertia_yy_kg_m2,
                measured.inertia_zz_kg_m2,
            ),
            measured.product_xy_kg_m2,
            measured.product_xz_kg_m2,
            measured.product_yz_kg_m2,
        ),
    }
}
