//! The state vector and its named parts (MODEL.md § 2).

use crate::number::Number;
use nalgebra::{Vector3, Vector4};

/// Motors an airframe may have.
pub const MAX_MOTORS: usize = 2;
/// Numbers in a state.
pub const STATE_LENGTH: usize = 14 + MAX_MOTORS;

/// State of a flight, or its rate of change.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct State<T> {
    /// Balance point, earth axes north-east-down from the ground under the release point, m.
    pub position: Vector3<T>,
    /// Attitude quaternion body to earth, scalar first; only its direction counts.
    pub attitude: Vector4<T>,
    /// Velocity of the balance point over the ground, body axes, m/s.
    pub velocity: Vector3<T>,
    /// Body rates p, q, r over the earth, rad/s.
    pub rates: Vector3<T>,
    /// Rotor speeds relative to the body, rad/s; unused ones stay zero.
    pub rotors: [T; MAX_MOTORS],
    /// Charge taken from the cell since it was full, C.
    pub charge: T,
}

impl<T: Number> State<T> {
    /// The parts in one row: position, attitude, velocity, rates, rotors, charge.
    #[inline(always)]
    pub fn to_array(&self) -> [T; STATE_LENGTH] {
        let (x, q, v, w) = (&self.position, &self.attitude, &self.velocity, &self.rates);
        let [first, second] = self.rotors;
        let (c, n) = (self.charge, STATE_LENGTH);
        debug_assert_eq!(n, 16);
        [
            x.x, x.y, x.z, q[0], q[1], q[2], q[3], v.x, v.y, v.z, w.x, w.y, w.z, first, second, c,
        ]
    }

    /// The reverse of [`State::to_array`].
    #[inline(always)]
    pub fn from_array(row: &[T; STATE_LENGTH]) -> Self {
        State {
            position: Vector3::new(row[0], row[1], row[2]),
            attitude: Vector4::new(row[3], row[4], row[5], row[6]),
            velocity: Vector3::new(row[7], row[8], row[9]),
            rates: Vector3::new(row[10], row[11], row[12]),
            rotors: [row[13], row[14]],
            charge: row[STATE_LENGTH - 1],
        }
    }

    /// States side by side, `lanes[i % lanes.len()]` in lane i.
    pub fn widen(lanes: &[State<f64>]) -> Self {
        let rows: Vec<_> = lanes.iter().map(State::to_array).collect();
        Self::from_array(&std::array::from_fn(|k| {
            T::from_lanes(|i| rows[i % rows.len()][k])
        }))
    }

    /// The state in one lane.
    pub fn lane(&self, lane: usize) -> State<f64> {
        State::from_array(&self.to_array().map(|x| x.lane(lane)))
    }

    /// Height of the balance point over the ground, m.
    #[inline(always)]
    pub fn height(&self) -> T {
        -self.position.z
    }
}
