//! Whether there were panels enough: two finenesses, Richardson's limit, and finer where it is not near (MODEL.md § 17).

use super::derivatives::{Analysis, Derivatives, InducedDrag, StripLoad, Superposed};
use super::geometry::{GeometryError, Reference, Surface};
use super::lattice::Lattice;
use super::panels::Panelling;
use crate::aero::coefficients::TabEffect;
use crate::frames::BuilderPoint;

/// What to analyse, and how finely.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// Fineness to begin with.
    pub panelling: Panelling,
    /// Incidence about which side, roll and yaw are differentiated, rad.
    pub lateral_alpha_rad: f64,
    /// Change on refinement below which the result counts as converged.
    pub tolerance: f64,
    /// Panels not to go beyond when refining.
    pub most_panels: usize,
    /// Places at which dε/dα is wanted.
    pub downwash_points: Vec<BuilderPoint>,
}

impl Default for Settings {
    fn default() -> Self {
        Settings {
            panelling: Panelling::default(),
            lateral_alpha_rad: 0.0,
            tolerance: 0.02,
            most_panels: 600,
            downwash_points: Vec::new(),
        }
    }
}

/// Coefficients of the lattice with a statement of how far panels still matter.
#[derive(Clone, Debug, PartialEq)]
pub struct LatticeResult {
    /// The coefficients at the finest panels used.
    pub derivatives: Derivatives,
    /// What Richardson's rule says each entry would still change by with ever more panels.
    pub still_to_come: Derivatives,
    /// Span efficiency e of the lift that goes with α.
    pub span_efficiency: f64,
    /// Induced drag over α.
    pub induced_drag: InducedDrag,
    /// Station of the neutral point, m.
    pub neutral_point_station_m: f64,
    /// Mean dε/dα at each surface from all the others.
    pub downwash: Vec<f64>,
    /// dε/dα at the places asked for.
    pub downwash_at_points: Vec<f64>,
    /// Circulations strip by strip.
    pub strips: Vec<StripLoad>,
    /// Panels used.
    pub panels: usize,
    /// The largest change still to come: of lift slope and span efficiency as shares, of the neutral point in reference chords.
    pub change_on_refinement: f64,
    /// Whether that is below the tolerance.
    pub converged: bool,
}

/// Surfaces with panels enough for [`Settings::tolerance`], or as many as allowed, ready to be analysed at any incidence.
#[derive(Clone, Debug)]
pub struct Settled {
    surfaces: Vec<Surface>,
    reference: Reference,
    downwash_points: Vec<BuilderPoint>,
    coarse: (Lattice, Superposed),
    fine: (Lattice, Superposed),
    change_on_refinement: f64,
    converged: bool,
}

impl Settled {
    /// Refines until panels no longer matter or the limit is reached. Lift, pitch and span efficiency decide that, which no incidence changes.
    ///
    /// Equation: MODEL.md § 17. Errors: [`GeometryError`].
    pub fn new(
        surfaces: &[Surface],
        reference: &Reference,
        settings: &Settings,
    ) -> Result<Self, GeometryError> {
        let mut panelling = settings.panelling;
        let ready = |panelling: &Panelling| -> Result<_, GeometryError> {
            let lattice = Lattice::new(surfaces, reference, panelling)?;
            let superposed = Superposed::of(&lattice);
            Ok((lattice, superposed))
        };
        let mut coarse = ready(&panelling.refined(0.5))?;
        loop {
            let fine = ready(&panelling)?;
            let at_zero =
                |(lattice, superposed): &(Lattice, Superposed)| superposed.at(lattice, 0.0);
            let change_on_refinement = change(&at_zero(&fine), &at_zero(&coarse), reference);
            let converged = change_on_refinement < settings.tolerance;
            if converged || 2 * fine.0.panel_count() > settings.most_panels {
                return Ok(Settled {
                    surfaces: surfaces.to_vec(),
                    reference: *reference,
                    downwash_points: settings.downwash_points.clone(),
                    coarse,
                    fine,
                    change_on_refinement,
                    converged,
                });
            }
            coarse = fine;
            panelling = panelling.refined(2.0);
        }
    }

    /// Whether more panels would change little.
    pub fn is_converged(&self) -> bool {
        self.converged
    }

    /// Whether these are the surfaces and the reference it was made for.
    pub fn is_of(&self, surfaces: &[Surface], reference: &Reference) -> bool {
        self.surfaces == surfaces && self.reference == *reference
    }

    /// The result with side, roll and yaw differentiated about an incidence, rad.
    pub fn at(&self, lateral_alpha_rad: f64) -> LatticeResult {
        let (lattice, superposed) = &self.fine;
        let fine = superposed.at(lattice, lateral_alpha_rad);
        let coarse = self.coarse.1.at(&self.coarse.0, lateral_alpha_rad);
        LatticeResult {
            still_to_come: fine.derivatives.zip(&coarse.derivatives, to_come),
            downwash_at_points: self
                .downwash_points
                .iter()
                .map(|point| lattice.downwash_at(point, None))
                .collect(),
            derivatives: fine.derivatives,
            span_efficiency: fine.span_efficiency,
            induced_drag: fine.induced_drag,
            neutral_point_station_m: fine.neutral_point_station_m,
            downwash: fine.downwash,
            strips: fine.strips,
            panels: lattice.panel_count(),
            change_on_refinement: self.change_on_refinement,
            converged: self.converged,
        }
    }
}

/// Analyses surfaces at [`Settings::lateral_alpha_rad`], with panels enough.
///
/// Equation: MODEL.md § 17. Errors: [`GeometryError`].
pub fn analyse(
    surfaces: &[Surface],
    reference: &Reference,
    settings: &Settings,
) -> Result<LatticeResult, GeometryError> {
    Ok(Settled::new(surfaces, reference, settings)?.at(settings.lateral_alpha_rad))
}

/// First order in panel size, twice the panels: the size falls by √2.
fn to_come(fine: f64, coarse: f64) -> f64 {
    (fine - coarse) / (std::f64::consts::SQRT_2 - 1.0)
}

fn change(fine: &Analysis, coarse: &Analysis, reference: &Reference) -> f64 {
    let share = |f: f64, c: f64| (to_come(f, c) / f).abs();
    let neutral = to_come(fine.neutral_point_station_m, coarse.neutral_point_station_m);
    share(fine.derivatives.lift_alpha, coarse.derivatives.lift_alpha)
        .max(share(fine.span_efficiency, coarse.span_efficiency))
        .max((neutral / reference.chord_m).abs())
}

impl Derivatives {
    /// Entry by entry, a function of two tables' values.
    pub fn zip(&self, other: &Self, of: impl Fn(f64, f64) -> f64) -> Self {
        macro_rules! entries {
            ($($name:ident),*) => {
                Derivatives {
                    $($name: of(self.$name, other.$name),)*
                    tabs: self.tabs.iter().zip(&other.tabs).map(|(a, b)| TabEffect {
                        lift: of(a.lift, b.lift),
                        drag: of(a.drag, b.drag),
                        pitch: of(a.pitch, b.pitch),
                        side: of(a.side, b.side),
                        roll: of(a.roll, b.roll),
                        yaw: of(a.yaw, b.yaw),
                    }).collect(),
                }
            };
        }
        entries!(
            lift_zero,
            lift_alpha,
            lift_q,
            pitch_zero,
            pitch_alpha,
            pitch_q,
            side_zero,
            side_beta,
            side_p,
            side_r,
            roll_zero,
            roll_beta,
            roll_p,
            roll_r,
            yaw_zero,
            yaw_beta,
            yaw_p,
            yaw_r
        )
    }
}
