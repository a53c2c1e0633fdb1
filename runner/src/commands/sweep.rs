//! `tossline sweep`.

mod fly;
mod mend;
mod preview;
mod together;

use super::report::{self, ReportError};
use crate::args::{PageOption, SweepArguments};
use crate::exit::{NotDone, Outcome};
use crate::output::{complain, print, print_json, warn};
use crate::plan::StudyPlan;
use crate::resume::SweepError;
use crate::resume::folder::Folder;
use crate::resume::identity::Identity;
use crate::resume::ledger::Ledger;
use crate::resume::recorder::{Recorder, settled};
use crate::resume::verify::{Verified, verify};
use crate::study_result::{Finished, finish, page::page, worst_of_rows};
use crate::work::{IdleLanes, in_order, stop_on_interrupt};
use fly::{Flyer, trajectory};
use indicatif::{ProgressBar, ProgressStyle};
use preview::Preview;
use scenarios::study::row::RowForm;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};

/// Results that wait for one before them, at most, for each thread.
const WINDOW: u64 = 256;

/// What is said while it flies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Talk {
    /// The plan on standard output, with a bar on a terminal.
    Text,
    /// The same on standard error: standard output is for JSON.
    Json,
    /// Nothing: what would be said is handed back.
    Nothing,
}

/// How a sweep ended.
enum Ended {
    /// All is flown and summed up; its page is written or not.
    Whole(Box<Finished>, Result<(), ReportError>),
    /// All of a part is flown.
    Part,
    /// The plan was shown, nothing flown.
    Shown,
    /// Stopped; so many flights are saved.
    Stopped(u64),
}

/// Flies a study, or goes on with it.
pub fn run(arguments: &SweepArguments) -> Outcome {
    let plan = match StudyPlan::new(&arguments.study, &arguments.out, &arguments.overrides) {
        Ok(plan) => plan,
        Err(error) => {
            let error = NotDone::from(error);
            return complain(&error, error.outcome);
        }
    };
    let warnings = &plan.study.base.warnings();
    warnings.iter().for_each(|warning| warn(warning));
    let stop = stop_on_interrupt("throws");
    let talk = if arguments.json {
        Talk::Json
    } else {
        Talk::Text
    };
    match sweep(arguments, &plan, &stop, talk, &mut Vec::new()) {
        Ok(Ended::Whole(finished, written)) => {
            let shown = show(&finished, &arguments.out, arguments.json, arguments.page);
            after(written, shown)
        }
        Ok(Ended::Shown) => Outcome::Done,
        Ok(Ended::Part) => match arguments.json {
            true => Outcome::Done,
            false => {
                print("The part is flown. When all parts are: tossline gather DIR... --out DIR\n")
            }
        },
        Ok(Ended::Stopped(saved)) => {
            let text = format!(
                "stopped; {saved} flights are saved in {}; the same command goes on from there",
                arguments.out.display()
            );
            complain(&text, Outcome::Stopped)
        }
        Err(error) => {
            let error = not_done(&error);
            complain(&error, error.outcome)
        }
    }
}

fn not_done(error: &SweepError) -> NotDone {
    match error {
        SweepError::Disk { .. } | SweepError::Write(_) => {
            let text = format!(
                "{error}; what is finished is saved: make room, and the same command goes on from there"
            );
            NotDone::new(&text, Outcome::CannotWrite)
        }
        error => NotDone::new(error, error.outcome()),
    }
}

/// Flies a whole study, or goes on with it, and says nothing: what it comes to, or none where it was stopped. What was found damaged in the
/// folder is added to `notes`.
///
/// # Errors
/// [`NotDone`], with the command's words.
pub fn in_silence(
    arguments: &SweepArguments,
    plan: &StudyPlan,
    stop: &AtomicBool,
    notes: &mut Vec<String>,
) -> Result<Option<Finished>, NotDone> {
    match sweep(arguments, plan, stop, Talk::Nothing, notes) {
        Ok(Ended::Whole(finished, written)) => {
            written.map_err(|error| NotDone::new(&error, error.outcome()))?;
            Ok(Some(*finished))
        }
        Ok(_) => Ok(None),
        Err(error) => Err(not_done(&error)),
    }
}

fn sweep(
    arguments: &SweepArguments,
    plan: &StudyPlan,
    stop: &AtomicBool,
    talk: Talk,
    notes: &mut Vec<String>,
) -> Result<Ended, SweepError> {
    let flights = plan.study.whole_plan();
    let form = RowForm::new(&plan.study.file, &flights);
    let identity = Identity::of(plan, &flights, arguments.part);
    let range = identity.range();
    let timed = |left: u64| {
        Preview::new(
            plan,
            &flights,
            &form,
            &identity,
            arguments.flying.threads,
            left,
        )
    };
    if arguments.plan_only {
        let shown = timed(range.end - range.start)?;
        match arguments.json {
            true => print_json(&shown),
            false => print(&shown.text()),
        };
        return Ok(Ended::Shown);
    }
    let folder = Folder::take(&arguments.out, identity.clone())?;
    let flyer = Flyer {
        study: &plan.study,
        plan: &flights,
        form: &form,
        folder: &folder,
        lanes: IdleLanes::default(),
    };
    let found = verify(&folder, &form)?;
    let good = |found: &Verified| found.good.iter().map(|e| e.to_flight - e.from_flight).sum();
    let saved = good(&found);
    for note in &found.notes {
        let note = format!("{}: {note}", arguments.out.display());
        match talk {
            Talk::Nothing => notes.push(note),
            _ => warn(&note),
        }
    }
    let Some(good) = mend::mend(&flyer, found, arguments.flying.threads, stop)? else {
        return Ok(Ended::Stopped(saved));
    };
    let mut recorder = Recorder::after(&folder, &form, good)?;
    let begin = recorder.next_flight();
    if begin < range.end && talk != Talk::Nothing {
        let shown = timed(range.end - begin)?.text();
        match talk {
            Talk::Text => {
                print(&shown);
            }
            _ => warn(&shown.trim_end()),
        }
    }
    let bar = match talk {
        Talk::Nothing => ProgressBar::hidden(),
        _ => progress(range.end - range.start, begin - range.start),
    };
    let mut failed: u64 = 0;
    let window = WINDOW * crate::work::thread_count(arguments.flying.threads) as u64;
    let together = flyer.together();
    let first = |block: u64| range.end.min(begin + block * together);
    let flown = in_order(
        0..(range.end - begin).div_ceil(together),
        arguments.flying.threads,
        window.div_ceil(together),
        stop,
        |block| flyer.fly_together(first(block)..first(block + 1)),
        |_, flown| {
            for flown in flown {
                if flown.failed {
                    failed += 1;
                    bar.set_message(format!("{failed} without a result, "));
                }
                bar.inc(1);
                recorder.add(flown)?;
            }
            Ok::<(), SweepError>(())
        },
    );
    bar.finish_and_clear();
    let end = first(flown?);
    recorder.save()?;
    if end < range.end {
        return Ok(Ended::Stopped(recorder.next_flight() - range.start));
    }
    let entries = settled(&folder, recorder.into_entries())?;
    Ledger::open_with(folder.path(), folder.id(), &entries)?;
    let mut worst = |flight: u64| trajectory(&plan.study, &flights.flight(flight));
    if folder.identity().part.is_some() {
        worst_of_rows(&folder, &form, &flights, &mut worst)?;
        return Ok(Ended::Part);
    }
    let finished = finish(&folder, &form, &flights, &mut worst)?;
    // While the folder is still this command's.
    let written = report::at_the_end(report::Kind::Sweep, folder.path(), &arguments.page);
    Ok(Ended::Whole(Box::new(finished), written))
}

/// A bar on the terminal's standard error; hidden where that is no terminal.
fn progress(length: u64, done: u64) -> ProgressBar {
    let style = "{wide_bar} {pos}/{len} flights, {msg}{per_sec}, {eta} left";
    let style =
        ProgressStyle::with_template(style).unwrap_or_else(|_| ProgressStyle::default_bar());
    let bar = ProgressBar::new(length).with_style(style);
    bar.set_position(done);
    bar.reset_eta();
    bar
}

/// Shows a finished study, and says how the command ends.
pub(super) fn show(finished: &Finished, out: &Path, json: bool, html: PageOption) -> Outcome {
    let shown = if json {
        print_json(&finished.report)
    } else {
        print(&page(finished, Some((out, html))))
    };
    let answer = &finished.report.answer;
    let fails = answer.conditions.iter().any(|c| c.share.fails());
    match shown {
        Outcome::Done if fails || answer.failed.flights > 0 => Outcome::FlightFailed,
        shown => shown,
    }
}

/// How the command ends that has written a page, or not.
pub(super) fn after(written: Result<(), ReportError>, shown: Outcome) -> Outcome {
    match written {
        Ok(()) => shown,
        Err(error) => complain(&error, error.outcome()),
    }
}

/// Whether a stop has been asked for.
fn stopped(stop: &AtomicBool) -> bool {
    stop.load(Ordering::Relaxed)
}
