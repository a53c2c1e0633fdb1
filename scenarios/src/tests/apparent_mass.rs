//! Which airframes fly with the air they carry, which throws with the ground's effect, and what is refused.

use super::{KNOT, STEP, airframe, scenario, with};
use crate::airframe_file::ApparentMass;
use crate::overrides::Override;

const TABLE: &str = r#""coefficients": {"#;

fn flown(text: &str) -> (ApparentMass, Option<f64>) {
    let loaded = airframe(text, &[]).expect("an airframe");
    let matrix = loaded.built.vehicle.apparent_mass;
    (
        loaded.file.flown_apparent_mass(),
        matrix.map(|air| air.per_density[(2, 2)]),
    )
}

// The wing of the test aircraft, 0.4 × 0.1 m: k = 0.872 for a rectangle of aspect ratio 4 (Meyerhoff 1970, from memory), k (π/4) c² b for
// density 1; the fin, upright and in the middle, carries nothing along z.
#[test]
fn an_estimated_table_flies_with_its_plates_air() {
    let (what, heave) = flown(KNOT);
    assert_eq!(what, ApparentMass::FromSurfaces);
    let expected = 0.872 * std::f64::consts::FRAC_PI_4 * 0.01 * 0.4;
    let heave = heave.expect("a matrix");
    assert!((heave / expected - 1.0).abs() < 1e-9, "{heave} {expected}");
}

// A slope of the builder's own takes nothing away; alpha-rate coefficients of the builder's own, a table of nothing else, or a word in the file do.
#[test]
fn a_table_of_the_builders_own_does_not_unless_it_says_so() {
    let slope = r#""value": 3.5, "origin": "estimate""#;
    let own = with(KNOT, slope, r#""value": 3.5, "origin": "builder""#);
    assert_eq!(flown(&own).0, ApparentMass::FromSurfaces);
    let rate = r#" "pitch_alpha_rate_per_rad": { "value": -1, "origin": "builder", "source": "guessed" },"#;
    let rates = with(KNOT, TABLE, &format!("{TABLE}{rate}"));
    assert_eq!(flown(&rates), (ApparentMass::None, None));
    let own = KNOT.replace(r#""origin": "estimate""#, r#""origin": "builder""#);
    assert_eq!(flown(&own), (ApparentMass::None, None));
    let fitted = with(KNOT, slope, r#""value": 3.5, "origin": "fit""#);
    assert_eq!(flown(&fitted).0, ApparentMass::FromSurfaces);
    let says = |text: &str, word: &str| {
        let to = format!("\"apparent_mass\": \"{word}\", {TABLE}");
        with(text, TABLE, &to)
    };
    assert!(flown(&says(&own, "from_surfaces")).1.is_some());
    assert_eq!(flown(&says(KNOT, "none")), (ApparentMass::None, None));
}

#[test]
fn twice_is_refused_and_once_in_the_table_is_enough() {
    let included = with(
        KNOT,
        TABLE,
        &format!("{TABLE} \"includes_apparent_mass\": true,"),
    );
    assert_eq!(flown(&included), (ApparentMass::None, None));
    let twice = with(
        &included,
        TABLE,
        &format!("\"apparent_mass\": \"from_surfaces\", {TABLE}"),
    );
    let error = airframe(&twice, &[]).expect_err("twice");
    assert_eq!(
        error.to_string(),
        "knot.json:67: apparent_mass: found \"from_surfaces\", wanted \"none\" beside coefficients that include apparent mass already (includes_apparent_mass): it would count twice"
    );
}

#[test]
fn a_wrong_word_names_the_right_ones() {
    let wrong = Override::parse("apparent_mass=from_surface").expect("an override");
    let error = airframe(KNOT, &[wrong])
        .expect_err("a wrong word")
        .to_string();
    assert!(
        error.contains("from_surface") && error.contains("from_surfaces"),
        "{error}"
    );
}

#[test]
fn the_ground_is_felt_unless_the_scenario_leaves_it_out() {
    let throw = |text: &str| scenario(text).expect("a scenario").built.throw;
    assert_eq!(throw(STEP).air.ground_effect, 1.0);
    let from = "\"launch\":";
    assert!(!STEP.contains("\"site\""));
    let without = with(
        STEP,
        from,
        "\"site\": {\"ground_effect\": false}, \"launch\":",
    );
    assert_eq!(throw(&without).air.ground_effect, 0.0);
}
