//! The sum of forces and moments, kept apart by cause, and the state's rates that follow (MODEL.md § 3, 5, 6).

use crate::aero::apparent_mass::{ApparentMass, Joined};
use crate::aero::flow::{Flow, equivalent_rates};
use crate::aero::ground::downwash_spared;
use crate::air::{Air, GradientRates, WindSample};
use crate::frames;
use crate::number::Number;
use crate::power::disc::Around;
use crate::segment::Segment;
use crate::state::{MAX_MOTORS, State};
use crate::vehicle::Vehicle;
use crate::wrench::{Motion, Wrench};
use nalgebra::{Matrix3, Vector3};

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
        self.without_accelerations() + self.alpha_rate + self.apparent_mass
    }

    /// All that does not depend on the accelerations.
    fn without_accelerations(&self) -> Wrench<T> {
        self.motors.iter().fold(
            self.weight
                + self.attached
                + self.ground_effect
                + self.plates
                + self.damping
                + self.disc
                + self.wash
                + self.suction
                + self.gyroscopic
                + self.spin_up,
            |sum, motor| sum + *motor,
        )
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

/// Evaluates the whole model at a time (s) and state. Allocates nothing.
pub fn evaluate<T: Number>(
    vehicle: &Vehicle<T>,
    air: &Air<T>,
    segment: &Segment<T>,
    time: T,
    state: &State<T>,
) -> Evaluation<T> {
    let table = &vehicle.coefficients;
    let height = state.height();
    let Surroundings {
        to_earth,
        reference_velocity,
        wind,
        gradient_rates,
        flow,
    } = surroundings(vehicle, air, segment, time, state);
    let density = flow.density;

    let (motors, cell_voltage, battery_current) = run_motors(vehicle, segment, time, state, &flow);
    let mut spin = Vector3::repeat(T::zero());
    let mut spin_rate = Vector3::repeat(T::zero());
    let mut motor_wrenches = [Wrench::zero(); MAX_MOTORS];
    for (i, motor) in vehicle.motors.iter().enumerate() {
        let momentum = motor.axis * (motor.spin * motor.rotor_inertia);
        spin += momentum * state.rotors[i];
        spin_rate += momentum * motors[i].rotor_rate;
        motor_wrenches[i] = Wrench::at(motor.axis * motors[i].thrust, &motor.place)
            + Wrench::pure_moment(motor.axis * (-motor.spin * motors[i].torque));
    }

    let fixed = table.at(flow.alpha, flow.beta, segment.tab_angles(time));
    let wing_place = state.position + to_earth * vehicle.post_stall.level.quarter_chord;
    let spared =
        air.ground_effect * downwash_spared((-wing_place.z - air.ground_height) / table.span);
    let attached_weight = vehicle.post_stall.attached_weight(&flow);
    let separated = T::one() - attached_weight;
    let around = Around {
        velocity: state.velocity - flow.wind,
        rates: state.rates,
        density,
        attached_weight,
        normal_at_90: vehicle.post_stall.normal_at_90,
    };
    let [mut disc, mut wash, mut suction] = [Wrench::zero(); 3];
    for (motor, now) in vehicle.motors.iter().zip(&motors) {
        let beside_thrust = motor.disc.wrenches(motor, now.thrust, &around);
        disc = disc + beside_thrust.normal_force;
        wash = wash + beside_thrust.wash;
        suction = suction + beside_thrust.suction;
    }
    let gravity = Vector3::new(T::zero(), T::zero(), air.gravity.at(height));
    let mut forces = Breakdown {
        weight: Wrench {
            force: to_earth.transpose() * gravity * vehicle.mass,
            moment: Vector3::repeat(T::zero()),
        },
        attached: table.attached_with(&flow, &fixed) * attached_weight,
        ground_effect: table.ground_effect(&flow, &fixed, spared) * attached_weight,
        alpha_rate: Wrench::zero(),
        apparent_mass: Wrench::zero(),
        plates: vehicle.post_stall.plates(&flow, table.area, table.drag_min) * separated,
        damping: Wrench::pure_moment(vehicle.post_stall.damping(&flow, separated)),
        motors: motor_wrenches,
        disc,
        wash,
        suction,
        gyroscopic: Wrench::pure_moment(-state.rates.cross(&spin)),
        spin_up: Wrench::pure_moment(-spin_rate),
    };

    let wind_part = wind_acceleration(state, &to_earth, &wind, &flow, &reference_velocity);
    let body = Body {
        vehicle,
        carried: vehicle.apparent_mass.as_ref().map(|apparent| Carried {
            apparent,
            joined: apparent.joined(density, vehicle.mass, &vehicle.inertia),
            density,
            wind_part: Motion {
                velocity: wind_part,
                rates: wind_rates(state, &to_earth, &wind, &gradient_rates),
            },
        }),
    };
    let before = body.accelerations(state, &forces.without_accelerations());
    let for_each_sigma = table.alpha_rate(&flow) * attached_weight;
    let response = body.response(&for_each_sigma);
    let sigma = sigma(vehicle, &flow, &wind_part, &before, &response);
    let motion = before + response * sigma;
    forces.alpha_rate = for_each_sigma * sigma;
    if let Some(carried) = &body.carried {
        forces.apparent_mass = carried.reaction(&motion);
    }
    Evaluation {
        rate: State {
            position: to_earth * state.velocity,
            attitude: frames::quaternion_rate(&state.attitude, &state.rates),
            velocity: motion.velocity,
            rates: motion.rates,
            rotors: motors.map(|m| m.rotor_rate),
            charge: battery_current,
        },
        to_earth,
        wind,
        flow,
        attached_weight,
        forces,
        motors,
        cell_voltage,
    }
}

/// The motors of an evaluation alone, which hang on no other force: the same numbers for a small part of the work.
pub(crate) fn motors_at<T: Number>(
    vehicle: &Vehicle<T>,
    air: &Air<T>,
    segment: &Segment<T>,
    time: T,
    state: &State<T>,
) -> [MotorState<T>; MAX_MOTORS] {
    let flow = surroundings(vehicle, air, segment, time, state).flow;
    run_motors(vehicle, segment, time, state, &flow).0
}

/// What the airframe flies through at one state.
struct Surroundings<T> {
    to_earth: Matrix3<T>,
    /// Of the reference point over the ground, earth axes.
    reference_velocity: Vector3<T>,
    wind: WindSample<T>,
    gradient_rates: GradientRates<T>,
    flow: Flow<T>,
}

#[inline]
fn surroundings<T: Number>(
    vehicle: &Vehicle<T>,
    air: &Air<T>,
    segment: &Segment<T>,
    time: T,
    state: &State<T>,
) -> Surroundings<T> {
    let reference = &vehicle.coefficients.reference;
    let to_earth = frames::rotation(&state.attitude);
    let density = air.atmosphere.density(state.height());
    let place = state.position + to_earth * reference;
    let reference_velocity = to_earth * (state.velocity + state.rates.cross(reference));
    let (wind, gradient_rates) =
        air.wind_along(&place, &reference_velocity, time, &segment.gusts_on);
    let flow = Flow::at(
        reference,
        &state.velocity,
        &state.rates,
        &to_earth,
        &wind,
        density,
    );
    Surroundings {
        to_earth,
        reference_velocity,
        wind,
        gradient_rates,
        flow,
    }
}

/// The motors, the cell's terminal voltage and the current drawn from it.
fn run_motors<T: Number>(
    vehicle: &Vehicle<T>,
    segment: &Segment<T>,
    time: T,
    state: &State<T>,
    flow: &Flow<T>,
) -> ([MotorState<T>; MAX_MOTORS], T, T) {
    let duty = segment.duty(time);
    let cell = &vehicle.cell;
    let charge_left = T::one() - state.charge / cell.capacity;
    let voltage = cell.terminal_voltage(charge_left, &vehicle.motors, &duty, &state.rotors);
    let mut battery_current = cell.electronics_current;
    let idle = MotorState {
        duty: T::zero(),
        axial_speed: T::zero(),
        thrust: T::zero(),
        torque: T::zero(),
        current: T::zero(),
        rotor_rate: T::zero(),
    };
    let mut states = [idle; MAX_MOTORS];
    for (i, motor) in vehicle.motors.iter().enumerate() {
        let rotor = state.rotors[i];
        let disc_velocity = state.velocity + state.rates.cross(&motor.place) - flow.wind;
        let axial_speed = motor.axis.dot(&disc_velocity);
        let (thrust, torque) = motor
            .propeller
            .thrust_and_torque(axial_speed, rotor, flow.density);
        let current = motor.current(duty[i], voltage, rotor);
        battery_current += duty[i] * current;
        states[i] = MotorState {
            duty: duty[i],
            axial_speed,
            thrust,
            torque,
            current,
            rotor_rate: (motor.torque(current, rotor) - torque) / motor.rotor_inertia,
        };
    }
    (states, voltage, battery_current)
}

/// What forces accelerate: the airframe, with the air it carries where that is flown with.
struct Body<'a, T> {
    vehicle: &'a Vehicle<T>,
    carried: Option<Carried<'a, T>>,
}

/// The air carried along at one state (MODEL.md § 5.4).
struct Carried<'a, T> {
    apparent: &'a ApparentMass<T>,
    joined: Joined<T>,
    density: T,
    /// n: what the wind and turning in it add to v̇ and ω̇ for the rates relative to the air.
    wind_part: Motion<T>,
}

impl<T: Number> Carried<'_, T> {
    fn reaction(&self, motion: &Motion<T>) -> Wrench<T> {
        let relative = *motion + self.wind_part;
        self.apparent.reaction(self.density, &relative)
    }
}

impl<T: Number> Body<'_, T> {
    /// v̇ and ω̇ under a total force and moment.
    fn accelerations(&self, state: &State<T>, total: &Wrench<T>) -> Motion<T> {
        let turning = state.rates.cross(&state.velocity);
        let moment = total.moment - state.rates.cross(&(self.vehicle.inertia * state.rates));
        match &self.carried {
            None => Motion {
                velocity: total.force / self.vehicle.mass - turning,
                rates: self.vehicle.inverse_inertia * moment,
            },
            Some(carried) => {
                let own = Wrench {
                    force: total.force - turning * self.vehicle.mass,
                    moment,
                };
                let wind = carried
                    .apparent
                    .reaction(carried.density, &carried.wind_part);
                carried.joined.accelerations(&(own + wind))
            }
        }
    }

    /// What one more force and moment changes of them.
    fn response(&self, wrench: &Wrench<T>) -> Motion<T> {
        match &self.carried {
            None => Motion {
                velocity: wrench.force / self.vehicle.mass,
                rates: self.vehicle.inverse_inertia * wrench.moment,
            },
            Some(carried) => carried.joined.accelerations(wrench),
        }
    }
}

/// What the wind and turning in it add to v̇ + ω̇ × r for the rate of the velocity relative to the air, body components (MODEL.md § 5.2).
fn wind_acceleration<T: Number>(
    state: &State<T>,
    to_earth: &Matrix3<T>,
    wind: &WindSample<T>,
    flow: &Flow<T>,
    reference_velocity: &Vector3<T>,
) -> Vector3<T> {
    let wind_rate = to_earth.transpose() * (wind.time_rate + wind.gradient * reference_velocity);
    state.rates.cross(&flow.wind) - wind_rate
}

/// The same for the rates relative to the air (MODEL.md § 5.4).
fn wind_rates<T: Number>(
    state: &State<T>,
    to_earth: &Matrix3<T>,
    wind: &WindSample<T>,
    rates: &GradientRates<T>,
) -> Vector3<T> {
    let to_body = to_earth.transpose();
    let turn = frames::cross_matrix(&state.rates);
    let seen = |gradient: &Matrix3<T>, rate: &Matrix3<T>| {
        let gradient = to_body * gradient * to_earth;
        to_body * rate * to_earth + gradient * turn - turn * gradient
    };
    equivalent_rates(
        &seen(&wind.roll_gradient, &rates.roll),
        &seen(&wind.turn_gradient, &rates.turn),
    )
}

/// σ, solved together with the accelerations it depends on (MODEL.md § 5.2): those without it, and those for each unit of it.
fn sigma<T: Number>(
    vehicle: &Vehicle<T>,
    flow: &Flow<T>,
    wind_part: &Vector3<T>,
    before: &Motion<T>,
    response: &Motion<T>,
) -> T {
    let reference = &vehicle.coefficients.reference;
    let (sin, cos) = flow.sin_cos_alpha;
    let along = |a: &Vector3<T>| cos * a.z - sin * a.x;
    let from = |motion: &Motion<T>| along(&(motion.velocity + motion.rates.cross(reference)));
    (along(wind_part) + from(before)) / (T::one() - from(response))
}
