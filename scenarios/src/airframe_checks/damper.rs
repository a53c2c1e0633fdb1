//! Checks of the module's rate damper.

use super::Check;
use crate::airframe_file::{AirframeFile, Damper};
use crate::build::{PartMass, Side, mount_place, part_mass, side_of};
use crate::check::{not_negative, within};
use crate::error::{Problem, number};
use crate::field::FieldPath;

/// Largest gain, s: full throttle at 6 deg/s.
const LARGEST_GAIN_S: f64 = 10.0;

pub(super) fn damper(file: &AirframeFile, damper: &Damper, at: &FieldPath) -> Check {
    if file.motors.is_empty() {
        let wanted = "none in an airframe without motors";
        return Err(Problem::new(at.clone(), "a damper", wanted));
    }
    within(at, "sample_time_s", damper.sample_time_s, 1e-3, 1.0)?;
    within(at, "delay_s", damper.delay_s, 0.0, 1.0)?;
    for (name, gain_s) in [
        ("roll_gain_s", damper.roll_gain_s),
        ("pitch_gain_s", damper.pitch_gain_s),
        ("yaw_gain_s", damper.yaw_gain_s),
    ] {
        within(at, name, gain_s, -LARGEST_GAIN_S, LARGEST_GAIN_S)?;
    }
    for (name, gain_s) in [
        ("roll_gain_s", damper.roll_gain_s),
        ("yaw_gain_s", damper.yaw_gain_s),
    ] {
        if gain_s != 0.0 && !one_on_each_side(file) {
            let wanted =
                "0, since the airframe does not have one motor on each side of the centre line";
            return Err(Problem::new(at.key(name), number(gain_s), wanted));
        }
    }
    within(
        at,
        "saturation_fraction",
        damper.saturation_fraction,
        0.0,
        1.0,
    )?;
    not_negative(at, "noise_deg_s", damper.noise_deg_s)?;
    within(at, "noise_deg_s", damper.noise_deg_s, 0.0, 1000.0)?;
    for (name, bias_deg_s) in [
        ("roll_bias_deg_s", damper.roll_bias_deg_s),
        ("pitch_bias_deg_s", damper.pitch_bias_deg_s),
        ("yaw_bias_deg_s", damper.yaw_bias_deg_s),
    ] {
        within(at, name, bias_deg_s, -1000.0, 1000.0)?;
    }
    Ok(())
}

fn one_on_each_side(file: &AirframeFile) -> bool {
    let parts: Vec<PartMass> = file.mass.parts.iter().flatten().map(part_mass).collect();
    let sides: Vec<Side> = file
        .motors
        .iter()
        .filter_map(|motor| Some(side_of(&mount_place(&motor.mount, &parts)?)))
        .collect();
    sides.len() == 2 && sides.contains(&Side::Left) && sides.contains(&Side::Right)
}
