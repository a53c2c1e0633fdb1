//! Cutting surfaces into panels (MODEL.md § 16).

mod grid;

use self::grid::{Grid, grids};
use super::geometry::{Bend, GeometryError, Reference, Surface};
use crate::frames::BuilderPoint;
use nalgebra::{DMatrix, DVector, Matrix2, Vector2, Vector3};
use std::f64::consts::PI;

/// How finely surfaces are cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Panelling {
    /// Panels P on the largest surface, both copies together; others by their area (MODEL.md § 16).
    pub panels: f64,
    /// Strips and panels along the chord for every copy of every surface instead of the automatic counts.
    pub fixed: Option<(usize, usize)>,
    /// How strips are spread along a surface.
    pub spacing: Spacing,
}

/// How strips are spread along a surface.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spacing {
    /// Narrower towards free ends.
    Cosine,
    /// All of one width between sections, ending a quarter of a strip short of free ends.
    Even,
    /// All of one width between sections, up to the tips: the textbooks' plain lattice, for comparison with their examples.
    EvenToTip,
}

/// Most panels a lattice may have; its matrices then take some 200 MB.
pub const LARGEST_LATTICE: usize = 2000;

impl Default for Panelling {
    fn default() -> Self {
        Panelling {
            panels: 168.0,
            fixed: None,
            spacing: Spacing::Cosine,
        }
    }
}

impl Panelling {
    /// The same number of strips and of panels along the chord on every copy of every surface.
    pub fn fixed(strips: usize, along_chord: usize) -> Self {
        Panelling {
            fixed: Some((strips, along_chord)),
            ..Self::default()
        }
    }

    /// `factor` times as many panels.
    pub fn refined(&self, factor: f64) -> Self {
        let linear = factor.sqrt();
        let scaled = |n: usize| ((n as f64 * linear).round() as usize).max(1);
        Panelling {
            panels: self.panels * factor,
            fixed: self.fixed.map(|(n, m)| (scaled(n), scaled(m))),
            spacing: self.spacing,
        }
    }
}

/// One panel: body axes (x forward, y right, z down, m) about the reference point.
#[derive(Clone, Debug, PartialEq)]
pub struct Panel {
    /// Bound vortex, inner end (of a mirrored copy the outer one, so that both run left to right).
    pub bound_from: Vector3<f64>,
    /// Bound vortex, other end.
    pub bound_to: Vector3<f64>,
    /// Where its velocity is taken: the strip's middle.
    pub bound_middle: Vector3<f64>,
    /// Control point at three quarters of the panel's chord.
    pub control: Vector3<f64>,
    /// Unit normal of the mean surface, up on a wing.
    pub normal: Vector3<f64>,
    /// Set angle ε: incidence and bends as described, times σ of MODEL.md § 16, rad.
    pub tilt: f64,
    /// How ε σ changes with each tab's angle.
    pub tilt_per_tab: Vec<f64>,
    /// Length from this quarter line to the next one (the last: to the trailing edge) at both edges, m.
    pub trailing_lengths: [f64; 2],
    /// Length from this quarter line to the trailing edge at both edges, m.
    pub to_trailing_edge: [f64; 2],
    /// Strip this panel belongs to.
    pub strip: usize,
    /// Area, m².
    pub area: f64,
}

/// A strip from leading to trailing edge.
#[derive(Clone, Debug, PartialEq)]
pub struct Strip {
    /// Index of the surface.
    pub surface: usize,
    /// Whether it belongs to the mirrored copy.
    pub mirrored: bool,
    /// Index of its first panel; the others follow it, front to back.
    pub first_panel: usize,
    /// Number of panels.
    pub panels: usize,
    /// Middle of its leading edge.
    pub leading_edge: BuilderPoint,
    /// Chord in its middle, m.
    pub chord_m: f64,
    /// Width across the flow, m.
    pub width_m: f64,
    /// Unit vector across the flow, body axes.
    pub across: Vector3<f64>,
}

/// All panels and strips of an aircraft.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Panels {
    /// Strip by strip, each front to back.
    pub panels: Vec<Panel>,
    /// Surface by surface, the mirrored copy after the described one.
    pub strips: Vec<Strip>,
    /// Number of tabs: one more than the largest index used.
    pub tabs: usize,
}

/// Cuts surfaces into panels about a reference point.
///
/// Errors: [`GeometryError`] for what cannot be cut or takes more than [`LARGEST_LATTICE`] panels.
pub fn cut(
    surfaces: &[Surface],
    reference: &Reference,
    panelling: &Panelling,
) -> Result<Panels, GeometryError> {
    if surfaces.is_empty() {
        return Err(GeometryError::NoSurface);
    }
    reference.check()?;
    for surface in surfaces {
        surface.check()?;
    }
    let grids = grids(surfaces, panelling);
    let found = surfaces
        .iter()
        .zip(&grids)
        .map(|(s, g)| g.spans.len() * (g.fractions.len() - 1) * (1 + usize::from(s.mirrored)))
        .sum();
    if found > LARGEST_LATTICE {
        let allowed = LARGEST_LATTICE;
        return Err(GeometryError::TooManyPanels { found, allowed });
    }
    let mut all = Panels {
        tabs: surfaces
            .iter()
            .flat_map(|s| &s.bends)
            .filter_map(|b| b.tab)
            .max()
            .map_or(0, |tab| tab + 1),
        ..Panels::default()
    };
    for (index, (surface, grid)) in surfaces.iter().zip(&grids).enumerate() {
        for mirrored in [false, true] {
            if !mirrored || surface.mirrored {
                lay(&mut all, index, surface, grid, mirrored, &reference.point);
            }
        }
    }
    Ok(all)
}

impl Bend {
    /// What share of the bend's angle each panel of a strip takes (MODEL.md § 16, bends): about 1 behind the hinge and a part on the
    /// panel ahead of it, such that in plane flow lift and moment are those of the bent plate.
    fn weights(&self, fractions: &[f64]) -> Vec<f64> {
        let hinge = 1.0 - self.chord_share;
        let count = fractions.len() - 1;
        let middle = |k: usize| 0.5 * (fractions[k] + fractions[k + 1]);
        let behind = DVector::from_fn(count, |k, _| if middle(k) > hinge { 1.0 } else { 0.0 });
        let front = (0..count).filter(|k| behind[*k] == 0.0).count();
        if front == 0 {
            return vec![1.0; count];
        }
        let quarter = |k: usize| fractions[k] + 0.25 * (fractions[k + 1] - fractions[k]);
        let control = |k: usize| fractions[k] + 0.75 * (fractions[k + 1] - fractions[k]);
        let plane = DMatrix::from_fn(count, count, |i, j| 1.0 / (control(i) - quarter(j))).lu();
        let mut ahead = DVector::zeros(count);
        ahead[front - 1] = 1.0;
        // Lift and moment about the quarter chord over 2π, per unit of the two unknown shares.
        let loads = |slope: &DVector<f64>| {
            let load = plane.solve(slope)?;
            let moment = load
                .iter()
                .enumerate()
                .map(|(k, g)| g * (0.25 - quarter(k)))
                .sum::<f64>();
            Some((2.0 * load.sum(), 2.0 * moment))
        };
        let theta = libm::acos(1.0 - 2.0 * hinge);
        let wanted = Vector2::new(
            (PI - theta + libm::sin(theta)) / PI,
            -0.25 * libm::sin(theta) * (1.0 - libm::cos(theta)) / PI,
        );
        let shares = loads(&behind)
            .zip(loads(&ahead))
            .and_then(|(b, a)| Matrix2::new(b.0, a.0, b.1, a.1).lu().solve(&wanted));
        let shares = shares.unwrap_or_else(|| Vector2::new(1.0, 0.0));
        (behind * shares[0] + ahead * shares[1])
            .iter()
            .copied()
            .collect()
    }
}

/// Lays one copy of a surface into the list.
fn lay(
    all: &mut Panels,
    index: usize,
    surface: &Surface,
    grid: &Grid,
    mirrored: bool,
    origin: &BuilderPoint,
) {
    let place = |p: &BuilderPoint, back: f64| {
        let p = if mirrored { p.mirrored() } else { *p };
        p.in_body(origin) - Vector3::new(back, 0.0, 0.0)
    };
    for span in &grid.spans {
        let middle = span.middle;
        let segment = surface.segment(middle);
        let (mut inner, mut outer) = (surface.at(segment, span.from), surface.at(segment, span.to));
        if mirrored {
            std::mem::swap(&mut inner, &mut outer);
        }
        let (front, chord, incidence) = surface.at(segment, middle);
        let across = place(&outer.0, 0.0) - place(&inner.0, 0.0);
        let across = Vector3::new(0.0, across.y, across.z);
        let width = across.norm();
        let across = across / width;
        let normal = across.cross(&Vector3::x());
        let upright = normal.y.abs() > normal.z.abs() * (1.0 + 1e-9);
        let positive = if upright {
            normal.y > 0.0
        } else {
            normal.z < 0.0
        };
        let sign = if positive { 1.0 } else { -1.0 };
        // A mirrored upright copy turns its sign over; incidence is geometry and is mirrored, not turned.
        let image = if mirrored && upright { -sign } else { sign };

        let bends: Vec<_> = surface
            .bends
            .iter()
            .filter(|b| middle > b.from_span_share && middle < b.to_span_share)
            .map(|b| (b, b.weights(&grid.fractions)))
            .collect();
        let strip = all.strips.len();
        let first_panel = all.panels.len();
        let count = grid.fractions.len() - 1;
        for (k, part) in grid.fractions.windows(2).enumerate() {
            let length = part[1] - part[0];
            let quarter = part[0] + 0.25 * length;
            let next = if k + 1 < count {
                part[1] + 0.25 * (grid.fractions[k + 2] - part[1])
            } else {
                1.0
            };
            let mut tilt = image * incidence;
            let mut tilt_per_tab = vec![0.0; all.tabs];
            for (bend, shares) in &bends {
                let turn = shares[k]
                    * if mirrored && bend.antisymmetric {
                        -sign
                    } else {
                        sign
                    };
                tilt += turn * bend.angle_rad;
                if let Some(tab) = bend.tab {
                    tilt_per_tab[tab] += turn;
                }
            }
            all.panels.push(Panel {
                bound_from: place(&inner.0, quarter * inner.1),
                bound_to: place(&outer.0, quarter * outer.1),
                bound_middle: place(&front, quarter * chord),
                control: place(&front, (part[0] + 0.75 * length) * chord),
                normal,
                tilt,
                tilt_per_tab,
                trailing_lengths: [(next - quarter) * inner.1, (next - quarter) * outer.1],
                to_trailing_edge: [(1.0 - quarter) * inner.1, (1.0 - quarter) * outer.1],
                strip,
                area: length * chord * width,
            });
        }
        all.strips.push(Strip {
            surface: index,
            mirrored,
            first_panel,
            panels: count,
            leading_edge: if mirrored { front.mirrored() } else { front },
            chord_m: chord,
            width_m: width,
            across,
        });
    }
}
