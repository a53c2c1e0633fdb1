//! The search behind steady flight: residuals, their exact derivatives, Newton's method (MODEL.md § 10).

use super::{Power, SteadyFlight, Trimmer};
use crate::air::Air;
use crate::error::TrimError;
use crate::forces::{evaluate, motors_at};
use crate::frames::quaternion_of_euler;
use crate::launch::steady_rotors;
use crate::number::Number;
use crate::segment::{Line, Segment};
use crate::state::State;
use crate::vehicle::Vehicle;
use nalgebra::{DMatrix, DVector, Vector3};
use num_dual::Dual64;
use std::borrow::Cow;

/// Iterations of Newton's method.
const ITERATIONS: usize = 80;
/// Scaled residual at which the search ends.
const TARGET: f64 = 1e-13;
/// Scaled residual that rounding may leave; a search that ends above it has found nothing.
const ROUNDING: f64 = 1e-10;

/// What Newton's method has found.
pub(super) struct Found {
    /// The unknowns.
    pub x: DVector<f64>,
    /// The flight they are.
    pub flight: SteadyFlight,
}

impl Trimmer<'_> {
    fn segment<T: Number>(&self, throttle: T, difference: f64) -> Segment<T> {
        self.segment_with(throttle, difference, None)
    }

    /// The controls, with one tab at another angle.
    fn segment_with<T: Number>(
        &self,
        throttle: T,
        difference: f64,
        moved_tab: Option<(usize, T)>,
    ) -> Segment<T> {
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
                .enumerate()
                .map(|(i, &setting)| match moved_tab {
                    Some((tab, angle)) if tab == i => Line::constant(angle),
                    _ => Line::constant(T::constant(setting)),
                })
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

    /// The controls, of which the last unknown may be one.
    fn segment_of<T: Number>(&self, power: Power, difference: f64, x: &[T]) -> Segment<T> {
        let last = x[x.len() - 1];
        match power {
            Power::Throttle(fraction) => self.segment(T::constant(fraction), difference),
            Power::Level => self.segment(last, difference),
            Power::LevelByTab { throttle, tab } => {
                self.segment_with(T::constant(throttle), difference, Some((tab, last)))
            }
            Power::LevelByMass { throttle, tab, .. } => {
                let angle = x[x.len() - 2];
                self.segment_with(T::constant(throttle), difference, Some((tab, angle)))
            }
        }
    }

    /// Scaled residuals of steady flight: accelerations over g, angular accelerations over g/c̄, rotors' over 1000 rad/s², climb. Where the mass is
    /// an unknown the vehicle becomes one of its own, which a search keeps.
    fn residuals<T: Number>(
        &self,
        vehicle: &mut Cow<'_, Vehicle<T>>,
        air: &Air<T>,
        power: Power,
        difference: f64,
        x: &[T],
    ) -> Vec<T> {
        let segment = self.segment_of(power, difference, x);
        let state = self.state(x);
        if let Power::LevelByMass { .. } = power {
            vehicle.to_mut().mass = T::constant(self.vehicle.mass) * x[x.len() - 1];
        }
        let rate = evaluate(vehicle, air, &segment, T::zero(), &state).rate;
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
        if !matches!(power, Power::Throttle(_)) {
            residuals.push(rate.position.z);
        }
        if let Power::LevelByMass { alpha_rad, .. } = power {
            residuals.push(x[1] - T::constant(alpha_rad));
        }
        residuals
    }

    /// Newton's method with exact derivatives, from a guess that has the throttle behind it for level flight.
    pub(super) fn solve(
        &self,
        power: Power,
        difference: f64,
        guess: DVector<f64>,
    ) -> Result<SteadyFlight, TrimError> {
        self.solve_for(power, difference, guess)
            .map(|found| found.flight)
    }

    /// The same with all unknowns.
    pub(super) fn solve_for(
        &self,
        power: Power,
        difference: f64,
        guess: DVector<f64>,
    ) -> Result<Found, TrimError> {
        let mut x = guess;
        let mut vehicle = Cow::Borrowed(self.vehicle);
        let mut wide_vehicle = Cow::Borrowed(&self.wide_vehicle);
        let mut value = |x: &DVector<f64>| {
            DVector::from_vec(self.residuals(
                &mut vehicle,
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
            let jacobian = self.jacobian(&mut wide_vehicle, power, difference, &x);
            let Some(step) = jacobian.lu().solve(&residual) else {
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
            Power::Throttle(fraction)
            | Power::LevelByTab {
                throttle: fraction, ..
            }
            | Power::LevelByMass {
                throttle: fraction, ..
            } => fraction,
            Power::Level => x[x.len() - 1],
        };
        let size = residual.amax();
        if size < ROUNDING && x[0] > 0.0 {
            let flight = self.describe(&x, power, throttle, difference, size);
            Ok(Found { x, flight })
        } else {
            Err(TrimError::NotFound {
                throttle_fraction: throttle,
                left_minus_right_fraction: difference,
                residual: size,
            })
        }
    }

    fn jacobian(
        &self,
        vehicle: &mut Cow<'_, Vehicle<Dual64>>,
        power: Power,
        difference: f64,
        x: &DVector<f64>,
    ) -> DMatrix<f64> {
        let columns: Vec<DVector<f64>> = (0..x.len())
            .map(|k| {
                let wide: Vec<Dual64> = x
                    .iter()
                    .enumerate()
                    .map(|(i, &v)| Dual64::new(v, f64::from(i == k)))
                    .collect();
                let residuals = self.residuals(vehicle, &self.wide_air, power, difference, &wide);
                DVector::from_iterator(x.len(), residuals.iter().map(|r| r.eps))
            })
            .collect();
        DMatrix::from_columns(&columns)
    }

    /// Incidence at which the linear moments balance, and the glide that goes with it.
    pub(super) fn first_guess(&self) -> DVector<f64> {
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

    pub(super) fn settle_rotors(&self, x: &mut DVector<f64>, throttle: f64, difference: f64) {
        let mut state = self.state(x.as_slice());
        let segment = self.segment(throttle, difference);
        if steady_rotors(self.vehicle, &self.air, &segment, &mut state).is_ok() {
            for (i, &rotor) in state.rotors[..self.vehicle.motors.len()].iter().enumerate() {
                x[6 + i] = rotor;
            }
        }
    }

    /// Thrust (N) of all motors at unknowns and a throttle.
    pub(super) fn thrust_n(&self, x: &DVector<f64>, throttle: f64) -> f64 {
        let (segment, state) = (self.segment(throttle, 0.0), self.state(x.as_slice()));
        let motors = motors_at(self.vehicle, &self.air, &segment, 0.0, &state);
        motors.iter().map(|motor| motor.thrust).sum()
    }

    pub(super) fn unknowns(&self, steady: &SteadyFlight) -> DVector<f64> {
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
        power: Power,
        throttle: f64,
        difference: f64,
        residual: f64,
    ) -> SteadyFlight {
        let state = self.state(x.as_slice());
        let segment = self.segment_of(power, difference, x.as_slice());
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
