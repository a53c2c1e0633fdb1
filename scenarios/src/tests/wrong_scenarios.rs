//! Wrong scenario files and exactly what is said about them.

use super::{KNOT, STEP, scenario, with};
use crate::load::load_scenario;

fn scenario_says(from: &str, to: &str, expected: &str) {
    let error = scenario(&with(STEP, from, to)).expect_err(to);
    assert_eq!(error.to_string(), expected);
}

#[test]
fn scenarios_that_cannot_be() {
    for (from, to, expected) in [
        (
            r#""release_height_m": 1.7"#,
            r#""release_height_m": 0"#,
            "step.json:14: launch.release_height_m: found 0, wanted a number over 0",
        ),
        (
            r#""release_speed_m_s": 6,"#,
            "",
            "step.json:12: launch.release_speed_m_s: found nothing, wanted a number",
        ),
        (
            r#""time_s": 2"#,
            r#""time_s": 1"#,
            "step.json:31: pilot.throttle.changes[2].time_s: found 1, wanted more than in the entry before (1), by 1e-6 at least",
        ),
        (
            r#""time_s": 1,"#,
            r#""time_s": -1,"#,
            "step.json:30: pilot.throttle.changes[1].time_s: found -1, wanted a number of 0 or more",
        ),
        (
            r#""to_fraction": 0.9"#,
            r#""to_fraction": 90"#,
            "step.json:31: pilot.throttle.changes[2].to_fraction: found 90, wanted a number from 0 to 1",
        ),
        (
            r#""time_limit_s": 10"#,
            r#""time_limit_s": 3601"#,
            "step.json:38: end.time_limit_s: found 3601, wanted a number from 0.001 to 3600",
        ),
        (
            r#""power_step_number": 2"#,
            r#""power_step_number": 3"#,
            "step.json:39: summary.power_step_number: found 3, wanted a whole number from 1 to 2, the number of throttle changes",
        ),
        (
            r#""tab": "elevon""#,
            r#""tab": "elevonn""#,
            r#"step.json:35: pilot.tabs.elevonn.tab: found "elevonn", wanted "elevon"; did you mean "elevon"?"#,
        ),
        (
            r#""airframe": "knot.json""#,
            r#""airframe": "knott.json""#,
            r#"step.json:6: airframe: found "knott.json", which is no file, wanted the path of an airframe file, from the folder this file is in; did you mean "knot.json"?"#,
        ),
        (
            r#""gust_length_m": 8"#,
            r#""gust_duration_s": 8"#,
            r#"step.json:22: air.gusts[1]: found a gust both in place and in time, wanted "gust_start_m" and "gust_length_m", or "gust_start_s" and "gust_duration_s""#,
        ),
        (
            r#", "gust_length_m": 8"#,
            "",
            r#"step.json:22: air.gusts[1].gust_length_m: found nothing, wanted a number, beside "gust_start_m""#,
        ),
        (
            r#""summary": {"#,
            r#""solver": { "relative_tolerance": 1e-15 }, "summary": {"#,
            "step.json:39: solver.relative_tolerance: found 1e-15, wanted a number from 1e-13 to 0.001",
        ),
        (
            r#""summary": {"#,
            r#""record": { "interval_s": 0.000001 }, "summary": {"#,
            "step.json:39: record.interval_s: found 1e-6, wanted 1e-5 or more, so that a flight of 10 s has at most 1000000 rows",
        ),
        (
            r#""heading_deg": 90,"#,
            r#""heading_deg": 90, "rotor_speed_rpm": [9000],"#,
            "step.json:15: launch.rotor_speed_rpm: found 1 speeds, wanted 2, one for each motor of the airframe",
        ),
        (
            r#""temperature_C": 20"#,
            r#""temperature_c": 20"#,
            r#"step.json:19: air.temperature_c: found an unknown field, wanted a field that exists here; did you mean "temperature_C"?"#,
        ),
    ] {
        scenario_says(from, to, expected);
    }
}

#[test]
fn a_difference_between_motors_needs_one_on_each_side() {
    let both_right =
        r#""motors.left.mount.right_from_carrier_mm": 30, "mass.parts.module.at.station_mm": 25"#;
    let text = with(STEP, r#""mass.parts.module.at.station_mm": 25"#, both_right);
    let text = with(
        &text,
        r#""tabs": ["#,
        r#""left_minus_right": { "at_release_fraction": 0.2 }, "tabs": ["#,
    );
    assert_eq!(
        scenario(&text).expect_err("both motors right").to_string(),
        "step.json:34: pilot.left_minus_right: found a left-right difference, wanted none, since the airframe does not have one \
         motor on each side of the centre line"
    );
}

#[test]
fn an_error_of_the_airframe_is_put_down_to_the_airframe() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::create_dir(folder.path().join("throws")).expect("a folder");
    let wrong = with(KNOT, r#""mass_g": 8"#, r#""mass_g": 0"#);
    std::fs::write(folder.path().join("knot.json"), wrong).expect("a file");
    let step = with(STEP, "\"knot.json\"", "\"../knot.json\"");
    std::fs::write(folder.path().join("throws/step.json"), step).expect("a file");
    let error =
        load_scenario(folder.path().join("throws/step.json")).expect_err("a wrong airframe");
    assert_eq!(
        error.to_string(),
        format!(
            "{}/knot.json:41: mass.parts.module.mass_g: found 0, wanted a number over 0",
            folder.path().display()
        )
    );
}
