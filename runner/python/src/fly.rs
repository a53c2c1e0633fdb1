//! Flying on all threads with the interpreter free, stoppable by an interrupt.

use crate::errors::file_error;
use crate::flight::{Flight, Flights};
use crate::scenario::Scenario;
use crate::values::typed;
use pyo3::exceptions::{PyRuntimeError, PyValueError};
use pyo3::prelude::*;
use runner::{Record, in_parallel};
use scenarios::overrides::Override;
use scenarios::summary::fly_with_twin;
use scenarios::{FileError, LoadedScenario};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::Duration;

/// How often it is looked whether somebody has interrupted.
const LOOK: Duration = Duration::from_millis(50);

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
    if threads == Some(0) {
        return Err(PyValueError::new_err("threads: found 0, wanted at least 1"));
    }
    let stop = AtomicBool::new(false);
    let results = py.detach(|| {
        std::thread::scope(|scope| {
            let (done, wait) = channel();
            let (asked, stop) = (&asked, &stop);
            let worker = scope.spawn(move || {
                let results = in_parallel(asked, threads, stop, |one| flown(one, keep));
                // Nobody waits any more where the scope is being left.
                let _ = done.send(());
                results
            });
            // Signals reach Python's main thread only, which is this one where it matters.
            let mut interrupt = Ok(());
            while let Err(RecvTimeoutError::Timeout) = wait.recv_timeout(LOOK) {
                if interrupt.is_ok() {
                    interrupt = Python::attach(|py| py.check_signals());
                    stop.store(interrupt.is_err(), Ordering::Relaxed);
                }
            }
            let results = worker.join();
            interrupt.map(|()| results)
        })
    })?;
    let results =
        results.map_err(|_| PyRuntimeError::new_err("a flight broke off; please report it"))?;
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
