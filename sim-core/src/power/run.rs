//! The motors at one moment, and everything they do to the airframe (MODEL.md § 3, 6).

use super::disc::Around;
use super::motor::Motor;
use crate::aero::flow::Flow;
use crate::number::Number;
use crate::parts::{Constants, MotorConstants, Parts};
use crate::state::{MAX_MOTORS, State};
use crate::vector::{cross, dot, minus, nothing, plus, scaled, scaled_plus};
use crate::vehicle::Vehicle;
use crate::wrench::Wrench;
use nalgebra::Vector3;

/// One motor at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MotorState<T> {
    /// Duty, 0 to 1.
    pub duty: T,
    /// Axial speed of the disc through the air, m/s.
    pub axial_speed: T,
    /// Thrust, N.
    pub thrust: T,
    /// Aerodynamic torque against the rotation, N m.
    pub torque: T,
    /// Winding current, A.
    pub current: T,
    /// Rate of the rotor speed, rad/s².
    pub rotor_rate: T,
}

impl<T: Number> MotorState<T> {
    pub(crate) fn idle() -> Self {
        let zero = T::zero();
        MotorState {
            duty: zero,
            axial_speed: zero,
            thrust: zero,
            torque: zero,
            current: zero,
            rotor_rate: zero,
        }
    }
}

/// Everything the motors do, together and apart.
pub(crate) struct Powered<T> {
    pub(crate) motors: [MotorState<T>; MAX_MOTORS],
    pub(crate) rotor_rates: [T; MAX_MOTORS],
    /// Drawn from the cell, A.
    pub(crate) current: T,
    /// Of the cell, V.
    pub(crate) voltage: T,
    /// Angular momentum of the rotors and its rate.
    pub(crate) spin: Vector3<T>,
    pub(crate) spin_rate: Vector3<T>,
    pub(crate) wrenches: [Wrench<T>; MAX_MOTORS],
    pub(crate) disc: Wrench<T>,
    pub(crate) wash: Wrench<T>,
    pub(crate) suction: Wrench<T>,
    /// All forces and moments but the gyroscopic one; where the number type fuses.
    pub(crate) together: Wrench<T>,
}

/// What the motors are given: their duties and the voltage (V) at the cell.
pub(crate) struct Supply<T> {
    pub(crate) duty: [T; MAX_MOTORS],
    pub(crate) voltage: T,
}

impl<T: Number> Powered<T> {
    #[inline(always)]
    pub(crate) fn of(
        vehicle: &Vehicle<T>,
        supply: Supply<T>,
        parts: &Parts,
        constants: &Constants<T>,
        state: &State<T>,
        flow: &Flow<T>,
        around: &Around<T>,
    ) -> Self {
        let Supply { duty, voltage } = supply;
        let none = nothing();
        let mut all = Powered {
            motors: [MotorState::idle(); MAX_MOTORS],
            rotor_rates: [T::zero(); MAX_MOTORS],
            current: vehicle.cell.electronics_current,
            voltage,
            spin: none,
            spin_rate: none,
            wrenches: [Wrench::zero(); MAX_MOTORS],
            disc: Wrench::zero(),
            wash: Wrench::zero(),
            suction: Wrench::zero(),
            together: Wrench::zero(),
        };
        let rotors = state.rotors;
        let mut over_density = T::zero();
        if T::FUSED && parts.beside_thrust() {
            over_density = T::one() / flow.density;
        }
        // Indices and matches, since lanes are slow where an iterator or a closure stays out of line.
        #[allow(clippy::needless_range_loop)]
        for i in 0..vehicle.motors.len().min(MAX_MOTORS) {
            let motor = &vehicle.motors[i];
            let fixed = if T::FUSED {
                Some(&constants.motors[i])
            } else {
                None
            };
            let axial_speed = match fixed {
                Some(fixed) => {
                    // a·(ω × r) = ω·(r × a).
                    dot(&motor.axis, &around.velocity) + dot(&fixed.arm, &state.rates)
                }
                None => {
                    let moving = plus(&state.velocity, &cross(&state.rates, &motor.place));
                    dot(&motor.axis, &minus(&moving, &flow.wind))
                }
            };
            let density = flow.density;
            let now = run_motor(
                motor,
                fixed,
                duty[i],
                voltage,
                rotors[i],
                axial_speed,
                density,
            );
            all.motors[i] = now;
            all.rotor_rates[i] = now.rotor_rate;
            all.current = duty[i].times_plus(now.current, all.current);
            let reaction = -motor.spin * now.torque;
            match fixed {
                Some(fixed) => {
                    let momentum = &fixed.momentum;
                    all.spin = scaled_plus(momentum, rotors[i], &all.spin);
                    let thrust = scaled(&motor.axis, now.thrust);
                    let turned =
                        scaled_plus(&motor.axis, reaction, &scaled(&fixed.arm, now.thrust));
                    all.wrenches[i] = Wrench {
                        force: thrust,
                        moment: turned,
                    };
                    let slowed = scaled_plus(momentum, -now.rotor_rate, &turned);
                    all.together = all.together
                        + Wrench {
                            force: thrust,
                            moment: slowed,
                        };
                    all.spin_rate = scaled_plus(momentum, now.rotor_rate, &all.spin_rate);
                }
                None => {
                    let momentum = scaled(&motor.axis, motor.spin * motor.rotor_inertia);
                    all.spin = scaled_plus(&momentum, rotors[i], &all.spin);
                    all.spin_rate = scaled_plus(&momentum, now.rotor_rate, &all.spin_rate);
                    let thrust = scaled(&motor.axis, now.thrust);
                    let reaction = scaled(&motor.axis, reaction);
                    all.wrenches[i] = Wrench::at(thrust, &motor.place).with_moment(reaction);
                }
            }
            if parts.beside_thrust() {
                let disc = &motor.disc;
                #[allow(clippy::manual_map)]
                let fixed = match fixed {
                    Some(fixed) => Some((fixed, over_density)),
                    None => None,
                };
                let beside = disc.wrenches_by(motor, fixed, now.thrust, around);
                all.disc = all.disc + beside.normal_force;
                all.wash = all.wash + beside.wash;
                all.suction = all.suction + beside.suction;
                if T::FUSED {
                    all.together =
                        all.together + beside.normal_force + beside.wash + beside.suction;
                }
            }
        }
        all
    }
}

/// Voltage of the cell under what the motors draw, V.
#[inline(always)]
pub(crate) fn terminal_voltage<T: Number>(
    vehicle: &Vehicle<T>,
    constants: &Constants<T>,
    duty: &[T; MAX_MOTORS],
    state: &State<T>,
) -> T {
    let cell = &vehicle.cell;
    let used = state.charge.over(cell.capacity, constants.over_capacity);
    let (left, rotors) = (T::one() - used, state.rotors);
    cell.terminal_voltage_by(left, &vehicle.motors, duty, &rotors, constants)
}

/// One motor at a duty, a voltage (V) at its cell, a rotor speed (rad/s), and a speed of its disc through air (m/s) of a density (kg/m³).
#[inline(always)]
pub(crate) fn run_motor<T: Number>(
    motor: &Motor<T>,
    fixed: Option<&MotorConstants<T>>,
    duty: T,
    voltage: T,
    rotor: T,
    axial_speed: T,
    density: T,
) -> MotorState<T> {
    let zero = T::zero();
    let (over_resistance, over_inertia) = match fixed {
        Some(fixed) => (fixed.over_resistance, fixed.over_inertia),
        None => (zero, zero),
    };
    let (thrust, torque) = motor
        .propeller
        .thrust_and_torque(axial_speed, rotor, density);
    let current = motor.current_by(duty, voltage, rotor, over_resistance);
    let spinning_up = motor.torque(current, rotor) - torque;
    MotorState {
        duty,
        axial_speed,
        thrust,
        torque,
        current,
        rotor_rate: spinning_up.over(motor.rotor_inertia, over_inertia),
    }
}
