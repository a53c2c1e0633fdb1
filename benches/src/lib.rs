//! Benches live beside this file; see README.md.
