//! Cells, propellers and motors for test aircraft, all invented.

use nalgebra::Vector3;
use sim_core::aero::post_stall::Panel;
use sim_core::frames::BuilderPoint;
use sim_core::interpolate::MonotoneCubic;
use sim_core::power::cell::{Cell, LITHIUM_POLYMER_V};
use sim_core::power::disc::near::{NearSurface, Site};
use sim_core::power::disc::{DiscEffects, DiscFactors};
use sim_core::power::motor::{Motor, constant_of_speed_constant, thrust_axis};
use sim_core::power::propeller::{Propeller, PropellerRow, STOPPED_DEFAULT};

/// A cell of constant voltage without resistance or electronics that lasts for ever.
pub fn ideal_cell(voltage_v: f64) -> Cell<f64> {
    Cell {
        capacity: 1e9,
        resistance: 0.0,
        electronics_current: 0.0,
        open_voltage: MonotoneCubic::through(&[(0.0, voltage_v), (1.0, voltage_v)]),
    }
}

/// A lithium-polymer pouch cell of 150 mAh.
pub fn small_cell() -> Cell<f64> {
    Cell {
        capacity: 540.0,
        resistance: 0.25,
        electronics_current: 0.03,
        open_voltage: MonotoneCubic::through(&LITHIUM_POLYMER_V),
    }
}

/// A 55 mm propeller, table invented.
pub fn small_propeller() -> Propeller<f64> {
    let rows = [
        (0.0, 0.13, 0.09),
        (0.3, 0.11, 0.085),
        (0.6, 0.06, 0.06),
        (0.9, 0.0, 0.02),
    ]
    .map(
        |(advance_ratio, thrust_coefficient, power_coefficient)| PropellerRow {
            advance_ratio,
            thrust_coefficient,
            power_coefficient,
        },
    );
    Propeller::from_table(0.055, &rows, STOPPED_DEFAULT)
}

/// A small brushed motor with [`small_propeller`] at a place (body axes, m) with a thrust elevation and turn (rad);
/// `side` and `spin` are +1 or −1.
pub fn small_motor(
    place: Vector3<f64>,
    elevation_rad: f64,
    turn_rad: f64,
    side: f64,
    spin: f64,
) -> Motor<f64> {
    Motor {
        constant: constant_of_speed_constant(14_000.0),
        resistance: 1.2,
        no_load_current: 0.08,
        rotor_inertia: 1e-7,
        spin,
        axis: thrust_axis(elevation_rad, turn_rad, side),
        place,
        propeller: small_propeller(),
        disc: DiscEffects::none(),
    }
}

/// An engine at the balance point along body x whose thrust depends neither on speed nor on anything else, as
/// textbooks assume: a propeller so large and fast that the flight speed is nothing beside its blades', without
/// torque or angular momentum. Gives the motor and the rotor speed (rad/s) at which it pulls with `thrust_n` in air
/// of a density (kg/m³).
pub fn constant_thrust(thrust_n: f64, density: f64) -> (Motor<f64>, f64) {
    let (diameter, turns_per_s) = (1e3_f64, 1e3_f64);
    let coefficient = thrust_n / (density * turns_per_s.powi(2) * diameter.powi(4));
    let rows = [0.0, 0.01, 0.02].map(|advance_ratio| PropellerRow {
        advance_ratio,
        thrust_coefficient: coefficient,
        power_coefficient: 0.0,
    });
    let motor = Motor {
        constant: 1.0,
        resistance: 1.0,
        no_load_current: 0.0,
        rotor_inertia: 1.0,
        spin: 0.0,
        axis: Vector3::x(),
        place: Vector3::zeros(),
        propeller: Propeller::from_table(diameter, &rows, (0.0, 0.0)),
        disc: DiscEffects::none(),
    };
    (motor, turns_per_s * std::f64::consts::TAU)
}

/// Left and right pusher, 120 mm behind, 20 mm above and 60 mm beside the balance point, turning against each other.
pub fn twin_pushers() -> Vec<Motor<f64>> {
    let at = |side: f64| Vector3::new(-0.12, 0.06 * side, -0.02);
    vec![
        small_motor(at(-1.0), 0.03, 0.05, -1.0, 1.0),
        small_motor(at(1.0), 0.03, 0.05, 1.0, -1.0),
    ]
}

/// Panels as propellers meet them: at a little incidence, with a usual lift slope.
pub fn near_surfaces(panels: &[Panel]) -> Vec<NearSurface> {
    panels
        .iter()
        .map(|&panel| NearSurface {
            panel,
            incidence_rad: [0.02, 0.01],
            lift_slope: 3.6,
        })
        .collect()
}

/// Gives the motors all that propellers do among panels about a balance point (builder's axes) beside thrust and torque.
pub fn add_disc_effects(motors: &mut [Motor<f64>], panels: &[Panel], balance: &BuilderPoint) {
    let factors = DiscFactors {
        normal_force: 1.1,
        wash: 0.9,
        suction: 1.2,
    };
    for motor in motors {
        let site = Site {
            place: BuilderPoint::new(
                balance.station_m - motor.place.x,
                balance.right_m + motor.place.y,
                balance.up_m - motor.place.z,
            ),
            axis: motor.axis,
            diameter_m: motor.propeller.diameter,
        };
        motor.disc = DiscEffects::of(&site, &near_surfaces(panels), 6e-5, &factors);
    }
}
