//! The Navion's longitudinal motion: Nelson, Flight Stability and Automatic Control, 2nd ed., example 4.3 (from
//! memory).

use super::modes::{matrix, miss, roots};
use nalgebra::Complex;
use tossline_tests::known::falling_ball::FOOT_M;
use tossline_tests::known::textbook::{GRAVITY_FT_S2, navion, navion_drag, textbook_air};
use tossline_tests::published::Table;

// Roots of example 4.3: phugoid −0.0171 ± 0.213i, short period −2.51 ± 2.59i 1/s, from the derivatives (the printed
// matrix is rounded and gives roots 1 % away).
#[test]
fn the_navion_has_its_published_phugoid_and_short_period() {
    let found = roots(&matrix(
        &navion(),
        &textbook_air(0.002378),
        176.0 * FOOT_M,
        navion_drag(),
        [0, 2, 4, 7],
    ));
    let published = Table::read("navion_modes").rows(["real_1_s", "imaginary_1_s"]);
    assert_eq!(published.len(), 2);
    for [real, imaginary] in published {
        let miss = miss(&found, Complex::new(real, imaginary));
        assert!(miss < 0.005, "{real} {imaginary}: {miss:.5} from {found:?}");
        let nearest = found
            .iter()
            .min_by(|a, b| {
                (*a - Complex::new(real, imaginary))
                    .norm()
                    .total_cmp(&(*b - Complex::new(real, imaginary)).norm())
            })
            .unwrap();
        assert!((nearest.re / real - 1.0).abs() < 0.005, "damping {nearest}");
    }
}

// Same source: X_u −0.04509, X_w 0.03607, Z_u −0.36970, Z_w −2.02433, M_w + M_ẇ Z_w, M_q + M_ẇ u0, M_u = M_ẇ Z_u in
// feet and seconds (worked out by hand from the derivatives with M_w −0.049967, M_ẇ −0.0051652, M_q −2.07668).
#[test]
fn the_navions_matrix_has_the_textbooks_entries() {
    let found = matrix(
        &navion(),
        &textbook_air(0.002378),
        176.0 * FOOT_M,
        navion_drag(),
        [0, 2, 4, 7],
    );
    let (z_u, z_w, m_w, m_w_rate, m_q) = (-0.36970, -2.02433, -0.049967, -0.005_165_2, -2.07668);
    let expected = [
        (0, 0, -0.04509),
        (0, 1, 0.03607),
        (0, 3, -GRAVITY_FT_S2 * FOOT_M),
        (1, 0, z_u),
        (1, 1, z_w),
        (1, 2, 176.0 * FOOT_M),
        (2, 0, m_w_rate * z_u / FOOT_M),
        (2, 1, (m_w + m_w_rate * z_w) / FOOT_M),
        (2, 2, m_q + m_w_rate * 176.0),
        (3, 2, 1.0),
    ];
    for (i, j, expected) in expected {
        assert!(
            (found[(i, j)] / expected - 1.0).abs() < 2e-4,
            "{i} {j}: {} {expected}",
            found[(i, j)]
        );
    }
    for (i, j) in [(0, 2), (1, 3), (2, 3), (3, 0), (3, 1), (3, 3)] {
        assert!(found[(i, j)].abs() < 1e-12, "{i} {j}");
    }
}
