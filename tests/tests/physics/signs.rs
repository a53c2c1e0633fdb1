//! The sign table: which way each input, motor and angle must push, by the words of the design alone.
//!
//! Body axes x forward, y right, z down; thrust along (cos e cos t, s cos e sin t, −sin e), moment r × F from the
//! balance point.

use crate::look::{AHEAD, level, look};
use nalgebra::Vector3;
use sim_core::power::motor::thrust_axis;
use sim_core::power::propeller::{Propeller, PropellerRow, STOPPED_DEFAULT};
use sim_core::vehicle::Vehicle;
use std::f64::consts::TAU;
use tossline_tests::known::aircraft::{glider, steady_air};
use tossline_tests::known::power::small_motor;

/// A motor that pulls with 0.08 N at rest at the rotor speed given with it.
fn eight_hundredths(
    place: Vector3<f64>,
    elevation: f64,
    turn: f64,
    side: f64,
    spin: f64,
) -> (Vehicle<f64>, f64) {
    let rows = [0.0, 1.0].map(|advance_ratio| PropellerRow {
        advance_ratio,
        thrust_coefficient: 0.1,
        power_coefficient: 0.06,
    });
    let mut motor = small_motor(place, elevation, turn, side, spin);
    motor.propeller = Propeller::from_table(0.05, &rows, STOPPED_DEFAULT);
    let turns = (0.08 / (0.1 * 1.225 * 0.05_f64.powi(4))).sqrt();
    let mut vehicle = glider();
    vehicle.motors.push(motor);
    (vehicle, turns * TAU)
}

fn motor_moment(place: Vector3<f64>, elevation: f64, turn: f64, side: f64) -> Vector3<f64> {
    let (vehicle, rotor) = eight_hundredths(place, elevation, turn, side, 1.0);
    let all = look(
        &vehicle,
        &steady_air(),
        &level(Vector3::zeros(), [rotor, 0.0]),
        &[],
    );
    assert!((all.motors[0].thrust - 0.08).abs() < 1e-12);
    // The torque reaction is the next test's.
    let force = vehicle.motors[0].axis * 0.08;
    assert!((all.forces.motors[0].force - force).norm() < 1e-15);
    all.forces.motors[0].moment + vehicle.motors[0].axis * all.motors[0].torque
}

// Design, worked: 0.08 N, mount 120 mm behind and 20 mm above the balance point, e = −5, 0, +5°: pitching moment
// −0.76, −1.60, −2.43 mN m. So raising e on a pusher lowers the nose; on a tractor it raises it.
#[test]
fn the_worked_pitching_moments_of_the_design() {
    let pusher = Vector3::new(-0.12, 0.0, -0.02);
    for (degrees, millinewton_metres) in [(-5.0_f64, -0.76), (0.0, -1.60), (5.0, -2.43)] {
        let moment = motor_moment(pusher, degrees.to_radians(), 0.0, 1.0).y * 1e3;
        assert!(
            (moment - millinewton_metres).abs() < 5e-3,
            "{degrees}: {moment}"
        );
    }
    let tractor = Vector3::new(0.12, 0.0, -0.02);
    let at = |degrees: f64| motor_moment(tractor, degrees.to_radians(), 0.0, 1.0).y;
    assert!(at(5.0) > at(0.0) && at(0.0) > at(-5.0));
    // Thrust above the balance point puts the nose down, below it up; through it not at all.
    assert!(motor_moment(Vector3::new(-0.12, 0.0, 0.02), 0.0, 0.0, 1.0).y > 0.0);
    assert!(
        motor_moment(Vector3::new(-0.12, 0.0, 0.0), 0.0, 0.0, 1.0)
            .y
            .abs()
            < 1e-18
    );
}

// A motor on the right pushes the nose left, one on the left the nose right. Toe turns the thrust away from the
// centre line, the air blown with it inwards: for a tractor ahead of the balance point that turns the nose towards
// its side, for a pusher away from it.
#[test]
fn motors_beside_the_centre_line_and_their_toe_yaw() {
    for side in [1.0, -1.0] {
        let (tractor, pusher) = (
            Vector3::new(0.12, 0.06 * side, 0.0),
            Vector3::new(-0.12, 0.06 * side, 0.0),
        );
        assert!(motor_moment(tractor, 0.0, 0.0, side).z * side < 0.0);
        assert!(motor_moment(pusher, 0.0, 0.0, side).z * side < 0.0);
        let toe = 5.0_f64.to_radians();
        let change = |place| {
            (motor_moment(place, 0.0, toe, side).z - motor_moment(place, 0.0, 0.0, side).z) * side
        };
        assert!(change(tractor) > 0.0 && change(pusher) < 0.0);
        // By hand: N = x F_y − y F_x.
        let expected = 0.08 * (-0.12 * side * toe.sin() - 0.06 * side * toe.cos());
        assert!((motor_moment(pusher, 0.0, toe, side).z - expected).abs() < 1e-15);
    }
    // A centre motor's thrust_right_deg: to the right whatever is left.
    assert!(thrust_axis(0.0, 0.1, 1.0).y > 0.0);
}

// A clockwise propeller (seen from behind) drags the airframe round counterclockwise, left wing down, as does a
// clockwise rotor that speeds up; nose coming up it swings the nose right (the pilot's rule for propellers that turn
// clockwise, from memory).
#[test]
fn spin_turns_the_airframe_the_other_way() {
    for spin in [1.0, -1.0] {
        let (vehicle, rotor) = eight_hundredths(Vector3::new(0.1, 0.0, 0.0), 0.0, 0.0, 1.0, spin);
        let mut state = level(AHEAD, [rotor, 0.0]);
        let all = look(&vehicle, &steady_air(), &state, &[]);
        assert!(all.forces.motors[0].moment.x * spin < 0.0);
        state.rotors[0] = 0.2 * rotor;
        let starting = look(&vehicle, &steady_air(), &state, &[]);
        assert!(starting.rate.rotors[0] > 0.0 && starting.forces.spin_up.moment.x * spin < 0.0);
        // All the airframe feels in the end is the motor's reaction, −s M a.
        let motor = &vehicle.motors[0];
        let reaction = starting.forces.motors[0].moment.x + starting.forces.spin_up.moment.x;
        let torque = motor.torque(starting.motors[0].current, state.rotors[0]);
        assert!((reaction + spin * torque).abs() < 1e-15);
        state.rates.y = 1.0;
        assert!(
            look(&vehicle, &steady_air(), &state, &[])
                .forces
                .gyroscopic
                .moment
                .z
                * spin
                > 0.0
        );
        state.rates = Vector3::new(0.0, 0.0, 1.0);
        assert!(
            look(&vehicle, &steady_air(), &state, &[])
                .forces
                .gyroscopic
                .moment
                .y
                * spin
                < 0.0
        );
    }
}

// Each coefficient pushes along its name: with one of them at +0.1 and all others zero, at α = β = 0.1 or a rate of
// +1 rad/s.
#[test]
fn each_coefficient_pushes_along_its_name() {
    use sim_core::aero::coefficients::Coefficients;
    type Field = fn(&mut Coefficients<f64>) -> &mut f64;
    // Field, the component it must raise (0..2 force, 3..5 moment) and with which sign.
    let table: [(Field, usize, f64); 22] = [
        (|c| &mut c.lift_zero, 2, -1.0),
        (|c| &mut c.lift_alpha, 2, -1.0),
        (|c| &mut c.lift_q, 2, -1.0),
        (|c| &mut c.drag_min, 0, -1.0),
        (|c| &mut c.pitch_zero, 4, 1.0),
        (|c| &mut c.pitch_alpha, 4, 1.0),
        (|c| &mut c.pitch_q, 4, 1.0),
        (|c| &mut c.side_zero, 1, 1.0),
        (|c| &mut c.side_beta, 1, 1.0),
        (|c| &mut c.side_p, 1, 1.0),
        (|c| &mut c.side_r, 1, 1.0),
        (|c| &mut c.roll_zero, 3, 1.0),
        (|c| &mut c.roll_beta, 3, 1.0),
        (|c| &mut c.roll_p, 3, 1.0),
        (|c| &mut c.roll_r, 3, 1.0),
        (|c| &mut c.yaw_zero, 5, 1.0),
        (|c| &mut c.yaw_beta, 5, 1.0),
        (|c| &mut c.yaw_p, 5, 1.0),
        (|c| &mut c.yaw_r, 5, 1.0),
        // Nose swinging up: with α rising (w gaining), lift and pitch of α̇.
        (|c| &mut c.lift_alpha_rate, 2, -1.0),
        (|c| &mut c.pitch_alpha_rate, 4, 1.0),
        (|c| &mut c.drag_min, 2, -1.0),
    ];
    for (i, (field, component, sign)) in table.iter().enumerate() {
        let mut vehicle = glider();
        vehicle.coefficients = Coefficients::none(0.06, 0.5, 0.12);
        *field(&mut vehicle.coefficients) = 0.1;
        // Flow from below and from the right: w > 0, v > 0; weight makes w grow.
        let mut state = level(Vector3::new(6.0, 0.6, 0.6), [0.0; 2]);
        state.rates = Vector3::new(1.0, 1.0, 1.0);
        let all = look(&vehicle, &steady_air(), &state, &[]);
        let total = all.forces.attached + all.forces.alpha_rate;
        let parts = [
            total.force.x,
            total.force.y,
            total.force.z,
            total.moment.x,
            total.moment.y,
            total.moment.z,
        ];
        assert!(parts[*component] * sign > 0.0, "entry {i}: {parts:?}");
    }
}
