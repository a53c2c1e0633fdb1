//! What a builder can measure turned into what the model flies on, with a band for each value.

pub mod propulsion;
