//! Cutting surfaces into panels (MODEL.md § 16).

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

/// Where a strip lies, in shares of the developed length, 0 to 1.
#[derive(Clone, Copy)]
struct Span {
    from: f64,
    /// Where control points and bound vortices' velocities are taken.
    middle: f64,
    to: f64,
}

/// Where one surface is cut.
struct Grid {
    /// Strips from the root outwards.
    spans: Vec<Span>,
    /// Panel edges as fractions of the chord, 0 to 1.
    fractions: Vec<f64>,
}

fn grids(surfaces: &[Surface], panelling: &Panelling) -> Vec<Grid> {
    let copies = |s: &Surface| if s.mirrored { 2.0 } else { 1.0 };
    let area = |s: &Surface| copies(s) * s.area_m2();
    let largest = surfaces.iter().map(area).fold(0.0, f64::max);
    let counts: Vec<(usize, usize)> = surfaces
        .iter()
        .map(|s| {
            panelling.fixed.unwrap_or_else(|| {
                let share = area(s) / largest;
                let panels = panelling.panels * share.sqrt() / copies(s);
                let span = s.developed_span_m();
                let least = if share == 1.0 { 8.0 } else { 5.0 };
                let scale = (panelling.panels / 168.0).sqrt();
                let strips = (0.93 * panels * span * span / s.area_m2())
                    .sqrt()
                    .clamp(least * scale, 24.0 * scale);
                let along = (panels / strips).clamp(4.0 * scale, 10.0 * scale);
                (whole(strips), whole(along))
            })
        })
        .collect();

    // Every end of a section or bend, of every copy, may lie on the trace of another surface.
    let own: Vec<Vec<f64>> = surfaces.iter().map(Surface::breaks).collect();
    let mut marks: Vec<(usize, f64, f64)> = Vec::new();
    for (index, surface) in surfaces.iter().enumerate() {
        surface.mark(index, &own[index], &mut marks);
    }
    let mut order: Vec<usize> = (0..surfaces.len()).collect();
    order.sort_by(|&a, &b| {
        surfaces[a]
            .mean_front()
            .total_cmp(&surfaces[b].mean_front())
    });

    let mut spans = vec![Vec::new(); surfaces.len()];
    for index in order {
        let (surface, strips) = (&surfaces[index], counts[index].0);
        let width = 1.0 / strips as f64;
        let mut breaks = own[index].clone();
        for &(other, right, up) in &marks {
            if other == index {
                continue;
            }
            if let Some(share) = surface.share_near(right, up, width)
                && breaks.iter().all(|b| (b - share).abs() > 0.2 * width)
            {
                breaks.push(share);
            }
        }
        breaks.sort_by(f64::total_cmp);
        spans[index] = spread(
            &breaks,
            strips,
            panelling.spacing,
            free_ends(surfaces, index),
        );
        let edges: Vec<f64> = spans[index].iter().flat_map(|s| [s.from, s.to]).collect();
        surface.mark(index, &edges, &mut marks);
    }
    surfaces
        .iter()
        .zip(spans)
        .zip(&counts)
        .map(|((surface, spans), &(_, along))| Grid {
            spans,
            fractions: surface.fractions(along),
        })
        .collect()
}

fn whole(value: f64) -> usize {
    (value.round() as usize).max(1)
}

/// Edges and middles of strips between breaks, even in u; at free ends the lattice ends short of the tip.
fn spread(breaks: &[f64], strips: usize, spacing: Spacing, free: [bool; 2]) -> Vec<Span> {
    let free_ends = if spacing == Spacing::Cosine {
        free
    } else {
        [false, false]
    };
    let to_u = |s: f64| match free_ends {
        [true, true] => libm::acos(1.0 - 2.0 * s) / PI,
        [false, true] => 2.0 / PI * libm::asin(s),
        [true, false] => 2.0 / PI * libm::acos(1.0 - s),
        [false, false] => s,
    };
    let from_u = |u: f64| match free_ends {
        [true, true] => 0.5 * (1.0 - libm::cos(PI * u)),
        [false, true] => libm::sin(0.5 * PI * u),
        [true, false] => 1.0 - libm::cos(0.5 * PI * u),
        [false, false] => u,
    };
    // Share of a strip (in u) by which it ends short of a free end.
    let inset = match spacing {
        Spacing::Even => 0.25,
        Spacing::EvenToTip => 0.0,
        Spacing::Cosine => 0.5,
    };
    let mut spans = Vec::new();
    for (k, pair) in breaks.windows(2).enumerate() {
        let (from, to) = (to_u(pair[0]), to_u(pair[1]));
        let before = if k == 0 && free[0] { inset } else { 0.0 };
        let after = if k + 2 == breaks.len() && free[1] {
            inset
        } else {
            0.0
        };
        let pieces = whole(strips as f64 * (to - from));
        let step = (to - from) / (pieces as f64 + before + after);
        // Ends that are breaks are taken as they are, so that neighbours and mirrored copies meet exactly.
        let edge = |n: usize| match n {
            0 if before == 0.0 => pair[0],
            n if n == pieces && after == 0.0 => pair[1],
            n => from_u(from + (before + n as f64) * step),
        };
        for n in 0..pieces {
            spans.push(Span {
                from: edge(n),
                middle: from_u(from + (before + n as f64 + 0.5) * step),
                to: edge(n + 1),
            });
        }
    }
    spans
}

/// Whether a surface's root and tip stand free: not on the centre line of a mirrored surface, not on another surface.
fn free_ends(surfaces: &[Surface], index: usize) -> [bool; 2] {
    let surface = &surfaces[index];
    let near = 0.05 * surface.developed_span_m();
    [0, surface.sections.len() - 1].map(|end| {
        let section = &surface.sections[end];
        let place = section.leading_edge;
        let on_another = surfaces.iter().enumerate().any(|(k, other)| {
            let span = other.developed_span_m();
            let touches = |right: f64| {
                other
                    .share_near(right, place.up_m, near / span)
                    .is_some_and(|share| {
                        let (front, chord, _) = other.at(other.segment(share), share);
                        front.station_m < place.station_m + section.chord_m
                            && place.station_m < front.station_m + chord
                    })
            };
            k != index && (touches(place.right_m) || other.mirrored && touches(-place.right_m))
        });
        let mirror_image =
            surface.mirrored && place.right_m.abs() < 1e-6 * surface.developed_span_m();
        !(on_another || mirror_image)
    })
}

impl Surface {
    /// Shares of the developed length at which strips must end: sections and ends of bends.
    fn breaks(&self) -> Vec<f64> {
        let lengths = self.lengths();
        let whole = lengths[lengths.len() - 1];
        let mut breaks: Vec<f64> = lengths.iter().map(|l| l / whole).collect();
        for bend in &self.bends {
            breaks.extend([bend.from_span_share, bend.to_span_share]);
        }
        breaks.sort_by(f64::total_cmp);
        breaks.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        let last = breaks.len() - 1;
        breaks[last] = 1.0;
        breaks
    }

    /// Developed length from the root to each section, m.
    fn lengths(&self) -> Vec<f64> {
        let mut lengths = vec![0.0];
        let mut sum = 0.0;
        for pair in self.sections.windows(2) {
            let (a, b) = (pair[0].leading_edge, pair[1].leading_edge);
            sum += libm::hypot(b.right_m - a.right_m, b.up_m - a.up_m);
            lengths.push(sum);
        }
        lengths
    }

    /// Fractions of the chord at which panels end.
    fn fractions(&self, along: usize) -> Vec<f64> {
        let mut hinges = vec![0.0, 1.0];
        for bend in &self.bends {
            hinges.push(1.0 - bend.chord_share);
        }
        hinges.sort_by(f64::total_cmp);
        hinges.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        let mut fractions = vec![0.0];
        for pair in hinges.windows(2) {
            let pieces = whole(along as f64 * (pair[1] - pair[0]));
            for piece in 1..=pieces {
                fractions.push(pair[0] + (pair[1] - pair[0]) * piece as f64 / pieces as f64);
            }
        }
        fractions
    }

    /// Mean station of the leading edge over the sections, m.
    fn mean_front(&self) -> f64 {
        let sum: f64 = self.sections.iter().map(|s| s.leading_edge.station_m).sum();
        sum / self.sections.len() as f64
    }

    /// Leading edge, chord and incidence at a share of the developed length, seen from inside the segment `segment`.
    fn at(&self, segment: usize, share: f64) -> (BuilderPoint, f64, f64) {
        let lengths = self.lengths();
        let whole = lengths[lengths.len() - 1];
        let (from, to) = (lengths[segment], lengths[segment + 1]);
        let f = (share * whole - from) / (to - from);
        let (a, b) = (&self.sections[segment], &self.sections[segment + 1]);
        let between = |x: f64, y: f64| x + (y - x) * f;
        let (p, q) = (a.leading_edge, b.leading_edge);
        (
            BuilderPoint::new(
                between(p.station_m, q.station_m),
                between(p.right_m, q.right_m),
                between(p.up_m, q.up_m),
            ),
            between(a.chord_m, b.chord_m).max(0.0),
            between(a.incidence_rad, b.incidence_rad),
        )
    }

    /// The segment between two sections in which a share of the developed length lies.
    fn segment(&self, share: f64) -> usize {
        let lengths = self.lengths();
        let along = share * lengths[lengths.len() - 1];
        let after = lengths.iter().skip(1).take_while(|l| **l < along).count();
        after.min(self.sections.len() - 2)
    }

    /// Notes where edges of this surface (both copies) are seen along x.
    fn mark(&self, index: usize, shares: &[f64], marks: &mut Vec<(usize, f64, f64)>) {
        for &share in shares {
            let place = self.at(self.segment(share), share).0;
            marks.push((index, place.right_m, place.up_m));
            if self.mirrored {
                marks.push((index, -place.right_m, place.up_m));
            }
        }
    }

    /// The share of the developed length nearest to a point seen along x, where it lies within `near` (a share as well).
    fn share_near(&self, right: f64, up: f64, near: f64) -> Option<f64> {
        let lengths = self.lengths();
        let whole = lengths[lengths.len() - 1];
        let mut best: Option<(f64, f64)> = None;
        for (k, pair) in self.sections.windows(2).enumerate() {
            let (a, b) = (pair[0].leading_edge, pair[1].leading_edge);
            let length = lengths[k + 1] - lengths[k];
            let (ty, tz) = ((b.right_m - a.right_m) / length, (b.up_m - a.up_m) / length);
            let (dy, dz) = (right - a.right_m, up - a.up_m);
            let along = (dy * ty + dz * tz).clamp(0.0, length);
            let distance = libm::hypot(dy - along * ty, dz - along * tz);
            if distance < near * whole && best.is_none_or(|(d, _)| distance < d) {
                best = Some((distance, (lengths[k] + along) / whole));
            }
        }
        best.map(|(_, share)| share)
    }
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
