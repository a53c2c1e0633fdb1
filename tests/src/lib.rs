//! Reference problems with known answers, shared by tests and benches.
