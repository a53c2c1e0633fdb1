//! One look at the forces on a vehicle in level flight, shared by the sign tables.

use nalgebra::{Vector3, Vector4};
use sim_core::air::Air;
use sim_core::forces::{Evaluation, evaluate};
use sim_core::segment::Segment;
use sim_core::state::State;
use sim_core::vehicle::Vehicle;

/// Level at 10 m with given body velocity (m/s) and rotor speeds (rad/s).
pub fn level(velocity: Vector3<f64>, rotors: [f64; 2]) -> State<f64> {
    State {
        position: Vector3::new(0.0, 0.0, -10.0),
        attitude: Vector4::new(1.0, 0.0, 0.0, 0.0),
        velocity,
        rates: Vector3::zeros(),
        rotors,
        charge: 0.0,
    }
}

/// Forces with both motors at half throttle and the tabs at given angles, rad.
pub fn look(
    vehicle: &Vehicle<f64>,
    air: &Air<f64>,
    state: &State<f64>,
    tabs: &[f64],
) -> Evaluation<f64> {
    evaluate(
        vehicle,
        air,
        &Segment::steady(&[0.5, 0.5], tabs),
        0.0,
        state,
    )
}

/// 6 m/s straight ahead.
pub const AHEAD: Vector3<f64> = Vector3::new(6.0, 0.0, 0.0);
