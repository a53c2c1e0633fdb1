//! Both engines fly the same flights. The solver at 1e-9 is checked against an independent script elsewhere; here the lanes are checked
//! against it.

use crate::ready::{all, in_lanes};
use nalgebra::Vector3;
use scenarios::load::STUDY_TOLERANCE;
use sim_core::air::gust::Gust;
use sim_core::flight::{End, Flight, Throw};
use sim_core::lanes::{Landed, Width, fly};
use tossline_tests::known::random::Random;

/// Flights in lanes, in order.
pub fn landed(width: Width, throws: &[Throw], keep: bool) -> Vec<Landed> {
    let throws: Vec<&Throw> = throws.iter().collect();
    let mut landed: Vec<Option<Landed>> = throws.iter().map(|_| None).collect();
    fly(width, &throws, keep, |i, flown| {
        landed[i] = Some(flown.expect("it starts"));
    })
    .expect("the width is here");
    landed
        .into_iter()
        .map(|one| one.expect("every throw lands"))
        .collect()
}

/// How far apart two flights are at the earlier end (m), and how much their ends differ (s).
fn apart(one: &Flight, other: &Flight) -> (f64, f64) {
    let end_s = one.end_time_s.min(other.end_time_s);
    let distance = (0..=40)
        .map(|i| end_s * f64::from(i) / 40.0)
        .map(|t| (one.state_at(t).position - other.state_at(t).position).norm())
        .fold(0.0, f64::max);
    (distance, (one.end_time_s - other.end_time_s).abs())
}

// Stated tolerance: at 1e-8 the lanes are within 0.01 mm of the solver at 1e-9 all along, and end by the same word within 10 µs, on every
// ready scenario.
#[test]
fn every_ready_scenario_is_the_same_flight_in_both_engines() {
    let mut worst = (0.0_f64, "");
    for (name, scenario) in all() {
        let throw = &scenario.built.throw;
        let solver = throw.fly().expect("it starts");
        let lanes = in_lanes(throw, 1e-8).fly().expect("it starts");
        let (distance_m, time_s) = apart(&solver, &lanes);
        println!(
            "{name}: {distance_m:.1e} m, {time_s:.1e} s, {:?} {:?}, {} and {} calls",
            solver.end, lanes.end, solver.counts.derivative_calls, lanes.counts.derivative_calls
        );
        assert_eq!(solver.end, lanes.end, "{name}");
        assert!(distance_m < 1e-5, "{name}: {distance_m} m apart");
        assert!(time_s < 1e-5, "{name}: ends {time_s} s apart");
        if distance_m > worst.0 {
            worst = (distance_m, name);
        }
    }
    println!("worst: {worst:?}");
}

// The tolerance studies fly with: within a millimetre of the solver at 1e-9 all along, and the same end word.
#[test]
fn at_the_tolerance_of_studies_every_ready_scenario_is_right_to_a_millimetre() {
    let mut worst = (0.0_f64, "");
    for (name, scenario) in all() {
        let throw = &scenario.built.throw;
        let solver = throw.fly().expect("it starts");
        let lanes = in_lanes(throw, STUDY_TOLERANCE).fly().expect("it starts");
        let (distance_m, _) = apart(&solver, &lanes);
        assert_eq!(solver.end, lanes.end, "{name}");
        assert!(distance_m < 1e-3, "{name}: {distance_m} m apart");
        if distance_m > worst.0 {
            worst = (distance_m, name);
        }
    }
    println!("worst: {worst:?}");
}

/// A ready throw with its launch, step and gusts drawn anew.
pub fn drawn(random: &mut Random) -> Throw {
    let ready = all();
    let i = random.between(0.0, ready.len() as f64) as usize;
    let mut throw = ready[i.min(ready.len() - 1)].1.built.throw.clone();
    throw.launch.speed_m_s *= random.between(0.85, 1.2);
    throw.launch.bank_rad += random.between(-0.2, 0.2);
    throw.launch.path_angle_rad += random.between(-0.1, 0.1);
    throw.launch.heading_rad += random.between(-0.1, 0.1);
    throw.launch.height_m += random.between(0.0, 3.0);
    throw.vehicle.mass *= random.between(0.95, 1.1);
    for gust in &mut throw.air.gusts {
        gust.peak *= random.between(0.5, 1.3);
    }
    throw.time_limit_s = throw.time_limit_s.min(random.between(1.0, 4.0));
    throw
}

// Property: whatever is thrown, the end word is the same and the ends are together; at 1e-8 as above, over the first seconds.
#[test]
fn throws_drawn_at_random_are_the_same_flights_in_both_engines() {
    let mut random = Random::new(41);
    let mut close = 0;
    for round in 0..120 {
        let throw = drawn(&mut random);
        let (Ok(solver), Ok(lanes)) = (throw.fly(), in_lanes(&throw, 1e-8).fly()) else {
            continue;
        };
        let (distance_m, time_s) = apart(&solver, &lanes);
        assert_eq!(solver.end, lanes.end, "round {round}");
        // Beyond stall a throw in a hundred spreads errors a thousandfold.
        assert!(
            distance_m < 1e-3 && time_s < 1e-3,
            "round {round}: {distance_m} m, {time_s} s"
        );
        close += usize::from(distance_m < 1e-5);
    }
    assert!(close > 100, "{close} of 120 within 0.01 mm");
}

// 24 bits: a screening's accuracy, 1 cm over the ready scenarios' first two seconds.
#[test]
fn numbers_of_24_bits_are_near() {
    for (name, scenario) in all() {
        let mut throw = scenario.built.throw.clone();
        throw.time_limit_s = throw.time_limit_s.min(2.0);
        let solver = throw.fly().expect("it starts");
        let mut single = in_lanes(&throw, 1e-5);
        single.tolerance.method = sim_core::solver::Method::LanesSingle;
        let single = single.fly().expect("it starts");
        let (distance_m, _) = apart(&solver, &single);
        assert!(distance_m < 1e-2, "{name}: {distance_m} m");
        assert!(distance_m > 0.0, "{name}: too good to be of 24 bits");
    }
}

// A throw with a number that is none ends by its own word, and its neighbours' flights keep their bytes.
#[test]
fn a_failed_lane_is_told_apart_and_harms_no_other() {
    let mut good = in_lanes(&all()[0].1.built.throw, 1e-6);
    good.air.gusts = vec![Gust::in_time(Vector3::new(0.0, 0.0, -0.3), 0.4, 1.0)];
    let mut bad = good.clone();
    bad.vehicle.coefficients.lift_alpha = f64::NAN;
    // Not before its gust begins.
    let mut later = good.clone();
    later.air.gusts[0].peak.z = f64::NAN;
    let throws = [good.clone(), bad, good.clone(), later, good.clone()];
    let alone = landed(Width::One, &throws[..1], false);
    for width in [Width::One, Width::Four, Width::Eight] {
        if !width.is_here() {
            continue;
        }
        let all = landed(width, &throws, false);
        for i in [0, 2, 4] {
            assert_eq!(all[i].state, alone[0].state, "{width:?}");
            assert_eq!(all[i].end, alone[0].end);
        }
        for i in [1, 3] {
            assert!(
                matches!(all[i].end, End::Failed(_)),
                "{width:?}: {:?}",
                all[i].end
            );
        }
    }
}
