//! A map of where throws come down: local metres, north up; zones, walls, wind, release, landings, ellipse, hulls.

use super::drawing::{MARGIN, TEXT_LINE, WIDTH};
use super::marks::{AIR, INK, arrow, document, text};
use super::table::number;
use scenarios::footprint::Cloud;
use serde::{Deserialize, Serialize};
use sim_core::site::{PlanPoint, Site};
use svg::node::element::{
    Circle, ClipPath, Ellipse as EllipseNode, Group, Line, Path, Rectangle, SVG, Title,
};

/// Height of the map at most, in widths of it.
const MOST_HEIGHT: f64 = 1.25;
/// Room round the map, px.
const EDGE: f64 = 10.0;
/// Room over it for wind and north, px.
const OVER: f64 = 60.0;
/// Room under it for the scale, px.
const UNDER: f64 = 44.0;

/// A zone in plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MapZone {
    /// Its name.
    pub name: String,
    /// What is there.
    pub kind: String,
    /// Rings of its outline and holes, corners north and east of the release, m.
    pub rings_north_east_m: Vec<Vec<(f64, f64)>>,
}

/// What lies under the throws: the base scenario's zones, hall, wind and heading.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Ground {
    /// Zones to miss.
    pub zones: Vec<MapZone>,
    /// Corners of the hall, north and east, m; none outdoors.
    pub hall_north_east_m: Vec<(f64, f64)>,
    /// Velocity of the mean wind to the north, m/s.
    pub wind_to_north_m_s: f64,
    /// And to the east, m/s.
    pub wind_to_east_m_s: f64,
    /// Heading of the throw, deg.
    pub heading_deg: f64,
}

impl Ground {
    /// Of a site, the velocity of its mean wind (m/s, north and east) and the heading of the throw (rad).
    pub fn new(site: &Site, wind_m_s: PlanPoint, heading_rad: f64) -> Self {
        let pairs = |list: &[PlanPoint]| list.iter().map(|p| (p.x, p.y)).collect();
        let zones = site.zones.iter().map(|zone| MapZone {
            name: zone.name.clone(),
            kind: zone.kind.clone(),
            rings_north_east_m: zone.rings.iter().map(|ring| pairs(ring)).collect(),
        });
        let hall = site.hall.as_ref();
        Ground {
            zones: zones.collect(),
            hall_north_east_m: hall.map_or_else(Vec::new, |hall| pairs(hall.corners())),
            wind_to_north_m_s: wind_m_s.x,
            wind_to_east_m_s: wind_m_s.y,
            heading_deg: heading_rad.to_degrees(),
        }
    }
}

/// What is on the map.
#[derive(Debug)]
pub struct Map<'a> {
    /// Title.
    pub name: &'a str,
    /// What lies under the throws.
    pub ground: &'a Ground,
    /// Where throws come down.
    pub landings: &'a [PlanPoint],
    /// Their cloud.
    pub cloud: Option<&'a Cloud>,
    /// Where they come down after a power cut.
    pub cut_landings: &'a [PlanPoint],
    /// Their cloud.
    pub cut_cloud: Option<&'a Cloud>,
}

/// How local metres lie on the page.
#[derive(Clone, Copy, Debug)]
pub struct Frame {
    west_m: f64,
    north_m: f64,
    /// px in a metre.
    scale: f64,
}

impl Frame {
    fn at(&self, place: &PlanPoint) -> (f64, f64) {
        let [x0, kx, y0, ky] = self.scales();
        (x0 + kx * place.y, y0 + ky * place.x)
    }

    /// px of 0 and px in a metre, along the page (east) and up it (north).
    pub fn scales(&self) -> [f64; 4] {
        [
            EDGE - self.west_m * self.scale,
            self.scale,
            OVER + self.north_m * self.scale,
            -self.scale,
        ]
    }

    fn path(&self, corners: &[PlanPoint]) -> String {
        let points: Vec<String> = corners
            .iter()
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

/// Draws the map as a picture that stands alone, with lines of text under it.
pub fn draw(map: &Map<'_>, lines: &[String]) -> String {
    let width = WIDTH - 2.0 * MARGIN;
    let (picture, height, _) = picture(map, width);
    let page_height = height + 2.0 * MARGIN + TEXT_LINE * lines.len() as f64;
    let mut drawing = document(WIDTH, page_height)
        .add(text(MARGIN, 24.0, map.name, INK))
        .add(
            picture
                .set("x", MARGIN)
                .set("y", 0.5 * MARGIN)
                .set("width", width)
                .set("height", format!("{height:.1}")),
        );
    for (i, line) in lines.iter().enumerate() {
        let y = height + 1.2 * MARGIN + TEXT_LINE * i as f64;
        drawing = drawing.add(text(20.0, y, line, INK));
    }
    drawing.to_string()
}

/// The map alone, so many px wide: the picture, its height (px) and how metres lie on it. Zones reach past its edge where they are large.
pub fn picture(map: &Map<'_>, width: f64) -> (SVG, f64, Frame) {
    let hall = plan(&map.ground.hall_north_east_m);
    let mut shown: Vec<PlanPoint> = vec![PlanPoint::zeros()];
    shown.extend(map.landings.iter().chain(map.cut_landings));
    shown.extend(&hall);
    let ellipse = map.cloud.and_then(|cloud| Some((cloud, cloud.ellipse?)));
    if let Some((cloud, ellipse)) = ellipse {
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
    let inner = (width - 2.0 * EDGE, MOST_HEIGHT * width);
    let scale = (inner.0 / wide).min(inner.1 / high);
    let frame = Frame {
        // Narrow maps stand in the middle of the page.
        west_m: west - room - 0.5 * (inner.0 / scale - wide),
        north_m: north + room,
        scale,
    };
    let map_height = high * scale;
    let height = OVER + map_height + UNDER;
    let window = Rectangle::new()
        .set("x", EDGE)
        .set("y", OVER)
        .set("width", inner.0)
        .set("height", format!("{map_height:.1}"));
    let mut inside = Group::new().set("clip-path", "url(#map-window)");
    for zone in &map.ground.zones {
        let rings: Vec<Vec<PlanPoint>> = zone.rings_north_east_m.iter().map(|r| plan(r)).collect();
        let d: String = rings.iter().map(|ring| frame.path(ring)).collect();
        let what = format!("{} ({})", zone.name, zone.kind.replace('_', " "));
        inside = inside.add(
            Path::new()
                .set("class", "zone")
                .set("d", d)
                .set("fill-rule", "evenodd")
                .add(Title::new(what)),
        );
    }
    if !hall.is_empty() {
        inside = inside.add(outline(frame.path(&hall), "wall hall"));
    }
    for (cloud, class) in [(map.cut_cloud, "cut"), (map.cloud, "landing")] {
        if let Some(cloud) = cloud.filter(|cloud| cloud.hull_north_east_m.len() > 2) {
            let corners = plan(&cloud.hull_north_east_m);
            inside = inside.add(outline(frame.path(&corners), &format!("{class} dashed")));
        }
    }
    // Thousands of them: one path of dots.
    let dots: String = map
        .cut_landings
        .iter()
        .map(|place| {
            let (x, y) = frame.at(place);
            format!("M{x:.1} {y:.1}h0")
        })
        .collect();
    inside = inside.add(Path::new().set("class", "cut dots").set("d", dots));
    for (throw, place) in map.landings.iter().enumerate() {
        let (x, y) = frame.at(place);
        let words = format!(
            "landing {}: {} m north, {} m east",
            throw + 1,
            number(Some(place.x), 1),
            number(Some(place.y), 1)
        );
        inside = inside.add(
            Circle::new()
                .set("class", "landing spots")
                .set("cx", format!("{x:.1}"))
                .set("cy", format!("{y:.1}"))
                .set("r", 2.5)
                .add(Title::new(words)),
        );
    }
    if let Some((cloud, ellipse)) = ellipse {
        let (x, y) = frame.at(&PlanPoint::new(cloud.mean_north_m, cloud.mean_east_m));
        inside = inside.add(
            EllipseNode::new()
                .set("class", "landing ring")
                .set("cx", format!("{x:.1}"))
                .set("cy", format!("{y:.1}"))
                .set("rx", format!("{:.1}", ellipse.semi_minor_m * scale))
                .set("ry", format!("{:.1}", ellipse.semi_major_m * scale))
                .set(
                    "transform",
                    format!("rotate({:.2} {x:.1} {y:.1})", ellipse.major_heading_deg),
                ),
        );
    }
    let release = frame.at(&PlanPoint::zeros());
    let (sin, cos) = map.ground.heading_deg.to_radians().sin_cos();
    let ahead = (release.0 + 30.0 * sin, release.1 - 30.0 * cos);
    inside = inside
        .add(
            Circle::new()
                .set("class", INK)
                .set("cx", format!("{:.1}", release.0))
                .set("cy", format!("{:.1}", release.1))
                .set("r", 5),
        )
        .add(arrow(release, ahead, INK))
        .add(text(release.0 + 9.0, release.1 + 14.0, "release", INK));
    for zone in &map.ground.zones {
        let corner = zone
            .rings_north_east_m
            .first()
            .and_then(|ring| ring.first());
        if let Some(&(n, e)) = corner {
            let (x, y) = frame.at(&PlanPoint::new(n, e));
            let x = x.clamp(EDGE + 4.0, width - EDGE - 110.0);
            let y = y.clamp(OVER + 18.0, OVER + map_height - 4.0);
            inside = inside.add(text(x, y - 2.0, &zone.name, INK));
        }
    }
    let wind = PlanPoint::new(map.ground.wind_to_north_m_s, map.ground.wind_to_east_m_s);
    let picture = SVG::new()
        .set("viewBox", (0, 0, width as i64, height.ceil() as i64))
        .set("class", "chart map")
        .set("role", "img")
        .set("aria-label", in_words(map))
        .add(ClipPath::new().set("id", "map-window").add(window.clone()))
        .add(inside)
        .add(window.set("class", "wall"))
        .add(wind_and_north(wind, width))
        .add(scale_bar(scale, OVER + map_height, inner.0));
    (picture, height, frame)
}

fn in_words(map: &Map<'_>) -> String {
    let mut words = format!("Map, north up: {}.", map.name);
    if let Some(cloud) = map.cloud {
        words += &format!(
            " {} landings, on the mean {} m north and {} m east of the release, the farthest {} m away.",
            cloud.landings,
            number(Some(cloud.mean_north_m), 1),
            number(Some(cloud.mean_east_m), 1),
            number(Some(cloud.farthest_m), 1)
        );
    }
    if let Some(cloud) = map.cut_cloud {
        words += &format!(
            " After power cuts: the farthest {} m away.",
            number(Some(cloud.farthest_m), 1)
        );
    }
    let names: Vec<&str> = map
        .ground
        .zones
        .iter()
        .map(|zone| zone.name.as_str())
        .collect();
    if !names.is_empty() {
        words += &format!(" Zones: {}.", names.join(", "));
    }
    words
}

fn outline(path: String, class: &str) -> Path {
    Path::new().set("d", path).set("class", class)
}

/// Where the wind blows to, and how fast; above the map's right corner, beside the mark of north.
fn wind_and_north(velocity_m_s: PlanPoint, width: f64) -> Group {
    let right = width - EDGE;
    let north = arrow((right - 22.0, 50.0), (right - 22.0, 16.0), INK);
    let group = Group::new()
        .add(north)
        .add(text(right - 14.0, 28.0, "N", INK));
    let speed = velocity_m_s.norm();
    if speed < 1e-3 {
        return group.add(text(right - 50.0, 38.0, "no mean wind", "ink end"));
    }
    let (middle, half) = ((right - 64.0, 33.0), velocity_m_s * (18.0 / speed));
    let from = (middle.0 - half.y, middle.1 + half.x);
    let to = (middle.0 + half.y, middle.1 - half.x);
    let label = format!("base wind {speed:.1} m/s");
    group
        .add(arrow(from, to, AIR))
        .add(text(right - 92.0, 38.0, &label, "air end"))
}

/// A bar of a round length under the map.
fn scale_bar(scale: f64, below: f64, room: f64) -> Group {
    let lengths_m = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0];
    let length_m = lengths_m
        .into_iter()
        .rfind(|length| length * scale <= 0.3 * room)
        .unwrap_or(1.0);
    let y = below + 14.0;
    let bar = Line::new()
        .set("class", "disc")
        .set("x1", EDGE)
        .set("y1", format!("{y:.1}"))
        .set("x2", format!("{:.1}", EDGE + length_m * scale))
        .set("y2", format!("{y:.1}"));
    let label = format!("{length_m} m");
    Group::new().add(bar).add(text(EDGE, y + 18.0, &label, INK))
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
        let ground = Ground::new(&site, PlanPoint::new(-2.0, 0.0), 0.0);
        let map = Map {
            name: "three throws",
            ground: &ground,
            landings: &landings,
            cloud: Some(&cloud),
            cut_landings: &[],
            cut_cloud: None,
        };
        let svg = draw(&map, &["a line".to_owned()]);
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
