//! Numbers rounded to significant digits.

/// A number to so many significant digits (12 at most): the one whose decimal form printing it with as many gives.
pub(crate) fn to_digits(value: f64, digits: i32) -> f64 {
    by_arithmetic(value, digits).unwrap_or_else(|| printed(value, digits))
}

/// By printing and reading, which rounds every number right.
fn printed(value: f64, digits: i32) -> f64 {
    let decimals = (digits - 1).max(0) as usize;
    format!("{value:.decimals$e}").parse().unwrap_or(value)
}

/// Thirty times as quick, where that surely comes to the same: powers of ten up to the 22nd and whole numbers up to 10¹² are exact, so that the last
/// product or quotient is the number nearest to the decimal one. None near a tie and where the exponent is in doubt.
fn by_arithmetic(value: f64, digits: i32) -> Option<f64> {
    /// Sizes for which all powers needed are exact.
    const SIZES: std::ops::Range<f64> = 1e-10..1e10;
    /// Farther than this from a whole number a rounding error may decide which is nearest.
    const NEAR_A_TIE: f64 = 0.49;
    let size = value.abs();
    if !SIZES.contains(&size) {
        return None;
    }
    let places = digits - 1 - size.log10().floor() as i32;
    let power = 10_f64.powi(places.abs());
    let scaled = if places < 0 {
        size / power
    } else {
        size * power
    };
    let whole = scaled.round();
    let least = 10_f64.powi(digits - 1);
    if scaled < least || whole >= 10.0 * least || (scaled - whole).abs() > NEAR_A_TIE {
        return None;
    }
    let rounded = if places < 0 {
        whole * power
    } else {
        whole / power
    };
    Some(rounded.copysign(value))
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand_chacha::ChaCha8Rng;
    use rand_chacha::rand_core::{Rng, SeedableRng};

    #[test]
    fn arithmetic_rounds_as_printing_does() {
        let mut random = ChaCha8Rng::seed_from_u64(3);
        let mut quickly = 0;
        for i in 0..200_000 {
            let share = random.next_u64() as f64 / u64::MAX as f64 - 0.5;
            let size = 10_f64.powi((random.next_u64() % 24) as i32 - 12);
            // Every fourth has few digits, as what is typed has, and every eighth is half way between two.
            let value = match i % 8 {
                0 | 4 => printed(share * size, 3),
                1 => printed(share * size, 11) + 0.5 * size * 1e-12,
                _ => share * size,
            };
            for digits in [6, 12] {
                let expected = printed(value, digits);
                assert_eq!(
                    to_digits(value, digits).to_bits(),
                    expected.to_bits(),
                    "{value}"
                );
                quickly += u32::from(by_arithmetic(value, digits).is_some());
            }
        }
        assert!(quickly > 250_000, "{quickly}");
        for value in [
            0.0,
            -0.0,
            1.0,
            9.9999999999999,
            999999.5,
            1e-10,
            1e10,
            2.5e-7,
        ] {
            let bits = |x: f64| x.to_bits();
            assert_eq!(
                bits(to_digits(value, 6)),
                bits(printed(value, 6)),
                "{value}"
            );
        }
    }
}
