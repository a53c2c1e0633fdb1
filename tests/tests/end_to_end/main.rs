//! The real command in fresh folders.

mod answers;
mod command;
mod documents;
mod drawings;
mod flying;
mod footprints;
mod schemas;
mod starting;
mod stopping;
mod thrust_lines;
mod winds;
mod wrong_input;
