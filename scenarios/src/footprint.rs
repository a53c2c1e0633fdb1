//! Landing footprint: where many throws come down, how likely each zone is, and what a power cut makes of it.
//!
//! # Definitions
//! - A *landing* is a flight that ends on the ground; its place is the balance point's in plan at that moment. Flights that end at a wall, a
//!   ceiling or in the air are counted apart, and stay in the number that shares are taken of.
//! - *Mean* and *covariance* (divisor n − 1) of the landing places. The *ellipse* of coverage p holds p of a normal distribution with that mean
//!   and covariance: (x − μ)ᵀ C⁻¹ (x − μ) ≤ −2 ln(1 − p), the chi-square quantile with two degrees of freedom. Landing places are seldom quite
//!   normal: the share that lies inside is said beside it.
//! - The *hull* is the smallest convex polygon around all landing places. The next throw can lie outside it.
//! - The *probability of a zone* is the share of the flights that come down in it, with its Clopper-Pearson interval ([`crate::study::judge`]).
//! - *Power cut at the worst moment*: each throw is flown again with every throttle at 0 from one of K moments on, (k − ½)/K of its flight time, k =
//!   1…K. A throw counts for a zone if it comes down there for at least one of the moments: the motor dies when it is worst for that zone. K moments
//!   find no more than all would, so shares are from below in that respect; more moments, closer.

use crate::outline::polygon::hull;
use crate::study::judge::Share;
use serde::{Deserialize, Serialize};
use sim_core::flight::Throw;
use sim_core::pilot::Programme;
use sim_core::site::PlanPoint;

/// An ellipse in plan.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Ellipse {
    /// Share of a normal distribution it holds.
    pub coverage_fraction: f64,
    /// Half its length, m.
    pub semi_major_m: f64,
    /// Half its width, m.
    pub semi_minor_m: f64,
    /// Heading of its long axis, 0 (north) to 180 deg.
    pub major_heading_deg: f64,
    /// How many of the landings lie inside.
    pub landings_inside: u64,
}

/// Landing places as a cloud.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cloud {
    /// How many.
    pub landings: u64,
    /// Their mean, m north of the release.
    pub mean_north_m: f64,
    /// m east.
    pub mean_east_m: f64,
    /// Covariance, m²: north with north, north with east, east with east; absent of one landing.
    pub covariance_m2: Option<[f64; 3]>,
    /// The ellipse; absent where the covariance has no area.
    pub ellipse: Option<Ellipse>,
    /// Corners of the hull, north and east, m.
    pub hull_north_east_m: Vec<(f64, f64)>,
    /// Farthest landing from the release, m.
    pub farthest_m: f64,
}

impl Cloud {
    /// Of landing places; none of no landings.
    pub fn of(places: &[PlanPoint], coverage_fraction: f64) -> Option<Self> {
        let n = places.len() as f64;
        let first = places.first()?;
        let mean = places.iter().fold(PlanPoint::zeros(), |sum, p| sum + p) / n;
        let moment = |i: usize, j: usize| {
            let products = places.iter().map(|p| (p[i] - mean[i]) * (p[j] - mean[j]));
            products.sum::<f64>() / (n - 1.0)
        };
        let covariance = (places.len() > 1).then(|| [moment(0, 0), moment(0, 1), moment(1, 1)]);
        let pairs: Vec<(f64, f64)> = places.iter().map(|p| (p.x, p.y)).collect();
        Some(Cloud {
            landings: places.len() as u64,
            mean_north_m: mean.x,
            mean_east_m: mean.y,
            covariance_m2: covariance,
            ellipse: covariance.and_then(|c| ellipse(places, &mean, c, coverage_fraction)),
            hull_north_east_m: hull(&pairs),
            farthest_m: places.iter().fold(first.norm(), |far, p| far.max(p.norm())),
        })
    }
}

fn ellipse(
    places: &[PlanPoint],
    mean: &PlanPoint,
    [nn, ne, ee]: [f64; 3],
    coverage_fraction: f64,
) -> Option<Ellipse> {
    let (half_sum, half_difference) = (0.5 * (nn + ee), 0.5 * (nn - ee));
    let root = half_difference.hypot(ne);
    let (large, small) = (half_sum + root, half_sum - root);
    let determinant = nn * ee - ne * ne;
    // Landings on a line have no area, but for rounding.
    if small.is_nan() || small <= 1e-12 * large {
        return None;
    }
    let limit = -2.0 * libm::log(1.0 - coverage_fraction);
    let inside = places.iter().filter(|place| {
        let d = *place - mean;
        (ee * d.x * d.x - 2.0 * ne * d.x * d.y + nn * d.y * d.y) / determinant <= limit
    });
    Some(Ellipse {
        coverage_fraction,
        semi_major_m: (limit * large).sqrt(),
        semi_minor_m: (limit * small).sqrt(),
        major_heading_deg: (0.5 * libm::atan2(ne, half_difference))
            .to_degrees()
            .rem_euclid(180.0),
        landings_inside: inside.count() as u64,
    })
}

/// How likely a zone is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ZoneShare {
    /// The zone's name.
    pub zone: String,
    /// What is there.
    pub kind: String,
    /// Throws that come down in it.
    pub lands: Share,
    /// Throws that come down in it where the power is cut at the worst moment; absent without power.
    pub lands_after_power_cut: Option<Share>,
}

/// Moments of a flight of some length (s) at which the power is cut.
pub fn cut_moments_s(flight_time_s: f64, moments: u32) -> impl Iterator<Item = f64> {
    (0..moments).map(move |k| flight_time_s * (f64::from(k) + 0.5) / f64::from(moments))
}

/// Whether a throw has power at all: a motor, and a throttle that is not always 0.
pub fn has_power(throw: &Throw) -> bool {
    let asks = |programme: &Programme| {
        programme.at_release != 0.0 || programme.changes.iter().any(|change| change.to != 0.0)
    };
    let pilot = &throw.pilot;
    !throw.vehicle.motors.is_empty() && (asks(&pilot.throttle) || asks(&pilot.left_minus_right))
}

/// The throw with every motor's throttle at 0 from a time (s after release) on. What stopped rotors then do is the model's business.
pub fn with_power_cut(throw: &Throw, time_s: f64) -> Throw {
    let mut throw = throw.clone();
    let already = throw.pilot.power_cut_s.unwrap_or(f64::INFINITY);
    throw.pilot.power_cut_s = Some(already.min(time_s));
    throw
}

#[cfg(test)]
mod tests {
    use super::*;

    fn places(list: &[(f64, f64)]) -> Vec<PlanPoint> {
        list.iter().map(|&(n, e)| PlanPoint::new(n, e)).collect()
    }

    // By hand: corners of a rectangle 8 north by 2 east around (10, 3): variances 4·16/3 and 4·1/3, none together; −2 ln 0.05 = 5.991465
    // (chi-square table, two degrees of freedom, 95 %).
    #[test]
    fn an_upright_cloud_by_hand() {
        let cloud = Cloud::of(
            &places(&[(14.0, 4.0), (14.0, 2.0), (6.0, 4.0), (6.0, 2.0)]),
            0.95,
        )
        .unwrap();
        assert_eq!((cloud.mean_north_m, cloud.mean_east_m), (10.0, 3.0));
        let [nn, ne, ee] = cloud.covariance_m2.unwrap();
        assert!((nn - 64.0 / 3.0).abs() < 1e-12 && ne == 0.0 && (ee - 4.0 / 3.0).abs() < 1e-12);
        let ellipse = cloud.ellipse.unwrap();
        assert!((ellipse.semi_major_m - (5.991465_f64 * 64.0 / 3.0).sqrt()).abs() < 1e-5);
        assert!((ellipse.semi_minor_m - (5.991465_f64 * 4.0 / 3.0).sqrt()).abs() < 1e-5);
        assert_eq!(
            (ellipse.major_heading_deg, ellipse.landings_inside),
            (0.0, 4)
        );
        assert_eq!(cloud.hull_north_east_m.len(), 4);
        assert!((cloud.farthest_m - 14.0_f64.hypot(4.0)).abs() < 1e-12);
    }

    // The same turned by 30° has its long axis at heading 30°; its halves stay.
    #[test]
    fn a_turned_cloud_keeps_its_halves() {
        let (sin, cos) = 30.0_f64.to_radians().sin_cos();
        let turned: Vec<PlanPoint> = [(4.0, 1.0), (4.0, -1.0), (-4.0, 1.0), (-4.0, -1.0)]
            .iter()
            .map(|&(a, r)| PlanPoint::new(a * cos - r * sin, a * sin + r * cos))
            .collect();
        let ellipse = Cloud::of(&turned, 0.95).unwrap().ellipse.unwrap();
        assert!((ellipse.major_heading_deg - 30.0).abs() < 1e-9);
        assert!((ellipse.semi_major_m - (5.991465_f64 * 64.0 / 3.0).sqrt()).abs() < 1e-5);
    }

    #[test]
    fn few_landings_have_no_ellipse() {
        assert_eq!(Cloud::of(&[], 0.95), None);
        let one = Cloud::of(&places(&[(1.0, 2.0)]), 0.95).unwrap();
        assert_eq!((one.covariance_m2, one.ellipse), (None, None));
        let line = Cloud::of(&places(&[(1.0, 2.0), (2.0, 4.0), (3.0, 6.0)]), 0.95).unwrap();
        assert_eq!(line.ellipse, None);
    }

    // Of normal draws the ellipse holds what it says: 20 000 by Box & Muller, a share of 0.90 ± three sigma of 0.002.
    #[test]
    fn the_ellipse_holds_its_share_of_a_normal_cloud() {
        let mut state = 9_u64;
        let mut uniform = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            ((state >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
        };
        let cloud: Vec<PlanPoint> = (0..20_000)
            .map(|_| {
                let (radius, angle) = (
                    (-2.0 * uniform().ln()).sqrt(),
                    std::f64::consts::TAU * uniform(),
                );
                let (x, y) = (radius * angle.cos(), radius * angle.sin());
                PlanPoint::new(30.0 + 5.0 * x, -2.0 + 2.0 * x + 1.5 * y)
            })
            .collect();
        let ellipse = Cloud::of(&cloud, 0.90).unwrap().ellipse.unwrap();
        let share = ellipse.landings_inside as f64 / 20_000.0;
        assert!((share - 0.90).abs() < 0.0064, "{share}");
    }

    #[test]
    fn cuts_fall_in_the_middles_of_equal_parts() {
        assert_eq!(
            cut_moments_s(8.0, 4).collect::<Vec<_>>(),
            [1.0, 3.0, 5.0, 7.0]
        );
        assert_eq!(cut_moments_s(8.0, 0).count(), 0);
    }
}
