//! Airframes whose coefficients are estimated when they are read.

use super::{KNOT, airframe, close};
use crate::airframe_file::{AirframeFile, Origin};
use crate::build::build_airframe;
use crate::load::LoadedAirframe;
use crate::overrides::Override;
use serde_json::{Value, json};
use sim_core::air::Air;

/// The knot without what an estimate fills in, and with further changes.
fn bare(change: impl Fn(&mut Value)) -> String {
    let mut value: Value = serde_json::from_str(KNOT).expect("JSON");
    let object = value.as_object_mut().expect("an object");
    for name in ["coefficients", "stall", "reference"] {
        object.remove(name);
    }
    change(&mut value);
    value.to_string()
}

fn loaded(change: impl Fn(&mut Value), overrides: &[(&str, Value)]) -> LoadedAirframe {
    let overrides: Vec<Override> = overrides
        .iter()
        .map(|(path, value)| Override::new(path, value).expect("an override"))
        .collect();
    airframe(&bare(change), &overrides).unwrap_or_else(|error| panic!("{error}"))
}

fn as_it_is(_: &mut Value) {}

#[test]
fn what_is_left_out_is_estimated_for_the_glide_it_gives() {
    let estimated = loaded(as_it_is, &[]);
    for (name, one) in estimated.file.coefficients.named() {
        assert_eq!(one.origin, Origin::Estimate, "{name}");
        assert!(one.one_sigma.is_some_and(|sigma| sigma >= 0.0), "{name}");
    }
    let at = estimated.estimated.as_ref().expect("an estimate");
    assert!(at.notes[0].contains("not validated at this size"));
    let glide = crate::balance::glide_or_best(&estimated.built, &Air::calm()).expect("a glide");
    close(at.airspeed_m_s / glide.airspeed_m_s, 1.0, 0.01);
    close(at.incidence_deg, glide.alpha_deg, 0.21);
}

// A trapezoid, 60 mm at the root, 40 mm at the tip, 150 mm long on each side, without sweep of its leading edge: area 2 × 150 × 50 mm², mean
// aerodynamic chord 2/3 (60 + 40 − 60·40/100) mm, its leading edge at station 0.
#[test]
fn a_reference_that_is_left_out_is_that_of_the_largest_level_surface() {
    let tapered = loaded(
        |file| {
            let wing = &mut file["surfaces"][0];
            wing["root_chord_mm"] = json!(60);
            wing["tip_chord_mm"] = json!(40);
            wing["half_span_mm"] = json!(150);
        },
        &[],
    );
    let reference = tapered.file.reference();
    close(reference.area_cm2, 150.0, 1e-3);
    close(reference.span_mm, 300.0, 1e-3);
    close(reference.chord_mm, 50.6667, 1e-3);
    close(reference.station_mm, 50.6667 / 4.0, 1e-3);
    close(reference.up_mm, 0.0, 1e-9);
}

#[test]
fn given_coefficients_stay_beside_an_estimate_of_the_rest() {
    let given = json!({"value": 0.05, "origin": "builder", "source": "weighed drag"});
    let mixed = loaded(
        |file| {
            file["coefficients"] = json!({ "drag_min": given });
            file["estimate"] = json!({"airspeed_m_s": 4, "incidence_deg": 5});
        },
        &[],
    );
    let table = &mixed.file.coefficients;
    assert_eq!(table.drag_min.value, 0.05);
    assert_eq!(table.drag_min.origin, Origin::Builder);
    assert_eq!(table.lift_alpha_per_rad.origin, Origin::Estimate);
    let at = mixed.estimated.as_ref().expect("an estimate");
    assert_eq!((at.airspeed_m_s, at.incidence_deg), (4.0, 5.0));
}

// A builder who bends the wing up asks for another estimate; one who doubts an estimated number changes that number.
#[test]
fn overrides_of_geometry_come_before_the_estimate_and_those_of_coefficients_after() {
    let before = loaded(as_it_is, &[]);
    let slope = |airframe: &LoadedAirframe| airframe.built.vehicle.coefficients.lift_alpha;
    let dihedral = loaded(
        as_it_is,
        &[("surfaces.wing.dihedral_deg", json!({"add": 8}))],
    );
    let roll = |airframe: &LoadedAirframe| airframe.built.vehicle.coefficients.roll_beta;
    assert!(roll(&dihedral) < roll(&before) - 0.01);

    let more = loaded(
        as_it_is,
        &[(
            "coefficients.lift_alpha_per_rad.value",
            json!({"multiply": 1.1}),
        )],
    );
    close(slope(&more) / slope(&before), 1.1, 1e-9);
    let source = &more.file.coefficients.lift_alpha_per_rad.source;
    assert!(
        source.ends_with("changed by an override (override)"),
        "{source}"
    );

    let moved = loaded(as_it_is, &[("reference.station_mm", json!({"add": 10}))]);
    close(
        moved.file.reference().station_mm - before.file.reference().station_mm,
        10.0,
        1e-9,
    );
    // The moment about a point 10 mm further aft is that about the old one and the lift times the way.
    let (a, b) = (
        &before.built.vehicle.coefficients,
        &moved.built.vehicle.coefficients,
    );
    close(
        b.pitch_alpha,
        a.pitch_alpha + a.lift_alpha * 10e-3 / a.chord,
        0.02,
    );
}

#[test]
fn what_was_estimated_reads_back_as_the_same_airframe() {
    let first = loaded(as_it_is, &[]);
    let text = first.effective().value.to_string();
    let again = airframe(&text, &[]).expect("an airframe like any other");
    assert!(again.estimated.is_none(), "nothing was left out");
    assert_eq!(
        again.built.vehicle.coefficients,
        first.built.vehicle.coefficients
    );
    let typed: AirframeFile = serde_json::from_str(&bare(as_it_is)).expect("an airframe");
    let built = build_airframe(&typed).expect("a build without a file");
    assert_eq!(built.vehicle.coefficients, first.built.vehicle.coefficients);
}

#[test]
fn a_table_with_gaps_says_what_is_missing_and_how_to_get_it() {
    let wrong = |change: fn(&mut Value)| {
        let mut value: Value = serde_json::from_str(KNOT).expect("JSON");
        change(&mut value);
        let error = airframe(&value.to_string(), &[]).expect_err("a gap");
        error.to_string()
    };
    let or_estimate = r#"or "estimate": {} for an estimate of what is left out"#;
    let roll = wrong(|file| {
        file["coefficients"]
            .as_object_mut()
            .expect("a table")
            .remove("roll_p_per_rad");
    });
    assert!(
        roll.contains("coefficients.roll_p_per_rad: found nothing, wanted a coefficient, ")
            && roll.ends_with(or_estimate),
        "{roll}"
    );
    let stall = wrong(|file| {
        file.as_object_mut().expect("an object").remove("stall");
    });
    assert!(
        stall.ends_with(&format!(
            "stall: found nothing, wanted stall angles, {or_estimate}"
        )),
        "{stall}"
    );
    let level = wrong(|file| {
        let file = file.as_object_mut().expect("an object");
        for name in ["coefficients", "stall", "reference"] {
            file.remove(name);
        }
        let surfaces = file["surfaces"].as_array_mut().expect("a list");
        surfaces.retain(|surface| surface["name"] == "fin");
    });
    assert!(
        level.contains("reference: found nothing, and no level surface, wanted"),
        "{level}"
    );
}

// What a study keeps of its base to be quick must change no number: a flight of a plan is the file with those overrides, read alone.
#[test]
fn an_estimate_on_a_kept_lattice_is_the_one_read_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("knot.json"), bare(as_it_is)).expect("a file");
    let scenario = folder.path().join("step.json");
    std::fs::write(&scenario, super::STEP).expect("a file");
    let base = crate::load::load_scenario(&scenario).expect("a base");
    for (path, value) in [
        ("mass.parts.module.mass_g", json!({"multiply": 1.3})),
        ("surfaces.wing.dihedral_deg", json!({"add": 4})),
        ("launch.release_speed_m_s", json!(5)),
    ] {
        let overrides = [Override::new(path, &value).expect("an override")];
        let on_base = base.changed_by(&overrides).expect("a flight of a plan");
        let alone = crate::load::load_scenario_with(&scenario, &overrides).expect("a flight");
        let table = |loaded: &crate::load::LoadedScenario| {
            loaded.airframe.built.vehicle.coefficients.clone()
        };
        assert_eq!(table(&on_base), table(&alone), "{path}");
    }
}
