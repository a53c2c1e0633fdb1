//! How long a cell lasts, against what a divided by b gives: charge over current.

use sim_core::interpolate::MonotoneCubic;
use sim_core::power::cell::Cell;
use sim_core::trim::endurance::EnduranceEnd;
use sim_core::trim::{TrimConditions, Trimmer};
use sim_core::vehicle::Vehicle;
use tossline_tests::known::aircraft::{steady_air, twin};

fn conditions(charge_fraction: f64) -> TrimConditions {
    TrimConditions {
        tabs_rad: vec![0.0, 0.0],
        steering_shares: vec![0.5, -0.5],
        height_m: 0.0,
        charge_fraction,
    }
}

fn twin_with(cell: Cell<f64>) -> Vehicle<f64> {
    Vehicle { cell, ..twin() }
}

/// 540 C without inner resistance, 0.03 A for the electronics, voltage straight from empty to full.
fn cell(empty_v: f64, full_v: f64) -> Cell<f64> {
    Cell {
        capacity: 540.0,
        resistance: 0.0,
        electronics_current: 0.03,
        open_voltage: MonotoneCubic::through(&[(0.0, empty_v), (1.0, full_v)]),
    }
}

// A cell of one voltage: the same steady flight, and the same current, at every charge. t = Q/I.
#[test]
fn a_constant_current_lasts_charge_over_current() {
    let vehicle = twin_with(cell(4.0, 4.0));
    let trimmer = Trimmer::new(&vehicle, &steady_air(), conditions(0.8));
    let level = trimmer.level().unwrap();
    let power = trimmer.power(0.9).unwrap();
    for (steady, endurance) in [
        (&level, trimmer.endurance_in_level_flight(&level, None)),
        (&power, trimmer.endurance_at_throttle(&power, Some(3.0))),
    ] {
        let current_a = trimmer.evaluation(steady).rate.charge;
        let expected_s = 0.8 * 540.0 / current_a;
        assert!(current_a > 0.1);
        assert!(
            (endurance.time_s - expected_s).abs() < 1e-6 * expected_s,
            "{endurance:?} {expected_s}"
        );
        assert!((endurance.charge_used_c - 432.0).abs() < 1e-9);
        assert_eq!(endurance.ended_by, EnduranceEnd::Empty);
    }
}

// Motors off, only the electronics draw: the voltage is the open one, which goes straight from 4.2 V down to 3.0 V and meets 3.6 V at half
// charge. From 0.9 on that is 0.4 · 540 C at 0.03 A, two hours.
#[test]
fn a_cut_off_ends_it_where_the_voltage_gets_there() {
    let vehicle = twin_with(cell(3.0, 4.2));
    let trimmer = Trimmer::new(&vehicle, &steady_air(), conditions(0.9));
    let glide = trimmer.glide().unwrap();
    let endurance = trimmer.endurance_at_throttle(&glide, Some(3.6));
    assert!((endurance.time_s - 7200.0).abs() < 0.01, "{endurance:?}");
    assert_eq!(endurance.ended_by, EnduranceEnd::CutOff);
    let at_once = trimmer.endurance_at_throttle(&glide, Some(4.15));
    assert_eq!(
        (at_once.time_s, at_once.ended_by),
        (0.0, EnduranceEnd::CutOff)
    );
}

// Level flight needs a certain electric power; as the voltage falls it takes more throttle until there is no more.
#[test]
fn level_flight_ends_when_full_throttle_is_not_enough() {
    let vehicle = twin_with(cell(0.5, 4.2));
    let trimmer = Trimmer::new(&vehicle, &steady_air(), conditions(1.0));
    let level = trimmer.level().unwrap();
    let endurance = trimmer.endurance_in_level_flight(&level, None);
    assert_eq!(endurance.ended_by, EnduranceEnd::NotEnoughPower);
    // At the charge where it ends, full throttle is level flight.
    let end = 1.0 - endurance.charge_used_c / 540.0;
    let at_the_end = Trimmer::new(&vehicle, &steady_air(), conditions(end));
    let full = at_the_end.power(1.0).unwrap();
    assert!(full.climb_m_s.abs() < 1e-4, "{end} {}", full.climb_m_s);
}

// The glide of a cell that feeds nothing lasts for ever, and is said so.
#[test]
fn what_draws_nothing_lasts_for_ever() {
    let vehicle = twin_with(Cell {
        electronics_current: 0.0,
        ..cell(3.0, 4.2)
    });
    let trimmer = Trimmer::new(&vehicle, &steady_air(), conditions(1.0));
    let glide = trimmer.glide().unwrap();
    let endurance = trimmer.endurance_at_throttle(&glide, None);
    assert_eq!(endurance.ended_by, EnduranceEnd::Never);
    assert!(endurance.time_s.is_infinite());
}
