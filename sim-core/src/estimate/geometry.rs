//! Surfaces as a builder describes them: sections from root outwards, bent edges (MODEL.md § 16).

use crate::frames::BuilderPoint;
use thiserror::Error;

/// A lifting surface: wing, tail, fin, keel; flat or bent, level, canted or upright.
///
/// Its mean surface is swept by the sections' chords, each laid straight aft from its leading edge, parallel to the reference
/// line; between sections leading edge, chord and incidence go linearly. Incidence and bends turn the surface's normal only.
#[derive(Clone, Debug, PartialEq)]
pub struct Surface {
    /// Name for people and for errors.
    pub name: String,
    /// From the root outwards along the surface, at least two.
    pub sections: Vec<Section>,
    /// Whether the surface stands a second time with right → −right.
    pub mirrored: bool,
    /// Bent edges and trim tabs.
    pub bends: Vec<Bend>,
}

/// The chord of a surface at one place along it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    /// Leading edge.
    pub leading_edge: BuilderPoint,
    /// Chord, m; 0 at a pointed tip.
    pub chord_m: f64,
    /// Angle of the chord over the reference line, rad: nose up positive. On an upright surface (steeper than 45°) nose right,
    /// trailing edge left, positive, so that incidence acts as a bend of the whole chord would.
    pub incidence_rad: f64,
}

/// A trailing part of the chord, bent about a hinge between two places of the span.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bend {
    /// Index of the airframe's tab this bend belongs to; several bends can share one. The derivatives with respect to that
    /// tab are about the angle below, which the zero coefficients (C_L0, C_m0, …) contain.
    pub tab: Option<usize>,
    /// Inner end, as a share of the developed length from root to tip (0 to 1).
    pub from_span_share: f64,
    /// Outer end, as a share of the developed length from root to tip (0 to 1).
    pub to_span_share: f64,
    /// Bent part as a share of the local chord, counted from the trailing edge (above 0, up to 1).
    pub chord_share: f64,
    /// Angle, rad: trailing edge down positive; on an upright surface (steeper than 45°) trailing edge left positive.
    pub angle_rad: f64,
    /// On a mirrored surface, whether the mirrored copy bends by the opposite angle (in the same sign rule) instead of the same.
    pub antisymmetric: bool,
}

/// What the coefficients are made dimensionless with, and the point they are about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reference {
    /// Reference point of moments, incidence, sideslip and rates (MODEL.md § 5).
    pub point: BuilderPoint,
    /// Reference area S, m².
    pub area_m2: f64,
    /// Reference span b, m.
    pub span_m: f64,
    /// Reference chord c̄, m.
    pub chord_m: f64,
}

/// A description no lattice can be made of.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum GeometryError {
    /// There is no surface at all.
    #[error("no surface given; a lattice needs at least one")]
    NoSurface,
    /// A surface with fewer than two sections.
    #[error("surface '{surface}' has {found} section(s); it needs a root and a tip at least")]
    TooFewSections {
        /// The surface's name.
        surface: String,
        /// Sections found.
        found: usize,
    },
    /// A value that is not finite or outside its range.
    #[error("surface '{surface}': {what} is {found}, wanted {wanted}")]
    OutOfRange {
        /// The surface's name.
        surface: String,
        /// Which value.
        what: String,
        /// The value found, in SI units.
        found: f64,
        /// What would be right.
        wanted: &'static str,
    },
    /// Two neighbouring sections at the same place across the flow.
    #[error(
        "surface '{surface}': sections {first} and {second} lie one behind the other; move one outwards"
    )]
    SectionsCoincide {
        /// The surface's name.
        surface: String,
        /// Number of the inner section, counted from 1.
        first: usize,
        /// Number of the outer section, counted from 1.
        second: usize,
    },
    /// Two neighbouring sections without chord.
    #[error("surface '{surface}': sections {first} and {second} both have no chord")]
    NoChord {
        /// The surface's name.
        surface: String,
        /// Number of the inner section, counted from 1.
        first: usize,
        /// Number of the outer section, counted from 1.
        second: usize,
    },
    /// A reference value outside its range.
    #[error("reference {what} is {found}, wanted {wanted}")]
    Reference {
        /// Which value.
        what: &'static str,
        /// The value found, in SI units.
        found: f64,
        /// What would be right.
        wanted: &'static str,
    },
    /// The panels do not determine the flow, for instance because two surfaces coincide.
    #[error("the lattice has no unique solution; do two surfaces lie on top of each other?")]
    Singular,
    /// More panels than allowed.
    #[error("{found} panels, at most {allowed} allowed; ask for fewer or merge sections")]
    TooManyPanels {
        /// Panels the description would take.
        found: usize,
        /// Largest number allowed.
        allowed: usize,
    },
}

impl Surface {
    /// Developed length from root to tip, seen along the reference line, m.
    pub fn developed_span_m(&self) -> f64 {
        self.sections.windows(2).map(|w| across(&w[0], &w[1])).sum()
    }

    /// Area of one copy, measured along the surface, m².
    pub fn area_m2(&self) -> f64 {
        self.sections
            .windows(2)
            .map(|w| 0.5 * (w[0].chord_m + w[1].chord_m) * across(&w[0], &w[1]))
            .sum()
    }

    /// Looks for what no lattice can be made of.
    ///
    /// Errors: [`GeometryError`] naming the surface, the value found and what would be right.
    pub fn check(&self) -> Result<(), GeometryError> {
        if self.sections.len() < 2 {
            return Err(GeometryError::TooFewSections {
                surface: self.name.clone(),
                found: self.sections.len(),
            });
        }
        let refuse = |what: String, found: f64, wanted: &'static str| {
            Err(GeometryError::OutOfRange {
                surface: self.name.clone(),
                what,
                found,
                wanted,
            })
        };
        for (k, section) in self.sections.iter().enumerate() {
            let place = section.leading_edge;
            for (what, value) in [
                ("station", place.station_m),
                ("right", place.right_m),
                ("up", place.up_m),
                ("chord", section.chord_m),
                ("incidence", section.incidence_rad),
            ] {
                if !value.is_finite() {
                    let what = format!("{what} of section {}", k + 1);
                    return refuse(what, value, "a finite number");
                }
            }
            if section.chord_m < 0.0 {
                let what = format!("chord of section {}", k + 1);
                return refuse(what, section.chord_m, "0 or more");
            }
        }
        let length = self.developed_span_m();
        for (k, pair) in self.sections.windows(2).enumerate() {
            let (surface, first, second) = (self.name.clone(), k + 1, k + 2);
            if across(&pair[0], &pair[1]) <= 1e-9 * length {
                return Err(GeometryError::SectionsCoincide {
                    surface,
                    first,
                    second,
                });
            }
            if pair[0].chord_m + pair[1].chord_m <= 0.0 {
                return Err(GeometryError::NoChord {
                    surface,
                    first,
                    second,
                });
            }
        }
        for (k, bend) in self.bends.iter().enumerate() {
            let of = |what: &str| format!("{what} of bend {}", k + 1);
            let (from, to) = (bend.from_span_share, bend.to_span_share);
            if !(0.0..1.0).contains(&from) {
                return refuse(of("inner span share"), from, "0 to below 1");
            }
            if !(to > from && to <= 1.0) {
                return refuse(of("outer span share"), to, "above the inner one, up to 1");
            }
            if !(bend.chord_share > 0.0 && bend.chord_share <= 1.0) {
                return refuse(of("chord share"), bend.chord_share, "above 0, up to 1");
            }
            if !bend.angle_rad.is_finite() {
                return refuse(of("angle"), bend.angle_rad, "a finite number");
            }
        }
        Ok(())
    }
}

impl Reference {
    /// Looks for values nothing can be divided by.
    ///
    /// Errors: [`GeometryError::Reference`].
    pub fn check(&self) -> Result<(), GeometryError> {
        for (what, found) in [
            ("area", self.area_m2),
            ("span", self.span_m),
            ("chord", self.chord_m),
        ] {
            if !(found > 0.0 && found.is_finite()) {
                let wanted = "a positive number";
                return Err(GeometryError::Reference {
                    what,
                    found,
                    wanted,
                });
            }
        }
        for (what, found) in [
            ("station", self.point.station_m),
            ("right", self.point.right_m),
            ("up", self.point.up_m),
        ] {
            if !found.is_finite() {
                let wanted = "a finite number";
                return Err(GeometryError::Reference {
                    what,
                    found,
                    wanted,
                });
            }
        }
        Ok(())
    }
}

/// Distance of two sections' leading edges seen along the reference line, m.
fn across(a: &Section, b: &Section) -> f64 {
    libm::hypot(
        b.leading_edge.right_m - a.leading_edge.right_m,
        b.leading_edge.up_m - a.leading_edge.up_m,
    )
}
