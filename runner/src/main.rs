//! The command `tossline`: parse, plan, work, output, exit code.

mod args;
mod commands;
mod exit;
mod output;
mod plan;
mod resume;
mod study_result;
mod work;

use args::{Arguments, Command};
use clap::Parser;
use std::process::ExitCode;

fn main() -> ExitCode {
    let outcome = match Arguments::parse().command {
        Command::Fly(arguments) => commands::fly::run(&arguments),
        Command::Balance(arguments) => commands::balance::run(&arguments),
        Command::Trim(arguments) => commands::trim::run(&arguments),
        Command::Footprint(arguments) => commands::footprint::run(&arguments),
        Command::Sweep(arguments) => commands::sweep::run(&arguments),
        Command::Gather(arguments) => commands::gather::run(&arguments),
        Command::Wind(arguments) => commands::wind::run(&arguments),
        Command::Worst(arguments) => commands::worst::run(&arguments),
        Command::Thrustline(arguments) => commands::thrustline::run(&arguments),
        Command::Report(arguments) => commands::report::run(&arguments),
        Command::Compare(arguments) => commands::compare::run(&arguments),
        Command::Inspect(arguments) => commands::inspect::run(&arguments),
        Command::Schema { kind } => commands::schema::run(kind),
        Command::Completions { shell } => commands::completions::run(shell),
    };
    outcome.into()
}
