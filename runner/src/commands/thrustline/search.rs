//! From flights to an answer: the choosing pass, the stating pass, and what to do where no angle helps.

use super::counting::Counting;
use super::passes::{Flown, Flyer, Pass};
use super::setting::{Hold, SettingShare, setting_share};
use scenarios::error::FileError;
use scenarios::overrides::{Change, Override};
use scenarios::study::LoadedStudy;
use scenarios::study::file::{ChangeWord, Condition, ScatteredField};
use scenarios::study::judge::Share;
use scenarios::study::scatter::quantile;
use scenarios::summary::{Cell, Summary};
use scenarios::thrustline::change::{Kind, candidates, disc_cuts_a_surface};
use scenarios::thrustline::power::steady_refusal;
use scenarios::thrustline::window::{
    AtAngle, Wanted, Window, best_angle_deg, most_promising, refined, stretch, window,
};
use serde::Serialize;
use serde_json::Value;

/// To what the ends of the chosen stretch are refined, deg.
const RESOLUTION_DEG: f64 = 0.5;
/// Rounds of looking round the most promising angle where none holds.
const ROUNDS_WITHOUT: usize = 2;
/// Flights of the stating pass over those of the choosing pass: at the best angle, elsewhere.
const STATING: [u32; 2] = [8, 2];
/// Share of the band draws that must agree.
const AGREE: f64 = 0.875;
/// How far from the angle spoken of it is flown with left and right alike, deg.
const STRAIGHT_WITHIN_DEG: f64 = 8.0;
/// What is said to be changed in those flights.
const ALIKE: &str = "left and right alike";
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
    /// Whether it is the smallest of its kind that meets all.
    pub is_least: bool,
    /// Conditions met by the unscattered airframe wherever they are asked.
    pub conditions_met: usize,
    /// Of how many.
    pub of: usize,
    /// Names of those it does not meet.
    pub not_met: Vec<String>,
    /// Lowest clearance after the step among its flights, m.
    pub lowest_m: Option<f64>,
    /// Largest nose drop against the twin among them, deg.
    pub largest_drop_deg: Option<f64>,
    /// Least sustained climb among them, m/s.
    pub least_climb_m_s: Option<f64>,
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

/// One draw of what is not known.
#[derive(Clone, Debug, Serialize)]
pub struct BandDraw {
    /// Its number, from 0.
    pub draw: usize,
    /// Its flights at the angle spoken of.
    pub at: AtAngle,
    /// Whether what was counted reaches all that is asked.
    pub is_good: bool,
    /// Whether an interval lies below what is asked.
    pub is_bad: bool,
}

/// Share of the flights that meet each condition.
pub type Conditions = Vec<(String, Share)>;

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
    /// With what it can be held, and what setting it so comes to.
    pub hold: Option<(Hold, Option<SettingShare>)>,
    /// The flights at the angle spoken of.
    pub spoken_of: Option<AtAngle>,
    /// Share of the flights at the angle spoken of that meet each condition, of those that are asked it.
    pub conditions: Conditions,
    /// The angle the conditions are counted at.
    pub spoken_of_deg: f64,
    /// Whether the unscattered airframe meets all conditions at some angle.
    pub holds_as_drawn: bool,
    /// Angles near the one spoken of with left and right alike, where there is no window.
    pub straight: Vec<AtAngle>,
    /// Draws of what is not known, at the angle spoken of.
    pub bands: Vec<BandDraw>,
    /// Other changes, where no angle is stated.
    pub tried: Vec<Tried>,
    /// What spreads the answer, where it cannot be told.
    pub contributions: Vec<Contribution>,
}

/// What is searched: a study, what is asked, and what was changed before.
pub struct Search<'a> {
    /// What flies.
    pub flyer: &'a Flyer<'a>,
    /// The study.
    pub study: &'a LoadedStudy,
    /// What is asked of an angle.
    pub wanted: Wanted,
    /// What was changed for all of it.
    pub changed: &'a str,
    /// Whether other changes are flown whatever the answer.
    pub always_other_changes: bool,
}

/// Looks for the answer; none when stopped.
///
/// # Errors
/// [`FileError`] of a change that cannot be.
pub fn search(ask: &Search<'_>) -> Result<Option<Found>, FileError> {
    let Search {
        flyer,
        study,
        wanted,
        changed,
        ..
    } = ask;
    let stopped = || flyer.stop.load(std::sync::atomic::Ordering::Relaxed);
    let counts = Counting::of(study);
    let mut grid = study.first_axis_values();
    grid.sort_by(f64::total_cmp);
    grid.dedup();
    let bare = |angles: &[f64]| {
        let list: Vec<_> = angles
            .iter()
            .map(|&angle| (angle, (*changed).to_owned(), Vec::new()))
            .collect();
        flyer.unscattered(study, &list, None)
    };
    let mut flights = bare(&grid);
    let mut next = grid;
    let mut rounds_without = 0;
    while !next.is_empty() && !stopped() {
        let pass = Pass::choose(study.file.flights);
        flights.extend(flyer.scattered(study, &next, pass, changed));
        let chosen = counts.of_pass(&flights, "choose");
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
    let chosen = counts.of_pass(&flights, "choose");
    let (mut best, mut stated, mut found_window) = (None, Vec::new(), None);
    if let Some(run) = stretch(&chosen, wanted) {
        let run = &chosen[run];
        best = best_angle_deg(run, wanted);
        for angle in stating_angles(run, best) {
            let times = if Some(angle) == best {
                STATING[0]
            } else {
                STATING[1]
            };
            let pass = Pass::state(study.file.flights.saturating_mul(times));
            flights.extend(flyer.scattered(study, &[angle], pass, changed));
        }
        stated = counts.of_pass(&flights, "state");
        found_window = best.and_then(|best| window(&stated, best, wanted));
    } else if let Some(at) = most_promising(&chosen) {
        flights.extend(bare(&[chosen[at].angle_deg]));
    }
    let holds_as_drawn = chosen.iter().chain(&stated).any(|at| {
        let drawn = |one: &&Flown| one.pass == "unscattered" && one.angle_deg == at.angle_deg;
        let mut here = flights.iter().filter(drawn).peekable();
        at.refused.is_none() && here.peek().is_some() && here.all(|one| counts.meets_all(one))
    });
    let promising = most_promising(&chosen).map_or(0.0, |i| chosen[i].angle_deg);
    let (pass, spoken_of_deg) = match best {
        Some(best) => ("state", best),
        None => ("choose", promising),
    };
    if found_window.is_none() {
        let near = chosen.iter().map(|at| at.angle_deg);
        let near = near.filter(|angle| (angle - spoken_of_deg).abs() <= STRAIGHT_WITHIN_DEG);
        let pass = Pass {
            name: "straight",
            straight: true,
            ..Pass::choose(study.file.flights)
        };
        let words = match *changed {
            "" => ALIKE.to_owned(),
            changed => format!("{changed}, {ALIKE}"),
        };
        flights.extend(flyer.scattered(study, &near.collect::<Vec<f64>>(), pass, &words));
    }
    let straight = counts.of_pass(&flights, "straight");
    let bands = band_pass(ask, &counts, spoken_of_deg, &mut flights)?;
    let least = (AGREE * bands.len() as f64).ceil() as usize;
    let bad = bands.iter().filter(|draw| draw.is_bad).count();
    let verdict = match found_window {
        Some(_) if bands.len() - bad >= least => Verdict::Angle,
        None if !holds_as_drawn && bad >= least && chosen.iter().all(|at| at.is_bad(wanted)) => {
            Verdict::NoAngle
        }
        _ => Verdict::CannotTell,
    };
    let hold = match (best, &found_window) {
        (Some(best), Some(window)) => Some(setting_share(ask, &counts, best, window, &mut flights)),
        _ => None,
    };
    let spoken_of = counts
        .of_pass(&flights, pass)
        .into_iter()
        .find(|at| at.angle_deg == spoken_of_deg);
    let here: Vec<&Flown> = flights
        .iter()
        .filter(|one| one.pass == pass && one.angle_deg == spoken_of_deg)
        .collect();
    let conditions = counts.conditions(&here);
    let weakest = spoken_of
        .as_ref()
        .and_then(weakest_circumstance)
        .unwrap_or(0);
    let there = here.into_iter().filter(|one| one.circumstance == weakest);
    let weakest_condition = counts.weakest_condition(&there.collect::<Vec<&Flown>>());
    let tried = match verdict != Verdict::Angle || ask.always_other_changes {
        true => other_changes(ask, &mut flights)?,
        false => Vec::new(),
    };
    let contributions = match verdict {
        Verdict::CannotTell => match weakest_condition {
            Some(condition) => contributions(ask, condition, spoken_of_deg, weakest, &mut flights),
            None => Vec::new(),
        },
        _ => Vec::new(),
    };
    Ok((!stopped()).then_some(Found {
        flights,
        chosen,
        stated,
        verdict,
        best_deg: best.filter(|_| found_window.is_some()),
        window: found_window,
        hold,
        spoken_of,
        conditions,
        spoken_of_deg,
        holds_as_drawn,
        straight,
        bands,
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

/// Flies the draws of what is not known at one angle.
fn band_pass(
    ask: &Search<'_>,
    counts: &Counting<'_>,
    angle_deg: f64,
    flights: &mut Vec<Flown>,
) -> Result<Vec<BandDraw>, FileError> {
    let each = ask
        .study
        .file
        .bands
        .as_ref()
        .map_or(0, |bands| bands.flights);
    let mut list = Vec::new();
    for (draw, overrides) in ask.study.band_draws().iter().enumerate() {
        let study = ask.study.with_base_changed(overrides)?;
        let changed = format!("{} band draw {draw}", ask.changed)
            .trim_start()
            .to_owned();
        let pass = Pass {
            name: "band",
            ..Pass::state(each)
        };
        let flown = ask.flyer.scattered(&study, &[angle_deg], pass, &changed);
        let here: Vec<&Flown> = flown.iter().collect();
        let at = AtAngle {
            refused: steady_refusal(&study, angle_deg)?,
            ..counts.at(angle_deg, &here)
        };
        flights.extend(flown);
        list.push(BandDraw {
            draw,
            is_good: at.reaches(&ask.wanted),
            is_bad: at.is_bad(&ask.wanted),
            at,
        });
    }
    Ok(list)
}

/// What else could be done, flown without scatter at the file's own angle.
fn other_changes(ask: &Search<'_>, flights: &mut Vec<Flown>) -> Result<Vec<Tried>, FileError> {
    let (flyer, study) = (ask.flyer, ask.study);
    let own = own_angle_deg(study);
    let conditions = &study.file.conditions;
    let counted: Vec<usize> = (0..conditions.len())
        .filter(|&i| conditions[i].counts)
        .collect();
    let mut tried: Vec<Tried> = Vec::new();
    for candidate in candidates(&study.base) {
        let Ok(changed) = study.with_base_changed(&candidate.overrides) else {
            continue;
        };
        if candidate.kind == Kind::Height && disc_cuts_a_surface(&changed.base) {
            continue;
        }
        let refused = steady_refusal(&changed, own)?;
        let list = [(own, candidate.words.clone(), candidate.overrides)];
        let flown = flyer.unscattered(study, &list, None);
        let met = |i: usize| {
            !flown.is_empty() && flown.iter().all(|one| one.result.is_ok() && one.met[i])
        };
        let mut not_met: Vec<String> = counted
            .iter()
            .filter(|&&i| !met(i))
            .map(|&i| conditions[i].name.clone())
            .collect();
        let asked = counted.len() + usize::from(study.file.steady_at_full_throttle.is_some());
        not_met.extend(refused);
        let all = |f: fn(&Summary) -> Option<f64>| -> Vec<f64> {
            let summaries = flown.iter().filter_map(|one| one.result.as_ref().ok());
            summaries.filter_map(f).collect()
        };
        let least = |list: Vec<f64>| list.into_iter().reduce(f64::min);
        let works = not_met.is_empty();
        // Candidates come from small to large within a kind.
        let first = !tried
            .iter()
            .any(|other| other.kind == candidate.kind && other.is_least);
        tried.push(Tried {
            kind: candidate.kind,
            change: candidate.words,
            is_least: works && first,
            conditions_met: asked - not_met.len(),
            of: asked,
            not_met,
            lowest_m: least(all(|s| s.minimum_altitude_m)),
            largest_drop_deg: all(|s| s.pitch_down_under_power_deg)
                .into_iter()
                .reduce(f64::max),
            least_climb_m_s: least(all(|s| s.sustained_climb_m_s)),
        });
        flights.extend(flown);
    }
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
    ask: &Search<'_>,
    condition: &Condition,
    angle_deg: f64,
    circumstance: usize,
    flights: &mut Vec<Flown>,
) -> Vec<Contribution> {
    let (flyer, study) = (ask.flyer, ask.study);
    let bands = study.file.bands.iter().flat_map(|bands| &bands.fields);
    let fields: Vec<&ScatteredField> = study.file.scatter.fields.iter().chain(bands).collect();
    let at = |moved: usize, u: f64| -> Vec<Override> {
        let value =
            |i: usize, field: &ScatteredField| quantile(field, if i == moved { u } else { 0.5 });
        fields
            .iter()
            .enumerate()
            .map(|(i, field)| Override {
                path: field.field().to_owned(),
                change: match field.change() {
                    // A seed is a count, which no whole-number field takes as 7.0.
                    ChangeWord::Set if matches!(field, ScatteredField::WholeNumber(_)) => {
                        Change::Set(Value::from(value(i, field) as u64))
                    }
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
    let flown = flyer.unscattered(study, &list, Some(circumstance));
    // A stalled time is 0 on one side of stall; what leads there is incidence.
    let name = match condition.column.as_str() {
        "stalled_time_s" | "longest_stall_after_step_s" => "alpha_max_deg",
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

/// The circumstance in which the smallest share of the flights at an angle meets all.
fn weakest_circumstance(at: &AtAngle) -> Option<usize> {
    (0..at.each.len()).min_by_key(|&i| at.each[i].count)
}
