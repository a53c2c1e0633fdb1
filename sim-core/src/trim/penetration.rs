//! Level flight at any throttle by moving a tab, and what a head wind leaves of a speed (MODEL.md § 10.2).

use super::{Power, SteadyFlight, Trimmer, walk};
use crate::aero::coefficients::TabEffect;

/// How far from its setting a tab is believed to act linearly, rad.
const FARTHEST_TAB_RAD: f64 = 20.0 * std::f64::consts::PI / 180.0;
/// Steps in which it is moved, rad.
const TAB_STEP_RAD: f64 = 0.5 * std::f64::consts::PI / 180.0;
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

    /// Level flight at each of some throttles with a tab moved for it, on the fast side of the least throttle; none where there is none
    /// before the wing stalls or the tab is 20° from its setting.
    ///
    /// # Panics
    /// Where there is no tab of that number.
    pub fn level_at_throttles(&self, tab: usize, throttles: &[f64]) -> Vec<Option<LevelByTab>> {
        let fast_side = self.fast_side(tab);
        let setting = self.conditions.tabs_rad[tab];
        throttles
            .iter()
            .map(|&throttle| {
                let enough = |flight: &SteadyFlight| flight.throttle_fraction <= throttle;
                let place = fast_side.iter().rposition(enough)?;
                // The first may lie a hair on the slow side of the least throttle; the next cannot.
                let near = fast_side.get(place.max(1)).or(fast_side.first())?;
                let start = near.throttle_fraction;
                let reached = walk(near.clone(), |last, share| {
                    let power = Power::LevelByTab {
                        throttle: start + (throttle - start) * share,
                        tab,
                    };
                    self.solve(power, 0.0, self.unknowns(last).push(angle(last, tab)))
                });
                let flight = reached.ok()?;
                let tab_rad = angle(&flight, tab);
                let is_believed =
                    flight.stall_margin_rad >= 0.0 && (tab_rad - setting).abs() <= FARTHEST_TAB_RAD;
                is_believed.then_some(LevelByTab { flight, tab_rad })
            })
            .collect()
    }

    /// Level flights with a tab moved step by step, from that of the least throttle on, faster and faster.
    fn fast_side(&self, tab: usize) -> Vec<SteadyFlight> {
        let Ok(level) = self.level() else {
            return Vec::new();
        };
        let go = |step_rad: f64| {
            let mut chain: Vec<SteadyFlight> = Vec::new();
            let steps = (FARTHEST_TAB_RAD / TAB_STEP_RAD) as usize;
            for i in 1..=steps {
                let mut conditions = self.conditions.clone();
                conditions.tabs_rad[tab] += step_rad * i as f64;
                let at = self.with_conditions(conditions);
                let last = chain.last().unwrap_or(&level);
                let guess = at.unknowns(last).push(last.throttle_fraction);
                match at.solve(Power::Level, 0.0, guess) {
                    Ok(next) if next.throttle_fraction <= 1.0 && next.stall_margin_rad >= 0.0 => {
                        chain.push(next);
                    }
                    _ => break,
                }
            }
            chain
        };
        let (mut slow, mut fast) = (go(-TAB_STEP_RAD), go(TAB_STEP_RAD));
        let speed = |chain: &[SteadyFlight]| chain.first().map(|one| one.airspeed_m_s);
        if speed(&slow).unwrap_or(level.airspeed_m_s) > speed(&fast).unwrap_or(level.airspeed_m_s) {
            std::mem::swap(&mut slow, &mut fast);
        }
        slow.reverse();
        slow.push(level);
        slow.append(&mut fast);
        let least = (0..slow.len()).min_by(|&a, &b| {
            let throttle = |i: usize| slow[i].throttle_fraction;
            throttle(a).total_cmp(&throttle(b))
        });
        slow.split_off(least.unwrap_or(0))
    }
}

/// Angle of a tab in a steady flight, rad.
fn angle(flight: &SteadyFlight, tab: usize) -> f64 {
    flight.segment.tabs[tab].start
}
