//! Sites in files: halls, zones written down and zones out of GeoJSON, and exactly what is said of wrong ones.

use super::{STEP, close, scenario, with};
use crate::load::load_scenario;
use serde_json::{Value, json};

fn with_site(site: &str) -> String {
    with(
        STEP,
        "\"end\": {",
        &format!("\"site\": {site}, \"end\": {{"),
    )
}

fn site_says(site: &str, expected: &str) {
    let loaded = scenario(&with_site(site)).map(|_| "it loads");
    let error = loaded.expect_err(site).to_string();
    assert_eq!(error, expected);
}

/// A square of 0.002 deg a side north-east of the launch point.
fn marsh() -> Value {
    json!({"type": "FeatureCollection", "features": [
        {"type": "Feature", "properties": {"name": "creek", "kind": "water"}, "geometry": {"type": "Polygon", "coordinates": [
            [[8.600, 54.500], [8.602, 54.500], [8.602, 54.502], [8.600, 54.502], [8.600, 54.500]],
            [[8.601, 54.5005], [8.6015, 54.5005], [8.6015, 54.501], [8.601, 54.5005]]
        ]}},
        {"type": "Feature", "properties": null, "geometry": {"type": "MultiPolygon", "coordinates": [
            [[[8.59, 54.49], [8.591, 54.49], [8.59, 54.491], [8.59, 54.49]]],
            [[[8.58, 54.49], [8.581, 54.49], [8.58, 54.491], [8.58, 54.49]]]
        ]}}
    ]})
}

/// A scenario beside a zones file, both in a folder of their own, which is left out of what is said.
fn load_beside(zones: &str, site: &str) -> Result<crate::LoadedScenario, String> {
    let folder = tempfile::tempdir().expect("a folder");
    let write = |name: &str, text: &str| {
        std::fs::write(folder.path().join(name), text).expect("a file");
    };
    write("marsh.geojson", zones);
    write("knot.json", super::KNOT);
    write("step.json", &with_site(site));
    let prefix = format!("{}/", folder.path().display());
    load_scenario(folder.path().join("step.json"))
        .map_err(|error| error.to_string().replace(&prefix, ""))
}

const HERE: &str = r#"{"launch_point": {"longitude_deg": 8.6, "latitude_deg": 54.5}, "zones_geojson": "marsh.geojson"}"#;

fn marsh_says(change: impl Fn(&mut Value), expected: &str) {
    let mut zones = marsh();
    change(&mut zones);
    let error = load_beside(&zones.to_string(), HERE).expect_err(expected);
    assert_eq!(error, expected);
}

// A degree of latitude at 54.5° is 111 314.3 m, one of longitude 64 787.4 m (M and N cos φ on WGS 84, worked apart from this crate).
#[test]
fn zones_come_out_of_geojson_in_local_metres() {
    let loaded = load_beside(&marsh().to_string(), HERE).unwrap();
    let zones = &loaded.built.throw.site.zones;
    assert_eq!(zones.len(), 2);
    assert_eq!(
        (zones[0].name.as_str(), zones[0].kind.as_str()),
        ("creek", "water")
    );
    assert_eq!(
        (zones[1].name.as_str(), zones[1].kind.as_str()),
        ("zone 2", "other")
    );
    assert_eq!((zones[0].rings.len(), zones[1].rings.len()), (2, 2));
    assert_eq!(zones[0].rings[0].len(), 4);
    close(zones[0].rings[0][2].x, 0.002 * 111_314.3, 0.01);
    close(zones[0].rings[0][2].y, 0.002 * 64_787.4, 0.01);
    let warnings = loaded.warnings();
    let said: Vec<&str> = warnings.iter().map(|w| w.field.as_str()).collect();
    assert!(
        said.contains(&"site.zones_geojson"),
        "water is named: {said:?}"
    );

    let mut local = marsh();
    local["tossline_coordinates"] = json!("east_north_m");
    let loaded = load_beside(&local.to_string(), r#"{"zones_geojson": "marsh.geojson"}"#).unwrap();
    let corner = loaded.built.throw.site.zones[0].rings[0][2];
    assert_eq!((corner.x, corner.y), (54.502, 8.602));
}

#[test]
fn wrong_geojson_is_named_by_file_feature_found_and_wanted() {
    type Change = fn(&mut Value);
    let cases: [(Change, &str); 9] = [
        (
            |z| z["type"] = json!("Feature"),
            "marsh.geojson:1: type (for site.zones_geojson): found \"Feature\", wanted \"FeatureCollection\"",
        ),
        (
            |z| z["features"][0]["geometry"] = json!({"type": "Point", "coordinates": [8.6, 54.5]}),
            "marsh.geojson:1: feature 1 (creek), geometry (for site.zones_geojson): found Point, wanted a Polygon or a MultiPolygon",
        ),
        (
            |z| z["features"][0]["geometry"] = Value::Null,
            "marsh.geojson:1: feature 1 (creek), geometry (for site.zones_geojson): found nothing, wanted a Polygon or a MultiPolygon",
        ),
        (
            |z| z["features"][0]["properties"]["kind"] = json!("watr"),
            "marsh.geojson:1: feature 1 (creek), properties.kind (for site.zones_geojson): found \"watr\", wanted \"people\", \"animals\", \"road\", \"railway\", \"power_line\", \"airfield\", \"water\", \"building\" or \"other\"; did you mean \"water\"?",
        ),
        (
            |z| z["features"][0]["geometry"]["coordinates"][0][4] = json!([8.6, 54.5001]),
            "marsh.geojson:1: feature 1 (creek), outline (for site.zones_geojson): found a ring that is not closed, wanted a last position the same as the first",
        ),
        (
            |z| {
                z["features"][0]["geometry"]["coordinates"][0] = json!([
                    [8.6, 54.5],
                    [8.602, 54.502],
                    [8.602, 54.5],
                    [8.6, 54.502],
                    [8.6, 54.5]
                ]);
            },
            "marsh.geojson:1: feature 1 (creek), outline (for site.zones_geojson): found the edges from positions 1 and 3 meeting, wanted a ring whose edges neither cross nor touch",
        ),
        (
            |z| z["features"][0]["geometry"]["coordinates"][0][1] = json!([54.5, 8.602]),
            "marsh.geojson:1: feature 1 (creek), outline (for site.zones_geojson): found [54.5, 8.602], 5912 km from the release, wanted a place within 20 km of the launch point; the other way round it would be: longitude comes first",
        ),
        (
            |z| z["features"][1]["geometry"]["coordinates"][1][0][1] = json!([200.0, 54.5]),
            "marsh.geojson:1: feature 2 (zone 2), outline of polygon 2 (for site.zones_geojson): found [200, 54.5], wanted longitude first (-180 to 180 deg), then latitude (-90 to 90)",
        ),
        (
            |z| z["tossline_coordinates"] = json!("east_north"),
            "marsh.geojson:1: tossline_coordinates (for site.zones_geojson): found \"east_north\", wanted \"longitude_latitude_deg\" or \"east_north_m\"; did you mean \"east_north_m\"?",
        ),
    ];
    for (change, expected) in cases {
        marsh_says(change, expected);
    }
    let broken =
        load_beside("{\"type\": \"FeatureCollection\",\n \"features\": [}", HERE).unwrap_err();
    assert!(
        broken.starts_with("marsh.geojson:2: GeoJSON (for site.zones_geojson): found "),
        "{broken}"
    );
    let nowhere = load_beside(
        &marsh().to_string(),
        r#"{"zones_geojson": "marsh.geojson"}"#,
    )
    .unwrap_err();
    assert!(
        nowhere.starts_with("step.json:38: site.launch_point: found nothing, wanted the longitude"),
        "{nowhere}"
    );
    let missing = load_beside(
        &marsh().to_string(),
        r#"{"zones_geojson": "march.geojson"}"#,
    )
    .unwrap_err();
    assert!(
        missing.ends_with("did you mean \"marsh.geojson\"?"),
        "{missing}"
    );
}

#[test]
fn sites_that_cannot_be() {
    for (site, expected) in [
        (
            r#"{"hall": {"ceiling_height_m": 5}}"#,
            "step.json:38: site.hall: found neither of them, wanted \"rectangle\" or \"corners\"",
        ),
        (
            r#"{"hall": {"rectangle": {"ahead_m": 9, "behind_m": 0, "left_m": 3, "right_m": 3}, "ceiling_height_m": 5}}"#,
            "step.json:38: site.hall.rectangle.behind_m: found 0, wanted a number over 0",
        ),
        (
            r#"{"ground_height_m": -2, "hall": {"rectangle": {"ahead_m": 9, "behind_m": 1, "left_m": 3, "right_m": 3}, "ceiling_height_m": -3}}"#,
            "step.json:38: site.hall.ceiling_height_m: found -3, wanted a number over -2 and up to 1000",
        ),
        (
            r#"{"zones": [{"name": "pond", "corners": [{"east_m": 1, "north_m": 1}, {"east_m": 2, "north_m": 2}, {"east_m": 2, "north_m": 1}, {"east_m": 1, "north_m": 2}]}]}"#,
            "step.json:38: site.zones.pond.corners[3]: found the edges from corners 1 and 3 meeting, wanted corners in order around the edge, no edge crossing or touching another",
        ),
        (
            r#"{"zones": [{"name": "pond", "kind": "wter", "corners": []}]}"#,
            "step.json:38: site.zones.pond.kind: found \"wter\", wanted \"people\", \"animals\", \"road\", \"railway\", \"power_line\", \"airfield\", \"water\", \"building\" or \"other\"; did you mean \"water\"?",
        ),
        (
            r#"{"hall": {"rectangle": {"ahead_m": 0.02, "behind_m": 9, "left_m": 3, "right_m": 3}, "ceiling_height_m": 5}}"#,
            "step.json:38: site.hall: found the airframe reaches through wall 1 of the hall at release, or is outside it, wanted walls around the release, clear of the airframe",
        ),
    ] {
        site_says(site, expected);
    }
}

// The knot's throw goes east: "ahead" is east, "left" north.
#[test]
fn a_rectangle_lies_along_the_throw() {
    let site = r#"{"hall": {"rectangle": {"ahead_m": 9, "behind_m": 2, "left_m": 3, "right_m": 4}, "ceiling_height_m": 5}}"#;
    let loaded = scenario(&with_site(site)).unwrap();
    let hall = loaded.built.throw.site.hall.as_ref().unwrap();
    for (name, north, east) in [
        ("ahead", 0.0, 9.0),
        ("right", -4.0, 0.0),
        ("behind", 0.0, -2.0),
        ("left", 3.0, 0.0),
    ] {
        let wall = hall.walls().iter().find(|wall| wall.name == name).unwrap();
        close((wall.normal * wall.distance_m).x, north, 1e-12);
        close((wall.normal * wall.distance_m).y, east, 1e-12);
    }
}
