//! Where surfaces are cut: strip edges, panel edges, lines that fall on each other (MODEL.md § 16).

use super::super::geometry::Surface;
use super::{Panelling, Spacing};
use crate::frames::BuilderPoint;
use std::f64::consts::PI;

/// Where a strip lies, in shares of the developed length, 0 to 1.
#[derive(Clone, Copy)]
pub(super) struct Span {
    pub from: f64,
    /// Where control points and bound vortices' velocities are taken.
    pub middle: f64,
    pub to: f64,
}

/// Where one surface is cut.
pub(super) struct Grid {
    /// Strips from the root outwards.
    pub spans: Vec<Span>,
    /// Panel edges as fractions of the chord, 0 to 1.
    pub fractions: Vec<f64>,
}

pub(super) fn grids(surfaces: &[Surface], panelling: &Panelling) -> Vec<Grid> {
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
    pub(super) fn at(&self, segment: usize, share: f64) -> (BuilderPoint, f64, f64) {
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
    pub(super) fn segment(&self, share: f64) -> usize {
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
