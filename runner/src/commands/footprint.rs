//! `tossline footprint`.

mod page;

use super::report::{Kind, at_the_end};
use crate::args::FootprintArguments;
use crate::exit::Outcome;
use crate::output::map::{self, Ground, Map};
use crate::output::{CAUTION, complain, files, print, print_json, warn};
use crate::plan::{PlanError, StudyPlan, engine};
use crate::work::{each_flight, stop_on_interrupt};
use page::{legend, page, plain_words};
use scenarios::footprint::{Cloud, ZoneShare, cut_moments_s, has_power, with_power_cut};
use scenarios::study::PlannedFlight;
use scenarios::study::judge::{ConditionShare, Share, meets_at};
use scenarios::summary::{EndWord, Summary, fly_with_twin, summarise, touched};
use serde::Serialize;
use sim_core::flight::End;
use sim_core::site::PlanPoint;
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::atomic::Ordering;

/// A throw flown again with the power cut.
#[derive(Clone, Debug)]
struct Cut {
    at_s: f64,
    touched: String,
    place: PlanPoint,
    on_ground: bool,
    zones: Vec<bool>,
}

/// A throw flown, or why it could not start.
struct Flown {
    flight: PlannedFlight,
    result: Result<(Summary, Vec<bool>), String>,
    cuts: Vec<Cut>,
    has_power: bool,
}

impl Flown {
    fn summary(&self) -> Option<&Summary> {
        self.result.as_ref().ok().map(|(summary, _)| summary)
    }

    fn landing(&self) -> Option<PlanPoint> {
        let summary = self.summary()?;
        (summary.ended_by == EndWord::Ground)
            .then_some(PlanPoint::new(summary.end_north_m?, summary.end_east_m?))
    }
}

#[derive(Debug, Serialize)]
struct Report {
    study: String,
    #[serde(skip_serializing_if = "String::is_empty")]
    note: String,
    in_plain_words: String,
    scenario: String,
    airframe: String,
    tossline_version: &'static str,
    inputs_sha256: String,
    engine: String,
    seed: u32,
    throws: u64,
    could_not_start: u64,
    first_reason: Option<String>,
    ends: BTreeMap<String, u64>,
    confidence_fraction: f64,
    landings: Option<Cloud>,
    zones: Vec<ZoneShare>,
    power_cut_moments: u32,
    power_cut_landings: Option<Cloud>,
    conditions: Vec<ConditionShare>,
    /// What the map shows under the throws.
    ground: Ground,
    warnings: Vec<String>,
    caution: &'static str,
}

/// Flies a study and says where its throws come down.
pub fn run(arguments: &FootprintArguments) -> Outcome {
    let coverage = arguments.coverage_fraction;
    if !(coverage > 0.0 && coverage < 1.0) {
        let text = format!("--coverage-fraction: found {coverage}, wanted over 0 and under 1");
        return complain(&text, Outcome::BadInput);
    }
    let plan = match StudyPlan::new(&arguments.study, &arguments.out, &arguments.overrides) {
        Ok(plan) => plan,
        Err(error @ PlanError::CannotWrite(_)) => return complain(&error, Outcome::CannotWrite),
        Err(error) => return complain(&error, Outcome::BadInput),
    };
    if !plan.study.file.axes.is_empty() {
        let text = format!(
            "{}: axes: found {} axes, wanted none: a footprint is that of one point; set the field with --set",
            arguments.study.display(),
            plan.study.file.axes.len()
        );
        return complain(&text, Outcome::BadInput);
    }
    let warnings = &plan.study.base.warnings();
    warnings.iter().for_each(|warning| warn(warning));

    let stop = stop_on_interrupt("throws");
    let flown = each_flight(&plan.flights, arguments.flying.threads, &stop, |flight| {
        fly(&plan, flight, arguments.cut_moments)
    });
    if stop.load(Ordering::Relaxed) {
        return complain(&"stopped; nothing was written", Outcome::Stopped);
    }
    let flown: Vec<Flown> = flown.into_iter().flatten().collect();
    let report = sum_up(&plan, arguments, &flown);
    if let Err(error) = write(&plan, &flown, &report) {
        return complain(&error, Outcome::CannotWrite);
    }
    if let Err(error) = at_the_end(Kind::Footprint, &plan.out, &arguments.page) {
        return complain(&error, error.outcome());
    }
    let shown = if arguments.json {
        print_json(&report)
    } else {
        print(&page(&plan, &report, arguments.page))
    };
    let failed =
        report.conditions.iter().any(ConditionShare::fails) || report.ends.contains_key("failed");
    match shown {
        Outcome::Done if failed => Outcome::FlightFailed,
        shown => shown,
    }
}

/// Flies one throw, and again with every power cut.
fn fly(plan: &StudyPlan, flight: &PlannedFlight, cut_moments: u32) -> Flown {
    let mut flown = Flown {
        flight: flight.clone(),
        result: Err(String::new()),
        cuts: Vec::new(),
        has_power: false,
    };
    let scenario = match plan.study.scenario(flight) {
        Ok(scenario) => scenario,
        Err(error) => {
            flown.result = Err(error.to_string());
            return flown;
        }
    };
    let built = &scenario.built;
    let (first, twin) = match fly_with_twin(&built.throw, &built.summary) {
        Ok(flights) => flights,
        Err(error) => {
            flown.result = Err(error.to_string());
            return flown;
        }
    };
    let summary = summarise(&first, twin.as_ref(), &built.summary);
    let conditions = plan.study.file.conditions.iter();
    let met: Vec<bool> = conditions
        .map(|c| meets_at(c, &flight.names, &summary))
        .collect();
    flown.result = Ok((summary, met));
    flown.has_power = has_power(&built.throw);
    if !flown.has_power {
        return flown;
    }
    for at_s in cut_moments_s(first.end_time_s, cut_moments) {
        let Ok(cut) = with_power_cut(&built.throw, at_s).fly() else {
            continue;
        };
        let place = cut.state_at(cut.end_time_s).position.xy();
        let on_ground = cut.end == End::Ground;
        let zones = built.throw.site.zones.iter();
        flown.cuts.push(Cut {
            at_s,
            touched: touched(&cut).map_or_else(|| "nothing".to_owned(), Cow::into_owned),
            place,
            on_ground,
            zones: zones.map(|zone| on_ground && zone.holds(&place)).collect(),
        });
    }
    flown
}

fn sum_up(plan: &StudyPlan, arguments: &FootprintArguments, flown: &[Flown]) -> Report {
    let file = &plan.study.file;
    let base = &plan.study.base;
    let zones = &base.built.throw.site.zones;
    let of = flown.len() as u64;
    let share = |count: usize| Share::new(count as u64, of, file.confidence_fraction);
    let moments = if flown.iter().any(|one| one.has_power) {
        arguments.cut_moments
    } else {
        0
    };
    let landings: Vec<PlanPoint> = flown.iter().filter_map(Flown::landing).collect();
    let cut_landings = cut_places(flown);
    let mut ends: BTreeMap<String, u64> = BTreeMap::new();
    for summary in flown.iter().filter_map(Flown::summary) {
        let word = summary
            .touched
            .clone()
            .map(Cow::into_owned)
            .unwrap_or_else(|| match summary.ended_by {
                EndWord::Failed => "failed".to_owned(),
                EndWord::CellEmpty => "cell empty in the air".to_owned(),
                _ => "in the air at the time limit".to_owned(),
            });
        *ends.entry(word).or_default() += 1;
    }
    let lands =
        |zone: usize, one: &&Flown| one.landing().is_some_and(|place| zones[zone].holds(&place));
    let reason = |one: &Flown| one.result.as_ref().err().cloned();
    let any = |hit: &dyn Fn(usize, &&Flown) -> bool| {
        let hits = |one: &&Flown| (0..zones.len()).any(|z| hit(z, one));
        share(flown.iter().filter(hits).count())
    };
    let cut_hits = |zone: usize, one: &&Flown| one.cuts.iter().any(|cut| cut.zones[zone]);
    let mut shares: Vec<ZoneShare> = zones
        .iter()
        .enumerate()
        .map(|(z, zone)| ZoneShare {
            zone: zone.name.clone(),
            kind: zone.kind.clone(),
            lands: share(flown.iter().filter(|one| lands(z, one)).count()),
            lands_after_power_cut: (moments > 0)
                .then(|| share(flown.iter().filter(|one| cut_hits(z, one)).count())),
        })
        .collect();
    if zones.len() > 1 {
        shares.push(ZoneShare {
            zone: "any of them".to_owned(),
            kind: String::new(),
            lands: any(&lands),
            lands_after_power_cut: (moments > 0).then(|| any(&cut_hits)),
        });
    }
    let conditions = file.conditions.iter().enumerate().map(|(i, condition)| {
        let met = |one: &&Flown| one.result.as_ref().is_ok_and(|(_, met)| met[i]);
        ConditionShare::new(condition, share(flown.iter().filter(met).count()))
    });
    let asked = format!("{moments} {}", arguments.coverage_fraction);
    let throw = &base.built.throw;
    let mut report = Report {
        study: file.name.clone(),
        note: file.note.clone(),
        in_plain_words: String::new(),
        scenario: base.file.name.clone(),
        airframe: base.airframe.file.name.clone(),
        tossline_version: env!("CARGO_PKG_VERSION"),
        inputs_sha256: plan.inputs_sha256(&asked),
        engine: engine(base),
        seed: file.seed,
        throws: of,
        could_not_start: flown.iter().filter_map(reason).count() as u64,
        first_reason: flown.iter().find_map(reason),
        ends,
        confidence_fraction: file.confidence_fraction,
        landings: Cloud::of(&landings, arguments.coverage_fraction),
        zones: shares,
        power_cut_moments: moments,
        power_cut_landings: Cloud::of(&cut_landings, arguments.coverage_fraction),
        conditions: conditions.collect(),
        ground: Ground::new(
            &throw.site,
            throw.air.mean_wind.xy(),
            throw.launch.heading_rad,
        ),
        warnings: base.warnings().iter().map(ToString::to_string).collect(),
        caution: CAUTION,
    };
    report.in_plain_words = plain_words(&report);
    report
}

fn cut_places(flown: &[Flown]) -> Vec<PlanPoint> {
    let cuts = flown.iter().flat_map(|one| &one.cuts);
    cuts.filter(|cut| cut.on_ground)
        .map(|cut| cut.place)
        .collect()
}

fn write(
    plan: &StudyPlan,
    flown: &[Flown],
    report: &Report,
) -> Result<(), Box<dyn std::error::Error>> {
    let out = &plan.out;
    files::write_whole(&out.join("landings.csv"), &landings_csv(plan, flown)?)?;
    let cuts = out.join("power-cut-landings.csv");
    if report.power_cut_moments > 0 {
        files::write_whole(&cuts, &cuts_csv(plan, flown)?)?;
    } else if cuts.exists() {
        // What an earlier run has left there is not about these throws.
        std::fs::remove_file(&cuts)?;
    }
    let mut json = serde_json::to_vec_pretty(report)?;
    json.push(b'\n');
    files::write_whole(&out.join("footprint.json"), &json)?;
    let landings: Vec<PlanPoint> = flown.iter().filter_map(Flown::landing).collect();
    let map = Map {
        name: &format!("{}: where {} throws come down", report.study, report.throws),
        ground: &report.ground,
        landings: &landings,
        cloud: report.landings.as_ref(),
        cut_landings: &cut_places(flown),
        cut_cloud: report.power_cut_landings.as_ref(),
    };
    let svg = map::draw(&map, &legend(report));
    files::write_whole(&out.join("footprint.svg"), svg.as_bytes())?;
    Ok(())
}

fn landings_csv(plan: &StudyPlan, flown: &[Flown]) -> Result<Vec<u8>, Box<dyn std::error::Error>> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let columns = Summary::columns();
    let conditions = plan.study.file.conditions.iter();
    let met = conditions.map(|condition| format!("meets {}", condition.name));
    let head = ["throw", "could_not_start"].map(str::to_owned).into_iter();
    writer.write_record(
        head.chain(plan.flights.fields())
            .chain(columns.iter().map(|column| column.name.to_owned()))
            .chain(met),
    )?;
    for one in flown {
        let mut row = vec![one.flight.index.to_string()];
        row.push(one.result.as_ref().err().cloned().unwrap_or_default());
        row.extend(one.flight.values.iter().map(f64::to_string));
        match &one.result {
            Ok((summary, met)) => {
                row.extend(summary.row().iter().map(ToString::to_string));
                row.extend(met.iter().map(bool::to_string));
            }
            Err(_) => {
                let empty = columns.len() + plan.study.file.conditions.len();
                row.extend(std::iter::repeat_n(String::new(), empty));
            }
        }
        writer.write_record(row)?;
    }
    Ok(writer.into_inner()?)
}

fn cuts_csv(plan: &StudyPlan, flown: &[Flown]) -> Result<Vec<u8>, Box<dyn std::error::Error>> {
    let zones = &plan.study.base.built.throw.site.zones;
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record([
        "throw",
        "power_cut_time_s",
        "touched",
        "end_north_m",
        "end_east_m",
        "landed_in_zone",
    ])?;
    for one in flown {
        for cut in &one.cuts {
            let hit = zones.iter().zip(&cut.zones).filter(|(_, hit)| **hit);
            let names: Vec<&str> = hit.map(|(zone, _)| zone.name.as_str()).collect();
            writer.write_record([
                one.flight.index.to_string(),
                cut.at_s.to_string(),
                cut.touched.clone(),
                cut.place.x.to_string(),
                cut.place.y.to_string(),
                names.join("; "),
            ])?;
        }
    }
    Ok(writer.into_inner()?)
}
