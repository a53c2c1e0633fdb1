//! What a propeller does to the airframe beside thrust and torque: its force at incidence, the wash of its jet and the suction of its
//! inflow over surfaces nearby (MODEL.md § 6.5 to 6.7).
//!
//! What hangs on the airframe alone is worked out once, by [`DiscEffects::of`]. Wash and suction are measured from the disc's
//! centre, so that they stay right when the balance point moves.

pub mod near;
pub mod suction;
pub mod wash;

use super::motor::Motor;
use crate::aero::post_stall::plate_normal;
use crate::number::{Number, Widen, lane_data};
use crate::parts::MotorConstants;
use crate::vector::{cross, dot, minus, plus, scaled};
use crate::wrench::Wrench;
use nalgebra::Vector3;
use near::{NearSurface, Site};
use std::f64::consts::PI;
use suction::SuctionPanel;
use wash::WashNode;

/// u_0, m/s: keeps a quotient of speeds away from 0/0 where nothing moves.
const SPEED_FLOOR_M_S: f64 = 1e-3;
/// a_8, 1/rad: lift slope of the fin of aspect ratio 8 that a propeller at incidence acts as.
const FIN_SLOPE: f64 = 1.6 * PI;
/// Where blades begin, as a share of the radius.
const ROOT_SHARE: f64 = 0.15;

/// One standard deviation of each effect's factor: (disc normal force, wash, suction), MODEL.md § 6.5 to 6.7.
pub const ONE_SIGMA: (f64, f64, f64) = (0.35, 0.4, 0.4);

lane_data! {
    /// What one propeller does beside thrust and torque.
    pub struct DiscEffects<T> {
        /// κ_d S_b a_8: side area of the blades with slope and factor, m².
        pub fin_area: T,
        /// Points of surfaces that the jet may reach, with κ_w in their areas.
        pub wash: Strips<WashNode<T>>,
        /// Surfaces in the inflow, with κ_s in their sums.
        pub suction: Strips<SuctionPanel<T>>,
    }
}

/// Parts of surfaces. Lanes may have different numbers of them: shorter lists are filled up with parts without area, which add nothing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Strips<S>(pub Vec<S>);

/// A part without area.
pub trait Blank {
    /// The part that adds nothing.
    fn blank() -> Self;
}

impl<T: Number, S: Widen<T> + Blank> Widen<T> for Strips<S> {
    type Wide = Strips<S::Wide>;
    fn widen(lanes: &[&Self]) -> Self::Wide {
        let longest = lanes.iter().map(|lane| lane.0.len()).max().unwrap_or(0);
        let blank = S::blank();
        let one = |i: usize| {
            let parts: Vec<&S> = lanes
                .iter()
                .map(|lane| lane.0.get(i).unwrap_or(&blank))
                .collect();
            S::widen(&parts)
        };
        Strips((0..longest).map(one).collect())
    }
    fn put(&self, wide: &mut Self::Wide, lane: usize) {
        let blank = S::blank();
        while wide.0.len() < self.0.len() {
            wide.0.push(S::widen(&[&blank]));
        }
        for (i, wide) in wide.0.iter_mut().enumerate() {
            self.0.get(i).unwrap_or(&blank).put(wide, lane);
        }
    }
}

/// How strong each effect is taken: 1 as the model has it, 0 not at all.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DiscFactors {
    /// κ_d of the force at incidence.
    pub normal_force: f64,
    /// κ_w of the wash.
    pub wash: f64,
    /// κ_s of the suction.
    pub suction: f64,
}

/// S_b, m²: projected side area of blades of even chord and pitch (m), the mean over a turn. MODEL.md § 6.5.
pub fn blade_side_area(blades: u32, chord_m: f64, pitch_m: f64, diameter_m: f64) -> f64 {
    let slant = |x: f64| libm::asinh(PI * diameter_m * x / pitch_m);
    let along = pitch_m / (2.0 * PI) * (slant(1.0) - slant(ROOT_SHARE));
    0.5 * f64::from(blades) * chord_m * along
}

impl DiscEffects<f64> {
    /// None of it.
    pub fn none() -> Self {
        DiscEffects {
            fin_area: 0.0,
            wash: Strips(Vec::new()),
            suction: Strips(Vec::new()),
        }
    }

    /// All of it for a disc at a site among surfaces, with the blades' side area (m²).
    pub fn of(
        site: &Site,
        surfaces: &[NearSurface],
        side_area_m2: f64,
        factors: &DiscFactors,
    ) -> Self {
        let mut effects = DiscEffects {
            fin_area: factors.normal_force * side_area_m2 * FIN_SLOPE,
            ..Self::none()
        };
        for surface in surfaces {
            if factors.wash != 0.0 {
                effects
                    .wash
                    .0
                    .extend(wash::nodes(site, surface, factors.wash));
            }
            if factors.suction != 0.0 {
                let panel = suction::panel(site, surface, factors.suction);
                effects.suction.0.push(panel);
            }
        }
        effects
    }
}

/// What the disc does to the air, from momentum theory.
#[derive(Clone, Copy, Debug)]
pub struct Disc<T> {
    /// V_d: velocity of the disc's centre relative to the air, m/s.
    pub velocity: Vector3<T>,
    /// u: its axial part, m/s.
    pub axial: T,
    /// U: its magnitude, never 0, m/s.
    pub speed: T,
    /// v: induced speed at the disc, m/s; 0 with the thrust.
    pub induced: T,
    /// R, m.
    pub radius: T,
}

/// The flow around the airframe that surfaces near a disc see.
#[derive(Clone, Copy, Debug)]
pub struct Around<T> {
    /// Velocity of the balance point less the air's, body axes, m/s.
    pub velocity: Vector3<T>,
    /// Rates over the ground, rad/s.
    pub rates: Vector3<T>,
    /// Air density, kg/m³.
    pub density: T,
    /// Weight of attached flow, 1 to 0.
    pub attached_weight: T,
    /// C_90 of a plate.
    pub normal_at_90: T,
}

/// Force and moment of one propeller by effect.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DiscWrenches<T> {
    /// Force at incidence.
    pub normal_force: Wrench<T>,
    /// Wash over surfaces.
    pub wash: Wrench<T>,
    /// Suction on surfaces.
    pub suction: Wrench<T>,
}

/// Magnitude that is never 0 and so has a slope everywhere.
#[inline(always)]
fn magnitude<T: Number>(v: &Vector3<T>) -> T {
    square_of(v).sqrt()
}

/// Its square.
#[inline(always)]
fn square_of<T: Number>(v: &Vector3<T>) -> T {
    if T::FUSED {
        let floor = T::constant(SPEED_FLOOR_M_S * SPEED_FLOOR_M_S);
        return v
            .z
            .times_plus(v.z, v.y.times_plus(v.y, v.x.times_plus(v.x, floor)));
    }
    let floor = T::constant(SPEED_FLOOR_M_S);
    dot(v, v) + floor * floor
}

/// By how much [`plate_normal`] is larger in one flow than in another, each with its part across the plate.
#[inline(always)]
fn plate_change<T: Number>(
    normal_at_90: T,
    (after, across_after): (&Vector3<T>, T),
    (before, across_before): (&Vector3<T>, T),
) -> T {
    if !T::FUSED {
        return plate_normal(normal_at_90, magnitude(after), across_after)
            - plate_normal(normal_at_90, magnitude(before), across_before);
    }
    // One division for both.
    let (now, then) = (square_of(after), square_of(before));
    let (by_speed, by_across) = (T::constant(0.56), T::constant(0.44));
    let under_now = by_speed.times_plus(now.sqrt(), by_across * across_after.abs());
    let under_then = by_speed.times_plus(then.sqrt(), by_across * across_before.abs());
    let (now, then) = (now * across_after, then * across_before);
    normal_at_90 * now.times_plus(under_then, -(then * under_now)) / (under_now * under_then)
}

impl<T: Number> Disc<T> {
    /// The disc of a motor with a thrust (N) in a flow.
    pub fn of(motor: &Motor<T>, thrust: T, around: &Around<T>) -> Self {
        Self::by(motor, None, thrust, around)
    }

    /// The same with the motor's constants and the reciprocal of the density (m³/kg) at hand, where the number type wants them.
    #[inline(always)]
    pub fn by(
        motor: &Motor<T>,
        fixed: Option<(&MotorConstants<T>, T)>,
        thrust: T,
        around: &Around<T>,
    ) -> Self {
        let velocity = plus(&around.velocity, &cross(&around.rates, &motor.place));
        let radius = T::constant(0.5) * motor.propeller.diameter;
        if let Some((fixed, over_density)) = fixed {
            // (√(U² + 2|k|) − U)/2 with the sign of k is the same speed without a division.
            let load = thrust * fixed.over_disc_area * over_density;
            let square = square_of(&velocity);
            let speed = square.sqrt();
            let faster = T::constant(2.0).times_plus(load.abs(), square).sqrt();
            let half = load.select_less(T::zero(), T::constant(-0.5), T::constant(0.5));
            return Disc {
                velocity,
                axial: dot(&motor.axis, &velocity),
                speed,
                induced: (faster - speed) * half,
                radius,
            };
        }
        let area = T::constant(PI) * radius * radius;
        let load = thrust / (around.density * area);
        let speed = magnitude(&velocity);
        let square = speed * speed + T::constant(2.0) * load.abs();
        Disc {
            velocity,
            axial: dot(&motor.axis, &velocity),
            speed,
            induced: load / (speed + square.sqrt()),
            radius,
        }
    }

    /// Force across the axis at incidence for `fin_area` κ_d S_b a_8 (m²), N.
    #[inline(always)]
    fn normal_force(&self, axis: &Vector3<T>, fin_area: T, density: T) -> Vector3<T> {
        let floor = T::constant(SPEED_FLOOR_M_S);
        let across = minus(&self.velocity, &scaled(axis, self.axial));
        let inflow = (self.axial * self.axial + floor * floor).sqrt();
        let added = self.induced.larger(T::zero());
        let (disc, wake) = (inflow + added, inflow + added + added);
        let squares = inflow * inflow + wake * wake;
        let effective = disc * (disc * inflow + wake * wake) / squares;
        scaled(&across, T::constant(-0.5) * density * fin_area * effective)
    }
}

impl<T: Number> DiscEffects<T> {
    /// Forces and moments about the balance point of a motor with a thrust (N). Allocates nothing.
    pub fn wrenches(&self, motor: &Motor<T>, thrust: T, around: &Around<T>) -> DiscWrenches<T> {
        self.wrenches_by(motor, None, thrust, around)
    }

    /// The same with what [`Disc::by`] takes at hand.
    #[inline(always)]
    pub fn wrenches_by(
        &self,
        motor: &Motor<T>,
        fixed: Option<(&MotorConstants<T>, T)>,
        thrust: T,
        around: &Around<T>,
    ) -> DiscWrenches<T> {
        let disc = Disc::by(motor, fixed, thrust, around);
        let force = disc.normal_force(&motor.axis, self.fin_area, around.density);
        let mut whole = DiscWrenches {
            normal_force: Wrench::at(force, &motor.place),
            wash: Wrench::zero(),
            suction: Wrench::zero(),
        };
        if !self.wash.0.is_empty() {
            let jet = wash::Jet::of(&disc, &motor.axis);
            for node in &self.wash.0 {
                whole.wash = whole.wash + node.wrench(&jet, &motor.place, around);
            }
        }
        for panel in &self.suction.0 {
            whole.suction = whole.suction + panel.wrench(&disc, &motor.place, around);
        }
        whole
    }
}
