//! Outside checks of Tossline.
//!
//! - [`known`]: reference problems with closed answers, shared by tests and benches.
//! - [`published`]: reads the tables under `published/`, whose first lines name their source.
//!
//! The tests themselves lie under `tests/`: `outside` compares with published numbers and textbook theory, `physics`
//! checks invariants, symmetries, numbers and the solver, `allocation` that the derivative allocates nothing.

pub mod known;
pub mod published;
