//! Level flight at any throttle by moving a tab, and what a head wind leaves of a speed (MODEL.md § 10.2).

use super::{Power, SteadyFlight, Trimmer, walk};
use crate::aero::coefficients::TabEffect;

/// How far from its setting a tab is believed to act linearly, rad.
const FARTHEST_TAB_RAD: f64 = 20.0 * std::f64::consts::PI / 180.0;
/// Sink that still counts as holding height, m/s: what rounding leaves.
const NO_SINK_M_S: f64 = 1e-9;

/// Level flight at a throttle, one tab moved for it.
#[derive(Clone, Debug, PartialEq)]
pub struct LevelByTab {
    /// The steady flight.
    pub flight: SteadyFlight,
    /// Angle of the tab, rad.
    pub tab_rad: f64,
}

impl SteadyFlight {
    /// Horizontal speed through the air, m/s: what a head wind is taken off.
    pub fn horizontal_airspeed_m_s(&self) -> f64 {
        self.airspeed_m_s * libm::cos(self.path_angle_rad)
    }

    /// Whether it does not sink.
    pub fn holds_height(&self) -> bool {
        self.climb_m_s >= -NO_SINK_M_S
    }

    /// Speed over the ground, m/s, against a uniform horizontal wind (m/s); negative where it is blown back. Against a negative wind: with
    /// one from behind.
    pub fn ground_speed_against_m_s(&self, wind_m_s: f64) -> f64 {
        self.horizontal_airspeed_m_s() - wind_m_s
    }

    /// Height lost over a distance (m) flown against a wind (m/s; negative: with it), m; negative where it climbs, none where it is not
    /// flown at all.
    pub fn height_lost_over_m(&self, distance_m: f64, wind_m_s: f64) -> Option<f64> {
        let speed = self.ground_speed_against_m_s(wind_m_s);
        (speed > 0.0).then(|| -self.climb_m_s * distance_m / speed)
    }
}

impl Trimmer<'_> {
    /// The tab that trims in pitch: of those that neither roll nor yaw, the one with the largest pitching moment.
    pub fn pitch_tab(&self) -> Option<usize> {
        let is_for_pitch =
            |tab: &TabEffect<f64>| tab.pitch != 0.0 && tab.roll == 0.0 && tab.yaw == 0.0;
        let tabs = self.vehicle.coefficients.tabs.iter().enumerate();
        tabs.filter(|(_, tab)| is_for_pitch(tab))
            .max_by(|a, b| a.1.pitch.abs().total_cmp(&b.1.pitch.abs()))
            .map(|(i, _)| i)
    }

    /// Level flight at each of some throttles with a tab moved for it, going from level flight as set; none where there is none on that way
    /// before the wing stalls or the tab is 20° from its setting.
    ///
    /// # Panics
    /// Where there is no tab of that number.
    pub fn level_at_throttles(&self, tab: usize, throttles: &[f64]) -> Vec<Option<LevelByTab>> {
        let setting = self.conditions.tabs_rad[tab];
        let Ok(level) = self.level() else {
            return vec![None; throttles.len()];
        };
        let angle = |flight: &SteadyFlight| flight.segment.tabs[tab].start;
        let start = level.throttle_fraction;
        throttles
            .iter()
            .map(|&throttle| {
                let reached = walk(level.clone(), |last, share| {
                    let power = Power::LevelByTab {
                        throttle: start + (throttle - start) * share,
                        tab,
                    };
                    self.solve(power, 0.0, self.unknowns(last).push(angle(last)))
                });
                let flight = reached.ok()?;
                let tab_rad = angle(&flight);
                let is_believed =
                    flight.stall_margin_rad >= 0.0 && (tab_rad - setting).abs() <= FARTHEST_TAB_RAD;
                is_believed.then_some(LevelByTab { flight, tab_rad })
            })
            .collect()
    }
}
