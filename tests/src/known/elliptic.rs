//! Jacobi's elliptic functions by the arithmetic-geometric mean (Abramowitz & Stegun 16.4 and 17.6, from memory).

use std::f64::consts::FRAC_PI_2;

const MOST_HALVINGS: usize = 12;

/// Complete elliptic integral of the first kind K(m) of the parameter m = k², 0 ≤ m < 1.
pub fn quarter_period(m: f64) -> f64 {
    let (mut a, mut b) = (1.0, (1.0 - m).sqrt());
    while (a - b).abs() > 1e-16 {
        (a, b) = ((a + b) / 2.0, (a * b).sqrt());
        if a - b < 1e-15 {
            break;
        }
    }
    FRAC_PI_2 / a
}

/// (sn, cn, dn) of the argument u and the parameter m = k², 0 < m < 1.
pub fn jacobi(u: f64, m: f64) -> (f64, f64, f64) {
    let mut means = vec![(1.0_f64, m.sqrt())];
    let (mut a, mut b) = (1.0_f64, (1.0 - m).sqrt());
    while means.len() < MOST_HALVINGS && means[means.len() - 1].1 > 1e-17 {
        let c = (a - b) / 2.0;
        (a, b) = ((a + b) / 2.0, (a * b).sqrt());
        means.push((a, c));
    }
    let n = means.len() - 1;
    let mut phase = 2.0_f64.powi(n as i32) * a * u;
    for &(mean, difference) in means[1..].iter().rev() {
        phase = (phase + (difference / mean * phase.sin()).asin()) / 2.0;
    }
    let (sn, cn) = phase.sin_cos();
    (sn, cn, (1.0 - m * sn * sn).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    // Abramowitz & Stegun table 17.1 and example 16.x (from memory): K(0.5) = 1.854074677; sn(0.2 | 0.81) = 0.19762,
    // cn = 0.98028.
    #[test]
    fn agrees_with_the_handbook() {
        assert!((quarter_period(0.5) - 1.854_074_677).abs() < 1e-9);
        let (sn, cn, dn) = jacobi(0.2, 0.81);
        assert!(
            (sn - 0.19762).abs() < 1e-5 && (cn - 0.98028).abs() < 1e-5,
            "{sn} {cn}"
        );
        assert!((dn * dn + 0.81 * sn * sn - 1.0).abs() < 1e-14);
    }

    // The defining differential equation d sn/du = cn dn, and one quarter period.
    #[test]
    fn solves_its_differential_equation() {
        let (m, h) = (0.335_898_037, 1e-5);
        for i in 0..40 {
            let u = 0.3 * f64::from(i);
            let slope = (jacobi(u + h, m).0 - jacobi(u - h, m).0) / (2.0 * h);
            let (_, cn, dn) = jacobi(u, m);
            assert!((slope - cn * dn).abs() < 1e-9);
        }
        assert!((jacobi(quarter_period(m), m).0 - 1.0).abs() < 1e-14);
    }
}
