//! A scenario file to a throw.

use super::{BuiltAirframe, BuiltScenario, BuiltTab};
use crate::scenario_file::{
    FractionProgramme, Gust as GustFile, ScenarioFile, SolverMethod, TabProgramme,
};
use crate::summary::SummarySettings;
use crate::units::{k_from_celsius, pa_from_hpa, rad_from_deg, rad_s_from_rpm};
use nalgebra::Vector3;
use sim_core::air::atmosphere::Atmosphere;
use sim_core::air::gust::Gust;
use sim_core::air::{Air, Gravity, wind_from};
use sim_core::flight::Throw;
use sim_core::launch::Launch;
use sim_core::pilot::{Change, Pilot, Programme};
use sim_core::site::{Site, Wall};
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
        air: air(file),
        pilot: Pilot {
            throttle: fraction_programme(&file.pilot.throttle),
            left_minus_right: fraction_programme(&file.pilot.left_minus_right),
            steering_shares: airframe.steering_shares.clone(),
            tabs: airframe
                .tabs
                .iter()
                .map(|tab| tab_programme(tab, &file.pilot.tabs))
                .collect(),
        },
        site: Site {
            walls: file
                .site
                .walls
                .iter()
                .map(|wall| Wall {
                    heading_rad: rad_from_deg(wall.heading_deg),
                    distance_m: wall.distance_m,
                })
                .collect(),
        },
        time_limit_s: file.end.time_limit_s,
        tolerance: Tolerance {
            method: match file.solver.method {
                SolverMethod::Dopri5 => Method::Dopri5,
                SolverMethod::Dop853 => Method::Dop853,
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
        },
    }
}

fn air(file: &ScenarioFile) -> Air<f64> {
    let air = &file.air;
    Air {
        atmosphere: Atmosphere::of_day(
            k_from_celsius(air.temperature_c),
            pa_from_hpa(air.pressure_hpa),
        ),
        mean_wind: wind_from(
            air.wind.speed_m_s,
            rad_from_deg(air.wind.from_deg),
            air.wind.up_m_s,
        ),
        gusts: air
            .gusts
            .iter()
            .map(|gust| gust_of(gust, file.launch.heading_deg))
            .collect(),
        gravity: Gravity::uniform(),
        ground_effect: f64::from(file.site.ground_effect),
    }
}

fn gust_of(gust: &GustFile, launch_heading_deg: f64) -> Gust<f64> {
    let peak = wind_from(gust.speed_m_s, rad_from_deg(gust.from_deg), gust.up_m_s);
    match (gust.gust_start_s, gust.gust_duration_s) {
        (Some(start_s), Some(duration_s)) => Gust::in_time(peak, start_s, duration_s),
        _ => Gust::in_place(
            peak,
            rad_from_deg(gust.along_heading_deg.unwrap_or(launch_heading_deg)),
            gust.gust_start_m.expect("gusts are checked before a build"),
            gust.gust_length_m
                .expect("gusts are checked before a build"),
        ),
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
