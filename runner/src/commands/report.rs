//! `tossline report`: a result's page from the files in its folder, and the same at the end of the commands that make results.

mod compare;
mod fly;
mod footprint;
mod read;
mod sweep;
mod thrustline;
mod weight;
mod wind;

pub use read::ReportError;

use crate::args::{PageOption, ReportArguments};
use crate::exit::Outcome;
use crate::output::html::{facts, sentences};
use crate::output::{complain, files, print};
use crate::resume::folder::PLAN;
use maud::{Markup, html};
use read::Folder;
use std::path::Path;

/// Name of the page.
const PAGE: &str = "report.html";

/// Results there are pages of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Of `tossline fly`.
    Fly,
    /// Of `tossline thrustline`.
    Thrustline,
    /// Of `tossline footprint`.
    Footprint,
    /// Of `tossline sweep` or `tossline gather`.
    Sweep,
    /// Of `tossline thrustline --level-throttle`.
    Weight,
    /// Of `tossline compare`.
    Compare,
    /// Of `tossline wind`.
    Wind,
}

impl Kind {
    const ALL: [Kind; 7] = [
        Kind::Fly,
        Kind::Thrustline,
        Kind::Footprint,
        Kind::Sweep,
        Kind::Weight,
        Kind::Compare,
        Kind::Wind,
    ];

    /// The command, and the file by which its results are known.
    fn command_and_file(self) -> (&'static str, &'static str) {
        match self {
            Kind::Fly => ("tossline fly", "summary.csv"),
            Kind::Thrustline => ("tossline thrustline", "thrustline.json"),
            Kind::Footprint => ("tossline footprint", "footprint.json"),
            Kind::Sweep => ("tossline sweep", PLAN),
            Kind::Weight => ("tossline thrustline --level-throttle", "weight.json"),
            Kind::Compare => ("tossline compare", "compare.json"),
            Kind::Wind => ("tossline wind", "wind.json"),
        }
    }

    fn of(folder: &Folder) -> Result<Self, ReportError> {
        let here = |kind: &Kind| folder.has(kind.command_and_file().1);
        let found: Vec<Kind> = Kind::ALL.into_iter().filter(here).collect();
        match found.as_slice() {
            [kind] => Ok(*kind),
            [] => {
                let wanted = Kind::ALL.map(|kind| {
                    let (command, file) = kind.command_and_file();
                    format!("{file} of {command}")
                });
                Err(folder.wrong("no result to report", &wanted.join(", or ")))
            }
            several => {
                let names: Vec<&str> = several.iter().map(|k| k.command_and_file().0).collect();
                let found = format!("results of {}", names.join(" and of "));
                Err(folder.wrong(&found, "those of one command in a folder"))
            }
        }
    }
}

/// Writes the page of a folder.
pub fn run(arguments: &ReportArguments) -> Outcome {
    let folder = Folder::new(&arguments.folder);
    match Kind::of(&folder).and_then(|kind| write(kind, &folder)) {
        Ok(()) => print(&format!(
            "Written: {}\n",
            arguments.folder.join(PAGE).display()
        )),
        Err(error) => complain(&error, error.outcome()),
    }
}

/// Writes the page of a result just made, unless it is left out; an older page, which is about an older result, goes then.
///
/// # Errors
/// [`ReportError`].
pub fn at_the_end(kind: Kind, out: &Path, page: &PageOption) -> Result<(), ReportError> {
    let folder = Folder::new(out);
    if page.no_page {
        return folder.remove(PAGE);
    }
    write(kind, &folder)
}

fn write(kind: Kind, folder: &Folder) -> Result<(), ReportError> {
    let page = match kind {
        Kind::Fly => fly::page(folder),
        Kind::Thrustline => thrustline::page(folder),
        Kind::Footprint => footprint::page(folder),
        Kind::Sweep => sweep::page(folder),
        Kind::Weight => weight::page(folder),
        Kind::Compare => compare::page(folder),
        Kind::Wind => wind::page(folder),
    }?;
    files::write_whole(&folder.path.join(PAGE), page.as_bytes())?;
    Ok(())
}

/// What made a result, as it says itself.
fn inputs(made_by: &[(&str, &str)], files: &Markup) -> Markup {
    let mut list: Vec<(&str, Markup)> = made_by
        .iter()
        .filter(|(_, value)| !value.is_empty())
        .map(|(name, value)| (*name, html! { (value) }))
        .collect();
    list.push(("files", files.clone()));
    facts(&list)
}

/// Warnings and the caution all results carry.
fn cautions(warnings: &[String], caution: &str) -> Markup {
    html! {
        (sentences(warnings))
        p.caution { (caution) }
    }
}
