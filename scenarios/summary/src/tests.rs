//! Flights with closed answers. Sources: textbook mechanics of a point and of a turning body, by hand; standard gravity from ISO 80000-3.

mod bodies;
mod dips;
mod forms;
mod paths;
mod ranges;
mod refining;
mod steps;
mod sustained;
mod waves;

use super::{Summary, SummarySettings, summarise};
use sim_core::flight::Throw;

/// Summary of a throw without a twin.
fn sum_up(throw: &Throw) -> Summary {
    summarise(
        &throw.fly().expect("the throw starts"),
        None,
        &SummarySettings::default(),
    )
}

/// Fails unless a number is there and within a distance of what it must be.
#[track_caller]
fn near(found: Option<f64>, wanted: f64, within: f64) {
    let found = found.expect("a number");
    assert!(
        (found - wanted).abs() <= within,
        "found {found}, wanted {wanted} ± {within}"
    );
}
