//! Invariants, symmetries, numbers and the solver. Each module is headed by the physics it rests on.

mod alpha_rate;
mod apparent_mass;
mod controls;
mod convergence;
mod effects;
mod energy;
mod event_times;
mod events;
mod every_angle;
mod ground_effect;
mod gusts;
mod gyroscopic;
mod look;
mod mode_names;
mod number_types;
mod reference_point;
mod scatter;
mod signs;
mod spinning_plate;
mod steady_flight;
mod steady_limits;
mod steering;
mod symmetry;
