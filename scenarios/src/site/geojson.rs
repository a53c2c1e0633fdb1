//! Zones out of a GeoJSON file (RFC 7946).

use super::projection::Projection;
use super::{FARTHEST_M, MOST_CORNERS};
use crate::error::{Elsewhere, FileError, Problem, nearest, number, one_of};
use crate::field::FieldPath;
use crate::outline::polygon::{Fault, fault, hole_fault};
use crate::read::Document;
use crate::scenario_file::{Site, ZoneKind};
use crate::shape::found;
use crate::summary::word;
use geojson::{Feature, GeometryValue, Position};
use serde::Deserialize;
use serde_json::{Map, Value};
use sim_core::site::{PlanPoint, Zone};
use std::path::Path;

/// Member of the collection that says what its coordinates are.
const COORDINATES: &str = "tossline_coordinates";
/// Its words.
const LONGITUDE_LATITUDE: &str = "longitude_latitude_deg";
const EAST_NORTH: &str = "east_north_m";

/// How a position becomes metres north and east.
enum Plane {
    Local,
    Earth(Projection),
}

/// Where in the file something is wrong: the feature and what of it.
struct Reader<'a> {
    document: &'a Document,
    /// The field of the scenario that names the file.
    at: &'a FieldPath,
}

/// Zones of a file, in its order, and its bytes. `shown` is the file as the user would name it.
pub(super) fn zones(
    path: &Path,
    shown: &str,
    site: &Site,
    at: &FieldPath,
) -> Result<(Vec<Zone>, Vec<u8>), Problem> {
    let document = Document::open_as(path, shown).map_err(|error| foreign(error, at))?;
    let reader = Reader {
        document: &document,
        at,
    };
    let root = FieldPath::default();
    let kind = document.value.get("type").and_then(Value::as_str);
    if kind != Some("FeatureCollection") {
        let found = document.value.get("type").map_or("nothing".into(), found);
        return Err(reader.problem(&root.key("type"), "type", &found, "\"FeatureCollection\""));
    }
    let plane = reader.plane(site)?;
    let Some(features) = document.value.get("features").and_then(Value::as_array) else {
        return Err(reader.problem(&root.key("features"), "features", "none", "a list [...]"));
    };
    let mut zones: Vec<Zone> = Vec::new();
    let mut corners = 0;
    for (i, feature) in features.iter().enumerate() {
        let zone = reader.zone(i, feature, &plane)?;
        corners += zone.rings.iter().map(Vec::len).sum::<usize>();
        if corners > MOST_CORNERS {
            let wanted = format!("{MOST_CORNERS} corners in all zones together at most");
            return Err(reader.problem(&root.key("features"), "features", "more corners", &wanted));
        }
        zones.push(zone);
    }
    Ok((zones, document.bytes.to_vec()))
}

/// An error of the zones file as a problem of the field that names it.
fn foreign(error: FileError, at: &FieldPath) -> Problem {
    Problem {
        nearest: error.nearest.map(String::from),
        elsewhere: Some(Box::new(Elsewhere {
            file: error.file,
            line: error.line,
            field: error.field.unwrap_or_else(|| "GeoJSON".to_owned()),
        })),
        ..Problem::new(at.clone(), error.found, error.wanted)
    }
}

impl Reader<'_> {
    fn problem(&self, path: &FieldPath, field: &str, found: &str, wanted: &str) -> Problem {
        Problem {
            elsewhere: Some(Box::new(Elsewhere {
                file: self.document.file.clone(),
                line: self.document.line_of(path),
                field: field.to_owned(),
            })),
            ..Problem::new(self.at.clone(), found, wanted)
        }
    }

    fn plane(&self, site: &Site) -> Result<Plane, Problem> {
        let path = FieldPath::default().key(COORDINATES);
        let words = [LONGITUDE_LATITUDE, EAST_NORTH];
        match self.document.value.get(COORDINATES) {
            Some(Value::String(text)) if text == EAST_NORTH => return Ok(Plane::Local),
            None => {}
            Some(Value::String(text)) if text == LONGITUDE_LATITUDE => {}
            Some(other) => {
                let mut problem = self.problem(&path, COORDINATES, &found(other), &one_of(words));
                problem.nearest = nearest(other.as_str().unwrap_or_default(), words);
                return Err(problem);
            }
        }
        let Some(point) = &site.launch_point else {
            let at = FieldPath::default().key("site").key("launch_point");
            let wanted = format!(
                "the longitude and latitude of the release, since the zones come in longitude and latitude (or \"{COORDINATES}\": \
                 \"{EAST_NORTH}\" in the zones file, where they are metres from the release)"
            );
            return Err(Problem::new(at, "nothing", wanted));
        };
        Ok(Plane::Earth(Projection::at(
            point.longitude_deg,
            point.latitude_deg,
        )))
    }

    fn zone(&self, i: usize, value: &Value, plane: &Plane) -> Result<Zone, Problem> {
        let path = FieldPath::default().key("features").index(i);
        let properties = value.get("properties").and_then(Value::as_object);
        let empty = Map::new();
        let properties = properties.unwrap_or(&empty);
        let name = match properties.get("name") {
            None | Some(Value::Null) => format!("zone {}", i + 1),
            Some(Value::String(name)) if !name.trim().is_empty() && name.len() <= 80 => {
                name.clone()
            }
            Some(other) => {
                let field = format!("feature {}, properties.name", i + 1);
                let at = path.key("properties").key("name");
                return Err(self.problem(&at, &field, &found(other), "a name of 1 to 80 bytes"));
            }
        };
        let feature_named = format!("feature {} ({name})", i + 1);
        let kind = self.kind(properties, &path, &feature_named)?;
        let feature = Feature::deserialize(value).map_err(|error| {
            let wanted = "a Feature as RFC 7946 has it";
            self.problem(&path, &feature_named, &error.to_string(), wanted)
        })?;
        let at = path.key("geometry");
        let field = format!("{feature_named}, geometry");
        let wanted = "a Polygon or a MultiPolygon";
        let (polygons, many) = match feature.geometry.map(|geometry| geometry.value) {
            Some(GeometryValue::Polygon { coordinates }) => (vec![coordinates], false),
            Some(GeometryValue::MultiPolygon { coordinates }) => (coordinates, true),
            Some(other) => return Err(self.problem(&at, &field, other.type_name(), wanted)),
            None => return Err(self.problem(&at, &field, "nothing", wanted)),
        };
        let mut rings: Vec<Vec<PlanPoint>> = Vec::new();
        for (p, polygon) in polygons.iter().enumerate() {
            let coordinates = at.key("coordinates");
            let at = if many {
                coordinates.index(p)
            } else {
                coordinates
            };
            let mut flat: Vec<Vec<(f64, f64)>> = Vec::new();
            for (r, ring) in polygon.iter().enumerate() {
                let field = match (many, r) {
                    (false, 0) => format!("{feature_named}, outline"),
                    (false, _) => format!("{feature_named}, hole {r}"),
                    (true, 0) => format!("{feature_named}, outline of polygon {}", p + 1),
                    (true, _) => format!("{feature_named}, hole {r} of polygon {}", p + 1),
                };
                let corners = self.ring(ring, plane, &at.index(r), &field)?;
                if let [outline, before @ ..] = flat.as_slice()
                    && let Some(found) = hole_fault(outline, before, &corners)
                {
                    let wanted = "holes inside the outline, apart from one another";
                    return Err(self.problem(&at.index(r), &field, &found, wanted));
                }
                flat.push(corners);
            }
            if flat.is_empty() {
                return Err(self.problem(&at, &field, "a polygon without an outline", wanted));
            }
            let plan = |ring: Vec<(f64, f64)>| {
                ring.into_iter()
                    .map(|(n, e)| PlanPoint::new(n, e))
                    .collect()
            };
            rings.extend(flat.into_iter().map(plan));
        }
        Ok(Zone { name, kind, rings })
    }

    fn kind(
        &self,
        properties: &Map<String, Value>,
        path: &FieldPath,
        feature: &str,
    ) -> Result<String, Problem> {
        let given = match properties.get("kind") {
            None | Some(Value::Null) => return Ok(word(&ZoneKind::Other)),
            Some(given) => given,
        };
        if let Ok(kind) = serde_json::from_value::<ZoneKind>(given.clone()) {
            return Ok(word(&kind));
        }
        use ZoneKind::{
            Airfield, Animals, Building, Other, People, PowerLine, Railway, Road, Water,
        };
        let all = [
            People, Animals, Road, Railway, PowerLine, Airfield, Water, Building, Other,
        ];
        let words: Vec<String> = all.iter().map(word).collect();
        let words = || words.iter().map(String::as_str);
        let at = path.key("properties").key("kind");
        let field = format!("{feature}, properties.kind");
        let mut problem = self.problem(&at, &field, &found(given), &one_of(words()));
        problem.nearest = nearest(given.as_str().unwrap_or_default(), words());
        Err(problem)
    }

    /// A ring's corners, metres north and east, the closing one left out.
    fn ring(
        &self,
        ring: &[Position],
        plane: &Plane,
        at: &FieldPath,
        field: &str,
    ) -> Result<Vec<(f64, f64)>, Problem> {
        let problem =
            |at: &FieldPath, found: &str, wanted: &str| Err(self.problem(at, field, found, wanted));
        if ring.len() < 4 {
            let found = format!("a ring of {} positions", ring.len());
            return problem(at, &found, "four at least, the last the same as the first");
        }
        let (first, last) = (ring[0].as_slice(), ring[ring.len() - 1].as_slice());
        if first != last {
            return problem(
                at,
                "a ring that is not closed",
                "a last position the same as the first",
            );
        }
        let mut corners = Vec::new();
        for (k, position) in ring[..ring.len() - 1].iter().enumerate() {
            let (at, position) = (at.index(k), position.as_slice());
            let here = [position[0], position[1]];
            let shown = format!("[{}, {}]", number(here[0]), number(here[1]));
            let corner = match plane {
                Plane::Local => (here[1], here[0]),
                Plane::Earth(projection) => {
                    if here[0].abs() > 180.0 || here[1].abs() > 90.0 {
                        let wanted = "longitude first (-180 to 180 deg), then latitude (-90 to 90)";
                        return problem(&at, &shown, wanted);
                    }
                    projection.north_east_m(here[0], here[1])
                }
            };
            let distance_m = corner.0.hypot(corner.1);
            if distance_m.is_nan() || distance_m > FARTHEST_M {
                let found = format!("{shown}, {:.0} km from the release", distance_m / 1e3);
                let swapped = match plane {
                    Plane::Earth(projection) => {
                        let (n, e) = projection.north_east_m(here[1], here[0]);
                        n.hypot(e) <= FARTHEST_M
                    }
                    Plane::Local => false,
                };
                let wanted = format!(
                    "a place within {} km of the launch point{}",
                    FARTHEST_M / 1e3,
                    if swapped {
                        "; the other way round it would be: longitude comes first"
                    } else {
                        ""
                    }
                );
                return problem(&at, &found, &wanted);
            }
            corners.push(corner);
        }
        match fault(&corners) {
            None => Ok(corners),
            Some(Fault::Meeting(i, j)) => {
                let found = format!("the edges from positions {} and {} meeting", i + 1, j + 1);
                problem(
                    &at.index(j),
                    &found,
                    "a ring whose edges neither cross nor touch",
                )
            }
            Some(Fault::SamePlace(i)) => {
                problem(&at.index(i), "the same place twice", "another place")
            }
            Some(Fault::TooFew(count)) => {
                let found = format!("{count} corners");
                problem(at, &found, "three at least")
            }
        }
    }
}
