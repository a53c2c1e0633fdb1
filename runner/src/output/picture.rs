//! Flights over one another in a picture: side view, pitch, airspeed and throttle over time.

use plotters::coord::Shift;
use plotters::prelude::*;
use std::ops::Range;
use thiserror::Error;

/// One flight's curves.
#[derive(Clone, Debug)]
pub struct Curves {
    /// The scenario's name.
    pub name: String,
    /// Points, even in time.
    pub points: Vec<Point>,
}

/// What is drawn of one moment.
#[derive(Clone, Copy, Debug)]
pub struct Point {
    /// Time, s.
    pub time_s: f64,
    /// Distance along the release heading, m.
    pub along_m: f64,
    /// Height of the balance point, m.
    pub height_m: f64,
    /// Pitch angle, deg.
    pub pitch_deg: f64,
    /// Airspeed, m/s.
    pub airspeed_m_s: f64,
    /// Mean throttle of the motors.
    pub throttle_fraction: f64,
}

/// A picture that could not be drawn.
#[derive(Debug, Error)]
#[error("the picture could not be drawn: {0}")]
pub struct PictureError(String);

/// Flights drawn at most; more would hide one another.
pub const MOST_FLIGHTS: usize = 8;

/// Okabe & Ito's eight colours, told apart by colour-blind readers.
const COLOURS: [RGBColor; MOST_FLIGHTS] = [
    RGBColor(0, 114, 178),
    RGBColor(213, 94, 0),
    RGBColor(0, 158, 115),
    RGBColor(204, 121, 167),
    RGBColor(86, 180, 233),
    RGBColor(230, 159, 0),
    RGBColor(120, 120, 120),
    RGBColor(0, 0, 0),
];

const WIDTH: u32 = 960;
const SIDE_VIEW_HEIGHT: u32 = 330;
const STRIP_HEIGHT: u32 = 200;
const LEGEND_LINE: u32 = 22;
const LEGEND_COLUMNS: usize = 3;

type Axis = (&'static str, fn(&Point) -> f64);
type Area<'a> = DrawingArea<SVGBackend<'a>, Shift>;

/// Draws up to [`MOST_FLIGHTS`] flights as an SVG document; further ones are left out.
///
/// # Errors
/// [`PictureError`] where the plotting library refuses.
pub fn draw(flights: &[Curves]) -> Result<String, PictureError> {
    let flights = &flights[..flights.len().min(MOST_FLIGHTS)];
    let strips: [Axis; 3] = [
        ("pitch, deg", |p| p.pitch_deg),
        ("airspeed, m/s", |p| p.airspeed_m_s),
        ("throttle, fraction", |p| p.throttle_fraction),
    ];
    let mut svg = String::new();
    {
        let legend_height = LEGEND_LINE * flights.len().div_ceil(LEGEND_COLUMNS) as u32 + 10;
        let height = legend_height + SIDE_VIEW_HEIGHT + STRIP_HEIGHT * strips.len() as u32;
        let root = SVGBackend::with_string(&mut svg, (WIDTH, height)).into_drawing_area();
        root.fill(&WHITE).map_err(refused)?;
        let (names, charts) = root.split_vertically(legend_height);
        legend(&names, flights)?;
        let (top, below) = charts.split_vertically(SIDE_VIEW_HEIGHT);
        chart(
            &top,
            flights,
            ("along the release heading, m", |p| p.along_m),
            ("height, m", |p| p.height_m),
        )?;
        for (area, strip) in below.split_evenly((strips.len(), 1)).iter().zip(strips) {
            chart(area, flights, ("time, s", |p| p.time_s), strip)?;
        }
        root.present().map_err(refused)?;
    }
    Ok(svg)
}

/// The flights' names in their colours, above the charts where they hide nothing.
fn legend(area: &Area<'_>, flights: &[Curves]) -> Result<(), PictureError> {
    let column = WIDTH / LEGEND_COLUMNS as u32;
    for (i, (flight, colour)) in flights.iter().zip(COLOURS).enumerate() {
        let x = (20 + column * (i % LEGEND_COLUMNS) as u32) as i32;
        let y = (LEGEND_LINE * (i / LEGEND_COLUMNS) as u32) as i32 + 18;
        let line = PathElement::new(vec![(x, y), (x + 22, y)], colour.stroke_width(3));
        area.draw(&line).map_err(refused)?;
        let name = Text::new(flight.name.clone(), (x + 30, y - 7), ("sans-serif", 14));
        area.draw(&name).map_err(refused)?;
    }
    Ok(())
}

fn chart(area: &Area<'_>, flights: &[Curves], x: Axis, y: Axis) -> Result<(), PictureError> {
    let mut chart = ChartBuilder::on(area)
        .margin(10)
        .x_label_area_size(38)
        .y_label_area_size(56)
        .build_cartesian_2d(range(flights, x.1), range(flights, y.1))
        .map_err(refused)?;
    chart
        .configure_mesh()
        .x_label_formatter(&|v| plain(*v))
        .y_label_formatter(&|v| plain(*v))
        .x_desc(x.0)
        .y_desc(y.0)
        .light_line_style(WHITE)
        .label_style(("sans-serif", 13))
        .axis_desc_style(("sans-serif", 14))
        .draw()
        .map_err(refused)?;
    for (flight, colour) in flights.iter().zip(COLOURS) {
        let line = flight.points.iter().map(|p| (x.1(p), y.1(p)));
        chart
            .draw_series(LineSeries::new(line, colour.stroke_width(2)))
            .map_err(refused)?;
    }
    Ok(())
}

/// A tick's number without needless zeros.
fn plain(value: f64) -> String {
    let rounded = (value * 1e3).round() / 1e3 + 0.0;
    rounded.to_string()
}

/// Range of a quantity over all flights, with a little room; never empty.
fn range(flights: &[Curves], of: fn(&Point) -> f64) -> Range<f64> {
    let values = flights.iter().flat_map(|f| f.points.iter().map(of));
    let (low, high) = values
        .filter(|v| v.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
            (low.min(v), high.max(v))
        });
    if low > high {
        return 0.0..1.0;
    }
    let room = ((high - low) * 0.05).max(0.05);
    low - room..high + room
}

fn refused(error: impl std::fmt::Display) -> PictureError {
    PictureError(error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn flight(name: &str, speed: f64) -> Curves {
        let points = (0..50)
            .map(|i| f64::from(i) * 0.1)
            .map(|t| Point {
                time_s: t,
                along_m: speed * t,
                height_m: 2.0 - 0.3 * t,
                pitch_deg: -5.0 * t,
                airspeed_m_s: speed,
                throttle_fraction: 0.5,
            })
            .collect();
        Curves {
            name: name.into(),
            points,
        }
    }

    #[test]
    fn names_every_flight_and_every_axis() {
        let svg = draw(&[flight("before", 5.0), flight("after & cured", 6.0)]).unwrap();
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
        for colour in ["#0072B2", "#D55E00"] {
            // Four charts and the mark in the legend.
            assert_eq!(svg.matches(&format!("stroke=\"{colour}\"")).count(), 5);
        }
        assert!(!svg.contains("NaN"));
    }

    #[test]
    fn a_flight_of_one_point_still_has_axes() {
        let mut short = flight("short", 5.0);
        short.points.truncate(1);
        assert!(draw(&[short]).unwrap().contains("short"));
    }
}
