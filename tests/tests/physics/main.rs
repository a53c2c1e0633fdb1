//! Invariants, symmetries, numbers and the solver. Each module is headed by the physics it rests on.

mod alpha_rate;
mod control_laws;
mod controls;
mod convergence;
mod disc_effects;
mod effects;
mod energy;
mod event_times;
mod events;
mod every_angle;
mod gusts;
mod gyroscopic;
mod look;
mod mode_names;
mod number_types;
mod reference_point;
mod scatter;
mod signs;
mod site;
mod spinning_plate;
mod steady_flight;
mod steady_limits;
mod steering;
mod symmetry;
mod turbulence;
