//! Registers of x86-64 processors with AVX2 or AVX-512: the only file with unsafe code.
//!
//! Nothing outside [`super`] can name these types, and [`super::Width`] hands work to them only where the processor has said that it
//! has the instructions ([`Width::is_here`](super::Width::is_here)). That is what every `unsafe` below rests on; what else one
//! needs stands beside it.
#![allow(unsafe_code)]
#![allow(clippy::undocumented_unsafe_blocks)]

use super::number::Lanes;
use super::register::{Job, Register};
use std::arch::x86_64::*;

macro_rules! register {
    (
        $(#[$meta:meta])* $name:ident($raw:ident), $float:ty, $width:expr, $single:expr, features $features:literal,
        mask $mask:ty, reached $reached:ty,
        $set1:ident $load:ident $add:ident $sub:ident $mul:ident $div:ident $fused:ident $sqrt:ident $max:ident $min:ident,
        abs |$abs_of:ident| $abs:expr,
        nearest |$nearest_of:ident| $nearest:expr,
        power |$power_of:ident, $power_k:ident| $power:expr,
        split |$split_of:ident| $split:expr,
        less |$less_a:ident, $less_b:ident| $less:expr,
        select |$select_mask:ident, $yes:ident, $no:ident| $select:expr,
        bits |$bits_of:ident| $bits:expr,
        start $start:expr,
        count |$count:ident, $under:ident| $one_more:expr,
        gather |$index:ident, $pointer:ident| $gather:expr
    ) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug)]
        #[repr(transparent)]
        pub struct $name($raw);

        impl Register for $name {
            const WIDTH: usize = $width;
            const SINGLE: bool = $single;
            type Mask = $mask;
            /// Offsets into values laid out lane by lane, and how far they can go.
            type Reached = ($reached, usize);

            #[inline(always)]
            fn splat(value: f64) -> Self {
                unsafe { $name($set1(value as $float)) }
            }
            #[inline(always)]
            #[allow(clippy::unnecessary_cast)]
            fn build(mut of: impl FnMut(usize) -> f64) -> Self {
                let row: [$float; $width] = std::array::from_fn(|lane| of(lane) as $float);
                // The row is as long as the register.
                unsafe { $name($load(row.as_ptr())) }
            }
            #[inline(always)]
            #[allow(clippy::unnecessary_cast)]
            fn lane(self, lane: usize) -> f64 {
                assert!(lane < $width);
                // A register is its numbers in a row.
                unsafe { (&raw const self.0).cast::<$float>().add(lane).read() as f64 }
            }
            #[inline(always)]
            fn put(&mut self, lane: usize, value: f64) {
                assert!(lane < $width);
                unsafe { (&raw mut self.0).cast::<$float>().add(lane).write(value as $float) };
            }
            #[inline(always)]
            fn add(self, other: Self) -> Self {
                unsafe { $name($add(self.0, other.0)) }
            }
            #[inline(always)]
            fn sub(self, other: Self) -> Self {
                unsafe { $name($sub(self.0, other.0)) }
            }
            #[inline(always)]
            fn mul(self, other: Self) -> Self {
                unsafe { $name($mul(self.0, other.0)) }
            }
            #[inline(always)]
            fn div(self, other: Self) -> Self {
                unsafe { $name($div(self.0, other.0)) }
            }
            #[inline(always)]
            fn neg(self) -> Self {
                unsafe { $name($sub($set1(-0.0), self.0)) }
            }
            #[inline(always)]
            fn fused(self, factor: Self, term: Self) -> Self {
                unsafe { $name($fused(self.0, factor.0, term.0)) }
            }
            #[inline(always)]
            fn sqrt(self) -> Self {
                unsafe { $name($sqrt(self.0)) }
            }
            #[inline(always)]
            fn abs(self) -> Self {
                let $abs_of = self.0;
                unsafe { $name($abs) }
            }
            #[inline(always)]
            fn larger(self, other: Self) -> Self {
                // The second argument is what comes out where either is not a number.
                unsafe { $name($max(other.0, self.0)) }
            }
            #[inline(always)]
            fn smaller(self, other: Self) -> Self {
                unsafe { $name($min(other.0, self.0)) }
            }
            #[inline(always)]
            fn nearest(self) -> Self {
                let $nearest_of = self.0;
                unsafe { $name($nearest) }
            }
            #[inline(always)]
            fn times_power_of_two(self, k: Self) -> Self {
                let ($power_of, $power_k) = (self.0, k.0);
                unsafe { $name($power) }
            }
            #[inline(always)]
            fn mantissa_and_exponent(self) -> (Self, Self) {
                let $split_of = self.0;
                let (mantissa, exponent) = unsafe { $split };
                ($name(mantissa), $name(exponent))
            }
            #[inline(always)]
            fn less(self, other: Self) -> Self::Mask {
                let ($less_a, $less_b) = (self.0, other.0);
                unsafe { $less }
            }
            #[inline(always)]
            fn select(mask: Self::Mask, yes: Self, no: Self) -> Self {
                let ($select_mask, $yes, $no) = (mask, yes.0, no.0);
                unsafe { $name($select) }
            }
            #[inline(always)]
            fn bits(mask: Self::Mask) -> u32 {
                let $bits_of = mask;
                #[allow(unused_unsafe)]
                unsafe { $bits }
            }
            #[inline(always)]
            fn reached(self, knots: &[Lanes<Self>]) -> Self::Reached {
                let mut $count = unsafe { $start };
                for knot in knots {
                    let $under = self.less(knot.0);
                    $count = unsafe { $one_more };
                }
                ($count, knots.len())
            }
            #[inline(always)]
            fn pick(values: &[Lanes<Self>], reached: Self::Reached) -> Self {
                assert!(reached.1 < values.len(), "as many values as could be reached and one more");
                let ($index, $pointer) = (reached.0, values.as_ptr().cast());
                // No lane has reached more knots than `reached.1`, so every offset lies inside the values.
                unsafe { $name($gather) }
            }
            fn run<J: Job>(job: J) -> J::Output {
                #[target_feature(enable = $features)]
                #[inline(never)]
                fn compiled<J: Job>(job: J) -> J::Output {
                    job.run()
                }
                unsafe { compiled(job) }
            }
        }
    };
}

/// 2^52 + 2^51: added to a whole number it leaves that number in the lowest bits.
const WHOLE: f64 = 6_755_399_441_055_744.0;
/// The same for 24 bits, 2^23 + 2^22.
const WHOLE_SINGLE: f32 = 12_582_912.0;

register! {
    /// Four numbers of 53 bits.
    Four(__m256d), f64, 4, false, features "avx2,fma",
    mask __m256d, reached __m256i,
    _mm256_set1_pd _mm256_loadu_pd _mm256_add_pd _mm256_sub_pd _mm256_mul_pd _mm256_div_pd _mm256_fmadd_pd _mm256_sqrt_pd _mm256_max_pd _mm256_min_pd,
    abs |x| _mm256_andnot_pd(_mm256_set1_pd(-0.0), x),
    nearest |x| _mm256_round_pd::<{ _MM_FROUND_TO_NEAREST_INT | _MM_FROUND_NO_EXC }>(x),
    power |x, k| {
        let k = _mm256_castpd_si256(_mm256_add_pd(k, _mm256_set1_pd(WHOLE)));
        let bits = _mm256_slli_epi64::<52>(_mm256_add_epi64(k, _mm256_set1_epi64x(1023)));
        _mm256_mul_pd(x, _mm256_castsi256_pd(bits))
    },
    split |x| {
        let bits = _mm256_castpd_si256(x);
        let fraction = _mm256_and_si256(bits, _mm256_set1_epi64x((1 << 52) - 1));
        let mantissa = _mm256_or_si256(fraction, _mm256_castpd_si256(_mm256_set1_pd(1.0)));
        let exponent = _mm256_or_si256(_mm256_srli_epi64::<52>(bits), _mm256_castpd_si256(_mm256_set1_pd(4_503_599_627_370_496.0)));
        let exponent = _mm256_sub_pd(_mm256_castsi256_pd(exponent), _mm256_set1_pd(4_503_599_627_370_496.0 + 1023.0));
        (_mm256_castsi256_pd(mantissa), exponent)
    },
    less |a, b| _mm256_cmp_pd::<_CMP_LT_OQ>(a, b),
    select |mask, yes, no| _mm256_blendv_pd(no, yes, mask),
    bits |mask| _mm256_movemask_pd(mask) as u32,
    start _mm256_setr_epi64x(0, 1, 2, 3),
    count |count, under| _mm256_add_epi64(count, _mm256_andnot_si256(_mm256_castpd_si256(under), _mm256_set1_epi64x(4))),
    gather |index, pointer| _mm256_i64gather_pd::<8>(pointer, index)
}

register! {
    /// Eight numbers of 53 bits.
    Eight(__m512d), f64, 8, false, features "avx512f,avx2,fma",
    mask __mmask8, reached __m512i,
    _mm512_set1_pd _mm512_loadu_pd _mm512_add_pd _mm512_sub_pd _mm512_mul_pd _mm512_div_pd _mm512_fmadd_pd _mm512_sqrt_pd _mm512_max_pd _mm512_min_pd,
    abs |x| _mm512_abs_pd(x),
    nearest |x| _mm512_roundscale_pd::<{ _MM_FROUND_TO_NEAREST_INT | _MM_FROUND_NO_EXC }>(x),
    power |x, k| _mm512_scalef_pd(x, k),
    split |x| {
        let bits = _mm512_castpd_si512(x);
        let fraction = _mm512_and_si512(bits, _mm512_set1_epi64((1 << 52) - 1));
        let mantissa = _mm512_or_si512(fraction, _mm512_castpd_si512(_mm512_set1_pd(1.0)));
        let exponent = _mm512_or_si512(_mm512_srli_epi64::<52>(bits), _mm512_castpd_si512(_mm512_set1_pd(4_503_599_627_370_496.0)));
        let exponent = _mm512_sub_pd(_mm512_castsi512_pd(exponent), _mm512_set1_pd(4_503_599_627_370_496.0 + 1023.0));
        (_mm512_castsi512_pd(mantissa), exponent)
    },
    less |a, b| _mm512_cmp_pd_mask::<_CMP_LT_OQ>(a, b),
    select |mask, yes, no| _mm512_mask_blend_pd(mask, no, yes),
    bits |mask| u32::from(mask),
    start _mm512_setr_epi64(0, 1, 2, 3, 4, 5, 6, 7),
    count |count, under| _mm512_mask_add_epi64(count, !under, count, _mm512_set1_epi64(8)),
    gather |index, pointer| _mm512_i64gather_pd::<8>(index, pointer)
}

register! {
    /// Eight numbers of 24 bits.
    EightSingle(__m256), f32, 8, true, features "avx2,fma",
    mask __m256, reached __m256i,
    _mm256_set1_ps _mm256_loadu_ps _mm256_add_ps _mm256_sub_ps _mm256_mul_ps _mm256_div_ps _mm256_fmadd_ps _mm256_sqrt_ps _mm256_max_ps _mm256_min_ps,
    abs |x| _mm256_andnot_ps(_mm256_set1_ps(-0.0), x),
    nearest |x| _mm256_round_ps::<{ _MM_FROUND_TO_NEAREST_INT | _MM_FROUND_NO_EXC }>(x),
    power |x, k| {
        let k = _mm256_castps_si256(_mm256_add_ps(k, _mm256_set1_ps(WHOLE_SINGLE)));
        let bits = _mm256_slli_epi32::<23>(_mm256_add_epi32(k, _mm256_set1_epi32(127)));
        _mm256_mul_ps(x, _mm256_castsi256_ps(bits))
    },
    split |x| {
        let bits = _mm256_castps_si256(x);
        let fraction = _mm256_and_si256(bits, _mm256_set1_epi32((1 << 23) - 1));
        let mantissa = _mm256_or_si256(fraction, _mm256_castps_si256(_mm256_set1_ps(1.0)));
        let exponent = _mm256_cvtepi32_ps(_mm256_srli_epi32::<23>(bits));
        (_mm256_castsi256_ps(mantissa), _mm256_sub_ps(exponent, _mm256_set1_ps(127.0)))
    },
    less |a, b| _mm256_cmp_ps::<_CMP_LT_OQ>(a, b),
    select |mask, yes, no| _mm256_blendv_ps(no, yes, mask),
    bits |mask| _mm256_movemask_ps(mask) as u32,
    start _mm256_setr_epi32(0, 1, 2, 3, 4, 5, 6, 7),
    count |count, under| _mm256_add_epi32(count, _mm256_andnot_si256(_mm256_castps_si256(under), _mm256_set1_epi32(8))),
    gather |index, pointer| _mm256_i32gather_ps::<4>(pointer, index)
}

register! {
    /// Sixteen numbers of 24 bits.
    SixteenSingle(__m512), f32, 16, true, features "avx512f,avx2,fma",
    mask __mmask16, reached __m512i,
    _mm512_set1_ps _mm512_loadu_ps _mm512_add_ps _mm512_sub_ps _mm512_mul_ps _mm512_div_ps _mm512_fmadd_ps _mm512_sqrt_ps _mm512_max_ps _mm512_min_ps,
    abs |x| _mm512_abs_ps(x),
    nearest |x| _mm512_roundscale_ps::<{ _MM_FROUND_TO_NEAREST_INT | _MM_FROUND_NO_EXC }>(x),
    power |x, k| _mm512_scalef_ps(x, k),
    split |x| {
        let bits = _mm512_castps_si512(x);
        let fraction = _mm512_and_si512(bits, _mm512_set1_epi32((1 << 23) - 1));
        let mantissa = _mm512_or_si512(fraction, _mm512_castps_si512(_mm512_set1_ps(1.0)));
        let exponent = _mm512_cvtepi32_ps(_mm512_srli_epi32::<23>(bits));
        (_mm512_castsi512_ps(mantissa), _mm512_sub_ps(exponent, _mm512_set1_ps(127.0)))
    },
    less |a, b| _mm512_cmp_ps_mask::<_CMP_LT_OQ>(a, b),
    select |mask, yes, no| _mm512_mask_blend_ps(mask, no, yes),
    bits |mask| u32::from(mask),
    start _mm512_setr_epi32(0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15),
    count |count, under| _mm512_mask_add_epi32(count, !under, count, _mm512_set1_epi32(16)),
    gather |index, pointer| _mm512_i32gather_ps::<4>(index, pointer)
}
