//! Many flights in parallel, handed on in plan order, stoppable.

use crate::output::warn;
use indicatif::{ProgressBar, ProgressStyle};
use rayon::prelude::*;
use scenarios::study::{Plan, PlannedFlight};
use scenarios::summary::Together;
use std::collections::VecDeque;
use std::num::NonZero;
use std::ops::Range;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Sender, channel};
use std::sync::{Arc, Condvar, Mutex, PoisonError};

/// From how many flights on a progress bar is shown.
const BAR_FROM: usize = 16;

/// Does `task` for every item on all threads. Items not begun when `stop` is set are left out (`None`).
pub fn in_parallel<I: Sync, O: Send>(
    items: &[I],
    threads: Option<u16>,
    stop: &AtomicBool,
    task: impl Fn(&I) -> O + Sync,
) -> Vec<Option<O>> {
    let alone = |lot: &[I]| lot.iter().map(&task).collect();
    let lots = in_lots(items, 1, threads, stop, alone);
    lots.into_iter()
        .flat_map(|lot| lot.map_or_else(|| vec![None], |lot| lot.into_iter().map(Some).collect()))
        .collect()
}

/// Does `task` for lots of up to so many items that follow one another, on all threads. Lots not begun when `stop` is set are left out (`None`).
pub fn in_lots<I: Sync, O: Send>(
    items: &[I],
    most: usize,
    threads: Option<u16>,
    stop: &AtomicBool,
    task: impl Fn(&[I]) -> Vec<O> + Sync,
) -> Vec<Option<Vec<O>>> {
    let bar = progress(items.len());
    let one = |lot: &[I]| {
        let done = (!stop.load(Ordering::Relaxed)).then(|| task(lot));
        bar.inc(lot.len() as u64);
        done
    };
    let mut pool = rayon::ThreadPoolBuilder::new();
    if let Some(threads) = threads {
        pool = pool.num_threads(usize::from(threads));
    }
    // Where no pool can be made (no more threads to be had), this thread does the work.
    let results = match pool.build() {
        Ok(pool) => pool.install(|| items.par_chunks(most).map(one).collect()),
        Err(_) => items.chunks(most).map(one).collect(),
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

/// Flights handed to the lanes at a time, at most: several times as many as the widest has.
pub const IN_LANES: usize = 64;

/// Lanes nobody flies in at the moment.
#[derive(Debug, Default)]
pub struct IdleLanes(Mutex<Vec<Together>>);

impl IdleLanes {
    /// Flies in some of them, or in new ones where all are busy.
    pub fn fly_in<O>(&self, fly: impl FnOnce(&mut Together) -> O) -> O {
        let idle = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let mut lanes = idle().pop().unwrap_or_default();
        let flown = fly(&mut lanes);
        idle().push(lanes);
        flown
    }
}

/// What threads may take next, and how far their results have been handed on.
struct Gate {
    next: u64,
    handed_on: u64,
    closed: bool,
}

/// Does `task` for every number of a range on all threads and hands results on to `take` in order, on the calling thread, as they come. No
/// more than `window` results wait at a time. Stops when `stop` is set, after the numbers begun by then, or where `take` fails; gives the
/// number after the last one handed on.
///
/// # Errors
/// That of `take`.
pub fn in_order<O: Send, E>(
    range: Range<u64>,
    threads: Option<u16>,
    window: u64,
    stop: &AtomicBool,
    task: impl Fn(u64) -> O + Sync,
    mut take: impl FnMut(u64, O) -> Result<(), E>,
) -> Result<u64, E> {
    let gate = Mutex::new(Gate {
        next: range.start,
        handed_on: range.start,
        closed: false,
    });
    let moved = Condvar::new();
    // A thread that panicked has told; the numbers behind the lock are whole whenever it is free.
    let locked = || gate.lock().unwrap_or_else(PoisonError::into_inner);
    let claim = || {
        let mut at = locked();
        loop {
            if at.closed || stop.load(Ordering::Relaxed) || at.next >= range.end {
                return None;
            }
            if at.next < at.handed_on + window {
                at.next += 1;
                return Some(at.next - 1);
            }
            at = moved.wait(at).unwrap_or_else(PoisonError::into_inner);
        }
    };
    let work = |results: Sender<(u64, O)>| {
        while let Some(number) = claim() {
            if results.send((number, task(number))).is_err() {
                break;
            }
        }
    };
    std::thread::scope(|scope| {
        let (sender, results) = channel();
        let mut hands = 0;
        for _ in 0..thread_count(threads) {
            let sender = sender.clone();
            let builder = std::thread::Builder::new();
            hands += usize::from(builder.spawn_scoped(scope, || work(sender)).is_ok());
        }
        drop(sender);
        if hands == 0 {
            // No thread is to be had: this one does the work.
            for number in range.clone() {
                if stop.load(Ordering::Relaxed) {
                    return Ok(number);
                }
                take(number, task(number))?;
            }
            return Ok(range.end);
        }
        let mut waiting: VecDeque<Option<O>> = VecDeque::new();
        let mut first = range.start;
        for (number, result) in results {
            let place = (number - first) as usize;
            if waiting.len() <= place {
                waiting.resize_with(place + 1, || None);
            }
            waiting[place] = Some(result);
            while let Some(Some(_)) = waiting.front() {
                let Some(Some(result)) = waiting.pop_front() else {
                    break;
                };
                if let Err(error) = take(first, result) {
                    locked().closed = true;
                    moved.notify_all();
                    return Err(error);
                }
                first += 1;
            }
            locked().handed_on = first;
            moved.notify_all();
        }
        Ok(first)
    })
}

/// Threads to work with: as many as asked for, else as there are cores.
pub fn thread_count(threads: Option<u16>) -> usize {
    let cores = || std::thread::available_parallelism().map_or(1, NonZero::get);
    threads.map_or_else(cores, usize::from)
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
    fn hands_results_on_in_order_and_holds_no_more_than_its_window() {
        use std::sync::atomic::AtomicU64;
        let never = AtomicBool::new(false);
        for threads in [1, 2, 7] {
            let handed = AtomicU64::new(5);
            let mut seen = Vec::new();
            let end = in_order(
                5..205,
                Some(threads),
                16,
                &never,
                |i| {
                    assert!(i < handed.load(Ordering::SeqCst) + 16 + 16);
                    // Some are slower than others.
                    std::thread::sleep(std::time::Duration::from_micros(i % 7 * 30));
                    i * i
                },
                |i, square| {
                    seen.push((i, square));
                    handed.store(i + 1, Ordering::SeqCst);
                    Ok::<(), ()>(())
                },
            );
            assert_eq!(end, Ok(205));
            assert!(seen.into_iter().eq((5..205).map(|i| (i, i * i))));
        }
    }

    #[test]
    fn what_was_begun_when_stopped_is_handed_on_without_a_gap_and_a_failure_ends_it() {
        let stop = AtomicBool::new(false);
        let mut seen = 0;
        let end = in_order(
            0..1000,
            Some(3),
            64,
            &stop,
            |i| {
                if i == 100 {
                    stop.store(true, Ordering::Relaxed);
                }
            },
            |i, ()| {
                assert_eq!(i, seen);
                seen += 1;
                Ok::<(), ()>(())
            },
        );
        assert_eq!(end, Ok(seen));
        assert!((101..=110).contains(&seen), "{seen}");
        let never = AtomicBool::new(false);
        let full = |i: u64, ()| if i == 7 { Err("full") } else { Ok(()) };
        let end = in_order(0..1000, Some(3), 4, &never, |_| (), full);
        assert_eq!(end, Err("full"));
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
