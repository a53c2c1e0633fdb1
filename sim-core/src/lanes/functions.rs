//! Elementary functions of registers, by polynomials of our own in one written order (MODEL.md § 28.2).
//!
//! The coefficients interpolate the functions at Chebyshev points, worked out with 50 digits. Errors are stated in MODEL.md § 28.2 and
//! tested against the `libm` crate.

// The digits are those that were worked out; the last ones show which number is meant.
#![allow(clippy::excessive_precision)]

use super::register::Register;
use std::f64::consts::{FRAC_1_SQRT_2, FRAC_PI_2, FRAC_PI_4, LN_2, LOG2_E, PI, SQRT_2};

/// By Horner's rule, of every so many coefficients down from one of them.
#[inline(always)]
fn every<R: Register, const N: usize>(
    x: R,
    coefficients: &[f64; N],
    last: usize,
    step: usize,
) -> R {
    let mut sum = R::splat(coefficients[last]);
    let mut k = last;
    while k >= step {
        k -= step;
        sum = sum.fused(x, R::splat(coefficients[k]));
    }
    sum
}

/// c_0 + x (c_1 + x (c_2 + …)). Longer ones as two of x², of the even and the odd powers, which do not wait for each other.
#[inline(always)]
fn horner<R: Register, const N: usize>(x: R, coefficients: &[f64; N]) -> R {
    if N < 6 {
        return every(x, coefficients, N - 1, 1);
    }
    let square = x.mul(x);
    let (one, other) = (
        every(square, coefficients, N - 1, 2),
        every(square, coefficients, N - 2, 2),
    );
    if N % 2 == 1 {
        other.fused(x, one)
    } else {
        one.fused(x, other)
    }
}

/// The polynomial for registers of 53 or of 24 bits.
macro_rules! polynomial {
    ($R:ident, $x:expr, $double:expr, $single:expr) => {
        if $R::SINGLE {
            horner($x, &$single)
        } else {
            horner($x, &$double)
        }
    };
}

/// The value, held from below and above; what is not a number stays so.
#[inline(always)]
fn held<R: Register>(x: R, low: f64, high: f64) -> R {
    x.larger(R::splat(low)).smaller(R::splat(high))
}

/// e^x, x held to where the result is a normal number.
#[inline(always)]
pub fn exp<R: Register>(x: R) -> R {
    // (e^r − 1 − r)/r² for |r| ≤ ½ ln 2.
    const DOUBLE: [f64; 10] = [
        0.500_000_000_000_000_1,
        0.166_666_666_666_666_69,
        0.041_666_666_666_624_13,
        0.008_333_333_333_330_062,
        0.001_388_888_891_721_371_7,
        0.000_198_412_698_630_536_18,
        2.480_152_129_595_437_6e-5,
        2.755_726_845_999_706_4e-6,
        2.762_008_844_540_974_6e-7,
        2.510_038_549_551_032e-8,
    ];
    const SINGLE: [f64; 5] = [
        0.5,
        0.166_665_769_896_987_75,
        0.041_666_554_617_204_574,
        0.008_363_179_052_722_578,
        0.001_392_618_358_771_349_4,
    ];
    let most = if R::SINGLE { 87.0 } else { 708.0 };
    let x = held(x, -most, most);
    let k = x.mul(R::splat(LOG2_E)).nearest();
    let (high, low) = ln_2_in_parts::<R>();
    let r = k.fused(R::splat(-low), k.fused(R::splat(-high), x));
    let rest = polynomial!(R, r, DOUBLE, SINGLE);
    let rest = r.mul(r).fused(rest, r);
    rest.add(R::splat(1.0)).times_power_of_two(k)
}

/// ln 2 in two parts, the first with so few bits that its product with an exponent is exact.
#[inline(always)]
fn ln_2_in_parts<R: Register>() -> (f64, f64) {
    if R::SINGLE {
        (0.693_115_234_375, LN_2 - 0.693_115_234_375)
    } else {
        (0.693_147_180_485_539_1, 7.440_617_110_012_397e-11)
    }
}

/// ln x of positive normal numbers; not a number where x is not or is infinite.
#[inline(always)]
pub fn ln<R: Register>(x: R) -> R {
    // (atanh s − s)/s³ over s² for x from √½ to √2, s = (x − 1)/(x + 1).
    const DOUBLE: [f64; 8] = [
        0.333_333_333_333_333_3,
        0.200_000_000_000_004_42,
        0.142_857_142_853_998_92,
        0.111_111_111_962_905_23,
        0.090_908_977_737_605_69,
        0.076_931_223_688_108_33,
        0.066_343_191_846_334_12,
        0.065_440_174_254_637_74,
    ];
    const SINGLE: [f64; 4] = [
        0.333_333_332_770_210_04,
        0.200_000_611_059_053_26,
        0.142_753_893_165_959_82,
        0.116_658_072_359_217_49,
    ];
    let (one, half) = (R::splat(1.0), R::splat(0.5));
    let (mantissa, exponent) = x.mantissa_and_exponent();
    let above = R::splat(SQRT_2).less(mantissa);
    let mantissa = R::select(above, mantissa.mul(half), mantissa);
    let exponent = R::select(above, exponent.add(one), exponent);
    let s = mantissa.sub(one).div(mantissa.add(one));
    let square = s.mul(s);
    let twice = s.add(s);
    let bend = polynomial!(R, square, DOUBLE, SINGLE);
    let (high, low) = ln_2_in_parts::<R>();
    let rest = exponent.fused(R::splat(low), twice.mul(square).mul(bend));
    let whole = exponent.fused(R::splat(high), twice.add(rest));
    // What is no number has bits of one all the same.
    whole.add(x.sub(x))
}

/// tanh x.
#[inline(always)]
pub fn tanh<R: Register>(x: R) -> R {
    let (one, zero) = (R::splat(1.0), R::splat(0.0));
    let e = exp(x.abs().mul(R::splat(-2.0)));
    let size = one.sub(e).div(one.add(e));
    R::select(x.less(zero), size.neg(), size)
}

/// tan π/8.
const TAN_22_5_DEG: f64 = 0.414_213_562_373_095_03;
/// sin π/8.
const SIN_22_5_DEG: f64 = 0.382_683_432_365_089_8;

/// The angle of the point (x, y), in (−π, π]; 0 at the origin. One division.
#[inline(always)]
pub fn atan2<R: Register>(y: R, x: R) -> R {
    // (atan t − t)/t³ over t², |t| ≤ tan π/8.
    const DOUBLE: [f64; 11] = [
        -0.333_333_333_333_333_3,
        0.199_999_999_999_955_16,
        -0.142_857_142_846_656_82,
        0.111_111_110_151_870_18,
        -0.090_909_045_753_064_9,
        0.076_921_831_253_768_92,
        -0.066_645_105_255_089_36,
        0.058_581_409_048_663_28,
        -0.050_854_078_345_894_844,
        0.039_230_447_784_793_09,
        -0.019_175_404_711_104_935,
    ];
    const SINGLE: [f64; 5] = [
        -0.333_333_317_604_345_54,
        0.199_995_403_149_579_7,
        -0.142_639_497_536_057_23,
        0.107_436_683_248_300_98,
        -0.064_517_188_693_589_58,
    ];
    let (zero, one) = (R::splat(0.0), R::splat(1.0));
    let (up, along) = (y.abs(), x.abs());
    let flat = up.less(along.mul(R::splat(TAN_22_5_DEG)));
    let steep = along.less(up.mul(R::splat(TAN_22_5_DEG)));
    let numerator = R::select(flat, up, R::select(steep, along.neg(), up.sub(along)));
    let denominator = R::select(flat, along, R::select(steep, up, up.add(along)));
    let from = octant(flat, steep);
    // Only at the origin is it zero; what is not a number stays in the numerator.
    let denominator = R::select(zero.less(denominator), denominator, one);
    let t = numerator.div(denominator);
    let from = R::select(zero.less(up.add(along)), from, zero);
    let square = t.mul(t);
    let bend = polynomial!(R, square, DOUBLE, SINGLE);
    let angle = from.add(t.mul(square).fused(bend, t));
    all_round(angle, y, x)
}

/// 0, π/4 or π/2: the middle of the sector in which an angle lies.
#[inline(always)]
fn octant<R: Register>(flat: R::Mask, steep: R::Mask) -> R {
    let sloping = R::select(steep, R::splat(FRAC_PI_2), R::splat(FRAC_PI_4));
    R::select(flat, R::splat(0.0), sloping)
}

/// An angle of the first quadrant put where x and y have their signs.
#[inline(always)]
fn all_round<R: Register>(angle: R, y: R, x: R) -> R {
    let zero = R::splat(0.0);
    let angle = R::select(x.less(zero), R::splat(PI).sub(angle), angle);
    R::select(y.less(zero), angle.neg(), angle)
}

/// The angle whose sine and cosine these are, in (−π, π]. No division.
#[inline(always)]
pub fn angle<R: Register>(sine: R, cosine: R) -> R {
    // (asin s − s)/s³ over s², |s| ≤ sin π/8.
    const DOUBLE: [f64; 11] = [
        0.166_666_666_666_666_66,
        0.074_999_999_999_992_8,
        0.044_642_857_144_819_914,
        0.030_381_944_236_455_183,
        0.022_372_170_361_403_255,
        0.017_352_409_472_963_51,
        0.013_971_776_546_656_867,
        0.011_465_526_094_022_774,
        0.010_442_101_076_906_674,
        0.005_144_609_258_487_766,
        0.015_490_515_601_026_664,
    ];
    const SINGLE: [f64; 5] = [
        0.166_666_669_782_322_6,
        0.074_998_938_884_166_03,
        0.044_700_094_160_683_29,
        0.029_317_684_717_523_2,
        0.030_176_160_475_358_097,
    ];
    let (up, along) = (sine.abs(), cosine.abs());
    let flat = up.less(R::splat(SIN_22_5_DEG));
    let steep = along.less(R::splat(SIN_22_5_DEG));
    let between = up.sub(along).mul(R::splat(FRAC_1_SQRT_2));
    let s = R::select(flat, up, R::select(steep, along.neg(), between));
    let square = s.mul(s);
    let bend = polynomial!(R, square, DOUBLE, SINGLE);
    let angle = octant::<R>(flat, steep).add(s.mul(square).fused(bend, s));
    all_round(angle, sine, cosine)
}

/// Sine and cosine, for |x| up to 1e5 (of 24 bits: 1e3).
#[inline(always)]
pub fn sin_cos<R: Register>(x: R) -> (R, R) {
    // (sin r − r)/r³ and (cos r − 1 + r²/2)/r⁴ over r², |r| ≤ π/4.
    const SINE: [f64; 6] = [
        -0.166_666_666_666_666_66,
        0.008_333_333_333_330_948,
        -0.000_198_412_698_367_567_74,
        2.755_731_610_161_787_4e-6,
        -2.505_113_165_023_518e-8,
        1.591_811_526_326_597_4e-10,
    ];
    const COSINE: [f64; 6] = [
        0.041_666_666_666_666_664,
        -0.001_388_888_888_888_739_8,
        2.480_158_729_876_456e-5,
        -2.755_731_727_114_514_4e-7,
        2.087_614_614_655_861e-9,
        -1.138_262_364_747_446e-11,
    ];
    const SINE_SINGLE: [f64; 3] = [
        -0.166_666_646_614_716_97,
        0.008_332_748_154_085_032,
        -0.000_195_878_657_021_018_75,
    ];
    const COSINE_SINGLE: [f64; 3] = [
        0.041_666_664_658_901_405,
        -0.001_388_830_291_911_363_3,
        2.454_791_685_369_110_1e-5,
    ];
    let parts = if R::SINGLE {
        [
            1.570_312_5,
            0.000_483_751_296_997_070_3,
            7.549_789_954_891_882e-8,
        ]
    } else {
        [
            1.570_796_326_734_125_6,
            6.077_100_506_303_966e-11,
            2.022_266_248_795_950_6e-21,
        ]
    };
    let quarter_turns = x.mul(R::splat(1.0 / FRAC_PI_2)).nearest();
    let mut r = x;
    for part in parts {
        r = quarter_turns.fused(R::splat(-part), r);
    }
    let square = r.mul(r);
    let sine = polynomial!(R, square, SINE, SINE_SINGLE);
    let sine = r.mul(square).fused(sine, r);
    let cosine = polynomial!(R, square, COSINE, COSINE_SINGLE);
    let cosine = square
        .mul(square)
        .fused(cosine, square.fused(R::splat(-0.5), R::splat(1.0)));
    // Quarter turns from −2 to 2, whole turns left out.
    let turns = quarter_turns.mul(R::splat(0.25)).nearest();
    let quarter = turns.fused(R::splat(-4.0), quarter_turns);
    let even = R::splat(0.75).less(quarter.abs().sub(R::splat(1.0)).abs());
    let (s, c) = (R::select(even, sine, cosine), R::select(even, cosine, sine));
    let turned = |mask, value: R| R::select(mask, value.neg(), value);
    // Sine: −1 and ±2 quarter turns change its sign; cosine: 1 and ±2.
    let s = turned(quarter.less(R::splat(-0.5)), s);
    let s = turned(R::splat(1.5).less(quarter), s);
    let c = turned(quarter.less(R::splat(-1.5)), c);
    let c = turned(R::splat(0.5).less(quarter), c);
    (s, c)
}

/// (1 + x)^p with the p of air density over height (MODEL.md § 4.1), for −0.25 ≤ x ≤ 0.05, by its binomial series.
#[inline(always)]
pub fn density_power<R: Register>(x: R) -> R {
    const TERMS: usize = 13;
    const SERIES: [f64; TERMS] = {
        let power = super::DENSITY_POWER;
        let mut series = [1.0; TERMS];
        let mut k = 1;
        while k < TERMS {
            series[k] = series[k - 1] * (power - (k as f64 - 1.0)) / k as f64;
            k += 1;
        }
        series
    };
    const SINGLE: [f64; 6] = [
        SERIES[0], SERIES[1], SERIES[2], SERIES[3], SERIES[4], SERIES[5],
    ];
    polynomial!(R, x, SERIES, SINGLE)
}

#[cfg(test)]
mod tests;
