//! A scenario's site: whether it makes sense, and what `sim_core` makes of it (MODEL.md § 9.1).

mod geojson;
pub mod projection;

use crate::check::{name_is_plain, over_zero, within};
use crate::error::{Problem, number, quoted};
use crate::field::FieldPath;
use crate::outline::NamedBytes;
use crate::outline::polygon::is_simple;
use crate::read::nearest_file_of_kind;
use crate::scenario_file::{Hall, LaunchPoint, ScenarioFile, Site};
use crate::summary::word;
use crate::units::rad_from_deg;
use sim_core::site::{self as core, PlanPoint};
use std::path::Path;

type Check = Result<(), Problem>;

/// Farthest a wall, a corner or a zone may be from the release, m: as far as the plane projection holds (MODEL.md § 9.1).
pub(crate) const FARTHEST_M: f64 = 20_000.0;
/// Most corners of one zone, and of all zones of a file.
const MOST_CORNERS: usize = 20_000;

/// Checks what a site file says by itself.
pub(crate) fn check(site: &Site, at: &FieldPath) -> Check {
    within(at, "ground_height_m", site.ground_height_m, -90.0, 2000.0)?;
    for (i, wall) in site.walls.iter().enumerate() {
        let at = at.key("walls").index(i);
        within(&at, "heading_deg", wall.heading_deg, -360.0, 360.0)?;
        over_zero(&at, "distance_m", wall.distance_m)?;
    }
    if let Some(hall) = &site.hall {
        check_hall(hall, site.ground_height_m, &at.key("hall"))?;
    }
    if let Some(point) = &site.launch_point {
        check_launch_point(point, &at.key("launch_point"))?;
    }
    let zones = at.key("zones");
    for (i, zone) in site.zones.iter().enumerate() {
        let at = zones.index(i);
        name_is_plain(&at.key("name"), &zone.name)?;
        let corners = zone.corners.iter().map(|c| (c.north_m, c.east_m)).collect();
        check_corners(corners, &at.key("corners"))?;
    }
    Ok(())
}

fn check_launch_point(point: &LaunchPoint, at: &FieldPath) -> Check {
    within(at, "longitude_deg", point.longitude_deg, -180.0, 180.0)?;
    let limit = projection::LARGEST_LATITUDE_DEG;
    within(at, "latitude_deg", point.latitude_deg, -limit, limit)
}

fn check_corners(corners: Vec<(f64, f64)>, at: &FieldPath) -> Check {
    if corners.len() > MOST_CORNERS {
        let found = format!("{} corners", corners.len());
        return Err(Problem::new(
            at.clone(),
            found,
            format!("{MOST_CORNERS} at most"),
        ));
    }
    for (k, corner) in corners.iter().enumerate() {
        within(&at.index(k), "north_m", corner.0, -FARTHEST_M, FARTHEST_M)?;
        within(&at.index(k), "east_m", corner.1, -FARTHEST_M, FARTHEST_M)?;
    }
    is_simple(&corners, at).map_err(|problem| Problem {
        wanted: match problem.found.starts_with("the edges") {
            true => "corners in order around the edge, no edge crossing or touching another".into(),
            false => problem.wanted,
        },
        ..problem
    })
}

fn check_hall(hall: &Hall, ground_m: f64, at: &FieldPath) -> Check {
    let height = hall.ceiling_height_m;
    if height.is_nan() || height <= ground_m || height > 1000.0 {
        let wanted = format!("a number over {} and up to 1000", number(ground_m));
        return Err(Problem::new(
            at.key("ceiling_height_m"),
            number(height),
            wanted,
        ));
    }
    let wanted = "\"rectangle\" or \"corners\"";
    match (&hall.rectangle, hall.corners.as_slice()) {
        (Some(_), [_, ..]) => Err(Problem::new(at.clone(), "both of them", wanted)),
        (None, []) => Err(Problem::new(at.clone(), "neither of them", wanted)),
        (Some(rectangle), []) => {
            let at = at.key("rectangle");
            for (name, distance) in [
                ("ahead_m", rectangle.ahead_m),
                ("behind_m", rectangle.behind_m),
                ("left_m", rectangle.left_m),
                ("right_m", rectangle.right_m),
            ] {
                over_zero(&at, name, distance)?;
                within(&at, name, distance, 0.0, FARTHEST_M)?;
            }
            let heading = rectangle.heading_deg.unwrap_or(0.0);
            within(&at, "heading_deg", heading, -360.0, 360.0)
        }
        (None, corners) => {
            let at = at.key("corners");
            for (k, corner) in corners.iter().enumerate() {
                if let Some(name) = &corner.wall_name {
                    name_is_plain(&at.index(k).key("wall_name"), name)?;
                }
            }
            check_corners(corners.iter().map(|c| (c.north_m, c.east_m)).collect(), &at)
        }
    }
}

/// The site as flown, without what a zones file adds. The launch heading stands where a hall does not give its own.
pub(crate) fn build(file: &ScenarioFile) -> core::Site {
    let site = &file.site;
    core::Site {
        ground_height_m: site.ground_height_m,
        walls: site
            .walls
            .iter()
            .map(|wall| core::Wall {
                heading_rad: rad_from_deg(wall.heading_deg),
                distance_m: wall.distance_m,
            })
            .collect(),
        hall: site
            .hall
            .as_ref()
            .map(|hall| build_hall(hall, file.launch.heading_deg)),
        zones: site
            .zones
            .iter()
            .map(|zone| core::Zone {
                name: zone.name.clone(),
                kind: word(&zone.kind),
                rings: vec![
                    zone.corners
                        .iter()
                        .map(|c| PlanPoint::new(c.north_m, c.east_m))
                        .collect(),
                ],
            })
            .collect(),
    }
}

fn build_hall(hall: &Hall, launch_heading_deg: f64) -> core::Hall {
    let (corners, names) = match &hall.rectangle {
        Some(box_) => {
            let heading = rad_from_deg(box_.heading_deg.unwrap_or(launch_heading_deg));
            let (sin, cos) = libm::sincos(heading);
            let at = |ahead: f64, right: f64| {
                PlanPoint::new(ahead * cos - right * sin, ahead * sin + right * cos)
            };
            let (ahead, behind) = (box_.ahead_m, -box_.behind_m);
            let (left, right) = (-box_.left_m, box_.right_m);
            let corners = vec![
                at(ahead, left),
                at(ahead, right),
                at(behind, right),
                at(behind, left),
            ];
            let names = ["ahead", "right", "behind", "left"].map(str::to_owned);
            (corners, names.to_vec())
        }
        None => hall
            .corners
            .iter()
            .enumerate()
            .map(|(k, corner)| {
                let name = corner.wall_name.clone();
                (
                    PlanPoint::new(corner.north_m, corner.east_m),
                    name.unwrap_or_else(|| (k + 1).to_string()),
                )
            })
            .unzip(),
    };
    core::Hall::new(corners, names, hall.ceiling_height_m)
}

/// Zones out of the GeoJSON file a site names, and the file's name and bytes, for hashing. `folder` is the one the scenario lies in, and
/// the same as the user would name it; none where the scenario did not come from a file.
pub(crate) fn zones_of_file(
    site: &Site,
    folder: Option<(&Path, &Path)>,
) -> Result<(Vec<core::Zone>, Vec<NamedBytes>), Problem> {
    let Some(name) = &site.zones_geojson else {
        return Ok((Vec::new(), Vec::new()));
    };
    let at = FieldPath::default().key("site").key("zones_geojson");
    let wanted = "the path of a GeoJSON file, from the folder this file is in";
    let Some((folder, shown)) = folder else {
        return Err(Problem::new(at, quoted(name), "none, outside a file"));
    };
    let path = folder.join(name);
    if !path.is_file() {
        let found = format!("{}, which is no file", quoted(name));
        let mut problem = Problem::new(at, found, wanted);
        problem.nearest = [".geojson", ".json"]
            .iter()
            .find_map(|ending| nearest_file_of_kind(&path, ending))
            .as_deref()
            .and_then(|near| Path::new(near).file_name()?.to_str())
            .map(|near| Path::new(name).with_file_name(near).display().to_string());
        return Err(problem);
    }
    let shown = crate::load::without_detours(&shown.join(name));
    let (zones, bytes) = geojson::zones(&path, &shown.display().to_string(), site, &at)?;
    Ok((zones, vec![(name.clone(), bytes)]))
}

/// Whether something stands in a zone that a falling aircraft can hurt, or that can hurt who fetches it: what to say of it.
fn caution(kind: &str) -> Option<&'static str> {
    Some(match kind {
        "people" => {
            "people: keep them out of reach of any throw, power cut or not, and do not throw towards them"
        }
        "animals" => "animals: keep your distance; a shadow overhead is enough to disturb them",
        "road" => "a road: an aircraft in a driver's sight is a danger even where it hits nobody",
        "railway" => "a railway: never fetch an aircraft from a track; ring its operator",
        "power_line" => "a power line: never fetch an aircraft from one; ring its operator",
        "airfield" => "an airfield: flying near one may be forbidden; ask first",
        "water" => {
            "water: lithium cells short in it, salt water above all, and nobody should wade after an aircraft alone"
        }
        _ => return None,
    })
}

/// Cautions about the zones of a site: where they come from, and what to say. A kind is said once.
pub(crate) fn cautions(site: &Site, zones: &[core::Zone]) -> Vec<(FieldPath, String)> {
    let at = FieldPath::default().key("site");
    let mut said: Vec<&str> = Vec::new();
    let mut list = Vec::new();
    for (i, zone) in zones.iter().enumerate() {
        if let Some(text) = caution(&zone.kind).filter(|text| !said.contains(text)) {
            said.push(text);
            let field = if i < site.zones.len() {
                at.key("zones").index(i)
            } else {
                at.key("zones_geojson")
            };
            let text = format!(
                "zone {} is {text}. Local rules and your club go first",
                zone.name
            );
            list.push((field, text));
        }
    }
    list
}
