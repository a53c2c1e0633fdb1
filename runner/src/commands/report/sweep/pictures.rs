//! Pictures of a sweep's page.

use super::Sweep;
use crate::output::chart::{Axis, Bar, BarRow, Bars, Bin, Chart, Interval, Look, Mark, Sample};
use crate::output::html::{Figure, Plots, Series};
use crate::output::names::name_and_unit;
use crate::output::summary_row::SummaryRow;
use crate::output::table::{number, percent};
use crate::study_result::paragraph::{digits, in_words};
use maud::{Markup, html};
use scenarios::study::judge::Share;
use scenarios::study::rank::rank_correlation;
use scenarios::study::sensitivity::{FieldShare, WithInterval};
use scenarios::study::tally::{ColumnAnswer, Decides};
use std::collections::BTreeMap;

/// Columns whose histograms are drawn.
const HISTOGRAMS: usize = 6;
/// Columns that are set against what decides them.
const DECIDED: usize = 3;
/// Fields a column is set against.
const DECIDING: usize = 2;
/// A field that goes less with a column is not drawn.
const LEAST_CORRELATION: f64 = 0.1;
/// Fields among the bars.
const MOST_BARS: usize = 12;

/// How conditions that held and those that did not look, and first and total indices.
fn looks() -> [Look; 2] {
    [Look::of(0), Look::of(1)]
}

/// Digits after the point that tell values of a stretch apart.
fn decimals(length: f64) -> usize {
    if !(length.is_finite() && length > 0.0) {
        return 2;
    }
    (2 - length.log10().floor() as i32).clamp(0, 6) as usize
}

/// Pictures beside one another.
fn beside(plots: &[Plots]) -> Markup {
    html! { div.beside { @for one in plots { (one.draw()) } } }
}

/// Bars with a readout; a series for each bar of a row.
fn with_readout(bars: &Bars, label: &str, series: &[&str], unit: &str, digits: usize) -> Plots {
    let mut plots = Plots::new(label, "row", true);
    plots.names = bars.rows.iter().map(|row| row.name.clone()).collect();
    plots.know("row", "row", "", 0);
    plots.know("value", &bars.axis.name, unit, digits);
    plots.know(
        "low",
        "at least",
        format!("{unit} at least").trim_start(),
        digits,
    );
    plots.know(
        "high",
        "at most",
        format!("{unit} at most").trim_start(),
        digits,
    );
    for (k, name) in series.iter().enumerate() {
        let of = |value: fn(&Bar) -> f64| -> Vec<Option<f64>> {
            let rows = bars.rows.iter();
            rows.map(|row| row.bars.get(k).map(value)).collect()
        };
        let rows = (0..bars.rows.len()).map(|i| Some(i as f64));
        plots.series.push(Series {
            name: (*name).to_owned(),
            look: looks()[k % 2],
            sample: Sample::Filled,
            columns: BTreeMap::from([
                ("row".to_owned(), rows.collect()),
                ("value".to_owned(), of(|bar| bar.value)),
                ("low".to_owned(), of(|bar| bar.low)),
                ("high".to_owned(), of(|bar| bar.high)),
            ]),
        });
    }
    plots.figures.push(Figure {
        title: bars.title.clone(),
        svg: bars.draw(),
        x: "value".to_owned(),
        y: "row".to_owned(),
        scales: bars.scales(),
        says: ["value", "low", "high"].map(str::to_owned).to_vec(),
    });
    plots
}

/// Share of throws that meet each condition, with what is asked.
pub(super) fn conditions(sweep: &Sweep<'_>) -> Markup {
    let conditions = sweep.file.conditions.iter().zip(&sweep.answer().conditions);
    let bar = |share: &Share| Bar {
        look: looks()[0],
        value: 100.0 * share.share_fraction.unwrap_or(0.0),
        low: 100.0 * share.low_fraction,
        high: 100.0 * share.high_fraction,
        words: percent(share),
    };
    let mut rows: Vec<BarRow> = conditions
        .map(|(condition, found)| {
            let least = 100.0 * condition.least_share_fraction;
            BarRow {
                name: format!("{}: {}", condition.name, in_words(condition)),
                bars: vec![bar(&found.share.meets)],
                asked: Some((least, format!("asked for: {} %", digits(least)))),
            }
        })
        .collect();
    if let Some(all) = &sweep.answer().all_conditions {
        rows.push(BarRow {
            name: "all of them".to_owned(),
            bars: vec![bar(all)],
            asked: None,
        });
    }
    let mut axis = Axis::new("share of throws", "%", 1);
    axis.holds = vec![0.0, 100.0];
    let bars = Bars {
        title: "Share of throws that meet each condition".to_owned(),
        axis,
        rows,
    };
    html! {
        (with_readout(&bars, "shares of throws", &["throws that meet it"], "%", 1).draw())
        p.note { "Dashed: the share that is asked for. Thin lines: the interval." }
    }
}

/// How often a column's values lie where.
pub(super) fn histograms(sweep: &Sweep<'_>) -> Markup {
    let columns = sweep.columns().into_iter();
    let varies = |column: &&ColumnAnswer| {
        let histogram = column.histogram.as_ref();
        histogram.is_some_and(|found| found.to > found.from)
    };
    let plots: Vec<Plots> = columns
        .filter(varies)
        .take(HISTOGRAMS)
        .filter_map(|column| histogram(sweep, column))
        .collect();
    html! {
        (beside(&plots))
        @if !plots.is_empty() { p.note { "Shaded: the middle 90 % of the throws. Dashed: the limit of a condition." } }
    }
}

fn histogram(sweep: &Sweep<'_>, column: &ColumnAnswer) -> Option<Plots> {
    let found = column.histogram.as_ref()?;
    let all = found.counts.iter().sum::<u64>() as f64;
    let (name, unit) = name_and_unit(&column.column);
    let digits_after = decimals(found.to - found.from);
    let mut x = Axis::new(name.clone(), unit, digits_after);
    let width = (found.to - found.from) / found.counts.len() as f64;
    let (mut bins, mut below) = (Vec::new(), 0.0);
    let mut columns: [Vec<Option<f64>>; 3] = Default::default();
    for (i, &count) in found.counts.iter().enumerate() {
        let share = 100.0 * count as f64 / all;
        below += share;
        let (from, to) = (
            found.from + i as f64 * width,
            found.from + (i + 1) as f64 * width,
        );
        let words = format!(
            "{} % of the throws from {} to {}",
            number(Some(share), 1),
            x.worded(from),
            x.worded(to)
        );
        bins.push(Bin {
            from,
            to,
            value: share,
            words,
        });
        let values = [0.5 * (from + to), share, below];
        for (column, value) in columns.iter_mut().zip(values) {
            column.push(Some(value));
        }
    }
    let mut marks = Vec::new();
    if let (Some(low), Some(high)) = (column.quantile("0.05"), column.quantile("0.95")) {
        marks.push(Mark::Band(low, high, "middle 90 %".to_owned()));
    }
    marks.push(Mark::Bins("throws".to_owned(), looks()[0], bins));
    if let Some((condition, limit)) = sweep.condition_of(&column.column) {
        x.holds.push(limit);
        marks.push(Mark::Upright(limit, in_words(condition)));
    }
    let chart = Chart {
        title: capital(&name),
        x,
        y: Axis::new("share of throws", "%", 1),
        equal: false,
        marks,
    };
    let mut plots = Plots::new("share of throws", "value", true);
    plots.know("below", "that much or less", "% that much or less", 1);
    plots.series.push(Series {
        name: "throws".to_owned(),
        look: looks()[0],
        sample: Sample::Filled,
        columns: ["value", "share", "below"]
            .map(str::to_owned)
            .into_iter()
            .zip(columns)
            .collect(),
    });
    plots.chart(&chart, "value", "share", &["share", "below"]);
    Some(plots)
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|first| first.to_uppercase().to_string());
    first.unwrap_or_default() + letters.as_str()
}

/// First and total index of each field, or the size of its effects, for every column they are asked of.
pub(super) fn sensitivities(sweep: &Sweep<'_>) -> Markup {
    let sets = sweep.answer().sensitivities.iter();
    let plots: Vec<Plots> = sets.filter_map(of_decides).collect();
    html! { (beside(&plots)) }
}

fn of_decides(decides: &Decides) -> Option<Plots> {
    let (name, unit) = name_and_unit(&decides.column);
    let title = format!("What decides the {name}");
    let bar = |k: usize, what: &str, number: WithInterval, times: f64, unit: &str| Bar {
        look: looks()[k],
        value: times * number.estimate,
        low: times * (number.estimate - number.plus_minus),
        high: times * (number.estimate + number.plus_minus),
        words: format!(
            "{what} {} ± {} {unit}",
            digits(times * number.estimate),
            digits(times * number.plus_minus)
        ),
    };
    let fields = decides.fields.iter().take(MOST_BARS);
    let rows: Vec<BarRow> = fields
        .map(|one| BarRow {
            name: one.field.clone(),
            bars: match one.share {
                FieldShare::Sobol { first_order, total } => vec![
                    bar(0, "by itself", first_order, 100.0, "%"),
                    bar(1, "with others", total, 100.0, "%"),
                ],
                FieldShare::Elementary {
                    mean_size, mean, ..
                } => vec![
                    bar(0, "mean size", mean_size, 1.0, unit),
                    bar(1, "mean", mean, 1.0, unit),
                ],
            },
            asked: None,
        })
        .collect();
    let first = decides.fields.first()?;
    let (axis, series, unit, digits_after) = match first.share {
        FieldShare::Sobol { .. } => (
            Axis::new("share of the variance", "%", 1),
            ["by itself", "with all it does together with others"],
            "%",
            1,
        ),
        FieldShare::Elementary { mean_size, .. } => {
            let digits_after = decimals(mean_size.estimate);
            let axis = Axis::new(
                format!("{name} over the field's whole range"),
                unit,
                digits_after,
            );
            (
                axis,
                ["mean size of the effect", "mean effect"],
                unit,
                digits_after,
            )
        }
    };
    let bars = Bars { title, axis, rows };
    Some(with_readout(
        &bars,
        "bars with intervals",
        &series,
        unit,
        digits_after,
    ))
}

/// Columns against the fields that go with them most, throw by throw.
pub(super) fn scatter(sweep: &Sweep<'_>) -> Markup {
    let names = sweep.scattered();
    let mut plots: Vec<Plots> = Vec::new();
    let mut said: Vec<String> = Vec::new();
    // What sensitivities are asked of comes first.
    let sets = &sweep.answer().sensitivities;
    let mut columns = sweep.columns();
    columns.sort_by_key(|column| !sets.iter().any(|one| one.column == column.column));
    for column in columns.into_iter().take(DECIDED) {
        for (field, correlation) in strongest(sweep, &names, column) {
            let (name, _) = name_and_unit(&column.column);
            said.push(format!(
                "{name} with {field} {}",
                number(Some(correlation), 2)
            ));
            plots.push(against(sweep, field, column));
        }
    }
    html! {
        (beside(&plots))
        @if plots.is_empty() {
            p { "No scattered field goes with any of these columns by itself." }
        } @else {
            p.note {
                "Each mark is a throw, " (sweep.sample.len()) " of " (sweep.answer().counted_flights)
                ". Rank correlations: " (said.join("; ")) "."
            }
        }
    }
}

fn cells(row: &SummaryRow, field: &str, column: &str) -> Option<(f64, f64)> {
    Some((row.number(field)?, row.number(column)?))
}

/// The fields that decide a column most: by its sensitivities, else by rank correlation; each with its rank correlation.
fn strongest<'a>(
    sweep: &Sweep<'_>,
    fields: &'a [String],
    column: &ColumnAnswer,
) -> Vec<(&'a str, f64)> {
    let correlation = |field: &str| {
        let rows = sweep.sample.iter();
        let pairs: Vec<(f64, f64)> = rows
            .filter_map(|row| cells(row, field, &column.column))
            .collect();
        rank_correlation(&pairs)
    };
    let with = |field: &'a String| Some((field.as_str(), correlation(field)?));
    let mut list: Vec<(&str, f64)> = fields.iter().filter_map(with).collect();
    let sets = &sweep.answer().sensitivities;
    match sets.iter().find(|one| one.column == column.column) {
        Some(decides) => {
            let place = |field: &str| decides.fields.iter().position(|f| f.field == field);
            list.sort_by_key(|(field, _)| place(field).unwrap_or(usize::MAX));
        }
        None => {
            list.retain(|(_, correlation)| correlation.abs() >= LEAST_CORRELATION);
            list.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
        }
    }
    list.truncate(DECIDING);
    list
}

fn against(sweep: &Sweep<'_>, field: &str, column: &ColumnAnswer) -> Plots {
    let condition = sweep.condition_of(&column.column);
    let meets = condition.map(|(condition, _)| format!("meets {}", condition.name));
    let has_met = |row: &SummaryRow| meets.as_deref().map(|name| row.text(name) == Some("true"));
    let groups: &[(&str, Option<bool>)] = match meets {
        Some(_) => &[("met it", Some(true)), ("missed it", Some(false))],
        None => &[("throws", None)],
    };
    let (name, unit) = name_and_unit(&column.column);
    let length = |ends: (f64, f64)| ends.1 - ends.0;
    let ends = |of: fn(&(f64, f64)) -> f64| {
        let rows = sweep.sample.iter();
        let places = rows.filter_map(|row| cells(row, field, &column.column));
        places.fold((f64::INFINITY, f64::NEG_INFINITY), |ends, place| {
            (ends.0.min(of(&place)), ends.1.max(of(&place)))
        })
    };
    let x = Axis::new(field, "", decimals(length(ends(|place| place.0))));
    let y = Axis::new(name.clone(), unit, decimals(length(ends(|place| place.1))));
    let mut marks = Vec::new();
    let mut plots = Plots::new("throws", "flight", true);
    for (&(group, met), look) in groups.iter().zip(looks()) {
        let rows: Vec<(&SummaryRow, (f64, f64))> = sweep
            .sample
            .iter()
            .filter(|row| has_met(row) == met)
            .filter_map(|row| Some((row, cells(row, field, &column.column)?)))
            .collect();
        let places = rows.iter().map(|(_, place)| *place).collect();
        marks.push(Mark::Points(group.to_owned(), look, places));
        type Placed<'a> = (&'a SummaryRow, (f64, f64));
        let column =
            |of: &dyn Fn(&Placed<'_>) -> Option<f64>| rows.iter().map(of).collect::<Vec<_>>();
        plots.series.push(Series {
            name: group.to_owned(),
            look,
            sample: Sample::Filled,
            columns: BTreeMap::from([
                (
                    "flight".to_owned(),
                    column(&|(row, _)| row.number("flight")),
                ),
                ("x".to_owned(), column(&|(_, place)| Some(place.0))),
                ("y".to_owned(), column(&|(_, place)| Some(place.1))),
            ]),
        });
    }
    if let Some((condition, limit)) = condition {
        marks.push(Mark::Level(limit, condition.name.clone()));
    }
    let chart = Chart {
        title: format!("{} over {field}", capital(&name)),
        x,
        y,
        equal: false,
        marks,
    };
    plots.chart(&chart, "x", "y", &["y", "x"]);
    plots.know("flight", "flight", "", 0);
    // The readout says what is what.
    plots.know("x", field, field, chart.x.decimals);
    plots.know(
        "y",
        &name,
        format!("{unit} {name}").trim_start(),
        chart.y.decimals,
    );
    plots
}

/// Shares along the axis, where there is one, of numbers.
pub(super) fn along_the_axis(sweep: &Sweep<'_>) -> Markup {
    let (heads, rows) = &sweep.points;
    let ([axis], false) = (sweep.file.axes.as_slice(), sweep.file.conditions.is_empty()) else {
        return html! {};
    };
    let place = |name: &str| heads.iter().position(|head| head == name);
    let at = |row: &[String], name: &str| -> Option<f64> { row.get(place(name)?)?.parse().ok() };
    let Some(field) = heads.get(1) else {
        return html! {};
    };
    let mut y = Axis::new("share of throws", "%", 1);
    y.holds = vec![0.0, 100.0];
    let mut plots = Plots::new("share of throws that meet each condition", "axis", true);
    let mut marks = Vec::new();
    let names = sweep.file.conditions.iter().map(|c| c.name.as_str());
    for (k, name) in names.enumerate() {
        let head = |what: &str| format!("meets {name}: {what}");
        let points: Vec<Interval> = rows
            .iter()
            .filter_map(|row| {
                let share = |what: &str| Some(100.0 * at(row, &head(what))?);
                let (value, low, high) = (
                    share("share_fraction")?,
                    share("low_fraction")?,
                    share("high_fraction")?,
                );
                let x = at(row, field)?;
                let words = format!("{name}: {} % at {}", number(Some(value), 1), digits(x));
                Some(Interval {
                    x,
                    value,
                    low,
                    high,
                    words,
                })
            })
            .collect();
        let of = |value: fn(&Interval) -> f64| points.iter().map(|p| Some(value(p))).collect();
        plots.series.push(Series {
            name: name.to_owned(),
            look: Look::of(k),
            sample: Sample::Filled,
            columns: BTreeMap::from([
                ("axis".to_owned(), of(|p| p.x)),
                ("share".to_owned(), of(|p| p.value)),
                ("low".to_owned(), of(|p| p.low)),
                ("high".to_owned(), of(|p| p.high)),
            ]),
        });
        marks.push(Mark::Intervals(name.to_owned(), Look::of(k), false, points));
    }
    let chart = Chart {
        title: format!("Conditions along {}", axis.field),
        x: Axis::new(field.clone(), "", 2),
        y,
        equal: false,
        marks,
    };
    plots.know("low", "at least", "% at least", 1);
    plots.know("high", "at most", "% at most", 1);
    plots.chart(&chart, "axis", "share", &["share", "low", "high"]);
    plots.draw()
}
