//! What a builder measures off the foam: the mark behind the leading edge, and how far an edge stands from flat (MODEL.md § 22).

use super::Balance;
use crate::airframe_file::AirframeFile;
use crate::build::surfaces;
use crate::estimate::outside;
use serde::Serialize;
use sim_core::estimate::geometry::Surface;

/// The balance point as a builder finds it on the wing.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Mark {
    /// The largest level surface.
    pub surface: String,
    /// Balance point, mm behind the leading edge of that surface's root.
    pub behind_leading_edge_mm: f64,
}

/// The bent part of a surface's trailing edge that a tab stands for.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TrailingEdge {
    /// The tab.
    pub tab: String,
    /// The surface.
    pub surface: String,
    /// Length of the bent part along the chord at its inner and at its outer end, mm.
    pub bent_chord_mm: [f64; 2],
}

impl TrailingEdge {
    /// How far the edge stands above flat at its inner and at its outer end, mm, bent to an angle (deg, trailing edge down positive).
    pub fn up_mm(&self, angle_deg: f64) -> [f64; 2] {
        let up = -libm::sin(angle_deg.to_radians());
        self.bent_chord_mm.map(|chord| chord * up)
    }
}

/// Where the balance point is on the wing. `file` must have its outlines written down.
pub fn mark(file: &AirframeFile, balance: &Balance) -> Option<Mark> {
    let all = outside(file, surfaces(file));
    let (surface, _) = all.surfaces.get(all.main)?;
    let root_mm = surface.sections.first()?.leading_edge.station_m * 1e3;
    Some(Mark {
        surface: surface.name.clone(),
        behind_leading_edge_mm: balance.balance_station_mm - root_mm,
    })
}

/// The edges of the balance's bends; a tab that no surface's bend belongs to has none. `file` must have its outlines written down.
pub fn trailing_edges(file: &AirframeFile, balance: &Balance) -> Vec<TrailingEdge> {
    let mut edges = Vec::new();
    for surface in surfaces(file) {
        for bend in &surface.bends {
            let Some(tab) = bend.tab.map(|i| &file.tabs[i].name) else {
                continue;
            };
            if !balance.bends_to_best_glide.iter().any(|b| b.tab == *tab) {
                continue;
            }
            let ends = [bend.from_span_share, bend.to_span_share];
            edges.push(TrailingEdge {
                tab: tab.clone(),
                surface: surface.name.clone(),
                bent_chord_mm: ends.map(|share| 1e3 * bend.chord_share * chord_at(&surface, share)),
            });
        }
    }
    edges
}

/// Chord at a share of the developed span, m.
fn chord_at(surface: &Surface, share: f64) -> f64 {
    let mut left = share * surface.developed_span_m();
    for pair in surface.sections.windows(2) {
        let (a, b) = (pair[0].leading_edge, pair[1].leading_edge);
        let length = libm::hypot(b.right_m - a.right_m, b.up_m - a.up_m);
        if left <= length {
            return pair[0].chord_m + left / length * (pair[1].chord_m - pair[0].chord_m);
        }
        left -= length;
    }
    surface
        .sections
        .last()
        .map_or(0.0, |section| section.chord_m)
}
