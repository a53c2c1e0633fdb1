//! `tossline man`.

use crate::args::Arguments;
use crate::exit::Outcome;
use crate::output::files::{prove_writable, write_whole};
use crate::output::{complain, print};
use clap::CommandFactory;
use clap_mangen::Man;
use std::path::Path;

/// Prints the manual page of the command, or writes it with one for each command into a folder.
pub fn run(out: Option<&Path>) -> Outcome {
    let mut command = Arguments::command().disable_help_subcommand(true);
    command.build();
    let commands = command.get_subcommands().cloned();
    let pages = std::iter::once(command.clone()).chain(commands);
    let rendered = pages.map(|command| {
        let man = Man::new(command);
        let mut page = Vec::new();
        man.render(&mut page).map(|()| (man.get_filename(), page))
    });
    let pages: Vec<(String, Vec<u8>)> = match rendered.collect() {
        Ok(pages) => pages,
        Err(error) => return complain(&error, Outcome::CannotWrite),
    };
    let Some(out) = out else {
        return print(&String::from_utf8_lossy(&pages[0].1));
    };
    let written = prove_writable(out).and_then(|()| {
        pages
            .iter()
            .try_for_each(|(name, page)| write_whole(&out.join(name), page))
    });
    match written {
        Ok(()) => print(&format!("{} pages in {}\n", pages.len(), out.display())),
        Err(error) => complain(&error, Outcome::CannotWrite),
    }
}
