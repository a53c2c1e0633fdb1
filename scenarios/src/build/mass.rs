//! Parts and measured values to mass, balance point and inertia.

use crate::airframe_file::{Corner, Mass, Measured, Part, Plane, SheetPart};
use crate::outline::polygon::hull;
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
            let corner = |c: &Corner| {
                let (station, right, up) = match sheet.plane {
                    Plane::Level => (c.station_mm, c.right_mm.unwrap_or(0.0), up),
                    Plane::Upright => (c.station_mm, right, c.up_mm.unwrap_or(0.0)),
                };
                BuilderPoint::new(m_from_mm(station), m_from_mm(right), m_from_mm(up))
            };
            let polygon = |corners: &[Corner]| corners.iter().map(corner).collect();
            PartShape::Sheet {
                outline: polygon(&sheet.outline),
                holes: sheet.holes.iter().map(|hole| polygon(hole)).collect(),
                plane: match sheet.plane {
                    Plane::Level => SheetPlane::Level,
                    Plane::Upright => SheetPlane::Upright,
                },
                areal_density_kg_m2: kg_from_g(areal_density_g_m2(sheet)),
                thickness_m: m_from_mm(f64::from(sheet.layers) * sheet.thickness_mm),
            }
        }
    }
}

/// Mass per area of all layers with their facings, g/m².
fn areal_density_g_m2(sheet: &SheetPart) -> f64 {
    let facings =
        f64::from(sheet.faced_sides.unwrap_or(0)) * sheet.facing_areal_density_g_m2.unwrap_or(0.0);
    f64::from(sheet.layers) * (sheet.areal_density_g_m2 + facings)
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
            holes,
            plane,
            areal_density_kg_m2,
            thickness_m,
        } => PartShape::Sheet {
            outline: mirror(&outline),
            holes: holes.iter().map(|hole| mirror(hole)).collect(),
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

/// A part's outermost points: of a sheet with many corners (a drawn one) only those that stand out.
pub(crate) fn outermost_corners(shape: &PartShape) -> Vec<BuilderPoint> {
    /// Up to here all corners are taken: looking for the ones that stand out pays in flight only for drawn outlines.
    const FEW: usize = 16;
    let corners = shape.corners();
    let PartShape::Sheet { plane, .. } = shape else {
        return corners;
    };
    if corners.len() <= FEW {
        return corners;
    }
    let flat = |corner: &BuilderPoint| match plane {
        SheetPlane::Level => (corner.station_m, corner.right_m),
        SheetPlane::Upright => (corner.station_m, corner.up_m),
    };
    let standing_out = hull(&corners.iter().map(flat).collect::<Vec<_>>());
    let mut corners = corners;
    corners.retain(|corner| standing_out.contains(&flat(corner)));
    corners
}

/// What a part weighs and where.
pub(crate) fn part_mass(part: &Part) -> PartMass {
    part_mass_of(part, &shapes_of(part))
}

/// The same, of its copies' shapes.
pub(super) fn part_mass_of(part: &Part, shapes: &[PartShape]) -> PartMass {
    let copies: Vec<MassProperties> = shapes.iter().map(PartShape::mass_properties).collect();
    PartMass {
        name: part.name().to_owned(),
        copies: copies.len(),
        properties: combine(&copies),
        centroid: copies[0].balance,
    }
}

/// Mass, balance point and inertia of the whole airframe, and of each part.
pub(crate) fn whole(mass: &Mass) -> (MassProperties, Vec<PartMass>) {
    let parts = mass.parts.iter().flatten();
    whole_of(mass, || parts.map(part_mass).collect())
}

/// The same, where its parts' masses are known.
pub(super) fn whole_of(
    mass: &Mass,
    parts: impl FnOnce() -> Vec<PartMass>,
) -> (MassProperties, Vec<PartMass>) {
    match &mass.measured {
        Some(measured) => (measured_mass(measured), Vec::new()),
        None => {
            let mut parts = parts();
            parts.extend(glue(mass, &parts));
            let each: Vec<MassProperties> = parts.iter().map(|part| part.properties).collect();
            (combine(&each), parts)
        }
    }
}

/// Name of the row that glue given as a fraction has among the parts.
pub(crate) const GLUE: &str = "glue";

/// The glue, where it is given as a fraction above 0: spread as sheets, strips and rods are.
fn glue(mass: &Mass, parts: &[PartMass]) -> Option<PartMass> {
    let fraction = mass.glue_fraction.filter(|&fraction| fraction > 0.0)?;
    let is_glued = |part: &Part| !matches!(part, Part::Point(_));
    let glued: Vec<MassProperties> = mass
        .parts
        .iter()
        .flatten()
        .zip(parts)
        .filter(|(part, _)| is_glued(part))
        .map(|(_, mass)| mass.properties)
        .collect();
    let properties = combine(&glued).scaled(fraction);
    (!glued.is_empty()).then(|| PartMass {
        name: GLUE.to_owned(),
        copies: 1,
        properties,
        centroid: properties.balance,
    })
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
