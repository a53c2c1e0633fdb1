//! What propellers do beside thrust and torque: switches, factors, side area.

use super::{KNOT, airframe, close};
use crate::build::side_area_m2;
use crate::load::LoadedAirframe;
use crate::overrides::Override;
use serde_json::{Value, json};

fn change(path: &str, value: Value) -> Result<LoadedAirframe, String> {
    let change = Override::new(path, &value).map_err(|error| error.to_string())?;
    airframe(KNOT, &[change]).map_err(|error| error.to_string())
}

fn changed(path: &str, value: Value) -> LoadedAirframe {
    change(path, value).unwrap_or_else(|error| panic!("{error}"))
}

// All of it is on where the file says nothing; false takes one away and leaves the others to the bit.
#[test]
fn each_effect_is_on_by_default_and_can_be_switched_off_alone() {
    let on = airframe(KNOT, &[]).expect("an airframe").built.vehicle;
    for motor in &on.motors {
        assert!(motor.disc.fin_area > 0.0 && !motor.disc.suction.0.is_empty());
    }
    let off = |name: &str| {
        let path = format!("propeller_effects.{name}");
        changed(&path, json!(false)).built.vehicle
    };
    let (normal, wash, suction) = (off("disc_normal_force"), off("wash"), off("suction"));
    for (i, motor) in on.motors.iter().enumerate() {
        let (normal, wash, suction) = (
            &normal.motors[i].disc,
            &wash.motors[i].disc,
            &suction.motors[i].disc,
        );
        assert_eq!(normal.fin_area, 0.0);
        assert_eq!(
            (&normal.wash, &normal.suction),
            (&motor.disc.wash, &motor.disc.suction)
        );
        assert!(wash.wash.0.is_empty() && wash.suction == motor.disc.suction);
        assert!(suction.suction.0.is_empty() && suction.wash == motor.disc.wash);
    }
}

// A factor scales areas and sums, whose forces are proportional to them.
#[test]
fn factors_scale_their_effect() {
    let plain = airframe(KNOT, &[]).expect("an airframe").built.vehicle;
    let factor = |name: &str| {
        let path = format!("propeller_effects.{name}_factor");
        changed(&path, json!(1.4)).built.vehicle
    };
    let plain = &plain.motors[0].disc;
    let fin = factor("disc_normal_force").motors[0].disc.fin_area;
    close(fin / plain.fin_area, 1.4, 1e-12);
    let drawn = factor("suction").motors[0].disc.suction.0[0].clone();
    let before = &plain.suction.0[0];
    close(drawn.lift.y / before.lift.y, 1.4, 1e-12);
    close(drawn.area / before.area, 1.4, 1e-12);
    // Places and means are no sums.
    close((drawn.centre - before.centre).norm(), 0.0, 1e-12);
    close((drawn.mean - before.mean).norm(), 0.0, 1e-12);
    let error = change("propeller_effects.wash_factor", json!(-1)).expect_err("a wrong factor");
    assert!(
        error.contains("\"propeller_effects.wash_factor\": found -1, wanted a number from 0 to 5"),
        "{error}"
    );
    let error = change("propeller_effects.washing", json!(false)).expect_err("a wrong name");
    assert!(error.contains("propeller_effects.wash"), "{error}");
}

// By hand for 45 mm: chord 5.625 mm, pitch 31.5 mm, p/2π 5.0134 mm, asinh(4.48799) − asinh(0.67320) = 1.5759: 44.44 mm². Given, it is what is given.
#[test]
fn the_side_area_is_the_usual_or_as_given() {
    let mut propeller = airframe(KNOT, &[]).expect("an airframe").file.propellers[0].clone();
    propeller.diameter_mm = 45.0;
    close(side_area_m2(&propeller), 44.44e-6, 0.02e-6);
    propeller.blade_side_area_cm2 = Some(0.7);
    close(side_area_m2(&propeller), 0.7e-4, 1e-18);
    let error = change("propellers.*.blade_side_area_cm2", json!(60)).expect_err("a wrong area");
    assert!(
        error.contains("blade_side_area_cm2): found 60, wanted a number from 0 to 5.0625"),
        "{error}"
    );
}
