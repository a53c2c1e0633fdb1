//! The incidence's rate of change: the model solves it together with the accelerations; here it is taken from the
//! flight itself by differences.

use nalgebra::{Matrix3, Vector3};
use sim_core::aero::coefficients::Coefficients;
use sim_core::air::gust::Gust;
use sim_core::air::{Air, WindSample, wind_from};
use sim_core::flight::Throw;
use sim_core::launch::Launch;
use tossline_tests::known::aircraft::{
    DENSITY_KG_M3, glider, steady_air, steady_pilot, throw, tight, twin,
};

/// The twin, powered, rolling and slipping through a gust in place and one in time that overlap.
fn lively() -> Throw {
    let mut air = steady_air();
    air.mean_wind = wind_from(1.5, 0.8, 0.0);
    air.gusts = vec![
        Gust::in_place(Vector3::new(0.5, 0.3, -1.2), 0.0, -2.0, 12.0),
        Gust::in_time(Vector3::new(0.0, 0.9, 0.3), -0.1, 3.0),
    ];
    let launch = Launch {
        nose_above_path_rad: 0.1,
        bank_rad: 0.2,
        rates_rad_s: Vector3::new(0.5, 1.0, -0.4),
        ..Launch::level(30.0, 6.0)
    };
    let mut throw = throw(twin(), air, launch, 1.0);
    throw.pilot = steady_pilot(0.4, 0.1, &[0.02, 0.0]);
    throw.tolerance = tight();
    throw
}

// σ is √(V_x² + V_z²) α̇. α̇ by central differences of α along the flight, σ from the lift it makes: L_α̇ = a ¼ρSc̄
// C_Lα̇ σ.
#[test]
fn alpha_rate_is_the_rate_of_alpha_along_the_flight() {
    let flight = lively().fly().unwrap();
    let table = &flight.throw().vehicle.coefficients;
    let h = 1e-4;
    let mut largest: f64 = 0.0;
    for i in 1..95 {
        let t = 0.01 * f64::from(i);
        let alpha = |t: f64| flight.evaluation_at(t).1.flow.alpha;
        let rate = (alpha(t + h) - alpha(t - h)) / (2.0 * h);
        let (_, all) = flight.evaluation_at(t);
        let along = all.flow.velocity.x.hypot(all.flow.velocity.z);
        let (sin, cos) = all.flow.alpha.sin_cos();
        let force = all.forces.alpha_rate.force;
        let lift = force.x * sin - force.z * cos;
        let scale = 0.25
            * DENSITY_KG_M3
            * table.area
            * table.chord
            * table.lift_alpha_rate
            * all.attached_weight;
        let sigma = lift / scale;
        assert!(
            (sigma - along * rate).abs() < 1e-5,
            "{t} s: {sigma} {}",
            along * rate
        );
        largest = largest.max(sigma.abs());
    }
    assert!(largest > 1.0, "there is something to see: {largest}");
}

// Without lag coefficients nothing is left of it.
#[test]
fn without_lag_there_is_no_alpha_rate_force() {
    let mut throw = lively();
    throw.vehicle.coefficients.lift_alpha_rate = 0.0;
    throw.vehicle.coefficients.pitch_alpha_rate = 0.0;
    let flight = throw.fly().unwrap();
    for i in 0..10 {
        let wrench = flight.evaluation_at(0.1 * f64::from(i)).1.forces.alpha_rate;
        assert_eq!(wrench.force.norm() + wrench.moment.norm(), 0.0);
    }
}

/// Roll and pitch and yaw of the glider flying level north in air whose velocity varies with place.
fn moment_in(gradient: Matrix3<f64>) -> Vector3<f64> {
    let vehicle = glider();
    let wind = WindSample::felt_in_full(Vector3::zeros(), Vector3::zeros(), gradient);
    let density = Air::calm().atmosphere.density(0.0);
    let flow = sim_core::aero::flow::Flow::at(
        &Vector3::zeros(),
        &Vector3::new(6.0, 0.0, 0.0),
        &Vector3::zeros(),
        &Matrix3::identity(),
        &wind,
        density,
    );
    let table = Coefficients {
        pitch_zero: 0.0,
        roll_r: 0.0,
        yaw_p: 0.0,
        ..vehicle.coefficients
    };
    table.attached(&flow, std::iter::empty()).moment
}

// Strips in air that varies along the aircraft (MIL-F-8785C's one-point form, from memory): more updraught on the
// right lifts the right wing (rolls left); more updraught at the nose than at the tail adds no incidence in the
// middle but works as pitching down through the air (C_mq < 0: nose up); more air from the left at the nose than at
// the tail works as yawing left through the air (C_nr < 0: nose to the right). Air that turns as a whole with the
// aircraft is none.
#[test]
fn gradients_act_as_rates_the_other_way() {
    let at = |row: usize, column: usize, value: f64| {
        let mut gradient = Matrix3::zeros();
        gradient[(row, column)] = value;
        moment_in(gradient)
    };
    // Down is +z: an updraught growing to the right is ∂W_z/∂y < 0.
    assert!(at(2, 1, -1.0).x < 0.0 && at(2, 1, 1.0).x > 0.0);
    // Growing forward: ∂W_z/∂x < 0.
    assert!(at(2, 0, -1.0).y > 0.0);
    // Air to the right (+y) growing forward: ∂W_y/∂x > 0.
    assert!(at(1, 0, 1.0).z > 0.0);
    let turning = Vector3::new(0.4, -0.3, 0.7);
    let vehicle = glider();
    let wind = WindSample::felt_in_full(Vector3::zeros(), Vector3::zeros(), turning.cross_matrix());
    let flow = sim_core::aero::flow::Flow::at(
        &vehicle.coefficients.reference,
        &Vector3::new(6.0, 0.0, 0.0),
        &turning,
        &Matrix3::identity(),
        &wind,
        1.2,
    );
    assert!(
        flow.rates.norm() < 1e-15,
        "air that turns with the aircraft: {}",
        flow.rates
    );
}
