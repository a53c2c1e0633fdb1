//! Small motions about level flight, and the library's own way to them.
//!
//! The textbook's assumptions are switched on: no stall, one density, thrust that balances the drag and does not
//! depend on speed. Where lift and weight of the textbook's round numbers differ (1 %), the small residual
//! acceleration is left out.

use nalgebra::{Complex, DMatrix, Vector3, Vector4};
use sim_core::air::Air;
use sim_core::modes::linearise;
use sim_core::segment::Segment;
use sim_core::state::State;
use sim_core::vehicle::Vehicle;
use tossline_tests::known::falling_ball::FOOT_M;
use tossline_tests::known::linearise::DualModel;
use tossline_tests::known::power::constant_thrust;
use tossline_tests::known::textbook::{
    BOEING_747_DENSITY_SLUG_FT3, BOEING_747_SPEED_M_S, boeing_747_from_derivatives, navion,
    navion_drag, textbook_air,
};
use tossline_tests::published::Table;

/// Rows and columns `keep` of the motions about level flight along body x, with a thrust equal to the drag `drag_n`.
pub fn matrix(
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
pub fn miss(roots: &[Complex<f64>], published: Complex<f64>) -> f64 {
    roots
        .iter()
        .map(|root| (root - published).norm() / published.norm())
        .fold(f64::INFINITY, f64::min)
}

pub fn roots(matrix: &DMatrix<f64>) -> Vec<Complex<f64>> {
    matrix.complex_eigenvalues().iter().copied().collect()
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
        &boeing_747_from_derivatives(),
        &textbook_air(BOEING_747_DENSITY_SLUG_FT3),
        BOEING_747_SPEED_M_S,
        0.0,
        &[
            ("spiral", spiral[0], spiral[1]),
            ("roll subsidence", roll[0], roll[1]),
            ("Dutch roll", dutch[0], dutch[1]),
        ],
    );
}
