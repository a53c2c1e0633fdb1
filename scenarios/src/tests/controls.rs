//! Slew limits, holding pilot, damper, cut-off and power cut in files: what is built of them, what is wrong with them, and the worst power cut.

use super::{KNOT, STEP, airframe, close, scenario, with};
use crate::overrides::Override;
use crate::power_cut::{Look, Worst, worst_power_cut};
use crate::summary::{RangeKind, fly_with_twin, summarise};
use sim_core::control::hold::ClimbPlan;
use sim_core::flight::End;

const HEADING: &str = r#""heading": {"at_release_deg": 90, "changes": [{"time_s": 3, "to_deg": 270, "ramp_s": 4}], "bank_per_heading": 0.4, "largest_bank_deg": 15, "gain_fraction_deg": 0.02, "largest_fraction": 0.5}"#;
const HEIGHT: &str = r#""height": {"at_release_m": 2, "climb_per_height_1_s": 0.3, "largest_climb_m_s": 0.8, "gain_fraction_s_m": 0.02, "largest_fraction": 0.15}"#;
const CLIMB: &str =
    r#""climb": {"at_release_m_s": 0.5, "gain_fraction_s_m": 0.02, "largest_fraction": 0.15}"#;

/// The throw with more in its pilot, one line lower than it was.
fn pilot(more: &str) -> String {
    with(STEP, r#""tabs": ["#, &format!("{more},\n    \"tabs\": ["))
}

fn says(more: &str) -> String {
    scenario(&pilot(more)).expect_err(more).to_string()
}

// 15° is 0.261799 rad, 0.02 per degree 1.145916 per rad; 720 deg/s is 4π rad/s.
#[test]
fn files_come_to_si() {
    let more = format!(
        r#""slew": {{"throttle_largest_rate_fraction_s": 2, "tabs_largest_rate_deg_s": 720}}, "power_cut": {{"at_s": 4}}, "gyro_seed": 9, "hold": {{{HEADING}, {HEIGHT}}}"#
    );
    let damper = r#""overrides": { "damper.yaw_gain_s": 0.2, "damper.noise_deg_s": 2, "cell.cut_off_voltage_V": 3.2, "#;
    let text = with(&pilot(&more), r#""overrides": {"#, damper);
    let built = scenario(&text).unwrap().built.throw.pilot;
    assert_eq!(built.slew.throttle_1_s, Some(2.0));
    close(
        built.slew.tabs_rad_s.unwrap(),
        4.0 * std::f64::consts::PI,
        1e-12,
    );
    assert_eq!(built.power_cut_s, Some(4.0));
    assert_eq!(built.module.cut_off_voltage_v, Some(3.2));
    let damper = built.module.damper.unwrap();
    assert_eq!(
        (damper.sample_time_s, damper.delay_s, damper.saturation),
        (0.01, 0.01, 0.2)
    );
    assert_eq!((damper.yaw_gain_s, damper.roll_gain_s), (0.2, 0.0));
    assert_eq!(damper.gyro.seed, 9);
    close(damper.gyro.noise_rad_s, 0.034_906_585, 1e-9);
    let hold = built.hold.unwrap();
    assert_eq!((hold.sample_time_s, hold.delay_s), (0.15, 0.25));
    let heading = hold.heading.unwrap();
    close(heading.largest_bank_rad, 0.261_799_388, 1e-9);
    close(heading.gain_1_rad, 1.145_915_590, 1e-9);
    close(heading.plan.after(5.0), std::f64::consts::PI, 1e-12);
    let climb = hold.climb.unwrap();
    assert_eq!((climb.gain_s_m, climb.largest_throttle), (0.02, 0.15));
    assert!(matches!(climb.plan, ClimbPlan::Height { .. }));
}

#[test]
fn what_is_wrong_is_said() {
    for (more, expected) in [
        (
            format!(r#""hold": {{{HEIGHT}, {CLIMB}}}"#),
            r#"step.json:34: pilot.hold: found a height and a climb, wanted "height" or "climb""#,
        ),
        (
            format!(r#""hold": {{"sample_time_s": 0, {CLIMB}}}"#),
            "step.json:34: pilot.hold.sample_time_s: found 0, wanted a number from 0.001 to 10",
        ),
        (
            format!(r#""hold": {{"delay": 0.2, {CLIMB}}}"#),
            r#"step.json:34: pilot.hold.delay: found an unknown field, wanted a field that exists here; did you mean "delay_s"?"#,
        ),
        (
            format!(
                r#""hold": {{{}}}"#,
                with(
                    HEADING,
                    r#""largest_fraction": 0.5"#,
                    r#""largest_fraction": 5"#
                )
            ),
            "step.json:34: pilot.hold.heading.largest_fraction: found 5, wanted a number from 0 to 1",
        ),
        (
            r#""power_cut": {"at_s": -1}"#.to_owned(),
            "step.json:34: pilot.power_cut.at_s: found -1, wanted a number of 0 or more",
        ),
        (
            r#""slew": {"throttle_largest_rate_fraction_s": 0}"#.to_owned(),
            "step.json:34: pilot.slew.throttle_largest_rate_fraction_s: found 0, wanted a number from 0.001 to 10000",
        ),
    ] {
        assert_eq!(says(&more), expected);
    }
}

#[test]
fn a_wrong_module_is_said() {
    let set = |text: &str| [Override::parse(text).unwrap()];
    for (change, expected) in [
        (
            "damper.sample_time_s=0",
            r#"overrides "damper.sample_time_s": found 0, wanted a number from 0.001 to 1"#,
        ),
        (
            "damper.yaw_gain_s=20",
            r#"overrides "damper.yaw_gain_s": found 20, wanted a number from -10 to 10"#,
        ),
        (
            "cell.cut_off_voltage_V=4.2",
            r#"overrides "cell.cut_off_voltage_V": found 4.2, wanted less than the full cell's 4.2 V"#,
        ),
    ] {
        let error = airframe(KNOT, &set(change)).expect_err(change).to_string();
        assert!(error.contains(expected), "{error}");
    }
    let both_right = [
        Override::parse("motors.left.mount.right_from_carrier_mm=30").unwrap(),
        Override::parse("damper.roll_gain_s=0.1").unwrap(),
    ];
    let error = airframe(KNOT, &both_right).expect_err("both motors right");
    assert!(
        error
            .to_string()
            .contains(r#"overrides "damper.roll_gain_s": found 0.1, wanted 0, since the airframe does not have one motor on each side"#),
        "{error}"
    );
}

// A damper that asks for more than there is is said like a programme that does, with what it asked for: throttle 0.97 with a bias of the gyro
// that saturates at 0.1 of difference, half of it for each motor.
#[test]
fn a_throttle_held_by_the_damper_is_said() {
    let damper = r#""overrides": { "damper.yaw_gain_s": 1, "damper.yaw_bias_deg_s": -900, "damper.saturation_fraction": 0.1, "#;
    let text = with(STEP, r#""overrides": {"#, damper);
    let text = with(
        &text,
        r#""at_release_fraction": 0.3"#,
        r#""at_release_fraction": 0.97"#,
    );
    let text = with(&text, r#""time_limit_s": 10"#, r#""time_limit_s": 0.5"#);
    let text = with(
        &text,
        r#""power_step_number": 2"#,
        r#""power_step_number": 1"#,
    );
    let built = scenario(&text).unwrap().built;
    let (flight, twin) = fly_with_twin(&built.throw, &built.summary).unwrap();
    let summary = summarise(&flight, twin.as_ref(), &built.summary);
    let note = summary
        .model_range
        .iter()
        .find(|note| note.what == RangeKind::ThrottleHeldAtLimit)
        .unwrap();
    assert_eq!(note.motor, Some(1));
    close(note.worst, 1.02, 1e-12);
    // From the first command, 0.01 s after release.
    close(note.first_at_s, 0.01, 1e-9);
    close(note.time_s, flight.end_time_s - 0.01, 1e-6);
}

// A level powered flight that glides down from wherever the power goes: the earlier it goes the nearer it lands. The scan finds both ends.
#[test]
fn the_worst_power_cut_is_found() {
    let text = with(STEP, r#""time_limit_s": 10"#, r#""time_limit_s": 60"#);
    let throw = scenario(&text).unwrap().built.throw;
    let look = Look {
        times: 5,
        ..Look::until(0.8)
    };
    let nearest = worst_power_cut(&throw, Worst::LandingNearest, &look).unwrap();
    let furthest = worst_power_cut(&throw, Worst::LandingFurthest, &look).unwrap();
    let lowest = worst_power_cut(&throw, Worst::LowestMinimumAltitude, &look).unwrap();
    for (found, sign) in [(&nearest, 1.0), (&furthest, -1.0), (&lowest, 1.0)] {
        let worst = found.worst.unwrap();
        assert!(found.flown.len() > 5 && found.flown.windows(2).all(|w| w[0].at_s <= w[1].at_s));
        for one in &found.flown {
            assert!(sign * one.outcome_m.unwrap() >= sign * worst.outcome_m.unwrap());
        }
    }
    // What the scan says is what a flight with that cut does.
    let worst = furthest.worst.unwrap();
    let mut cut = throw.clone();
    cut.pilot.power_cut_s = Some(worst.at_s);
    let flight = cut.fly().unwrap();
    assert_eq!(flight.end, End::Ground);
    let landing = flight.state_at(flight.end_time_s).position;
    assert_eq!(Some(landing.xy().norm()), worst.outcome_m);
    assert!(nearest.worst.unwrap().outcome_m < furthest.worst.unwrap().outcome_m);
    // Cuts after the flight was over have no outcome.
    let late = Look {
        from_s: 50.0,
        times: 2,
        ..Look::until(55.0)
    };
    let none = worst_power_cut(&throw, Worst::LandingNearest, &late).unwrap();
    assert!(none.worst.is_none() && none.flown.len() == 2);
}
