//! Gusts: frozen pulses in place or time, with the flight cut exactly at their edges.

use nalgebra::{SVector, Vector3};
use sim_core::air::gust::Gust;
use sim_core::air::{Air, wind_from};
use sim_core::flight::{Flight, Throw};
use sim_core::forces::evaluate;
use sim_core::frames::rotation;
use sim_core::launch::Launch;
use sim_core::segment::Segment;
use sim_core::state::{STATE_LENGTH, State};
use tossline_tests::known::aircraft::{steady_air, throw, tight, twin};

/// The twin gliding through an upward gust in place and a side gust in time that overlap, in a quartering wind.
fn gusty() -> Throw {
    let mut air = steady_air();
    air.mean_wind = wind_from(2.0, 0.5, 0.0);
    air.gusts = vec![
        Gust::in_place(Vector3::new(0.4, 0.0, -1.2), 0.0, 4.0, 6.0),
        Gust::in_time(Vector3::new(0.0, 0.9, 0.2), 0.9, 0.8),
    ];
    throw(twin(), air, Launch::level(30.0, 4.5), 2.5)
}

/// Position of the reference point along gust i, m or s from the pulse's start.
fn along(flight: &Flight, gust: usize, time_s: f64) -> f64 {
    let (state, throw) = (flight.state_at(time_s), flight.throw());
    let place = state.position + rotation(&state.attitude) * throw.vehicle.coefficients.reference;
    let gust = &throw.air.gusts[gust];
    if gust.time_share > 0.0 {
        return time_s - gust.start;
    }
    // The pulse lies in the moving air: ξ = d · (x − W_mean t).
    gust.along.dot(&(place - throw.air.mean_wind * time_s)) - gust.start
}

#[test]
fn the_flight_is_cut_where_it_meets_each_edge() {
    let flight = gusty().fly().unwrap();
    let cuts = flight.cut_times_s();
    assert_eq!(cuts.len(), 6, "release, four edges, end: {cuts:?}");
    for (gust, length) in [(0, 6.0), (1, 0.8)] {
        for edge in [0.0, length] {
            let miss = cuts
                .iter()
                .map(|&t| (along(&flight, gust, t) - edge).abs())
                .fold(f64::INFINITY, f64::min);
            assert!(miss < 1e-7, "gust {gust}, edge {edge}: {miss:.2e}");
        }
    }
    // No stretch between two looks, hence no step, has an edge inside it.
    for w in flight.look_times_s().windows(2) {
        for (gust, length) in [(0, 6.0), (1, 0.8)] {
            for edge in [0.0, length] {
                let (before, after) = (
                    along(&flight, gust, w[0]) - edge,
                    along(&flight, gust, w[1]) - edge,
                );
                let inside = before.min(after) < -1e-7 && before.max(after) > 1e-7;
                assert!(!inside, "{w:?}: {before} {after}");
            }
        }
    }
}

/// Rates at a time and row with the gusts on exactly where the definition says: 0 < ξ < ℓ.
fn plain_rate(
    throw: &Throw,
    time: f64,
    row: &SVector<f64, STATE_LENGTH>,
) -> SVector<f64, STATE_LENGTH> {
    let state = State::from_array(&(*row).into());
    let place = state.position + rotation(&state.attitude) * throw.vehicle.coefficients.reference;
    let gusts_on = throw
        .air
        .gusts
        .iter()
        .map(|gust| {
            let past = gust.past_start(&throw.air.mean_wind, &place, time);
            f64::from(past > 0.0 && past < gust.length)
        })
        .collect();
    let segment = Segment {
        gusts_on,
        ..Segment::steady(&[0.0, 0.0], &[0.0, 0.0])
    };
    SVector::from(
        evaluate(&throw.vehicle, &throw.air, &segment, time, &state)
            .rate
            .to_array(),
    )
}

// A second, simple solver: the classical fourth-order Runge-Kutta method in steps of 0.1 ms that knows nothing of
// edges. A pulse's slope is continuous and only its curvature jumps, so crossing an edge costs it no more than 1e-10.
// The cut flight agrees at the default tolerance.
#[test]
fn a_simple_solver_without_cuts_agrees() {
    let throw = gusty();
    let flight = throw.fly().unwrap();
    let mut row: SVector<f64, STATE_LENGTH> = SVector::from(flight.state_at(0.0).to_array());
    let h = 1e-4;
    let steps = 25_000;
    for i in 0..steps {
        let t = h * f64::from(i);
        let k1 = plain_rate(&throw, t, &row);
        let k2 = plain_rate(&throw, t + h / 2.0, &(row + k1 * (h / 2.0)));
        let k3 = plain_rate(&throw, t + h / 2.0, &(row + k2 * (h / 2.0)));
        let k4 = plain_rate(&throw, t + h, &(row + k3 * h));
        row += (k1 + (k2 + k3) * 2.0 + k4) * (h / 6.0);
    }
    let end = SVector::from(flight.state_at(2.5).to_array());
    // Position, attitude, velocity, rates; the rotors' thousands of rad/s have their own scale.
    let (miss, rotors) = (
        (row - end).rows(0, 13).amax(),
        (row - end).rows(13, 2).amax(),
    );
    assert!(miss < 1e-7 && rotors < 1e-5, "{miss:.2e} {rotors:.2e}");
}

#[test]
fn the_default_tolerance_agrees_with_a_tight_one_through_the_gusts() {
    let mut fine = gusty();
    fine.tolerance = tight();
    let (standard, fine) = (gusty().fly().unwrap(), fine.fly().unwrap());
    for i in 0..=25 {
        let t = 0.1 * f64::from(i);
        let (a, b) = (standard.state_at(t), fine.state_at(t));
        assert!((a.position - b.position).norm() < 1e-7, "{t} s");
        assert!((a.velocity - b.velocity).norm() < 1e-7, "{t} s");
    }
    let mut calm = gusty();
    calm.air.gusts.clear();
    let moved = calm.fly().unwrap().state_at(2.5).position - standard.state_at(2.5).position;
    assert!(moved.norm() > 0.3, "the gusts matter: {moved}");
}

// Taylor's frozen field: past a body that stays, a pulse of length ℓ carried by the mean wind U is a pulse in time
// lasting ℓ/U. Velocity and ∂W/∂t at the place agree.
#[test]
fn a_frozen_gust_passing_by_is_a_gust_in_time() {
    let peak = Vector3::new(0.3, -0.5, -1.0);
    let mean = 3.0;
    let mut carried = Air::calm();
    carried.mean_wind = Vector3::new(mean, 0.0, 0.0);
    // Laid out along the heading it is carried to, it is upstream at the start: its far end arrives first.
    carried.gusts = vec![Gust::in_place(peak, 0.0, -8.0, 6.0)];
    let mut timed = Air::calm();
    timed.mean_wind = carried.mean_wind;
    timed.gusts = vec![Gust::in_time(peak, 2.0 / mean, 6.0 / mean)];
    for i in 1..40 {
        let t = 2.0 / mean + 6.0 / mean * f64::from(i) / 40.0;
        let place = Vector3::new(0.0, 4.0, -3.0);
        let (a, b) = (
            carried.wind(&place, t, &[1.0]),
            timed.wind(&place, t, &[1.0]),
        );
        assert!((a.velocity - b.velocity).norm() < 1e-14);
        assert!((a.time_rate - b.time_rate).norm() < 1e-13);
        assert!((a.velocity - carried.mean_wind).norm() <= peak.norm() + 1e-14);
    }
}

// Released inside a pulse, just before one, exactly at its edge: always cut right, never a failure.
#[test]
fn releases_at_and_inside_edges_are_clean() {
    for (start, cuts) in [(-3.0, 3), (1e-9, 4), (0.5, 4)] {
        let mut throw = gusty();
        throw.vehicle.coefficients.reference = Vector3::zeros();
        throw.air.gusts.truncate(1);
        throw.air.gusts[0].start = start;
        throw.air.gusts[0].length = 4.0;
        let flight = throw.fly().unwrap();
        assert_eq!(flight.cut_times_s().len(), cuts, "start {start}");
        assert_eq!(flight.end, sim_core::flight::End::Time);
    }
    let mut throw = gusty();
    throw.vehicle.coefficients.reference = Vector3::zeros();
    throw.air.gusts.truncate(1);
    throw.air.gusts[0].start = 0.0;
    let flight = throw.fly().unwrap();
    assert_eq!(flight.end, sim_core::flight::End::Time);
    let (_, all) = flight.evaluation_at(0.2);
    assert!(all.wind.velocity.z < -0.01, "the gust lifts from the start");
}
