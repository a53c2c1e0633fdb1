//! One form of output a file.

pub mod files;
pub mod picture;
