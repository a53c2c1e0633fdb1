//! Simple test aircraft, all invented, and throws of them. None is a demonstration aircraft.

use super::power::{add_disc_effects, ideal_cell, small_cell, twin_pushers};
use nalgebra::{Matrix3, Vector3};
use sim_core::aero::coefficients::{Coefficients, TabEffect};
use sim_core::aero::post_stall::{Panel, PostStall, StallAngles, normal_at_90_of_aspect_ratio};
use sim_core::air::Air;
use sim_core::air::atmosphere::Atmosphere;
use sim_core::flight::Throw;
use sim_core::frames::BuilderPoint;
use sim_core::launch::Launch;
use sim_core::mass::inertia_tensor;
use sim_core::pilot::{Pilot, Programme};
use sim_core::site::Site;
use sim_core::solver::{Method, Tolerance};
use sim_core::vehicle::Vehicle;

/// Density of [`steady_air`], kg/m³.
pub const DENSITY_KG_M3: f64 = 1.225;

/// Still air of one density everywhere, uniform gravity: what closed answers assume.
pub fn steady_air() -> Air<f64> {
    Air {
        atmosphere: Atmosphere::constant_density(DENSITY_KG_M3),
        ..Air::calm()
    }
}

/// [`steady_air`] without gravity.
pub fn weightless_air() -> Air<f64> {
    let mut air = steady_air();
    air.gravity.surface_m_s2 = 0.0;
    air
}

/// Dopri5 at 1e-12.
pub fn tight() -> Tolerance {
    Tolerance {
        relative: 1e-12,
        absolute: 1e-12,
        ..Tolerance::default()
    }
}

/// The 8(5,3) method at 1e-13, for reference solutions.
pub fn reference_solution() -> Tolerance {
    Tolerance {
        method: Method::Dop853,
        relative: 1e-13,
        absolute: 1e-13,
        ..Tolerance::default()
    }
}

/// A body with a table, no motors, and a linear range without end.
pub fn body(
    mass_kg: f64,
    inertia_kg_m2: Matrix3<f64>,
    coefficients: Coefficients<f64>,
) -> Vehicle<f64> {
    Vehicle {
        mass: mass_kg,
        inertia: inertia_kg_m2,
        inverse_inertia: inertia_kg_m2
            .try_inverse()
            .expect("a tensor with an inverse"),
        coefficients,
        post_stall: never_stalls(),
        apparent_mass: None,
        cell: ideal_cell(4.0),
        motors: Vec::new(),
        outline: vec![Vector3::zeros()],
    }
}

/// No stall, no plates, no damping beyond the table.
pub fn never_stalls() -> PostStall<f64> {
    PostStall::of(&StallAngles::never(), &[], &BuilderPoint::default())
}

/// Coefficients of an invented foam glider of 0.5 m span about its balance point: stable, trimmed near α = 4.6°.
pub fn glider_coefficients() -> Coefficients<f64> {
    Coefficients {
        lift_zero: 0.05,
        lift_alpha: 3.8,
        lift_q: 4.0,
        lift_alpha_rate: 0.8,
        drag_min: 0.03,
        drag_factor: 0.12,
        lift_at_min_drag: 0.05,
        pitch_zero: 0.04,
        pitch_alpha: -0.5,
        pitch_q: -6.0,
        pitch_alpha_rate: -2.0,
        side_beta: -0.35,
        side_p: 0.02,
        side_r: 0.15,
        roll_beta: -0.06,
        roll_p: -0.42,
        roll_r: 0.12,
        yaw_beta: 0.05,
        yaw_p: -0.03,
        yaw_r: -0.08,
        ..Coefficients::none(0.06, 0.5, 0.12)
    }
}

/// A glider of 45 g with [`glider_coefficients`] and a linear range without end.
pub fn glider() -> Vehicle<f64> {
    let inertia = inertia_tensor(Vector3::new(4e-4, 3.5e-4, 7e-4), 0.0, 2e-5, 0.0);
    body(0.045, inertia, glider_coefficients())
}

/// Wing panels (with dihedral) and fin of the glider; the nose datum lies `balance_station_m` ahead of the balance
/// point.
pub fn glider_panels(balance_station_m: f64) -> Vec<Panel> {
    let wing = Panel {
        root_leading_edge: BuilderPoint::new(balance_station_m - 0.04, 0.0, 0.0),
        root_chord_m: 0.14,
        tip_chord_m: 0.10,
        half_span_m: 0.25,
        sweep_rad: 0.1,
        dihedral_rad: 0.09,
        side: 1.0,
    };
    let tail = Panel {
        root_leading_edge: BuilderPoint::new(balance_station_m + 0.19, 0.0, 0.01),
        root_chord_m: 0.06,
        tip_chord_m: 0.05,
        half_span_m: 0.09,
        dihedral_rad: 0.0,
        ..wing
    };
    let fin = Panel {
        root_leading_edge: BuilderPoint::new(balance_station_m + 0.18, 0.0, 0.0),
        root_chord_m: 0.08,
        tip_chord_m: 0.05,
        half_span_m: 0.08,
        sweep_rad: 0.3,
        dihedral_rad: std::f64::consts::FRAC_PI_2,
        ..wing
    };
    vec![wing, wing.mirrored(), tail, tail.mirrored(), fin]
}

/// Stall at 14° over 3° in incidence, at 20° over 5° in sideslip.
pub fn usual_stall() -> StallAngles {
    StallAngles {
        alpha_stall_rad: 14.0_f64.to_radians(),
        alpha_blend_rad: 3.0_f64.to_radians(),
        beta_stall_rad: 20.0_f64.to_radians(),
        beta_blend_rad: 5.0_f64.to_radians(),
        normal_at_90: normal_at_90_of_aspect_ratio(0.5 * 0.5 / 0.06),
    }
}

/// The glider with its plates: it can stall, tumble and spin.
pub fn stalling_glider() -> Vehicle<f64> {
    let balance = BuilderPoint::new(0.1, 0.0, 0.0);
    let panels = glider_panels(balance.station_m);
    let outline = panels
        .iter()
        .flat_map(Panel::corners)
        .map(|corner| corner.in_body(&balance))
        .collect();
    Vehicle {
        post_stall: PostStall::of(&usual_stall(), &panels, &balance),
        outline,
        ..glider()
    }
}

/// The stalling glider with two pushers, its table about a point ahead of and below the balance point, an elevator
/// and a rudder tab.
pub fn twin() -> Vehicle<f64> {
    let glider = stalling_glider();
    Vehicle {
        coefficients: Coefficients {
            reference: Vector3::new(0.01, 0.0, 0.004),
            tabs: vec![
                TabEffect {
                    lift: 0.5,
                    drag: 0.2,
                    pitch: -1.1,
                    side: 0.0,
                    roll: 0.0,
                    yaw: 0.0,
                },
                TabEffect {
                    lift: 0.0,
                    drag: 0.1,
                    pitch: 0.0,
                    side: 0.12,
                    roll: 0.01,
                    yaw: -0.06,
                },
            ],
            ..glider.coefficients
        },
        cell: small_cell(),
        motors: twin_pushers(),
        ..glider
    }
}

/// The twin made lopsided: products of inertia, a table that pulls to one side, a reference point off the centre
/// line, one motor lower, propellers that push across, wash and draw.
pub fn lopsided_twin() -> Vehicle<f64> {
    let mut vehicle = twin();
    vehicle.inertia = inertia_tensor(Vector3::new(4e-4, 3.5e-4, 7e-4), 3e-5, 2e-5, -1.5e-5);
    vehicle.inverse_inertia = vehicle
        .inertia
        .try_inverse()
        .expect("a tensor with an inverse");
    vehicle.coefficients.reference.y = 0.003;
    vehicle.coefficients.side_zero = 0.01;
    vehicle.coefficients.roll_zero = -0.003;
    vehicle.coefficients.yaw_zero = 0.002;
    vehicle.motors[0].place.z += 0.008;
    let balance = BuilderPoint::new(0.1, 0.0, 0.0);
    add_disc_effects(
        &mut vehicle.motors,
        &glider_panels(balance.station_m),
        &balance,
    );
    vehicle
}

/// A throw of a vehicle in an air, controls at rest, no walls.
pub fn throw(vehicle: Vehicle<f64>, air: Air<f64>, launch: Launch, time_limit_s: f64) -> Throw {
    Throw {
        vehicle,
        launch,
        air,
        pilot: Pilot::default(),
        site: Site::default(),
        time_limit_s,
        tolerance: Tolerance::default(),
    }
}

/// Two motors at one throttle and left-right difference, tabs at fixed angles (rad).
pub fn steady_pilot(throttle: f64, left_minus_right: f64, tabs: &[f64]) -> Pilot {
    Pilot {
        throttle: Programme::constant(throttle),
        left_minus_right: Programme::constant(left_minus_right),
        steering_shares: vec![0.5, -0.5],
        tabs: tabs
            .iter()
            .map(|&angle| Programme::constant(angle))
            .collect(),
        ..Pilot::default()
    }
}
