//! Small motions of textbook aircraft through this very model: Navion along, Boeing 747 across.
//!
//! The textbook's assumptions are switched on: no stall, one density, thrust that balances the drag and does not depend on speed.
//! Where lift and weight of the textbook's round numbers differ (1 %), the small residual acceleration is left out.

use nalgebra::{Complex, DMatrix, Matrix3, Vector3, Vector4};
use sim_core::aero::coefficients::Coefficients;
use sim_core::air::Air;
use sim_core::air::atmosphere::Atmosphere;
use sim_core::mass::inertia_tensor;
use sim_core::modes::linearise;
use sim_core::segment::Segment;
use sim_core::state::State;
use sim_core::vehicle::Vehicle;
use tossline_tests::known::aircraft::{body, constant_thrust};
use tossline_tests::known::falling_ball::{FOOT_M, SLUG_FOOT2_KG_M2, SLUG_KG};
use tossline_tests::known::linearise::DualModel;
use tossline_tests::published::Table;

/// The textbooks' gravity, ft/s².
const GRAVITY_FT_S2: f64 = 32.2;

/// Uniform air of a density (slug/ft³) and the textbooks' gravity.
fn textbook_air(density_slug_ft3: f64) -> Air<f64> {
    let mut air = Air::calm();
    air.atmosphere = Atmosphere::constant_density(density_slug_ft3 * SLUG_KG / FOOT_M.powi(3));
    air.gravity.surface_m_s2 = GRAVITY_FT_S2 * FOOT_M;
    air
}

/// Rows and columns `keep` of the motions about level flight along body x, with a thrust equal to the drag `drag_n`.
fn matrix(
    vehicle: &Vehicle<f64>,
    air: &Air<f64>,
    speed_m_s: f64,
    drag_n: f64,
    keep: [usize; 4],
) -> DMatrix<f64> {
    let (engine, rotor) = constant_thrust(drag_n, air.atmosphere.ground_density_kg_m3);
    let mut powered = vehicle.clone();
    powered.motors.push(engine);
    let model = DualModel::of(&powered, air, &Segment::steady(&[0.0], &[]));
    let along = Vector3::new(speed_m_s, 0.0, 0.0);
    let all = model.small_motions(&along, 0.0, 1000.0, [rotor, 0.0]);
    DMatrix::from_fn(4, 4, |i, j| all[(keep[i], keep[j])])
}

/// Distance of a published root to the nearest eigenvalue, over the root's size.
fn miss(roots: &[Complex<f64>], published: Complex<f64>) -> f64 {
    roots
        .iter()
        .map(|root| (root - published).norm() / published.norm())
        .fold(f64::INFINITY, f64::min)
}

fn roots(matrix: &DMatrix<f64>) -> Vec<Complex<f64>> {
    matrix.complex_eigenvalues().iter().copied().collect()
}

/// Navion: Nelson, Flight Stability and Automatic Control, 2nd ed., appendix B (from memory). Z_α̇ = Z_q = 0 as in the example.
fn navion() -> Vehicle<f64> {
    let (lift, drag, lift_alpha, drag_alpha) = (0.41, 0.05, 4.44, 0.33);
    // The polar through C_D with the slope C_Dα: dC_D/dα = 2 K C_L C_Lα.
    let drag_factor = drag_alpha / (2.0 * lift * lift_alpha);
    let table = Coefficients {
        lift_zero: lift,
        lift_alpha,
        drag_min: drag - drag_factor * lift * lift,
        drag_factor,
        pitch_alpha: -0.683,
        pitch_alpha_rate: -4.36,
        pitch_q: -9.96,
        ..Coefficients::none(184.0 * FOOT_M * FOOT_M, 33.4 * FOOT_M, 5.7 * FOOT_M)
    };
    let pitch_inertia = 3000.0 * SLUG_FOOT2_KG_M2;
    body(
        2750.0 / GRAVITY_FT_S2 * SLUG_KG,
        Matrix3::identity() * pitch_inertia,
        table,
    )
}

/// C_D 0.05 at 176 ft/s and sea level, N.
fn navion_drag() -> f64 {
    let pounds = 0.05 * 0.5 * 0.002378 * 176.0 * 176.0 * 184.0;
    pounds * SLUG_KG * FOOT_M
}

// Roots of example 4.3: phugoid −0.0171 ± 0.213i, short period −2.51 ± 2.59i 1/s, from the derivatives (the printed matrix is rounded and gives
// roots 1 % away).
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

// Same source: X_u −0.04509, X_w 0.03607, Z_u −0.36970, Z_w −2.02433, M_w + M_ẇ Z_w, M_q + M_ẇ u0, M_u = M_ẇ Z_u in feet and seconds (worked
// out by hand from the derivatives with M_w −0.049967, M_ẇ −0.0051652, M_q −2.07668).
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

/// Whether the library's own modes about level flight hold one of a name with a published root, within 0.5 %.
fn assert_named(
    vehicle: &Vehicle<f64>,
    air: &Air<f64>,
    speed_m_s: f64,
    drag_n: f64,
    published: &[(&str, f64, f64)],
) {
    let (engine, rotor) = constant_thrust(drag_n, air.atmosphere.ground_density_kg_m3);
    let mut powered = vehicle.clone();
    powered.motors.push(engine);
    let state = State {
        position: Vector3::new(0.0, 0.0, -1000.0),
        attitude: Vector4::new(1.0, 0.0, 0.0, 0.0),
        velocity: Vector3::new(speed_m_s, 0.0, 0.0),
        rates: Vector3::zeros(),
        rotors: [rotor, 0.0],
        charge: 0.0,
    };
    let modes = linearise(&powered, air, &Segment::steady(&[0.0], &[]), &state).modes();
    for &(name, real, imaginary) in published {
        let mode = modes
            .iter()
            .find(|mode| mode.name == name)
            .unwrap_or_else(|| panic!("no {name} among {modes:?}"));
        let found = Complex::new(mode.growth_1_s, mode.damped_frequency_rad_s);
        let published = Complex::new(real, imaginary);
        assert!(
            (found - published).norm() < 0.005 * published.norm(),
            "{mode:?}"
        );
        // Frequency, damping and time to half by their definitions.
        if imaginary > 0.0 {
            assert!((mode.natural_frequency_rad_s().unwrap() - found.norm()).abs() < 1e-12);
            assert!((mode.damping_ratio().unwrap() + found.re / found.norm()).abs() < 1e-12);
            assert!((mode.period_s().unwrap() * found.im - std::f64::consts::TAU).abs() < 1e-9);
        }
        assert!((mode.time_to_half_s().unwrap() * real.abs() / 2.0_f64.ln() - 1.0).abs() < 0.006);
    }
}

// The whole way through the library: linearised, solved and named by it.
#[test]
fn the_library_names_the_published_modes() {
    let roots = |name: &str| Table::read(name).rows(["real_1_s", "imaginary_1_s"]);
    let [phugoid, short] = roots("navion_modes")[..] else {
        panic!("two rows")
    };
    assert_named(
        &navion(),
        &textbook_air(0.002378),
        176.0 * FOOT_M,
        navion_drag(),
        &[
            ("phugoid", phugoid[0], phugoid[1]),
            ("short period", short[0], short[1]),
        ],
    );
    let [spiral, roll, dutch] = roots("boeing_747_lateral_roots")[..] else {
        panic!("three rows")
    };
    assert_named(
        &jumbo_from_derivatives(),
        &textbook_air(JUMBO_DENSITY_SLUG_FT3),
        JUMBO_SPEED_M_S,
        0.0,
        &[
            ("spiral", spiral[0], spiral[1]),
            ("roll subsidence", roll[0], roll[1]),
            ("Dutch roll", dutch[0], dutch[1]),
        ],
    );
}

const JUMBO_SPEED_M_S: f64 = 774.0 * FOOT_M;
/// S (ft²) and b (ft).
const JUMBO_SIZE: [f64; 2] = [5500.0, 195.68];
/// Ixx, Izz, +∫xz dm, slug ft².
const JUMBO_INERTIA: [f64; 3] = [0.183e8, 0.497e8, -0.156e7];
const JUMBO_DENSITY_SLUG_FT3: f64 = 0.000_590_9;
const JUMBO_WEIGHT_LB: f64 = 636_600.0;

fn jumbo(table: Coefficients<f64>) -> Vehicle<f64> {
    let [ixx, izz, xz] = JUMBO_INERTIA.map(|i| i * SLUG_FOOT2_KG_M2);
    let inertia = inertia_tensor(
        Vector3::new(ixx, 0.331e8 * SLUG_FOOT2_KG_M2, izz),
        0.0,
        xz,
        0.0,
    );
    body(JUMBO_WEIGHT_LB / GRAVITY_FT_S2 * SLUG_KG, inertia, table)
}

fn jumbo_table() -> Coefficients<f64> {
    let [area, span] = JUMBO_SIZE;
    Coefficients::none(area * FOOT_M * FOOT_M, span * FOOT_M, 27.31 * FOOT_M)
}

/// Boeing 747 at 40 000 ft and Mach 0.8: nondimensional derivatives of Etkin & Reid, 3rd ed., table of the example (from memory).
fn jumbo_from_derivatives() -> Vehicle<f64> {
    jumbo(Coefficients {
        side_beta: -0.8771,
        roll_beta: -0.2797,
        yaw_beta: 0.1946,
        roll_p: -0.3295,
        yaw_p: -0.04073,
        roll_r: 0.304,
        yaw_r: -0.2737,
        ..jumbo_table()
    })
}

/// The published matrix in metres.
fn published_jumbo_matrix() -> DMatrix<f64> {
    let rows = Table::read("boeing_747_lateral_matrix").rows(["v", "p", "r", "phi"]);
    // v is a length per time: its row times feet, its column over feet.
    DMatrix::from_fn(4, 4, |i, j| {
        let row = if i == 0 { FOOT_M } else { 1.0 };
        let column = if j == 0 { FOOT_M } else { 1.0 };
        rows[i][j] * row / column
    })
}

const LATERAL: [usize; 4] = [1, 3, 5, 6];

fn assert_jumbo_roots(vehicle: &Vehicle<f64>, limit: f64) {
    let found = roots(&matrix(
        vehicle,
        &textbook_air(JUMBO_DENSITY_SLUG_FT3),
        JUMBO_SPEED_M_S,
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
    let vehicle = jumbo_from_derivatives();
    let found = matrix(
        &vehicle,
        &textbook_air(JUMBO_DENSITY_SLUG_FT3),
        JUMBO_SPEED_M_S,
        0.0,
        LATERAL,
    );
    let published = published_jumbo_matrix();
    for (found, published) in found.iter().zip(&published) {
        assert!(
            (found - published).abs() <= 0.005 * published.abs() + 1e-12,
            "{found} {published}"
        );
    }
    assert_jumbo_roots(&vehicle, 0.005);
}

// The published matrix in, its roots out: the coefficients are those that have the matrix's derivatives, by undoing Etkin's forms
// A = m⁻¹Y, I⁻¹(L, N) with products +∫xz dm. The published roots are rounded to four or five digits.
#[test]
fn the_747s_published_matrix_gives_its_published_roots() {
    let published = published_jumbo_matrix();
    let [ixx, izz, xz] = JUMBO_INERTIA.map(|i| i * SLUG_FOOT2_KG_M2);
    let table = jumbo_table();
    let density = JUMBO_DENSITY_SLUG_FT3 * SLUG_KG / FOOT_M.powi(3);
    let mass = JUMBO_WEIGHT_LB / GRAVITY_FT_S2 * SLUG_KG;
    let half = 0.5 * density * JUMBO_SPEED_M_S * table.area;
    let moments = |column: usize| {
        let (roll, yaw) = (published[(1, column)], published[(2, column)]);
        (ixx * roll - xz * yaw, izz * yaw - xz * roll)
    };
    let (l_v, n_v) = moments(0);
    let (l_p, n_p) = moments(1);
    let (l_r, n_r) = moments(2);
    let (b, rate) = (table.span, half * table.span * table.span / 2.0);
    let vehicle = jumbo(Coefficients {
        side_beta: published[(0, 0)] * mass / half,
        roll_beta: l_v / (half * b),
        yaw_beta: n_v / (half * b),
        roll_p: l_p / rate,
        yaw_p: n_p / rate,
        roll_r: l_r / rate,
        yaw_r: n_r / rate,
        ..table
    });
    assert_jumbo_roots(&vehicle, 2e-5);
}
