//! The standard atmosphere against its table, and on any day against hydrostatics and the gas law.

use sim_core::air::atmosphere::Atmosphere;
use tossline_tests::published::Table;

// Tolerances are one unit of the last printed digit.
#[test]
fn the_standard_day_is_the_printed_table() {
    let air = Atmosphere::standard_day();
    let rows = Table::read("standard_atmosphere").rows([
        "height_m",
        "temperature_k",
        "pressure_pa",
        "density_kg_m3",
        "sound_m_s",
        "viscosity_pa_s",
    ]);
    assert_eq!(rows.len(), 8);
    for [height, temperature, pressure, density, sound, viscosity] in rows {
        let found = air.at(height);
        assert!(
            (found.temperature_k - temperature).abs() < 1e-3,
            "{height} m: {found:?}"
        );
        assert!(
            (found.pressure_pa / pressure - 1.0).abs() < 5e-6,
            "{height} m: {found:?}"
        );
        assert!(
            (found.density_kg_m3 / density - 1.0).abs() < 5e-6,
            "{height} m: {found:?}"
        );
        assert!(
            (found.sound_speed_m_s - sound).abs() < 1e-3,
            "{height} m: {found:?}"
        );
        assert!(
            (found.viscosity_pa_s / viscosity - 1.0).abs() < 5e-6,
            "{height} m: {found:?}"
        );
    }
}

// ISO 2533 at geopotential 11 000 m (from memory): 216.65 K, 22 632 Pa, 0.36392 kg/m³, 295.07 m/s. Geometric height
// there: r0 H/(r0 − H).
#[test]
fn the_tropopause_is_where_the_standard_puts_it() {
    let (radius, geopotential) = (6_356_766.0, 11_000.0);
    let found = Atmosphere::standard_day().at(radius * geopotential / (radius - geopotential));
    assert!((found.temperature_k - 216.65).abs() < 1e-9);
    assert!((found.pressure_pa - 22_632.0).abs() < 0.6, "{found:?}");
    assert!((found.density_kg_m3 - 0.363_92).abs() < 6e-6);
    assert!((found.sound_speed_m_s - 295.07).abs() < 6e-3);
}

// Whatever the day: the air carries its own weight, dp/dh = −ρ g0 (r0/(r0 + h))² (geopotential height takes up the
// fall of gravity), and p = ρ R T with R = 8314.32/28.9644 J/(kg K) (US 1976).
#[test]
fn every_day_is_hydrostatic_and_a_gas() {
    for (temperature, pressure) in [(303.15, 99_000.0), (263.15, 103_500.0), (288.15, 101_325.0)] {
        let air = Atmosphere::of_day(temperature, pressure);
        let ground = air.at(0.0);
        assert!((ground.temperature_k - temperature).abs() < 1e-12);
        assert!((ground.pressure_pa - pressure).abs() < 1e-9);
        for height in [0.0, 2.0, 50.0, 800.0, 4000.0] {
            let step = 0.5;
            let slope = (air.at(height + step).pressure_pa - air.at(height - step).pressure_pa)
                / (2.0 * step);
            let here = air.at(height);
            let gravity = 9.80665 * (6_356_766.0_f64 / (6_356_766.0 + height)).powi(2);
            assert!(
                (slope / (-here.density_kg_m3 * gravity) - 1.0).abs() < 1e-7,
                "{height} m"
            );
            let gas = here.density_kg_m3 * 8314.32 / 28.9644 * here.temperature_k;
            assert!((gas / here.pressure_pa - 1.0).abs() < 1e-6, "{height} m");
        }
    }
}
