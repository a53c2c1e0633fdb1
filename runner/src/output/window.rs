//! The window of angles, and the steady flight's nose and path against throttle, as charts.

use super::chart::{Axis, Chart, Interval, Look, Mark, Sample};
use super::picture::side_by_side;
use super::table::percent;
use scenarios::thrustline::power::{AtThrottle, PowerCurve};
use scenarios::thrustline::window::AtAngle;

/// What is drawn.
#[derive(Debug)]
pub struct Picture<'a> {
    /// Name of the airframe.
    pub name: &'a str,
    /// What the angle is, with its unit.
    pub angle: &'a str,
    /// Angles of the choosing pass.
    pub chosen: &'a [AtAngle],
    /// Angles of the stating pass.
    pub stated: &'a [AtAngle],
    /// Share wanted.
    pub wanted: f64,
    /// Ends of the window, deg.
    pub window: Option<(f64, f64)>,
    /// Best angle, deg.
    pub best_deg: Option<f64>,
    /// Steady flights as it is.
    pub before: &'a PowerCurve,
    /// Steady flights at the best angle.
    pub after: Option<&'a PowerCurve>,
}

/// How the airframe as it is looks in every picture of a thrust line.
pub fn before() -> Look {
    Look::of(1)
}

/// How the airframe at the best angle looks.
pub fn after() -> Look {
    Look::of(0)
}

/// How the two passes look; the choosing one is hollow.
pub const PASSES: [&str; 2] = ["choosing flights (hollow)", "stating flights (filled)"];

/// What the two states of the airframe are called.
pub const STATES: [&str; 2] = ["as it is", "at the best angle"];

/// Draws it as an SVG document.
pub fn draw(picture: &Picture<'_>) -> String {
    let mut legend = vec![
        (PASSES[0], after(), Sample::Hollow),
        (PASSES[1], before(), Sample::Filled),
    ];
    legend.push((STATES[0], before(), Sample::Curve));
    if picture.after.is_some() {
        legend.push((STATES[1], after(), Sample::Curve));
    }
    let charts = std::iter::once(shares(picture)).chain(steady(picture.before, picture.after));
    let drawn = charts.map(|chart| {
        let title = format!("{}: {}", picture.name, chart.title);
        (title, chart.draw())
    });
    side_by_side(&legend, drawn.collect())
}

/// Share of throws that meet every condition, over the angle.
pub fn shares(picture: &Picture<'_>) -> Chart {
    let intervals = |list: &[AtAngle]| {
        let interval = |at: &AtAngle| Interval {
            x: at.angle_deg,
            value: 100.0 * at.meets.share_fraction.unwrap_or(0.0),
            low: 100.0 * at.meets.low_fraction,
            high: 100.0 * at.meets.high_fraction,
            words: format!("{} deg: {}", at.angle_deg, percent(&at.meets)),
        };
        list.iter().map(interval).collect::<Vec<_>>()
    };
    let mut marks = Vec::new();
    if let Some((from, to)) = picture.window {
        marks.push(Mark::Band(from, to, "window".to_owned()));
    }
    let wanted = 100.0 * picture.wanted;
    marks.push(Mark::Level(wanted, format!("wanted {wanted:.0} %")));
    if let Some(best) = picture.best_deg {
        marks.push(Mark::Upright(best, "best angle".to_owned()));
    }
    for (list, look, pass) in [(picture.chosen, after(), 0), (picture.stated, before(), 1)] {
        let mark = Mark::Intervals(PASSES[pass].to_owned(), look, pass == 0, intervals(list));
        marks.push(mark);
    }
    let mut shares = Axis::new("share of throws that meet every condition", "%", 0);
    shares.holds = vec![0.0, 100.0];
    let (name, unit) = match picture.angle.strip_suffix(", deg") {
        Some(name) => (name, "deg"),
        None => (picture.angle, ""),
    };
    Chart {
        title: "Window of angles".to_owned(),
        x: Axis::new(name, unit, 2),
        y: shares,
        equal: false,
        marks,
    }
}

/// Where nose and path point in steady flight, over the throttle.
pub fn steady(before_it: &PowerCurve, after_it: Option<&PowerCurve>) -> [Chart; 2] {
    let chart = |title: &str, name: &str, of: fn(&AtThrottle) -> f64| {
        let curves = [
            (Some(before_it), before(), STATES[0]),
            (after_it, after(), STATES[1]),
        ];
        let mut marks = vec![Mark::Level(0.0, "level".to_owned())];
        marks.extend(curves.into_iter().filter_map(|(curve, look, name)| {
            let points = curve?.points.iter().map(|p| (p.throttle_fraction, of(p)));
            Some(Mark::Curve(name.to_owned(), look, points.collect()))
        }));
        let mut throttle = Axis::new("throttle", "fraction", 1);
        throttle.holds = vec![0.0, 1.0];
        Chart {
            title: title.to_owned(),
            x: throttle,
            y: Axis::new(name, "deg", 1),
            equal: false,
            marks,
        }
    };
    [
        chart("Nose in steady flight", "pitch", |p| p.pitch_deg),
        chart("Path in steady flight, climb up", "path angle", |p| {
            p.path_angle_deg
        }),
    ]
}
