//! The embedded pair of Tsitouras with its interpolant (MODEL.md § 28.4).
//!
//! Source: Ch. Tsitouras, Runge-Kutta pairs of order 5(4) satisfying only the first column simplifying assumption, Comput. Math. Appl. 62
//! (2011) 770, table 1 and the continuous extension after it; from memory. The tests check the digits by the conditions of order.

// The digits are those of the source.
#![allow(clippy::excessive_precision)]

/// Stages of a step; the last is the first of the next.
pub const STAGES: usize = 7;

/// When each stage is taken, as a share of the step.
pub const TIMES: [f64; STAGES] = [0.0, 0.161, 0.327, 0.9, 0.980_025_540_904_509_7, 1.0, 1.0];

/// What of the earlier slopes goes into each stage. The last row is the result of order 5.
pub const WEIGHTS: [[f64; 6]; STAGES] = [
    [0.0; 6],
    [0.161, 0.0, 0.0, 0.0, 0.0, 0.0],
    [
        -0.008_480_655_492_356_989,
        0.335_480_655_492_357,
        0.0,
        0.0,
        0.0,
        0.0,
    ],
    [
        2.897_153_057_105_493_5,
        -6.359_448_489_975_075,
        4.362_295_432_869_581_5,
        0.0,
        0.0,
        0.0,
    ],
    [
        5.325_864_828_439_257,
        -11.748_883_564_062_828,
        7.495_539_342_889_836_5,
        -0.092_495_066_361_755_25,
        0.0,
        0.0,
    ],
    [
        5.861_455_442_946_42,
        -12.920_969_317_847_11,
        8.159_367_898_576_159,
        -0.071_584_973_281_401,
        -0.028_269_050_394_068_383,
        0.0,
    ],
    [
        0.096_460_766_818_065_23,
        0.01,
        0.479_889_650_414_499_6,
        1.379_008_574_103_742,
        -3.290_069_515_436_081,
        2.324_710_524_099_774,
    ],
];

/// Result of order 5 less that of order 4, of each slope.
pub const ERROR: [f64; STAGES] = [
    -0.001_780_011_052_225_777,
    -0.000_816_434_459_656_746_9,
    0.007_880_878_010_261_995,
    -0.144_711_007_173_262_9,
    0.582_357_165_452_555_2,
    -0.458_082_105_929_186_97,
    1.0 / 66.0,
];

/// Powers of the share of the step in the interpolant of order 4: row i is b_i(θ) = Σ_p row[p] θ^(p+1).
pub const INTERPOLANT: [[f64; 4]; STAGES] = [
    // −1.0530884977290216 θ (θ − 1.3299890189751412)(θ² − 1.4364028541716351 θ + 0.7139816917074209)
    product(
        -1.053_088_497_729_021_6,
        1.329_989_018_975_141_2,
        1.436_402_854_171_635_1,
        0.713_981_691_707_420_9,
    ),
    square(0.1017, 2.196_656_833_824_975_4, 1.294_985_250_737_463_1),
    square(
        2.490_627_285_651_252_8,
        2.385_356_454_720_616_6,
        1.578_034_682_080_924_9,
    ),
    roots(
        -16.548_102_889_244_902,
        1.217_129_272_955_332_4,
        0.616_204_060_378_000_9,
    ),
    roots(
        47.379_521_962_819_28,
        1.203_071_208_372_362_6,
        0.658_047_292_653_547_4,
    ),
    roots(-34.870_657_861_496_61, 1.2, 2.0 / 3.0),
    roots(2.5, 1.0, 0.6),
];

/// s θ² (θ² − a θ + b).
const fn square(s: f64, a: f64, b: f64) -> [f64; 4] {
    [0.0, s * b, -s * a, s]
}

/// s θ² (θ − a)(θ − b).
const fn roots(s: f64, a: f64, b: f64) -> [f64; 4] {
    square(s, a + b, a * b)
}

/// s θ (θ − a)(θ² − b θ + c).
const fn product(s: f64, a: f64, b: f64, c: f64) -> [f64; 4] {
    [-s * a * c, s * (c + a * b), -s * (a + b), s]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Σ b_i Φ_i − 1/γ over the rooted trees up to order 5, b at a share of the step: E. Hairer, S. Nørsett, G. Wanner, Solving Ordinary
    /// Differential Equations I, II.2, table 2.2 (from memory).
    fn residuals(b: &[f64; STAGES], theta: f64, order: i32) -> f64 {
        let (c, a) = (&TIMES, &WEIGHTS);
        let apply = |x: &[f64; STAGES]| -> [f64; STAGES] {
            std::array::from_fn(|i| (0..6).map(|j| a[i][j] * x[j]).sum())
        };
        let times = |x: &[f64; STAGES], y: &[f64; STAGES]| -> [f64; STAGES] {
            std::array::from_fn(|i| x[i] * y[i])
        };
        let power = |n: i32| -> [f64; STAGES] { std::array::from_fn(|i| c[i].powi(n)) };
        let ac = apply(c);
        let trees: [(i32, [f64; STAGES], f64); 17] = [
            (1, [1.0; STAGES], 1.0),
            (2, *c, 2.0),
            (3, power(2), 3.0),
            (3, ac, 6.0),
            (4, power(3), 4.0),
            (4, times(c, &ac), 8.0),
            (4, apply(&power(2)), 12.0),
            (4, apply(&ac), 24.0),
            (5, power(4), 5.0),
            (5, times(&power(2), &ac), 10.0),
            (5, times(c, &apply(&power(2))), 15.0),
            (5, times(c, &apply(&ac)), 30.0),
            (5, times(&ac, &ac), 20.0),
            (5, apply(&power(3)), 20.0),
            (5, apply(&times(c, &ac)), 40.0),
            (5, apply(&apply(&power(2))), 60.0),
            (5, apply(&apply(&ac)), 120.0),
        ];
        trees
            .iter()
            .filter(|tree| tree.0 <= order)
            .map(|(order, phi, gamma)| {
                let sum: f64 = b.iter().zip(phi).map(|(b, phi)| b * phi).sum();
                (sum - theta.powi(*order) / gamma).abs()
            })
            .fold(0.0, f64::max)
    }

    fn result() -> [f64; STAGES] {
        std::array::from_fn(|i| if i < 6 { WEIGHTS[6][i] } else { 0.0 })
    }

    #[test]
    fn the_result_has_order_five_and_the_other_order_four() {
        assert!(residuals(&result(), 1.0, 5) < 2e-14);
        let (better, error) = (result(), ERROR);
        let lower: [f64; STAGES] = std::array::from_fn(|i| better[i] - error[i]);
        assert!(residuals(&lower, 1.0, 4) < 2e-14);
        assert!(residuals(&lower, 1.0, 5) > 1e-5, "it must not be as good");
    }

    #[test]
    fn the_interpolant_has_order_four_all_along_and_meets_the_result() {
        for theta in [0.0, 0.1, 0.37, 0.5, 0.82, 1.0] {
            let b: [f64; STAGES] = std::array::from_fn(|i| {
                let row = &INTERPOLANT[i];
                theta * (row[0] + theta * (row[1] + theta * (row[2] + theta * row[3])))
            });
            assert!(
                residuals(&b, theta, 4) < 1e-13,
                "{theta}: {}",
                residuals(&b, theta, 4)
            );
            if theta == 1.0 {
                let meets = b
                    .iter()
                    .zip(result())
                    .all(|(b, end)| (b - end).abs() < 1e-13);
                assert!(meets, "{b:?}");
            }
        }
    }
}
