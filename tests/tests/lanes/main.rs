//! The engine of many lanes: the same flights as the solver's, the same bytes at every width and beside any neighbours.

mod agreement;
mod bytes;
mod ready;
mod summed;
