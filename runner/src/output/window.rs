//! The window of angles and the nose against throttle, as a picture.

use plotters::coord::Shift;
use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;
use scenarios::thrustline::power::PowerCurve;
use scenarios::thrustline::window::AtAngle;
use std::fmt::Display;

/// What is drawn.
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

const BLUE: RGBColor = RGBColor(0, 114, 178);
const ORANGE: RGBColor = RGBColor(213, 94, 0);
const GREEN: RGBColor = RGBColor(0, 158, 115);
const SIZE: (u32, u32) = (960, 760);

/// Draws it as an SVG document.
///
/// # Errors
/// What the plotting library says where it refuses.
pub fn draw(picture: &Picture<'_>) -> Result<String, String> {
    let mut svg = String::new();
    {
        let root = SVGBackend::with_string(&mut svg, SIZE).into_drawing_area();
        root.fill(&WHITE).map_err(refused)?;
        let parts = root.split_evenly((2, 1));
        shares(&parts[0], picture)?;
        noses(&parts[1], picture)?;
        root.present().map_err(refused)?;
    }
    Ok(svg)
}

fn refused(error: impl Display) -> String {
    format!("the picture could not be drawn: {error}")
}

type Area<'a> = DrawingArea<SVGBackend<'a>, Shift>;

fn shares(area: &Area<'_>, picture: &Picture<'_>) -> Result<(), String> {
    let all = || picture.chosen.iter().chain(picture.stated);
    let low = all().map(|at| at.angle_deg).fold(f64::INFINITY, f64::min);
    let high = all()
        .map(|at| at.angle_deg)
        .fold(f64::NEG_INFINITY, f64::max);
    let range = if low < high {
        low - 0.5..high + 0.5
    } else {
        low - 1.0..low + 1.0
    };
    let title = format!(
        "{}: share of throws that meet every condition",
        picture.name
    );
    let mut chart = ChartBuilder::on(area)
        .caption(title, ("sans-serif", 18))
        .margin(10)
        .x_label_area_size(40)
        .y_label_area_size(50)
        .build_cartesian_2d(range.clone(), 0.0..1.05)
        .map_err(refused)?;
    chart
        .configure_mesh()
        .light_line_style(WHITE)
        .x_desc(picture.angle)
        .y_desc("share")
        .draw()
        .map_err(refused)?;
    if let Some((from, to)) = picture.window {
        let band = Rectangle::new([(from, 0.0), (to, 1.05)], GREEN.mix(0.2).filled());
        chart.draw_series([band]).map_err(refused)?;
    }
    let wanted = [(range.start, picture.wanted), (range.end, picture.wanted)];
    chart
        .draw_series(LineSeries::new(wanted, BLACK.mix(0.6)))
        .map_err(refused)?;
    if let Some(best) = picture.best_deg {
        let line = LineSeries::new([(best, 0.0), (best, 1.05)], GREEN.stroke_width(2));
        chart
            .draw_series(line)
            .map_err(refused)?
            .label(format!("best, {best:.1} deg, in its window"))
            .legend(|(x, y)| PathElement::new([(x, y), (x + 18, y)], GREEN.stroke_width(2)));
    }
    for (list, colour, label) in [
        (picture.chosen, BLUE, "choosing flights, with intervals"),
        (picture.stated, ORANGE, "stating flights, with intervals"),
    ] {
        let bars = list.iter().map(|at| {
            let ends = [
                (at.angle_deg, at.meets.low_fraction),
                (at.angle_deg, at.meets.high_fraction),
            ];
            PathElement::new(ends.to_vec(), colour.stroke_width(2))
        });
        chart.draw_series(bars).map_err(refused)?;
        let dots = list.iter().map(|at| {
            let share = at.meets.share_fraction.unwrap_or(0.0);
            Circle::new((at.angle_deg, share), 4, colour.filled())
        });
        chart
            .draw_series(dots)
            .map_err(refused)?
            .label(label)
            .legend(move |(x, y)| Circle::new((x + 9, y), 4, colour.filled()));
    }
    legend(&mut chart)
}

fn noses(area: &Area<'_>, picture: &Picture<'_>) -> Result<(), String> {
    let curves = || std::iter::once(picture.before).chain(picture.after);
    let angles = || {
        curves().flat_map(|c| {
            c.points
                .iter()
                .flat_map(|p| [p.pitch_deg, p.path_angle_deg])
        })
    };
    let low = angles().fold(-1.0, f64::min);
    let high = angles().fold(1.0, f64::max);
    let mut chart = ChartBuilder::on(area)
        .caption("steady flight against throttle", ("sans-serif", 18))
        .margin(10)
        .x_label_area_size(40)
        .y_label_area_size(50)
        .build_cartesian_2d(0.0..1.0, low - 2.0..high + 2.0)
        .map_err(refused)?;
    chart
        .configure_mesh()
        .light_line_style(WHITE)
        .x_desc("throttle, fraction")
        .y_desc("deg")
        .draw()
        .map_err(refused)?;
    for (curve, colour, when) in std::iter::once((picture.before, ORANGE, "as it is")).chain(
        picture
            .after
            .map(|curve| (curve, BLUE, "at the best angle")),
    ) {
        let nose = curve
            .points
            .iter()
            .map(|p| (p.throttle_fraction, p.pitch_deg));
        chart
            .draw_series(LineSeries::new(nose, colour.stroke_width(3)))
            .map_err(refused)?
            .label(format!("nose, {when}"))
            .legend(move |(x, y)| PathElement::new([(x, y), (x + 18, y)], colour.stroke_width(3)));
        let path = curve
            .points
            .iter()
            .map(|p| (p.throttle_fraction, p.path_angle_deg));
        chart
            .draw_series(DashedLineSeries::new(path, 6, 4, colour.stroke_width(2)))
            .map_err(refused)?
            .label(format!("path (dashed), {when}"))
            .legend(move |(x, y)| PathElement::new([(x, y), (x + 8, y)], colour.stroke_width(2)));
    }
    legend(&mut chart)
}

type Chart<'a, 'b> = ChartContext<'a, SVGBackend<'b>, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

fn legend<'a, 'b: 'a>(chart: &mut Chart<'a, 'b>) -> Result<(), String> {
    chart
        .configure_series_labels()
        .background_style(WHITE.mix(0.8))
        .border_style(BLACK.mix(0.3))
        .position(SeriesLabelPosition::LowerLeft)
        .draw()
        .map_err(refused)
}
