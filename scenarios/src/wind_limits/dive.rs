//! The height power needs to end a dive (MODEL.md § 10.3).

use crate::summary::{DipEnd, SummarySettings, summarise};
use serde::{Deserialize, Serialize};
use sim_core::error::LaunchError;
use sim_core::flight::{End, Throw};
use sim_core::launch::Launch;
use sim_core::pilot::{Change, Pilot, Programme};
use sim_core::site::Site;

/// How far below the ground is, m: out of reach.
const GROUND_BELOW_M: f64 = 1000.0;
/// How long a recovery is waited for, s.
const WINDOW_S: f64 = 10.0;

/// A dive, in still air with wings level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dive {
    /// How far down the path points, rad; over 0, up to a right angle.
    pub angle_rad: f64,
    /// Airspeed, m/s.
    pub airspeed_m_s: f64,
    /// Nose above the path, rad: incidence of the reference point.
    pub incidence_rad: f64,
    /// Throttle before it changes, 0 to 1.
    pub throttle_before_fraction: f64,
}

/// What a throttle makes of a dive.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Recovery {
    /// The throttle from the start of the dive on.
    pub throttle_fraction: f64,
    /// Height needed, m; absent where it does not recover in ten seconds.
    pub height_m: Option<f64>,
    /// Time spent beyond stall on the way and after, s.
    pub stalled_time_s: Option<f64>,
    /// Largest airspeed, m/s.
    pub airspeed_max_m_s: Option<f64>,
    /// Why the flight's numbers failed, where they did.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub failure: Option<String>,
}

/// Flies a dive in which the throttle steps to a value, with vehicle, tabs at release, module, charge and density of a throw.
///
/// # Errors
/// [`LaunchError`] where the rotors have no steady speed.
pub fn recovery(
    throw: &Throw,
    dive: &Dive,
    throttle_fraction: f64,
) -> Result<Recovery, LaunchError> {
    let height_m = throw.launch.height_m;
    let mut flown = Throw {
        launch: Launch {
            height_m,
            speed_m_s: dive.airspeed_m_s,
            path_angle_rad: -dive.angle_rad,
            nose_above_path_rad: dive.incidence_rad,
            ..Launch::level(height_m, dive.airspeed_m_s)
        },
        air: throw.air.made_still(),
        pilot: Pilot {
            throttle: Programme::constant(dive.throttle_before_fraction),
            left_minus_right: Programme::constant(0.0),
            tabs: throw
                .pilot
                .tabs
                .iter()
                .map(|tab| Programme::constant(tab.at_release))
                .collect(),
            hold: None,
            power_cut_s: None,
            ..throw.pilot.clone()
        },
        site: Site {
            ground_height_m: height_m - GROUND_BELOW_M,
            ..Site::default()
        },
        time_limit_s: WINDOW_S,
        ..throw.clone()
    };
    flown.launch.charge_fraction = throw.launch.charge_fraction;
    // The rotors turn as before the step.
    let motors = flown.vehicle.motors.len();
    flown.launch.rotor_speeds_rad_s = Some(flown.release_state()?.rotors[..motors].to_vec());
    flown.pilot.throttle.changes.push(Change {
        time_s: 0.0,
        to: throttle_fraction,
        ramp_s: 0.0,
    });
    let flight = flown.fly()?;
    let settings = SummarySettings {
        dip_window_s: WINDOW_S,
        ..SummarySettings::default()
    };
    let summary = summarise(&flight, None, &settings);
    let recovers = matches!(summary.dip_ended_by, Some(DipEnd::Climbed | DipEnd::NoDip))
        && flight.end != End::Ground;
    Ok(Recovery {
        throttle_fraction,
        height_m: summary.height_lost_since_step_m.filter(|_| recovers),
        stalled_time_s: summary.stalled_time_s,
        airspeed_max_m_s: summary.airspeed_max_m_s,
        failure: summary.failure,
    })
}
