//! Where a thin plate stalls and what is left beyond (MODEL.md § 18.6).

use super::suction::Banded;
use crate::aero::post_stall::{StallAngles, normal_at_90_of_aspect_ratio};

/// Aspect ratio, incidence of greatest lift (deg), greatest lift, blend width (deg).
type Row = (f64, f64, f64, f64);

/// Rectangular flat plates at Reynolds numbers about 1e5. Source: MODEL.md § 18.6, from memory, low confidence.
const RECTANGULAR: [Row; 6] = [
    (0.5, 40.0, 1.15, 7.0),
    (1.0, 37.5, 1.20, 6.0),
    (2.0, 20.0, 0.95, 4.0),
    (3.0, 14.0, 0.82, 3.0),
    (5.0, 10.5, 0.77, 2.5),
    (20.0, 8.5, 0.72, 2.0),
];

/// Slender sharp-edged deltas. Source: MODEL.md § 18.6, from memory, low confidence.
const DELTA: [Row; 5] = [
    (0.5, 40.0, 1.00, 7.0),
    (1.0, 35.0, 1.25, 6.0),
    (1.5, 32.0, 1.25, 5.0),
    (2.0, 25.0, 1.15, 5.0),
    (3.0, 20.0, 1.00, 4.0),
];

/// Reynolds number, factor on the greatest lift, one standard deviation of it as a share. Source: MODEL.md § 18.6.
const BY_REYNOLDS: [(f64, f64, f64); 3] = [(1e4, 0.95, 0.15), (4e4, 1.0, 0.10), (2e5, 1.0, 0.08)];

/// Reynolds numbers between which there are measurements of small plates to lean on.
pub const COVERED_REYNOLDS: (f64, f64) = (4e4, 2e5);

/// Greatest aspect ratio the plate's normal force is extrapolated to. Source: Viterna & Corrigan, from memory.
const LARGEST_ASPECT_RATIO: f64 = 50.0;

/// Effective over geometric aspect ratio of a fin that stands on a plate. Common practice, no source.
pub const FIN_END_PLATE: f64 = 1.55;

/// Greatest lift of a plate: where, how much, and over what range it is lost.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GreatestLift {
    /// Incidence, rad.
    pub alpha_rad: f64,
    /// Lift coefficient.
    pub lift: Banded,
    /// Width of the blend, rad.
    pub blend_rad: f64,
}

/// Greatest lift of a plate of an aspect ratio, at a Reynolds number, with a share of vortex lift (0 to 1).
///
/// Valid for: thin plates; measurements behind it at Reynolds numbers of [`COVERED_REYNOLDS`], values held outside 1e4 to 2e5.
/// Source: MODEL.md § 18.6.
pub fn greatest_lift(aspect_ratio: f64, reynolds: f64, vortex_share: f64) -> GreatestLift {
    let plain = row(&RECTANGULAR, aspect_ratio);
    let delta = row(&DELTA, aspect_ratio);
    let mix = |k: usize| (1.0 - vortex_share) * plain[k] + vortex_share * delta[k];
    let by_reynolds = BY_REYNOLDS.map(|(x, factor, sigma)| (x, [factor, sigma]));
    let [factor, sigma] = in_logarithm(&by_reynolds, reynolds);
    let value = factor * mix(1);
    GreatestLift {
        alpha_rad: mix(0).to_radians(),
        lift: Banded {
            value,
            one_sigma: sigma * value,
        },
        blend_rad: mix(2).to_radians(),
    }
}

/// Normal-force coefficient of a plate across the flow, held beyond aspect ratio 50.
pub fn normal_at_90(aspect_ratio: f64) -> f64 {
    normal_at_90_of_aspect_ratio(aspect_ratio.min(LARGEST_ASPECT_RATIO))
}

/// Lift coefficient of the blended law of MODEL.md § 5.3 without sideslip: attached slope (1/rad), stall and blend (rad).
pub fn blended_lift(
    lift_alpha: f64,
    alpha_stall_rad: f64,
    blend_rad: f64,
    normal_at_90: f64,
    alpha_rad: f64,
) -> f64 {
    Blended::at(
        lift_alpha,
        alpha_stall_rad,
        blend_rad,
        normal_at_90,
        alpha_rad,
    )
    .lift
}

/// The blended law at an incidence.
#[derive(Clone, Copy, Debug)]
struct Blended {
    alpha_rad: f64,
    attached: f64,
    sin: f64,
    cos: f64,
    lift: f64,
}

impl Blended {
    fn at(
        lift_alpha: f64,
        alpha_stall_rad: f64,
        blend_rad: f64,
        normal_at_90: f64,
        alpha_rad: f64,
    ) -> Self {
        let attached = 0.5 * (1.0 - libm::tanh((alpha_rad - alpha_stall_rad) / blend_rad));
        let (sin, cos) = libm::sincos(alpha_rad);
        Blended {
            alpha_rad,
            attached,
            sin,
            cos,
            lift: attached * lift_alpha * alpha_rad
                + (1.0 - attached) * normal_at_90 * sin / (0.56 + 0.44 * sin.abs()) * cos,
        }
    }

    /// What the lift does not exceed from here to a larger incidence, up to a right angle, for slope and plate over 0: the share that is attached falls on
    /// the way, and the plate's normal force rises.
    fn bound(&self, to: &Self, lift_alpha: f64, normal_at_90: f64) -> f64 {
        /// What rounding may add.
        const ROUNDING: f64 = 1.0 + 1e-12;
        let line = self.attached * lift_alpha * to.alpha_rad;
        let plate = normal_at_90 * to.sin / (0.56 + 0.44 * to.sin) * self.cos;
        (line + (1.0 - to.attached) * plate) * ROUNDING
    }
}

/// Steps between 0 and the end of the blend where lift is looked at for its greatest.
const LIFT_STEPS: u32 = 240;

/// Greatest of the lift at so many steps, at least 0. Stretches that cannot hold it are passed over; it is the same number as that of all steps.
fn greatest_blended(lift_alpha: f64, stall: f64, blend_rad: f64, normal_at_90: f64) -> f64 {
    /// Steps looked at first.
    const STRIDE: u32 = 15;
    let at = |k: u32| {
        let alpha = (stall + blend_rad) * f64::from(k) / f64::from(LIFT_STEPS);
        Blended::at(lift_alpha, stall, blend_rad, normal_at_90, alpha)
    };
    let last = at(LIFT_STEPS);
    let bounded = lift_alpha >= 0.0
        && normal_at_90 >= 0.0
        && blend_rad > 0.0
        && (0.0..=std::f64::consts::FRAC_PI_2).contains(&last.alpha_rad);
    if !bounded {
        return (0..=LIFT_STEPS).map(|k| at(k).lift).fold(0.0, f64::max);
    }
    let first: Vec<(u32, Blended)> = (0..LIFT_STEPS)
        .step_by(STRIDE as usize)
        .map(|k| (k, at(k)))
        .chain([(LIFT_STEPS, last)])
        .collect();
    let mut best = first.iter().map(|(_, one)| one.lift).fold(0.0, f64::max);
    let mut open: Vec<[(u32, Blended); 2]> =
        first.windows(2).map(|pair| [pair[0], pair[1]]).collect();
    while let Some([from, to]) = open.pop() {
        if to.0 - from.0 < 2 || from.1.bound(&to.1, lift_alpha, normal_at_90) < best {
            continue;
        }
        let k = u32::midpoint(from.0, to.0);
        let middle = (k, at(k));
        best = best.max(middle.1.lift);
        open.extend([[from, middle], [middle, to]]);
    }
    best
}

/// α_s, rad: where the blended law has `lift` as its greatest (MODEL.md § 18.6).
///
/// `reachable` is the largest α_s allowed. Held to it where the straight lift line would reach the lift only later.
pub fn alpha_stall(
    lift_alpha: f64,
    blend_rad: f64,
    normal_at_90: f64,
    lift: f64,
    reachable: f64,
) -> f64 {
    let greatest = |stall: f64| greatest_blended(lift_alpha, stall, blend_rad, normal_at_90);
    let over = |stall: f64| greatest(stall) - lift;
    let (mut low, mut high) = ((0.0, over(0.0)), (reachable, over(reachable)));
    if high.1 <= 0.0 {
        return reachable;
    }
    if low.1 >= 0.0 {
        return 0.0;
    }
    // Regula falsi in the Illinois way: an end that stays is halved in weight. At most as long as halving an angle under a right one to 1e-12 rad takes.
    for _ in 0..80 {
        let next = high.0 - high.1 * (high.0 - low.0) / (high.1 - low.1);
        let found = over(next);
        let moved = if found < 0.0 {
            next - low.0
        } else {
            high.0 - next
        };
        if found < 0.0 {
            (low, high.1) = ((next, found), 0.5 * high.1);
        } else {
            (high, low.1) = ((next, found), 0.5 * low.1);
        }
        if found == 0.0 || moved.min(high.0 - low.0) < 1e-13 {
            return next;
        }
    }
    0.5 * (low.0 + high.0)
}

/// What decides where an airframe stalls.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StallInput {
    /// Aspect ratio b²/S of the main surface.
    pub aspect_ratio: f64,
    /// Reynolds number of its mean chord.
    pub reynolds: f64,
    /// Share of vortex lift, 0 to 1.
    pub vortex_share: f64,
    /// Lift slope of the table, 1/rad.
    pub lift_alpha: f64,
    /// Thickness over mean chord.
    pub thickness_ratio: f64,
    /// Geometric aspect ratio h²/S of the fin, if there is one.
    pub fin_aspect_ratio: Option<f64>,
}

/// α_s (rad) where the blended law of an airframe's plate has a lift as its greatest.
fn stall_at(input: &StallInput, greatest: &GreatestLift, lift: f64) -> f64 {
    let reachable = greatest.alpha_rad + 2.0 * greatest.blend_rad;
    let c_90 = normal_at_90(input.aspect_ratio);
    alpha_stall(input.lift_alpha, greatest.blend_rad, c_90, lift, reachable)
}

/// Stall angles.
///
/// Source: MODEL.md § 18.6.
pub fn stall_angles(input: &StallInput) -> StallAngles {
    let lift = greatest_lift(input.aspect_ratio, input.reynolds, input.vortex_share);
    let (beta_stall_rad, beta_blend_rad) = match input.fin_aspect_ratio {
        Some(geometric) => {
            let fin = greatest_lift(FIN_END_PLATE * geometric, input.reynolds, 0.0);
            (fin.alpha_rad.max(15_f64.to_radians()), fin.blend_rad)
        }
        None => (30_f64.to_radians(), 6_f64.to_radians()),
    };
    StallAngles {
        alpha_stall_rad: stall_at(input, &lift, lift.lift.value),
        alpha_blend_rad: lift.blend_rad,
        beta_stall_rad,
        beta_blend_rad,
        normal_at_90: normal_at_90(input.aspect_ratio),
    }
}

/// Stall angles with one standard deviation each (same fields), which take twice as long again.
///
/// Source: MODEL.md § 18.6 and 20.1.
pub fn stall(input: &StallInput) -> (StallAngles, StallAngles) {
    let angles = stall_angles(input);
    let lift = greatest_lift(input.aspect_ratio, input.reynolds, input.vortex_share);
    let low = stall_at(input, &lift, lift.lift.value - lift.lift.one_sigma);
    let high = stall_at(input, &lift, lift.lift.value + lift.lift.one_sigma);
    let beta_share = match input.fin_aspect_ratio {
        Some(_) => 0.25,
        None => 0.30,
    };
    let normal_share = if input.thickness_ratio > 0.10 {
        0.20
    } else {
        0.15
    };
    let half_range = 0.5 * (high - low);
    let squares = (0.5 * lift.blend_rad).powi(2)
        + half_range.powi(2)
        + (0.20 * input.vortex_share * angles.alpha_stall_rad).powi(2);
    let one_sigma = StallAngles {
        alpha_stall_rad: squares.sqrt(),
        alpha_blend_rad: 0.35 * lift.blend_rad,
        beta_stall_rad: beta_share * angles.beta_stall_rad,
        beta_blend_rad: 0.35 * angles.beta_blend_rad,
        normal_at_90: normal_share * angles.normal_at_90,
    };
    (angles, one_sigma)
}

fn row(table: &[Row], aspect_ratio: f64) -> [f64; 3] {
    let knots: Vec<(f64, [f64; 3])> = table
        .iter()
        .map(|&(x, alpha, lift, blend)| (x, [alpha, lift, blend]))
        .collect();
    in_logarithm(&knots, aspect_ratio)
}

/// Straight in ln x between knots, held outside.
fn in_logarithm<const N: usize>(knots: &[(f64, [f64; N])], x: f64) -> [f64; N] {
    let (first, last) = (knots[0], knots[knots.len() - 1]);
    if x <= first.0 {
        return first.1;
    }
    for pair in knots.windows(2) {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        if x <= x1 {
            let share = libm::log(x / x0) / libm::log(x1 / x0);
            return std::array::from_fn(|k| y0[k] + share * (y1[k] - y0[k]));
        }
    }
    last.1
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::aero::coefficients::Coefficients;
    use crate::aero::flow::Flow;
    use crate::aero::post_stall::{Panel, PostStall};
    use crate::frames::BuilderPoint;
    use nalgebra::Vector3;

    // The bands in circulation for rectangular plates at Re about 1e5 (from memory, low confidence): AR 2 0.9 to 1.0, AR 3 and 5
    // 0.75 to 0.85, two-dimensional 0.7 to 0.75. Slopes: lifting-surface theory 2.49, 3.1451, 3.9539, two-dimensional 2π.
    // The blended law as flown must have its greatest lift before the plate's own hump inside them.
    #[test]
    fn blended_lift_peaks_inside_the_measured_bands() {
        for (aspect, slope, band) in [
            (2.0, 2.49, 0.90..1.00),
            (3.0, 3.1451, 0.75..0.85),
            (5.0, 3.9539, 0.75..0.85),
            (20.0, 5.6, 0.70..0.75),
        ] {
            let (angles, _) = stall(&StallInput {
                aspect_ratio: aspect,
                reynolds: 1e5,
                vortex_share: 0.0,
                lift_alpha: slope,
                thickness_ratio: 0.02,
                fin_aspect_ratio: None,
            });
            let greatest = (0..1000)
                .map(|k| f64::from(k) * 1e-3 * 1.2 * angles.alpha_stall_rad)
                .map(|alpha| {
                    blended_lift(
                        slope,
                        angles.alpha_stall_rad,
                        angles.alpha_blend_rad,
                        angles.normal_at_90,
                        alpha,
                    )
                })
                .fold(0.0, f64::max);
            assert!(band.contains(&greatest), "{aspect}: {greatest}");
        }
    }

    // Over slopes, stalls and blends of all sizes, right angles and negative slopes among them: the greatest of all 241 by looking at each.
    #[test]
    fn what_is_passed_over_does_not_hold_the_greatest_lift() {
        for i in 0..40 {
            for j in 0..40 {
                for (blend, c_90) in [(0.03, 1.13), (0.08, 1.2), (0.2, 2.0), (0.5, 0.0)] {
                    let (slope, stall) = (f64::from(i) * 0.2 - 0.4, f64::from(j) * 0.03);
                    let each = (0..=240).map(|k| (stall + blend) * f64::from(k) / 240.0);
                    let lift = each.map(|alpha| blended_lift(slope, stall, blend, c_90, alpha));
                    let greatest = lift.fold(0.0, f64::max);
                    let found = greatest_blended(slope, stall, blend, c_90);
                    assert_eq!(found, greatest, "{slope} {stall} {blend} {c_90}");
                }
            }
        }
    }

    // The law of this file must be the one that is flown: lift of the table and of the separated plates of a level plate, by the
    // code that flies them.
    #[test]
    fn blended_lift_is_what_a_flight_feels() {
        let angles = StallAngles {
            alpha_stall_rad: 0.30,
            alpha_blend_rad: 0.06,
            beta_stall_rad: 1e6,
            beta_blend_rad: 1.0,
            normal_at_90: 1.15,
        };
        let half = Panel {
            root_leading_edge: BuilderPoint::new(0.0, 0.0, 0.0),
            root_chord_m: 0.2,
            tip_chord_m: 0.2,
            half_span_m: 0.2,
            sweep_rad: 0.0,
            dihedral_rad: 0.0,
            side: 1.0,
        };
        let panels = [half, half.mirrored()];
        let post = PostStall::of(&angles, &panels, &BuilderPoint::new(0.05, 0.0, 0.0));
        let mut table = Coefficients::none(0.08, 0.4, 0.2);
        table.lift_alpha = 2.5;
        for alpha in [0.1_f64, 0.28, 0.35, 0.6] {
            let (sin, cos) = alpha.sin_cos();
            let flow = Flow {
                velocity: Vector3::new(cos, 0.0, sin) * 5.0,
                rates: Vector3::zeros(),
                airspeed: 5.0,
                alpha,
                beta: 0.0,
                sin_cos_alpha: (sin, cos),
                sin_cos_beta: (0.0, 1.0),
                density: 1.2,
                wind: Vector3::zeros(),
            };
            let weight = post.attached_weight(&flow);
            let force = table.attached(&flow, std::iter::empty()).force * weight
                + post.plates(&flow, table.area, 0.0).force * (1.0 - weight);
            let lift = (force.x * sin - force.z * cos) / (0.5 * 1.2 * 25.0 * 0.08);
            let here = blended_lift(2.5, 0.30, 0.06, 1.15, alpha);
            assert!((lift - here).abs() < 1e-12, "{alpha}: {lift} {here}");
        }
    }

    // Hoerner, Fluid-Dynamic Drag ch. 3 (from memory): plate across the flow 1.17 square, 1.2 AR 5, 1.3 AR 10, 1.5 AR 20.
    #[test]
    fn plate_across_the_flow_is_hoerners() {
        for (aspect, expected) in [(1.0, 1.17), (5.0, 1.2), (10.0, 1.3), (20.0, 1.5)] {
            let found = normal_at_90(aspect);
            assert!((found / expected - 1.0).abs() < 0.05, "{aspect}: {found}");
        }
        // Two-dimensional plate 1.98: the straight line must not run past it.
        assert!(normal_at_90(1e4) <= 2.02);
    }

    // Low aspect ratio stalls later and more softly, a fin no earlier than a wing of its shape, and doubt grows below the
    // Reynolds numbers that were measured.
    #[test]
    fn trends_are_those_of_plates() {
        let at = |aspect, reynolds| greatest_lift(aspect, reynolds, 0.0);
        assert!(at(1.0, 1e5).alpha_rad > at(4.0, 1e5).alpha_rad);
        assert!(at(1.0, 1e5).blend_rad > at(4.0, 1e5).blend_rad);
        assert!(at(3.0, 1e4).lift.one_sigma > 1.5 * at(3.0, 1e5).lift.one_sigma);
        let with = |fin| {
            stall(&StallInput {
                aspect_ratio: 4.0,
                reynolds: 3e4,
                vortex_share: 0.0,
                lift_alpha: 3.6,
                thickness_ratio: 0.02,
                fin_aspect_ratio: fin,
            })
        };
        assert!(with(Some(0.8)).0.beta_stall_rad > with(Some(3.0)).0.beta_stall_rad);
        assert!(with(None).1.beta_stall_rad > with(Some(1.2)).1.beta_stall_rad);
    }

    // Where the lift of a plate of aspect ratio 1 bends upwards, the straight line cannot reach it: α_s is held.
    #[test]
    fn stall_angle_is_held_where_the_line_cannot_reach() {
        let lift = greatest_lift(1.0, 1e5, 0.0);
        let reachable = lift.alpha_rad + 2.0 * lift.blend_rad;
        let found = alpha_stall(1.4602, lift.blend_rad, 1.128, lift.lift.value, reachable);
        assert_eq!(found, reachable);
    }
}
