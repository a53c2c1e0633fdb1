//! From flights to an answer: the choosing pass, the stating pass, and what to do where no angle helps.

use super::passes::{Flown, Flyer};
use scenarios::error::FileError;
use scenarios::overrides::{Change, Override};
use scenarios::study::file::{ChangeWord, Condition, ScatteredField};
use scenarios::study::judge::Share;
use scenarios::study::scatter::quantile;
use scenarios::study::{LoadedStudy, Purpose};
use scenarios::summary::{Cell, Summary};
use scenarios::thrustline::change::{Kind, candidates, disc_cuts_a_surface};
use scenarios::thrustline::window::{
    AtAngle, Window, best_angle_deg, most_promising, refined, stretch, window,
};
use serde::Serialize;
use serde_json::Value;

/// To what the ends of the chosen stretch are refined, deg.
const RESOLUTION_DEG: f64 = 0.5;
/// Rounds of looking round the most promising angle where none holds.
const ROUNDS_WITHOUT: usize = 2;
/// The percentiles a field is moved to, one standard deviation of a normal one.
const PERCENTILES: [f64; 2] = [0.158_655_254, 0.841_344_746];

/// What the flights say.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// There is a window of angles.
    Angle,
    /// No angle does it.
    NoAngle,
    /// Too little is known to say.
    CannotTell,
}

/// A change tried in the place of an angle.
#[derive(Clone, Debug, Serialize)]
pub struct Tried {
    /// Kind of change.
    pub kind: Kind,
    /// What was done.
    pub change: String,
    /// Conditions met by the unscattered airframe.
    pub conditions_met: usize,
    /// Of how many.
    pub of: usize,
    /// Names of those it does not meet.
    pub not_met: Vec<String>,
}

/// How much one scattered field moves the condition that fewest flights meet.
#[derive(Clone, Debug, Serialize)]
pub struct Contribution {
    /// The field.
    pub field: String,
    /// The column it moves.
    pub column: String,
    /// Half the difference between its 84th and 16th percentile, in the column's unit.
    pub half_difference: f64,
    /// Share of the sum of squares.
    pub share_fraction: f64,
}

/// What came out.
pub struct Found {
    /// Every flight.
    pub flights: Vec<Flown>,
    /// The angles as chosen.
    pub chosen: Vec<AtAngle>,
    /// The angles as stated.
    pub stated: Vec<AtAngle>,
    /// The answer.
    pub verdict: Verdict,
    /// The best angle.
    pub best_deg: Option<f64>,
    /// The window.
    pub window: Option<Window>,
    /// Share of the flights at the angle spoken of that meet each condition.
    pub conditions: Vec<(String, Share)>,
    /// The angle the conditions are counted at.
    pub spoken_of_deg: f64,
    /// Whether the unscattered airframe meets all conditions at some angle.
    pub holds_as_drawn: bool,
    /// Other changes, where no angle does it.
    pub tried: Vec<Tried>,
    /// What spreads the answer, where it cannot be told.
    pub contributions: Vec<Contribution>,
}

/// Looks for the answer; none when stopped.
pub fn search(
    flyer: &Flyer<'_>,
    study: &LoadedStudy,
    wanted: f64,
    changed: &str,
) -> Result<Option<Found>, FileError> {
    let stopped = || flyer.stop.load(std::sync::atomic::Ordering::Relaxed);
    let confidence = study.file.confidence_fraction;
    let choosing = study.file.flights.div_ceil(2);
    let mut grid = study.first_axis_values();
    grid.sort_by(f64::total_cmp);
    grid.dedup();
    let bare: Vec<_> = grid
        .iter()
        .map(|&angle| (angle, changed.to_owned(), Vec::new()))
        .collect();
    let mut flights = flyer.unscattered(study, &bare);
    let mut holds_as_drawn = flights.iter().any(Flown::meets_all);

    let of_pass = |flights: &[Flown], pass: &str| {
        let these: Vec<&Flown> = flights.iter().filter(|one| one.pass == pass).collect();
        counted(&these, confidence)
    };
    let mut next = grid;
    let mut rounds_without = 0;
    while !next.is_empty() && !stopped() {
        flights.extend(flyer.scattered(study, &next, choosing, Purpose::Choose, changed));
        let chosen = of_pass(&flights, "choose");
        if stretch(&chosen, wanted).is_none() {
            rounds_without += 1;
        }
        next = if rounds_without > ROUNDS_WITHOUT {
            Vec::new()
        } else {
            refined(&chosen, wanted, RESOLUTION_DEG)
        };
    }
    if stopped() {
        return Ok(None);
    }
    let chosen = of_pass(&flights, "choose");
    let (mut best, mut stated, mut found_window) = (None, Vec::new(), None);
    if let Some(run) = stretch(&chosen, wanted) {
        let run = &chosen[run];
        best = best_angle_deg(run, wanted);
        let angles = stating_angles(run, best);
        flights.extend(flyer.scattered(
            study,
            &angles,
            study.file.flights,
            Purpose::State,
            changed,
        ));
        stated = of_pass(&flights, "state");
        found_window = best.and_then(|best| window(&stated, best, wanted));
    } else if let Some(at) = most_promising(&chosen) {
        let one = vec![(chosen[at].angle_deg, changed.to_owned(), Vec::new())];
        let as_drawn = flyer.unscattered(study, &one);
        holds_as_drawn |= as_drawn.iter().any(Flown::meets_all);
        flights.extend(as_drawn);
    }
    let hopeless = chosen.iter().all(|at| at.meets.high_fraction < wanted);
    let verdict = match found_window {
        Some(_) => Verdict::Angle,
        None if !holds_as_drawn && hopeless => Verdict::NoAngle,
        None => Verdict::CannotTell,
    };
    let promising = most_promising(&chosen).map_or(0.0, |i| chosen[i].angle_deg);
    let (pass, spoken_of_deg) = match best {
        Some(best) => ("state", best),
        None => ("choose", promising),
    };
    let here: Vec<&Flown> = flights
        .iter()
        .filter(|one| one.pass == pass && one.angle_deg == spoken_of_deg)
        .collect();
    let conditions: Vec<(String, Share)> = study
        .file
        .conditions
        .iter()
        .enumerate()
        .map(|(i, condition)| {
            let count = here.iter().filter(|one| one.met[i]).count() as u64;
            (
                condition.name.clone(),
                Share::new(count, here.len() as u64, confidence),
            )
        })
        .collect();
    let tried = match verdict {
        Verdict::NoAngle => other_changes(flyer, study, &mut flights)?,
        _ => Vec::new(),
    };
    let weakest = (0..conditions.len()).min_by_key(|&i| conditions[i].1.count);
    let contributions = match (verdict, weakest) {
        (Verdict::CannotTell, Some(i)) => {
            let condition = &study.file.conditions[i];
            contributions(flyer, study, condition, spoken_of_deg, &mut flights)
        }
        _ => Vec::new(),
    };
    Ok((!stopped()).then_some(Found {
        flights,
        chosen,
        stated,
        verdict,
        best_deg: best.filter(|_| found_window.is_some()),
        window: found_window,
        conditions,
        spoken_of_deg,
        holds_as_drawn,
        tried,
        contributions,
    }))
}

/// Ends, best angle, and the middles between.
fn stating_angles(run: &[AtAngle], best: Option<f64>) -> Vec<f64> {
    let (Some(low), Some(high)) = (run.first(), run.last()) else {
        return Vec::new();
    };
    let (low, high) = (low.angle_deg, high.angle_deg);
    let best = best.unwrap_or(0.5 * (low + high));
    let rounded = |x: f64| (x * 100.0).round() / 100.0;
    let mut angles = vec![
        low,
        rounded(0.5 * (low + best)),
        best,
        rounded(0.5 * (best + high)),
        high,
    ];
    angles.sort_by(f64::total_cmp);
    angles.dedup();
    angles
}

/// What else could be done, flown without scatter at the file's own angle and at the most promising ones.
fn other_changes(
    flyer: &Flyer<'_>,
    study: &LoadedStudy,
    flights: &mut Vec<Flown>,
) -> Result<Vec<Tried>, FileError> {
    let mut list = Vec::new();
    let mut kinds = Vec::new();
    let own = own_angle_deg(study);
    for candidate in candidates(&study.base) {
        let Ok(changed) = study.base.changed_by(&candidate.overrides) else {
            continue;
        };
        if candidate.kind == Kind::Height && disc_cuts_a_surface(&changed) {
            continue;
        }
        kinds.push(candidate.kind);
        list.push((own, candidate.words, candidate.overrides));
    }
    let flown = flyer.unscattered(study, &list);
    let names = &study.file.conditions;
    let tried = kinds
        .into_iter()
        .zip(&flown)
        .map(|(kind, one)| Tried {
            kind,
            change: one.changed.clone(),
            conditions_met: one.met.iter().filter(|met| **met).count(),
            of: one.met.len(),
            not_met: names
                .iter()
                .zip(&one.met)
                .filter(|(_, met)| !**met)
                .map(|(condition, _)| condition.name.clone())
                .collect(),
        })
        .collect();
    flights.extend(flown);
    Ok(tried)
}

/// The value the axis's field has in the scenario itself; 0 where it is not one of the motors'.
pub fn own_angle_deg(study: &LoadedStudy) -> f64 {
    let motors = &study.base.airframe.file.motors;
    let field = study
        .file
        .axes
        .first()
        .map_or("", |axis| axis.field.as_str());
    let change = study
        .file
        .axes
        .first()
        .map_or(ChangeWord::Set, |axis| axis.change);
    match (field.ends_with("thrust_elevation_deg"), change) {
        (true, ChangeWord::Set) => motors
            .first()
            .map_or(0.0, |motor| motor.thrust_elevation_deg),
        (_, ChangeWord::Multiply) => 1.0,
        _ => 0.0,
    }
}

fn contributions(
    flyer: &Flyer<'_>,
    study: &LoadedStudy,
    condition: &Condition,
    angle_deg: f64,
    flights: &mut Vec<Flown>,
) -> Vec<Contribution> {
    let fields = &study.file.scatter.fields;
    let at = |moved: usize, u: f64| -> Vec<Override> {
        let value =
            |i: usize, field: &ScatteredField| quantile(field, if i == moved { u } else { 0.5 });
        fields
            .iter()
            .enumerate()
            .map(|(i, field)| Override {
                path: field.field().to_owned(),
                change: match field.change() {
                    ChangeWord::Set => Change::Set(Value::from(value(i, field))),
                    ChangeWord::Add => Change::Add(value(i, field)),
                    ChangeWord::Multiply => Change::Multiply(value(i, field)),
                },
                file: study.file.name.clone(),
                line: None,
            })
            .collect()
    };
    let list: Vec<(f64, String, Vec<Override>)> = fields
        .iter()
        .enumerate()
        .flat_map(|(i, field)| {
            PERCENTILES.map(|u| {
                (
                    angle_deg,
                    format!("{} at {:.0} %", field.field(), 100.0 * u),
                    at(i, u),
                )
            })
        })
        .collect();
    let flown = flyer.unscattered(study, &list);
    // The stalled time is 0 on one side of stall; what leads there is incidence.
    let name = match condition.column.as_str() {
        "stalled_time_s" => "alpha_max_deg",
        other => other,
    };
    let columns = Summary::columns();
    let place = columns.iter().position(|column| column.name == name);
    let number = |one: &Flown| match (place, &one.result) {
        (Some(place), Ok(summary)) => match summary.row().swap_remove(place) {
            Cell::Number(value) => Some(value),
            _ => None,
        },
        _ => None,
    };
    let halves: Vec<f64> = flown
        .chunks(2)
        .map(|pair| match pair {
            [low, high] => number(low)
                .zip(number(high))
                .map_or(0.0, |(a, b)| 0.5 * (b - a)),
            _ => 0.0,
        })
        .collect();
    flights.extend(flown);
    let sum: f64 = halves.iter().map(|half| half * half).sum();
    let mut list: Vec<Contribution> = fields
        .iter()
        .zip(halves)
        .map(|(field, half)| Contribution {
            field: field.field().to_owned(),
            column: name.to_owned(),
            half_difference: half,
            share_fraction: if sum > 0.0 { half * half / sum } else { 0.0 },
        })
        .collect();
    list.sort_by(|a, b| b.share_fraction.total_cmp(&a.share_fraction));
    list
}

/// Flights counted angle by angle, angles rising.
fn counted(flown: &[&Flown], confidence_fraction: f64) -> Vec<AtAngle> {
    let mut angles: Vec<f64> = flown.iter().map(|one| one.angle_deg).collect();
    angles.sort_by(f64::total_cmp);
    angles.dedup();
    angles
        .into_iter()
        .map(|angle_deg| {
            let here = flown.iter().filter(|one| one.angle_deg == angle_deg);
            let of = here.clone().count() as u64;
            let count = here.filter(|one| one.meets_all()).count() as u64;
            AtAngle {
                angle_deg,
                meets: Share::new(count, of, confidence_fraction),
            }
        })
        .collect()
}
