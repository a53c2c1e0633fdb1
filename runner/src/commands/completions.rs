//! `tossline completions`.

use crate::args::Arguments;
use crate::exit::Outcome;
use crate::output::print;
use clap::CommandFactory;

/// Prints the completion script of a shell.
pub fn run(shell: clap_complete::Shell) -> Outcome {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Arguments::command(), "tossline", &mut script);
    print(&String::from_utf8_lossy(&script))
}
