//! The Python module `tossline._tossline`: what `python/tossline` shows to a notebook.
//!
//! Nothing is worked out here. `load` turns files and overrides into what `scenarios` loads, `fly` flies it on all threads with the
//! interpreter free (`stoppable`), `sweep` and `thrust_line` let the command's own code work, `frame` hands columns on without copying
//! them. Numbers, names and texts are those of the command.

mod airframe;
mod errors;
mod flight;
mod fly;
mod frame;
mod load;
mod scenario;
mod stoppable;
mod sweep;
mod thrust_line;
mod values;

use pyo3::prelude::*;

/// What Tossline's Python package is made of; see `tossline`.
#[pymodule]
mod _tossline {
    #[pymodule_export]
    use crate::airframe::Airframe;
    #[pymodule_export]
    use crate::errors::FileError;
    #[pymodule_export]
    use crate::flight::{Flight, Flights};
    #[pymodule_export]
    use crate::fly::fly;
    #[pymodule_export]
    use crate::frame::{Column, Frame};
    #[pymodule_export]
    use crate::load::{check, load, load_airframe, load_scenario, schema};
    #[pymodule_export]
    use crate::scenario::Scenario;
    #[pymodule_export]
    use crate::sweep::{Sweep, sweep};
    #[pymodule_export]
    use crate::thrust_line::{ThrustLine, thrust_line};
    use pyo3::prelude::*;

    #[pymodule_init]
    fn version(module: &Bound<'_, PyModule>) -> PyResult<()> {
        module.add("__version__", env!("CARGO_PKG_VERSION"))?;
        module.add("CAUTION", runner::CAUTION)
    }
}
