//! Trimming by test glides: each drawn airframe is bent until it glides as fast as the one that was meant.

use crate::load::LoadedScenario;
use sim_core::flight::Throw;
use sim_core::trim::{TrimConditions, Trimmer};

/// Steps of the scan for a bend, rad.
const SCAN_STEP_RAD: f64 = std::f64::consts::PI / 180.0;
/// How many of them on each side.
const SCAN_STEPS: u32 = 12;
/// Glides tried between two of them.
const MOST_GLIDES: usize = 40;
/// How close airspeeds must come, m/s.
const CLOSE_M_S: f64 = 1e-6;

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
        let at_setting = off(0.0);
        if at_setting.is_some_and(|found| found.abs() < CLOSE_M_S) {
            return Some(0.0);
        }
        // Outwards on both sides, until the airspeed passes the one wanted.
        let mut ends = [(0.0, at_setting); 2];
        for i in 1..=SCAN_STEPS {
            for (end, side) in ends.iter_mut().zip([-1.0, 1.0]) {
                let (before, off_before) = *end;
                let bend = side * f64::from(i) * SCAN_STEP_RAD;
                *end = (bend, off(bend));
                if let (Some(a), Some(b)) = (off_before, end.1)
                    && a.signum() != b.signum()
                {
                    return between((before, a), (bend, b), off);
                }
            }
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

/// Where a difference is 0 between two bends at which it has different signs; none where there is no glide on the way. Regula falsi in the
/// Illinois way.
fn between(
    (mut a, mut off_a): (f64, f64),
    (mut b, mut off_b): (f64, f64),
    off: impl Fn(f64) -> Option<f64>,
) -> Option<f64> {
    for _ in 0..MOST_GLIDES {
        let bend = b - off_b * (b - a) / (off_b - off_a);
        let now = off(bend)?;
        if now.abs() < CLOSE_M_S {
            return Some(bend);
        }
        if now.signum() == off_b.signum() {
            off_a *= 0.5;
        } else {
            (a, off_a) = (b, off_b);
        }
        (b, off_b) = (bend, now);
    }
    None
}

fn airspeed_m_s(scenario: &LoadedScenario, tabs_rad: Vec<f64>) -> Option<f64> {
    let built = &scenario.airframe.built;
    let conditions = TrimConditions {
        tabs_rad,
        steering_shares: built.steering_shares.clone(),
        height_m: scenario.file.launch.release_height_m,
        charge_fraction: 1.0,
    };
    // Whoever trims by test glides trims the turn out as well: what is asked here is the straight glide.
    let mut straight = built.vehicle.clone();
    straight.coefficients.side_zero = 0.0;
    straight.coefficients.roll_zero = 0.0;
    straight.coefficients.yaw_zero = 0.0;
    let glide = Trimmer::new(&straight, &scenario.built.throw.air, conditions).glide();
    glide.ok().map(|glide| glide.airspeed_m_s)
}
