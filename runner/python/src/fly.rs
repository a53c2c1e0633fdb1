//! Flying on all threads with the interpreter free, stoppable by an interrupt.

use crate::errors::{file_error, wrong};
use crate::flight::{Flight, Flights};
use crate::scenario::Scenario;
use crate::stoppable::stoppable;
use crate::values::typed;
use pyo3::exceptions::PyValueError;
use pyo3::prelude::*;
use runner::{Record, in_parallel};
use scenarios::overrides::Override;
use scenarios::summary::fly_with_twin;
use scenarios::{FileError, LoadedScenario};
use std::sync::Arc;

/// A throw to fly.
pub struct Asked {
    base: Arc<LoadedScenario>,
    more: Vec<Override>,
    typed: Vec<String>,
}

impl Asked {
    /// A scenario as it is.
    pub fn as_it_is(scenario: &Scenario) -> Self {
        Self::changed(scenario, Vec::new())
    }

    /// A scenario with further overrides, applied where it is flown.
    pub fn changed(scenario: &Scenario, more: Vec<Override>) -> Self {
        let mut typed = typed(&scenario.overrides);
        typed.extend(self::typed(&more));
        Asked {
            base: Arc::clone(&scenario.loaded),
            more,
            typed,
        }
    }
}

/// Why a throw was not flown.
enum NotFlown {
    File(FileError),
    Launch(String),
}

/// That there is a thread to fly with, as the command asks it.
pub fn some_threads(threads: Option<u16>) -> PyResult<()> {
    match threads {
        Some(found @ (0 | 1025..)) => Err(wrong(
            "threads",
            &format!("found {found}, wanted 1 to 1024"),
        )),
        _ => Ok(()),
    }
}

/// Flies throws in their order on so many threads.
///
/// # Errors
/// The first that cannot fly; an interrupt.
pub fn fly_all(
    py: Python<'_>,
    asked: Vec<Asked>,
    threads: Option<u16>,
    keep: bool,
) -> PyResult<Vec<Flight>> {
    some_threads(threads)?;
    let results = stoppable(py, |stop| {
        in_parallel(&asked, threads, stop, |one| flown(one, keep))
    })?;
    let mut flights = Vec::with_capacity(results.len());
    for result in results.into_iter().flatten() {
        flights.push(result.map_err(|error| match error {
            NotFlown::File(error) => file_error(py, &error),
            NotFlown::Launch(text) => PyValueError::new_err(text),
        })?);
    }
    Ok(flights)
}

fn flown(asked: &Asked, keep: bool) -> Result<Flight, NotFlown> {
    let scenario = if asked.more.is_empty() {
        Arc::clone(&asked.base)
    } else {
        Arc::new(asked.base.changed_by(&asked.more).map_err(NotFlown::File)?)
    };
    let built = &scenario.built;
    let (flight, twin) = fly_with_twin(&built.throw, &built.summary)
        .map_err(|error| NotFlown::Launch(format!("{}: {error}", scenario.path.display())))?;
    let hash = runner::inputs_sha256(&scenario, &asked.typed);
    let record = Record::new(&scenario, hash, &flight, twin.as_ref());
    Ok(Flight::new(record, keep.then_some((flight, scenario))))
}

/// Flies scenarios in their order on all threads.
///
/// Parameters
/// ----------
/// scenarios : iterable of Scenario
///     What to fly.
/// threads : int, optional
///     Threads to fly with; all cores where left out. Results do not depend on it.
/// keep_trajectories : bool
///     False keeps the summaries alone; for thousands of flights.
///
/// Returns
/// -------
/// Flights
///
/// Raises
/// ------
/// KeyboardInterrupt
///     Where stopped; the flights in the air end first.
#[pyfunction]
#[pyo3(signature = (scenarios, *, threads = None, keep_trajectories = true))]
pub fn fly(
    py: Python<'_>,
    scenarios: &Bound<'_, PyAny>,
    threads: Option<u16>,
    keep_trajectories: bool,
) -> PyResult<Flights> {
    let mut asked = Vec::new();
    for scenario in scenarios.try_iter()? {
        asked.push(Asked::as_it_is(scenario?.cast::<Scenario>()?.get()));
    }
    Ok(Flights::new(fly_all(
        py,
        asked,
        threads,
        keep_trajectories,
    )?))
}
