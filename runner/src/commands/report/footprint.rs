//! The page of a landing footprint.

use super::read::{Folder, ReportError};
use super::{cautions, inputs};
use crate::output::chart::{Look, Sample};
use crate::output::html::{
    Figure, Plots, Series, facts, link, page as whole, section, table, table_of_objects,
};
use crate::output::map::{Ground, Map, picture};
use crate::output::summary_row::SummaryRow;
use crate::output::table::number;
use maud::{Markup, html};
use scenarios::footprint::Cloud;
use serde::Deserialize;
use serde_json::Value;
use sim_core::site::PlanPoint;
use std::collections::BTreeMap;

/// Width of the map, px of its own.
const MAP_WIDTH: f64 = 480.0;
/// Throws among the worst cases.
const MOST_WORST: usize = 5;

/// What the page reads of `footprint.json`.
#[derive(Deserialize)]
struct Footprint {
    study: String,
    #[serde(default)]
    note: String,
    in_plain_words: String,
    scenario: String,
    airframe: String,
    tossline_version: String,
    inputs_sha256: String,
    engine: String,
    seed: u64,
    throws: u64,
    could_not_start: u64,
    first_reason: Option<String>,
    ends: BTreeMap<String, u64>,
    confidence_fraction: f64,
    landings: Option<Cloud>,
    zones: Vec<Value>,
    power_cut_moments: u32,
    power_cut_landings: Option<Cloud>,
    conditions: Vec<Value>,
    ground: Ground,
    warnings: Vec<String>,
    caution: String,
}

pub(super) fn page(folder: &Folder) -> Result<String, ReportError> {
    let report: Footprint = folder.json("footprint.json")?;
    let throws = rows(folder, "landings.csv", "throw")?;
    let landings: Vec<(&SummaryRow, PlanPoint)> = throws
        .iter()
        .filter(|row| row.text("ended_by") == Some("ground"))
        .filter_map(|row| Some((row, place(row)?)))
        .collect();
    let cuts = match report.power_cut_moments {
        0 => Vec::new(),
        _ => rows(folder, "power-cut-landings.csv", "throw")?,
    };
    let on_ground = cuts
        .iter()
        .filter(|row| row.text("touched") == Some("ground"));
    let cut_places: Vec<PlanPoint> = on_ground.filter_map(place).collect();
    let places: Vec<PlanPoint> = landings.iter().map(|(_, place)| *place).collect();
    let map = Map {
        name: &format!("where {} throws come down", report.throws),
        ground: &report.ground,
        landings: &places,
        cloud: report.landings.as_ref(),
        cut_landings: &cut_places,
        cut_cloud: report.power_cut_landings.as_ref(),
    };
    let body = html! {
        @if !report.note.is_empty() { p { (report.note) } }
        (section("The map", &html! {
            (plots(&map, &landings).draw())
            (key(&report))
        }))
        (section("In numbers", &numbers(&report)))
        (section("Worst cases", &worst_cases(&landings)))
        (section("What made this", &inputs(
            &[
                ("study", &report.study),
                ("scenario", &report.scenario),
                ("airframe", &report.airframe),
                ("inputs, SHA-256", &report.inputs_sha256),
                ("version", &format!("Tossline {}", report.tossline_version)),
                ("engine", &report.engine),
                ("seed", &report.seed.to_string()),
            ],
            &html! {
                (link("footprint.json", "footprint.json")) " "
                (link("landings.csv", "landings.csv"))
                @if report.power_cut_moments > 0 { " " (link("power-cut-landings.csv", "power-cut-landings.csv")) }
            },
        )))
        (section("Cautions", &cautions(&report.warnings, &report.caution)))
    };
    let title = format!("Landing footprint: {}", report.study);
    Ok(whole(&title, &report.in_plain_words, &body))
}

fn rows(folder: &Folder, file: &str, name: &str) -> Result<Vec<SummaryRow>, ReportError> {
    let row = |cells: Vec<(String, String)>| {
        let named = cells.iter().find(|(head, _)| head == name);
        let throw = named.map(|(_, throw)| throw.clone()).unwrap_or_default();
        SummaryRow::from_cells(&throw, cells)
    };
    Ok(folder.csv(file)?.into_iter().map(row).collect())
}

fn place(row: &SummaryRow) -> Option<PlanPoint> {
    Some(PlanPoint::new(
        row.number("end_north_m")?,
        row.number("end_east_m")?,
    ))
}

/// The map, with a readout of its landings.
fn plots(map: &Map<'_>, landings: &[(&SummaryRow, PlanPoint)]) -> Plots {
    let (svg, _, frame) = picture(map, MAP_WIDTH);
    let mut plots = Plots::new("landings of the throws", "throw", true);
    plots.know("throw", "throw", "", 0);
    plots.know("north_m", "north", "m north", 1);
    plots.know("east_m", "east", "m east", 1);
    let column =
        |of: fn(&(&SummaryRow, PlanPoint)) -> Option<f64>| landings.iter().map(of).collect();
    plots.series.push(Series {
        name: "comes down".to_owned(),
        look: Look::of(0),
        sample: Sample::Filled,
        columns: BTreeMap::from([
            ("throw".to_owned(), column(|(row, _)| row.number("throw"))),
            ("north_m".to_owned(), column(|(_, place)| Some(place.x))),
            ("east_m".to_owned(), column(|(_, place)| Some(place.y))),
        ]),
    });
    plots.figures.push(Figure {
        title: "Map, north up".to_owned(),
        svg,
        x: "east_m".to_owned(),
        y: "north_m".to_owned(),
        scales: frame.scales(),
        says: ["north_m", "east_m"].map(str::to_owned).to_vec(),
    });
    plots
}

/// What the marks of the map mean.
fn key(report: &Footprint) -> Markup {
    let ellipse = report.landings.as_ref().and_then(|cloud| cloud.ellipse);
    html! {
        ul {
            li { "Blue dots: where throws come down; dashed line: their convex hull." }
            @if let Some(ellipse) = ellipse {
                li {
                    "Ellipse: " (number(Some(ellipse.coverage_fraction * 100.0), 0))
                    " % of a normal cloud of this mean and covariance; " (ellipse.landings_inside) " of these landings are inside."
                }
            }
            @if report.power_cut_moments > 0 {
                li {
                    "Small orange dots: where the same throws come down when the motors die at one of "
                    (report.power_cut_moments) " moments; orange dashes: their hull."
                }
            }
            li { "Large dot with an arrow: the release and its heading. Shaded: zones to miss." }
        }
        p.note { "Computed, not flown; throws outside the hull happen." }
    }
}

fn numbers(report: &Footprint) -> Markup {
    let ends = report.ends.iter();
    let ends: Vec<String> = ends.map(|(end, n)| format!("{end} {n}")).collect();
    let metres = |value: f64| format!("{} m", number(Some(value), 1));
    let mut list = vec![
        ("throws", html! { (report.throws) }),
        ("ended", html! { (ends.join(", ")) }),
    ];
    if let Some(cloud) = &report.landings {
        list.push((
            "mean landing",
            html! { (metres(cloud.mean_north_m)) " north, " (metres(cloud.mean_east_m)) " east of the release" },
        ));
        list.push(("farthest", html! { (metres(cloud.farthest_m)) }));
        if let Some(ellipse) = &cloud.ellipse {
            list.push((
                "ellipse, half axes",
                html! {
                    (metres(ellipse.semi_major_m)) " by " (metres(ellipse.semi_minor_m)) ", long axis towards "
                    (number(Some(ellipse.major_heading_deg), 0)) " deg"
                },
            ));
        }
    }
    if let Some(reason) = &report.first_reason {
        list.push((
            "could not start",
            html! { (report.could_not_start) "; the first: " (reason) },
        ));
    }
    html! {
        (facts(&list))
        @if !report.zones.is_empty() { (table_of_objects("Zones: share of throws that come down in each", &report.zones)) }
        @if !report.conditions.is_empty() { (table_of_objects("Conditions", &report.conditions)) }
        p.note {
            "Brackets: " (number(Some(report.confidence_fraction * 100.0), 1))
            " % confidence (Clopper-Pearson). They hold the luck of the draw, not what the model or the study leaves out."
        }
    }
}

/// Throws that come down in a zone, else those farthest away.
fn worst_cases(landings: &[(&SummaryRow, PlanPoint)]) -> Markup {
    let mut order: Vec<&(&SummaryRow, PlanPoint)> = landings.iter().collect();
    let in_zone = |row: &SummaryRow| row.text("landed_in_zone").is_some();
    order.sort_by(|a, b| {
        let by_distance = b.1.norm().total_cmp(&a.1.norm());
        in_zone(b.0).cmp(&in_zone(a.0)).then(by_distance)
    });
    let rows: Vec<Vec<Markup>> = order
        .iter()
        .take(MOST_WORST)
        .map(|(row, place)| {
            vec![
                html! { (row.name) },
                html! { (number(Some(place.norm()), 1)) },
                html! { (row.text("landed_in_zone").unwrap_or("–")) },
                html! { (number(row.number("touch_speed_m_s"), 1)) },
                html! { (number(row.number("stalled_time_s"), 2)) },
            ]
        })
        .collect();
    let heads = [
        "throw",
        "from the release, m",
        "came down in",
        "touched at, m/s",
        "stalled, s",
    ]
    .map(str::to_owned);
    html! {
        (table("Throws that come down in a zone, then the farthest", &heads, &rows))
        p {
            "Trajectories of single throws are not kept; all throws with what was drawn for each are in "
            (link("landings.csv", "landings.csv")) "."
        }
    }
}
