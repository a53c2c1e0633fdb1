//! Weight backwards: the greatest mass that flies level at a throttle, and the parts that hold what is over (MODEL.md § 25).

mod margin;
mod parts;

pub use margin::{Draw, Ends, Margin, draw, margin};
pub use parts::{Ballast, PartRow, parts};

use crate::load::LoadedScenario;
use serde::{Deserialize, Serialize};
use sim_core::trim::level_mass::{LevelMass, LevelMassError, LevelMasses};

/// Level flight of the greatest mass, in people's units.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Greatest {
    /// The mass, g.
    pub mass_g: f64,
    /// The airframe's own mass less that, g: over where positive, spare where negative.
    pub over_g: f64,
    /// Airspeed of that level flight, m/s.
    pub airspeed_m_s: f64,
    /// Incidence, deg.
    pub alpha_deg: f64,
    /// To stall, deg.
    pub stall_margin_deg: f64,
    /// The tab that trims in pitch; none where the airframe has none.
    pub tab: Option<TabAngle>,
    /// Whether stall, or the tab being 20° from its setting, keeps it from being greater.
    pub at_the_end: bool,
}

/// A tab at an angle.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TabAngle {
    /// The tab.
    pub name: String,
    /// Its angle, deg.
    pub angle_deg: f64,
    /// What it is set to in the file, deg.
    pub setting_deg: f64,
}

/// What a throttle carries in level flight.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Carries {
    /// With the tabs as they are set.
    pub as_set: Option<Greatest>,
    /// Why nothing is carried with them.
    pub as_set_not_found: Option<String>,
    /// With the tab that trims in pitch at its best angle; none without such a tab, or where nothing is carried.
    pub tab_re_set: Option<Greatest>,
}

/// What a throttle carries in level flight, with a tab bent further than its setting (number, rad).
pub fn carries(
    scenario: &LoadedScenario,
    throttle_fraction: f64,
    bent: Option<(usize, f64)>,
) -> Carries {
    let built = &scenario.airframe.built;
    let mut conditions = built.trim_conditions(scenario.file.launch.release_height_m, 1.0);
    if let Some((tab, by_rad)) = bent {
        conditions.tabs_rad[tab] += by_rad;
    }
    let air = scenario.built.throw.air.made_still();
    let masses = LevelMasses::of(&built.vehicle, &air, conditions, throttle_fraction);
    let of = |level: LevelMass, tab: Option<usize>| described(scenario, &level, tab);
    match masses {
        Ok(masses) => {
            let tab = masses.pitch_tab();
            let as_set = masses.as_set();
            Carries {
                as_set_not_found: as_set.as_ref().err().map(LevelMassError::to_string),
                as_set: as_set.ok().map(|level| of(level, tab)),
                tab_re_set: masses.tab_re_set().map(|level| of(level, tab)),
            }
        }
        Err(error) => Carries {
            as_set: None,
            as_set_not_found: Some(error.to_string()),
            tab_re_set: None,
        },
    }
}

fn described(scenario: &LoadedScenario, level: &LevelMass, tab: Option<usize>) -> Greatest {
    let built = &scenario.airframe.built;
    Greatest {
        mass_g: level.mass_kg * 1e3,
        over_g: (built.mass.mass_kg - level.mass_kg) * 1e3,
        airspeed_m_s: level.flight.airspeed_m_s,
        alpha_deg: level.flight.alpha_rad.to_degrees(),
        stall_margin_deg: level.flight.stall_margin_rad.to_degrees(),
        tab: tab.zip(level.tab_rad).map(|(tab, angle_rad)| TabAngle {
            name: built.tabs[tab].name.clone(),
            angle_deg: angle_rad.to_degrees(),
            setting_deg: built.tabs[tab].setting_rad.to_degrees(),
        }),
        at_the_end: level.at_the_end,
    }
}
