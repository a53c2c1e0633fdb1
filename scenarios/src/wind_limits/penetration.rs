//! Ground speed against a wind, and the wind at which it no longer comes back (MODEL.md § 10.2).

use crate::build::BuiltAirframe;
use serde::{Deserialize, Serialize};
use sim_core::air::Air;
use sim_core::error::TrimError;
use sim_core::trim::{SteadyFlight, Trimmer};
use std::borrow::Cow;

/// Distance the height lost in a glide is given for, m.
const GLIDE_DISTANCE_M: f64 = 100.0;

/// A steady flight at a throttle.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct AtThrottle {
    /// Throttle, 0 to 1.
    pub throttle_fraction: f64,
    /// Angle of the tab moved for level flight, deg; absent with tabs as set.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tab_deg: Option<f64>,
    /// Airspeed, m/s.
    pub airspeed_m_s: f64,
    /// Its horizontal part, m/s: what the wind is taken off.
    pub horizontal_airspeed_m_s: f64,
    /// Climb, m/s; negative sinking.
    pub climb_m_s: f64,
    /// Incidence left to stall, deg.
    pub stall_margin_deg: f64,
    /// Whether it does not sink.
    pub holds_height: bool,
    /// Ground speed against each wind, m/s, in their order; negative where it is blown back.
    pub ground_speed_m_s: Vec<f64>,
}

impl AtThrottle {
    fn of(steady: &SteadyFlight, tab_rad: Option<f64>, winds_m_s: &[f64]) -> Self {
        let against = |&wind: &f64| steady.ground_speed_against_m_s(wind);
        AtThrottle {
            throttle_fraction: steady.throttle_fraction,
            tab_deg: tab_rad.map(f64::to_degrees),
            airspeed_m_s: steady.airspeed_m_s,
            horizontal_airspeed_m_s: steady.horizontal_airspeed_m_s(),
            climb_m_s: steady.climb_m_s,
            stall_margin_deg: steady.stall_margin_rad.to_degrees(),
            holds_height: steady.holds_height(),
            ground_speed_m_s: winds_m_s.iter().map(against).collect(),
        }
    }
}

/// The wind at which it no longer comes back: at the best throttle that holds height.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct NoReturn {
    /// Throttle of the largest horizontal airspeed without sinking.
    pub throttle_fraction: f64,
    /// The wind, m/s.
    pub wind_m_s: f64,
    /// The same less the reserve, m/s; never below 0.
    pub wind_with_reserve_m_s: f64,
}

/// What one wind leaves.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct InWind {
    /// Wind, m/s.
    pub wind_m_s: f64,
    /// Height lost gliding 100 m over the ground against it, m; absent where that cannot be.
    pub glide_height_lost_upwind_m: Option<f64>,
    /// The same with the wind, m.
    pub glide_height_lost_downwind_m: Option<f64>,
    /// Distance over the ground against it in level flight until the cell ends that, m; absent where there is none.
    pub level_distance_upwind_m: Option<f64>,
}

/// Level flight with tabs as set.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Level {
    /// Throttle it takes.
    pub throttle_fraction: f64,
    /// Airspeed, m/s.
    pub airspeed_m_s: f64,
    /// How long the cell lasts, min; absent where it lasts for ever.
    pub endurance_min: Option<f64>,
    /// What ends it: cut_off, empty, not_enough_power, no_steady_flight or never.
    pub endurance_ended_by: Cow<'static, str>,
}

/// Steady flight against winds.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Penetration {
    /// Winds looked at, m/s, at flying height.
    pub winds_m_s: Vec<f64>,
    /// Airspeed of the glide, m/s.
    pub glide_airspeed_m_s: f64,
    /// Incidence of the glide, deg.
    pub glide_alpha_deg: f64,
    /// Level flight; absent where there is none.
    pub level: Option<Level>,
    /// Why there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub no_level: Option<String>,
    /// Straight flight with tabs as set, where there is one.
    pub as_set: Vec<AtThrottle>,
    /// Tab moved for level flight at every throttle; absent where no tab trims in pitch.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tab: Option<String>,
    /// Level flight with that tab moved, where there is one.
    pub level_with_tab: Vec<AtThrottle>,
    /// Kept back of the wind at which it no longer comes back, m/s.
    pub reserve_m_s: f64,
    /// With tabs as set; absent where no throttle holds height.
    pub no_return: Option<NoReturn>,
    /// With the tab moved for level flight.
    pub no_return_with_tab: Option<NoReturn>,
    /// Gliding and flying level in each wind.
    pub in_winds: Vec<InWind>,
}

/// What is asked.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked<'a> {
    /// Throttles, 0 to 1, rising.
    pub throttles: &'a [f64],
    /// Winds, m/s.
    pub winds_m_s: &'a [f64],
    /// Kept back, m/s.
    pub reserve_m_s: f64,
    /// Height over the ground at which density is taken, m.
    pub height_m: f64,
    /// Charge left in the cell.
    pub charge_fraction: f64,
}

/// Works out steady flight against winds.
///
/// # Errors
/// [`TrimError`] where not even the glide is found.
pub fn penetration(
    built: &BuiltAirframe,
    air: &Air<f64>,
    asked: &Asked<'_>,
) -> Result<Penetration, TrimError> {
    let conditions = built.trim_conditions(asked.height_m, asked.charge_fraction);
    let trimmer = Trimmer::new(&built.vehicle, air, conditions);
    let winds = asked.winds_m_s;
    let glide = trimmer.glide()?;
    let curve = trimmer.power_curve(asked.throttles);
    let as_set: Vec<AtThrottle> = curve
        .iter()
        .filter_map(|found| Some(AtThrottle::of(found.as_ref().ok()?, None, winds)))
        .collect();
    let tab = trimmer.pitch_tab();
    let by_tab = tab.map_or_else(Vec::new, |tab| {
        trimmer.level_at_throttles(tab, asked.throttles)
    });
    let level_with_tab: Vec<AtThrottle> = by_tab
        .iter()
        .flatten()
        .map(|level| AtThrottle::of(&level.flight, Some(level.tab_rad), winds))
        .collect();
    let found_level = trimmer.level();
    let lasts = found_level.as_ref().ok().map(|level| {
        let cut_off_v = built.module.cut_off_voltage_v;
        (level, trimmer.endurance_in_level_flight(level, cut_off_v))
    });
    let no_return = |flights: &[AtThrottle]| {
        let holding = flights.iter().filter(|one| one.holds_height);
        let best = holding.max_by(|a, b| {
            a.horizontal_airspeed_m_s
                .total_cmp(&b.horizontal_airspeed_m_s)
        })?;
        Some(NoReturn {
            throttle_fraction: best.throttle_fraction,
            wind_m_s: best.horizontal_airspeed_m_s,
            wind_with_reserve_m_s: (best.horizontal_airspeed_m_s - asked.reserve_m_s).max(0.0),
        })
    };
    // Level flight as set lies between two throttles of the ladder.
    let mut holding = as_set.clone();
    if let Some((level, _)) = &lasts {
        holding.push(AtThrottle {
            holds_height: true,
            ..AtThrottle::of(level, None, winds)
        });
    }
    let in_winds = winds.iter().map(|&wind_m_s| InWind {
        wind_m_s,
        glide_height_lost_upwind_m: glide.height_lost_over_m(GLIDE_DISTANCE_M, wind_m_s),
        glide_height_lost_downwind_m: glide.height_lost_over_m(GLIDE_DISTANCE_M, -wind_m_s),
        level_distance_upwind_m: lasts.as_ref().and_then(|(level, endurance)| {
            let speed = level.ground_speed_against_m_s(wind_m_s);
            (speed > 0.0 && endurance.time_s.is_finite()).then_some(speed * endurance.time_s)
        }),
    });
    Ok(Penetration {
        winds_m_s: winds.to_vec(),
        glide_airspeed_m_s: glide.airspeed_m_s,
        glide_alpha_deg: glide.alpha_rad.to_degrees(),
        level: lasts.as_ref().map(|(level, endurance)| Level {
            throttle_fraction: level.throttle_fraction,
            airspeed_m_s: level.airspeed_m_s,
            endurance_min: Some(endurance.time_s / 60.0).filter(|minutes| minutes.is_finite()),
            endurance_ended_by: endurance.ended_by.word().into(),
        }),
        no_level: found_level.as_ref().err().map(ToString::to_string),
        no_return: no_return(&holding),
        no_return_with_tab: no_return(&level_with_tab),
        as_set,
        tab: tab.map(|tab| built.tabs[tab].name.clone()),
        level_with_tab,
        reserve_m_s: asked.reserve_m_s,
        in_winds: in_winds.collect(),
    })
}
