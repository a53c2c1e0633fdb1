//! Overrides.

use super::{KNOT, STEP, airframe, scenario, with};
use crate::error::FileError;
use crate::load::LoadedAirframe;
use crate::overrides::Override;
use serde_json::{Value, json};

fn change(path: &str, value: Value) -> Result<LoadedAirframe, FileError> {
    airframe(KNOT, &[Override::new(path, &value)?])
}

fn fine(path: &str, value: Value) -> LoadedAirframe {
    change(path, value).unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn a_number_is_set_added_to_and_multiplied() {
    let set = fine("mass.parts.module.at.station_mm", json!(60));
    // 8 of 15.9 g move 40 mm aft: the balance point by 320/15.9 = 20.1258 mm.
    let before = fine("mass.parts.module.at.station_mm", json!(20));
    let moved = set.built.mass.balance.station_m - before.built.mass.balance.station_m;
    super::close(moved, 20.1258e-3, 1e-7);
    let added = fine("motors.left.thrust_elevation_deg", json!({"add": -8}));
    assert_eq!(added.file.motors[0].thrust_elevation_deg, -3.0);
    assert_eq!(added.file.motors[1].thrust_elevation_deg, 5.0);
    let multiplied = fine("coefficients.drag_min.value", json!({"multiply": 1.5}));
    super::close(multiplied.file.coefficients.drag_min.value, 0.06, 1e-17);
    assert_eq!(
        multiplied.file.coefficients.drag_min.source,
        "invented; changed by an override (override)"
    );
}

#[test]
fn a_star_is_every_element_that_has_the_field() {
    let both = fine("motors.*.thrust_toe_deg", json!({"add": 1}));
    assert!(
        both.file
            .motors
            .iter()
            .all(|motor| motor.thrust_toe_deg == Some(3.0))
    );
    // The sheets and the strip have no mass_g; rod and points have: 1, 8 and 2 g become 2, 16 and 4 g.
    let heavier = fine("mass.parts.*.mass_g", json!({"multiply": 2}));
    super::close(heavier.built.mass.mass_kg, 26.9e-3, 1e-15);
    let mut effective = heavier.effective();
    effective.overridden.sort();
    assert_eq!(
        effective.overridden,
        [
            "mass.parts.ballast.mass_g",
            "mass.parts.module.mass_g",
            "mass.parts.spar.mass_g"
        ]
    );
}

#[test]
fn what_the_file_leaves_out_can_be_set_and_its_default_changed() {
    let set = fine("coefficients.lift_q_per_rad.value", json!(4.5));
    assert_eq!(set.built.vehicle.coefficients.lift_q, 4.5);
    assert_eq!(
        set.file.coefficients.lift_q_per_rad.source,
        "not given in the file; changed by an override (override)"
    );
    let given = fine("stall.normal_force_coefficient_at_90_deg", json!(1.3));
    assert_eq!(given.built.vehicle.post_stall.normal_at_90, 1.3);
    // Default table: 4.20 V full, 3.27 V empty.
    let old_cell = fine(
        "cell.open_circuit_voltage.*.voltage_V",
        json!({"multiply": 0.5}),
    );
    assert_eq!(old_cell.built.vehicle.cell.open_voltage.at(1.0), 2.1);
    let no_toe = KNOT.replace("\"thrust_toe_deg\": 2,", "");
    let toe =
        Override::new("motors.right.thrust_toe_deg", &json!({"add": 1.5})).expect("an override");
    let toed = airframe(&no_toe, &[toe]).expect("an airframe");
    assert_eq!(toed.file.motors[1].thrust_toe_deg, Some(1.5));
    assert_eq!(toed.file.motors[0].thrust_toe_deg, None);
    let stopped = fine(
        "propellers.two-blade-45.stopped_thrust_coefficient",
        json!({"multiply": 2}),
    );
    assert_eq!(stopped.file.propellers[0].stopped_thrust_coefficient, 0.08);
}

#[test]
fn a_scenarios_overrides_act_in_its_flight() {
    let loaded = scenario(STEP).expect("a scenario");
    assert!(
        loaded
            .airframe
            .file
            .motors
            .iter()
            .all(|motor| motor.thrust_elevation_deg == 2.0)
    );
    assert_eq!(loaded.built.throw.vehicle.coefficients.drag_min, 0.06);
    assert_eq!(
        loaded.airframe.effective().overridden,
        [
            "motors.left.thrust_elevation_deg",
            "motors.right.thrust_elevation_deg",
            "mass.parts.module.at.station_mm",
            "coefficients.drag_min.value"
        ]
    );
}

#[test]
fn a_wrong_override_is_named_with_its_line() {
    let module = r#""mass.parts.module.at.station_mm": 25"#;
    for (from, to, expected) in [
        (
            "motors.*.thrust_elevation_deg",
            "motors.*.thrust_elevation",
            r#"step.json:8: overrides "motors.*.thrust_elevation": found a path that names nothing, wanted the path of a field of the airframe; did you mean "motors.*.thrust_elevation_deg"?"#,
        ),
        (
            "mass.parts.module.at",
            "mass.parts.modul.at",
            r#"step.json:9: overrides "mass.parts.modul.at.station_mm": found a path that names nothing, wanted the path of a field of the airframe; did you mean "mass.parts.module.at.station_mm"?"#,
        ),
        (
            r#""add": -3"#,
            r#""add": -100"#,
            r#"step.json:8: overrides "motors.*.thrust_elevation_deg" (motors.left.thrust_elevation_deg): found -95, wanted a number from -90 to 90"#,
        ),
        (
            r#""add": -3"#,
            r#""plus": -3"#,
            r#"step.json:8: overrides "motors.*.thrust_elevation_deg": found "plus", wanted "add" or "multiply""#,
        ),
        (
            module,
            r#""mass.parts.module.at.station_mm": "far""#,
            r#"step.json:9: overrides "mass.parts.module.at.station_mm": found "far", wanted a number"#,
        ),
        (
            module,
            r#""mass.parts.module.at": 25"#,
            r#"step.json:9: overrides "mass.parts.module.at": found 25, wanted an object {...}"#,
        ),
        (
            module,
            r#""motors.left.spin": { "add": 1 }"#,
            r#"step.json:9: overrides "motors.left.spin": found "clockwise", wanted a number to change; set it instead"#,
        ),
        (
            module,
            r#""stall.normal_force_coefficient_at_90_deg": { "multiply": 2 }"#,
            r#"step.json:9: overrides "stall.normal_force_coefficient_at_90_deg": found nothing, wanted a number to change; set it instead"#,
        ),
        // Moved 60 mm right, the module carries the left motor onto the centre line, where toe has no meaning.
        (
            module,
            r#""mass.parts.module.at.right_mm": 60"#,
            r#"step.json:9: overrides "mass.parts.module.at.right_mm" (motors.left.thrust_toe_deg): found 2, wanted "thrust_right_deg" instead, for a motor on the centre line"#,
        ),
        (
            module,
            r#""motors": []"#,
            r#"step.json:9: overrides "motors": found a list, wanted a number, text, true, false, {"add": number} or {"multiply": number}"#,
        ),
    ] {
        let error = scenario(&with(STEP, from, to)).expect_err(to);
        assert_eq!(error.to_string(), expected);
    }
}

#[test]
fn the_command_line_sets_adds_and_names() {
    let all = [
        "motors.left.spin=counterclockwise",
        "motors.*.thrust_elevation_deg={\"add\": -3}",
        "tabs.elevon.setting_deg=-2.5",
    ]
    .map(|text| Override::parse(text).expect("an override"));
    let loaded = airframe(KNOT, &all).expect("an airframe");
    assert_eq!(loaded.built.vehicle.motors[0].spin, -1.0);
    assert_eq!(loaded.file.motors[1].thrust_elevation_deg, 2.0);
    assert_eq!(loaded.file.tabs[0].setting_deg, -2.5);
    assert_eq!(
        Override::parse("motors.left.spin")
            .expect_err("no value")
            .to_string(),
        "command line: found \"motors.left.spin\", wanted PATH=VALUE, such as motors.left.thrust_elevation_deg=-3"
    );
    let wrong = Override::parse("motors.left.spin=left").expect("an override");
    assert_eq!(
        airframe(KNOT, &[wrong]).expect_err("no spin").to_string(),
        "command line: overrides \"motors.left.spin\": found \"left\", wanted \"clockwise\" or \"counterclockwise\""
    );
}

#[test]
fn a_mount_that_moves_without_mass_is_warned_of() {
    let up = "\"motors.*.mount.up_from_carrier_mm\": { \"add\": 5 }";
    let alone = with(STEP, r#""mass.parts.module.at.station_mm": 25"#, up);
    let warnings: Vec<String> = scenario(&alone)
        .expect("a scenario")
        .warnings()
        .iter()
        .map(ToString::to_string)
        .collect();
    assert_eq!(
        warnings,
        [
            "step.json:9: overrides \"motors.*.mount.up_from_carrier_mm\": moves the thrust line but no mass; \
          move the part that carries the motor to move both"
        ]
    );
    let with_mass = with(
        STEP,
        r#""mass.parts.module.at.station_mm": 25"#,
        &format!("\"mass.parts.module.at.up_mm\": 11, {up}"),
    );
    assert_eq!(scenario(&with_mass).expect("a scenario").warnings(), []);
    assert_eq!(scenario(STEP).expect("a scenario").warnings(), []);
}
