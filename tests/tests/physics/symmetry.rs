//! Symmetries of nature: left and right, north and east, and moving air.

use nalgebra::{Matrix3, Rotation3, Vector3, Vector4};
use sim_core::air::gust::Gust;
use sim_core::air::{Air, wind_from};
use sim_core::flight::{Flight, Throw};
use sim_core::frames::{EulerAngles, multiply, rotation};
use sim_core::launch::Launch;
use sim_core::pilot::Change;
use sim_core::state::State;
use sim_core::vehicle::Vehicle;
use tossline_tests::known::aircraft::{lopsided_twin, stalling_glider, steady_pilot, throw, tight};

/// A lively throw of the lopsided twin: wind, gusts, a throttle step, a tab move, a hard banked launch that stalls.
fn lively() -> Throw {
    let mut air = Air::calm();
    air.mean_wind = wind_from(2.5, 0.7, 0.3);
    air.gusts = vec![
        Gust::in_place(Vector3::new(0.5, -0.8, -1.0), 0.3, 3.0, 7.0),
        Gust::in_time(Vector3::new(-0.4, 0.7, 0.5), 1.1, 0.9),
    ];
    let launch = Launch {
        path_angle_rad: 0.4,
        heading_rad: 0.3,
        nose_above_path_rad: 0.1,
        nose_right_of_path_rad: -0.15,
        bank_rad: 0.5,
        rates_rad_s: Vector3::new(1.0, 0.5, -0.7),
        ..Launch::level(25.0, 8.0)
    };
    let mut throw = throw(lopsided_twin(), air, launch, 2.5);
    throw.pilot = steady_pilot(0.3, 0.2, &[0.05, -0.1]);
    throw.pilot.throttle.changes.push(Change {
        time_s: 0.6,
        to: 0.8,
        ramp_s: 0.0,
    });
    throw.pilot.tabs[1].changes.push(Change {
        time_s: 0.9,
        to: 0.2,
        ramp_s: 0.3,
    });
    throw
}

const FLIP: Vector3<f64> = Vector3::new(1.0, -1.0, 1.0);

fn mirror(v: &Vector3<f64>) -> Vector3<f64> {
    v.component_mul(&FLIP)
}

/// The vehicle seen in a mirror: right and left exchanged, so that products with y, side forces, rolling and yawing
/// moments at rest, the tabs' effects across and the propellers' spin change sign; derivatives like C_nβ are the
/// ratio of two that do and stay.
fn mirrored_vehicle(vehicle: &Vehicle<f64>) -> Vehicle<f64> {
    let mut m = vehicle.clone();
    let flip = Matrix3::from_diagonal(&FLIP);
    m.inertia = flip * m.inertia * flip;
    m.inverse_inertia = flip * m.inverse_inertia * flip;
    let table = &mut m.coefficients;
    table.reference = mirror(&table.reference);
    table.side_zero = -table.side_zero;
    table.roll_zero = -table.roll_zero;
    table.yaw_zero = -table.yaw_zero;
    for tab in &mut table.tabs {
        tab.side = -tab.side;
        tab.roll = -tab.roll;
        tab.yaw = -tab.yaw;
    }
    for motor in &mut m.motors {
        motor.place = mirror(&motor.place);
        motor.axis = mirror(&motor.axis);
        motor.spin = -motor.spin;
        for node in &mut motor.disc.wash.0 {
            node.at = mirror(&node.at);
            node.turned_at = mirror(&node.turned_at);
            node.normal = mirror(&node.normal);
        }
        for panel in &mut motor.disc.suction.0 {
            panel.normal = mirror(&panel.normal);
            panel.centre = mirror(&panel.centre);
            panel.mean = mirror(&panel.mean);
            // Moments are r × n: of a mirror image with the sign of rates.
            panel.faster_moment = -mirror(&panel.faster_moment);
            panel.turned_moment = -mirror(&panel.turned_moment);
            panel.both_moment = -mirror(&panel.both_moment);
        }
    }
    for point in &mut m.outline {
        *point = mirror(point);
    }
    m
}

fn mirrored(throw: &Throw) -> Throw {
    let mut m = throw.clone();
    m.vehicle = mirrored_vehicle(&throw.vehicle);
    m.launch.heading_rad *= -1.0;
    m.launch.nose_right_of_path_rad *= -1.0;
    m.launch.bank_rad *= -1.0;
    m.launch.rates_rad_s = -mirror(&m.launch.rates_rad_s);
    m.air.mean_wind = mirror(&m.air.mean_wind);
    for gust in &mut m.air.gusts {
        gust.peak = mirror(&gust.peak);
        gust.along = mirror(&gust.along);
    }
    // Motor 0 now hangs on the right and keeps its share of the difference, so that it keeps its throttle.
    m
}

fn mirrored_state(state: &State<f64>) -> State<f64> {
    State {
        position: mirror(&state.position),
        attitude: state
            .attitude
            .component_mul(&Vector4::new(1.0, -1.0, 1.0, -1.0)),
        velocity: mirror(&state.velocity),
        rates: -mirror(&state.rates),
        ..*state
    }
}

// A mirror image flies the mirror image, to the last bit: every product and sum has its mirrored counterpart with the
// same rounding.
#[test]
fn a_mirrored_throw_gives_the_mirrored_flight() {
    let (plain, image) = (lively().fly().unwrap(), mirrored(&lively()).fly().unwrap());
    assert_eq!(plain.cut_times_s(), image.cut_times_s());
    assert_eq!(plain.counts, image.counts);
    for i in 0..=250 {
        let t = 0.01 * f64::from(i);
        assert_eq!(
            mirrored_state(&plain.state_at(t)),
            image.state_at(t),
            "{t} s"
        );
    }
    let across = plain.state_at(2.0).position.y.abs() + plain.state_at(2.0).rates.x.abs();
    assert!(across > 0.3, "the throw is no symmetric one");
}

// A symmetric aircraft thrown straight without wind stays in its plane for ever, without a bit across.
#[test]
fn a_straight_throw_of_a_symmetric_aircraft_stays_straight() {
    let mut launch = Launch::level(30.0, 11.0);
    launch.path_angle_rad = 0.7;
    launch.rates_rad_s.y = 1.0;
    let flight = throw(stalling_glider(), Air::calm(), launch, 3.0)
        .fly()
        .unwrap();
    for i in 0..=30 {
        let state = flight.state_at(0.1 * f64::from(i));
        assert_eq!(state.position.y, 0.0);
        assert_eq!(state.velocity.y, 0.0);
        assert_eq!((state.rates.x, state.rates.z), (0.0, 0.0));
    }
}

fn turned(throw: &Throw, angle: f64) -> Throw {
    let mut t = throw.clone();
    let turn = Rotation3::from_axis_angle(&Vector3::z_axis(), angle);
    t.launch.heading_rad += angle;
    t.air.mean_wind = turn * t.air.mean_wind;
    for gust in &mut t.air.gusts {
        gust.peak = turn * gust.peak;
        gust.along = turn * gust.along;
    }
    t
}

fn worst_miss(a: &Flight, b: &Flight, expected: impl Fn(&State<f64>, f64) -> State<f64>) -> f64 {
    (0..=100)
        .map(|i| {
            let t = 0.025 * f64::from(i);
            let (want, have) = (expected(&a.state_at(t), t), b.state_at(t));
            let attitudes = rotation(&want.attitude) - rotation(&have.attitude);
            (want.position - have.position)
                .norm()
                .max((want.velocity - have.velocity).norm())
                .max((want.rates - have.rates).norm())
                .max(attitudes.norm())
        })
        .fold(0.0, f64::max)
}

// North is no better than east: heading, wind and gusts turned by one angle turn the flight by it and change nothing
// in the body's own axes.
#[test]
fn turn_the_world_and_the_flight_turns() {
    let mut plain = lively();
    plain.tolerance = tight();
    let flown = plain.fly().unwrap();
    for angle in [0.9, 2.5, -1.7] {
        let turn = Rotation3::from_axis_angle(&Vector3::z_axis(), angle);
        let half = EulerAngles {
            roll_rad: 0.0,
            pitch_rad: 0.0,
            yaw_rad: angle,
        }
        .quaternion();
        let other = turned(&plain, angle).fly().unwrap();
        let miss = worst_miss(&flown, &other, |state, _| State {
            position: turn * state.position,
            attitude: multiply(&half, &state.attitude),
            ..*state
        });
        assert!(miss < 1e-9, "{angle} rad: {miss:.2e}");
    }
}

// Galileo: in a uniform steady wind an aircraft flies as in calm air that moves as a whole. Thrown with the same
// velocity relative to the air, it stays displaced by W t from its flight in calm; carried gusts go along. A turn
// downwind is nothing but a turn.
#[test]
fn a_uniform_wind_only_carries_the_flight_along() {
    let mut calm = lively();
    calm.air.mean_wind = Vector3::zeros();
    calm.tolerance = tight();
    let wind = wind_from(3.0, 2.0, 0.0);
    let mut windy = calm.clone();
    windy.air.mean_wind = wind;
    // The ground velocity of the release is the air velocity and the wind together; the body keeps its attitude.
    let start = calm.fly().unwrap().state_at(0.0);
    let (speed, path, heading) = {
        let v = rotation(&start.attitude) * start.velocity + wind;
        (v.norm(), (-v.z / v.norm()).asin(), v.y.atan2(v.x))
    };
    let from_path = Rotation3::from_euler_angles(0.0, path, heading)
        .matrix()
        .transpose();
    let relative = EulerAngles::of(&(from_path * rotation(&start.attitude)));
    windy.launch.speed_m_s = speed;
    windy.launch.path_angle_rad = path;
    windy.launch.heading_rad = heading;
    windy.launch.nose_above_path_rad = relative.pitch_rad;
    windy.launch.nose_right_of_path_rad = relative.yaw_rad;
    windy.launch.bank_rad = relative.roll_rad;
    let (calm, windy) = (calm.fly().unwrap(), windy.fly().unwrap());
    let miss = worst_miss(&calm, &windy, |state, t| State {
        position: state.position + wind * t,
        velocity: state.velocity + rotation(&state.attitude).transpose() * wind,
        ..*state
    });
    assert!(miss < 1e-9, "{miss:.2e}");
}
