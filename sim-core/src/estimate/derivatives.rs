//! Every coefficient's derivatives by exact differentiation of the lattice, span efficiency, neutral point, downwash (MODEL.md § 17).

use super::geometry::Reference;
use super::lattice::{Flow, Lattice, Loads, Motion, Onset};
use crate::aero::coefficients::TabEffect;
use crate::frames::BuilderPoint;
use nalgebra::Vector3;
use std::f64::consts::PI;

/// Linear coefficients of the lattice, in the measures and signs of MODEL.md § 5. Lift and pitch about α = 0, side, roll and
/// yaw about a given incidence.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Derivatives {
    /// C_L0.
    pub lift_zero: f64,
    /// C_Lα, 1/rad.
    pub lift_alpha: f64,
    /// C_Lq, per q c̄/2V.
    pub lift_q: f64,
    /// C_m0.
    pub pitch_zero: f64,
    /// C_mα, 1/rad.
    pub pitch_alpha: f64,
    /// C_mq, per q c̄/2V.
    pub pitch_q: f64,
    /// C_Y0.
    pub side_zero: f64,
    /// C_Yβ, 1/rad.
    pub side_beta: f64,
    /// C_Yp, per p b/2V.
    pub side_p: f64,
    /// C_Yr, per r b/2V.
    pub side_r: f64,
    /// C_l0.
    pub roll_zero: f64,
    /// C_lβ, 1/rad.
    pub roll_beta: f64,
    /// C_lp, per p b/2V.
    pub roll_p: f64,
    /// C_lr, per r b/2V.
    pub roll_r: f64,
    /// C_n0.
    pub yaw_zero: f64,
    /// C_nβ, 1/rad.
    pub yaw_beta: f64,
    /// C_np, per p b/2V.
    pub yaw_p: f64,
    /// C_nr, per r b/2V.
    pub yaw_r: f64,
    /// What each tab does, 1/rad; drag (1/rad²): the induced drag of its load beyond K C_Lδ².
    pub tabs: Vec<TabEffect<f64>>,
}

/// Induced drag C_Di = zero + alpha·α + alpha_squared·α², Trefftz plane.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct InducedDrag {
    /// At α = 0.
    pub zero: f64,
    /// 1/rad.
    pub alpha: f64,
    /// 1/rad².
    pub alpha_squared: f64,
}

/// The load on one strip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StripLoad {
    /// Index of the surface.
    pub surface: usize,
    /// Whether it belongs to the mirrored copy.
    pub mirrored: bool,
    /// Middle of its leading edge.
    pub leading_edge: BuilderPoint,
    /// Chord there, m.
    pub chord_m: f64,
    /// Width across the flow, m.
    pub width_m: f64,
    /// Circulation over airspeed at α = 0, m.
    pub circulation_zero_m: f64,
    /// Its derivative with respect to α, m/rad.
    pub circulation_alpha_m: f64,
}

/// All the lattice says about an aircraft at one fineness.
#[derive(Clone, Debug, PartialEq)]
pub struct Analysis {
    /// The coefficients.
    pub derivatives: Derivatives,
    /// Span efficiency e of the lift that goes with α: C_Di = C_L²/(π e b²/S).
    pub span_efficiency: f64,
    /// Induced drag over α, set twist and bends included.
    pub induced_drag: InducedDrag,
    /// Station of the neutral point, m.
    pub neutral_point_station_m: f64,
    /// Mean dε/dα at each surface from all the others.
    pub downwash: Vec<f64>,
    /// Strip by strip.
    pub strips: Vec<StripLoad>,
}

impl Analysis {
    /// How far the neutral point lies behind a balance point, in reference chords.
    pub fn static_margin(&self, balance_station_m: f64, reference: &Reference) -> f64 {
        (self.neutral_point_station_m - balance_station_m) / reference.chord_m
    }
}

/// One of the inputs coefficients are differentiated by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Input {
    Alpha,
    Beta,
    RollRate,
    PitchRate,
    YawRate,
    Tab(usize),
}

impl Lattice {
    /// Coefficients, span efficiency, neutral point, downwash; side, roll and yaw about `lateral_alpha_rad`.
    ///
    /// Equation: MODEL.md § 17.
    pub fn analyse(&self, lateral_alpha_rad: f64) -> Analysis {
        let level = Motion::default();
        let raised = Motion {
            alpha_rad: lateral_alpha_rad,
            ..Motion::default()
        };
        let (base, lateral) = (
            self.flow(self.onset(&level)),
            self.flow(self.onset(&raised)),
        );
        let zero = self.coefficients(&self.wrench(&base, &base), 0.0);
        let lateral_zero = self.coefficients(&self.wrench(&lateral, &lateral), lateral_alpha_rad);

        let by_alpha = self.response(&base, 0.0, Input::Alpha);
        let alpha = self.derivative(&base, &by_alpha, 0.0, Input::Alpha);
        let longitudinal =
            |input| self.derivative(&base, &self.response(&base, 0.0, input), 0.0, input);
        let sideways = |input| {
            let response = self.response(&lateral, lateral_alpha_rad, input);
            self.derivative(&lateral, &response, lateral_alpha_rad, input)
        };
        let q = longitudinal(Input::PitchRate);
        let (beta, p, r) = (
            sideways(Input::Beta),
            sideways(Input::RollRate),
            sideways(Input::YawRate),
        );

        let strips_zero = self.strip_circulations(&base.circulation);
        let strips_alpha = self.strip_circulations(&by_alpha.circulation);
        let (d0, _) = self.far_behind(&strips_zero, &strips_zero);
        let (d2, lift) = self.far_behind(&strips_alpha, &strips_alpha);
        let d1 = self.far_behind(&strips_zero, &strips_alpha).0
            + self.far_behind(&strips_alpha, &strips_zero).0;
        let factor = d2 / (lift * lift);
        let aspect = self.reference.span_m * self.reference.span_m / self.reference.area_m2;

        let tabs = (0..self.panels.tabs)
            .map(|tab| {
                let response = self.response(&base, 0.0, Input::Tab(tab));
                let up = self.derivative(&base, &response, 0.0, Input::Tab(tab));
                let side = sideways(Input::Tab(tab));
                let strips = self.strip_circulations(&response.circulation);
                let (drag, lift) = self.far_behind(&strips, &strips);
                TabEffect {
                    lift: up.lift,
                    drag: drag - factor * lift * lift,
                    pitch: up.pitch,
                    side: side.side,
                    roll: side.roll,
                    yaw: side.yaw,
                }
            })
            .collect();

        let strips = self
            .panels
            .strips
            .iter()
            .zip(strips_zero.iter().zip(&strips_alpha))
            .map(|(strip, (zero, alpha))| StripLoad {
                surface: strip.surface,
                mirrored: strip.mirrored,
                leading_edge: strip.leading_edge,
                chord_m: strip.chord_m,
                width_m: strip.width_m,
                circulation_zero_m: *zero,
                circulation_alpha_m: *alpha,
            })
            .collect();
        let surfaces = self.panels.strips.iter().map(|s| s.surface + 1).max();
        let station = self.reference.point.station_m;
        Analysis {
            span_efficiency: 1.0 / (PI * aspect * factor),
            induced_drag: InducedDrag {
                zero: d0,
                alpha: d1,
                alpha_squared: d2,
            },
            neutral_point_station_m: station - self.reference.chord_m * alpha.pitch / alpha.lift,
            downwash: (0..surfaces.unwrap_or(0))
                .map(|surface| self.downwash_on(surface, &by_alpha))
                .collect(),
            strips,
            derivatives: Derivatives {
                lift_zero: zero.lift,
                lift_alpha: alpha.lift,
                lift_q: q.lift,
                pitch_zero: zero.pitch,
                pitch_alpha: alpha.pitch,
                pitch_q: q.pitch,
                side_zero: lateral_zero.side,
                side_beta: beta.side,
                side_p: p.side,
                side_r: r.side,
                roll_zero: lateral_zero.roll,
                roll_beta: beta.roll,
                roll_p: p.roll,
                roll_r: r.roll,
                yaw_zero: lateral_zero.yaw,
                yaw_beta: beta.yaw,
                yaw_p: p.yaw,
                yaw_r: r.yaw,
                tabs,
            },
        }
    }

    /// dε/dα at a point, from every surface but the one left out. Within a strip's width of a wake or a surface the single
    /// vortices show; take the mean over several places there.
    pub fn downwash_at(&self, point: &BuilderPoint, without: Option<usize>) -> f64 {
        let base = self.flow(self.onset(&Motion::default()));
        let by_alpha = self.response(&base, 0.0, Input::Alpha);
        self.induced_at(&self.body(point), &by_alpha.circulation, without)
            .z
    }

    fn downwash_on(&self, surface: usize, by_alpha: &Flow) -> f64 {
        let (mut sum, mut area) = (0.0, 0.0);
        for panel in &self.panels.panels {
            if self.panels.strips[panel.strip].surface == surface {
                let wash = self.induced_at(&panel.control, &by_alpha.circulation, Some(surface));
                sum += wash.z * panel.area;
                area += panel.area;
            }
        }
        sum / area
    }

    /// How the flow about a base changes per unit of an input.
    pub(super) fn response(&self, base: &Flow, alpha: f64, input: Input) -> Flow {
        let (sin, cos) = (libm::sin(alpha), libm::cos(alpha));
        let (b, c) = (self.reference.span_m, self.reference.chord_m);
        let velocity = |velocity| Onset {
            velocity,
            rates: Vector3::zeros(),
        };
        let rates = |rates| Onset {
            velocity: Vector3::zeros(),
            rates,
        };
        let onset = match input {
            Input::Alpha => velocity(Vector3::new(-sin, 0.0, cos)),
            Input::Beta => velocity(Vector3::y()),
            Input::RollRate => rates(Vector3::x() * (2.0 / b)),
            Input::PitchRate => rates(Vector3::y() * (2.0 / c)),
            Input::YawRate => rates(Vector3::z() * (2.0 / b)),
            Input::Tab(_) => Onset::default(),
        };
        let skew = if input == Input::Beta { 1.0 } else { 0.0 };
        self.change(base, onset, skew, |panel| match input {
            Input::Tab(tab) => panel.tilt_per_tab[tab],
            _ => 0.0,
        })
    }

    /// Derivative of the coefficients by one input, by the product rule.
    pub(super) fn derivative(
        &self,
        base: &Flow,
        response: &Flow,
        alpha: f64,
        input: Input,
    ) -> Loads {
        let (f1, m1) = self.wrench(response, base);
        let (f2, m2) = self.wrench(base, response);
        let mut loads = self.coefficients(&(f1 + f2, m1 + m2), alpha);
        if input == Input::Alpha {
            // The stability axes turn with α: lift and drag exchange.
            let still = self.coefficients(&self.wrench(base, base), alpha);
            loads.lift -= still.drag;
            loads.drag += still.lift;
        }
        loads
    }
}
