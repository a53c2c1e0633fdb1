//! Steady flight: glide, power at a throttle, level flight, steady turns (MODEL.md § 10).

use crate::air::Air;
use crate::error::TrimError;
use crate::forces::{Evaluation, evaluate};
use crate::frames::quaternion_of_euler;
use crate::launch::steady_rotors;
use crate::number::{Number, Widen};
use crate::segment::{Line, Segment};
use crate::state::State;
use crate::vehicle::Vehicle;
use nalgebra::{DMatrix, DVector, Vector3};
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
/// Iterations of Newton's method.
const ITERATIONS: usize = 80;
/// Scaled residual at which the search ends.
const TARGET: f64 = 1e-13;
/// Scaled residual that rounding may leave; a search that ends above it has found nothing.
const ROUNDING: f64 = 1e-10;

impl<'a> Trimmer<'a> {
    /// Steady flights are looked for in this air made still (no wind, no gusts).
    pub fn new(vehicle: &'a Vehicle<f64>, air: &Air<f64>, conditions: TrimConditions) -> Self {
        let air = Air {
            mean_wind: Vector3::zeros(),
            gusts: Vec::new(),
            ..air.clone()
        };
        Trimmer {
            vehicle,
            wide_vehicle: Vehicle::widen(&[vehicle]),
            wide_air: Air::widen(&[&air]),
            air,
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

    fn segment<T: Number>(&self, throttle: T, difference: f64) -> Segment<T> {
        let throttles = self
            .conditions
            .steering_shares
            .iter()
            .map(|&share| {
                let wanted = throttle + T::constant(share * difference);
                let held = wanted.larger(T::zero());
                Line::constant(T::one().select_less(held, T::one(), held))
            })
            .collect();
        Segment {
            start_time: T::zero(),
            throttles,
            tabs: self
                .conditions
                .tabs_rad
                .iter()
                .map(|&tab| Line::constant(T::constant(tab)))
                .collect(),
            gusts_on: Vec::new(),
        }
    }

    /// Speed, incidence, sideslip, bank, pitch, turn rate, rotors: a state.
    fn state<T: Number>(&self, x: &[T]) -> State<T> {
        let [speed, alpha, beta, bank, pitch, turn] = [x[0], x[1], x[2], x[3], x[4], x[5]];
        let (sin_alpha, cos_alpha) = alpha.sin_cos();
        let (sin_beta, cos_beta) = beta.sin_cos();
        let (sin_bank, cos_bank) = bank.sin_cos();
        let (sin_pitch, cos_pitch) = pitch.sin_cos();
        let motors = self.vehicle.motors.len();
        State {
            position: Vector3::new(T::zero(), T::zero(), T::constant(-self.conditions.height_m)),
            attitude: quaternion_of_euler(bank, pitch, T::zero()),
            velocity: Vector3::new(cos_alpha * cos_beta, sin_beta, sin_alpha * cos_beta) * speed,
            rates: Vector3::new(
                -turn * sin_pitch,
                turn * sin_bank * cos_pitch,
                turn * cos_bank * cos_pitch,
            ),
            rotors: std::array::from_fn(|i| if i < motors { x[6 + i] } else { T::zero() }),
            charge: T::constant(
                (1.0 - self.conditions.charge_fraction) * self.vehicle.cell.capacity,
            ),
        }
    }

    /// Scaled residuals of steady flight: accelerations over g, angular accelerations over g/c̄, rotors' over 1000 rad/s², climb.
    fn residuals<T: Number>(
        &self,
        vehicle: &Vehicle<T>,
        air: &Air<T>,
        power: Power,
        difference: f64,
        x: &[T],
    ) -> Vec<T> {
        let throttle = match power {
            Power::Throttle(fraction) => T::constant(fraction),
            Power::Level => x[x.len() - 1],
        };
        let state = self.state(x);
        let rate = evaluate(
            vehicle,
            air,
            &self.segment(throttle, difference),
            T::zero(),
            &state,
        )
        .rate;
        let g = T::constant(crate::air::STANDARD_GRAVITY_M_S2);
        let mut residuals: Vec<T> = rate.velocity.iter().map(|&a| a / g).collect();
        residuals.extend(
            rate.rates
                .iter()
                .map(|&a| a * vehicle.coefficients.chord / g),
        );
        residuals.extend(
            rate.rotors[..vehicle.motors.len()]
                .iter()
                .map(|&a| a / T::constant(1000.0)),
        );
        if power == Power::Level {
            residuals.push(rate.position.z);
        }
        residuals
    }

    /// Newton's method with exact derivatives, from a guess that has the throttle behind it for level flight.
    fn solve(
        &self,
        power: Power,
        difference: f64,
        guess: DVector<f64>,
    ) -> Result<SteadyFlight, TrimError> {
        let mut x = guess;
        let value = |x: &DVector<f64>| {
            DVector::from_vec(self.residuals(
                self.vehicle,
                &self.air,
                power,
                difference,
                x.as_slice(),
            ))
        };
        let mut residual = value(&x);
        for _ in 0..ITERATIONS {
            if residual.amax() < TARGET {
                break;
            }
            let Some(step) = self.jacobian(power, difference, &x).lu().solve(&residual) else {
                break;
            };
            let mut share = bearable_share(&x, &step);
            let mut moved = &x - &step * share;
            let mut next = value(&moved);
            // A shorter step where the full one makes matters worse, down to a limit: a kink may have to be crossed.
            while !is_smaller(&next, &residual) && share > 1e-3 {
                share *= 0.5;
                moved = &x - &step * share;
                next = value(&moved);
            }
            if !is_smaller(&next, &residual) && residual.amax() < ROUNDING {
                break;
            }
            (x, residual) = (moved, next);
        }
        let throttle = match power {
            Power::Throttle(fraction) => fraction,
            Power::Level => x[x.len() - 1],
        };
        let size = residual.amax();
        if size < ROUNDING && x[0] > 0.0 {
            Ok(self.describe(&x, throttle, difference, size))
        } else {
            Err(TrimError::NotFound {
                throttle_fraction: throttle,
                left_minus_right_fraction: difference,
                residual: size,
            })
        }
    }

    fn jacobian(&self, power: Power, difference: f64, x: &DVector<f64>) -> DMatrix<f64> {
        let columns: Vec<DVector<f64>> = (0..x.len())
            .map(|k| {
                let wide: Vec<Dual64> = x
                    .iter()
                    .enumerate()
                    .map(|(i, &v)| Dual64::new(v, f64::from(i == k)))
                    .collect();
                let residuals =
                    self.residuals(&self.wide_vehicle, &self.wide_air, power, difference, &wide);
                DVector::from_iterator(x.len(), residuals.iter().map(|r| r.eps))
            })
            .collect();
        DMatrix::from_columns(&columns)
    }

    /// Incidence at which the linear moments balance, and the glide that goes with it.
    fn first_guess(&self) -> DVector<f64> {
        let table = &self.vehicle.coefficients;
        let tab_sum = |of: fn(&crate::aero::coefficients::TabEffect<f64>) -> f64| {
            table
                .tabs
                .iter()
                .zip(&self.conditions.tabs_rad)
                .map(|(tab, angle)| of(tab) * angle)
                .sum::<f64>()
        };
        let lift = |alpha: f64| table.lift_zero + tab_sum(|t| t.lift) + table.lift_alpha * alpha;
        // About the balance point, the lift acting at the reference point.
        let arm = table.reference.x / table.chord;
        let slope = table.pitch_alpha + table.lift_alpha * arm;
        let at_zero = table.pitch_zero + tab_sum(|t| t.pitch) + lift(0.0) * arm;
        let limit = 0.9 * self.vehicle.post_stall.alpha_stall.min(0.5);
        let alpha = (-at_zero / slope).clamp(-limit, limit);
        let lift = lift(alpha).max(0.05);
        let excess = lift - table.lift_at_min_drag;
        let drag = table.drag_min + table.drag_factor * excess * excess;
        let path = -libm::atan(drag / lift);
        let gravity = self.air.gravity.at(self.conditions.height_m);
        let density = self.air.atmosphere.density(self.conditions.height_m);
        let speed = (2.0 * self.vehicle.mass * gravity * libm::cos(path)
            / (density * table.area * lift))
            .sqrt();
        let mut guess = vec![speed, alpha, 0.0, 0.0, alpha + path, 0.0];
        guess.resize(6 + self.vehicle.motors.len(), 0.0);
        DVector::from_vec(guess)
    }

    fn settle_rotors(&self, x: &mut DVector<f64>, throttle: f64, difference: f64) {
        let mut state = self.state(x.as_slice());
        let segment = self.segment(throttle, difference);
        if steady_rotors(self.vehicle, &self.air, &segment, &mut state).is_ok() {
            for (i, &rotor) in state.rotors[..self.vehicle.motors.len()].iter().enumerate() {
                x[6 + i] = rotor;
            }
        }
    }

    fn unknowns(&self, steady: &SteadyFlight) -> DVector<f64> {
        let v = steady.state.velocity;
        let mut x = vec![
            v.norm(),
            libm::atan2(v.z, v.x),
            libm::atan2(v.y, libm::hypot(v.x, v.z)),
            steady.bank_rad,
            steady.pitch_rad,
            steady.turn_rate_rad_s,
        ];
        x.extend(&steady.state.rotors[..self.vehicle.motors.len()]);
        DVector::from_vec(x)
    }

    fn describe(
        &self,
        x: &DVector<f64>,
        throttle: f64,
        difference: f64,
        residual: f64,
    ) -> SteadyFlight {
        let state = self.state(x.as_slice());
        let segment = self.segment(throttle, difference);
        let evaluation = evaluate(self.vehicle, &self.air, &segment, 0.0, &state);
        let climb_m_s = -evaluation.rate.position.z;
        SteadyFlight {
            throttle_fraction: throttle,
            left_minus_right_fraction: difference,
            airspeed_m_s: x[0],
            alpha_rad: evaluation.flow.alpha,
            beta_rad: evaluation.flow.beta,
            bank_rad: x[3],
            pitch_rad: x[4],
            path_angle_rad: libm::asin((climb_m_s / x[0]).clamp(-1.0, 1.0)),
            turn_rate_rad_s: x[5],
            climb_m_s,
            stall_margin_rad: self.vehicle.post_stall.alpha_stall - evaluation.flow.alpha.abs(),
            state,
            segment,
            residual,
        }
    }

    /// Forces, flow and power in a steady flight.
    pub fn evaluation(&self, steady: &SteadyFlight) -> Evaluation<f64> {
        evaluate(self.vehicle, &self.air, &steady.segment, 0.0, &steady.state)
    }
}

/// Share of a Newton step that changes speed by at most a third and angles by at most 0.15 rad.
fn bearable_share(x: &DVector<f64>, step: &DVector<f64>) -> f64 {
    let speed = (x[0].abs() / 3.0) / step[0].abs().max(1e-300);
    step.rows(1, 4)
        .iter()
        .map(|s| 0.15 / s.abs().max(1e-300))
        .fold(speed.min(1.0), f64::min)
}

/// Whether a residual has become smaller; one that is not finite has not.
fn is_smaller(next: &DVector<f64>, residual: &DVector<f64>) -> bool {
    next.norm() < residual.norm()
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
