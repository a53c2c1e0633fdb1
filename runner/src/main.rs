//! The command `tossline`.

fn main() {}
