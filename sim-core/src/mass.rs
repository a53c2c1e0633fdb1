//! Parts to mass, balance point and inertia (MODEL.md § 3.1).

use crate::frames::BuilderPoint;
use nalgebra::{Matrix3, Vector3};

/// Mass, balance point and inertia of a body or of one part.
///
/// The inertia tensor (kg m²) is about the body's own centre of mass, in body axes, products entering with a minus
/// (+∫xy dm is element −I\[0,1\]).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MassProperties {
    /// Mass, kg.
    pub mass_kg: f64,
    /// Balance point in builder's axes, m.
    pub balance: BuilderPoint,
    /// Inertia tensor about the balance point, body axes, kg m².
    pub inertia_kg_m2: Matrix3<f64>,
}

/// What a part is made like; `mirrored` copies are separate parts.
#[derive(Clone, Debug, PartialEq)]
pub enum PartShape {
    /// All mass at one place.
    Point {
        /// Where, m.
        at: BuilderPoint,
        /// Mass, kg.
        mass_kg: f64,
    },
    /// Mass spread evenly along a straight thin line.
    Rod {
        /// One end, m.
        from: BuilderPoint,
        /// The other end, m.
        to: BuilderPoint,
        /// Mass, kg.
        mass_kg: f64,
    },
    /// A thin line of several legs.
    Strip {
        /// The corners, m.
        path: Vec<BuilderPoint>,
        /// Mass per length, kg/m.
        linear_density_kg_m: f64,
    },
    /// A flat sheet cut to a polygon.
    Sheet {
        /// The polygon's corners in order, either way round, all in one plane, m.
        outline: Vec<BuilderPoint>,
        /// Polygons cut out of it, inside the outline and apart from one another, m.
        holes: Vec<Vec<BuilderPoint>>,
        /// Which way the sheet lies.
        plane: SheetPlane,
        /// Mass per area, kg/m².
        areal_density_kg_m2: f64,
        /// Thickness, m.
        thickness_m: f64,
    },
}

/// Which way a sheet lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SheetPlane {
    /// In station and right, like a wing.
    Level,
    /// In station and up, like a fin.
    Upright,
}

impl PartShape {
    /// Mass, centroid and inertia of the part.
    pub fn mass_properties(&self) -> MassProperties {
        match self {
            PartShape::Point { at, mass_kg } => MassProperties {
                mass_kg: *mass_kg,
                balance: *at,
                inertia_kg_m2: Matrix3::zeros(),
            },
            PartShape::Rod { from, to, mass_kg } => rod(from, to, *mass_kg),
            PartShape::Strip {
                path,
                linear_density_kg_m,
            } => combine(
                &path
                    .windows(2)
                    .map(|leg| {
                        let length = leg[1].in_body(&leg[0]).norm();
                        rod(&leg[0], &leg[1], linear_density_kg_m * length)
                    })
                    .collect::<Vec<_>>(),
            ),
            PartShape::Sheet {
                outline,
                holes,
                plane,
                areal_density_kg_m2,
                thickness_m,
            } => sheet(outline, holes, *plane, *areal_density_kg_m2, *thickness_m),
        }
    }

    /// Corners and ends, the part's outermost points, m.
    pub fn corners(&self) -> Vec<BuilderPoint> {
        match self {
            PartShape::Point { at, .. } => vec![*at],
            PartShape::Rod { from, to, .. } => vec![*from, *to],
            PartShape::Strip { path, .. } => path.clone(),
            PartShape::Sheet { outline, .. } => outline.clone(),
        }
    }
}

impl MassProperties {
    /// The same body with every gram of it `factor` times as heavy.
    pub fn scaled(&self, factor: f64) -> Self {
        MassProperties {
            mass_kg: self.mass_kg * factor,
            balance: self.balance,
            inertia_kg_m2: self.inertia_kg_m2 * factor,
        }
    }
}

/// Sum of parts by the parallel-axis theorem. Mass zero gives a balance point at the datum.
pub fn combine(parts: &[MassProperties]) -> MassProperties {
    let mass_kg: f64 = parts.iter().map(|p| p.mass_kg).sum();
    let mean = |of: fn(&BuilderPoint) -> f64| {
        let moment: f64 = parts.iter().map(|p| p.mass_kg * of(&p.balance)).sum();
        if mass_kg > 0.0 { moment / mass_kg } else { 0.0 }
    };
    let balance = BuilderPoint::new(mean(|b| b.station_m), mean(|b| b.right_m), mean(|b| b.up_m));
    let inertia_kg_m2 = parts
        .iter()
        .map(|p| {
            let d = p.balance.in_body(&balance);
            p.inertia_kg_m2
                + (Matrix3::identity() * d.norm_squared() - d * d.transpose()) * p.mass_kg
        })
        .sum();
    MassProperties {
        mass_kg,
        balance,
        inertia_kg_m2,
    }
}

fn rod(from: &BuilderPoint, to: &BuilderPoint, mass_kg: f64) -> MassProperties {
    let e = to.in_body(from);
    MassProperties {
        mass_kg,
        balance: BuilderPoint::new(
            (from.station_m + to.station_m) / 2.0,
            (from.right_m + to.right_m) / 2.0,
            (from.up_m + to.up_m) / 2.0,
        ),
        inertia_kg_m2: (Matrix3::identity() * e.norm_squared() - e * e.transpose())
            * (mass_kg / 12.0),
    }
}

fn sheet(
    outline: &[BuilderPoint],
    holes: &[Vec<BuilderPoint>],
    plane: SheetPlane,
    density: f64,
    thickness: f64,
) -> MassProperties {
    // In-plane coordinates: a forward (minus station), b right or down, so that body directions follow directly.
    let origin = outline[0];
    let in_plane = |corners: &[BuilderPoint]| -> Vec<(f64, f64)> {
        let flat = |p: &BuilderPoint| {
            let r = p.in_body(&origin);
            match plane {
                SheetPlane::Level => (r.x, r.y),
                SheetPlane::Upright => (r.x, r.z),
            }
        };
        corners.iter().map(flat).collect()
    };
    let holes: Vec<Moments> = holes
        .iter()
        .map(|hole| polygon_moments(&in_plane(hole)))
        .collect();
    let (area, centroid, aa, bb, ab) = without(polygon_moments(&in_plane(outline)), &holes);
    let mass_kg = density * area;
    let (m_aa, m_bb, m_ab) = (density * aa, density * bb, density * ab);
    let m_nn = mass_kg * thickness * thickness / 12.0;
    let (second, balance) = match plane {
        SheetPlane::Level => (
            Matrix3::new(m_aa, m_ab, 0.0, m_ab, m_bb, 0.0, 0.0, 0.0, m_nn),
            BuilderPoint::new(
                origin.station_m - centroid.0,
                origin.right_m + centroid.1,
                origin.up_m,
            ),
        ),
        SheetPlane::Upright => (
            Matrix3::new(m_aa, 0.0, m_ab, 0.0, m_nn, 0.0, m_ab, 0.0, m_bb),
            BuilderPoint::new(
                origin.station_m - centroid.0,
                origin.right_m,
                origin.up_m - centroid.1,
            ),
        ),
    };
    MassProperties {
        mass_kg,
        balance,
        inertia_kg_m2: Matrix3::identity() * second.trace() - second,
    }
}

/// Area, centroid, and second moments ∫a², ∫b², ∫ab about the centroid, of a plane figure.
pub type Moments = (f64, (f64, f64), f64, f64, f64);

/// A figure less the holes in it.
fn without(whole: Moments, holes: &[Moments]) -> Moments {
    if holes.is_empty() {
        return whole;
    }
    let about_origin = |(area, (a, b), aa, bb, ab): Moments| {
        [
            area,
            area * a,
            area * b,
            aa + area * a * a,
            bb + area * b * b,
            ab + area * a * b,
        ]
    };
    let mut left = about_origin(whole);
    for hole in holes {
        for (rest, taken) in left.iter_mut().zip(about_origin(*hole)) {
            *rest -= taken;
        }
    }
    let [area, sa, sb, aa, bb, ab] = left;
    let (a, b) = (sa / area, sb / area);
    (
        area,
        (a, b),
        aa - area * a * a,
        bb - area * b * b,
        ab - area * a * b,
    )
}

/// Area, centroid, and second moments ∫a², ∫b², ∫ab about the centroid, of a simple polygon given either way round.
pub fn polygon_moments(points: &[(f64, f64)]) -> Moments {
    let (mut area, mut sa, mut sb, mut aa, mut bb, mut ab) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
    for (i, &(a0, b0)) in points.iter().enumerate() {
        let (a1, b1) = points[(i + 1) % points.len()];
        let c = a0 * b1 - a1 * b0;
        area += c / 2.0;
        sa += (a0 + a1) * c / 6.0;
        sb += (b0 + b1) * c / 6.0;
        aa += (a0 * a0 + a0 * a1 + a1 * a1) * c / 12.0;
        bb += (b0 * b0 + b0 * b1 + b1 * b1) * c / 12.0;
        ab += (a0 * b1 + 2.0 * a0 * b0 + 2.0 * a1 * b1 + a1 * b0) * c / 24.0;
    }
    let sign = area.signum();
    let (area, ca, cb) = (area * sign, sa / area, sb / area);
    (
        area,
        (ca, cb),
        aa * sign - area * ca * ca,
        bb * sign - area * cb * cb,
        ab * sign - area * ca * cb,
    )
}

/// Whether a tensor can belong to a real body: all principal moments positive and each at most the sum of the others.
///
/// `slack` is the relative excess allowed for measured values.
pub fn inertia_is_physical(inertia: &Matrix3<f64>, slack: f64) -> bool {
    let moments = inertia.symmetric_eigenvalues();
    let sum = moments.sum();
    moments
        .iter()
        .all(|&i| i > 0.0 && i <= (sum - i) * (1.0 + slack))
}

/// Displacement of a measured tensor's entries: moments on the diagonal, products +∫ entering with a minus.
pub fn inertia_tensor(moments: Vector3<f64>, xy: f64, xz: f64, yz: f64) -> Matrix3<f64> {
    Matrix3::new(
        moments.x, -xy, -xz, -xy, moments.y, -yz, -xz, -yz, moments.z,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(station: f64, right: f64, up: f64) -> BuilderPoint {
        BuilderPoint::new(station, right, up)
    }

    // Handbook: rectangular plate a × b × t, mass m: m/12 (b²+t²), m/12 (a²+t²), m/12 (a²+b²) (any mechanics handbook).
    #[test]
    fn rectangular_plate_has_handbook_inertia() {
        let (a, b, t, density) = (0.2, 0.6, 0.003, 0.12);
        let plate = PartShape::Sheet {
            outline: vec![
                at(0.0, -b / 2.0, 0.1),
                at(a, -b / 2.0, 0.1),
                at(a, b / 2.0, 0.1),
                at(0.0, b / 2.0, 0.1),
            ],
            holes: vec![],
            plane: SheetPlane::Level,
            areal_density_kg_m2: density,
            thickness_m: t,
        }
        .mass_properties();
        let m = density * a * b;
        let expected = Matrix3::from_diagonal(&Vector3::new(
            m / 12.0 * (b * b + t * t),
            m / 12.0 * (a * a + t * t),
            m / 12.0 * (a * a + b * b),
        ));
        assert!((plate.mass_kg - m).abs() < 1e-15);
        assert!((plate.inertia_kg_m2 - expected).norm() < 1e-16);
        assert!((plate.balance.station_m - 0.1).abs() < 1e-15 && plate.balance.up_m == 0.1);
    }

    // Handbook: right triangle with legs a, b: centroid at a third; ∫x² about centroid = a³b/36, ∫xy = −a²b²/72.
    #[test]
    fn triangle_moments_match_the_handbook_either_way_round() {
        let (a, b) = (0.3, 0.2);
        for points in [
            [(0.0, 0.0), (a, 0.0), (0.0, b)],
            [(0.0, 0.0), (0.0, b), (a, 0.0)],
        ] {
            let (area, centroid, aa, bb, ab) = polygon_moments(&points);
            assert!((area - a * b / 2.0).abs() < 1e-16);
            assert!((centroid.0 - a / 3.0).abs() < 1e-16 && (centroid.1 - b / 3.0).abs() < 1e-16);
            assert!((aa - a.powi(3) * b / 36.0).abs() < 1e-17);
            assert!((bb - b.powi(3) * a / 36.0).abs() < 1e-17);
            assert!((ab + a * a * b * b / 72.0).abs() < 1e-17);
        }
    }

    // A square ring: outer side s, inner side w, both about one middle: m = σ(s² − w²), ∫a² dm = σ(s⁴ − w⁴)/12 (any mechanics handbook).
    // The same hole moved off the middle: area moments by hand below.
    #[test]
    fn a_hole_is_taken_away_exactly() {
        let square = |side: f64, station: f64, right: f64| {
            [(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)]
                .map(|(a, b)| at(station + a * side, right + b * side, 0.02))
                .to_vec()
        };
        let sheet = |hole: Vec<BuilderPoint>| {
            PartShape::Sheet {
                outline: square(0.4, 0.3, 0.1),
                holes: vec![hole],
                plane: SheetPlane::Level,
                areal_density_kg_m2: 0.1,
                thickness_m: 0.0,
            }
            .mass_properties()
        };
        let ring = sheet(square(0.2, 0.3, 0.1));
        let across = 0.1 * (0.4f64.powi(4) - 0.2f64.powi(4)) / 12.0;
        assert!((ring.mass_kg - 0.012).abs() < 1e-16);
        let expected = Matrix3::from_diagonal(&Vector3::new(across, across, 2.0 * across));
        assert!((ring.inertia_kg_m2 - expected).norm() < 1e-17);
        assert!((ring.balance.station_m - 0.3).abs() < 1e-15);

        // Hole of 0.1 × 0.1 (1 g of 16 g), its middle 0.1 aft and 0.1 left of the sheet's: the rest balances 0.1/15 ahead and right.
        let mut hole = square(0.1, 0.4, 0.0);
        hole.reverse();
        let lopsided = sheet(hole);
        assert!((lopsided.mass_kg - 0.015).abs() < 1e-16);
        assert!((lopsided.balance.station_m - (0.3 - 0.1 / 15.0)).abs() < 1e-15);
        assert!((lopsided.balance.right_m - (0.1 + 0.1 / 15.0)).abs() < 1e-15);
        // Sheet 0.016·0.16/12, hole 0.001·(0.01/12 + 0.01), the rest's own 0.015·(0.1/15)² off: 2.0183333e-4 kg m².
        // Product ∫xy (x forward, y right): hole at (−0.1, −0.1): −0.001·0.01; the rest at (+0.1/15, +0.1/15): −0.015·(0.1/15)².
        let (moment, product) = (2.018333333e-4, -1.066666667e-5);
        assert!((lopsided.inertia_kg_m2[(0, 0)] - moment).abs() < 1e-13);
        assert!((lopsided.inertia_kg_m2[(0, 1)] + product).abs() < 1e-13);
    }

    #[test]
    fn a_lopsided_pair_has_the_product_of_its_masses() {
        // Two grams ahead-right-up and two grams behind-left-down of the middle: +∫xy dm = 2·m·x·y, and so on.
        let (x, y, z) = (0.1, 0.2, -0.03);
        let pair = combine(&[at(-x, y, -z), at(x, -y, z)].map(|p| {
            PartShape::Point {
                at: p,
                mass_kg: 2e-3,
            }
            .mass_properties()
        }));
        assert!((-pair.inertia_kg_m2[(0, 1)] - 4e-3 * x * y).abs() < 1e-18);
        assert!((-pair.inertia_kg_m2[(0, 2)] - 4e-3 * x * z).abs() < 1e-18);
        assert!((-pair.inertia_kg_m2[(1, 2)] - 4e-3 * y * z).abs() < 1e-18);
        assert!(inertia_is_physical(
            &(pair.inertia_kg_m2 + Matrix3::identity() * 1e-9),
            1e-6
        ));
    }

    #[test]
    fn a_rod_has_a_twelfth_m_l_squared_across_and_none_along() {
        let rod = PartShape::Rod {
            from: at(0.0, -0.3, 0.0),
            to: at(0.0, 0.3, 0.0),
            mass_kg: 0.01,
        }
        .mass_properties();
        let across = 0.01 * 0.6 * 0.6 / 12.0;
        assert!(
            (rod.inertia_kg_m2 - Matrix3::from_diagonal(&Vector3::new(across, 0.0, across))).norm()
                < 1e-17
        );
    }

    #[test]
    fn an_upright_sheet_is_a_level_one_on_its_side() {
        let corners = [(0.0, 0.0), (0.1, 0.0), (0.14, 0.08), (0.05, 0.08)];
        let level = PartShape::Sheet {
            outline: corners.iter().map(|c| at(c.0, c.1, 0.0)).collect(),
            holes: vec![],
            plane: SheetPlane::Level,
            areal_density_kg_m2: 0.1,
            thickness_m: 0.003,
        }
        .mass_properties();
        let upright = PartShape::Sheet {
            outline: corners.iter().map(|c| at(c.0, 0.0, -c.1)).collect(),
            holes: vec![],
            plane: SheetPlane::Upright,
            areal_density_kg_m2: 0.1,
            thickness_m: 0.003,
        }
        .mass_properties();
        // Level lies in x-y with z normal; upright (drawn downwards) lies in x-z with y normal: swap axes 1 and 2.
        let swap = Matrix3::new(1.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 1.0, 0.0);
        assert!((swap * level.inertia_kg_m2 * swap - upright.inertia_kg_m2).norm() < 1e-18);
        assert!((level.balance.right_m + upright.balance.up_m).abs() < 1e-16);
    }

    #[test]
    fn an_impossible_tensor_is_noticed() {
        let impossible = Matrix3::from_diagonal(&Vector3::new(1.0, 1.0, 3.0));
        assert!(!inertia_is_physical(&impossible, 0.01));
    }
}
