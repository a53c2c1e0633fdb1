//! Many flights in parallel, handed on in plan order, stoppable.

use crate::output::warn;
use indicatif::{ProgressBar, ProgressStyle};
use rayon::prelude::*;
use scenarios::study::{Plan, PlannedFlight};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// From how many flights on a progress bar is shown.
const BAR_FROM: usize = 16;

/// Does `task` for every item on all threads. Items not begun when `stop` is set are left out (`None`).
pub fn in_parallel<I: Sync, O: Send>(
    items: &[I],
    threads: Option<u16>,
    stop: &AtomicBool,
    task: impl Fn(&I) -> O + Sync,
) -> Vec<Option<O>> {
    let bar = progress(items.len());
    let run = || {
        items
            .par_iter()
            .map(|item| {
                let done = (!stop.load(Ordering::Relaxed)).then(|| task(item));
                bar.inc(1);
                done
            })
            .collect()
    };
    let mut pool = rayon::ThreadPoolBuilder::new();
    if let Some(threads) = threads {
        pool = pool.num_threads(usize::from(threads));
    }
    // Where no pool can be made (no more threads to be had), this thread does the work.
    let results = match pool.build() {
        Ok(pool) => pool.install(run),
        Err(_) => items
            .iter()
            .map(|item| (!stop.load(Ordering::Relaxed)).then(|| task(item)))
            .collect(),
    };
    bar.finish_and_clear();
    results
}

/// Does `task` for every flight of a plan on all threads, in plan order. Flights not begun when `stop` is set are left out (`None`).
pub fn each_flight<O: Send>(
    plan: &Plan,
    threads: Option<u16>,
    stop: &AtomicBool,
    task: impl Fn(&PlannedFlight) -> O + Sync,
) -> Vec<Option<O>> {
    let numbers: Vec<u64> = (0..plan.flights()).collect();
    flights_of(plan, &numbers, threads, stop, task)
}

/// The same for some flights, by their numbers.
pub fn flights_of<O: Send>(
    plan: &Plan,
    numbers: &[u64],
    threads: Option<u16>,
    stop: &AtomicBool,
    task: impl Fn(&PlannedFlight) -> O + Sync,
) -> Vec<Option<O>> {
    in_parallel(numbers, threads, stop, |&index| task(&plan.flight(index)))
}

/// Sets a flag at the first interrupt and leaves at the second. `what` is in the air meanwhile.
pub fn stop_on_interrupt(what: &'static str) -> Arc<AtomicBool> {
    /// Exit code of a second interrupt: as for the first, without waiting for the flights in the air.
    const STOPPED_AT_ONCE: i32 = 130;
    let stop = Arc::new(AtomicBool::new(false));
    let heard = Arc::clone(&stop);
    // Without a handler (there may be one already) a stop ends the run at once; files are whole all the same.
    let _ = ctrlc::set_handler(move || {
        if heard.swap(true, Ordering::Relaxed) {
            std::process::exit(STOPPED_AT_ONCE);
        }
        warn(&format!(
            "stopping after the {what} in the air; once more to leave at once"
        ));
    });
    stop
}

/// A bar on the terminal's standard error; hidden for a few flights and where there is no terminal.
fn progress(length: usize) -> ProgressBar {
    if length < BAR_FROM {
        return ProgressBar::hidden();
    }
    let style = ProgressStyle::with_template("{wide_bar} {pos}/{len} flights, {eta} left")
        .unwrap_or_else(|_| ProgressStyle::default_bar());
    ProgressBar::new(length as u64).with_style(style)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keeps_the_plan_s_order_on_any_number_of_threads() {
        let items: Vec<u32> = (0..100).collect();
        let never = AtomicBool::new(false);
        for threads in [1, 2, 7] {
            let squares = in_parallel(&items, Some(threads), &never, |x| x * x);
            let expected: Vec<_> = items.iter().map(|x| Some(x * x)).collect();
            assert_eq!(squares, expected);
        }
    }

    #[test]
    fn leaves_out_what_was_not_begun_when_stopped() {
        let stop = AtomicBool::new(false);
        let done = in_parallel(&[1, 2, 3, 4], Some(1), &stop, |&x| {
            if x == 2 {
                stop.store(true, Ordering::Relaxed);
            }
            x
        });
        assert_eq!(done.iter().flatten().count(), 2);
    }
}
