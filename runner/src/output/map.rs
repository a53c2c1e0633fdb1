//! A map of where throws come down: local metres, north up; zones, walls, wind, release, landings, ellipse, hulls.

use super::drawing::{AIR, INK, MARGIN, TEXT_LINE, WIDTH, arrow, background, text};
use scenarios::footprint::Cloud;
use sim_core::site::{PlanPoint, Site};
use svg::Document;
use svg::node::element::{Circle, ClipPath, Ellipse as EllipseNode, Group, Line, Path, Rectangle};

const LANDING: &str = "#0072b2";
const CUT: &str = "#d55e00";
const ZONE: &str = "#cc79a7";
const WALL: &str = "#606060";
/// Height of the map at most, px.
const MOST_HEIGHT: f64 = 1200.0;

/// What is on the map.
pub struct Map<'a> {
    /// Title.
    pub name: &'a str,
    /// Zones and walls.
    pub site: &'a Site,
    /// Velocity of the mean wind, m/s north and east.
    pub wind_m_s: PlanPoint,
    /// Heading of the throw, rad.
    pub heading_rad: f64,
    /// Where throws come down.
    pub landings: &'a [PlanPoint],
    /// Their cloud.
    pub cloud: Option<&'a Cloud>,
    /// Where they come down after a power cut.
    pub cut_landings: &'a [PlanPoint],
    /// Their cloud.
    pub cut_cloud: Option<&'a Cloud>,
    /// Lines under the map.
    pub lines: &'a [String],
}

/// How local metres lie on the page.
struct Frame {
    west_m: f64,
    north_m: f64,
    /// px in a metre.
    scale: f64,
}

impl Frame {
    fn at(&self, place: &PlanPoint) -> (f64, f64) {
        (
            MARGIN + (place.y - self.west_m) * self.scale,
            MARGIN + (self.north_m - place.x) * self.scale,
        )
    }

    fn path<'p>(&self, corners: impl Iterator<Item = &'p PlanPoint>) -> String {
        let points: Vec<String> = corners
            .map(|corner| {
                let (x, y) = self.at(corner);
                format!("{x:.1} {y:.1}")
            })
            .collect();
        format!("M{}Z", points.join("L"))
    }
}

fn plan(corners: &[(f64, f64)]) -> Vec<PlanPoint> {
    corners.iter().map(|&(n, e)| PlanPoint::new(n, e)).collect()
}

/// Draws the map as an SVG document. Zones reach past its edge where they are large.
pub fn draw(map: &Map<'_>) -> String {
    let hall = map.site.hall.as_ref().map(|hall| hall.corners());
    let mut shown: Vec<PlanPoint> = vec![PlanPoint::zeros()];
    shown.extend(map.landings.iter().chain(map.cut_landings));
    shown.extend(hall.into_iter().flatten());
    if let Some((cloud, ellipse)) = map.cloud.and_then(|cloud| Some((cloud, cloud.ellipse?))) {
        for (n, e) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
            let reach = PlanPoint::new(n, e) * ellipse.semi_major_m;
            shown.push(PlanPoint::new(cloud.mean_north_m, cloud.mean_east_m) + reach);
        }
    }
    let bound =
        |pick: fn(f64, f64) -> f64, axis: usize| shown.iter().map(|p| p[axis]).fold(0.0, pick);
    let (south, north) = (bound(f64::min, 0), bound(f64::max, 0));
    let (west, east) = (bound(f64::min, 1), bound(f64::max, 1));
    let room = 0.08 * (north - south).max(east - west).max(5.0);
    let (wide, high) = (east - west + 2.0 * room, north - south + 2.0 * room);
    let inner = (WIDTH - 2.0 * MARGIN, MOST_HEIGHT - 2.0 * MARGIN);
    let scale = (inner.0 / wide).min(inner.1 / high);
    let frame = Frame {
        // Narrow maps stand in the middle of the page.
        west_m: west - room - 0.5 * (inner.0 / scale - wide),
        north_m: north + room,
        scale,
    };
    let map_height = high * scale;
    let page_height = map_height + 2.0 * MARGIN + TEXT_LINE * map.lines.len() as f64 + 20.0;

    let window = Rectangle::new()
        .set("x", MARGIN)
        .set("y", MARGIN)
        .set("width", inner.0)
        .set("height", format!("{map_height:.1}"));
    let mut inside = Group::new().set("clip-path", "url(#window)");
    for zone in &map.site.zones {
        let rings: String = zone
            .rings
            .iter()
            .map(|ring| frame.path(ring.iter()))
            .collect();
        inside = inside.add(
            Path::new()
                .set("d", rings)
                .set("fill", ZONE)
                .set("fill-opacity", 0.25)
                .set("fill-rule", "evenodd")
                .set("stroke", ZONE),
        );
        if let Some(corner) = zone.rings.first().and_then(|ring| ring.first()) {
            let (x, y) = frame.at(corner);
            let x = x.clamp(MARGIN + 4.0, WIDTH - MARGIN - 120.0);
            let y = y.clamp(MARGIN + 16.0, MARGIN + map_height - 6.0);
            inside = inside.add(text(x + 4.0, y - 4.0, &zone.name, INK));
        }
    }
    if let Some(corners) = hall {
        inside = inside.add(outline(frame.path(corners.iter()), WALL, 3.0, ""));
    }
    for (cloud, colour) in [(map.cut_cloud, CUT), (map.cloud, LANDING)] {
        if let Some(cloud) = cloud.filter(|cloud| cloud.hull_north_east_m.len() > 2) {
            let corners = plan(&cloud.hull_north_east_m);
            inside = inside.add(outline(frame.path(corners.iter()), colour, 1.0, "5 4"));
        }
    }
    for (places, colour, radius) in [(map.cut_landings, CUT, 1.5), (map.landings, LANDING, 2.5)] {
        for place in places {
            let (x, y) = frame.at(place);
            inside = inside.add(
                Circle::new()
                    .set("cx", format!("{x:.1}"))
                    .set("cy", format!("{y:.1}"))
                    .set("r", radius)
                    .set("fill", colour)
                    .set("fill-opacity", 0.6),
            );
        }
    }
    if let Some((cloud, ellipse)) = map.cloud.and_then(|cloud| Some((cloud, cloud.ellipse?))) {
        let (x, y) = frame.at(&PlanPoint::new(cloud.mean_north_m, cloud.mean_east_m));
        inside = inside.add(
            EllipseNode::new()
                .set("cx", format!("{x:.1}"))
                .set("cy", format!("{y:.1}"))
                .set("rx", format!("{:.1}", ellipse.semi_minor_m * scale))
                .set("ry", format!("{:.1}", ellipse.semi_major_m * scale))
                .set(
                    "transform",
                    format!("rotate({:.2} {x:.1} {y:.1})", ellipse.major_heading_deg),
                )
                .set("fill", "none")
                .set("stroke", LANDING)
                .set("stroke-width", 2),
        );
    }
    let release = frame.at(&PlanPoint::zeros());
    let (sin, cos) = map.heading_rad.sin_cos();
    let ahead = (release.0 + 30.0 * sin, release.1 - 30.0 * cos);
    inside = inside
        .add(
            Circle::new()
                .set("cx", format!("{:.1}", release.0))
                .set("cy", format!("{:.1}", release.1))
                .set("r", 5)
                .set("fill", INK),
        )
        .add(arrow(release, ahead, INK))
        .add(text(release.0 + 9.0, release.1 + 14.0, "release", INK));

    let mut document = Document::new()
        .set("viewBox", (0, 0, WIDTH as i64, page_height.ceil() as i64))
        .set("font-family", "sans-serif")
        .set("font-size", 13)
        .add(ClipPath::new().set("id", "window").add(window.clone()))
        .add(background(page_height))
        .add(text(MARGIN, 24.0, map.name, INK))
        .add(inside)
        .add(window.set("fill", "none").set("stroke", WALL))
        .add(wind(map.wind_m_s))
        .add(scale_bar(scale, MARGIN + map_height));
    for (i, line) in map.lines.iter().enumerate() {
        let y = map_height + 2.0 * MARGIN + TEXT_LINE * i as f64;
        document = document.add(text(20.0, y, line, INK));
    }
    document.to_string()
}

fn outline(path: String, colour: &str, width: f64, dashes: &str) -> Path {
    Path::new()
        .set("d", path)
        .set("fill", "none")
        .set("stroke", colour)
        .set("stroke-width", width)
        .set("stroke-dasharray", dashes)
}

/// Where the wind blows to, and how fast; above the map's right corner, beside the mark of north.
fn wind(velocity_m_s: PlanPoint) -> Group {
    let north = arrow(
        (WIDTH - MARGIN - 10.0, 48.0),
        (WIDTH - MARGIN - 10.0, 14.0),
        INK,
    );
    let group = Group::new()
        .add(north)
        .add(text(WIDTH - MARGIN - 4.0, 24.0, "N", INK));
    let speed = velocity_m_s.norm();
    if speed < 1e-3 {
        return group.add(text(WIDTH - MARGIN - 160.0, 34.0, "no mean wind", AIR));
    }
    let (middle, half) = ((WIDTH - MARGIN - 60.0, 31.0), velocity_m_s * (18.0 / speed));
    let from = (middle.0 - half.y, middle.1 + half.x);
    let to = (middle.0 + half.y, middle.1 - half.x);
    let label = format!("base wind {speed:.1} m/s");
    group
        .add(arrow(from, to, AIR))
        .add(text(WIDTH - MARGIN - 215.0, 34.0, &label, AIR))
}

/// A bar of a round length under the map.
fn scale_bar(scale: f64, below: f64) -> Group {
    let lengths_m = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0];
    let length_m = lengths_m
        .into_iter()
        .rfind(|length| length * scale <= 240.0)
        .unwrap_or(1.0);
    let y = below + 16.0;
    let bar = Line::new()
        .set("x1", MARGIN)
        .set("y1", format!("{y:.1}"))
        .set("x2", format!("{:.1}", MARGIN + length_m * scale))
        .set("y2", format!("{y:.1}"))
        .set("stroke", INK)
        .set("stroke-width", 3);
    let label = format!("{length_m} m");
    Group::new()
        .add(bar)
        .add(text(MARGIN, y + 18.0, &label, INK))
}

#[cfg(test)]
mod tests {
    use super::*;
    use sim_core::site::Zone;

    // By hand: north is up the page and east to its right; a landing 20 m north and 10 m west lies above and left of the release.
    #[test]
    fn north_is_up_and_everything_is_named() {
        let landings = [
            PlanPoint::new(20.0, -10.0),
            PlanPoint::new(22.0, -9.0),
            PlanPoint::new(21.0, -12.0),
        ];
        let cloud = Cloud::of(&landings, 0.95).unwrap();
        let pond = Zone {
            name: "pond & reeds".into(),
            kind: "water".into(),
            rings: vec![plan(&[(15.0, -15.0), (15.0, 0.0), (30.0, 0.0)])],
        };
        let site = Site {
            zones: vec![pond],
            ..Site::default()
        };
        let svg = draw(&Map {
            name: "three throws",
            site: &site,
            wind_m_s: PlanPoint::new(-2.0, 0.0),
            heading_rad: 0.0,
            landings: &landings,
            cloud: Some(&cloud),
            cut_landings: &[],
            cut_cloud: None,
            lines: &["a line".to_owned()],
        });
        for word in [
            "three throws",
            "pond &amp; reeds",
            "base wind 2.0 m/s",
            "release",
            "a line",
            "<ellipse",
        ] {
            assert!(svg.contains(word), "{word}");
        }
        assert!(!svg.contains("NaN"));
        let circles: Vec<(f64, f64, f64)> = svg
            .split("<circle ")
            .skip(1)
            .map(|node| {
                let value = |name: &str| {
                    let start = node.find(&format!("{name}=\"")).unwrap() + name.len() + 2;
                    node[start..]
                        .split('"')
                        .next()
                        .unwrap()
                        .parse::<f64>()
                        .unwrap()
                };
                (value("cx"), value("cy"), value(" r").max(0.0))
            })
            .collect();
        let release = circles.iter().find(|c| c.2 == 5.0).unwrap();
        let landing = circles.iter().find(|c| c.2 == 2.5).unwrap();
        let (right, down) = (landing.0 - release.0, landing.1 - release.1);
        assert!(right < 0.0 && down < 0.0 && (down / right - 2.0).abs() < 0.02);
    }
}
