//! An airframe in plan and side view: parts, surfaces, balance point, neutral point, thrust lines and the way the air blows.

use super::marks::{AIR, INK, arrow, document, text};
use scenarios::balance::Balance;
use scenarios::build::{BuiltAirframe, Drawn};
use sim_core::frames::BuilderPoint;
use svg::node::element::{Circle, Group, Line, Path, Polygon, Polyline, Rectangle, Title};

/// Width of the page, px.
pub(super) const WIDTH: f64 = 960.0;
/// Room around the drawing, px.
pub(super) const MARGIN: f64 = 60.0;
/// Lines of text under the drawing: height of one, px.
pub(super) const TEXT_LINE: f64 = 20.0;

/// One view: how builder's axes lie on the page.
struct View {
    /// Page position of station 0 and of the other axis' zero, px.
    origin: (f64, f64),
    /// px in a metre.
    scale: f64,
    /// Which axis points up the page.
    up: fn(&BuilderPoint) -> f64,
}

impl View {
    fn at(&self, point: &BuilderPoint) -> (f64, f64) {
        (
            self.origin.0 + point.station_m * self.scale,
            self.origin.1 - (self.up)(point) * self.scale,
        )
    }

    fn points(&self, points: &[BuilderPoint]) -> String {
        let pairs: Vec<String> = points
            .iter()
            .map(|point| {
                let (x, y) = self.at(point);
                format!("{x:.1},{y:.1}")
            })
            .collect();
        pairs.join(" ")
    }
}

/// Draws an airframe as an SVG document: plan view seen from above, side view seen from the left, nose to the left.
pub fn draw(name: &str, airframe: &BuiltAirframe, things: &[Drawn], balance: &Balance) -> String {
    let points: Vec<BuilderPoint> = things.iter().flat_map(points_of).collect();
    let discs = airframe.motors.iter().map(|motor| motor.place);
    let all: Vec<BuilderPoint> = points.into_iter().chain(discs).collect();
    let span = |of: fn(&BuilderPoint) -> f64| {
        let values = all.iter().map(of);
        values.fold((0.0_f64, 0.0_f64), |(low, high), v| {
            (low.min(v), high.max(v))
        })
    };
    let (stations, rights, ups) = (span(|p| p.station_m), span(|p| p.right_m), span(|p| p.up_m));
    // Arrows of thrust and air stand out of the airframe by this, m.
    let room = 0.12;
    let scale = (WIDTH - 2.0 * MARGIN) / (stations.1 - stations.0 + 2.0 * room);
    let left = MARGIN + (room - stations.0) * scale;
    let plan = View {
        origin: (left, MARGIN + rights.1 * scale),
        scale,
        up: |p| p.right_m,
    };
    let plan_height = (rights.1 - rights.0) * scale + 2.0 * MARGIN;
    let side = View {
        origin: (left, plan_height + MARGIN + (ups.1 + 0.02) * scale),
        scale,
        up: |p| p.up_m,
    };
    let views_height = plan_height + (ups.1 - ups.0 + 0.04) * scale + 2.0 * MARGIN;
    let lines = legend(name, airframe, balance);
    let height = views_height + TEXT_LINE * lines.len() as f64 + 20.0;

    let mut drawing = document(WIDTH, height);
    for (view, title) in [
        (&plan, "from above, right wing up the page"),
        (&side, "from the left"),
    ] {
        drawing = drawing.add(view_of(view, title, airframe, things, balance));
    }
    for (i, line) in lines.iter().enumerate() {
        drawing = drawing.add(text(20.0, views_height + TEXT_LINE * i as f64, line, INK));
    }
    drawing.to_string()
}

fn points_of(thing: &Drawn) -> Vec<BuilderPoint> {
    match thing {
        Drawn::Sheet(points) | Drawn::Line(points) | Drawn::Surface(points) => points.clone(),
        Drawn::Body { corners, .. } => corners.to_vec(),
        Drawn::Lump { at, .. } => vec![*at],
    }
}

fn view_of(
    view: &View,
    title: &str,
    airframe: &BuiltAirframe,
    things: &[Drawn],
    balance: &Balance,
) -> Group {
    let mut group = Group::new();
    let mut lumps = 0_u32;
    for thing in things {
        group = match thing {
            Drawn::Sheet(points) => group.add(
                Polygon::new()
                    .set("points", view.points(points))
                    .set("class", "sheet"),
            ),
            Drawn::Line(points) => group.add(
                Polyline::new()
                    .set("points", view.points(points))
                    .set("class", "edge"),
            ),
            Drawn::Body { name, corners } => group.add(body(view, name, corners)),
            Drawn::Surface(points) => group.add(
                Polygon::new()
                    .set("points", view.points(points))
                    .set("class", "surface"),
            ),
            Drawn::Lump { name, at, mass_kg } => {
                let (x, y) = view.at(at);
                // Area in proportion to mass.
                let radius = 3.0 * (mass_kg * 1e3).sqrt();
                let lump = Circle::new()
                    .set("cx", format!("{x:.1}"))
                    .set("cy", format!("{y:.1}"))
                    .set("r", format!("{radius:.1}"))
                    .set("class", "lump");
                // Neighbours' names go to different heights, tied to their lumps by a thin line.
                let height = y - 14.0 - 14.0 * f64::from(lumps % 6);
                lumps += 1;
                let tie = Line::new()
                    .set("x1", format!("{x:.1}"))
                    .set("y1", format!("{y:.1}"))
                    .set("x2", format!("{x:.1}"))
                    .set("y2", format!("{height:.1}"))
                    .set("class", "tie");
                group
                    .add(tie)
                    .add(lump)
                    .add(text(x + 3.0, height, name, INK))
            }
        };
    }
    for i in 0..airframe.motors.len() {
        group = group.add(motor(view, airframe, i));
    }
    let up = balance.balance_up_mm * 1e-3;
    let neutral = view.at(&BuilderPoint::new(
        balance.neutral_point_station_mm * 1e-3,
        0.0,
        up,
    ));
    group = group.add(
        Polygon::new()
            .set(
                "points",
                format!(
                    "{:.1},{:.1} {:.1},{:.1} {:.1},{:.1}",
                    neutral.0,
                    neutral.1 - 8.0,
                    neutral.0 - 7.0,
                    neutral.1 + 5.0,
                    neutral.0 + 7.0,
                    neutral.1 + 5.0
                ),
            )
            .set("class", "neutral"),
    );
    let mark = view.at(&airframe.mass.balance);
    let cross = format!("M{0:.1} {1:.1}h-11m22 0h-11m0 -11v22", mark.0, mark.1);
    group
        .add(
            Circle::new()
                .set("cx", format!("{:.1}", mark.0))
                .set("cy", format!("{:.1}", mark.1))
                .set("r", 7)
                .set("class", "balance paper"),
        )
        .add(Path::new().set("d", cross).set("class", "balance"))
        // Beside the view's zero line, at the page's left.
        .add(text(4.0, view.origin.1 - 6.0, title, INK))
}

/// A body as the box it fills, its name in a tooltip: where it stands a part of the same name has its lump and label.
fn body(view: &View, name: &str, corners: &[BuilderPoint; 2]) -> Rectangle {
    let [(left, bottom), (right, top)] = [view.at(&corners[0]), view.at(&corners[1])];
    Rectangle::new()
        .set("x", format!("{left:.1}"))
        .set("y", format!("{top:.1}"))
        .set("width", format!("{:.1}", right - left))
        .set("height", format!("{:.1}", bottom - top))
        .set("class", "body")
        .add(Title::new(name))
}

/// A motor: its disc on edge, its thrust line, the pull on the airframe and the air it blows the other way.
fn motor(view: &View, airframe: &BuiltAirframe, i: usize) -> Group {
    let (motor, place) = (&airframe.vehicle.motors[i], airframe.motors[i].place);
    let along = |metres: f64| {
        let a = motor.axis * metres;
        // Body axes to builder's: x forward is minus station, z down is minus up.
        BuilderPoint::new(place.station_m - a.x, place.right_m + a.y, place.up_m - a.z)
    };
    let (hub, front, back) = (
        view.at(&place),
        view.at(&along(0.09)),
        view.at(&along(-0.09)),
    );
    let line = (front.0 - hub.0, front.1 - hub.1);
    let length = line.0.hypot(line.1).max(1e-9);
    let across = (-line.1 / length, line.0 / length);
    let radius = 0.5 * motor.propeller.diameter * view.scale;
    let disc = Line::new()
        .set("x1", format!("{:.1}", hub.0 - across.0 * radius))
        .set("y1", format!("{:.1}", hub.1 - across.1 * radius))
        .set("x2", format!("{:.1}", hub.0 + across.0 * radius))
        .set("y2", format!("{:.1}", hub.1 + across.1 * radius))
        .set("class", "disc");
    let far = view.at(&along(0.4));
    let thrust_line = Line::new()
        .set("x1", format!("{:.1}", hub.0))
        .set("y1", format!("{:.1}", hub.1))
        .set("x2", format!("{:.1}", far.0))
        .set("y2", format!("{:.1}", far.1))
        .set("class", "thrust-line");
    Group::new()
        .add(thrust_line)
        .add(disc)
        .add(arrow(hub, front, INK))
        .add(arrow(hub, back, AIR))
        .add(text(back.0 + 4.0, back.1 + 4.0, "air", AIR))
        .add(text(front.0 - 34.0, front.1 - 6.0, "thrust", INK))
}

fn legend(name: &str, airframe: &BuiltAirframe, balance: &Balance) -> Vec<String> {
    let mut lines = vec![
        format!(
            "{name}: {:.1} g; balance point (blue cross) {:.1} mm aft of the nose datum, {:.1} mm up;",
            balance.mass_g, balance.balance_station_mm, balance.balance_up_mm
        ),
        format!(
            "neutral point (orange) at {:.1} mm, static margin {:.1} % of the chord.",
            balance.neutral_point_station_mm,
            balance.static_margin_fraction * 100.0
        ),
        "Grey: parts, lumps by mass. Dashed: lifting surfaces. Purple: bodies.".to_owned(),
        "Black arrow: thrust on the airframe, dotted its line. Green arrow: the air it blows."
            .to_owned(),
    ];
    for (motor, named) in airframe.vehicle.motors.iter().zip(&airframe.motors) {
        let elevation = (-motor.axis.z).asin().to_degrees();
        let blows = if elevation > 0.05 {
            "down"
        } else if elevation < -0.05 {
            "up"
        } else {
            "straight"
        };
        lines.push(format!(
            "motor {}: thrust elevation {elevation:.1} deg, its air blows back and {blows}",
            named.name
        ));
    }
    lines
}
