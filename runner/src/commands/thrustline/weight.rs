//! `tossline thrustline --level-throttle`: how heavy it may be, and which parts hold what is over.

pub mod page;

use crate::args::ThrustlineArguments;
use crate::commands::report::{Kind, at_the_end};
use crate::exit::Outcome;
use crate::output::{CAUTION, complain, files, print, print_json, warn};
use crate::plan::{StudyPlan, engine};
use crate::work::{in_parallel, stop_on_interrupt};
use page::{page, plain_words};
use scenarios::study::{LoadedStudy, PlannedFlight, Purpose};
use scenarios::thrustline::glide::TestGlide;
use scenarios::thrustline::power::trimmer;
use scenarios::thrustline::weight::{Carries, Draw, Margin, PartRow, carries, draw, margin, parts};
use serde::{Deserialize, Serialize};
use std::sync::atomic::Ordering;

/// What is not worked out, said with every answer.
const NOT_FLOWN: &str = "Worked out: steady flights, balance point, margin, the angle that aims through the balance point, the lever arm of power. Not flown again: \
the window of angles of the lighter airframe; change the file and ask once more without --level-throttle.";

/// What is written and printed.
#[derive(Debug, Serialize, Deserialize)]
pub struct Report {
    /// Name of the airframe.
    pub airframe: String,
    /// Name of the study whose scatter is drawn.
    pub study: String,
    /// The throttle asked for.
    pub throttle_fraction: f64,
    /// What to know of it, in a paragraph.
    pub in_plain_words: String,
    /// What the airframe weighs, g.
    pub mass_g: f64,
    /// Throttle that level flight takes now; none where there is none, see `no_level_because`.
    pub level_throttle_fraction: Option<f64>,
    /// Why there is none.
    pub no_level_because: Option<String>,
    /// What the throttle carries.
    pub carries: Carries,
    /// The same of drawn builds.
    pub margin: Option<Margin>,
    /// The tab that test glides bend.
    pub trimmed_by: Option<String>,
    /// Heaviest first; empty where the mass is measured as a whole.
    pub parts: Vec<PartRow>,
    /// Where ballast sits, mm aft of the nose datum.
    pub ballast_station_mm: f64,
    /// Where the balance point is, mm aft of the nose datum.
    pub balance_station_mm: f64,
    /// What is not worked out.
    pub not_flown: String,
    /// Version that answered.
    pub tossline_version: String,
    /// Of all that decides the answer.
    pub inputs_sha256: String,
    /// Engine and its numbers.
    pub engine: String,
    /// Of the draws.
    pub seed: u32,
    /// Builds drawn.
    pub draws: usize,
    /// Builds that could not be.
    pub could_not_be_drawn: usize,
    /// What is worth saying.
    pub warnings: Vec<String>,
    /// The usual cautions.
    pub caution: String,
}

/// What is wrong with the numbers typed, if anything.
pub fn fault(arguments: &ThrustlineArguments) -> Option<String> {
    let wrong = arguments
        .level_throttle
        .filter(|d| !(*d > 0.0 && *d <= 1.0));
    if let Some(found) = wrong {
        return Some(format!(
            "--level-throttle: found {found}, wanted over 0, up to 1"
        ));
    }
    let station = arguments.ballast_station_mm;
    (!(-2000.0..=4000.0).contains(&station))
        .then(|| format!("--ballast-station-mm: found {station}, wanted -2000 to 4000"))
}

/// A drawn airframe with what was drawn.
struct Drawn {
    flight: PlannedFlight,
    result: Result<Draw, String>,
}

/// Builds to draw: as many as are flown at one angle, in all circumstances together.
fn draws_of(study: &LoadedStudy) -> u32 {
    let angles = study.first_axis_values().len().max(1) as u64;
    let circumstances = study.plan(Purpose::State).axis_points() / angles;
    let draws = u64::from(study.file.flights) * circumstances;
    // A plan can number no more flights than this.
    u32::try_from(draws).unwrap_or(u32::MAX)
}

/// Answers for one throttle.
pub fn run(plan: &StudyPlan, arguments: &ThrustlineArguments, throttle_fraction: f64) -> Outcome {
    // Angles and circumstances have no part in this: the airframe at its own angle, in still air.
    let mut study = plan.study.clone();
    study.file.flights = draws_of(&study);
    study.file.axes.clear();
    // How heavy it may be hangs on what is not known as well as on how it is built: the ends are of both.
    if let Some(bands) = study.file.bands.take() {
        study.file.scatter.fields.extend(bands.fields);
    }
    let base = &study.base;
    base.warnings().iter().for_each(|warning| warn(warning));
    let carried = carries(base, throttle_fraction, None);

    let glide = (!arguments.as_built).then(|| TestGlide::of(base)).flatten();
    let draws = study.plan(Purpose::State);
    let flights: Vec<PlannedFlight> = (0..draws.flights()).map(|i| draws.flight(i)).collect();
    let stop = stop_on_interrupt("airframes");
    let drawn = in_parallel(&flights, arguments.flying.threads, &stop, |flight| {
        let result = study.scenario(flight).map_err(|error| error.to_string());
        Drawn {
            flight: flight.clone(),
            result: result.map(|one| draw(&one, glide.as_ref(), throttle_fraction)),
        }
    });
    if stop.load(Ordering::Relaxed) {
        return complain(&"stopped; nothing was written", Outcome::Stopped);
    }
    let drawn: Vec<Drawn> = drawn.into_iter().flatten().collect();
    let good: Vec<Draw> = drawn
        .iter()
        .filter_map(|one| one.result.clone().ok())
        .collect();

    let level = trimmer(base).level();
    let greatest = carried.tab_re_set.as_ref().or(carried.as_set.as_ref());
    let over_g = greatest.map_or(0.0, |greatest| greatest.over_g);
    let asked = format!(
        "level throttle {throttle_fraction} {} {}",
        arguments.ballast_station_mm, arguments.as_built
    );
    let mut report = Report {
        airframe: base.airframe.file.name.clone(),
        study: study.file.name.clone(),
        throttle_fraction,
        in_plain_words: String::new(),
        mass_g: base.airframe.built.mass.mass_kg * 1e3,
        level_throttle_fraction: level.as_ref().ok().map(|flight| flight.throttle_fraction),
        no_level_because: level.err().map(|error| error.to_string()),
        carries: carried,
        margin: margin(&good, study.file.confidence_fraction),
        trimmed_by: glide.map(|glide| glide.name),
        parts: parts(base, arguments.ballast_station_mm * 1e-3, over_g),
        ballast_station_mm: arguments.ballast_station_mm,
        balance_station_mm: base.airframe.built.mass.balance.station_m * 1e3,
        not_flown: NOT_FLOWN.to_owned(),
        tossline_version: env!("CARGO_PKG_VERSION").to_owned(),
        inputs_sha256: plan.inputs_sha256(&asked),
        engine: engine(base),
        seed: study.file.seed,
        draws: good.len(),
        could_not_be_drawn: drawn.len() - good.len(),
        warnings: base.warnings().iter().map(ToString::to_string).collect(),
        caution: CAUTION.to_owned(),
    };
    report.in_plain_words = plain_words(&report);
    let fields: Vec<String> = draws.fields().collect();
    if let Err(error) = write(plan, &report, &fields, &drawn) {
        return complain(&error, Outcome::CannotWrite);
    }
    if let Err(error) = at_the_end(Kind::Weight, &plan.out, &arguments.page) {
        return complain(&error, error.outcome());
    }
    if arguments.json {
        print_json(&report)
    } else {
        print(&page(&report, &plan.out, arguments.page))
    }
}

fn write(
    plan: &StudyPlan,
    report: &Report,
    fields: &[String],
    drawn: &[Drawn],
) -> Result<(), Box<dyn std::error::Error>> {
    let mut json = serde_json::to_vec_pretty(report)?;
    json.push(b'\n');
    files::write_whole(&plan.out.join("weight.json"), &json)?;
    files::write_whole(
        &plan.out.join("weight-parts.csv"),
        &parts_table(&report.parts)?,
    )?;
    files::write_whole(
        &plan.out.join("weight-draws.csv"),
        &draws_table(fields, drawn)?,
    )?;
    Ok(())
}

fn cell(value: Option<f64>) -> String {
    value.map_or_else(String::new, |value| value.to_string())
}

/// A row for each part.
fn parts_table(parts: &[PartRow]) -> Result<Vec<u8>, Box<dyn std::error::Error>> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record([
        "part",
        "mass_g",
        "share_fraction",
        "station_mm",
        "taken_g",
        "balance_moves_aft_mm",
        "balance_moves_up_mm",
        "static_margin_change_fraction",
        "aimed_through_change_deg",
        "lever_arm_change_mm",
        "ballast_saved_per_gram",
        "saved_in_all_per_gram",
        "to_level_g",
        "part_has_it",
    ])?;
    for row in parts {
        let ballast = row.with_ballast;
        let of = |f: fn(scenarios::thrustline::weight::Ballast) -> Option<f64>| {
            cell(ballast.and_then(f))
        };
        writer.write_record([
            row.part.clone(),
            row.mass_g.to_string(),
            row.share_fraction.to_string(),
            row.station_mm.to_string(),
            row.taken_g.to_string(),
            row.balance_moves_aft_mm.to_string(),
            row.balance_moves_up_mm.to_string(),
            row.static_margin_change_fraction.to_string(),
            cell(row.aimed_through_change_deg),
            cell(row.lever_arm_change_mm),
            of(|b| Some(b.saved_per_gram)),
            of(|b| Some(b.saved_in_all_per_gram)),
            of(|b| b.to_level_g),
            ballast
                .and_then(|b| b.part_has_it)
                .map_or_else(String::new, |has| has.to_string()),
        ])?;
    }
    Ok(writer.into_inner()?)
}

/// A row for each drawn airframe, inputs beside outputs.
fn draws_table(fields: &[String], drawn: &[Drawn]) -> Result<Vec<u8>, Box<dyn std::error::Error>> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let outputs = [
        "bent_after_test_glides_deg",
        "mass_g",
        "tab_re_set_g",
        "as_set_g",
        "as_set_not_found",
    ];
    let head = std::iter::once("sample".to_owned()).chain(fields.iter().cloned());
    writer.write_record(head.chain(outputs.map(str::to_owned)))?;
    for one in drawn {
        let mut row = vec![one.flight.sample.to_string()];
        row.extend(one.flight.values.iter().map(f64::to_string));
        match &one.result {
            Ok(draw) => row.extend([
                cell(draw.bend_deg),
                draw.mass_g.to_string(),
                cell(draw.tab_re_set_g),
                cell(draw.as_set_g),
                draw.as_set_not_found.clone().unwrap_or_default(),
            ]),
            Err(reason) => {
                row.extend(std::iter::repeat_n(String::new(), outputs.len() - 1));
                row.push(reason.clone());
            }
        }
        writer.write_record(row)?;
    }
    Ok(writer.into_inner()?)
}
