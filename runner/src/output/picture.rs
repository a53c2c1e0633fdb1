//! Flights over one another in a picture that stands alone: side and plan view, and what changes over time.

use super::chart::{self, Look, Sample, sample};
use super::curves::{Curves, charts};
use super::marks::{INK, document, text};
use svg::Document;
use svg::node::element::{Group, SVG};

/// Flights drawn at most; more would hide one another.
pub const MOST_FLIGHTS: usize = chart::LOOKS as usize;

const WIDTH: f64 = 960.0;
const COLUMNS: usize = 2;
const LEGEND_LINE: f64 = 22.0;
const LEGEND_COLUMNS: usize = 3;
/// Room between charts, px.
const GAP: f64 = 12.0;

/// Draws flights as an SVG document.
pub fn draw(flights: &[Curves]) -> String {
    let legend: Vec<(&str, Look, Sample)> = flights
        .iter()
        .map(|flight| (flight.name.as_str(), flight.look, Sample::Curve))
        .collect();
    let charts: Vec<(String, SVG)> = charts(flights)
        .into_iter()
        .map(|(chart, _, _)| (chart.title.clone(), chart.draw()))
        .collect();
    side_by_side(&legend, charts)
}

/// Charts two by two under a legend.
pub fn side_by_side(legend: &[(&str, Look, Sample)], charts: Vec<(String, SVG)>) -> String {
    let mut top = 10.0 + LEGEND_LINE * legend.len().div_ceil(LEGEND_COLUMNS) as f64;
    let width = (WIDTH - GAP * (COLUMNS + 1) as f64) / COLUMNS as f64;
    let height = width * chart::HEIGHT / chart::WIDTH + LEGEND_LINE;
    let rows = charts.len().div_ceil(COLUMNS);
    let mut picture: Document = document(WIDTH, top + rows as f64 * (height + GAP));
    for (i, (name, look, what)) in legend.iter().enumerate() {
        let x = 20.0 + WIDTH / LEGEND_COLUMNS as f64 * (i % LEGEND_COLUMNS) as f64;
        let y = 8.0 + LEGEND_LINE * (i / LEGEND_COLUMNS) as f64;
        let entry = Group::new()
            .set("transform", format!("translate({x:.1} {y:.1})"))
            .add(sample(*look, *what))
            .add(text(40.0, 12.5, name, INK));
        picture = picture.add(entry);
    }
    for (i, (title, chart)) in charts.into_iter().enumerate() {
        let x = GAP + (width + GAP) * (i % COLUMNS) as f64;
        if i > 0 && i % COLUMNS == 0 {
            top += height + GAP;
        }
        let chart = chart
            .set("x", format!("{x:.1}"))
            .set("y", format!("{:.1}", top + LEGEND_LINE))
            .set("width", format!("{width:.1}"))
            .set("height", format!("{:.1}", height - LEGEND_LINE));
        picture = picture
            .add(text(x + 0.5 * width, top + 15.0, &title, "ink middle"))
            .add(chart);
    }
    picture.to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn flight(name: &str, number: usize, points: usize) -> Curves {
        let row = |i: usize| {
            let t = i as f64 * 0.1;
            [
                Some(t),
                Some(5.0 * t),
                Some(0.0),
                Some(2.0 - 0.3 * t),
                Some(-5.0 * t),
                Some(5.0),
                Some(0.5),
                None,
            ]
        };
        Curves {
            name: name.into(),
            look: Look::of(number),
            rows: (0..points).map(row).collect(),
            every: 1,
        }
    }

    #[test]
    fn names_every_flight_and_every_axis() {
        let svg = draw(&[flight("before", 0, 50), flight("after & cured", 1, 50)]);
        for text in [
            "before",
            "after &amp; cured",
            "height, m",
            "pitch, deg",
            "airspeed, m/s",
            "time, s",
        ] {
            assert!(svg.contains(text), "{text}");
        }
        for look in ["look-1", "look-2"] {
            // Six charts (power is not known) and the mark in the legend.
            assert_eq!(svg.matches(&format!("class=\"{look}\"")).count(), 7);
        }
        assert!(!svg.contains("NaN"));
    }

    #[test]
    fn a_flight_of_one_point_still_has_axes() {
        assert!(draw(&[flight("short", 0, 1)]).contains("short"));
    }
}
