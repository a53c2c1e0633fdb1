//! The command `tossline`.
mod output;
mod work;
fn main() {}
