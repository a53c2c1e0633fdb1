//! One form of output a file.

pub mod csv;
pub mod files;
pub mod table;
