//! The Boeing 747's lateral motion: Etkin & Reid, Dynamics of Flight, 3rd ed., section 6.7 (from memory).

use super::modes::{matrix, miss, roots};
use nalgebra::{Complex, DMatrix};
use sim_core::aero::coefficients::Coefficients;
use sim_core::vehicle::Vehicle;
use tossline_tests::known::falling_ball::{FOOT_M, SLUG_FOOT2_KG_M2, SLUG_KG};
use tossline_tests::known::textbook::{
    BOEING_747_DENSITY_SLUG_FT3, BOEING_747_INERTIA, BOEING_747_SPEED_M_S, BOEING_747_WEIGHT_LB,
    GRAVITY_FT_S2, boeing_747, boeing_747_from_derivatives, boeing_747_table, textbook_air,
};
use tossline_tests::published::Table;

/// The published matrix in metres.
fn published_boeing_747_matrix() -> DMatrix<f64> {
    let rows = Table::read("boeing_747_lateral_matrix").rows(["v", "p", "r", "phi"]);
    // v is a length per time: its row times feet, its column over feet.
    DMatrix::from_fn(4, 4, |i, j| {
        let row = if i == 0 { FOOT_M } else { 1.0 };
        let column = if j == 0 { FOOT_M } else { 1.0 };
        rows[i][j] * row / column
    })
}

const LATERAL: [usize; 4] = [1, 3, 5, 6];

fn assert_boeing_747_roots(vehicle: &Vehicle<f64>, limit: f64) {
    let found = roots(&matrix(
        vehicle,
        &textbook_air(BOEING_747_DENSITY_SLUG_FT3),
        BOEING_747_SPEED_M_S,
        0.0,
        LATERAL,
    ));
    let published = Table::read("boeing_747_lateral_roots").rows(["real_1_s", "imaginary_1_s"]);
    assert_eq!(published.len(), 3);
    for [real, imaginary] in published {
        let miss = miss(&found, Complex::new(real, imaginary));
        assert!(miss < limit, "{real} {imaginary}: {miss:.5} from {found:?}");
    }
}

// Derivatives in, matrix and roots out. The derivatives and inertias have three or four digits, hence up to 0.5 %.
#[test]
fn the_747s_derivatives_give_its_published_matrix_and_roots() {
    let vehicle = boeing_747_from_derivatives();
    let found = matrix(
        &vehicle,
        &textbook_air(BOEING_747_DENSITY_SLUG_FT3),
        BOEING_747_SPEED_M_S,
        0.0,
        LATERAL,
    );
    let published = published_boeing_747_matrix();
    for (found, published) in found.iter().zip(&published) {
        assert!(
            (found - published).abs() <= 0.005 * published.abs() + 1e-12,
            "{found} {published}"
        );
    }
    assert_boeing_747_roots(&vehicle, 0.005);
}

// The published matrix in, its roots out: the coefficients are those that have the matrix's derivatives, by undoing
// Etkin's forms A = m⁻¹Y, I⁻¹(L, N) with products +∫xz dm. The published roots are rounded to four or five digits.
#[test]
fn the_747s_published_matrix_gives_its_published_roots() {
    let published = published_boeing_747_matrix();
    let [ixx, izz, xz] = BOEING_747_INERTIA.map(|i| i * SLUG_FOOT2_KG_M2);
    let table = boeing_747_table();
    let density = BOEING_747_DENSITY_SLUG_FT3 * SLUG_KG / FOOT_M.powi(3);
    let mass = BOEING_747_WEIGHT_LB / GRAVITY_FT_S2 * SLUG_KG;
    let half = 0.5 * density * BOEING_747_SPEED_M_S * table.area;
    let moments = |column: usize| {
        let (roll, yaw) = (published[(1, column)], published[(2, column)]);
        (ixx * roll - xz * yaw, izz * yaw - xz * roll)
    };
    let (l_v, n_v) = moments(0);
    let (l_p, n_p) = moments(1);
    let (l_r, n_r) = moments(2);
    let (b, rate) = (table.span, half * table.span * table.span / 2.0);
    let vehicle = boeing_747(Coefficients {
        side_beta: published[(0, 0)] * mass / half,
        roll_beta: l_v / (half * b),
        yaw_beta: n_v / (half * b),
        roll_p: l_p / rate,
        yaw_p: n_p / rate,
        roll_r: l_r / rate,
        yaw_r: n_r / rate,
        ..table
    });
    assert_boeing_747_roots(&vehicle, 2e-5);
}
