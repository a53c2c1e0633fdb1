//! Surfaces near a disc, as wash and suction take them (MODEL.md § 6.6).

use crate::aero::post_stall::Panel;
use crate::frames::BuilderPoint;
use crate::number::Number;
use nalgebra::Vector3;
use std::f64::consts::PI;

/// η: share of leading-edge suction that added circulation gets. Common practice for sharp thin plates, no source.
const EDGE_SUCTION: f64 = 0.5;
/// c_f: friction of both faces of a thin plate in a jet. Common practice, no source.
const FRICTION: f64 = 0.02;

/// Where a disc is and which way it pulls.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Site {
    /// The disc's centre.
    pub place: BuilderPoint,
    /// Unit vector of thrust, body axes.
    pub axis: Vector3<f64>,
    /// Diameter, m.
    pub diameter_m: f64,
}

/// A panel with what wash and suction want to know of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NearSurface {
    /// The panel.
    pub panel: Panel,
    /// Incidence at its root and tip over the reference line, rad: nose up, of an upright panel nose right; of a mirrored copy that of
    /// the panel it mirrors.
    pub incidence_rad: [f64; 2],
    /// a_w: lift slope of the surface it belongs to, 1/rad.
    pub lift_slope: f64,
}

/// Helmbold's lift slope of an aspect ratio, 1/rad. From memory.
#[inline(always)]
pub fn helmbold<T: Number>(aspect_ratio: T) -> T {
    let two = T::constant(2.0);
    T::constant(2.0 * PI) * aspect_ratio / (two + (aspect_ratio * aspect_ratio + two + two).sqrt())
}

impl NearSurface {
    /// The normal n_0 − σ ε x̂ at the panel's middle, body axes (MODEL.md § 16).
    pub(super) fn normal(&self) -> Vector3<f64> {
        let (up, out) = libm::sincos(self.panel.dihedral_rad);
        let incidence = 0.5 * (self.incidence_rad[0] + self.incidence_rad[1]);
        // Of the panel that goes out to the right; the other one is its mirror image.
        let normal = Vector3::new(0.0, -up, -out);
        let upright = up.abs() > out.abs();
        let points_so = if upright {
            normal.y > 0.0
        } else {
            normal.z < 0.0
        };
        let turned = if points_so { -incidence } else { incidence };
        Vector3::new(turned, self.panel.side * normal.y, normal.z)
    }

    /// A point by shares of span and chord, from the disc's centre, body axes, m.
    pub(super) fn place_from_disc(
        &self,
        site: &Site,
        span_share: f64,
        chord_share: f64,
    ) -> Vector3<f64> {
        self.panel
            .point(span_share, chord_share)
            .in_body(&site.place)
    }

    /// The mid-chord line seen along the axis: the span share nearest the axis, not held inside the panel, and the length of the whole
    /// line across the axis (m).
    pub(super) fn nearest_axis(&self, site: &Site) -> (f64, f64) {
        let across = |v: Vector3<f64>| v - site.axis * site.axis.dot(&v);
        let root = across(self.place_from_disc(site, 0.0, 0.5));
        let line = across(self.place_from_disc(site, 1.0, 0.5)) - root;
        let square = line.norm_squared();
        if square < 1e-18 {
            return (0.5, 0.0);
        }
        (-root.dot(&line) / square, square.sqrt())
    }
}

/// η in the model's number.
#[inline(always)]
pub(super) fn edge_suction<T: Number>() -> T {
    T::constant(EDGE_SUCTION)
}

/// c_f in the model's number.
#[inline(always)]
pub(super) fn friction<T: Number>() -> T {
    T::constant(FRICTION)
}
