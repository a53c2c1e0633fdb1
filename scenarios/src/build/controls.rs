//! Slew limits, holding pilot and module to SI.

use crate::airframe_file::AirframeFile;
use crate::scenario_file::{Hold as HoldFile, Slew as SlewFile};
use crate::units::rad_from_deg;
use nalgebra::Vector3;
use sim_core::control::Module;
use sim_core::control::damper::Damper;
use sim_core::control::gyro::Gyro;
use sim_core::control::hold::{ClimbHold, ClimbPlan, HeadingHold, Hold};
use sim_core::control::slew::Slew;
use sim_core::pilot::{Change, Programme};

/// The module of a checked airframe.
pub(super) fn module(file: &AirframeFile) -> Module {
    Module {
        damper: file.damper.as_ref().map(|damper| Damper {
            sample_time_s: damper.sample_time_s,
            delay_s: damper.delay_s,
            roll_gain_s: damper.roll_gain_s,
            pitch_gain_s: damper.pitch_gain_s,
            yaw_gain_s: damper.yaw_gain_s,
            saturation: damper.saturation_fraction,
            gyro: Gyro {
                bias_rad_s: Vector3::new(
                    rad_from_deg(damper.roll_bias_deg_s),
                    rad_from_deg(damper.pitch_bias_deg_s),
                    rad_from_deg(damper.yaw_bias_deg_s),
                ),
                noise_rad_s: rad_from_deg(damper.noise_deg_s),
                seed: 0,
            },
        }),
        cut_off_voltage_v: file.cell.as_ref().and_then(|cell| cell.cut_off_voltage_v),
    }
}

/// The module with the noise of one throw.
pub(super) fn module_of_throw(module: &Module, gyro_seed: u64) -> Module {
    let mut module = module.clone();
    if let Some(damper) = &mut module.damper {
        damper.gyro.seed = gyro_seed;
    }
    module
}

pub(super) fn slew(slew: &SlewFile) -> Slew {
    Slew {
        throttle_1_s: slew.throttle_largest_rate_fraction_s,
        tabs_rad_s: slew.tabs_largest_rate_deg_s.map(rad_from_deg),
    }
}

pub(super) fn hold(hold: &HoldFile) -> Hold {
    let heading = hold.heading.as_ref().map(|heading| HeadingHold {
        plan: plan(
            rad_from_deg(heading.at_release_deg),
            heading
                .changes
                .iter()
                .map(|c| (c.time_s, rad_from_deg(c.to_deg), c.ramp_s)),
        ),
        bank_per_heading: heading.bank_per_heading,
        largest_bank_rad: rad_from_deg(heading.largest_bank_deg),
        // A gain for each degree is one for so many radians.
        gain_1_rad: heading.gain_fraction_deg / rad_from_deg(1.0),
        largest_difference: heading.largest_fraction,
    });
    let height = hold.height.as_ref().map(|height| ClimbHold {
        plan: ClimbPlan::Height {
            plan: plan(
                height.at_release_m,
                height.changes.iter().map(|c| (c.time_s, c.to_m, c.ramp_s)),
            ),
            climb_per_height_1_s: height.climb_per_height_1_s,
            largest_climb_m_s: height.largest_climb_m_s,
        },
        gain_s_m: height.gain_fraction_s_m,
        largest_throttle: height.largest_fraction,
    });
    let climb = hold.climb.as_ref().map(|climb| ClimbHold {
        plan: ClimbPlan::Climb(plan(
            climb.at_release_m_s,
            climb.changes.iter().map(|c| (c.time_s, c.to_m_s, c.ramp_s)),
        )),
        gain_s_m: climb.gain_fraction_s_m,
        largest_throttle: climb.largest_fraction,
    });
    Hold {
        sample_time_s: hold.sample_time_s,
        delay_s: hold.delay_s,
        heading,
        climb: height.or(climb),
    }
}

/// A programme of changes given as time (s), new value and ramp (s).
fn plan(at_release: f64, changes: impl Iterator<Item = (f64, f64, f64)>) -> Programme {
    Programme {
        at_release,
        changes: changes
            .map(|(time_s, to, ramp_s)| Change { time_s, to, ramp_s })
            .collect(),
    }
}
