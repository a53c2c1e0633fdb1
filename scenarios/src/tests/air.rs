//! Wind profiles and turbulence out of a file: what is built, what is filled in, what is refused.

use super::{STEP, close, scenario, with};
use crate::summary::{RangeKind, fly_with_twin, summarise, twin};
use serde_json::json;

const WIND: &str = r#""wind": { "speed_m_s": 2, "from_deg": 90 },"#;

fn wind_with(profile: &str) -> String {
    with(
        STEP,
        WIND,
        &format!(r#""wind": {{ "speed_m_s": 2, "from_deg": 90, "profile": {profile} }},"#),
    )
}

fn turbulent(turbulence: &str) -> String {
    with(STEP, WIND, &format!("{WIND} \"turbulence\": {turbulence},"))
}

// u = U ln(h/z0)/ln(h_U/z0): ln(1.7/0.05)/ln(5/0.05) = 0.765739, ln(20/0.05)/ln(100) = 1.301030 (calculator).
#[test]
fn a_logarithmic_wind_from_a_file() {
    let loaded = scenario(&wind_with(
        r#"{ "form": "logarithmic", "roughness_m": 0.05, "speed_height_m": 5 }"#,
    ))
    .unwrap();
    let air = &loaded.built.throw.air;
    close(air.mean_wind_at(5.0).y, -2.0, 1e-15);
    close(air.mean_wind_at(20.0).y, -2.0 * 1.301_030, 1e-6);
    // Gusts are carried by the wind at the release height, 1.7 m.
    close(air.carrier().y, -2.0 * 0.765_739, 2e-6);
    let effective = loaded.effective();
    assert_eq!(
        effective.value["air"]["wind"]["profile"]["carried_at_height_m"],
        json!(1.7)
    );
}

#[test]
fn a_uniform_profile_is_none_and_no_wind_has_no_turbulence() {
    let plain = scenario(STEP).unwrap().built.throw.air;
    let uniform = scenario(&wind_with(r#"{ "form": "uniform" }"#)).unwrap();
    assert_eq!(uniform.built.throw.air, plain);
    let still = turbulent(r#"{ "seed": 4, "wind_at_20_ft_m_s": 0 }"#);
    let still = scenario(&still).unwrap();
    assert_eq!(still.built.throw.air, plain);
    let warned = |w: &crate::Warning| w.to_string().contains("without wind");
    assert!(still.warnings().iter().any(warned));
}

// W20 of a uniform wind of 2 m/s is 2 m/s: σ_w = 0.2 m/s; at 10 ft σ_u = 0.2/(0.177 + 0.00823)^0.4 = 0.392596 m/s (calculator). The same
// intensities given outright are the same air.
#[test]
fn intensities_follow_the_wind_at_20_ft() {
    let turbulence = |text: &str| {
        let air = scenario(&turbulent(text)).unwrap().built.throw.air;
        air.turbulence.expect("turbulence")
    };
    let of_wind = turbulence(r#"{ "seed": 4 }"#);
    let given = turbulence(
        r#"{ "seed": 4, "horizontal_intensity_m_s": 0.392596, "vertical_intensity_m_s": 0.2 }"#,
    );
    for (a, b) in of_wind.waves.iter().zip(&given.waves) {
        assert!((a.cosine - b.cosine).norm() < 1e-5 * b.cosine.norm() + 1e-12);
        assert_eq!(a.number, b.number);
    }
    let twice = turbulence(r#"{ "seed": 4, "wind_at_20_ft_m_s": 4 }"#);
    for (a, b) in of_wind.waves.iter().zip(&twice.waves) {
        assert!((a.sine * 2.0 - b.sine).norm() < 1e-12);
    }
    assert_ne!(turbulence(r#"{ "seed": 5 }"#), of_wind);
    assert_eq!(turbulence(r#"{ "seed": 4, "height_m": 3 }"#), of_wind);
    assert_ne!(turbulence(r#"{ "seed": 4, "height_m": 3.1 }"#), of_wind);
}

// The twin is the same throw in the same air: the same field, and the same flight to the last bit up to the step.
#[test]
fn the_twin_meets_the_same_turbulence() {
    let built = scenario(&turbulent(r#"{ "seed": 4 }"#)).unwrap().built;
    let other = twin(&built.throw, &built.summary).expect("a twin");
    assert_eq!(other.air, built.throw.air);
    let mut built = built;
    built.throw.launch.height_m = 12.0;
    let (flight, other) = fly_with_twin(&built.throw, &built.summary).unwrap();
    let other = other.expect("a twin");
    for t in [0.0, 0.7, 1.4, 1.99] {
        let (a, b) = (flight.state_at(t), other.state_at(t));
        assert_eq!(
            a.to_array().map(f64::to_bits),
            b.to_array().map(f64::to_bits)
        );
    }
}

#[test]
fn the_summary_says_how_long_turbulence_was_under_ten_feet() {
    let built = scenario(&turbulent(r#"{ "seed": 4 }"#)).unwrap().built;
    let flight = built.throw.fly().unwrap();
    let summary = summarise(&flight, None, &built.summary);
    let note = |kind: RangeKind| summary.model_range.iter().find(|note| note.what == kind);
    let note = note(RangeKind::TurbulenceUnderTenFeet).expect("a note");
    // 10 ft is 3.048 m; counted in steps of a millisecond.
    let low = |i: &u32| flight.state_at(1e-3 * (f64::from(*i) + 0.5)).height() < 3.048;
    let steps = (flight.end_time_s * 1e3) as u32;
    let counted_s = 1e-3 * (0..steps).filter(low).count() as f64;
    assert!(counted_s > 0.5 && note.worst < 1.7);
    close(note.time_s, counted_s, 5e-3);
    close(note.limit, 3.048, 1e-12);
    assert!(note.to_string().starts_with("turbulence_under_ten_feet "));
    let calm = scenario(STEP).unwrap().built;
    let summary = summarise(&calm.throw.fly().unwrap(), None, &calm.summary);
    assert!(
        summary
            .model_range
            .iter()
            .all(|note| note.what != RangeKind::TurbulenceUnderTenFeet)
    );
}

#[test]
fn air_that_cannot_be() {
    for (text, expected) in [
        (
            wind_with(r#"{ "form": "logarithmic", "speed_height_m": 5 }"#),
            "step.json:20: air.wind.profile.roughness_m: found nothing, wanted a number",
        ),
        (
            wind_with(r#"{ "form": "log", "roughness_m": 0.05, "speed_height_m": 5 }"#),
            r#"step.json:20: air.wind.profile.form: found "log", wanted "uniform", "logarithmic" or "power_law"; did you mean "logarithmic"?"#,
        ),
        (
            wind_with(r#"{ "form": "power_law", "exponent": 0.2 }"#),
            "step.json:20: air.wind.profile.speed_height_m: found nothing, wanted a number",
        ),
        (
            wind_with(
                r#"{ "form": "power_law", "exponent": 0.2, "speed_height_m": 5, "roughness_m": 0.1 }"#,
            ),
            r#"step.json:20: air.wind.profile.roughness_m: found 0.1, wanted none but in a "logarithmic" profile"#,
        ),
        (
            wind_with(r#"{ "form": "logarithmic", "roughness_m": 0.5, "speed_height_m": 1 }"#),
            "step.json:20: air.wind.profile.speed_height_m: found 1, wanted 1.36 or more, where the profile begins",
        ),
        (
            wind_with(r#"{ "form": "power_law", "exponent": 2, "speed_height_m": 5 }"#),
            "step.json:20: air.wind.profile.exponent: found 2, wanted a number from 0.01 to 1",
        ),
        (
            wind_with(r#"{ "form": "uniform", "carried_at_height_m": 2 }"#),
            r#"step.json:20: air.wind.profile.carried_at_height_m: found 2, wanted none in a "uniform" profile, which carries alike at every height"#,
        ),
        (
            turbulent(r#"{ "height_m": 5 }"#),
            "step.json:20: air.turbulence.seed: found nothing, wanted a whole number of 0 or more",
        ),
        (
            turbulent(r#"{ "seed": 1, "height_m": 500 }"#),
            "step.json:20: air.turbulence.height_m: found 500, wanted a number from 0.001 to 304.8",
        ),
        (
            turbulent(r#"{ "seed": 1, "vertical_intensity_m_s": 0.3 }"#),
            r#"step.json:20: air.turbulence.horizontal_intensity_m_s: found nothing, wanted a number, beside "vertical_intensity_m_s""#,
        ),
        (
            turbulent(
                r#"{ "seed": 1, "vertical_intensity_m_s": 0.3, "horizontal_intensity_m_s": 0.3, "wind_at_20_ft_m_s": 4 }"#,
            ),
            "step.json:20: air.turbulence.wind_at_20_ft_m_s: found 4, wanted none beside intensities, which it would set",
        ),
        (
            with(
                &turbulent(r#"{ "seed": 1 }"#),
                r#""release_height_m": 1.7"#,
                r#""release_height_m": 400"#,
            ),
            "step.json:20: air.turbulence.height_m: found nothing, wanted a number up to 304.8, since the release is higher than the low-altitude values reach",
        ),
    ] {
        let error = scenario(&text).expect_err(expected);
        assert_eq!(error.to_string(), expected);
    }
}
