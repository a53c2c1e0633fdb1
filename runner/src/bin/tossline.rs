//! The command `tossline`.

use std::process::ExitCode;

fn main() -> ExitCode {
    runner::run()
}
