//! A scenario file to a throw.

use super::air::air;
use super::controls::{hold, module_of_throw, slew};
use super::{BuiltAirframe, BuiltScenario, BuiltTab};
use crate::scenario_file::{FractionProgramme, ScenarioFile, SolverMethod, TabProgramme};
use crate::site;
use crate::summary::SummarySettings;
use crate::units::{rad_from_deg, rad_s_from_rpm};
use nalgebra::Vector3;
use sim_core::flight::Throw;
use sim_core::launch::Launch;
use sim_core::pilot::{Change, Pilot, Programme};
use sim_core::solver::{Method, Tolerance};

/// Builds a checked scenario with the airframe it flies.
pub(crate) fn scenario(file: &ScenarioFile, airframe: &BuiltAirframe) -> BuiltScenario {
    let launch = &file.launch;
    let throw = Throw {
        vehicle: airframe.vehicle.clone(),
        launch: Launch {
            height_m: launch.release_height_m,
            speed_m_s: launch.release_speed_m_s,
            path_angle_rad: rad_from_deg(launch.path_angle_deg),
            heading_rad: rad_from_deg(launch.heading_deg),
            nose_above_path_rad: rad_from_deg(launch.nose_above_path_deg),
            nose_right_of_path_rad: rad_from_deg(launch.nose_right_of_path_deg),
            bank_rad: rad_from_deg(launch.bank_deg),
            rates_rad_s: Vector3::new(
                rad_from_deg(launch.roll_rate_deg_s),
                rad_from_deg(launch.pitch_rate_deg_s),
                rad_from_deg(launch.yaw_rate_deg_s),
            ),
            rotor_speeds_rad_s: launch
                .rotor_speed_rpm
                .as_ref()
                .map(|speeds| speeds.iter().map(|&rpm| rad_s_from_rpm(rpm)).collect()),
            charge_fraction: launch.charge_fraction,
        },
        air: air(file, airframe.vehicle.coefficients.span),
        pilot: Pilot {
            throttle: fraction_programme(&file.pilot.throttle),
            left_minus_right: fraction_programme(&file.pilot.left_minus_right),
            steering_shares: airframe.steering_shares.clone(),
            tabs: airframe
                .tabs
                .iter()
                .map(|tab| tab_programme(tab, &file.pilot.tabs))
                .collect(),
            slew: file.pilot.slew.as_ref().map(slew).unwrap_or_default(),
            hold: file.pilot.hold.as_ref().map(hold),
            module: module_of_throw(&airframe.module, file.pilot.gyro_seed),
            power_cut_s: file.pilot.power_cut.map(|cut| cut.at_s),
        },
        site: site::build(file),
        time_limit_s: file.end.time_limit_s,
        tolerance: Tolerance {
            method: match file.solver.method {
                SolverMethod::Dopri5 => Method::Dopri5,
                SolverMethod::Dop853 => Method::Dop853,
                SolverMethod::Lanes => Method::Lanes,
                SolverMethod::LanesSingle => Method::LanesSingle,
            },
            relative: file.solver.relative_tolerance,
            absolute: file.solver.absolute_tolerance,
            largest_step_s: file.solver.largest_step_s,
            ..Tolerance::default()
        },
    };
    BuiltScenario {
        throw,
        record_interval_s: file.record.interval_s,
        summary: SummarySettings {
            power_window_s: file.summary.power_window_s,
            dip_window_s: file.summary.dip_window_s,
            throttle_step_number: file.summary.power_step_number as usize,
            phugoid_period_s: file.summary.phugoid_period_s,
        },
    }
}

fn fraction_programme(programme: &FractionProgramme) -> Programme {
    Programme {
        at_release: programme.at_release_fraction,
        changes: programme
            .changes
            .iter()
            .map(|change| Change {
                time_s: change.time_s,
                to: change.to_fraction,
                ramp_s: change.ramp_s,
            })
            .collect(),
    }
}

fn tab_programme(tab: &BuiltTab, programmes: &[TabProgramme]) -> Programme {
    Programme {
        at_release: tab.setting_rad,
        changes: programmes
            .iter()
            .filter(|programme| programme.tab == tab.name)
            .flat_map(|programme| &programme.changes)
            .map(|change| Change {
                time_s: change.time_s,
                to: rad_from_deg(change.to_deg),
                ramp_s: change.ramp_s,
            })
            .collect(),
    }
}
