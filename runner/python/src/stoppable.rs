//! Long work with the interpreter free, stoppable by an interrupt.

use pyo3::exceptions::PyRuntimeError;
use pyo3::prelude::*;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::Duration;

/// How often it is looked whether somebody has interrupted.
const LOOK: Duration = Duration::from_millis(50);

/// Does `work` on a thread of its own, and sets its flag where Python is interrupted; what is in the air ends first.
///
/// # Errors
/// The interrupt; a defect of ours that broke the work off.
pub fn stoppable<T: Send>(
    py: Python<'_>,
    work: impl FnOnce(&AtomicBool) -> T + Send,
) -> PyResult<T> {
    let stop = AtomicBool::new(false);
    let result = py.detach(|| {
        std::thread::scope(|scope| {
            let (done, wait) = channel();
            let stop = &stop;
            let worker = scope.spawn(move || {
                let result = work(stop);
                // Nobody waits any more where the scope is being left.
                let _ = done.send(());
                result
            });
            // Signals reach Python's main thread only, which is this one where it matters.
            let mut interrupt = Ok(());
            while let Err(RecvTimeoutError::Timeout) = wait.recv_timeout(LOOK) {
                if interrupt.is_ok() {
                    interrupt = Python::attach(|py| py.check_signals());
                    stop.store(interrupt.is_err(), Ordering::Relaxed);
                }
            }
            let result = worker.join();
            interrupt.map(|()| result)
        })
    })?;
    result.map_err(|_| PyRuntimeError::new_err("a flight broke off; please report it"))
}
