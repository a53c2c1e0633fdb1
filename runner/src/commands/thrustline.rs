//! `tossline thrustline`.

mod counting;
mod page;
mod paragraph;
mod passes;
mod search;
mod setting;
mod trajectories;
pub(super) mod weight;

use super::report::{Kind, at_the_end};
use crate::args::ThrustlineArguments;
use crate::exit::{NotDone, Outcome};
use crate::output::window::{self, Picture};
use crate::output::{CAUTION, complain, files, print, print_json, warn};
use crate::plan::{StudyPlan, engine};
use crate::work::stop_on_interrupt;
use page::page;
use paragraph::plain_words;
use passes::{Flown, Flyer};
use scenarios::error::FileError;
use scenarios::study::LoadedStudy;
use scenarios::study::judge::Share;
use scenarios::summary::Summary;
use scenarios::thrustline::balanced::Mark;
use scenarios::thrustline::change::{disc_cuts_a_surface, raised};
use scenarios::thrustline::glide::TestGlide;
use scenarios::thrustline::power::{PowerCurve, balanced_deg, curve, set_elevation};
use scenarios::thrustline::usual::circumstances;
use scenarios::thrustline::window::{AtAngle, Wanted, Window};
use search::{BandDraw, Contribution, Found, Search, Tried, Verdict, own_angle_deg, search};
use serde::Serialize;
use setting::{Hold, SettingShare};
use std::fmt::Display;
use std::sync::atomic::AtomicBool;
use trajectories::{Kept, kept};

/// Farthest a height asked for may lie from the file's, mm.
const FARTHEST_HEIGHT_MM: f64 = 500.0;

#[derive(Debug, Serialize)]
struct ConditionShare {
    condition: String,
    /// Whether an angle is chosen by it.
    counts: bool,
    meets: Share,
}

/// How one circumstance fares at the angle spoken of.
#[derive(Debug, Serialize)]
struct CircumstanceShare {
    circumstance: String,
    meets: Share,
    is_weakest: bool,
}

/// The answer at one height of the motors.
#[derive(Debug, Serialize)]
struct Answer {
    height_change_mm: f64,
    verdict: Verdict,
    best_deg: Option<f64>,
    window: Option<Window>,
    may_be_off_by_deg: Option<f64>,
    hold: Option<Hold>,
    setting: Option<SettingShare>,
    bands_good: usize,
    bands_bad: usize,
    bands: Vec<BandDraw>,
    disc_cuts_a_surface: bool,
    holds_as_drawn: bool,
    /// At the angle spoken of.
    meets_at_best_found: Option<Share>,
    /// With left and right alike, where there is no window.
    straight: Vec<AtAngle>,
    conditions_at_deg: f64,
    conditions: Vec<ConditionShare>,
    circumstances: Vec<CircumstanceShare>,
    balanced_deg: Option<f64>,
    power: PowerCurve,
    power_at_best: Option<PowerCurve>,
    other_changes: Vec<Tried>,
    measure_next: Vec<Contribution>,
    chosen: Vec<AtAngle>,
    stated: Vec<AtAngle>,
}

#[derive(Debug, Serialize)]
struct Report {
    airframe: String,
    study: String,
    scenario: String,
    angle_field: String,
    is_elevation: bool,
    own_angle_deg: f64,
    /// Whether the discs stand behind the balance point.
    pushers: bool,
    in_plain_words: String,
    share_wanted_fraction: f64,
    floor_wanted_fraction: f64,
    confidence_fraction: f64,
    trimmed_by: Option<String>,
    tossline_version: &'static str,
    inputs_sha256: String,
    engine: String,
    seed: u32,
    flights: usize,
    could_not_start: usize,
    first_reason: Option<String>,
    answers: Vec<Answer>,
    trajectories: Vec<Kept>,
    warnings: Vec<String>,
    caution: &'static str,
}

/// Finds the angle that cures what power does to the nose, or says that there is none.
pub fn run(arguments: &ThrustlineArguments) -> Outcome {
    let plan = match planned(arguments) {
        Ok(plan) => plan,
        Err(error) => return complain(&error, error.outcome),
    };
    if let Some(throttle_fraction) = arguments.level_throttle {
        return weight::run(&plan, arguments, throttle_fraction);
    }
    let studies = match at_heights(&plan, arguments) {
        Ok(studies) => studies,
        Err(error) => return complain(&error, error.outcome),
    };
    plan.study
        .base
        .warnings()
        .iter()
        .for_each(|warning| warn(warning));
    let stop = stop_on_interrupt("throws");
    let report = match written(&plan, &studies, arguments, &stop) {
        Ok(Some(report)) => report,
        Ok(None) => return complain(&"stopped; nothing was written", Outcome::Stopped),
        Err(error) => return complain(&error, error.outcome),
    };
    let shown = if arguments.json {
        print_json(&report)
    } else {
        print(&page(&report, true))
    };
    let first = &report.answers[0];
    let fails = |(condition, share): (&scenarios::study::file::Condition, &ConditionShare)| {
        let counted = share.meets.share_fraction.unwrap_or(0.0);
        condition.must_hold && counted < condition.least_share_fraction
    };
    let failed = first.verdict == Verdict::Angle
        && plan
            .study
            .file
            .conditions
            .iter()
            .zip(&first.conditions)
            .any(fails);
    match shown {
        Outcome::Done if failed => Outcome::FlightFailed,
        shown => shown,
    }
}

/// The answer written to its folder and nothing said: what the command would print (`stays`: with the files written), or none where it was
/// stopped.
///
/// # Errors
/// [`NotDone`], with the command's words.
pub fn in_silence(
    arguments: &ThrustlineArguments,
    stop: &AtomicBool,
    stays: bool,
) -> Result<Option<String>, NotDone> {
    let plan = planned(arguments)?;
    let studies = at_heights(&plan, arguments)?;
    let report = written(&plan, &studies, arguments, stop)?;
    Ok(report.map(|report| page(&report, stays)))
}

fn planned(arguments: &ThrustlineArguments) -> Result<StudyPlan, NotDone> {
    if let Some(fault) = fault(arguments).or_else(|| weight::fault(arguments)) {
        return Err(NotDone::bad_input(&fault));
    }
    let plan = StudyPlan::for_thrust_line(
        &arguments.airframe,
        (
            arguments.study.as_deref(),
            arguments.hands.into(),
            arguments.flights,
        ),
        &arguments.out,
        &arguments.overrides,
    );
    Ok(plan?)
}

/// The study with the motors as they are, and at every height asked for, mm.
fn at_heights(
    plan: &StudyPlan,
    arguments: &ThrustlineArguments,
) -> Result<Vec<(f64, LoadedStudy)>, NotDone> {
    let mut studies = vec![(0.0, plan.study.clone())];
    for &height in arguments.height.iter().filter(|height| **height != 0.0) {
        let overrides = raised(&plan.study.base.airframe.file, height);
        let changed = plan.study.with_base_changed(&overrides);
        let study = changed.map_err(|error| NotDone::bad_input(&format!("--height: {error}")))?;
        studies.push((height, study));
    }
    Ok(studies)
}

/// Flies, and writes the answer to its folder; none where it was stopped.
fn written(
    plan: &StudyPlan,
    studies: &[(f64, LoadedStudy)],
    arguments: &ThrustlineArguments,
    stop: &AtomicBool,
) -> Result<Option<Report>, NotDone> {
    let cannot_write = |error: &dyn Display| NotDone::new(&error, Outcome::CannotWrite);
    let mut answers = Vec::new();
    let mut flights = Vec::new();
    let mut trimmed_by = None;
    let mut trajectories = Vec::new();
    for (height, study) in studies {
        let flyer = Flyer {
            mark: (!arguments.as_built)
                .then(|| Mark::of(&study.base))
                .flatten(),
            glide: (!arguments.as_built)
                .then(|| TestGlide::of(&study.base))
                .flatten(),
            threads: arguments.flying.threads,
            stop,
            known: Default::default(),
            lanes: Default::default(),
        };
        trimmed_by = flyer.glide.as_ref().map(|glide| glide.name.clone());
        let wanted = Wanted {
            share_fraction: arguments.share_fraction,
            floor_fraction: study.file.floor_fraction,
        };
        let other_changes = !arguments.height.is_empty();
        let Some((answer, flown)) = answer(&flyer, study, *height, wanted, other_changes)? else {
            return Ok(None);
        };
        flights.extend(flown);
        if answers.is_empty() {
            let angles = (own_angle_deg(study), answer.conditions_at_deg);
            trajectories =
                kept(&flyer, study, angles, &mut flights).map_err(|error| cannot_write(&error))?;
        }
        answers.push(answer);
    }
    let mut report = report(plan, arguments, &flights, answers, trimmed_by);
    report.trajectories = trajectories;
    report.in_plain_words = plain_words(&report);
    write(plan, &flights, &report).map_err(|error| cannot_write(&error))?;
    at_the_end(Kind::Thrustline, &plan.out, &arguments.page)
        .map_err(|error| NotDone::new(&error, error.outcome()))?;
    Ok(Some(report))
}

fn fault(arguments: &ThrustlineArguments) -> Option<String> {
    let share = arguments.share_fraction;
    if !(share > 0.0 && share < 1.0) {
        return Some(format!(
            "--share-fraction: found {share}, wanted over 0 and under 1"
        ));
    }
    let heights = &arguments.height;
    let wrong = |height: &&f64| height.is_nan() || height.abs() > FARTHEST_HEIGHT_MM;
    heights.iter().find(wrong).map(|height| {
        format!("--height: found {height}, wanted -{FARTHEST_HEIGHT_MM} to {FARTHEST_HEIGHT_MM} mm")
    })
}

fn answer(
    flyer: &Flyer<'_>,
    study: &LoadedStudy,
    height_mm: f64,
    wanted: Wanted,
    always_other_changes: bool,
) -> Result<Option<(Answer, Vec<Flown>)>, FileError> {
    let changed = match height_mm {
        0.0 => String::new(),
        height => format!("motors {height} mm up"),
    };
    let asked = Search {
        flyer,
        study,
        wanted,
        changed: &changed,
        always_other_changes,
    };
    let Some(found) = search(&asked)? else {
        return Ok(None);
    };
    let Found { flights, .. } = found;
    let angles = study.first_axis_values();
    let elevation = is_elevation(study);
    let low = angles.iter().copied().fold(f64::INFINITY, f64::min);
    let high = angles.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let balanced = match elevation {
        true => balanced_deg(&study.base, low, high)?,
        false => None,
    };
    let at_best = match found.best_deg.filter(|_| elevation) {
        Some(best) => Some(curve(&study.base.changed_by(&[set_elevation(best)])?)),
        None => None,
    };
    let names = circumstances(study);
    let each = found.spoken_of.iter().flat_map(|at| &at.each);
    let fewest = each.clone().map(|share| share.count).min();
    let shares = names.into_iter().zip(each);
    let circumstances = shares
        .map(|(circumstance, &meets)| CircumstanceShare {
            circumstance,
            is_weakest: Some(meets.count) == fewest,
            meets,
        })
        .collect();
    let (hold, setting) = match found.hold {
        Some((hold, setting)) => (Some(hold), setting),
        None => (None, None),
    };
    let off_by = |window: &Window, best: f64| (best - window.low_deg).min(window.high_deg - best);
    let answer = Answer {
        height_change_mm: height_mm,
        verdict: found.verdict,
        may_be_off_by_deg: found
            .window
            .as_ref()
            .zip(found.best_deg)
            .map(|(w, best)| off_by(w, best)),
        best_deg: found.best_deg,
        hold,
        setting,
        bands_good: found.bands.iter().filter(|draw| draw.is_good).count(),
        bands_bad: found.bands.iter().filter(|draw| draw.is_bad).count(),
        bands: found.bands,
        circumstances,
        window: found.window,
        disc_cuts_a_surface: disc_cuts_a_surface(&study.base),
        holds_as_drawn: found.holds_as_drawn,
        meets_at_best_found: found.spoken_of.as_ref().map(|at| at.meets),
        straight: found.straight,
        conditions_at_deg: found.spoken_of_deg,
        conditions: found
            .conditions
            .into_iter()
            .zip(&study.file.conditions)
            .map(|((condition, meets), asked)| ConditionShare {
                condition,
                counts: asked.counts,
                meets,
            })
            .collect(),
        balanced_deg: balanced,
        power: curve(&study.base),
        power_at_best: at_best,
        other_changes: found.tried,
        measure_next: found.contributions,
        chosen: found.chosen,
        stated: found.stated,
    };
    Ok(Some((answer, flights)))
}

fn is_elevation(study: &LoadedStudy) -> bool {
    let axis = study.file.axes.first();
    axis.is_some_and(|axis| {
        axis.field == "motors.*.thrust_elevation_deg"
            && axis.change == scenarios::study::file::ChangeWord::Set
    })
}

fn report(
    plan: &StudyPlan,
    arguments: &ThrustlineArguments,
    flights: &[Flown],
    answers: Vec<Answer>,
    trimmed_by: Option<String>,
) -> Report {
    let (file, base) = (&plan.study.file, &plan.study.base);
    let along: f64 = base
        .airframe
        .built
        .vehicle
        .motors
        .iter()
        .map(|motor| motor.place.x)
        .sum();
    let reason = |one: &Flown| one.result.as_ref().err().cloned();
    let asked = format!(
        "thrustline {} {:?} {}",
        arguments.share_fraction, arguments.height, arguments.as_built
    );
    Report {
        airframe: base.airframe.file.name.clone(),
        study: file.name.clone(),
        scenario: base.file.name.clone(),
        angle_field: file
            .axes
            .first()
            .map(|axis| axis.field.clone())
            .unwrap_or_default(),
        is_elevation: is_elevation(&plan.study),
        own_angle_deg: own_angle_deg(&plan.study),
        pushers: along < 0.0,
        in_plain_words: String::new(),
        share_wanted_fraction: arguments.share_fraction,
        floor_wanted_fraction: file.floor_fraction,
        confidence_fraction: file.confidence_fraction,
        trimmed_by,
        tossline_version: env!("CARGO_PKG_VERSION"),
        inputs_sha256: plan.inputs_sha256(&asked),
        engine: engine(base),
        seed: file.seed,
        flights: flights.len(),
        could_not_start: flights.iter().filter_map(reason).count(),
        first_reason: flights.iter().find_map(reason),
        answers,
        trajectories: Vec::new(),
        warnings: base.warnings().iter().map(ToString::to_string).collect(),
        caution: CAUTION,
    }
}

fn write(
    plan: &StudyPlan,
    flights: &[Flown],
    report: &Report,
) -> Result<(), Box<dyn std::error::Error>> {
    let out = &plan.out;
    for kept in &report.trajectories {
        files::write_whole(&out.join(&kept.file), &kept.rows)?;
    }
    files::write_whole(&out.join("thrustline.csv"), &table(plan, flights)?)?;
    let mut json = serde_json::to_vec_pretty(report)?;
    json.push(b'\n');
    files::write_whole(&out.join("thrustline.json"), &json)?;
    // The study as flown, so that a built-in one can be changed and flown again.
    files::write_whole(&out.join("study.json"), &plan.study.bytes)?;
    if let Some(throw) = built_in_throw(plan)? {
        files::write_whole(&out.join(&plan.study.file.base), &throw)?;
    }
    let first = &report.answers[0];
    let svg = window::draw(&Picture {
        name: &report.airframe,
        angle: if report.is_elevation {
            "thrust elevation, deg"
        } else {
            &report.angle_field
        },
        chosen: &first.chosen,
        stated: &first.stated,
        wanted: report.share_wanted_fraction,
        window: first
            .window
            .as_ref()
            .map(|window| (window.low_deg, window.high_deg)),
        best_deg: first.best_deg,
        before: &first.power,
        after: first.power_at_best.as_ref(),
    });
    files::write_whole(&out.join("thrustline.svg"), svg.as_bytes())?;
    Ok(())
}

/// The built-in throw as a file that flies from any folder; none where the study is a file and names its own.
fn built_in_throw(plan: &StudyPlan) -> Result<Option<Vec<u8>>, Box<dyn std::error::Error>> {
    let base = &plan.study.base;
    if plan.study.path.is_file() {
        return Ok(None);
    }
    let mut throw: serde_json::Value = serde_json::from_slice(&base.bytes)?;
    let airframe = base.airframe.path.canonicalize()?;
    throw["airframe"] = airframe.display().to_string().into();
    let mut bytes = serde_json::to_vec_pretty(&throw)?;
    bytes.push(b'\n');
    Ok(Some(bytes))
}

/// A row for each flight, inputs beside outputs.
fn table(plan: &StudyPlan, flights: &[Flown]) -> Result<Vec<u8>, Box<dyn std::error::Error>> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let columns = Summary::columns();
    let mut fields: Vec<String> = plan.flights.fields().collect();
    // What the setting pass draws beside the study's fields.
    if let Some(axis) = plan.study.file.axes.first() {
        fields.push(format!("{} (add)", axis.field));
    }
    let moved = fields.len() - 1;
    let conditions = &plan.study.file.conditions;
    let names = circumstances(&plan.study);
    let head = [
        "flight",
        "pass",
        "changed",
        "circumstance",
        "sample",
        "could_not_start",
    ]
    .map(str::to_owned);
    writer.write_record(
        head.into_iter()
            .chain(fields)
            .chain(["bent_after_test_glides_deg".to_owned()])
            .chain(columns.iter().map(|column| column.name.to_owned()))
            .chain(
                conditions
                    .iter()
                    .map(|condition| format!("meets {}", condition.name)),
            )
            .chain(["meets all".to_owned()]),
    )?;
    let empty = |count: usize| std::iter::repeat_n(String::new(), count);
    for (number, one) in flights.iter().enumerate() {
        let mut row = vec![
            number.to_string(),
            one.pass.to_owned(),
            one.changed.clone(),
            names.get(one.circumstance).cloned().unwrap_or_default(),
            one.sample
                .map_or_else(String::new, |sample| sample.to_string()),
            one.result.as_ref().err().cloned().unwrap_or_default(),
            one.angle_deg.to_string(),
        ];
        row.extend(one.values.iter().map(f64::to_string));
        row.extend(empty(moved.saturating_sub(one.values.len())));
        row.push(
            one.bend_deg
                .map_or_else(String::new, |bend| bend.to_string()),
        );
        match &one.result {
            Ok(summary) => row.extend(summary.row().iter().map(ToString::to_string)),
            Err(_) => row.extend(empty(columns.len())),
        }
        row.extend(one.met.iter().map(bool::to_string));
        let counted = conditions.iter().zip(&one.met);
        let all = one.result.is_ok() && counted.into_iter().all(|(c, met)| *met || !c.counts);
        row.push(all.to_string());
        writer.write_record(row)?;
    }
    Ok(writer.into_inner()?)
}
