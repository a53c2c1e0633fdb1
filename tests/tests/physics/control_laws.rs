//! Sampled controllers, slew limits, cut-off and power cut in flight: cuts where they should be, bits unchanged where they do nothing, and the
//! real throttle in what a flight says.

use nalgebra::Vector3;
use sim_core::control::damper::Damper;
use sim_core::control::gyro::Gyro;
use sim_core::control::hold::{ClimbHold, ClimbPlan, HeadingHold, Hold};
use sim_core::flight::{End, Flight, Throw};
use sim_core::launch::Launch;
use sim_core::pilot::{Change, Programme};
use tossline_tests::known::aircraft::{steady_air, steady_pilot, throw, twin};

fn thrown() -> Throw {
    let launch = Launch {
        rates_rad_s: Vector3::new(0.5, 0.2, -0.3),
        ..Launch::level(30.0, 6.5)
    };
    let mut throw = throw(twin(), steady_air(), launch, 1.5);
    throw.pilot = steady_pilot(0.5, 0.05, &[0.0, 0.0]);
    throw.pilot.throttle.changes.push(Change {
        time_s: 0.7,
        to: 0.8,
        ramp_s: 0.3,
    });
    throw
}

fn damper() -> Damper {
    Damper {
        sample_time_s: 0.05,
        delay_s: 0.02,
        roll_gain_s: 0.1,
        pitch_gain_s: 0.1,
        yaw_gain_s: 0.2,
        saturation: 0.1,
        gyro: Gyro {
            bias_rad_s: Vector3::new(0.01, 0.0, -0.02),
            noise_rad_s: 0.02,
            seed: 11,
        },
    }
}

fn bits(flight: &Flight) -> Vec<u64> {
    let last = flight.state_at(flight.end_time_s).to_array();
    last.iter().map(|x| x.to_bits()).collect()
}

fn duties(flight: &Flight, time_s: f64) -> [f64; 2] {
    flight
        .evaluation_at(time_s)
        .1
        .motors
        .map(|motor| motor.duty)
}

// A damper without gain, one that may ask for nothing, and a pilot who holds nothing change no bit and make no cut.
#[test]
fn what_does_nothing_changes_no_bit() {
    let plain = thrown().fly().unwrap();
    let mut idle = thrown();
    idle.pilot.module.damper = Some(Damper {
        roll_gain_s: 0.0,
        pitch_gain_s: 0.0,
        yaw_gain_s: 0.0,
        ..damper()
    });
    idle.pilot.hold = Some(Hold {
        sample_time_s: 0.1,
        delay_s: 0.1,
        heading: None,
        climb: None,
    });
    idle.pilot.module.cut_off_voltage_v = Some(0.1);
    let idle_flight = idle.fly().unwrap();
    assert_eq!(bits(&plain), bits(&idle_flight));
    assert_eq!(plain.cut_times_s(), idle_flight.cut_times_s());
    idle.pilot.module.damper = Some(Damper {
        saturation: 0.0,
        ..damper()
    });
    assert_eq!(bits(&plain), bits(&idle.fly().unwrap()));
    idle.pilot.module.damper = Some(damper());
    assert_ne!(bits(&plain), bits(&idle.fly().unwrap()));
}

// Between its cuts a duty is the programme plus a command that stays; the command is the law at the sample, worked here from the state there,
// in force from the delay on.
#[test]
fn the_recorded_throttle_is_the_law_at_the_sample() {
    let mut damped = thrown();
    damped.pilot.module.damper = Some(damper());
    let flight = damped.fly().unwrap();
    for k in [0_u32, 1, 7, 20] {
        let sample_s = f64::from(k) * 0.05;
        let rates = flight.state_at(sample_s).rates;
        let noise = sim_core::control::gyro::standard_normals(11, u64::from(k)) * 0.02;
        let seen = rates + Vector3::new(0.01, 0.0, -0.02) + noise;
        let difference = (-0.1 * seen.x - 0.2 * seen.z).clamp(-0.1, 0.1);
        let collective = (0.1 * seen.y).clamp(-0.1, 0.1);
        for time_s in [sample_s + 0.021, sample_s + 0.069] {
            let common = damped.pilot.throttle.after(time_s) + collective;
            let [left, right] = duties(&flight, time_s);
            let half = 0.5 * (0.05 + difference);
            assert!((left - common - half).abs() < 1e-12, "{k} {time_s}");
            assert!((right - common + half).abs() < 1e-12, "{k} {time_s}");
        }
    }
    // Before the first command there is none.
    assert!((duties(&flight, 0.01)[0] - 0.525).abs() < 1e-15);
    let cuts = flight.cut_times_s();
    for expected in [0.02, 0.05, 0.07, 0.1, 0.7, 1.0] {
        assert!(
            cuts.iter().any(|t| (t - expected).abs() < 1e-9),
            "{expected}"
        );
    }
}

// The flight through its cuts is that of a solver at another tolerance: no filter hides in the steps, and the noise of a sample hangs on
// nothing but seed and number. So do several threads at once.
#[test]
fn tolerance_and_threads_do_not_touch_samples() {
    let mut damped = thrown();
    damped.pilot.module.damper = Some(damper());
    let flight = damped.fly().unwrap();
    let mut exact = damped.clone();
    exact.tolerance.relative = 1e-12;
    exact.tolerance.absolute = 1e-12;
    exact.tolerance.largest_step_s = 0.004;
    let exact = exact.fly().unwrap();
    let away = flight.state_at(1.5).position - exact.state_at(1.5).position;
    assert!(away.norm() < 1e-7, "{away}");
    let all: Vec<Vec<u64>> = std::thread::scope(|scope| {
        let workers: Vec<_> = (0..3)
            .map(|_| scope.spawn(|| bits(&damped.fly().unwrap())))
            .collect();
        workers.into_iter().map(|w| w.join().unwrap()).collect()
    });
    assert!(all.iter().all(|one| *one == bits(&flight)));
    let mut other = damped.clone();
    other.pilot.module.damper = Some(Damper {
        gyro: Gyro {
            seed: 12,
            ..damper().gyro
        },
        ..damper()
    });
    assert_ne!(bits(&other.fly().unwrap()), bits(&flight));
}

// A step of 0.5 at 2 per second takes 0.25 s, a tab's step of 0.2 rad at 1 rad/s 0.2 s; a ramp slower than the limit is followed exactly.
#[test]
fn slew_limits_are_straight_lines_in_time() {
    let mut slow = thrown();
    slow.pilot.left_minus_right = Programme::constant(0.0);
    slow.pilot.throttle.changes = vec![
        Change {
            time_s: 0.3,
            to: 1.0,
            ramp_s: 0.0,
        },
        Change {
            time_s: 0.8,
            to: 0.6,
            ramp_s: 0.4,
        },
    ];
    slow.pilot.tabs[0].changes = vec![Change {
        time_s: 0.4,
        to: -0.2,
        ramp_s: 0.0,
    }];
    slow.pilot.slew.throttle_1_s = Some(2.0);
    slow.pilot.slew.tabs_rad_s = Some(1.0);
    let flight = slow.fly().unwrap();
    for (time_s, duty, tab) in [
        (0.2, 0.5, 0.0),
        (0.35, 0.6, 0.0),
        (0.5, 0.9, -0.1),
        (0.56, 1.0, -0.16),
        (0.7, 1.0, -0.2),
        (1.0, 0.8, -0.2),
        (1.4, 0.6, -0.2),
    ] {
        let [left, right] = duties(&flight, time_s);
        assert!(
            (left - duty).abs() < 1e-9 && (right - duty).abs() < 1e-9,
            "{time_s}: {left}"
        );
        let angle = flight.tab_angles_at(time_s).next().unwrap();
        assert!((angle - tab).abs() < 1e-9, "{time_s}: {angle}");
    }
    let cuts = flight.cut_times_s();
    for meeting in [0.55, 0.6] {
        assert!(cuts.iter().any(|t| (t - meeting).abs() < 1e-9), "{cuts:?}");
    }
}

// The power goes: no duty, whatever the slew limit, and no throttle counts as held; the electronics go on drawing.
#[test]
fn a_power_cut_is_the_end_of_all_duties() {
    let mut cut = thrown();
    cut.pilot.left_minus_right = Programme::constant(1.5);
    cut.pilot.slew.throttle_1_s = Some(1.0);
    cut.pilot.module.damper = Some(damper());
    cut.pilot.power_cut_s = Some(0.6);
    let flight = cut.fly().unwrap();
    assert!(duties(&flight, 0.599)[0] > 0.5 && flight.throttle_held_at(0.599));
    for time_s in [0.6, 0.7, 1.2] {
        assert_eq!(duties(&flight, time_s), [0.0, 0.0]);
        assert!(!flight.throttle_held_at(time_s) && !flight.powered_at(time_s));
        let current_a = flight.evaluation_at(time_s).1.rate.charge;
        assert!((current_a - 0.03).abs() < 1e-15, "{current_a}");
    }
    let after = flight.cut_times_s().iter().filter(|t| **t > 0.6).count();
    assert_eq!(
        after, 4,
        "both corners of the throttle, a limit its programme meets, the end"
    );
}

// The driver cuts where the voltage meets its limit, which is a cut of the flight, and for good though the voltage recovers.
#[test]
fn the_driver_cuts_off_once_and_for_good() {
    let mut long = thrown();
    long.time_limit_s = 6.0;
    let plain = long.fly().unwrap();
    let voltage = |flight: &Flight, t: f64| flight.evaluation_at(t).1.cell_voltage;
    // Voltage falls and rises with airspeed and throttle. In the flight without a limit, seen every millisecond, the first one below it:
    let limit_v = voltage(&plain, 3.0);
    let first_s = (0..6000_u32)
        .map(|i| f64::from(i) * 1e-3)
        .find(|&t| voltage(&plain, t) < limit_v)
        .unwrap();
    assert!(first_s > 0.7);
    long.pilot.module.cut_off_voltage_v = Some(limit_v);
    let flight = long.fly().unwrap();
    let cut_s = flight.cut_off_time_s.unwrap();
    assert!(
        cut_s <= first_s && cut_s > first_s - 1e-3,
        "{cut_s} {first_s}"
    );
    assert!(flight.cut_times_s().contains(&cut_s));
    // To the resolution of events, 1e-9 s, at up to some volts per second.
    assert!((voltage(&flight, cut_s - 2e-9) - limit_v).abs() < 1e-7);
    assert!(voltage(&flight, cut_s + 0.1) > limit_v);
    assert_eq!(duties(&flight, cut_s + 1.0), [0.0, 0.0]);
    assert_eq!(flight.end, End::Time);
    // A step that pulls the voltage under the limit cuts at the step, and a throw with too little starts as a glide.
    let mut step = thrown();
    step.pilot.throttle.changes[0].ramp_s = 0.0;
    let uncut = step.fly().unwrap();
    let before_v = (0..700_u32)
        .map(|i| voltage(&uncut, f64::from(i) * 1e-3))
        .fold(f64::INFINITY, f64::min);
    step.pilot.module.cut_off_voltage_v = Some(before_v - 1e-3);
    assert_eq!(step.fly().unwrap().cut_off_time_s, Some(0.7));
    step.pilot.module.cut_off_voltage_v = Some(4.1);
    assert_eq!(step.fly().unwrap().cut_off_time_s, Some(0.0));
}

// By hand: heading 0 wanted at 0.5 rad missing asks for a bank of 0.2 at most, 0.3 per radian of bank missing; a climb of 1 m/s missing for
// 0.05 of throttle. At the first look the aircraft flies level to the north at 6.5 m/s.
#[test]
fn a_pilot_acts_on_what_was_seen() {
    let mut held = thrown();
    held.launch = Launch::level(30.0, 6.5);
    held.pilot.left_minus_right = Programme::constant(0.0);
    held.pilot.throttle = Programme::constant(0.5);
    held.pilot.hold = Some(Hold {
        sample_time_s: 0.2,
        delay_s: 0.3,
        heading: Some(HeadingHold {
            plan: Programme::constant(0.5),
            bank_per_heading: 0.8,
            largest_bank_rad: 0.2,
            gain_1_rad: 0.3,
            largest_difference: 0.5,
        }),
        climb: Some(ClimbHold {
            plan: ClimbPlan::Height {
                plan: Programme::constant(32.0),
                climb_per_height_1_s: 0.5,
                largest_climb_m_s: 3.0,
            },
            gain_s_m: 0.05,
            largest_throttle: 0.2,
        }),
    });
    let flight = held.fly().unwrap();
    assert_eq!(duties(&flight, 0.29), [0.5, 0.5]);
    let [left, right] = duties(&flight, 0.31);
    assert!(
        (left - 0.58).abs() < 1e-12 && (right - 0.52).abs() < 1e-12,
        "{left} {right}"
    );
    // It turns the way it is steered.
    assert!(flight.state_at(1.5).rates.z > 0.0);
}

// Up to the step a flight and its twin are one; after it the twin's programme stays, and its damper goes on with the same noise.
#[test]
fn a_twin_keeps_the_command_and_the_law() {
    let mut damped = thrown();
    damped.pilot.module.damper = Some(damper());
    let mut twin = damped.clone();
    twin.pilot = damped.pilot.with_throttle_held_from(0.7);
    let (flight, other) = (damped.fly().unwrap(), twin.fly().unwrap());
    for time_s in [0.3, 0.69, 0.7] {
        let (a, b) = (flight.state_at(time_s), other.state_at(time_s));
        assert_eq!(
            a.to_array().map(f64::to_bits),
            b.to_array().map(f64::to_bits)
        );
    }
    let [left, right] = duties(&other, 1.4);
    let feedback = other.feedback_at(1.4);
    assert!(((left + right) / 2.0 - 0.5 - feedback.collective).abs() < 1e-12);
    assert!(feedback.collective != 0.0 && feedback != flight.feedback_at(1.4));
}
