//! Flight of small hand-launched powered gliders with six degrees of freedom.
//!
//! A [`flight::Throw`] is everything one flight needs: a [`vehicle::Vehicle`], a [`launch::Launch`], the [`air::Air`], a
//! [`pilot::Pilot`] and a [`site::Site`]. [`flight::Throw::fly`] turns it into a [`flight::Flight`]: a dense solution that can be
//! asked for the state at any time, and an end word. Data goes one way; nothing here knows files, threads or the clock.
//!
//! `MODEL.md` beside the sources states every equation; each module names its section. Everything is in SI units and
//! radians. The modules below stand in the order in which the model is built up.
//!
//! ```
//! use nalgebra::{Matrix3, Vector3};
//! use sim_core::aero::coefficients::Coefficients;
//! use sim_core::aero::post_stall::{PostStall, StallAngles};
//! use sim_core::{air::Air, flight::{End, Throw}, frames::BuilderPoint, launch::Launch, pilot::Pilot};
//! use sim_core::{power::cell::Cell, site::Site, solver::Tolerance, vehicle::Vehicle};
//!
//! // A 40 g glider: 0.06 m² of wing, 0.5 m span, balanced ahead of its neutral point.
//! let table = Coefficients {
//!     lift_alpha: 4.0, drag_min: 0.03, drag_factor: 0.08,
//!     pitch_zero: 0.03, pitch_alpha: -0.4, pitch_q: -6.0,
//!     side_beta: -0.4, roll_beta: -0.08, roll_p: -0.4, yaw_beta: 0.06, yaw_r: -0.08,
//!     ..Coefficients::none(0.06, 0.5, 0.12)
//! };
//! let inertia = Matrix3::from_diagonal(&Vector3::new(3e-4, 2e-4, 5e-4));
//! let vehicle = Vehicle {
//!     mass: 0.040, inertia, inverse_inertia: inertia.try_inverse().unwrap(), coefficients: table,
//!     post_stall: PostStall::of(&StallAngles::never(), &[], &BuilderPoint::default()),
//!     apparent_mass: None, cell: Cell::none(), motors: vec![], outline: vec![],
//! };
//! let throw = Throw {
//!     vehicle, launch: Launch::level(1.7, 6.0), air: Air::calm(), pilot: Pilot::default(),
//!     site: Site::default(), time_limit_s: 20.0, tolerance: Tolerance::default(),
//! };
//! let flight = throw.fly()?;
//! let landing = flight.state_at(flight.end_time_s);
//! assert_eq!(flight.end, End::Ground);
//! assert!(landing.position.x > 5.0, "it glides {:.1} m", landing.position.x);
//! # Ok::<(), sim_core::error::LaunchError>(())
//! ```

// What the model is written in.
pub mod frames;
pub mod interpolate;
pub mod number;
pub mod reused;
pub mod vector;
pub mod wrench;

// What flies, and in what.
pub mod aero;
pub mod air;
pub mod mass;
pub mod power;
pub mod segment;
pub mod state;
pub mod vehicle;

// The right-hand side.
mod accelerations;
pub mod forces;
pub mod look;
pub mod parts;

// A flight.
pub mod control;
pub mod error;
pub mod events;
pub mod flight;
pub mod launch;
pub mod pilot;
pub mod record;
pub mod root;
pub mod site;
pub mod solver;

// Many flights side by side.
pub mod lanes;

// From measurements with simple means.
pub mod estimate;

// Steady flight.
pub mod modes;
pub mod trim;
