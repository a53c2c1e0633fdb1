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

/// A hand-made table with its longitudinal coefficients of a name given a one sigma.
fn with_sigma(name: &str, sigmas: &[(&str, f64)]) -> crate::load::LoadedAirframe {
    let file = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("test-data/hand-made")
        .join(name);
    let text = std::fs::read_to_string(file).expect("a hand-made table");
    let mut json: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    for (field, sigma) in sigmas {
        json["coefficients"][field]["one_sigma"] = (*sigma).into();
    }
    crate::load::airframe_from_bytes(name, json.to_string().into_bytes(), &[])
        .expect("a hand-made table with bands")
}

fn doubt_of(sigmas: &[(&str, f64)]) -> (BuiltAirframe, Option<BalanceDoubt>) {
    let loaded = with_sigma("avocet.json", sigmas);
    let doubt = doubt(&loaded.written_down, &loaded.built, &Air::calm());
    (loaded.built, doubt)
}

// Closed forms: neutral point −c̄ C_mα/C_Lα, so σ/C_Lα of a chord for C_mα and C_mα/C_Lα² of it for C_Lα; the polar C_D0 + K (C_L − C_Lm)² with C_Lm = 0
// has its best ratio 1/(2√(K C_D0)), half as sure as C_D0. Two independent ones add as squares.
#[test]
fn bands_follow_closed_forms() {
    let (built, none) = doubt_of(&[]);
    assert_eq!(none, None);
    let table = &built.vehicle.coefficients;
    let of = |sigmas: &[(&str, f64)]| doubt_of(sigmas).1.expect("a band");
    let pitch = of(&[("pitch_alpha_per_rad", 0.1)]).neutral_point_mm;
    let expected = 1e3 * table.chord * 0.1 / table.lift_alpha;
    assert!((pitch / expected - 1.0).abs() < 1e-9, "{pitch} {expected}");
    let lift = of(&[("lift_alpha_per_rad", 0.05)]).neutral_point_mm;
    let expected = 1e3 * table.chord * table.pitch_alpha.abs() * 0.05 / table.lift_alpha.powi(2);
    assert!((lift / expected - 1.0).abs() < 1e-3, "{lift} {expected}");
    let both = of(&[("pitch_alpha_per_rad", 0.1), ("lift_alpha_per_rad", 0.05)]);
    assert!((both.neutral_point_mm - pitch.hypot(lift)).abs() < 1e-9);
    let drag = of(&[("drag_min", 0.02 * table.drag_min)]);
    let best = Polar {
        airframe: &built,
        air: &Air::calm(),
    }
    .answers()
    .best
    .unwrap();
    let share = drag.best_glide.unwrap().glide_ratio / best.glide_ratio;
    // Lift of least drag and tabs' drag take a little of it.
    assert!((0.006..0.011).contains(&share), "{share}");
    assert_eq!(drag.neutral_point_mm, 0.0);
    // A doubtful moment is a doubtful trim speed and bend, but the polar's best glide stays.
    let moment = of(&[("pitch_zero", 0.01)]);
    assert!(moment.glide.unwrap().airspeed_m_s > 0.05 && moment.bends_to_best_glide_deg[0] > 0.2);
    assert!(moment.best_glide.unwrap().glide_ratio < 1e-9);
}

// By hand: a bend of 20 % of a chord tapering from 160 to 110 mm, from a quarter of the span to its end: 0.2 × 147.5 and 0.2 × 110 mm; at 6 deg up 3.08 and 2.30 mm.
#[test]
fn marks_are_measured_from_the_foam() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios/test-data/knot.json");
    let text = std::fs::read_to_string(file).expect("the knot");
    let bend = r#""mirrored": true, "bends": [ { "tab": "elevon", "from_span_fraction": 0.25, "to_span_fraction": 1, "chord_fraction": 0.2 } ]
    }, { "name": "fin", "root"#;
    let text = text
        .replacen(
            "\"root_leading_edge\": { \"station_mm\": 0,",
            "\"root_leading_edge\": { \"station_mm\": -5,",
            1,
        )
        .replacen("\"root_chord_mm\": 100", "\"root_chord_mm\": 160", 1)
        .replacen("\"tip_chord_mm\": 100", "\"tip_chord_mm\": 110", 1);
    let (start, end) = (
        text.rfind("\"mirrored\": true").unwrap(),
        text.rfind("\"root_leading_edge\"").unwrap(),
    );
    let text = format!("{}{bend}{}", &text[..start], &text[end + "\"root".len()..]);
    let loaded = crate::load::airframe_from_bytes("knot.json", text.into_bytes(), &[])
        .unwrap_or_else(|error| panic!("{error}"));
    let wish = BallastWish {
        station_m: 0.0,
        margin_fraction: 0.1,
    };
    let balance = balance(&loaded.built, &Air::calm(), &wish);
    let mark = mark(&loaded.written_down, &balance).expect("a wing");
    assert_eq!(mark.surface, "wing");
    assert!((mark.behind_leading_edge_mm - balance.balance_station_mm - 5.0).abs() < 1e-9);
    let edges = trailing_edges(&loaded.written_down, &balance);
    assert_eq!((edges.len(), edges[0].tab.as_str()), (1, "elevon"));
    let up = edges[0].up_mm(-6.0);
    assert!(
        (up[0] - 3.084).abs() < 1e-3 && (up[1] - 2.300).abs() < 1e-3,
        "{up:?}"
    );
}
