//! The greatest mass that flies level at a throttle (MODEL.md § 25).

use super::search::Found;
use super::{Power, SteadyFlight, TrimConditions, Trimmer};
use crate::aero::coefficients::TabEffect;
use crate::air::Air;
use crate::root::{false_position, golden_section};
use crate::vehicle::Vehicle;
use nalgebra::DVector;
use thiserror::Error;

/// Steps of the scan over incidence, rad.
const STEP_RAD: f64 = 0.5 * std::f64::consts::PI / 180.0;
/// How far from its setting a tab is believed to act linearly, rad.
const FARTHEST_TAB_RAD: f64 = 20.0 * std::f64::consts::PI / 180.0;
/// Largest incidence looked at where nothing stalls, rad.
const LARGEST_RAD: f64 = 0.6;
/// Least lift coefficient looked at.
const LEAST_LIFT: f64 = 0.05;
/// To what the best incidence is refined, rad; the mass is flat there.
const FINE_RAD: f64 = 1e-6;
/// Airspeeds between which thrust and drag are balanced for a first guess, m/s.
const GUESSED_M_S: (f64, f64) = (0.2, 60.0);

/// Level flight of an airframe of some mass at the throttle asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct LevelMass {
    /// The mass, kg.
    pub mass_kg: f64,
    /// Angle of the tab that trims in pitch, rad; none where the vehicle has no such tab.
    pub tab_rad: Option<f64>,
    /// The flight.
    pub flight: SteadyFlight,
    /// Whether it is the end of what is looked at (stall, or the tab's 20°) that keeps the mass from being greater.
    pub at_the_end: bool,
}

/// Why there is no greatest mass.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum LevelMassError {
    /// Level flight of no mass, at no incidence short of stall.
    #[error(
        "not even the lightest airframe flies level at that throttle, at any incidence short of stall"
    )]
    NoneFliesLevel,
    /// Level flight of no mass with the tabs as they are set.
    #[error(
        "as the tabs are set no mass flies level at that throttle short of stall: the pitch tab would have to be {by_deg:+.1} deg further (trailing edge down positive)"
    )]
    SetOtherwise {
        /// Least change of the tab with which some mass flies level, deg.
        by_deg: f64,
    },
    /// The same of a vehicle without a tab that trims in pitch.
    #[error(
        "as it is balanced no mass flies level at that throttle short of stall, and no tab trims it"
    )]
    BalancedOtherwise,
    /// The airframe has no motor.
    #[error("the airframe has no motor")]
    NoMotor,
}

/// Level flights of every mass that a throttle carries, over incidence.
#[derive(Debug)]
pub struct LevelMasses {
    trimmer: OwnTrimmer,
    throttle_fraction: f64,
    tab: usize,
    tab_is_real: bool,
    setting_rad: f64,
    mass_kg: f64,
    flights: Vec<At>,
}

/// A vehicle with what is held.
#[derive(Debug)]
struct OwnTrimmer {
    vehicle: Vehicle<f64>,
    air: Air<f64>,
    conditions: TrimConditions,
}

impl OwnTrimmer {
    fn trimmer(&self) -> Trimmer<'_> {
        Trimmer::new(&self.vehicle, &self.air, self.conditions.clone())
    }
}

/// One of them.
#[derive(Clone, Debug)]
struct At {
    alpha_rad: f64,
    tab_rad: f64,
    mass_kg: f64,
    unknowns: DVector<f64>,
    flight: SteadyFlight,
}

impl LevelMasses {
    /// Follows level flight at a throttle over incidence, the mass at the balance point and the tab that trims in pitch as unknowns.
    ///
    /// Equation: MODEL.md § 25. Units: SI. Valid for: coefficients that do not change with speed.
    ///
    /// # Errors
    /// [`LevelMassError::NoMotor`], [`LevelMassError::NoneFliesLevel`].
    pub fn of(
        vehicle: &Vehicle<f64>,
        air: &Air<f64>,
        mut conditions: TrimConditions,
        throttle_fraction: f64,
    ) -> Result<Self, LevelMassError> {
        if vehicle.motors.is_empty() {
            return Err(LevelMassError::NoMotor);
        }
        let mut vehicle = vehicle.clone();
        let real = Trimmer::new(&vehicle, air, conditions.clone()).pitch_tab();
        // Without a tab one that does nothing but pitch stands in; only its angle 0 counts.
        let tab = real.unwrap_or_else(|| {
            vehicle.coefficients.tabs.push(TabEffect {
                lift: 0.0,
                drag: 0.0,
                pitch: -1.0,
                side: 0.0,
                roll: 0.0,
                yaw: 0.0,
            });
            conditions.tabs_rad.push(0.0);
            conditions.tabs_rad.len() - 1
        });
        let mut masses = LevelMasses {
            throttle_fraction,
            tab,
            tab_is_real: real.is_some(),
            setting_rad: conditions.tabs_rad[tab],
            mass_kg: vehicle.mass,
            flights: Vec::new(),
            trimmer: OwnTrimmer {
                vehicle,
                air: air.clone(),
                conditions,
            },
        };
        masses.flights = masses.scan();
        if masses.flights.is_empty() {
            return Err(LevelMassError::NoneFliesLevel);
        }
        Ok(masses)
    }

    /// From the least lift coefficient to stall, those that are found.
    fn scan(&self) -> Vec<At> {
        let trimmer = self.trimmer.trimmer();
        let table = &self.trimmer.vehicle.coefficients;
        let low = (LEAST_LIFT - table.lift_zero) / table.lift_alpha;
        let high = self.trimmer.vehicle.post_stall.alpha_stall.min(LARGEST_RAD);
        let steps = ((high - low) / STEP_RAD).ceil().max(0.0) as usize;
        let mut flights: Vec<At> = Vec::new();
        for i in 0..=steps {
            let alpha_rad = low + (high - low) * i as f64 / steps.max(1) as f64;
            let near = flights.last().map(|at| at.unknowns.clone());
            flights.extend(self.at(&trimmer, alpha_rad, near));
        }
        flights
    }

    /// Level flight at an incidence of the balance point's velocity, from a guess or from scratch.
    fn at(&self, trimmer: &Trimmer<'_>, alpha_rad: f64, near: Option<DVector<f64>>) -> Option<At> {
        let power = Power::LevelByMass {
            throttle: self.throttle_fraction,
            tab: self.tab,
            alpha_rad,
        };
        let from = |guess: DVector<f64>| {
            let Found { x, flight } = trimmer.solve_for(power, 0.0, guess).ok()?;
            let (tab_rad, ratio) = (x[x.len() - 2], x[x.len() - 1]);
            let is_flown = ratio > 0.0 && flight.stall_margin_rad >= 0.0;
            is_flown.then_some(At {
                alpha_rad,
                tab_rad,
                mass_kg: ratio * self.mass_kg,
                unknowns: x,
                flight,
            })
        };
        near.and_then(from)
            .or_else(|| from(self.guess(trimmer, alpha_rad)?))
    }

    /// Straight level flight by the table: the airspeed at which thrust is drag, the mass that lift and thrust carry.
    fn guess(&self, trimmer: &Trimmer<'_>, alpha_rad: f64) -> Option<DVector<f64>> {
        let table = &self.trimmer.vehicle.coefficients;
        let tabs = self.trimmer.conditions.tabs_rad.iter().copied();
        let at = table.at(alpha_rad, 0.0, tabs);
        let flown = |speed: f64| {
            let mut x = trimmer.first_guess();
            (x[0], x[1], x[4]) = (speed, alpha_rad, alpha_rad);
            trimmer.settle_rotors(&mut x, self.throttle_fraction, 0.0);
            let thrust = trimmer.thrust_n(&x, self.throttle_fraction);
            let density = self
                .trimmer
                .air
                .atmosphere
                .density(self.trimmer.conditions.height_m);
            (x, thrust, 0.5 * density * speed * speed * table.area)
        };
        let excess = |speed: f64| {
            let (_, thrust, pressure_area) = flown(speed);
            thrust * libm::cos(alpha_rad) - pressure_area * at.drag
        };
        let (slow, fast) = GUESSED_M_S;
        if !(excess(slow) > 0.0 && excess(fast) < 0.0) {
            return None;
        }
        let (x, thrust, pressure_area) = flown(false_position(slow, fast, excess));
        let gravity = self
            .trimmer
            .air
            .gravity
            .at(self.trimmer.conditions.height_m);
        let carried_kg = (pressure_area * at.lift + thrust * libm::sin(alpha_rad)) / gravity;
        (carried_kg > 0.0).then(|| x.push(self.setting_rad).push(carried_kg / self.mass_kg))
    }

    fn found(&self, at: At, at_the_end: bool) -> LevelMass {
        LevelMass {
            mass_kg: at.mass_kg,
            tab_rad: self.tab_is_real.then_some(at.tab_rad),
            flight: at.flight,
            at_the_end,
        }
    }

    /// Number of the tab that trims in pitch; none where there is none.
    pub fn pitch_tab(&self) -> Option<usize> {
        self.tab_is_real.then_some(self.tab)
    }

    /// The greatest mass that flies level with the tabs as they are set.
    ///
    /// # Errors
    /// [`LevelMassError::SetOtherwise`], [`LevelMassError::BalancedOtherwise`].
    pub fn as_set(&self) -> Result<LevelMass, LevelMassError> {
        let trimmer = self.trimmer.trimmer();
        let off = |at: &At| at.tab_rad - self.setting_rad;
        let roots = self.flights.windows(2).filter_map(|pair| {
            let (a, b) = (&pair[0], &pair[1]);
            if (off(a) > 0.0) == (off(b) > 0.0) {
                return None;
            }
            let near = |alpha: f64| self.at(&trimmer, alpha, Some(a.unknowns.clone()));
            let tab = |alpha: f64| near(alpha).map_or(f64::NAN, |at| off(&at));
            near(false_position(a.alpha_rad, b.alpha_rad, tab)).filter(|at| off(at).abs() < 1e-7)
        });
        match roots.max_by(|a, b| a.mass_kg.total_cmp(&b.mass_kg)) {
            Some(greatest) => Ok(self.found(greatest, false)),
            None if !self.tab_is_real => Err(LevelMassError::BalancedOtherwise),
            None => {
                let least = self.flights.iter().map(off);
                let by = least.min_by(|a, b| a.abs().total_cmp(&b.abs()));
                Err(LevelMassError::SetOtherwise {
                    by_deg: by.unwrap_or(f64::NAN).to_degrees(),
                })
            }
        }
    }

    /// The greatest mass over the angles of the tab that trims in pitch, up to 20° from its setting; none without such a tab.
    pub fn tab_re_set(&self) -> Option<LevelMass> {
        if !self.tab_is_real {
            return None;
        }
        let trimmer = self.trimmer.trimmer();
        let is_believed = |at: &At| (at.tab_rad - self.setting_rad).abs() <= FARTHEST_TAB_RAD;
        let believed: Vec<&At> = self.flights.iter().filter(|at| is_believed(at)).collect();
        let top = (0..believed.len())
            .max_by(|&i, &j| believed[i].mass_kg.total_cmp(&believed[j].mass_kg))?;
        let (low, high) = (top.saturating_sub(1), (top + 1).min(believed.len() - 1));
        let near = |alpha: f64| {
            self.at(&trimmer, alpha, Some(believed[top].unknowns.clone()))
                .filter(is_believed)
        };
        let mass = |alpha: f64| near(alpha).map_or(0.0, |at| at.mass_kg);
        let ends = (believed[low].alpha_rad, believed[high].alpha_rad);
        let (refined, _) = golden_section(ends, FINE_RAD, mass);
        let best = near(refined).filter(|at| at.mass_kg >= believed[top].mass_kg);
        let at_the_end = top == 0 || top + 1 == believed.len();
        Some(self.found(best.unwrap_or_else(|| believed[top].clone()), at_the_end))
    }
}
