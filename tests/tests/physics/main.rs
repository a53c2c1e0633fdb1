//! Invariants, symmetries, numbers and the solver. Each module is headed by the physics it rests on.

mod alpha_rate;
mod controls;
mod convergence;
mod effects;
mod energy;
mod events;
mod every_angle;
mod gusts;
mod gyroscopic;
mod number_types;
mod reference_point;
mod scatter;
mod signs;
mod spinning_plate;
mod steady_flight;
mod steering;
mod symmetry;
