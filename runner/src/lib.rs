//! The command `tossline`: parse, plan, work, output, exit code.
//!
//! A library, so that the notebook package (`runner/python`) says, draws and hashes with the same code. It is not meant for anybody
//! else: what flies is in `sim_core`, what files mean in `scenarios`.

mod args;
mod commands;
mod exit;
mod notebook;
mod output;
mod plan;
mod resume;
mod study_result;
mod work;

pub use commands::balance::NOT_VALIDATED;
pub use commands::fly::{Record, curves};
pub use commands::trim::{Ask, Report, report as trim_report};
pub use exit::{NotDone, Outcome};
pub use notebook::{
    Cells, Swept, Table, ThrustLine, ThrustLineAsked, WhoseHands, sweep, thrust_line,
};
pub use output::CAUTION;
pub use output::curves::Curves;
pub use output::drawing::draw as draw_airframe;
pub use output::picture::{MOST_FLIGHTS, draw as draw_flights};
pub use plan::inputs_sha256;
pub use work::in_parallel;

/// Writers of result tables, for the benches.
pub mod tables {
    pub use crate::output::flights::encoded as text_row;
    pub use crate::output::parquet::encoded as parquet_part;
    pub use crate::output::trajectory::csv as trajectory_text;
}

use args::{Arguments, Command};
use clap::Parser;
use std::process::ExitCode;

/// Does what was typed.
pub fn run() -> ExitCode {
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
        Command::New(arguments) => commands::new::run(&arguments),
        Command::Completions { shell } => commands::completions::run(shell),
        Command::Man { out } => commands::man::run(out.as_deref()),
    };
    outcome.into()
}
