//! The sum of forces and moments, kept apart by cause, and the state's rates that follow (MODEL.md § 3, 5, 6).

use crate::aero::apparent_mass::{ApparentMass, Joined};
use crate::aero::flow::{Flow, equivalent_rates};
use crate::aero::ground::downwash_spared;
use crate::air::{Air, GradientRates, WindSample};
use crate::frames;
use crate::number::Number;
use crate::parts::{Parts, Reciprocals};
use crate::power::disc::Around;
use crate::power::motor::Motor;
use crate::segment::Segment;
use crate::state::{MAX_MOTORS, State};
use crate::vector::{
    cross, difference, dot, minus, plus, product, scaled, scaled_plus, seen_from_body, sum, turned,
    turned_back,
};
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
        self.without_accelerations(&Parts::ALL, MAX_MOTORS) + self.alpha_rate + self.apparent_mass
    }

    /// All that does not depend on the accelerations; what is absent is left out.
    #[inline(always)]
    fn without_accelerations(&self, parts: &Parts, motors: usize) -> Wrench<T> {
        let mut sum = self.weight + self.attached;
        if parts.ground_effect {
            sum = sum + self.ground_effect;
        }
        sum = (sum + self.plates).with_moment(self.damping.moment);
        if parts.disc_force {
            sum = sum + self.disc;
        }
        if parts.wash {
            sum = sum + self.wash;
        }
        if parts.suction {
            sum = sum + self.suction;
        }
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

/// Evaluates the whole model at a time (s) and state. Allocates nothing.
pub fn evaluate<T: Number>(
    vehicle: &Vehicle<T>,
    air: &Air<T>,
    segment: &Segment<T>,
    time: T,
    state: &State<T>,
) -> Evaluation<T> {
    let shares = if T::FUSED {
        Reciprocals::of(vehicle)
    } else {
        Reciprocals::none()
    };
    evaluate_parts(vehicle, air, segment, &Parts::ALL, &shares, time, state)
}

/// The same where only some parts of the model are there, with reciprocals at hand where the number type wants them.
#[inline(always)]
pub fn evaluate_parts<T: Number>(
    vehicle: &Vehicle<T>,
    air: &Air<T>,
    segment: &Segment<T>,
    parts: &Parts,
    shares: &Reciprocals<T>,
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
    } = surroundings(
        vehicle,
        air,
        segment,
        parts,
        time,
        state,
        air.atmosphere.density(height),
    );
    let density = flow.density;

    let (motors, cell_voltage, battery_current) =
        run_motors(vehicle, segment, shares, time, state, &flow);
    let mut spin = Vector3::repeat(T::zero());
    let mut spin_rate = Vector3::repeat(T::zero());
    let mut motor_wrenches = [Wrench::zero(); MAX_MOTORS];
    for (i, motor) in vehicle.motors.iter().enumerate() {
        let momentum = scaled(&motor.axis, motor.spin * motor.rotor_inertia);
        spin = scaled_plus(&momentum, state.rotors[i], &spin);
        spin_rate = scaled_plus(&momentum, motors[i].rotor_rate, &spin_rate);
        let reaction = scaled(&motor.axis, -motor.spin * motors[i].torque);
        let thrust = scaled(&motor.axis, motors[i].thrust);
        motor_wrenches[i] = Wrench::at(thrust, &motor.place).with_moment(reaction);
    }

    let fixed = table.at(flow.alpha, flow.beta, segment.tab_angles(time));
    let attached_weight = vehicle.post_stall.attached_weight_by(&flow, shares);
    let separated = T::one() - attached_weight;
    let ground_effect = if parts.ground_effect {
        let level = &vehicle.post_stall.level.quarter_chord;
        let wing_place = plus(&state.position, &turned(&to_earth, level));
        let height = -wing_place.z - air.ground_height;
        let spared = air.ground_effect * downwash_spared(height.over(table.span, shares.span));
        table.ground_effect(&flow, &fixed, spared) * attached_weight
    } else {
        Wrench::zero()
    };
    let around = Around {
        velocity: minus(&state.velocity, &flow.wind),
        rates: state.rates,
        density,
        attached_weight,
        normal_at_90: vehicle.post_stall.normal_at_90,
    };
    let [mut disc, mut wash, mut suction] = [Wrench::zero(); 3];
    if parts.disc_force || parts.wash || parts.suction {
        for (motor, now) in vehicle.motors.iter().zip(&motors) {
            let beside_thrust = motor.disc.wrenches(motor, now.thrust, &around);
            disc = disc + beside_thrust.normal_force;
            wash = wash + beside_thrust.wash;
            suction = suction + beside_thrust.suction;
        }
    }
    let normals = vehicle.post_stall.normals(&flow);
    let plates = vehicle
        .post_stall
        .plates_by(&flow, &normals, table.area, table.drag_min);
    let damping = vehicle.post_stall.damping_by(&flow, &normals, separated);
    let zero = Vector3::repeat(T::zero());
    let mut forces = Breakdown {
        weight: Wrench {
            force: weight(vehicle, air, parts, height, &to_earth),
            moment: zero,
        },
        attached: table.attached_with(&flow, &fixed) * attached_weight,
        ground_effect,
        alpha_rate: Wrench::zero(),
        apparent_mass: Wrench::zero(),
        plates: plates * separated,
        damping: Wrench::pure_moment(damping),
        motors: motor_wrenches,
        disc,
        wash,
        suction,
        gyroscopic: Wrench::pure_moment(-cross(&state.rates, &spin)),
        spin_up: Wrench::pure_moment(-spin_rate),
    };

    let mut wind_part = zero;
    let mut wind_turning = zero;
    if parts.wind_rates {
        wind_part = wind_acceleration(state, &to_earth, &wind, &flow, &reference_velocity);
        if parts.gradients {
            wind_turning = wind_rates(state, &to_earth, &wind, &gradient_rates);
        }
    }
    let body = Body {
        vehicle,
        over_mass: shares.mass,
        carried: vehicle.apparent_mass.as_ref().map(|apparent| Carried {
            apparent,
            joined: apparent.joined(density, vehicle.mass, &vehicle.inertia),
            density,
            wind_part: Motion {
                velocity: wind_part,
                rates: wind_turning,
            },
        }),
    };
    let known = forces.without_accelerations(parts, vehicle.motors.len());
    let mut motion = body.accelerations(state, &known);
    if parts.alpha_rate {
        let for_each_sigma = table.alpha_rate(&flow) * attached_weight;
        let response = body.response(&for_each_sigma);
        let sigma = sigma(vehicle, &flow, &wind_part, &motion, &response);
        motion = motion + response * sigma;
        forces.alpha_rate = for_each_sigma * sigma;
    }
    if let Some(carried) = &body.carried {
        forces.apparent_mass = carried.reaction(&motion);
    }
    Evaluation {
        rate: State {
            position: turned(&to_earth, &state.velocity),
            attitude: frames::quaternion_rate(&state.attitude, &state.rates),
            velocity: motion.velocity,
            rates: motion.rates,
            rotors: [motors[0].rotor_rate, motors[1].rotor_rate],
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
    let density = air.atmosphere.density(state.height());
    let flow = surroundings(vehicle, air, segment, &Parts::ALL, time, state, density).flow;
    run_motors(vehicle, segment, &Reciprocals::none(), time, state, &flow).0
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
pub(crate) fn surroundings<T: Number>(
    vehicle: &Vehicle<T>,
    air: &Air<T>,
    segment: &Segment<T>,
    parts: &Parts,
    time: T,
    state: &State<T>,
    density: T,
) -> Surroundings<T> {
    let reference = &vehicle.coefficients.reference;
    let to_earth = frames::rotation(&state.attitude);
    let reference_place = plus(&state.position, &turned(&to_earth, reference));
    let at_reference = plus(&state.velocity, &cross(&state.rates, reference));
    let reference_velocity = turned(&to_earth, &at_reference);
    let (wind, gradient_rates) = air.wind_along(
        &reference_place,
        &reference_velocity,
        time,
        &segment.gusts_on,
        parts,
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

/// The motors, the cell's terminal voltage and the current drawn from it.
#[inline(always)]
fn run_motors<T: Number>(
    vehicle: &Vehicle<T>,
    segment: &Segment<T>,
    shares: &Reciprocals<T>,
    time: T,
    state: &State<T>,
    flow: &Flow<T>,
) -> ([MotorState<T>; MAX_MOTORS], T, T) {
    let duty = segment.duty(time);
    let cell = &vehicle.cell;
    let charge_left = T::one() - state.charge.over(cell.capacity, shares.capacity);
    let voltage =
        cell.terminal_voltage_by(charge_left, &vehicle.motors, &duty, &state.rotors, shares);
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
        let axial_speed = axial_speed(motor, state, flow);
        let (thrust, torque) = motor
            .propeller
            .thrust_and_torque(axial_speed, rotor, flow.density);
        let current = motor.current_by(duty[i], voltage, rotor, shares.resistance[i]);
        battery_current = duty[i].times_plus(current, battery_current);
        let spinning_up = motor.torque(current, rotor) - torque;
        states[i] = MotorState {
            duty: duty[i],
            axial_speed,
            thrust,
            torque,
            current,
            rotor_rate: spinning_up.over(motor.rotor_inertia, shares.rotor_inertia[i]),
        };
    }
    (states, voltage, battery_current)
}

/// Speed of a motor's disc through the air along its axis, m/s.
#[inline(always)]
pub(crate) fn axial_speed<T: Number>(motor: &Motor<T>, state: &State<T>, flow: &Flow<T>) -> T {
    let moving = plus(&state.velocity, &cross(&state.rates, &motor.place));
    dot(&motor.axis, &minus(&moving, &flow.wind))
}

/// What forces accelerate: the airframe, with the air it carries where that is flown with.
struct Body<'a, T> {
    vehicle: &'a Vehicle<T>,
    /// 1/mass, where the number type wants it.
    over_mass: T,
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
    #[inline(always)]
    fn reaction(&self, motion: &Motion<T>) -> Wrench<T> {
        let relative = *motion + self.wind_part;
        self.apparent.reaction(self.density, &relative)
    }
}

impl<T: Number> Body<'_, T> {
    #[inline(always)]
    fn over_mass(&self, force: &Vector3<T>) -> Vector3<T> {
        let (mass, over) = (self.vehicle.mass, self.over_mass);
        Vector3::new(
            force.x.over(mass, over),
            force.y.over(mass, over),
            force.z.over(mass, over),
        )
    }

    /// v̇ and ω̇ under a total force and moment.
    #[inline(always)]
    fn accelerations(&self, state: &State<T>, total: &Wrench<T>) -> Motion<T> {
        let turning = cross(&state.rates, &state.velocity);
        let momentum = turned(&self.vehicle.inertia, &state.rates);
        let moment = minus(&total.moment, &cross(&state.rates, &momentum));
        match &self.carried {
            None => Motion {
                velocity: minus(&self.over_mass(&total.force), &turning),
                rates: turned(&self.vehicle.inverse_inertia, &moment),
            },
            Some(carried) => {
                let mass = self.vehicle.mass;
                let own = Wrench {
                    force: minus(&total.force, &scaled(&turning, mass)),
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
    #[inline(always)]
    fn response(&self, wrench: &Wrench<T>) -> Motion<T> {
        match &self.carried {
            None => Motion {
                velocity: self.over_mass(&wrench.force),
                rates: turned(&self.vehicle.inverse_inertia, &wrench.moment),
            },
            Some(carried) => carried.joined.accelerations(wrench),
        }
    }
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
