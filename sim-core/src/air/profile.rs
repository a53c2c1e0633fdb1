//! Mean wind over height (MODEL.md § 4.2).

use crate::number::{Number, lane_data};

/// Below this height a power law says nothing, m. Ours.
pub const POWER_LAW_FOOT_M: f64 = 0.1;

lane_data! {
    /// The mean wind's share over height of its speed at a stated height.
    ///
    /// Equation (MODEL.md § 4.2): `log_share` ln(h/`log_height`) + `power_share` (h/`power_height`)^`exponent` over the foot, below it a
    /// parabola that goes to zero at the ground. One share is zero. Valid for: heights well over the roughness, up to some 300 m.
    pub struct Profile<T> {
        /// Factor of the logarithm.
        pub log_share: T,
        /// Height at which the logarithm is zero (the roughness length), m.
        pub log_height: T,
        /// Factor of the power law.
        pub power_share: T,
        /// Height at which the power law is one, m.
        pub power_height: T,
        /// Its exponent.
        pub exponent: T,
        /// Height of the foot, m.
        pub foot: T,
        /// Share at the foot.
        pub foot_share: T,
        /// Slope at the foot over that of the straight line to the ground.
        pub foot_exponent: T,
        /// Share at the height whose wind carries gusts and turbulence.
        pub carried_share: T,
    }
}

impl Profile<f64> {
    /// Logarithmic over ground of a roughness length (m), one at the height at which the speed is given (m).
    pub fn logarithmic(roughness_m: f64, speed_height_m: f64) -> Self {
        let share = 1.0 / libm::log(speed_height_m / roughness_m);
        Profile {
            log_share: share,
            log_height: roughness_m,
            power_share: 0.0,
            power_height: 1.0,
            exponent: 0.0,
            foot: Self::logarithmic_foot_m(roughness_m),
            foot_share: share,
            foot_exponent: 1.0,
            carried_share: 1.0,
        }
    }

    /// A power of the height, one at the height at which the speed is given (m).
    pub fn power_law(exponent: f64, speed_height_m: f64) -> Self {
        Profile {
            log_share: 0.0,
            log_height: 1.0,
            power_share: 1.0,
            power_height: speed_height_m,
            exponent,
            foot: POWER_LAW_FOOT_M,
            foot_share: libm::exp(exponent * libm::log(POWER_LAW_FOOT_M / speed_height_m)),
            foot_exponent: exponent,
            carried_share: 1.0,
        }
    }

    /// Height (m) below which the logarithm gives way: where its tangent meets the ground.
    pub fn logarithmic_foot_m(roughness_m: f64) -> f64 {
        roughness_m * std::f64::consts::E
    }

    /// The same with gusts and turbulence carried by the wind at a height (m).
    pub fn carried_at(mut self, height_m: f64) -> Self {
        self.carried_share = self.share_and_slope(height_m).0;
        self
    }
}

impl<T: Number> Profile<T> {
    /// Share of the speed at a height over the ground (m), and its slope (1/m).
    #[inline(always)]
    pub fn share_and_slope(&self, height: T) -> (T, T) {
        let above = height.larger(self.foot);
        let log = self.log_share * (above / self.log_height).ln();
        let power = self.power_share * ((above / self.power_height).ln() * self.exponent).exp();
        let (share, slope) = (
            log + power,
            (self.log_share + self.exponent * power) / above,
        );

        let (one, two) = (T::one(), T::constant(2.0));
        let depth = height.larger(T::zero()) / self.foot;
        let (line, bend) = (two - self.foot_exponent, one - self.foot_exponent);
        let low_share = self.foot_share * depth * (line - bend * depth);
        let low_slope = self.foot_share / self.foot * (line - two * bend * depth);
        let low_slope = height.select_less(T::zero(), T::zero(), low_slope);
        (
            height.select_less(self.foot, low_share, share),
            height.select_less(self.foot, low_slope, slope),
        )
    }

    /// Change of the slope with height (1/m²).
    #[inline(always)]
    pub fn curvature(&self, height: T) -> T {
        let above = height.larger(self.foot);
        let power = self.power_share * ((above / self.power_height).ln() * self.exponent).exp();
        let one = T::one();
        let bend =
            (self.exponent * (self.exponent - one) * power - self.log_share) / (above * above);
        let low = T::constant(-2.0) * self.foot_share * (one - self.foot_exponent)
            / (self.foot * self.foot);
        let low = height.select_less(T::zero(), T::zero(), low);
        height.select_less(self.foot, low, bend)
    }
}

lane_data! {
    /// What of a profile does not change in flight (MODEL.md § 28.3).
    pub struct ProfileConstants<T> {
        /// Logarithm of the height (m) at which the logarithm is zero.
        pub log_height: T,
        /// Logarithm of the height (m) at which the power law is one.
        pub power_height: T,
        /// 1/foot, 1/m.
        pub over_foot: T,
        /// The foot's share over its height, 1/m.
        pub foot_slope: T,
        /// Curvature under the foot, 1/m².
        pub foot_curvature: T,
    }
}

impl ProfileConstants<f64> {
    /// Those of a profile.
    pub fn of(profile: &Profile<f64>) -> Self {
        let foot = profile.foot;
        ProfileConstants {
            log_height: libm::log(profile.log_height),
            power_height: libm::log(profile.power_height),
            over_foot: 1.0 / foot,
            foot_slope: profile.foot_share / foot,
            foot_curvature: -2.0 * profile.foot_share * (1.0 - profile.foot_exponent)
                / (foot * foot),
        }
    }
}

impl<T: Number> Profile<T> {
    /// [`Profile::share_and_slope`] and [`Profile::curvature`] by one logarithm, one exponential and one division.
    #[inline(always)]
    pub fn share_slope_curvature(&self, constants: &ProfileConstants<T>, height: T) -> (T, T, T) {
        let (zero, one, two) = (T::zero(), T::one(), T::constant(2.0));
        let above = height.larger(self.foot);
        let (ln, over) = (above.ln(), one / above);
        let power = ((ln - constants.power_height) * self.exponent).exp() * self.power_share;
        let share = (ln - constants.log_height).times_plus(self.log_share, power);
        let steep = self.exponent * power;
        let slope = (self.log_share + steep) * over;
        let bend = (self.exponent - one).times_plus(steep, -self.log_share) * over * over;

        let depth = height.larger(zero) * constants.over_foot;
        let (line, low_bend) = (two - self.foot_exponent, one - self.foot_exponent);
        let low_share = self.foot_share * depth * low_bend.times_from(depth, line);
        let low_slope = constants.foot_slope * (two * low_bend).times_from(depth, line);
        let low_slope = height.select_less(zero, zero, low_slope);
        let low_bend = height.select_less(zero, zero, constants.foot_curvature);
        (
            height.select_less(self.foot, low_share, share),
            height.select_less(self.foot, low_slope, slope),
            height.select_less(self.foot, low_bend, bend),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const FOOT_M: f64 = 0.3048;

    // MIL-F-8785C wind shear, u/W20 = ln(h/z0)/ln(20/z0) (from memory; the ratios are the standard's formula worked on a calculator,
    // z0 0.15 ft for category C, 2 ft else).
    #[test]
    fn meets_the_military_ratios() {
        for (roughness_ft, ratios) in [
            (0.15, [0.63056, 0.85509, 1.10116]),
            (2.0, [0.21496, 0.69208, 1.21496]),
        ] {
            let profile = Profile::logarithmic(roughness_ft * FOOT_M, 20.0 * FOOT_M);
            for (height, ratio) in [1.0, 3.0, 10.0].into_iter().zip(ratios) {
                let found = profile.share_and_slope(height).0;
                // At 1 m over bushes of 2 ft the law is below its foot (1.66 m) and the speed straight to the ground.
                if height > profile.foot {
                    assert!((found - ratio).abs() < 6e-6, "{roughness_ft} {height}");
                } else {
                    assert!(found > ratio && found < 0.43466 * height / 1.657);
                }
            }
        }
    }

    // The seventh-root law, common practice: twice the height has 2^(1/7) = 1.10409 of the wind.
    #[test]
    fn a_seventh_root() {
        let profile = Profile::power_law(1.0 / 7.0, 10.0);
        assert!((profile.share_and_slope(10.0).0 - 1.0).abs() < 1e-15);
        assert!((profile.share_and_slope(20.0).0 - 1.104_09).abs() < 1e-5);
        assert!((profile.share_and_slope(5.0).0 * 1.104_09 - 1.0).abs() < 1e-5);
    }

    #[test]
    fn slopes_match_differences_and_the_foot_is_smooth() {
        for profile in [
            Profile::logarithmic(0.05, 6.0),
            Profile::power_law(0.2, 6.0),
        ] {
            let share = |height: f64| profile.share_and_slope(height).0;
            let h = 1e-6;
            for height in [0.01, 0.05, 0.12, 0.2, 1.0, 30.0] {
                let difference = (share(height + h) - share(height - h)) / (2.0 * h);
                assert!((difference - profile.share_and_slope(height).1).abs() < 1e-7);
                let slope = |height: f64| profile.share_and_slope(height).1;
                let difference = (slope(height + h) - slope(height - h)) / (2.0 * h);
                let curvature = profile.curvature(height);
                assert!((difference - curvature).abs() < 1e-6 * (1.0 + curvature.abs()));
            }
            let (below, above) = (
                profile.share_and_slope(profile.foot - 1e-12),
                profile.share_and_slope(profile.foot + 1e-12),
            );
            assert!((below.0 - above.0).abs() < 1e-10 && (below.1 - above.1).abs() < 1e-9);
            assert_eq!(profile.share_and_slope(0.0).0, 0.0);
            assert_eq!(profile.share_and_slope(-0.3), (0.0, 0.0));
        }
    }
}
