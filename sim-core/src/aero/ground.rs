//! What the ground under a wing does to its lift and induced drag (MODEL.md § 5.5).

use super::coefficients::{Coefficients, StaticCoefficients};
use super::flow::Flow;
use crate::number::Number;
use crate::wrench::Wrench;
use nalgebra::Vector3;
use std::f64::consts::PI;

/// Height over span from which the ground spares nothing.
pub const NO_GROUND_SPANS: f64 = 3.0;

/// σ_g, the share of its own downwash that a wing at a height over the ground is spared, 0 to 0.88; `height` over span, exactly 0 from 3 up.
///
/// Equation: MODEL.md § 5.5. Source: Wieselsberger 1921, Torenbeek 1982, from memory. Valid for: heights over span of 0.05 and more.
#[inline(always)]
pub fn downwash_spared<T: Number>(height_over_span: T) -> T {
    /// Keeps the power smooth where the wing would lie in the ground.
    const SMOOTH: f64 = 0.02;
    let x = T::constant(2.0) * height_over_span;
    let square = x * x + T::constant(SMOOTH * SMOOTH);
    let power = (T::constant(0.384) * square.ln()).exp();
    let spared = (-T::constant(2.48) * power).exp();
    let left = (T::constant(NO_GROUND_SPANS) - height_over_span).larger(T::zero());
    let left = left.select_less(T::one(), left, T::one());
    spared * left * left * (T::constant(3.0) - T::constant(2.0) * left)
}

impl<T: Number> Coefficients<T> {
    /// The induced incidence per lift coefficient with its bound (rad), and the part of the drag factor that the ground can spare.
    #[inline(always)]
    pub fn near_ground(&self) -> [T; 2] {
        let two = T::constant(2.0);
        let square = self.span * self.span;
        // The induced incidence of an elliptic wing per lift coefficient, and the most that lifting-line theory leaves of it.
        let induced = self.area / (T::constant(PI) * square);
        let most = two * self.area / ((square + two * self.area) * self.lift_alpha.abs());
        // A table without area or slope has no bound (the quotient is infinite or no number, and smaller than nothing).
        let bounded = most.select_less(induced, most, induced);
        let relief = self
            .drag_factor
            .select_less(induced, self.drag_factor, induced);
        [bounded, relief]
    }

    /// What the ground adds to the force and moment of the attached flow, for the share `spared` of [`downwash_spared`]; nothing where that is 0.
    ///
    /// `fixed` is [`Coefficients::at`] of the same flow. Equation: MODEL.md § 5.5.
    #[inline(always)]
    pub fn ground_effect(
        &self,
        flow: &Flow<T>,
        fixed: &StaticCoefficients<T>,
        spared: T,
    ) -> Wrench<T> {
        let [bounded, relief] = self.near_ground();
        self.ground_effect_by(flow, fixed, spared, bounded, relief)
    }

    /// The same with [`Coefficients::near_ground`] at hand.
    #[inline(always)]
    pub fn ground_effect_by(
        &self,
        flow: &Flow<T>,
        fixed: &StaticCoefficients<T>,
        spared: T,
        bounded: T,
        relief: T,
    ) -> Wrench<T> {
        let lift = fixed.lift / (T::one() - spared * bounded * self.lift_alpha);
        let incidence = spared * bounded * lift;
        let excess = lift - self.lift_at_min_drag;
        let before = fixed.lift - self.lift_at_min_drag;
        let drag = self.drag_factor * (excess * excess - before * before)
            - spared * relief * excess * excess;
        let pressure = T::constant(0.5) * flow.density * flow.airspeed * flow.airspeed * self.area;
        let lift_n = pressure * self.lift_alpha * incidence;
        let force = flow.force(lift_n, T::zero(), pressure * drag);
        let pitch = pressure * self.chord * self.pitch_alpha * incidence;
        let moment = Vector3::new(T::zero(), pitch, T::zero());
        Wrench::at(force, &self.reference).with_moment(moment)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    // H. H. Hurt, Aerodynamics for Naval Aviators (1965), ground effect: induced drag is less by 1.4, 23.5 and 47.6 % where the wing is a span, a
    // quarter and a tenth of a span over the ground (from memory).
    #[test]
    fn the_share_is_the_handbooks() {
        for (height, share) in [(1.0, 0.014), (0.25, 0.235), (0.1, 0.476)] {
            let found = downwash_spared(height);
            assert!(
                (found - share).abs() < 0.002 + 0.03 * share,
                "{height}: {found}"
            );
        }
    }

    // Wieselsberger's own formula, NACA TM 77 (from memory): σ = (1 − 1.32 h/b)/(1.05 + 7.4 h/b) for h/b from 1/15 to 1/4.
    #[test]
    fn the_share_is_wieselsbergers_where_his_formula_holds() {
        for height in [1.0 / 15.0, 0.1, 0.15, 0.2, 0.25] {
            let his = (1.0 - 1.32 * height) / (1.05 + 7.4 * height);
            let found = downwash_spared(height);
            assert!((found / his - 1.0).abs() < 0.04, "{height}: {found} {his}");
        }
    }

    // Biot and Savart: the flow that the image of an elliptically loaded line brings to it, weighted with the loading, over the line's own uniform
    // downwash. With Γ = √(1 − y²) over y from −1 to 1 the line's own downwash is ¼ · 2 = ½ (far wake: 1); the image's trailing vortices lie
    // 2h below and turn the other way. In the far wake w = (1/2π)∫ Γ'(η)(y − η)/((y − η)² + (2h)²) dη.
    #[test]
    fn the_share_is_that_of_the_image_of_an_elliptic_line() {
        let count = 2000;
        let at = |i: i32| TAU / 2.0 * (f64::from(i) + 0.5) / f64::from(count);
        for (height_over_span, limit) in [
            (0.05, 0.008),
            (0.1, 0.005),
            (0.2, 0.005),
            (0.3, 0.005),
            // From here up the handbook's curve falls faster than the image's, by less than 0.015 anywhere.
            (0.5, 0.015),
            (1.0, 0.015),
        ] {
            // Half span 1: the span is 2 and the image lies 2h = 4 h/b below.
            let gap: f64 = 4.0 * height_over_span;
            let step = TAU / 2.0 / f64::from(count);
            let mut mutual = 0.0;
            for i in (0..count).step_by(10) {
                let (loading, y) = libm::sincos(at(i));
                let mut flow = 0.0;
                for j in 0..count {
                    // Γ = sin θ at η = cos θ: dΓ = cos θ dθ, from the right tip inwards.
                    let eta = libm::cos(at(j));
                    let apart = y - eta;
                    flow += eta * step * apart / (apart * apart + gap * gap);
                }
                mutual += flow / TAU * loading * loading * step * 10.0;
            }
            // Own: far-wake downwash of Γ = √(1 − y²) over half span 1 is ½; ∫Γ dy = π/2.
            let own = 0.5 * TAU / 4.0;
            let share = (mutual / own).abs();
            let found = downwash_spared(height_over_span);
            assert!(
                (found - share).abs() < limit,
                "{height_over_span}: {found} {share}"
            );
        }
    }

    #[test]
    fn three_spans_up_there_is_none_and_on_the_way_no_step() {
        assert_eq!(downwash_spared(3.0), 0.0);
        assert_eq!(downwash_spared(1e9), 0.0);
        assert!(downwash_spared(2.99) > 0.0 && downwash_spared(2.0) < 1e-3);
        let mut last = downwash_spared(0.0);
        assert!(last < 0.9);
        for i in 1..=3200 {
            let height = 1e-3 * f64::from(i);
            let now = downwash_spared(height);
            assert!(now <= last && last - now < 6e-3, "{height}: {now} {last}");
            last = now;
        }
    }
}
