//! Steady flight: glide, power at a throttle, level flight, steady turns (MODEL.md § 10).

pub mod endurance;
pub mod level_mass;
pub mod penetration;
mod search;

use crate::air::Air;
use crate::error::TrimError;
use crate::forces::{Evaluation, evaluate};
use crate::number::Widen;
use crate::segment::Segment;
use crate::state::State;
use crate::vehicle::Vehicle;
use num_dual::Dual64;

/// What is held while looking for steady flight.
#[derive(Clone, Debug, PartialEq)]
pub struct TrimConditions {
    /// Angle of each tab, rad.
    pub tabs_rad: Vec<f64>,
    /// What share of the left-minus-right difference each motor gets (as in [`crate::pilot::Pilot`]).
    pub steering_shares: Vec<f64>,
    /// Height over the ground at which density is taken, m.
    pub height_m: f64,
    /// Charge left in the cell, 0 to 1.
    pub charge_fraction: f64,
}

/// A steady flight: straight, or a turn of constant radius, climb and bank.
#[derive(Clone, Debug, PartialEq)]
pub struct SteadyFlight {
    /// Common throttle, 0 to 1.
    pub throttle_fraction: f64,
    /// Left-minus-right difference.
    pub left_minus_right_fraction: f64,
    /// Speed through the air (of the balance point), m/s.
    pub airspeed_m_s: f64,
    /// Incidence at the reference point, rad.
    pub alpha_rad: f64,
    /// Sideslip at the reference point, rad.
    pub beta_rad: f64,
    /// Bank, rad.
    pub bank_rad: f64,
    /// Pitch angle, rad.
    pub pitch_rad: f64,
    /// Climb angle of the path, rad; negative gliding.
    pub path_angle_rad: f64,
    /// Turn rate, rad/s, to the right positive.
    pub turn_rate_rad_s: f64,
    /// Climb speed, m/s; negative sinking.
    pub climb_m_s: f64,
    /// How far from stall: stall incidence minus |incidence|, rad; negative beyond it.
    pub stall_margin_rad: f64,
    /// The state, heading north.
    pub state: State<f64>,
    /// The controls, as a segment.
    pub segment: Segment<f64>,
    /// Size of the largest scaled residual left.
    pub residual: f64,
}

impl SteadyFlight {
    /// Turn radius over the ground in still air, m; none in straight flight (turn rate below 1e-9 rad/s).
    pub fn turn_radius_m(&self) -> Option<f64> {
        (self.turn_rate_rad_s.abs() > 1e-9).then(|| {
            self.airspeed_m_s * libm::cos(self.path_angle_rad) / self.turn_rate_rad_s.abs()
        })
    }

    /// Height gained in one full turn, m; none in straight flight.
    pub fn height_change_per_turn_m(&self) -> Option<f64> {
        self.turn_radius_m()
            .map(|_| self.climb_m_s * std::f64::consts::TAU / self.turn_rate_rad_s.abs())
    }

    /// Glide ratio through still air: distance per height lost; none where height is not lost (sinking at less than 1e-6 m/s).
    pub fn glide_ratio(&self) -> Option<f64> {
        (self.climb_m_s < -1e-6).then(|| -1.0 / libm::tan(self.path_angle_rad))
    }
}

/// How power is set.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Power {
    Throttle(f64),
    Level,
    /// Level flight at a throttle, by the angle of a tab.
    LevelByTab {
        throttle: f64,
        tab: usize,
    },
    /// Level flight at a throttle and an incidence, by the angle of a tab and the mass at the balance point (as a share of the vehicle's).
    LevelByMass {
        throttle: f64,
        tab: usize,
        alpha_rad: f64,
    },
}

/// A vehicle in given air, ready to be asked for steady flights.
#[derive(Debug)]
pub struct Trimmer<'a> {
    vehicle: &'a Vehicle<f64>,
    air: Air<f64>,
    wide_vehicle: Vehicle<Dual64>,
    wide_air: Air<Dual64>,
    conditions: TrimConditions,
}

/// Throttles tried on the way from the glide to level flight.
const POWER_STEPS: usize = 20;
/// First share of the way that [`walk`] tries.
const FIRST_SHARE: f64 = 0.25;
/// Share of the way below which [`walk`] gives up.
const LEAST_SHARE: f64 = 1.0 / 1024.0;

impl<'a> Trimmer<'a> {
    /// Steady flights are looked for in this air made still (no wind, gusts or turbulence), away from the ground.
    pub fn new(vehicle: &'a Vehicle<f64>, air: &Air<f64>, conditions: TrimConditions) -> Self {
        let air = air.made_still();
        Trimmer {
            vehicle,
            wide_vehicle: Vehicle::widen(&[vehicle]),
            wide_air: Air::widen(&[&air]),
            air,
            conditions,
        }
    }

    /// The same vehicle and air under other conditions.
    fn with_conditions(&self, conditions: TrimConditions) -> Self {
        Trimmer {
            vehicle: self.vehicle,
            air: self.air.clone(),
            wide_vehicle: self.wide_vehicle.clone(),
            wide_air: self.wide_air.clone(),
            conditions,
        }
    }

    /// The still air steady flights are found in.
    pub fn air(&self) -> &Air<f64> {
        &self.air
    }

    /// Gliding flight, motors off.
    ///
    /// # Errors
    /// [`TrimError::NotFound`].
    pub fn glide(&self) -> Result<SteadyFlight, TrimError> {
        let mut guess = self.first_guess();
        self.settle_rotors(&mut guess, 0.0, 0.0);
        self.solve(Power::Throttle(0.0), 0.0, guess)
    }

    /// Straight flight at a throttle.
    ///
    /// # Errors
    /// [`TrimError::NotFound`].
    pub fn power(&self, throttle_fraction: f64) -> Result<SteadyFlight, TrimError> {
        self.to_throttle(self.glide()?, throttle_fraction)
    }

    /// Straight flight at every one of some rising throttles; the list ends with the first that has none.
    pub fn power_curve(&self, throttles: &[f64]) -> Vec<Result<SteadyFlight, TrimError>> {
        let mut last = self.glide();
        let mut curve = Vec::new();
        for &throttle in throttles {
            last = last.and_then(|from| self.to_throttle(from, throttle));
            curve.push(last.clone());
            if last.is_err() {
                break;
            }
        }
        curve
    }

    /// Level flight and the throttle for it.
    ///
    /// # Errors
    /// [`TrimError::NotEnoughPower`], [`TrimError::NoThrottleNeeded`], [`TrimError::NoMotor`] or [`TrimError::NotFound`].
    pub fn level(&self) -> Result<SteadyFlight, TrimError> {
        if self.vehicle.motors.is_empty() {
            return Err(TrimError::NoMotor);
        }
        let mut last = self.glide()?;
        if last.climb_m_s >= 0.0 {
            return Err(TrimError::NoThrottleNeeded);
        }
        for i in 1..=POWER_STEPS {
            let next = self.to_throttle(last.clone(), i as f64 / POWER_STEPS as f64)?;
            if next.climb_m_s >= 0.0 {
                let share = last.climb_m_s / (last.climb_m_s - next.climb_m_s);
                let throttle = last.throttle_fraction
                    + share * (next.throttle_fraction - last.throttle_fraction);
                let guess = self.unknowns(&last).lerp(&self.unknowns(&next), share);
                return self.solve(Power::Level, 0.0, guess.push(throttle));
            }
            last = next;
        }
        Err(TrimError::NotEnoughPower {
            path_angle_deg: last.path_angle_rad.to_degrees(),
        })
    }

    /// Steady turn at a throttle and left-minus-right difference (positive turns right).
    ///
    /// # Errors
    /// [`TrimError::NotFound`].
    pub fn turn(
        &self,
        throttle_fraction: f64,
        left_minus_right: f64,
    ) -> Result<SteadyFlight, TrimError> {
        walk(self.power(throttle_fraction)?, |last, share| {
            self.continued(last, throttle_fraction, left_minus_right * share)
        })
        .map_err(|failure| failure.1)
    }

    /// Level steady turn at a left-minus-right difference, with the throttle for it.
    ///
    /// A positive difference pushes the nose right. Where the spiral motion grows by itself, the *steady* turn under it is to the left
    /// all the same: that turn has to be held back.
    ///
    /// # Errors
    /// As [`Trimmer::level`]; [`TrimError::TurnTooTight`] where the way to this difference ends before it.
    pub fn level_turn(&self, left_minus_right: f64) -> Result<SteadyFlight, TrimError> {
        let too_tight = |at: &SteadyFlight| TrimError::TurnTooTight {
            left_minus_right_fraction: left_minus_right,
            reached_fraction: at.left_minus_right_fraction,
            throttle_fraction: at.throttle_fraction,
        };
        let turn = walk(self.level()?, |last, share| {
            let guess = self.unknowns(last).push(last.throttle_fraction);
            let next = self.solve(Power::Level, left_minus_right * share, guess)?;
            // Beyond full throttle the duty is held, and what is found is no level flight of this airframe.
            if next.throttle_fraction > 1.0 {
                return Err(too_tight(last));
            }
            Ok(next)
        });
        turn.map_err(|failure| too_tight(&failure.0))
    }

    /// From one straight flight to that at another throttle.
    fn to_throttle(&self, from: SteadyFlight, throttle: f64) -> Result<SteadyFlight, TrimError> {
        let start = from.throttle_fraction;
        if throttle == start {
            return Ok(from);
        }
        walk(from, |last, share| {
            self.continued(last, start + (throttle - start) * share, 0.0)
        })
        .map_err(|failure| failure.1)
    }

    /// The steady flight near another one. Straight on first, else with the rotors settled anew at the old airspeed.
    fn continued(
        &self,
        from: &SteadyFlight,
        throttle: f64,
        difference: f64,
    ) -> Result<SteadyFlight, TrimError> {
        let mut settled = self.unknowns(from);
        self.settle_rotors(&mut settled, throttle, difference);
        let power = Power::Throttle(throttle);
        self.solve(power, difference, settled)
            .or_else(|_| self.solve(power, difference, self.unknowns(from)))
    }

    /// Forces, flow and power in a steady flight.
    pub fn evaluation(&self, steady: &SteadyFlight) -> Evaluation<f64> {
        evaluate(self.vehicle, &self.air, &steady.segment, 0.0, &steady.state)
    }
}

/// Goes from one steady flight to another in shares of the way (0 to 1), shorter where `solve` fails, longer where it does not. A failure
/// comes with the last steady flight on the way.
fn walk(
    mut last: SteadyFlight,
    solve: impl Fn(&SteadyFlight, f64) -> Result<SteadyFlight, TrimError>,
) -> Result<SteadyFlight, Box<(SteadyFlight, TrimError)>> {
    let (mut reached, mut step) = (0.0, FIRST_SHARE);
    while reached < 1.0 {
        let target = f64::min(reached + step, 1.0);
        match solve(&last, target) {
            Ok(next) => {
                last = next;
                reached = target;
                step *= 2.0;
            }
            Err(_) if step > LEAST_SHARE => step *= 0.5,
            Err(error) => return Err(Box::new((last, error))),
        }
    }
    Ok(last)
}
