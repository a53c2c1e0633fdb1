//! Surfaces to panels (MODEL.md § 5.3) and to sections for the estimate (§ 16). Outlines of surfaces: § 12.

use crate::airframe_file::{AirframeFile, Bend as BendFile, Plane, Surface as SurfaceFile};
use crate::outline::polygon::{Flat, Strip, hull, strips};
use crate::units::{m_from_mm, place, rad_from_deg};
use sim_core::aero::post_stall::Panel;
use sim_core::estimate::geometry::{Bend, Section, Surface};
use sim_core::frames::BuilderPoint;

/// How far leading and trailing edge may move when sections are left out, mm.
const THINNING_MM: f64 = 0.25;
/// Sections closer than this share of the span are one.
const LEAST_SPACING: f64 = 5e-3;
/// Share of the span over which the lattice gets from one chord to the next where the outline has a step.
const STEP_WIDTH: f64 = 1e-2;
/// Edges this close are the same, mm.
const SAME_MM: f64 = 1e-6;

/// The surfaces of a checked airframe as the estimate takes them, in file order. Outlines must be written down
/// ([`crate::load::LoadedAirframe::written_down`]).
///
/// Bends carry the index of the airframe's tab they belong to and, as their angle, its setting.
pub fn surfaces(file: &AirframeFile) -> Vec<Surface> {
    let sections: Vec<Vec<Section>> = file.surfaces.iter().map(sections_of).collect();
    surfaces_with(file, &sections)
}

/// The same, where their sections are known.
pub(crate) fn surfaces_with(file: &AirframeFile, sections: &[Vec<Section>]) -> Vec<Surface> {
    let tab = |bend: &BendFile| {
        let named = bend.tab.as_ref()?;
        file.tabs.iter().position(|tab| tab.name == *named)
    };
    let bend = |bend: &BendFile| {
        let tab = tab(bend);
        let angle_deg = match tab {
            Some(index) => file.tabs[index].setting_deg,
            None => bend.angle_deg.unwrap_or(0.0),
        };
        Bend {
            tab,
            from_span_share: bend.from_span_fraction,
            to_span_share: bend.to_span_fraction,
            chord_share: bend.chord_fraction,
            angle_rad: rad_from_deg(angle_deg),
            antisymmetric: bend.antisymmetric,
        }
    };
    file.surfaces
        .iter()
        .zip(sections)
        .map(|(surface, sections)| Surface {
            name: surface.name.clone(),
            sections: sections.clone(),
            mirrored: surface.mirrored,
            bends: surface.bends.iter().map(bend).collect(),
        })
        .collect()
}

/// The panels of a surface, with those of its mirror image where it has one.
pub(super) fn panels_of(surface: &SurfaceFile) -> Vec<Panel> {
    let mut panels = Vec::new();
    for (panel, _) in panels_with_incidence(surface) {
        panels.push(panel);
        panels.extend(surface.mirrored.then(|| panel.mirrored()));
    }
    panels
}

/// The panels of a surface without its mirror image, each with the incidence at its root and tip, rad.
pub(super) fn panels_with_incidence(surface: &SurfaceFile) -> Vec<(Panel, [f64; 2])> {
    let between = |ends: [f64; 2]| ends.map(|share| incidence(surface, share));
    let Some(drawn) = Drawn::of(surface) else {
        return vec![(trapezoid(surface), between([0.0, 1.0]))];
    };
    let span = drawn.span();
    let share = |out: f64| (out - drawn.root) / span;
    drawn
        .panels()
        .into_iter()
        .zip(&drawn.strips)
        .map(|(panel, strip)| (panel, between([share(strip.from), share(strip.to)])))
        .collect()
}

/// Incidence of the chord at a share of the span over the reference line, rad.
fn incidence(surface: &SurfaceFile, share: f64) -> f64 {
    rad_from_deg(surface.incidence_deg + share * surface.twist_deg)
}

/// The outermost points of a surface and its mirror image.
pub(super) fn outermost_of(surface: &SurfaceFile) -> Vec<BuilderPoint> {
    let Some(drawn) = Drawn::of(surface) else {
        let panels = panels_of(surface);
        return panels.iter().flat_map(Panel::corners).collect();
    };
    let corners = hull(&drawn.corners);
    let own = corners
        .iter()
        .map(|&(station, out)| drawn.place(station, out));
    let mut points: Vec<BuilderPoint> = own.collect();
    if surface.mirrored {
        points.extend(points.clone().iter().map(BuilderPoint::mirrored));
    }
    points
}

/// Checked before: a surface without an outline has all numbers of a trapezoid.
fn trapezoid(surface: &SurfaceFile) -> Panel {
    let mm = |value: Option<f64>| m_from_mm(value.unwrap_or(0.0));
    Panel {
        root_leading_edge: place(&surface.root_leading_edge.unwrap_or_default()),
        root_chord_m: mm(surface.root_chord_mm),
        tip_chord_m: mm(surface.tip_chord_mm),
        half_span_m: mm(surface.half_span_mm),
        sweep_rad: rad_from_deg(surface.leading_edge_sweep_deg.unwrap_or(0.0)),
        dihedral_rad: match surface.cant_deg {
            Some(cant) => rad_from_deg(90.0 - cant),
            None => rad_from_deg(surface.dihedral_deg.unwrap_or(0.0)),
        },
        side: 1.0,
    }
}

pub(super) fn sections_of(surface: &SurfaceFile) -> Vec<Section> {
    let incidence = |share: f64| incidence(surface, share);
    let Some(drawn) = Drawn::of(surface) else {
        let panel = trapezoid(surface);
        let section = |share: f64| Section {
            leading_edge: panel.point(share, 0.0),
            chord_m: panel.chord(share),
            incidence_rad: incidence(share),
        };
        return [0.0, 1.0].map(section).to_vec();
    };
    let cuts = cuts(&drawn.strips);
    let (from, span) = (drawn.root, drawn.span());
    cuts.iter()
        .map(|cut| Section {
            leading_edge: drawn.place(cut.leading, cut.out),
            chord_m: m_from_mm(cut.trailing - cut.leading),
            incidence_rad: incidence((cut.out - from) / span),
        })
        .collect()
}

/// A surface with an outline, turned so that it goes out from its root: corners by station and distance out, mm.
struct Drawn {
    corners: Vec<Flat>,
    strips: Vec<Strip>,
    /// The innermost distance out.
    root: f64,
    /// Place of the plane: height of a level one's root, right of an upright one's.
    off_mm: f64,
    /// Angle over the level: dihedral, or a right angle less the cant.
    dihedral_rad: f64,
    /// −1 for a level outline left of the centre line and for a keel: an upright one below the reference line.
    side: f64,
    upright: bool,
}

impl Drawn {
    /// None for a trapezoid. Checked before: the outline has one leading and one trailing edge and lies on one side.
    fn of(surface: &SurfaceFile) -> Option<Self> {
        if surface.outline.is_empty() {
            return None;
        }
        let upright = surface.plane == Some(Plane::Upright);
        let across = surface.outline.iter().map(|corner| {
            let across = if upright {
                corner.up_mm
            } else {
                corner.right_mm
            };
            (corner.station_mm, across.unwrap_or(0.0))
        });
        let corners: Vec<Flat> = across.collect();
        let middle: f64 = corners.iter().map(|corner| corner.1).sum();
        let side = if middle < 0.0 { -1.0 } else { 1.0 };
        let corners: Vec<Flat> = corners.iter().map(|c| (c.0, side * c.1)).collect();
        let strips = strips(&corners).ok()?;
        Some(Drawn {
            root: strips.first()?.from,
            corners,
            strips,
            off_mm: if upright {
                surface.right_mm
            } else {
                surface.up_mm
            }
            .unwrap_or(0.0),
            dihedral_rad: if upright {
                side * rad_from_deg(90.0 - surface.cant_deg.unwrap_or(0.0))
            } else {
                rad_from_deg(surface.dihedral_deg.unwrap_or(0.0))
            },
            side,
            upright,
        })
    }

    fn span(&self) -> f64 {
        self.strips.last().map_or(0.0, |strip| strip.to) - self.root
    }

    /// A point of the outline in builder's axes.
    fn place(&self, station: f64, out: f64) -> BuilderPoint {
        let (up, right) = libm::sincos(self.dihedral_rad);
        let along = out - self.root;
        let (right, up) = if self.upright {
            (
                self.off_mm + along * right,
                self.side * self.root + along * up,
            )
        } else {
            (
                self.side * (self.root + along * right),
                self.off_mm + along * up,
            )
        };
        BuilderPoint::new(m_from_mm(station), m_from_mm(right), m_from_mm(up))
    }

    fn panels(&self) -> Vec<Panel> {
        let panel = |strip: &Strip| {
            let width = strip.to - strip.from;
            Panel {
                root_leading_edge: self.place(strip.leading.0, strip.from),
                root_chord_m: m_from_mm(strip.trailing.0 - strip.leading.0),
                tip_chord_m: m_from_mm(strip.trailing.1 - strip.leading.1),
                half_span_m: m_from_mm(width),
                sweep_rad: libm::atan2(strip.leading.1 - strip.leading.0, width),
                dihedral_rad: self.dihedral_rad,
                side: if self.upright { 1.0 } else { self.side },
            }
        };
        self.strips.iter().map(panel).collect()
    }
}

/// Leading and trailing edge at a distance out, mm.
#[derive(Clone, Copy, Debug)]
struct Cut {
    out: f64,
    leading: f64,
    trailing: f64,
}

/// Where sections stand: at the corners that matter, none so close that panels between them would be slivers.
fn cuts(strips: &[Strip]) -> Vec<Cut> {
    let (Some(first), Some(last)) = (strips.first(), strips.last()) else {
        return Vec::new();
    };
    let span = last.to - first.from;
    let mut cuts: Vec<Cut> = Vec::new();
    for strip in strips {
        let at = |out: f64| {
            let share = (out - strip.from) / (strip.to - strip.from);
            Cut {
                out,
                leading: strip.leading.0 + share * (strip.leading.1 - strip.leading.0),
                trailing: strip.trailing.0 + share * (strip.trailing.1 - strip.trailing.0),
            }
        };
        let begin = at(strip.from);
        let goes_on = cuts.last().is_some_and(|before| {
            (before.leading - begin.leading).abs() <= SAME_MM
                && (before.trailing - begin.trailing).abs() <= SAME_MM
        });
        if cuts.is_empty() {
            cuts.push(begin);
        } else if !goes_on {
            // Two chords at one place: the second stands a little further out.
            let beyond = (STEP_WIDTH * span).min((strip.to - strip.from) / 2.0);
            cuts.push(at(strip.from + beyond));
        }
        cuts.push(at(strip.to));
    }
    let mut kept = vec![cuts[0]];
    thin(&cuts, LEAST_SPACING * span, &mut kept);
    kept
}

/// Keeps what straight edges between the first and the last cut do not show (Douglas & Peucker); the first is kept already.
fn thin(cuts: &[Cut], spacing: f64, kept: &mut Vec<Cut>) {
    let (Some(first), Some(last)) = (cuts.first(), cuts.last()) else {
        return;
    };
    let off = |cut: &Cut| {
        let share = (cut.out - first.out) / (last.out - first.out);
        let between = |from: f64, to: f64| from + share * (to - from);
        let leading = cut.leading - between(first.leading, last.leading);
        let trailing = cut.trailing - between(first.trailing, last.trailing);
        leading.abs().max(trailing.abs())
    };
    let has_room = |cut: &Cut| cut.out - first.out >= spacing && last.out - cut.out >= spacing;
    let furthest = (0..cuts.len())
        .filter(|&i| has_room(&cuts[i]))
        .map(|i| (i, off(&cuts[i])))
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .filter(|(_, off)| *off > THINNING_MM);
    match furthest {
        Some((i, _)) => {
            thin(&cuts[..=i], spacing, kept);
            thin(&cuts[i..], spacing, kept);
        }
        None => kept.push(*last),
    }
}
