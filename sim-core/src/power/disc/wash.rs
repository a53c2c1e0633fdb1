//! The jet behind a disc and what it does to a surface (MODEL.md § 6.6).

use super::near::{NearSurface, Site, edge_suction, friction, helmbold};
use super::{Around, Blank, Disc, magnitude, plate_change};
use crate::aero::post_stall::unit_rule;
use crate::number::{Number, lane_data};
use crate::vector::{cross, dot, plus, scaled};
use crate::wrench::Wrench;
use nalgebra::Vector3;
use std::f64::consts::PI;

/// Points along the span of a panel.
const ACROSS: usize = 6;
/// Points along the chord.
const ALONG: usize = 2;
/// How far from the axis a jet may be felt, in radii.
const REACH: f64 = 1.5;
/// And how much further along the span with each metre behind the disc (spreading, sideslip).
const GROWTH_ALONG: f64 = 0.15;
/// And away from the axis in any way (spreading, incidence).
const GROWTH_OFF: f64 = 0.2;
/// Growth of the half-excess radius of a round jet with distance.
const SPREAD: f64 = 0.09;
/// Length of a round jet's core, in radii.
const CORE: f64 = 12.0;

lane_data! {
    /// A point of a surface that a jet may reach; places from the disc's centre, body axes, m.
    pub struct WashNode<T> {
        /// Where it is.
        pub at: Vector3<T>,
        /// Where lift by turned air acts.
        pub turned_at: Vector3<T>,
        /// Its area with κ_w, m².
        pub area: T,
        /// Chord, m.
        pub chord: T,
        /// Normal of the surface with its incidence.
        pub normal: Vector3<T>,
        /// a_w, 1/rad.
        pub lift_slope: T,
        /// 1 + cos θ.
        pub faster_weight: T,
        /// 1 − cos θ.
        pub turned_weight: T,
    }
}

impl Blank for WashNode<f64> {
    fn blank() -> Self {
        WashNode {
            at: Vector3::zeros(),
            turned_at: Vector3::zeros(),
            area: 0.0,
            chord: 1.0,
            normal: Vector3::zeros(),
            lift_slope: 0.0,
            faster_weight: 0.0,
            turned_weight: 0.0,
        }
    }
}

/// The nodes of one panel behind a disc, areas times a factor; none where it lies out of reach.
pub(super) fn nodes(site: &Site, surface: &NearSurface, factor: f64) -> Vec<WashNode<f64>> {
    let behind = |d: &Vector3<f64>| -site.axis.dot(d);
    let furthest = [(0.0, 0.0), (0.0, 1.0), (1.0, 1.0), (1.0, 0.0)]
        .map(|(s, c)| behind(&surface.place_from_disc(site, s, c)))
        .into_iter()
        .fold(0.0, f64::max);
    if furthest <= 0.0 {
        return Vec::new();
    }
    let radius = 0.5 * site.diameter_m;
    let (share, length) = surface.nearest_axis(site);
    let half = if length > 0.0 {
        (REACH * radius + GROWTH_ALONG * furthest) / length
    } else {
        1.0
    };
    let (from, to) = ((share - half).max(0.0), (share + half).min(1.0));
    if to - from < 1e-9 {
        return Vec::new();
    }
    let normal = surface.normal();
    let mut nodes = Vec::new();
    for (unit, weight) in unit_rule(ACROSS) {
        let span_share = from + (to - from) * unit;
        let chord = surface.panel.chord(span_share);
        let width = surface.panel.half_span_m * (to - from) * weight;
        for k in 0..ALONG {
            let cosine = libm::cos((k as f64 + 0.5) * PI / ALONG as f64);
            let at = surface.place_from_disc(site, span_share, 0.5 * (1.0 - cosine));
            let far = behind(&at);
            let off = (at.norm_squared() - far * far).max(0.0).sqrt();
            if far < -radius || off > REACH * radius + GROWTH_OFF * far.max(0.0) {
                continue;
            }
            nodes.push(WashNode {
                at,
                turned_at: surface.place_from_disc(site, span_share, -0.5 * cosine),
                area: factor * chord * width / ALONG as f64,
                chord: chord.max(1e-6),
                normal,
                lift_slope: surface.lift_slope,
                faster_weight: 1.0 + cosine,
                turned_weight: 1.0 - cosine,
            });
        }
    }
    nodes
}

/// The jet of a disc.
#[derive(Clone, Copy, Debug)]
pub struct Jet<T> {
    axis: Vector3<T>,
    /// Unit vector of the centre line, away from the disc.
    pub along: Vector3<T>,
    radius: T,
    speed: T,
    induced: T,
    pull: T,
    mixing: T,
}

impl<T: Number> Jet<T> {
    /// The jet of a disc with an axis.
    #[inline(always)]
    pub fn of(disc: &Disc<T>, axis: &Vector3<T>) -> Self {
        let air = plus(&disc.velocity, &scaled(axis, disc.induced + disc.induced));
        let pull = disc.induced.larger(T::zero());
        Jet {
            axis: *axis,
            along: scaled(&air, -T::one() / magnitude(&air)),
            radius: disc.radius,
            speed: disc.speed,
            induced: disc.induced,
            pull,
            mixing: pull / (disc.speed + pull),
        }
    }

    /// e: speed of the jet over the air around it (m/s, along −a) at a place from the disc's centre (m), and b, the radius of half
    /// the excess there (m).
    #[inline(always)]
    pub fn excess(&self, at: &Vector3<T>) -> (T, T) {
        let (one, half) = (T::one(), T::constant(0.5));
        let s = dot(&self.along, at);
        let off = (dot(at, at) - s * s).larger(T::zero());
        let disc = self.radius * self.radius;
        let developed = one + s / (s * s + disc).sqrt();
        let onset = half * (one + s / (s * s + disc * T::constant(1.0 / 16.0)).sqrt());
        let contracted = disc * (self.speed + self.pull) / (self.speed + self.pull * developed);
        let mixed = self.mixing * s;
        let mixed = mixed * mixed;
        let (still, spread, core) = (
            contracted * contracted,
            T::constant(SPREAD * SPREAD) * mixed,
            T::constant(1.0 / (CORE * CORE)) * mixed,
        );
        let square = (still + spread * spread).sqrt();
        let decay = (still / (still + core * core)).sqrt().sqrt();
        let away = off / square;
        let cube = away * away * away;
        let profile = one + cube * cube;
        (
            self.induced * developed * onset * decay / profile,
            square.sqrt(),
        )
    }
}

/// x |x|.
#[inline(always)]
pub(super) fn signed_square<T: Number>(x: T) -> T {
    x * x.abs()
}

impl<T: Number> WashNode<T> {
    /// Force and moment about the balance point of the wash here; `place` is the disc's centre from it.
    #[inline(always)]
    pub(super) fn wrench(&self, jet: &Jet<T>, place: &Vector3<T>, around: &Around<T>) -> Wrench<T> {
        let one = T::one();
        let (excess, half_radius) = jet.excess(&self.at);
        let from_balance = plus(place, &self.at);
        let before = plus(&around.velocity, &cross(&around.rates, &from_balance));
        let added = scaled(&jet.axis, excess);
        let after = plus(&before, &added);
        let (normal, along) = (dot(&self.normal, &before), before.x);
        let added_normal = dot(&self.normal, &added);
        let jet_slope = helmbold((half_radius + half_radius) / self.chord);
        let attached = around.attached_weight;

        let faster = attached * self.lift_slope * normal * added.x * self.faster_weight;
        let turned = attached * jet_slope * added_normal * after.x * self.turned_weight;
        let plate = plate_change(
            around.normal_at_90,
            (&after, normal + added_normal),
            (&before, normal),
        );
        let pull = attached
            * edge_suction()
            * self.turned_weight
            * added_normal
            * (normal * (self.lift_slope + jet_slope) + jet_slope * added_normal);
        let rub = friction::<T>() * (signed_square(after.x) - signed_square(along));

        let scale = T::constant(0.5) * around.density * self.area;
        let mut here = scaled(&self.normal, -(faster + (one - attached) * plate));
        here.x += pull - rub;
        let turning = scaled(&self.normal, -turned * scale);
        Wrench::at(scaled(&here, scale), &from_balance)
            + Wrench::at(turning, &plus(place, &self.turned_at))
    }
}
