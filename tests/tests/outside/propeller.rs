//! Propellers: measured tables in, thrust and torque out; the actuator disc as the bound nobody beats.
//!
//! T = C_T ρ n² D⁴, P = C_P ρ n³ D⁵, J = V/(nD). Actuator disc (Rankine-Froude, from memory): at rest P ≥
//! T^1.5/√(2ρA); moving η ≤ 1/(1 + a), a = (−1 + √(1 + 8 T_c/π))/2, T_c = T/(ρV²D²).

use sim_core::power::propeller::{Propeller, PropellerRow, STOPPED_DEFAULT};
use std::f64::consts::{FRAC_PI_2, PI, TAU};
use tossline_tests::known::power::small_propeller;
use tossline_tests::published::Table;

const DENSITY: f64 = 1.225;
const DIAMETER_M: f64 = 0.2286;
const SPEED_RPM: f64 = 3030.0;

fn row([advance_ratio, thrust_coefficient, power_coefficient]: [f64; 3]) -> PropellerRow {
    PropellerRow {
        advance_ratio,
        thrust_coefficient,
        power_coefficient,
    }
}

fn measured() -> Vec<PropellerRow> {
    Table::read("propeller_da4002_9in_3030rpm")
        .rows(["advance_ratio", "thrust_coefficient", "power_coefficient"])
        .into_iter()
        .map(row)
        .collect()
}

/// The static row measured nearest to 3030 rpm (3280), which the moving table lacks.
fn at_rest() -> PropellerRow {
    row([0.0, 0.130_863, 0.083_443])
}

fn with_rows(rows: &[PropellerRow]) -> Propeller<f64> {
    let rows: Vec<_> = std::iter::once(at_rest())
        .chain(rows.iter().copied())
        .collect();
    Propeller::from_table(DIAMETER_M, &rows, STOPPED_DEFAULT)
}

fn rad_s(rpm: f64) -> f64 {
    rpm * TAU / 60.0
}

// Speed, thrust and torque as worked out beside the published coefficients; speeds have three decimals, hence 1.5e-4
// N and 1.2e-5 N m.
#[test]
fn the_measured_table_gives_thrust_and_torque_at_each_speed() {
    let propeller = with_rows(&measured());
    let rows =
        Table::read("propeller_da4002_9in_3030rpm").rows(["speed_m_s", "thrust_n", "torque_n_m"]);
    assert_eq!(rows.len(), 7);
    for [speed, thrust, torque] in rows {
        let (t, q) = propeller.thrust_and_torque(speed, rad_s(SPEED_RPM), DENSITY);
        assert!((t - thrust).abs() < 1.5e-4, "{speed} m/s: {t} {thrust}");
        assert!((q - torque).abs() < 1.2e-5, "{speed} m/s: {q} {torque}");
    }
}

// Interpolation tested where it was not told: each inner row left out in turn must come back from its neighbours, 0.2
// apart in J, within 3 % of the static thrust and torque.
#[test]
fn a_row_left_out_comes_back() {
    let rows = measured();
    let [thrust_scale, power_scale] = [at_rest().thrust_coefficient, at_rest().power_coefficient];
    for i in 0..rows.len() - 1 {
        let mut rest = rows.clone();
        let left_out = rest.remove(i);
        let turns = SPEED_RPM / 60.0;
        let speed = left_out.advance_ratio * turns * DIAMETER_M;
        let (t, q) = with_rows(&rest).thrust_and_torque(speed, rad_s(SPEED_RPM), DENSITY);
        let thrust_coefficient = t / (DENSITY * turns.powi(2) * DIAMETER_M.powi(4));
        let power_coefficient = q * TAU / (DENSITY * turns.powi(2) * DIAMETER_M.powi(5));
        let thrust_miss = (thrust_coefficient - left_out.thrust_coefficient).abs() / thrust_scale;
        let power_miss = (power_coefficient - left_out.power_coefficient).abs() / power_scale;
        assert!(
            thrust_miss < 0.03 && power_miss < 0.03,
            "{left_out:?}: {thrust_miss:.4} {power_miss:.4}"
        );
    }
}

// Numbers by hand: D 0.045 m, T 0.1 N → 0.50659 W; D 0.0635 m, T 0.2 N → 1.01541 W. Figure of merit published with
// the static rows (0.421 at 2053 rpm, 0.453 at 3280 rpm), and below 1 for all.
#[test]
fn static_thrust_costs_more_than_the_actuator_disc() {
    let disc_power = |thrust: f64, diameter: f64| {
        thrust.powf(1.5) / (2.0 * DENSITY * PI / 4.0 * diameter * diameter).sqrt()
    };
    assert!((disc_power(0.1, 0.045) - 0.506_59).abs() < 1e-5);
    assert!((disc_power(0.2, 0.0635) - 1.015_41).abs() < 1e-5);
    let rows = Table::read("propeller_da4002_9in_static").rows([
        "speed_rpm",
        "thrust_coefficient",
        "power_coefficient",
        "figure_of_merit",
    ]);
    assert_eq!(rows.len(), 8);
    for [rpm, thrust_coefficient, power_coefficient, merit] in rows {
        let table = [
            row([0.0, thrust_coefficient, power_coefficient]),
            measured()[0],
        ];
        let propeller = Propeller::from_table(DIAMETER_M, &table, STOPPED_DEFAULT);
        let (t, q) = propeller.thrust_and_torque(0.0, rad_s(rpm), DENSITY);
        let found = disc_power(t, DIAMETER_M) / (q * rad_s(rpm));
        assert!(found > 0.3 && found < 1.0, "{rpm} rpm: {found}");
        if merit > 0.0 {
            assert!((found - merit).abs() < 6e-4, "{rpm} rpm: {found} {merit}");
        }
    }
}

// Moving, the disc bounds the efficiency at every advance ratio with positive thrust.
#[test]
fn efficiency_stays_below_the_actuator_discs() {
    for (propeller, last) in [(with_rows(&measured()), 0.83), (small_propeller(), 0.88)] {
        let rotor = rad_s(SPEED_RPM);
        let mut best: f64 = 0.0;
        for i in 1..=200 {
            let advance = last * f64::from(i) / 200.0;
            let speed = advance * rotor / TAU * propeller.diameter;
            let (t, q) = propeller.thrust_and_torque(speed, rotor, DENSITY);
            let efficiency = t * speed / (q * rotor);
            let load = t / (DENSITY * speed * speed * propeller.diameter.powi(2));
            let ideal = 1.0 / (1.0 + ((1.0 + 8.0 * load / PI).sqrt() - 1.0) / 2.0);
            assert!(efficiency < ideal, "J {advance}: {efficiency} {ideal}");
            best = best.max(efficiency);
        }
        assert!(best > 0.5, "a propeller of some use: {best}");
    }
}

// No perpetual motion: air and shaft together never give energy, T u ≤ Q Ω, turning or stopped, pushed forward or
// windmilling. (u is the flight speed along the axis; the slipstream can only lose.)
#[test]
fn a_propeller_never_makes_energy() {
    for propeller in [with_rows(&measured()), small_propeller()] {
        let scale = DENSITY * propeller.diameter.powi(2);
        for i in 0..=20_000 {
            let chi = -FRAC_PI_2 + PI * f64::from(i) / 20_000.0;
            let (axial, tip) = (10.0 * chi.sin(), 10.0 * chi.cos().max(0.0));
            let rotor = tip * TAU / propeller.diameter;
            let (t, q) = propeller.thrust_and_torque(axial, rotor, DENSITY);
            let gain = (t * axial - q * rotor) / (scale * 1000.0);
            assert!(gain < 1e-12, "chi {:.2} deg: {gain:.2e}", chi.to_degrees());
        }
    }
}

// A stopped propeller is drag against the flow and is turned forward by a flow from ahead; coefficients as given, T =
// ∓k_T ρD²u².
#[test]
fn a_stopped_propeller_drags_and_starts_to_windmill() {
    let propeller = small_propeller();
    let scale = DENSITY * propeller.diameter.powi(2) * 36.0;
    let (ahead, turning) = propeller.thrust_and_torque(6.0, 0.0, DENSITY);
    let (behind, _) = propeller.thrust_and_torque(-6.0, 0.0, DENSITY);
    assert!((ahead + 0.04 * scale).abs() < 1e-12 && (behind - 0.04 * scale).abs() < 1e-12);
    assert!(
        turning < 0.0,
        "torque against the rotation is negative: {turning}"
    );
    let (still, none) = propeller.thrust_and_torque(0.0, 0.0, DENSITY);
    assert!(still == 0.0 && none == 0.0);
}
