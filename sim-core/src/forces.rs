//! The sum of forces and moments, kept apart by cause, and the state's rates that follow (MODEL.md § 3, 5, 6).

use crate::accelerations::Body;
use crate::aero::flow::{Flow, equivalent_rates, rates_of_felt_rates};
use crate::aero::ground::{NO_GROUND_SPANS, downwash_spared};
use crate::air::{Air, GradientRates, WindSample};
use crate::frames;
use crate::number::Number;
use crate::parts::{Constants, Parts};
use crate::power::disc::Around;
use crate::power::motor::Motor;
pub use crate::power::run::MotorState;
use crate::power::run::{Powered, Supply, run_motor, terminal_voltage};
use crate::segment::Segment;
use crate::state::{MAX_MOTORS, State};
use crate::vector::{
    cross, difference, dot, minus, negative, nothing, plus, product, scaled, seen_from_body, sum,
    turned, turned_back,
};
use crate::vehicle::Vehicle;
use crate::wrench::{Motion, Wrench};
use nalgebra::{Matrix3, Vector3};

/// Forces and moments on the airframe by cause, body axes, moments about the balance point. They add up to the total.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Breakdown<T> {
    /// Weight.
    pub weight: Wrench<T>,
    /// Attached flow with its share, away from the ground, alpha rate left out.
    pub attached: Wrench<T>,
    /// What the ground adds to it, with the same share.
    pub ground_effect: Wrench<T>,
    /// Alpha rate (downwash lag).
    pub alpha_rate: Wrench<T>,
    /// The air carried along, −M_A dν_r/dt.
    pub apparent_mass: Wrench<T>,
    /// Plates beyond stall with their share.
    pub plates: Wrench<T>,
    /// Damping of rotation.
    pub damping: Wrench<T>,
    /// Thrust of each motor with the torque of its propeller.
    pub motors: [Wrench<T>; MAX_MOTORS],
    /// Propellers at incidence, together.
    pub disc: Wrench<T>,
    /// Wash of propellers over surfaces, together.
    pub wash: Wrench<T>,
    /// Suction of propellers on surfaces, together.
    pub suction: Wrench<T>,
    /// Turning the rotors' angular momentum, −ω×H.
    pub gyroscopic: Wrench<T>,
    /// Speeding the rotors up, −Σ s J Ω̇ a.
    pub spin_up: Wrench<T>,
}

impl<T: Number> Breakdown<T> {
    /// Everything together.
    pub fn total(&self) -> Wrench<T> {
        self.without_accelerations(MAX_MOTORS) + self.alpha_rate + self.apparent_mass
    }

    /// All that does not depend on the accelerations.
    fn without_accelerations(&self, motors: usize) -> Wrench<T> {
        let mut sum = self.weight + self.attached + self.ground_effect + self.plates;
        sum = sum.with_moment(self.damping.moment) + self.disc + self.wash + self.suction;
        sum = sum.with_moment(self.gyroscopic.moment);
        sum = sum.with_moment(self.spin_up.moment);
        for motor in &self.motors[..motors] {
            sum = sum + *motor;
        }
        sum
    }
}

/// Everything that is worked out at one state on the way to its rates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Evaluation<T> {
    /// Rate of the state.
    pub rate: State<T>,
    /// Body-to-earth rotation.
    pub to_earth: Matrix3<T>,
    /// Wind at the reference point, earth axes.
    pub wind: WindSample<T>,
    /// Flow at the reference point.
    pub flow: Flow<T>,
    /// Weight of attached flow, 1 to 0.
    pub attached_weight: T,
    /// Forces by cause.
    pub forces: Breakdown<T>,
    /// Each motor.
    pub motors: [MotorState<T>; MAX_MOTORS],
    /// Terminal voltage of the cell, V.
    pub cell_voltage: T,
}

/// Evaluates the whole model at a time (s) and state, in a number type that divides. Allocates nothing.
pub fn evaluate<T: Number>(
    vehicle: &Vehicle<T>,
    air: &Air<T>,
    segment: &Segment<T>,
    time: T,
    state: &State<T>,
) -> Evaluation<T> {
    debug_assert!(!T::FUSED, "lanes want constants");
    let constants = Constants::none();
    evaluate_parts(vehicle, air, segment, &Parts::ALL, &constants, time, state)
}

/// The same where only some parts of the model are there, with constants at hand where the number type wants them.
#[inline(always)]
pub fn evaluate_parts<T: Number>(
    vehicle: &Vehicle<T>,
    air: &Air<T>,
    segment: &Segment<T>,
    parts: &Parts,
    constants: &Constants<T>,
    time: T,
    state: &State<T>,
) -> Evaluation<T> {
    let table = &vehicle.coefficients;
    let height = state.height();
    // First, since it waits for nothing and a processor can go on meanwhile.
    let duty = segment.duty(time);
    let voltage = terminal_voltage(vehicle, constants, &duty, state);
    let Surroundings {
        to_earth,
        reference_velocity,
        wind,
        gradient_rates,
        flow,
    } = surroundings(
        vehicle,
        air,
        segment,
        parts,
        constants,
        time,
        state,
        air.atmosphere.density(height),
    );
    let density = flow.density;
    let attached_weight = vehicle.post_stall.attached_weight_by(&flow, constants);
    let separated = T::one() - attached_weight;
    let around = Around {
        velocity: minus(&state.velocity, &flow.wind),
        rates: state.rates,
        density,
        attached_weight,
        normal_at_90: vehicle.post_stall.normal_at_90,
    };
    let supply = Supply { duty, voltage };
    let power = Powered::of(vehicle, supply, parts, constants, state, &flow, &around);

    let fixed = table.at(flow.alpha, flow.beta, segment.tab_angles(time));
    let attached = table.attached_share(&flow, &fixed, attached_weight);
    let mut ground_effect = Wrench::zero();
    if parts.ground_effect {
        let level = &vehicle.post_stall.level.quarter_chord;
        let wing_place = plus(&state.position, &turned(&to_earth, level));
        let height = -wing_place.z - air.ground_height;
        let height_over_span = height.over(table.span, constants.over_span);
        if !T::FUSED {
            let spared = air.ground_effect * downwash_spared(height_over_span);
            ground_effect = table.ground_effect(&flow, &fixed, spared) * attached_weight;
        } else if height_over_span.any_less(T::constant(NO_GROUND_SPANS)) {
            let [bounded, relief] = constants.ground;
            let spared = air.ground_effect * downwash_spared(height_over_span);
            let effect = table.ground_effect_by(&flow, &fixed, spared, bounded, relief);
            // Where nothing is spared not even the sign of a zero is left.
            ground_effect = (effect * attached_weight).where_above_zero(spared);
        }
    }
    let normals = vehicle.post_stall.normals(&flow);
    let plates =
        vehicle
            .post_stall
            .plates_by(&flow, &normals, table.area, table.drag_min, separated);
    let damping = vehicle.post_stall.damping_by(&flow, &normals, separated);
    let zero = nothing();
    let mut forces = Breakdown {
        weight: Wrench {
            force: weight(vehicle, air, parts, height, &to_earth),
            moment: zero,
        },
        attached,
        ground_effect,
        alpha_rate: Wrench::zero(),
        apparent_mass: Wrench::zero(),
        plates,
        damping: Wrench::pure_moment(damping),
        motors: power.wrenches,
        disc: power.disc,
        wash: power.wash,
        suction: power.suction,
        gyroscopic: Wrench::pure_moment(negative(&cross(&state.rates, &power.spin))),
        spin_up: Wrench::pure_moment(negative(&power.spin_rate)),
    };

    let mut wind_part = zero;
    let mut wind_turning = zero;
    if parts.wind_rates {
        wind_part = wind_acceleration(state, &to_earth, &wind, &flow, &reference_velocity);
        if parts.gradients {
            wind_turning = wind_rates(state, &to_earth, &wind, &gradient_rates);
        }
    }
    let wind_part = Motion {
        velocity: wind_part,
        rates: wind_turning,
    };
    let body = Body::of(vehicle, constants, density, &wind_part);
    let mut motion = if T::FUSED {
        let mut known = forces.weight + attached + plates + power.together;
        if parts.ground_effect {
            known = known + ground_effect;
        }
        let known = known.with_moment(damping);
        body.accelerations(state, &known, Some(&power.spin))
    } else {
        let known = forces.without_accelerations(vehicle.motors.len());
        body.accelerations(state, &known, None)
    };
    if parts.alpha_rate {
        let for_each_sigma = table.alpha_rate(&flow) * attached_weight;
        let response = body.response(&for_each_sigma);
        let sigma = sigma(vehicle, &flow, &wind_part.velocity, &motion, &response);
        motion = motion + response * sigma;
        forces.alpha_rate = for_each_sigma * sigma;
    }
    // Nothing hangs on it: lanes leave it out.
    if let (false, Some(apparent)) = (T::FUSED, &vehicle.apparent_mass) {
        forces.apparent_mass = apparent.reaction(density, &(motion + wind_part));
    }
    Evaluation {
        rate: State {
            position: turned(&to_earth, &state.velocity),
            attitude: frames::quaternion_rate(&state.attitude, &state.rates),
            velocity: motion.velocity,
            rates: motion.rates,
            rotors: power.rotor_rates,
            charge: power.current,
        },
        to_earth,
        wind,
        flow,
        attached_weight,
        forces,
        motors: power.motors,
        cell_voltage: power.voltage,
    }
}

/// The motors of an evaluation alone, which hang on no other force: the same numbers for a small part of the work.
pub(crate) fn motors_at(
    vehicle: &Vehicle<f64>,
    air: &Air<f64>,
    segment: &Segment<f64>,
    time: f64,
    state: &State<f64>,
) -> [MotorState<f64>; MAX_MOTORS] {
    let flow = flow_of_motors(vehicle, air, segment, time, state);
    motors_in(vehicle, segment, time, state, &flow)
}

/// The flow that motors are in: it hangs on no rotor.
pub(crate) fn flow_of_motors(
    vehicle: &Vehicle<f64>,
    air: &Air<f64>,
    segment: &Segment<f64>,
    time: f64,
    state: &State<f64>,
) -> Flow<f64> {
    let (constants, density) = (Constants::none(), air.atmosphere.density(state.height()));
    surroundings(
        vehicle,
        air,
        segment,
        &Parts::ALL,
        &constants,
        time,
        state,
        density,
    )
    .flow
}

/// The motors of an evaluation in a flow worked out before.
pub(crate) fn motors_in(
    vehicle: &Vehicle<f64>,
    segment: &Segment<f64>,
    time: f64,
    state: &State<f64>,
    flow: &Flow<f64>,
) -> [MotorState<f64>; MAX_MOTORS] {
    let duty = segment.duty(time);
    let voltage = terminal_voltage(vehicle, &Constants::none(), &duty, state);
    let mut states = [MotorState::idle(); MAX_MOTORS];
    for (i, motor) in vehicle.motors.iter().enumerate() {
        let axial_speed = axial_speed(motor, state, flow);
        let rotor = state.rotors[i];
        states[i] = run_motor(
            motor,
            None,
            duty[i],
            voltage,
            rotor,
            axial_speed,
            flow.density,
        );
    }
    states
}

/// What the airframe flies through at one state.
pub(crate) struct Surroundings<T> {
    pub to_earth: Matrix3<T>,
    /// Of the reference point over the ground, earth axes.
    reference_velocity: Vector3<T>,
    pub wind: WindSample<T>,
    gradient_rates: GradientRates<T>,
    pub flow: Flow<T>,
}

/// Wind and flow at a time (s) and state, in air of a density (kg/m³) that changes nothing else of them.
#[inline(always)]
#[allow(clippy::too_many_arguments)]
pub(crate) fn surroundings<T: Number>(
    vehicle: &Vehicle<T>,
    air: &Air<T>,
    segment: &Segment<T>,
    parts: &Parts,
    constants: &Constants<T>,
    time: T,
    state: &State<T>,
    density: T,
) -> Surroundings<T> {
    let reference = &vehicle.coefficients.reference;
    let to_earth = frames::rotation(&state.attitude);
    // A wind that is the same everywhere asks for no place, one that nothing accelerates with for no velocity.
    let mut reference_place = state.position;
    let mut reference_velocity = state.velocity;
    if parts.gradients {
        reference_place = plus(&state.position, &turned(&to_earth, reference));
        if parts.wind_rates {
            let at_reference = plus(&state.velocity, &cross(&state.rates, reference));
            reference_velocity = turned(&to_earth, &at_reference);
        }
    }
    let (wind, gradient_rates) = air.wind_along(
        &reference_place,
        &reference_velocity,
        time,
        &segment.gusts_on,
        parts,
        constants,
    );
    let flow = Flow::with_parts(
        reference,
        &state.velocity,
        &state.rates,
        &to_earth,
        &wind,
        density,
        parts,
    );
    Surroundings {
        to_earth,
        reference_velocity,
        wind,
        gradient_rates,
        flow,
    }
}

/// Weight in body components, N.
#[inline(always)]
fn weight<T: Number>(
    vehicle: &Vehicle<T>,
    air: &Air<T>,
    parts: &Parts,
    height: T,
    to_earth: &Matrix3<T>,
) -> Vector3<T> {
    let gravity = if parts.gravity_falls {
        air.gravity.at(height)
    } else {
        air.gravity.surface_m_s2
    };
    if T::FUSED {
        let down = Vector3::new(to_earth[(2, 0)], to_earth[(2, 1)], to_earth[(2, 2)]);
        return scaled(&down, gravity * vehicle.mass);
    }
    let gravity = Vector3::new(T::zero(), T::zero(), gravity);
    scaled(&turned_back(to_earth, &gravity), vehicle.mass)
}

/// Speed of a motor's disc through the air along its axis, m/s.
#[inline(always)]
pub(crate) fn axial_speed<T: Number>(motor: &Motor<T>, state: &State<T>, flow: &Flow<T>) -> T {
    let moving = plus(&state.velocity, &cross(&state.rates, &motor.place));
    dot(&motor.axis, &minus(&moving, &flow.wind))
}

/// What the wind and turning in it add to v̇ + ω̇ × r for the rate of the velocity relative to the air, body components (MODEL.md § 5.2).
#[inline(always)]
fn wind_acceleration<T: Number>(
    state: &State<T>,
    to_earth: &Matrix3<T>,
    wind: &WindSample<T>,
    flow: &Flow<T>,
    reference_velocity: &Vector3<T>,
) -> Vector3<T> {
    let carried = turned(&wind.gradient, reference_velocity);
    let wind_rate = turned_back(to_earth, &plus(&wind.time_rate, &carried));
    minus(&cross(&state.rates, &flow.wind), &wind_rate)
}

/// The same for the rates relative to the air (MODEL.md § 5.4).
#[inline(always)]
fn wind_rates<T: Number>(
    state: &State<T>,
    to_earth: &Matrix3<T>,
    wind: &WindSample<T>,
    rates: &GradientRates<T>,
) -> Vector3<T> {
    if T::FUSED {
        return rates_of_felt_rates(to_earth, &state.rates, wind, rates);
    }
    let turn = frames::cross_matrix(&state.rates);
    equivalent_rates(
        &turning_seen(to_earth, &turn, &wind.roll_gradient, &rates.roll),
        &turning_seen(to_earth, &turn, &wind.turn_gradient, &rates.turn),
    )
}

/// Γ̇ of MODEL.md § 5.4 for a gradient that changes at a rate, with the matrix of ω×.
#[inline(always)]
fn turning_seen<T: Number>(
    to_earth: &Matrix3<T>,
    turn: &Matrix3<T>,
    gradient: &Matrix3<T>,
    rate: &Matrix3<T>,
) -> Matrix3<T> {
    let gradient = seen_from_body(to_earth, gradient);
    let (after, before) = (product(&gradient, turn), product(turn, &gradient));
    difference(&sum(&seen_from_body(to_earth, rate), &after), &before)
}

/// σ, solved together with the accelerations it depends on (MODEL.md § 5.2): those without it, and those for each unit of it.
#[inline(always)]
fn sigma<T: Number>(
    vehicle: &Vehicle<T>,
    flow: &Flow<T>,
    wind_part: &Vector3<T>,
    before: &Motion<T>,
    response: &Motion<T>,
) -> T {
    let reference = &vehicle.coefficients.reference;
    let (sin, cos) = flow.sin_cos_alpha;
    let after = along_sigma(sin, cos, &at_reference(response, reference));
    let before = along_sigma(sin, cos, &at_reference(before, reference));
    (along_sigma(sin, cos, wind_part) + before) / (T::one() - after)
}

/// How the velocity of the reference point changes with a motion.
#[inline(always)]
fn at_reference<T: Number>(motion: &Motion<T>, reference: &Vector3<T>) -> Vector3<T> {
    plus(&motion.velocity, &cross(&motion.rates, reference))
}

/// cos α a_z − sin α a_x.
#[inline(always)]
fn along_sigma<T: Number>(sin: T, cos: T, a: &Vector3<T>) -> T {
    cos.times_plus(a.z, -(sin * a.x))
}
