//! Whether what a study keeps, and the sensitivities it asks for, make sense.

use super::{Check, column};
use crate::error::{Problem, number, quoted};
use crate::field::FieldPath;
use crate::study::file::StudyFile;
use crate::study::keep::{Sensitivity, Trajectories};
use crate::summary::Holds;

/// Most trajectories kept: each is a file.
const MOST_TRAJECTORIES: u64 = 100_000;
/// Most columns with sensitivities.
const MOST_SENSITIVE: usize = 20;

/// `flights` is the number of all flights.
pub(super) fn check(file: &StudyFile, top: &FieldPath, flights: u64) -> Check {
    let at = top.key("keep");
    let list = at.key("columns");
    for (i, name) in file.keep.columns.iter().enumerate() {
        column(name, &list.index(i))?;
        if file.keep.columns[..i].contains(name) {
            let found = format!("{} a second time", quoted(name));
            return Err(Problem::new(list.index(i), found, "each column once"));
        }
    }
    trajectories(file, &at.key("trajectories"), flights)?;
    match &file.sensitivity {
        Some(asked) => sensitivity(file, asked, top),
        None => Ok(()),
    }
}

fn trajectories(file: &StudyFile, at: &FieldPath, flights: u64) -> Check {
    let kept = match &file.keep.trajectories {
        Trajectories::None => 0,
        Trajectories::All => flights,
        Trajectories::Every(every) => {
            if every.step == 0 {
                return Err(Problem::new(at.key("step"), "0", "1 or more"));
            }
            flights.div_ceil(u64::from(every.step))
        }
        Trajectories::Worst(worst) => {
            number_that_is_kept(file, &worst.column, &at.key("column"))?;
            if worst.count == 0 {
                return Err(Problem::new(at.key("count"), "0", "1 or more"));
            }
            u64::from(worst.count)
        }
    };
    if kept > MOST_TRAJECTORIES {
        let wanted = format!("{MOST_TRAJECTORIES} at most: each is a file");
        return Err(Problem::new(
            at.clone(),
            format!("{kept} trajectories"),
            wanted,
        ));
    }
    Ok(())
}

/// A column that holds numbers and is kept.
fn number_that_is_kept(file: &StudyFile, name: &str, at: &FieldPath) -> Check {
    if column(name, at)?.holds != Holds::Number {
        return Err(Problem::new(
            at.clone(),
            quoted(name),
            "a column of numbers",
        ));
    }
    let kept = &file.keep.columns;
    if !kept.is_empty() && !kept.iter().any(|one| one == name) {
        let wanted = "a column that is kept (\"keep\", \"columns\")";
        return Err(Problem::new(at.clone(), quoted(name), wanted));
    }
    Ok(())
}

fn sensitivity(file: &StudyFile, asked: &Sensitivity, top: &FieldPath) -> Check {
    let at = top.key("sensitivity");
    let refuse =
        |field: &str, found: String, wanted: &str| Err(Problem::new(top.key(field), found, wanted));
    if file.scatter.fields.is_empty() {
        return refuse(
            "scatter",
            "no fields".into(),
            "a scattered field or more, with \"sensitivity\"",
        );
    }
    if !file.axes.is_empty() {
        let wanted = "none with \"sensitivity\": scatter the field, or set it";
        return refuse("axes", format!("{} axes", file.axes.len()), wanted);
    }
    if !file.scatter.correlations.is_empty() {
        let found = format!("{} correlations", file.scatter.correlations.len());
        let wanted = "none with \"sensitivity\": shares of fields that go together are not defined";
        return Err(Problem::new(
            top.key("scatter").key("correlations"),
            found,
            wanted,
        ));
    }
    if file.flights < 2 {
        let found = number(f64::from(file.flights));
        return refuse("flights", found, "2 samples or more, with \"sensitivity\"");
    }
    let list = at.key("columns");
    for (i, name) in asked.columns.iter().enumerate() {
        number_that_is_kept(file, name, &list.index(i))?;
    }
    let columns = crate::study::sensitivity::columns(file);
    if columns.is_empty() || columns.len() > MOST_SENSITIVE {
        let wanted = format!("1 to {MOST_SENSITIVE} columns of numbers that are kept");
        return Err(Problem::new(
            list,
            format!("{} columns", columns.len()),
            wanted,
        ));
    }
    Ok(())
}
