//! Turbulence and wind profiles are a field of place and time: exact derivatives, frozen and carried, the same for every number type,
//! tolerance and airframe, gone where they must be.

use nalgebra::Vector3;
use sim_core::air::gust::Gust;
use sim_core::air::profile::Profile;
use sim_core::air::turbulence::{DrydenScales, Turbulence};
use sim_core::air::{Air, wind_from};
use sim_core::flight::Throw;
use sim_core::launch::Launch;
use sim_core::state::State;
use sim_core::trim::{TrimConditions, Trimmer};
use tossline_tests::known::aircraft::{steady_air, throw, tight, twin};

const SPAN_M: f64 = 0.5;

/// A quartering wind over long grass with its turbulence and one gust, carried at 3 m.
fn afternoon(seed: u64) -> Air<f64> {
    let mut air = steady_air();
    air.mean_wind = wind_from(4.0, 0.6, 0.2);
    air.profile = Some(Profile::logarithmic(0.05, 6.0).carried_at(3.0));
    air.turbulence = Turbulence::from_seed(seed, &DrydenScales::low_altitude(3.0, 4.0), SPAN_M);
    air.gusts = vec![Gust::in_place(Vector3::new(0.4, 0.0, -0.6), 0.0, 3.0, 5.0)];
    air
}

fn turbulent_throw(seed: u64) -> Throw {
    throw(twin(), afternoon(seed), Launch::level(12.0, 4.0), 2.0)
}

#[test]
fn derivatives_match_differences_and_the_field_drifts_with_its_carrier() {
    let air = afternoon(5);
    let on = [1.0];
    let (place, time, h) = (Vector3::new(4.0, 1.0, -3.4), 0.4, 1e-5);
    let here = air.wind(&place, time, &on);
    let at = |place: Vector3<f64>, time: f64| air.wind(&place, time, &on).velocity;
    let rate = (at(place, time + h) - at(place, time - h)) / (2.0 * h);
    assert!((rate - here.time_rate).norm() < 1e-7 && rate.norm() > 0.1);
    for j in 0..3 {
        let mut step = Vector3::zeros();
        step[j] = h;
        let slope = (at(place + step, time) - at(place - step, time)) / (2.0 * h);
        assert!((slope - here.gradient.column(j)).norm() < 1e-7);
    }
    // At a level the whole field moves on with the wind of 3 m, which is less than that of 6 m.
    let carrier = air.carrier();
    assert!(carrier.xy().norm() < 0.9 * air.mean_wind.xy().norm());
    let level = Vector3::new(carrier.x, carrier.y, 0.0);
    let mut flat = air.clone();
    flat.mean_wind.z = 0.0;
    let (before, after) = (
        flat.wind(&place, time, &on).velocity,
        flat.wind(&(place + level * 2.5), time + 2.5, &on).velocity,
    );
    assert!((before - after).norm() < 1e-12);
}

// A wing of no span feels the whole gradient; a wing as long as the waves next to none of it. The velocities know nothing of the wing.
#[test]
fn the_span_rolls_off_what_acts_as_rates_and_nothing_else() {
    let scales = DrydenScales::low_altitude(3.0, 4.0);
    let sample = |span_m: f64| {
        let mut air = Air::calm();
        air.turbulence = Turbulence::from_seed(8, &scales, span_m);
        air.wind(&Vector3::new(1.0, 2.0, -3.0), 0.3, &[])
    };
    let (point, short, long) = (sample(0.0), sample(0.5), sample(500.0));
    assert_eq!(point.velocity, short.velocity);
    assert_eq!(point.gradient, long.gradient);
    assert!((point.roll_gradient - point.gradient).norm() < 1e-12);
    assert!((point.turn_gradient - point.gradient).norm() < 1e-12);
    assert!(short.turn_gradient.norm() < 0.9 * point.gradient.norm());
    assert!(long.roll_gradient.norm() < 0.01 * point.gradient.norm());
}

#[test]
fn tolerances_agree_and_seeds_differ() {
    let mut fine = turbulent_throw(3);
    fine.tolerance = tight();
    let (standard, fine) = (turbulent_throw(3).fly().unwrap(), fine.fly().unwrap());
    let other = turbulent_throw(4).fly().unwrap();
    let again = turbulent_throw(3).fly().unwrap();
    for i in 0..=20 {
        let t = 0.1 * f64::from(i);
        let (a, b) = (standard.state_at(t), fine.state_at(t));
        assert!((a.position - b.position).norm() < 1e-7, "{t} s");
        assert!((a.velocity - b.velocity).norm() < 1e-7, "{t} s");
        let bits = |state: State<f64>| state.to_array().map(f64::to_bits);
        assert_eq!(bits(again.state_at(t)), bits(a));
    }
    let apart = (other.state_at(2.0).position - standard.state_at(2.0).position).norm();
    assert!(apart > 0.05, "{apart} m");
}

#[test]
fn no_intensity_is_no_turbulence_and_steady_flight_knows_none() {
    let still = DrydenScales {
        horizontal_intensity_m_s: 0.0,
        vertical_intensity_m_s: 0.0,
        ..DrydenScales::low_altitude(3.0, 4.0)
    };
    assert_eq!(Turbulence::from_seed(1, &still, SPAN_M), None);
    assert_eq!(
        DrydenScales::low_altitude(3.0, 0.0).vertical_intensity_m_s,
        0.0
    );
    let vehicle = twin();
    let glide = |air: &Air<f64>| {
        let conditions = TrimConditions {
            tabs_rad: vec![0.0; 2],
            steering_shares: vec![0.5, -0.5],
            height_m: 3.0,
            charge_fraction: 1.0,
        };
        Trimmer::new(&vehicle, air, conditions).glide().unwrap()
    };
    assert_eq!(
        glide(&afternoon(2)).airspeed_m_s,
        glide(&steady_air()).airspeed_m_s
    );
}
