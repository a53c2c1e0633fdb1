//! Trimming by test glides: each drawn airframe is bent until it glides as fast as the one that was meant.

use crate::load::LoadedScenario;
use sim_core::flight::Throw;
use sim_core::trim::{TrimConditions, Trimmer};

/// Farthest a tab is bent from its setting, rad.
const FARTHEST_RAD: f64 = 25.0 * std::f64::consts::PI / 180.0;
/// Glides tried.
const MOST_GLIDES: usize = 25;
/// How close airspeeds must come, m/s.
const CLOSE_M_S: f64 = 1e-6;
/// First bend tried, rad.
const FIRST_BEND_RAD: f64 = 5e-3;

/// How the airframe that was meant glides, and what it is trimmed with.
#[derive(Clone, Debug, PartialEq)]
pub struct TestGlide {
    /// Number of the tab that is bent.
    pub tab: usize,
    /// Its name.
    pub name: String,
    settings_rad: Vec<f64>,
    airspeed_m_s: f64,
}

impl TestGlide {
    /// Of the airframe that was meant; none where no tab pitches it or it does not glide.
    pub fn of(scenario: &LoadedScenario) -> Option<Self> {
        let built = &scenario.airframe.built;
        let pitch = |i: &usize| built.vehicle.coefficients.tabs[*i].pitch.abs();
        let tab = (0..built.tabs.len()).max_by(|i, j| pitch(i).total_cmp(&pitch(j)))?;
        if pitch(&tab) == 0.0 {
            return None;
        }
        let settings_rad: Vec<f64> = built.tabs.iter().map(|tab| tab.setting_rad).collect();
        let airspeed_m_s = airspeed_m_s(scenario, settings_rad.clone())?;
        Some(TestGlide {
            tab,
            name: built.tabs[tab].name.clone(),
            settings_rad,
            airspeed_m_s,
        })
    }

    /// By how much (rad) a drawn airframe's tab must be bent further than was meant; none where no bend does.
    pub fn bend_rad(&self, drawn: &LoadedScenario) -> Option<f64> {
        let off = |bend: f64| {
            let mut settings = self.settings_rad.clone();
            settings[self.tab] += bend;
            Some(airspeed_m_s(drawn, settings)? - self.airspeed_m_s)
        };
        let (mut before, mut bend) = (0.0, FIRST_BEND_RAD);
        let mut off_before = off(before)?;
        if off_before.abs() < CLOSE_M_S {
            return Some(before);
        }
        let Some(mut off_now) = off(bend).or_else(|| {
            bend = -bend;
            off(bend)
        }) else {
            return None;
        };
        for _ in 0..MOST_GLIDES {
            if off_now.abs() < CLOSE_M_S {
                return Some(bend);
            }
            let step = -off_now * (bend - before) / (off_now - off_before);
            if !step.is_finite() {
                return None;
            }
            (before, off_before) = (bend, off_now);
            // Halved where the airframe does not glide that way.
            let mut share = 1.0;
            off_now = loop {
                bend = before + share * step.clamp(-0.05, 0.05);
                if bend.abs() > FARTHEST_RAD {
                    return None;
                }
                match off(bend) {
                    Some(found) => break found,
                    None if share > 0.1 => share *= 0.5,
                    None => return None,
                }
            };
        }
        None
    }

    /// A throw with a tab bent further (rad), whatever its programme does.
    pub fn bent(&self, throw: &Throw, bend_rad: f64) -> Throw {
        let mut throw = throw.clone();
        if let Some(programme) = throw.pilot.tabs.get_mut(self.tab) {
            programme.at_release += bend_rad;
            for change in &mut programme.changes {
                change.to += bend_rad;
            }
        }
        throw
    }
}

fn airspeed_m_s(scenario: &LoadedScenario, tabs_rad: Vec<f64>) -> Option<f64> {
    let built = &scenario.airframe.built;
    let conditions = TrimConditions {
        tabs_rad,
        steering_shares: built.steering_shares.clone(),
        height_m: scenario.file.launch.release_height_m,
        charge_fraction: 1.0,
    };
    let glide = Trimmer::new(&built.vehicle, &scenario.built.throw.air, conditions).glide();
    glide.ok().map(|glide| glide.airspeed_m_s)
}
