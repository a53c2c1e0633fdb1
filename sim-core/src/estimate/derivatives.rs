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

/// What of an analysis no incidence changes, and the flows that side, roll and yaw at any incidence are sums of: the flow itself is linear in
/// cos α and sin α, and so is every response to it (MODEL.md § 17).
#[derive(Clone, Debug)]
pub(super) struct Superposed {
    /// Side, roll and yaw left at 0.
    level: Analysis,
    /// Flow at α = 0 and α = 90°.
    base: [Flow; 2],
    /// Response to sideslip: that of the air coming from the side, and of the wakes' turn in each of the two flows.
    slip: [Flow; 3],
    roll: Flow,
    yaw: Flow,
    /// Response to each tab in each of the two flows.
    tabs: Vec<[Flow; 2]>,
}

impl Superposed {
    /// Works out all that no incidence changes.
    pub fn of(lattice: &Lattice) -> Self {
        let air = |x: f64, y: f64, z: f64| Onset {
            velocity: Vector3::new(x, y, z),
            rates: Vector3::zeros(),
        };
        let base = [
            lattice.flow(air(1.0, 0.0, 0.0)),
            lattice.flow(air(0.0, 0.0, 1.0)),
        ];
        let turned = |base: &Flow| lattice.change(base, Onset::default(), 1.0, |_| 0.0);
        let still = base[0].times(0.0);
        let bent = |tab: usize| [0, 1].map(|i| lattice.response(&base[i], 0.0, Input::Tab(tab)));
        let tabs: Vec<[Flow; 2]> = (0..lattice.panels.tabs).map(bent).collect();
        Superposed {
            level: lattice.level_analysis(&base[0], tabs.iter().map(|[ahead, _]| ahead)),
            slip: [
                lattice.change(&still, air(0.0, 1.0, 0.0), 0.0, |_| 0.0),
                turned(&base[0]),
                turned(&base[1]),
            ],
            roll: lattice.response(&base[0], 0.0, Input::RollRate),
            yaw: lattice.response(&base[0], 0.0, Input::YawRate),
            tabs,
            base,
        }
    }

    /// The analysis with side, roll and yaw about an incidence, rad.
    pub fn at(&self, lattice: &Lattice, lateral_alpha_rad: f64) -> Analysis {
        let (s, c) = (libm::sin(lateral_alpha_rad), libm::cos(lateral_alpha_rad));
        let [ahead, up] = &self.base;
        let base = ahead.times(c).plus(&up.times(s));
        let sideways =
            |response: &Flow, input| lattice.derivative(&base, response, lateral_alpha_rad, input);
        let zero = lattice.coefficients(&lattice.wrench(&base, &base), lateral_alpha_rad);
        let [aside, turned_ahead, turned_up] = &self.slip;
        let slip = aside.plus(&turned_ahead.times(c)).plus(&turned_up.times(s));
        let beta = sideways(&slip, Input::Beta);
        let p = sideways(&self.roll, Input::RollRate);
        let r = sideways(&self.yaw, Input::YawRate);
        let mut analysis = self.level.clone();
        let d = &mut analysis.derivatives;
        for (tab, (effect, [ahead, up])) in d.tabs.iter_mut().zip(&self.tabs).enumerate() {
            let side = sideways(&ahead.times(c).plus(&up.times(s)), Input::Tab(tab));
            (effect.side, effect.roll, effect.yaw) = (side.side, side.roll, side.yaw);
        }
        analysis.derivatives = Derivatives {
            side_zero: zero.side,
            side_beta: beta.side,
            side_p: p.side,
            side_r: r.side,
            roll_zero: zero.roll,
            roll_beta: beta.roll,
            roll_p: p.roll,
            roll_r: r.roll,
            yaw_zero: zero.yaw,
            yaw_beta: beta.yaw,
            yaw_p: p.yaw,
            yaw_r: r.yaw,
            ..analysis.derivatives
        };
        analysis
    }
}

impl Lattice {
    /// Coefficients, span efficiency, neutral point, downwash; side, roll and yaw about `lateral_alpha_rad`.
    ///
    /// Equation: MODEL.md § 17.
    pub fn analyse(&self, lateral_alpha_rad: f64) -> Analysis {
        Superposed::of(self).at(self, lateral_alpha_rad)
    }

    /// All but side, roll and yaw, from the flow at α = 0 and its response to each tab.
    fn level_analysis<'a>(&self, base: &Flow, bent: impl Iterator<Item = &'a Flow>) -> Analysis {
        let zero = self.coefficients(&self.wrench(base, base), 0.0);
        let by_alpha = self.response(base, 0.0, Input::Alpha);
        let alpha = self.derivative(base, &by_alpha, 0.0, Input::Alpha);
        let by_q = self.response(base, 0.0, Input::PitchRate);
        let q = self.derivative(base, &by_q, 0.0, Input::PitchRate);

        let strips_zero = self.strip_circulations(&base.circulation);
        let strips_alpha = self.strip_circulations(&by_alpha.circulation);
        let (d0, _) = self.far_behind(&strips_zero, &strips_zero);
        let (d2, lift) = self.far_behind(&strips_alpha, &strips_alpha);
        let d1 = self.far_behind(&strips_zero, &strips_alpha).0
            + self.far_behind(&strips_alpha, &strips_zero).0;
        let factor = d2 / (lift * lift);
        let aspect = self.reference.span_m * self.reference.span_m / self.reference.area_m2;

        let tabs = bent
            .enumerate()
            .map(|(tab, response)| {
                let up = self.derivative(base, response, 0.0, Input::Tab(tab));
                let strips = self.strip_circulations(&response.circulation);
                let (drag, lift) = self.far_behind(&strips, &strips);
                TabEffect {
                    lift: up.lift,
                    drag: drag - factor * lift * lift,
                    pitch: up.pitch,
                    side: 0.0,
                    roll: 0.0,
                    yaw: 0.0,
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
                tabs,
                ..Derivatives::default()
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
