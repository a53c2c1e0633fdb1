//! The sum of forces and moments, kept apart by cause, and the state's rates that follow (MODEL.md § 3, 5, 6).

use crate::aero::flow::Flow;
use crate::air::{Air, WindSample};
use crate::frames;
use crate::number::Number;
use crate::power::disc::Around;
use crate::segment::Segment;
use crate::state::{MAX_MOTORS, State};
use crate::vehicle::Vehicle;
use crate::wrench::Wrench;
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
    /// Attached flow with its share, alpha rate left out.
    pub attached: Wrench<T>,
    /// Alpha rate (downwash lag).
    pub alpha_rate: Wrench<T>,
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
        self.before_alpha_rate() + self.alpha_rate
    }

    fn before_alpha_rate(&self) -> Wrench<T> {
        self.motors.iter().fold(
            self.weight
                + self.attached
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
    let to_earth = frames::rotation(&state.attitude);
    let height = state.height();
    let density = air.atmosphere.density(height);
    let reference_place = state.position + to_earth * table.reference;
    let wind = air.wind(&reference_place, time, &segment.gusts_on);
    let flow = Flow::at(
        &table.reference,
        &state.velocity,
        &state.rates,
        &to_earth,
        &wind,
        density,
    );

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
        attached: table.attached(&flow, segment.tab_angles(time)) * attached_weight,
        alpha_rate: Wrench::zero(),
        plates: vehicle.post_stall.plates(&flow, table.area, table.drag_min) * separated,
        damping: Wrench::pure_moment(vehicle.post_stall.damping(&flow, separated)),
        motors: motor_wrenches,
        disc,
        wash,
        suction,
        gyroscopic: Wrench::pure_moment(-state.rates.cross(&spin)),
        spin_up: Wrench::pure_moment(-spin_rate),
    };

    let (acceleration, angular_acceleration) =
        accelerations(vehicle, state, &forces.before_alpha_rate());
    let (sigma, response) = alpha_rate(
        vehicle,
        state,
        &to_earth,
        &wind,
        &flow,
        attached_weight,
        (&acceleration, &angular_acceleration),
    );
    forces.alpha_rate = response.wrench * sigma;
    Evaluation {
        rate: State {
            position: to_earth * state.velocity,
            attitude: frames::quaternion_rate(&state.attitude, &state.rates),
            velocity: acceleration + response.acceleration * sigma,
            rates: angular_acceleration + response.angular_acceleration * sigma,
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

/// v̇ and ω̇ in body components under a total force and moment.
fn accelerations<T: Number>(
    vehicle: &Vehicle<T>,
    state: &State<T>,
    total: &Wrench<T>,
) -> (Vector3<T>, Vector3<T>) {
    let momentum = vehicle.inertia * state.rates;
    (
        total.force / vehicle.mass - state.rates.cross(&state.velocity),
        vehicle.inverse_inertia * (total.moment - state.rates.cross(&momentum)),
    )
}

/// Force and accelerations for each m/s² of σ.
struct AlphaRateResponse<T> {
    wrench: Wrench<T>,
    acceleration: Vector3<T>,
    angular_acceleration: Vector3<T>,
}

/// σ, solved together with the accelerations it depends on (MODEL.md § 5.2), and what each unit of it does.
fn alpha_rate<T: Number>(
    vehicle: &Vehicle<T>,
    state: &State<T>,
    to_earth: &Matrix3<T>,
    wind: &WindSample<T>,
    flow: &Flow<T>,
    attached_weight: T,
    (acceleration, angular_acceleration): (&Vector3<T>, &Vector3<T>),
) -> (T, AlphaRateResponse<T>) {
    let reference = &vehicle.coefficients.reference;
    let wrench = vehicle.coefficients.alpha_rate(flow) * attached_weight;
    let response = AlphaRateResponse {
        wrench,
        acceleration: wrench.force / vehicle.mass,
        angular_acceleration: vehicle.inverse_inertia * wrench.moment,
    };
    let (sin, cos) = flow.sin_cos_alpha;
    let along = |a: &Vector3<T>| cos * a.z - sin * a.x;
    let reference_velocity = to_earth * (state.velocity + state.rates.cross(reference));
    let wind_rate = to_earth.transpose() * (wind.time_rate + wind.gradient * reference_velocity);
    let from_wind = along(&(state.rates.cross(&flow.wind) - wind_rate));
    let from = |v: &Vector3<T>, w: &Vector3<T>| along(&(v + w.cross(reference)));
    let sigma = (from_wind + from(acceleration, angular_acceleration))
        / (T::one() - from(&response.acceleration, &response.angular_acceleration));
    (sigma, response)
}
