//! Bodies whose flight has a closed answer: no air forces, and thrust only where it is asked for.

use nalgebra::{Matrix3, Vector3};
use sim_core::aero::coefficients::Coefficients;
use sim_core::aero::post_stall::{PostStall, StallAngles};
use sim_core::air::Air;
use sim_core::air::atmosphere::Atmosphere;
use sim_core::flight::Throw;
use sim_core::frames::BuilderPoint;
use sim_core::interpolate::MonotoneCubic;
use sim_core::launch::Launch;
use sim_core::pilot::{Change, Pilot, Programme};
use sim_core::power::cell::Cell;
use sim_core::power::disc::DiscEffects;
use sim_core::power::motor::Motor;
use sim_core::power::propeller::{Propeller, PropellerRow};
use sim_core::site::Site;
use sim_core::solver::Tolerance;
use sim_core::vehicle::Vehicle;

/// Standard gravity, m/s². Source: ISO 80000-3.
pub const G: f64 = 9.80665;

/// Stall angles without any plate to stall: they only count the time.
pub fn counted_stall(alpha_rad: f64, beta_rad: f64) -> PostStall<f64> {
    let angles = StallAngles {
        alpha_stall_rad: alpha_rad,
        beta_stall_rad: beta_rad,
        ..StallAngles::never()
    };
    PostStall::of(&angles, &[], &BuilderPoint::default())
}

/// A point of 50 g that turns like a ball and feels no air.
pub fn ball() -> Vehicle<f64> {
    let inertia = Matrix3::identity() * 1e-4;
    Vehicle {
        mass: 0.05,
        inertia,
        inverse_inertia: inertia.try_inverse().expect("a ball turns"),
        coefficients: Coefficients::none(0.0, 0.5, 0.1),
        post_stall: PostStall::of(&StallAngles::never(), &[], &BuilderPoint::default()),
        apparent_mass: None,
        cell: Cell {
            capacity: 360.0,
            resistance: 0.0,
            electronics_current: 0.0,
            open_voltage: MonotoneCubic::through(&[(0.0, 4.0), (1.0, 4.0)]),
        },
        motors: Vec::new(),
        outline: vec![Vector3::zeros()],
    }
}

/// A motor without friction whose propeller has the same thrust coefficient wherever J² is small, and needs no power.
pub fn ideal_motor(
    axis: Vector3<f64>,
    place: Vector3<f64>,
    diameter_m: f64,
    thrust_coefficient: f64,
) -> Motor<f64> {
    let row = |advance_ratio| PropellerRow {
        advance_ratio,
        thrust_coefficient,
        power_coefficient: 0.0,
    };
    Motor {
        constant: 4e-4,
        resistance: 1.0,
        no_load_current: 0.0,
        rotor_inertia: 2e-8,
        spin: 1.0,
        axis,
        place,
        propeller: Propeller::from_table(diameter_m, &[row(0.0), row(1.0)], (0.0, 0.0)),
        disc: DiscEffects::none(),
    }
}

/// A throw in still air of constant density.
pub fn throw(vehicle: Vehicle<f64>, launch: Launch, time_limit_s: f64) -> Throw {
    let mut air = Air::calm();
    air.atmosphere = Atmosphere::constant_density(1.2);
    let steering_shares = vec![0.0; vehicle.motors.len()];
    Throw {
        vehicle,
        launch,
        air,
        pilot: Pilot {
            steering_shares,
            ..Pilot::default()
        },
        site: Site::default(),
        time_limit_s,
        tolerance: Tolerance::default(),
    }
}

/// A throttle that is off and steps to a value at a time (s).
pub fn step(time_s: f64, to: f64) -> Programme {
    Programme {
        at_release: 0.0,
        changes: vec![Change {
            time_s,
            to,
            ramp_s: 0.0,
        }],
    }
}
