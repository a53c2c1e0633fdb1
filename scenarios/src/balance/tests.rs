//! Balance against hand calculation.

use super::*;
use crate::load::load_airframe;
use std::path::Path;

fn of(name: &str) -> (BuiltAirframe, Balance) {
    let file = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../demo-airframes")
        .join(name);
    let built = load_airframe(file, &[])
        .expect("a demonstration aircraft")
        .built;
    let wish = BallastWish {
        station_m: 0.01,
        margin_fraction: 0.15,
    };
    let balance = balance(&built, &Air::calm(), &wish);
    (built, balance)
}

// Parabolic polar C_D = C_D0 + K (C_L − C_Lm)²: the best ratio lies at C_L = √(C_D0/K + C_Lm²) (elementary calculus), where it is not beyond stall.
#[test]
fn best_glide_is_where_calculus_puts_it() {
    let (built, balance) = of("dunlin.json");
    let table = &built.vehicle.coefficients;
    let tabs: f64 = table
        .tabs
        .iter()
        .zip(&built.tabs)
        .map(|(e, t)| e.drag * t.setting_rad.powi(2))
        .sum();
    let zero = table.drag_min + tabs;
    let expected = (zero / table.drag_factor + table.lift_at_min_drag.powi(2)).sqrt();
    let best = balance.best_glide.unwrap();
    assert!(
        (best.lift_coefficient - expected).abs() < 1e-6,
        "{best:?} {expected}"
    );
    assert!(balance.least_sink.unwrap().sink_m_s < best.sink_m_s);
    assert!(balance.least_sink.unwrap().airspeed_m_s < best.airspeed_m_s);
}

#[test]
fn ballast_moves_the_balance_point_to_the_margin_asked_for() {
    let (built, balance) = of("godwit.json");
    let ballast = balance
        .ballast
        .expect("more margin takes weight in the nose");
    let (m, x) = (built.mass.mass_kg * 1e3, balance.balance_station_mm);
    let moved = (m * x + ballast.mass_g * 10.0) / (m + ballast.mass_g);
    let margin =
        (balance.neutral_point_station_mm - moved) / (built.vehicle.coefficients.chord * 1e3);
    assert!((margin - 0.15).abs() < 1e-12);
}

#[test]
fn a_bend_to_best_glide_trims_there() {
    for name in ["dunlin.json", "avocet.json", "godwit.json"] {
        let (built, balance) = of(name);
        let best = balance.best_glide.unwrap();
        let bend = &balance.bends_to_best_glide[0];
        let mut bent = built.clone();
        bent.tabs
            .iter_mut()
            .find(|t| t.name == bend.tab)
            .unwrap()
            .setting_rad = bend.to_best_glide_deg.to_radians();
        let polar = Polar {
            airframe: &bent,
            air: &Air::calm(),
        };
        let trimmed = polar.described(&polar.trimmed(0.0).unwrap());
        // Left out of the bend: the moment of drag and of stopped propellers, and the stall's first traces.
        assert!(
            (trimmed.lift_coefficient / best.lift_coefficient - 1.0).abs() < 0.12,
            "{name}: {trimmed:?} {best:?}"
        );
    }
}

#[test]
fn the_window_ends_where_the_glide_does() {
    let (built, balance) = of("dunlin.json");
    let window = balance.gliding_window_mm.unwrap();
    assert!(window.holds_balance && window.to_mm < balance.neutral_point_station_mm);
    let polar = Polar {
        airframe: &built,
        air: &Air::calm(),
    };
    let ratio = 0.5 * balance.best_glide.unwrap().glide_ratio;
    let at =
        |station_mm: f64| polar.glides((station_mm - balance.balance_station_mm) * 1e-3, ratio);
    assert!(at(window.from_mm + 0.1) && !at(window.from_mm - 0.1));
    assert!(at(window.to_mm - 0.1) && !at(window.to_mm + 0.1));
}

// Static margin is minus the slope of C_m about the balance point over the lift slope: here by a finite difference of the whole table.
#[test]
fn the_margin_is_the_slope_of_the_moment_about_the_balance_point() {
    let (built, balance) = of("avocet.json");
    let table = &built.vehicle.coefficients;
    let about_balance = |alpha: f64| {
        let at = table.at(alpha, 0.0, built.tabs.iter().map(|t| t.setting_rad));
        (
            at.lift,
            at.pitch + at.lift * table.reference.x / table.chord,
        )
    };
    let (low, high) = (about_balance(0.05), about_balance(0.06));
    let slope = (high.1 - low.1) / (high.0 - low.0);
    assert!((balance.static_margin_fraction + slope).abs() < 1e-9);
}
