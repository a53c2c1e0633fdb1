//! The air a plate carries with it when it is moved along its normal (MODEL.md § 19). Flown by [`crate::aero::apparent_mass`].

use super::geometry::{Section, Surface};
use crate::aero::apparent_mass::congruent;
use crate::frames::BuilderPoint;
use gauss_quad::GaussLegendre;
use nalgebra::{Matrix3, Matrix6, Vector3, Vector6};
use std::f64::consts::PI;

/// λ, k, k_along, k_about. Source: MODEL.md § 19 (k at 1, 2, 4: Meyerhoff 1970, DNV-RP-C205, from memory; the others computed there).
const FACTORS: [(f64, [f64; 3]); 8] = [
    (1.0, [0.579, 0.306, 0.817]),
    (1.25, [0.642, 0.363, 0.853]),
    (1.5, [0.690, 0.412, 0.877]),
    (2.0, [0.757, 0.494, 0.907]),
    (3.0, [0.832, 0.609, 0.938]),
    (4.0, [0.872, 0.683, 0.953]),
    (6.0, [0.913, 0.772, 0.969]),
    (10.0, [0.947, 0.854, 0.981]),
];

/// Root of a mirrored surface counts as joined with its copy where it is nearer to the centre line than this share of its span.
const JOINED_SHARE: f64 = 0.1;

/// Which way a plate is cut into two-dimensional strips.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StripDirection {
    /// Strips along the chord, side by side along the span.
    Chordwise,
    /// Strips across the flow, one behind the other.
    Crosswise,
}

/// Shares of the strips' sum that a finite plate carries.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlateFactors {
    /// k, motion along the normal.
    pub normal: f64,
    /// Rotation that moves the strips apart along their row.
    pub along: f64,
    /// Rotation about the row.
    pub about: f64,
}

/// One two-dimensional strip.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Strip {
    /// Middle, body axes from the balance point, m.
    middle: Vector3<f64>,
    /// Unit normal of the plate.
    normal: Vector3<f64>,
    /// Unit vector along the row of strips.
    row: Vector3<f64>,
    /// Length w of the strip, m.
    length_m: f64,
    /// Its share dl of the row, m.
    width_m: f64,
}

/// A plate cut into strips.
#[derive(Clone, Debug, PartialEq)]
pub struct ApparentPlate {
    /// Name of the surface.
    pub name: String,
    /// Which way it is cut.
    pub strips_run: StripDirection,
    /// Slenderness L²/S.
    pub slenderness: f64,
    /// Fullness S/(L w_max).
    pub fullness: f64,
    /// Factors for that shape.
    pub factors: PlateFactors,
    row: Vector3<f64>,
    strips: Vec<Strip>,
}

/// Factors of a plate from its slenderness L²/S (L its extent along the row of strips) and its fullness S/(L w_max), at most 1.
///
/// Equation: MODEL.md § 19.
pub fn plate_factors(slenderness: f64, fullness: f64) -> PlateFactors {
    let shape = rectangle(slenderness * (2.0 * fullness - 0.5).clamp(0.5, 1.0));
    let along = rectangle(slenderness * (1.0 + 1.5 * (1.0 - fullness)).min(1.4)).along;
    PlateFactors { along, ..shape }
}

/// Factors of a rectangle λ times as long along its row as its strips are.
fn rectangle(lambda: f64) -> PlateFactors {
    let turned = lambda < 1.0;
    let [normal, along, about] = interpolate(if turned { 1.0 / lambda } else { lambda });
    if !turned {
        return PlateFactors {
            normal,
            along,
            about,
        };
    }
    // The same plate with its strips the other way carries the same, but the strips' sums differ: π/4 w²L and π/4 L²w; along
    // π/48 w²L³ = about' π/128 L⁴w; about π/128 w⁴L = along' π/48 L²w³.
    PlateFactors {
        normal: lambda * normal,
        along: lambda * about * 3.0 / 8.0,
        about: lambda * along * 8.0 / 3.0,
    }
}

/// Straight in 1/λ between the rows, towards 1 beyond the last.
fn interpolate(slenderness: f64) -> [f64; 3] {
    let x = 1.0 / slenderness;
    let mut upper = (0.0, [1.0; 3]);
    for &(lambda, row) in FACTORS.iter().rev() {
        let knot = 1.0 / lambda;
        if x <= knot {
            let share = (x - upper.0) / (knot - upper.0);
            return std::array::from_fn(|k| upper.1[k] + share * (row[k] - upper.1[k]));
        }
        upper = (knot, row);
    }
    upper.1
}

/// Plates of a surface: one where both halves meet on the centre line and are not steeper than 45°, else one for each copy.
///
/// `balance` is the balance point. The surface must pass [`Surface::check`]. Equation: MODEL.md § 19.
pub fn plates_of(surface: &Surface, balance: &BuilderPoint) -> Vec<ApparentPlate> {
    let span = surface.developed_span_m();
    let root = surface.sections[0].leading_edge;
    let joined = surface.mirrored
        && root.right_m.abs() <= JOINED_SHARE * span
        && !is_upright(&surface.sections);
    if joined {
        return vec![plate(surface, &surface.sections, true, balance)];
    }
    let mut plates = vec![plate(surface, &surface.sections, false, balance)];
    if surface.mirrored {
        let copy: Vec<Section> = surface
            .sections
            .iter()
            .map(|s| Section {
                leading_edge: s.leading_edge.mirrored(),
                ..*s
            })
            .collect();
        plates.push(plate(surface, &copy, false, balance));
    }
    plates
}

/// Apparent-mass matrix about the balance point in body axes: rows and columns u, v, w, p, q, r; kg, kg m, kg m².
///
/// `density` in kg/m³. Symmetric, never negative. Valid for: thin plates that do not see each other. Equation: MODEL.md § 19.
pub fn matrix(plates: &[ApparentPlate], density: f64) -> Matrix6<f64> {
    plates.iter().map(|p| p.matrix() * density).sum()
}

fn is_upright(sections: &[Section]) -> bool {
    let (first, last) = (sections[0], sections[sections.len() - 1]);
    (last.leading_edge.up_m - first.leading_edge.up_m).abs()
        > (last.leading_edge.right_m - first.leading_edge.right_m).abs()
}

fn plate(
    surface: &Surface,
    sections: &[Section],
    joined: bool,
    balance: &BuilderPoint,
) -> ApparentPlate {
    let copies = if joined { 2.0 } else { 1.0 };
    let extent = copies * surface.developed_span_m();
    let area = copies * surface.area_m2();
    let stations = || {
        sections.iter().flat_map(|s| {
            [
                s.leading_edge.station_m,
                s.leading_edge.station_m + s.chord_m,
            ]
        })
    };
    let front = stations().fold(f64::INFINITY, f64::min);
    let rear = stations().fold(f64::NEG_INFINITY, f64::max);
    let length = rear - front;
    let (strips_run, strips, longer): (_, Vec<Strip>, _) = if extent >= length {
        let strips = chordwise(sections, joined, balance);
        (StripDirection::Chordwise, strips, extent)
    } else {
        let corners: Vec<f64> = stations().collect();
        let strips = crosswise(sections, &corners, joined, balance);
        (StripDirection::Crosswise, strips, length)
    };
    let longest_strip = match strips_run {
        StripDirection::Chordwise => sections.iter().map(|s| s.chord_m).fold(0.0, f64::max),
        StripDirection::Crosswise => longest_crosswise(&strips),
    };
    let slenderness = longer * longer / area;
    let fullness = (area / (longer * longest_strip)).min(1.0);
    let row = match strips_run {
        StripDirection::Crosswise => Vector3::x(),
        StripDirection::Chordwise if joined => Vector3::y(),
        StripDirection::Chordwise => across(&sections[0], &sections[sections.len() - 1], balance),
    };
    ApparentPlate {
        name: surface.name.clone(),
        strips_run,
        slenderness,
        fullness,
        factors: plate_factors(slenderness, fullness),
        row,
        strips,
    }
}

/// Unit vector across the flow from one section to the next, body axes.
fn across(from: &Section, to: &Section, balance: &BuilderPoint) -> Vector3<f64> {
    let step = to.leading_edge.in_body(balance) - from.leading_edge.in_body(balance);
    Vector3::new(0.0, step.y, step.z).normalize()
}

/// Both halves' strips along the chord.
fn chordwise(sections: &[Section], joined: bool, balance: &BuilderPoint) -> Vec<Strip> {
    // The integrands are polynomials of degree 4 at most where leading edge and chord are straight.
    let rule = GaussLegendre::new(4.try_into().expect("a positive number of nodes"));
    let mut strips = Vec::new();
    for pair in sections.windows(2) {
        let row = across(&pair[0], &pair[1], balance);
        let step = pair[1].leading_edge.in_body(balance) - pair[0].leading_edge.in_body(balance);
        let span = step.dot(&row);
        for &(node, weight) in rule.iter() {
            let share = 0.5 * (node + 1.0);
            let chord = pair[0].chord_m + share * (pair[1].chord_m - pair[0].chord_m);
            let leading = pair[0].leading_edge.in_body(balance) + step * share;
            strips.push(Strip {
                middle: leading - Vector3::x() * (0.5 * chord),
                normal: Vector3::x().cross(&row),
                row,
                length_m: chord,
                width_m: 0.5 * weight * span,
            });
        }
    }
    if joined {
        let mirror = |v: Vector3<f64>| Vector3::new(v.x, -v.y, v.z);
        // The copy's plane of symmetry is the builder's centre line, which the balance point may lie beside.
        let shift = Vector3::y() * (-2.0 * balance.right_m);
        let copies: Vec<Strip> = strips
            .iter()
            .map(|s| Strip {
                middle: mirror(s.middle) + shift,
                normal: mirror(s.normal),
                row: mirror(s.row),
                ..*s
            })
            .collect();
        strips.extend(copies);
    }
    strips
}

/// Nodes of a stretch between two corner stations. Widths go straight there and places with them, so that four do every integral exactly.
const NODES: usize = 4;

/// Strips across the flow, [`NODES`] to a stretch between the stations of two corners.
fn crosswise(
    sections: &[Section],
    corners: &[f64],
    joined: bool,
    balance: &BuilderPoint,
) -> Vec<Strip> {
    let rule = GaussLegendre::new(NODES.try_into().expect("a positive number of nodes"));
    let mut stations = corners.to_vec();
    stations.sort_by(f64::total_cmp);
    stations.dedup();
    let stretches = stations.windows(2).map(|ends| (ends[0], ends[1]));
    stretches
        .flat_map(|(from, to)| {
            let half = 0.5 * (to - from);
            let strips: Vec<Strip> = rule
                .iter()
                .filter_map(|&(node, weight)| {
                    slice(sections, from + half * (1.0 + node), joined, balance).map(|s| Strip {
                        width_m: half * weight,
                        ..s
                    })
                })
                .collect();
            strips
        })
        .collect()
}

/// Length of the longest crosswise strip: lengths go straight over each stretch, so the longest stands at one of its ends.
fn longest_crosswise(strips: &[Strip]) -> f64 {
    let at = |s: &Strip| (s.middle.x, s.length_m);
    strips
        .chunks(NODES)
        .filter(|stretch| stretch.len() == NODES)
        .flat_map(|stretch| {
            let half: f64 = 0.5 * stretch.iter().map(|s| s.width_m).sum::<f64>();
            let middle = stretch.iter().map(|s| s.middle.x).sum::<f64>() / NODES as f64;
            let ((x0, l0), (x1, l1)) = (at(&stretch[0]), at(&stretch[NODES - 1]));
            let slope = (l1 - l0) / (x1 - x0);
            [middle - half, middle + half].map(|x| l0 + slope * (x - x0))
        })
        .fold(0.0, f64::max)
}

/// The plate's cut across the flow at a station; nothing where it has no width.
fn slice(
    sections: &[Section],
    station: f64,
    joined: bool,
    balance: &BuilderPoint,
) -> Option<Strip> {
    let (mut width, mut moment) = (0.0, Vector3::zeros());
    for pair in sections.windows(2) {
        let lead = |s: &Section| s.leading_edge.station_m - station;
        let trail = |s: &Section| station - s.leading_edge.station_m - s.chord_m;
        // Inside where both are negative; straight between the sections.
        let (mut low, mut high) = (0.0_f64, 1.0_f64);
        for (a, b) in [
            (lead(&pair[0]), lead(&pair[1])),
            (trail(&pair[0]), trail(&pair[1])),
        ] {
            match (a <= 0.0, b <= 0.0) {
                (true, true) => {}
                (true, false) => high = high.min(a / (a - b)),
                (false, true) => low = low.max(a / (a - b)),
                (false, false) => high = -1.0,
            }
        }
        if high <= low {
            continue;
        }
        let (from, to) = (
            pair[0].leading_edge.in_body(balance),
            pair[1].leading_edge.in_body(balance),
        );
        let span = (to - from).dot(&across(&pair[0], &pair[1], balance));
        let part = (high - low) * span;
        width += part;
        moment += (from + (to - from) * (0.5 * (low + high))) * part;
    }
    if width <= 0.0 {
        return None;
    }
    let mean = moment / width;
    let (middle, row_across, length_m) = if joined {
        (
            Vector3::new(0.0, -balance.right_m, mean.z),
            Vector3::y(),
            2.0 * width,
        )
    } else {
        (
            Vector3::new(0.0, mean.y, mean.z),
            across(&sections[0], &sections[sections.len() - 1], balance),
            width,
        )
    };
    Some(Strip {
        middle: Vector3::new(balance.station_m - station, middle.y, middle.z),
        normal: Vector3::x().cross(&row_across),
        row: Vector3::x(),
        length_m,
        width_m: 0.0,
    })
}

impl Strip {
    fn mass(&self) -> f64 {
        PI / 4.0 * self.length_m * self.length_m * self.width_m
    }
}

impl ApparentPlate {
    /// Matrix for density 1 about the balance point.
    fn matrix(&self) -> Matrix6<f64> {
        let whole: f64 = self.strips.iter().map(Strip::mass).sum();
        if whole <= 0.0 {
            return Matrix6::zeros();
        }
        let centroid: Vector3<f64> = self
            .strips
            .iter()
            .map(|s| s.middle * s.mass())
            .sum::<Vector3<f64>>()
            / whole;
        let mut sum = Matrix6::zeros();
        for strip in &self.strips {
            let arm = strip.middle - centroid;
            let heave = joined(&strip.normal, &arm.cross(&strip.normal));
            let turn = joined(&Vector3::zeros(), &strip.row);
            let own = PI / 128.0 * strip.length_m.powi(4) * strip.width_m;
            sum += heave * heave.transpose() * strip.mass() + turn * turn.transpose() * own;
        }
        let factors = &self.factors;
        let along = factors.along.sqrt();
        let turns = Matrix3::identity() * along
            + self.row * self.row.transpose() * (factors.about.sqrt() - along);
        let mut scale = Matrix6::zeros();
        scale
            .fixed_view_mut::<3, 3>(0, 0)
            .copy_from(&(Matrix3::identity() * factors.normal.sqrt()));
        scale.fixed_view_mut::<3, 3>(3, 3).copy_from(&turns);
        let about_centroid = congruent(&scale, &sum);
        // Moments about the balance point: M = M_c + r × F; velocities follow by the transpose.
        let mut shift = Matrix6::identity();
        shift
            .fixed_view_mut::<3, 3>(3, 0)
            .copy_from(&centroid.cross_matrix());
        congruent(&shift, &about_centroid)
    }
}

fn joined(force: &Vector3<f64>, moment: &Vector3<f64>) -> Vector6<f64> {
    Vector6::new(force.x, force.y, force.z, moment.x, moment.y, moment.z)
}

#[cfg(test)]
mod tests;
