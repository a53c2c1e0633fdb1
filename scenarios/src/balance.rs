//! Where an airframe balances and what that means for its glide (MODEL.md § 22).

mod doubt;
mod marks;

use crate::build::BuiltAirframe;
use crate::summary::refine::largest;
pub use doubt::{BalanceDoubt, GlideDoubt, doubt};
pub use marks::{Mark, TrailingEdge, mark, trailing_edges};
use serde::Serialize;
use sim_core::air::Air;
use sim_core::error::TrimError;
use sim_core::trim::{SteadyFlight, TrimConditions, Trimmer};

/// What the balance of an airframe comes to, motors off, in the air of a day at the ground.
#[derive(Clone, Debug, Serialize)]
#[allow(non_snake_case, reason = "N keeps its capital in files")]
pub struct Balance {
    /// Mass, g.
    pub mass_g: f64,
    /// Balance point, mm aft of the nose datum: the mark to draw on the foam.
    pub balance_station_mm: f64,
    /// Balance point, mm right of the centre line.
    pub balance_right_mm: f64,
    /// Balance point, mm up from the reference line.
    pub balance_up_mm: f64,
    /// Mass per reference area, g/dm².
    pub wing_loading_g_dm2: f64,
    /// Neutral point, mm aft of the nose datum.
    pub neutral_point_station_mm: f64,
    /// Neutral point behind balance point, share of the reference chord.
    pub static_margin_fraction: f64,
    /// The steady glide; absent where there is none, see `glide_not_found`.
    pub glide: Option<Glide>,
    /// Why there is no glide.
    pub glide_not_found: Option<String>,
    /// The flattest glide the polar allows; absent for a table without lift.
    pub best_glide: Option<Glide>,
    /// The slowest sink the polar allows.
    pub least_sink: Option<Glide>,
    /// What to bend on each tab alone to trim at best glide.
    pub bends_to_best_glide: Vec<Bend>,
    /// Balance points that glide, stations in mm aft of the nose datum; absent where none does.
    pub gliding_window_mm: Option<Window>,
    /// Ballast for the margin asked for; absent where none at that place gives it.
    pub ballast: Option<Ballast>,
}

/// A steady glide.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Glide {
    /// Airspeed, m/s.
    pub airspeed_m_s: f64,
    /// Sinking speed, m/s.
    pub sink_m_s: f64,
    /// Distance per height.
    pub glide_ratio: f64,
    /// Incidence, deg.
    pub alpha_deg: f64,
    /// Lift coefficient.
    pub lift_coefficient: f64,
    /// Reynolds number of the reference chord.
    pub reynolds_number: f64,
}

/// A bend of a tab.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Bend {
    /// The tab.
    pub tab: String,
    /// Angle it is at, deg, trailing edge down positive.
    pub setting_deg: f64,
    /// Angle that trims at best glide, deg.
    pub to_best_glide_deg: f64,
}

/// A stretch of stations.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Window {
    /// Fore end, mm.
    pub from_mm: f64,
    /// Aft end, mm.
    pub to_mm: f64,
    /// Whether the present balance point lies inside.
    pub holds_balance: bool,
}

/// A lump of ballast.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Ballast {
    /// Where it goes, mm aft of the nose datum.
    pub station_mm: f64,
    /// Margin it is for, share of the reference chord.
    pub margin_fraction: f64,
    /// Its mass, g.
    pub mass_g: f64,
}

/// What the ballast is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BallastWish {
    /// Where it would go, m aft of the nose datum.
    pub station_m: f64,
    /// Static margin to reach.
    pub margin_fraction: f64,
}

/// Steps of the scan over incidence.
const POLAR_STEPS: usize = 400;
/// Bends beyond this are no answer, deg: the range of a tab's setting in a file.
const LARGEST_BEND_DEG: f64 = 60.0;
/// How far ahead of the neutral point balance points are looked at, chords.
const WINDOW_CHORDS: f64 = 0.6;
/// Steps of that scan in a chord.
const WINDOW_STEPS_PER_CHORD: f64 = 200.0;
/// Resolution of the window's ends, m.
const WINDOW_RESOLUTION_M: f64 = 5e-5;

/// Works an airframe's balance out in the air of a day.
pub fn balance(airframe: &BuiltAirframe, air: &Air<f64>, wish: &BallastWish) -> Balance {
    let (vehicle, mass) = (&airframe.vehicle, &airframe.mass);
    let table = &vehicle.coefficients;
    let station_m = mass.balance.station_m;
    let polar = Polar { airframe, air };
    let answers = polar.answers();
    let (neutral_m, glide, best) = (answers.neutral_m, answers.glide, answers.best);
    let target_m = neutral_m - wish.margin_fraction * table.chord;
    let ballast_kg = mass.mass_kg * (station_m - target_m) / (target_m - wish.station_m);
    Balance {
        mass_g: mass.mass_kg * 1e3,
        balance_station_mm: station_m * 1e3,
        balance_right_mm: mass.balance.right_m * 1e3,
        balance_up_mm: mass.balance.up_m * 1e3,
        wing_loading_g_dm2: mass.mass_kg * 1e3 / (table.area * 1e2),
        neutral_point_station_mm: neutral_m * 1e3,
        static_margin_fraction: answers.margin,
        glide_not_found: glide.as_ref().err().map(ToString::to_string),
        glide: glide.ok(),
        best_glide: best,
        least_sink: answers.least_sink,
        bends_to_best_glide: answers.bends,
        gliding_window_mm: best.and_then(|best| window(&polar, neutral_m, best.glide_ratio)),
        ballast: (ballast_kg > 0.0 && ballast_kg.is_finite()).then_some(Ballast {
            station_mm: wish.station_m * 1e3,
            margin_fraction: wish.margin_fraction,
            mass_g: ballast_kg * 1e3,
        }),
    }
}

/// Station of the neutral point of the linear table, m aft of the nose datum.
pub(crate) fn neutral_point_m(airframe: &BuiltAirframe) -> f64 {
    let table = &airframe.vehicle.coefficients;
    let reference_m = airframe.mass.balance.station_m - table.reference.x;
    reference_m - table.chord * table.pitch_alpha / table.lift_alpha
}

/// The steady glide as the tabs are set; the best glide of the polar where there is none; nothing for a table without lift.
pub(crate) fn glide_or_best(airframe: &BuiltAirframe, air: &Air<f64>) -> Option<Glide> {
    let polar = Polar { airframe, air };
    match polar.trimmed(0.0) {
        Ok(steady) => Some(polar.described(&steady)),
        Err(_) => polar.best(|glide| glide.glide_ratio),
    }
}

/// What hangs on the coefficients alone, and is soon worked out.
struct Answers {
    neutral_m: f64,
    margin: f64,
    glide: Result<Glide, TrimError>,
    best: Option<Glide>,
    least_sink: Option<Glide>,
    bends: Vec<Bend>,
}

struct Polar<'a> {
    airframe: &'a BuiltAirframe,
    air: &'a Air<f64>,
}

impl Polar<'_> {
    fn answers(&self) -> Answers {
        let table = &self.airframe.vehicle.coefficients;
        let station_m = self.airframe.mass.balance.station_m;
        let neutral_m = neutral_point_m(self.airframe);
        let best = self.best(|glide| glide.glide_ratio);
        Answers {
            neutral_m,
            margin: (neutral_m - station_m) / table.chord,
            glide: self.trimmed(0.0).map(|steady| self.described(&steady)),
            best,
            least_sink: self.best(|glide| -glide.sink_m_s),
            bends: best.map_or(Vec::new(), |best| {
                bends(self.airframe, best.lift_coefficient)
            }),
        }
    }

    fn tabs(&self) -> impl Iterator<Item = f64> + '_ {
        self.airframe.tabs.iter().map(|tab| tab.setting_rad)
    }

    /// The steady glide with the balance point moved aft by a distance (m).
    fn trimmed(&self, aft_m: f64) -> Result<SteadyFlight, TrimError> {
        let vehicle = self.airframe.vehicle.with_balance_moved_aft(aft_m);
        let conditions = TrimConditions {
            tabs_rad: self.tabs().collect(),
            steering_shares: self.airframe.steering_shares.clone(),
            height_m: 0.0,
            charge_fraction: 1.0,
        };
        Trimmer::new(&vehicle, self.air, conditions).glide()
    }

    fn described(&self, steady: &SteadyFlight) -> Glide {
        let table = &self.airframe.vehicle.coefficients;
        Glide {
            airspeed_m_s: steady.airspeed_m_s,
            sink_m_s: -steady.climb_m_s,
            glide_ratio: steady.glide_ratio().unwrap_or(f64::MAX),
            alpha_deg: steady.alpha_rad.to_degrees(),
            lift_coefficient: table.at(steady.alpha_rad, 0.0, self.tabs()).lift,
            reynolds_number: self.reynolds_number(steady.airspeed_m_s),
        }
    }

    fn reynolds_number(&self, airspeed_m_s: f64) -> f64 {
        let air = self.air.atmosphere.at(0.0);
        air.density_kg_m3 * airspeed_m_s * self.airframe.vehicle.coefficients.chord
            / air.viscosity_pa_s
    }

    /// Largest incidence taken for gliding, rad.
    fn alpha_limit(&self) -> f64 {
        let stall = &self.airframe.vehicle.post_stall;
        stall.alpha_stall - stall.alpha_blend
    }

    /// Glide on the polar at an incidence (rad), trimmed there or not; none without lift.
    fn glide_at(&self, alpha: f64) -> Option<Glide> {
        let vehicle = &self.airframe.vehicle;
        let (table, gravity) = (&vehicle.coefficients, self.air.gravity.at(0.0));
        let at = table.at(alpha, 0.0, self.tabs());
        if at.lift <= 0.0 || at.drag <= 0.0 {
            return None;
        }
        let path = (at.drag / at.lift).atan();
        let density = self.air.atmosphere.density(0.0);
        let airspeed_m_s =
            (2.0 * vehicle.mass * gravity * path.cos() / (density * table.area * at.lift)).sqrt();
        Some(Glide {
            airspeed_m_s,
            sink_m_s: airspeed_m_s * path.sin(),
            glide_ratio: at.lift / at.drag,
            alpha_deg: alpha.to_degrees(),
            lift_coefficient: at.lift,
            reynolds_number: self.reynolds_number(airspeed_m_s),
        })
    }

    /// The glide on the polar, short of stall, with the largest merit.
    fn best(&self, merit: impl Fn(&Glide) -> f64) -> Option<Glide> {
        let limit = self.alpha_limit().min(std::f64::consts::FRAC_PI_2);
        let step = 2.0 * limit / POLAR_STEPS as f64;
        let value = |alpha: f64| {
            self.glide_at(alpha)
                .map_or(f64::NEG_INFINITY, |g| merit(&g))
        };
        let points: Vec<(f64, f64)> = (0..=POLAR_STEPS)
            .map(|i| -limit + step * i as f64)
            .map(|alpha| (alpha, value(alpha)))
            .collect();
        let (fine, _) = largest(&points[..], value)?;
        self.glide_at(fine)
    }

    /// Whether the airframe glides well enough with its balance point moved aft (m) to be called gliding.
    fn glides(&self, aft_m: f64, least_ratio: f64) -> bool {
        self.trimmed(aft_m).is_ok_and(|steady| {
            steady.alpha_rad <= self.alpha_limit()
                && steady
                    .glide_ratio()
                    .is_some_and(|ratio| ratio >= least_ratio)
        })
    }
}

/// What each tab that pitches must be bent to, alone, for no pitching moment at a lift coefficient.
fn bends(airframe: &BuiltAirframe, lift: f64) -> Vec<Bend> {
    let table = &airframe.vehicle.coefficients;
    let arm = table.reference.x / table.chord;
    let settings = || airframe.tabs.iter().map(|tab| tab.setting_rad);
    let now = table.at(0.0, 0.0, settings());
    airframe
        .tabs
        .iter()
        .zip(&table.tabs)
        .filter_map(|(tab, effect)| {
            // lift = now.lift + C_Lα α + C_Lδ Δδ and 0 = now.pitch + C_mα α + C_mδ Δδ + lift·arm.
            let per_bend = effect.pitch - table.pitch_alpha * effect.lift / table.lift_alpha;
            let alpha_alone = (lift - now.lift) / table.lift_alpha;
            let change = -(now.pitch + table.pitch_alpha * alpha_alone + lift * arm) / per_bend;
            let to_deg = (tab.setting_rad + change).to_degrees();
            (effect.pitch != 0.0 && to_deg.abs() <= LARGEST_BEND_DEG).then(|| Bend {
                tab: tab.name.clone(),
                setting_deg: tab.setting_rad.to_degrees(),
                to_best_glide_deg: to_deg,
            })
        })
        .collect()
}

/// The stretch of balance points that glide: the one that holds the present point, else the longest.
fn window(polar: &Polar<'_>, neutral_m: f64, best_ratio: f64) -> Option<Window> {
    let chord = polar.airframe.vehicle.coefficients.chord;
    let present_m = polar.airframe.mass.balance.station_m;
    let glides = |station_m: f64| polar.glides(station_m - present_m, 0.5 * best_ratio);
    let count = (WINDOW_CHORDS * WINDOW_STEPS_PER_CHORD) as usize;
    let station = |i: usize| neutral_m - chord / WINDOW_STEPS_PER_CHORD * (i as f64 + 0.5);
    let good: Vec<bool> = (0..count).map(|i| glides(station(i))).collect();
    // Stretches of good stations, as (aftmost, foremost) indices.
    let mut stretches: Vec<(usize, usize)> = Vec::new();
    for (i, _) in good.iter().enumerate().filter(|(_, good)| **good) {
        match stretches.last_mut() {
            Some((_, fore)) if *fore + 1 == i => *fore = i,
            _ => stretches.push((i, i)),
        }
    }
    let edge = |good: usize, bad: Option<usize>, outermost: f64| {
        let (mut inside, mut outside) = (station(good), bad.map_or(outermost, station));
        while (inside - outside).abs() > WINDOW_RESOLUTION_M {
            let middle = 0.5 * (inside + outside);
            if glides(middle) {
                inside = middle;
            } else {
                outside = middle;
            }
        }
        inside
    };
    let ends = |&(aft, fore): &(usize, usize)| {
        let from = edge(
            fore,
            (fore + 1 < count).then_some(fore + 1),
            station(count - 1),
        );
        let to = edge(aft, aft.checked_sub(1), neutral_m);
        (from, to)
    };
    let windows: Vec<(f64, f64)> = stretches.iter().map(ends).collect();
    let holds = |w: &&(f64, f64)| (w.0..=w.1).contains(&present_m);
    let longest = || {
        windows
            .iter()
            .max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)))
    };
    let chosen = windows.iter().find(holds).or_else(longest)?;
    Some(Window {
        from_mm: chosen.0 * 1e3,
        to_mm: chosen.1 * 1e3,
        holds_balance: holds(&chosen),
    })
}

#[cfg(test)]
mod tests;
