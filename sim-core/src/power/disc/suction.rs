//! The air a disc draws in and what that does to surfaces beside and ahead of it (MODEL.md § 6.7).

use super::near::{NearSurface, Site, edge_suction, friction};
use super::wash::signed_square;
use super::{Around, Blank, Disc, plate_change};
use crate::aero::post_stall::unit_rule;
use crate::number::{Number, lane_data};
use crate::vector::{cross, dot, minus, plus, scaled, scaled_plus};
use crate::wrench::Wrench;
use nalgebra::Vector3;
use std::f64::consts::{PI, TAU};
use std::sync::OnceLock;

/// Points along the span on each side of the share nearest the axis.
const ACROSS: usize = 8;
/// Points along the chord.
const ALONG: usize = 8;
/// Points around the rim.
const RIM: usize = 48;
/// How far from the rim its field is rounded off, in radii.
const ROUNDING: f64 = 0.05;

/// Cosines of the points around the rim.
fn rim() -> &'static [f64; RIM] {
    static COSINES: OnceLock<[f64; RIM]> = OnceLock::new();
    COSINES.get_or_init(|| std::array::from_fn(|k| libm::cos(TAU * k as f64 / RIM as f64)))
}

/// g: velocity of the air by the inflow of a disc over its induced speed, at a place from its centre (m), body axes.
pub fn inflow(axis: &Vector3<f64>, radius_m: f64, at: &Vector3<f64>) -> Vector3<f64> {
    let ahead = axis.dot(at);
    let across = at - axis * ahead;
    let off = across.norm();
    if ahead < 0.0 && off < radius_m {
        return Vector3::zeros();
    }
    // Terms first, each by itself, so that several are worked out at once; then their sums in order.
    let (mut axials, mut radials) = ([0.0; RIM], [0.0; RIM]);
    let rounding = ROUNDING * radius_m;
    for ((axial, radial), &cosine) in axials.iter_mut().zip(&mut radials).zip(rim()) {
        let square = ahead * ahead + off * off + radius_m * radius_m
            - 2.0 * radius_m * off * cosine
            + rounding * rounding;
        let distance = square.sqrt();
        *axial = radius_m * (radius_m - off * cosine) / (distance * (distance + ahead.abs()));
        *radial = radius_m * cosine / distance;
    }
    let (mut axial, mut radial) = (0.0, 0.0);
    for k in 0..RIM {
        axial += axials[k];
        radial += radials[k];
    }
    let side = if ahead == 0.0 { 0.0 } else { ahead.signum() };
    let inwards = if off > 0.0 {
        across / off
    } else {
        Vector3::zeros()
    };
    -(axis * (side * axial) + inwards * radial) / RIM as f64
}

lane_data! {
    /// One panel in the inflow of a disc; sums of MODEL.md § 6.7 with κ_s, places from the disc's centre, body axes.
    pub struct SuctionPanel<T> {
        /// Normal of the panel with its incidence.
        pub normal: Vector3<T>,
        /// a_w, 1/rad.
        pub lift_slope: T,
        /// c: where the flow is taken and where forces without a place of their own act, m.
        pub centre: Vector3<T>,
        /// S_p, m².
        pub area: T,
        /// ḡ turned round: mean change of the surface's velocity through the air over the induced speed.
        pub mean: Vector3<T>,
        /// a, b, d, m².
        pub lift: Vector3<T>,
        /// Σ r × n of a's parts, m³.
        pub faster_moment: Vector3<T>,
        /// The same of b's.
        pub turned_moment: Vector3<T>,
        /// The same of d's.
        pub both_moment: Vector3<T>,
        /// b_2, m².
        pub turned_square: T,
        /// f, m².
        pub along: T,
        /// f_2, m².
        pub along_square: T,
    }
}

impl Blank for SuctionPanel<f64> {
    fn blank() -> Self {
        let none = Vector3::zeros();
        SuctionPanel {
            normal: none,
            lift_slope: 0.0,
            centre: none,
            area: 0.0,
            mean: none,
            lift: none,
            faster_moment: none,
            turned_moment: none,
            both_moment: none,
            turned_square: 0.0,
            along: 0.0,
            along_square: 0.0,
        }
    }
}

/// The sums of one panel, times a factor.
pub(super) fn panel(site: &Site, surface: &NearSurface, factor: f64) -> SuctionPanel<f64> {
    let normal = surface.normal();
    let mut sums = SuctionPanel {
        normal,
        lift_slope: surface.lift_slope,
        ..SuctionPanel::blank()
    };
    let mut seen = 0.0;
    let middle = surface.nearest_axis(site).0.clamp(0.0, 1.0);
    for (from, to) in [(0.0, middle), (middle, 1.0)] {
        for (unit, weight) in unit_rule(ACROSS) {
            let span_share = from + (to - from) * unit;
            let strip = factor
                * surface.panel.chord(span_share)
                * surface.panel.half_span_m
                * (to - from)
                * weight;
            seen += add_strip(&mut sums, site, surface, span_share, strip);
        }
    }
    if sums.area > 0.0 {
        sums.mean /= sums.area;
    }
    if seen > 0.0 {
        sums.centre /= seen;
    }
    sums
}

/// Adds a strip of an area (m²) and gives the weight of its place.
fn add_strip(
    sums: &mut SuctionPanel<f64>,
    site: &Site,
    surface: &NearSurface,
    span_share: f64,
    strip: f64,
) -> f64 {
    let radius = 0.5 * site.diameter_m;
    let part = strip / ALONG as f64;
    let (mut turned, mut size) = (0.0, 0.0);
    for k in 0..ALONG {
        let cosine = libm::cos((k as f64 + 0.5) * PI / ALONG as f64);
        let at = surface.place_from_disc(site, span_share, 0.5 * (1.0 - cosine));
        let turned_at = surface.place_from_disc(site, span_share, -0.5 * cosine);
        let change = -inflow(&site.axis, radius, &at);
        let (along, across) = (change.x, sums.normal.dot(&change));
        let parts = [
            part * (1.0 + cosine) * along,
            part * (1.0 - cosine) * across,
            part * (1.0 - cosine) * across * along,
        ];
        sums.lift += Vector3::from(parts);
        sums.faster_moment += at.cross(&sums.normal) * parts[0];
        sums.turned_moment += turned_at.cross(&sums.normal) * parts[1];
        sums.both_moment += turned_at.cross(&sums.normal) * parts[2];
        sums.along += part * along;
        sums.along_square += part * signed_square(along);
        sums.mean += change * part;
        turned += (1.0 - cosine) * across / ALONG as f64;
        size += part * change.norm();
    }
    sums.area += strip;
    sums.turned_square += strip * turned * turned;
    sums.centre += surface.place_from_disc(site, span_share, 0.25) * size;
    size
}

/// a × b − c.
#[inline(always)]
fn cross_less<T: Number>(a: &Vector3<T>, b: &Vector3<T>, c: &Vector3<T>) -> Vector3<T> {
    Vector3::new(
        a.y.times_plus(b.z, a.z.times_from(b.y, -c.x)),
        a.z.times_plus(b.x, a.x.times_from(b.z, -c.y)),
        a.x.times_plus(b.y, a.y.times_from(b.x, -c.z)),
    )
}

impl<T: Number> SuctionPanel<T> {
    /// Force and moment about the balance point of the inflow here; `place` is the disc's centre from it.
    #[inline(always)]
    pub(super) fn wrench(
        &self,
        disc: &Disc<T>,
        place: &Vector3<T>,
        around: &Around<T>,
    ) -> Wrench<T> {
        let two = T::constant(2.0);
        let half_density = T::constant(0.5) * around.density;
        let attached = around.attached_weight;
        let centre = plus(place, &self.centre);
        let before = plus(&around.velocity, &cross(&around.rates, &centre));
        let v = disc.induced;
        let added = scaled(&self.mean, v);
        let after = plus(&before, &added);
        let (normal, along) = (dot(&self.normal, &before), before.x);

        // The three attached parts: forces along n per area, N/m².
        let slope = half_density * attached * self.lift_slope * v;
        let (faster, turned, both) = (slope * normal, slope * along, slope * v);
        // Sums of products, which fuse where the number type does.
        let lift = both.times_plus(
            self.lift.z,
            turned.times_plus(self.lift.y, faster * self.lift.x),
        );
        let of_faster = scaled(&self.faster_moment, faster);
        let of_turned = scaled_plus(&self.turned_moment, turned, &of_faster);
        let lift_moment = scaled_plus(&self.both_moment, both, &of_turned);

        let added_normal = dot(&self.normal, &added);
        let plate = plate_change(
            around.normal_at_90,
            (&after, normal + added_normal),
            (&before, normal),
        );
        if T::FUSED {
            let one = T::one();
            let pull = slope
                * edge_suction()
                * (two * normal).times_plus(self.lift.y, v * self.turned_square);
            let fast = two * along.abs() * v;
            let rub = half_density
                * friction()
                * fast.times_plus(self.along, signed_square(v) * self.along_square);
            let push = -half_density * (one - attached) * self.area * plate;
            let ahead = pull - rub;
            let n = &self.normal;
            let arm = scaled_plus(&centre, push, &scaled(place, -lift));
            let turning = cross_less(&arm, n, &lift_moment);
            let mut force = scaled(n, push - lift);
            force.x += ahead;
            return Wrench {
                force,
                moment: Vector3::new(
                    turning.x,
                    centre.z.times_plus(ahead, turning.y),
                    centre.y.times_from(ahead, turning.z),
                ),
            };
        }
        let pull = slope * edge_suction() * (two * normal * self.lift.y + v * self.turned_square);
        let rub = half_density
            * friction()
            * (two * along.abs() * v * self.along + signed_square(v) * self.along_square);
        let push = -half_density * (T::one() - attached) * self.area * plate;
        let mut rest = scaled(&self.normal, push);
        rest.x += pull - rub;
        let lift_force = scaled(&self.normal, -lift);
        Wrench {
            force: lift_force,
            moment: minus(&cross(place, &lift_force), &lift_moment),
        } + Wrench::at(rest, &centre)
    }
}
