//! The real command in fresh folders.

mod answers;
mod command;
mod documents;
mod flying;
mod schemas;
mod stopping;
mod wrong_input;
