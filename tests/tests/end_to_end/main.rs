//! The real command in fresh folders.

mod answers;
mod command;
mod comparisons;
mod documents;
mod drawings;
mod flying;
mod footprints;
mod pages;
mod schemas;
mod starting;
mod stopping;
mod sweeps;
mod thrust_lines;
mod weights;
mod winds;
mod wrong_input;
