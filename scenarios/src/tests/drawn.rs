//! Outlines from drawings, against closed forms, numbers worked by hand and a curve library's exact moments.

use super::{KNOT, airframe_with_drawings, close, wing_with, with};
use crate::airframe_file::{Corner, Part};
use crate::load::LoadedAirframe;
use crate::overrides::Override;
use kurbo::{BezPath, ParamCurveMoments, Shape};
use serde_json::json;
use sim_core::mass::polygon_moments;
use std::f64::consts::PI;

/// A page of 300 × 200 mm drawn in mm.
fn page(content: &str) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"300mm\" height=\"200mm\" viewBox=\"0 0 300 200\">\n{content}\n</svg>\n"
    )
}

fn drawn(svg: &str, outline_svg: &str) -> LoadedAirframe {
    let text = wing_with(&format!(
        r#""outline_svg": {{ "file": "outlines/knot.svg", {outline_svg} }}"#
    ));
    airframe_with_drawings(&text, &[("outlines/knot.svg", svg)], &[])
        .unwrap_or_else(|error| panic!("{error}"))
}

type Polygon = Vec<(f64, f64)>;

/// Outline and holes of the wing, corners as station and right.
fn wing(loaded: &LoadedAirframe) -> (Polygon, Vec<Polygon>) {
    let Some(Part::Sheet(sheet)) = loaded
        .written_down
        .mass
        .parts
        .as_ref()
        .and_then(|parts| parts.first())
    else {
        panic!("a sheet");
    };
    let flat = |corners: &Vec<Corner>| {
        corners
            .iter()
            .map(|c| (c.station_mm, c.right_mm.expect("right")))
            .collect()
    };
    (flat(&sheet.outline), sheet.holes.iter().map(flat).collect())
}

fn near(found: &[(f64, f64)], expected: &[(f64, f64)]) {
    assert_eq!(found.len(), expected.len(), "{found:?}");
    for (f, e) in found.iter().zip(expected) {
        assert!(
            (f.0 - e.0).abs() < 1e-9 && (f.1 - e.1).abs() < 1e-9,
            "{found:?}, expected {expected:?}"
        );
    }
}

// Quarter circle of radius r: A = πr²/4, centroid 4r/3π from both sides, ∫x² about the straight side πr⁴/16, ∫xy about the corner r⁴/8
// (any mechanics handbook). Chords stay within 0.05 mm of the arc and cut off at most that, never add.
#[test]
fn a_quarter_circle_has_the_area_and_inertia_of_the_handbook() {
    let r: f64 = 100.0;
    let arc = "M 10 20 h 100 a 100 100 0 0 1 -100 100 z";
    // The same as one cubic, with the usual handle of 0.5522847 r; it is within 0.0273 mm of the circle,
    // outside it. Corners may leave their curve by 0.005 mm (a tenth of the chords' tolerance).
    let cubic = "M10,20 L110,20 C110,75.22847 65.22847,120 10,120 Z";
    for (data, outside_mm) in [(arc, 0.01), (cubic, 0.0323)] {
        let svg = page(&format!(r#"<path id="wing" d="{data}"/>"#));
        let loaded = drawn(
            &svg,
            r#""id": "wing", "station_from_mm": -20, "right_from_mm": -10"#,
        );
        let (corners, _) = wing(&loaded);
        let (area, centroid, aa, bb, ab) = polygon_moments(&corners);
        let (ring, arc_length) = (0.05 + outside_mm, PI * r / 2.0);
        let c = 4.0 * r / (3.0 * PI);
        close(area, PI * r * r / 4.0, ring * arc_length);
        assert!(area < PI * r * r / 4.0 + outside_mm * arc_length, "{area}");
        close(centroid.0, c, 0.05);
        close(centroid.1, c, 0.05);
        // About the corner: what a ring of that width at the arc holds is ∫x² ds = πr³/4, ∫xy ds = r³/2.
        let about = |own: f64, a: f64, b: f64| own + area * a * b;
        close(
            about(aa, centroid.0, centroid.0),
            PI * r.powi(4) / 16.0,
            ring * PI * r.powi(3) / 4.0,
        );
        close(
            about(bb, centroid.1, centroid.1),
            PI * r.powi(4) / 16.0,
            ring * PI * r.powi(3) / 4.0,
        );
        close(
            about(ab, centroid.0, centroid.1),
            r.powi(4) / 8.0,
            ring * r.powi(3) / 2.0,
        );
        // No corner is further from the arc than the curve and its corners may be.
        let on_arc = corners.iter().filter(|p| p.0 > 1e-9 && p.1 > 1e-9);
        for p in on_arc {
            close(p.0.hypot(p.1), r, outside_mm);
        }
        // 100 g/m², both halves.
        close(
            loaded.built.parts[0].properties.mass_kg,
            2.0 * PI / 4.0 * 1e-3,
            2.0 * ring * arc_length * 1e-7,
        );
    }
}

// (x, y) turned by 90° is (−y, x); then moved by (100, 50) and by the group's (3, 4), all doubled: 2(103 − y), 2(54 + x).
#[test]
fn transforms_of_a_path_and_its_groups_are_applied() {
    let svg = page(
        r#"<g transform="scale(2)"><g transform="translate(3 4)">
        <path id="wing" transform="translate(100,50) rotate(90)" d="M0 0h30v10h-30z"/></g></g>"#,
    );
    let (corners, holes) = wing(&drawn(&svg, r#""id": "wing""#));
    // Station is y, right is x.
    near(
        &corners,
        &[
            (108.0, 206.0),
            (168.0, 206.0),
            (168.0, 186.0),
            (108.0, 186.0),
        ],
    );
    assert!(holes.is_empty());
}

#[test]
fn the_page_gives_the_scale() {
    let svg = r#"<svg xmlns="http://www.w3.org/2000/svg" width="15cm" height="100mm" viewBox="-30 -20 300 200">
        <polygon id="wing" points="0,0 200,0 200,100 0,100"/></svg>"#;
    // Half a millimetre a unit; the page's corner is at (−30, −20) units: 15 and 10 mm up and left of the origin.
    let (corners, _) = wing(&drawn(svg, r#""id": "wing", "check_width_mm": 100.9"#));
    near(
        &corners,
        &[(10.0, 15.0), (10.0, 115.0), (60.0, 115.0), (60.0, 15.0)],
    );
}

#[test]
fn aft_and_right_lie_as_the_file_says() {
    // Page x 20 to 60, y 30 to 40; first corner (20, 30), second (60, 30).
    let svg = page(r#"<rect id="wing" x="20" y="30" width="40" height="10"/>"#);
    for (ways, first, second) in [
        ("", (30.0, 20.0), (30.0, 60.0)),
        (
            r#", "aft_on_page": "up", "station_from_mm": 100"#,
            (70.0, 20.0),
            (70.0, 60.0),
        ),
        (
            r#", "aft_on_page": "right", "right_from_mm": 200"#,
            (20.0, 170.0),
            (60.0, 170.0),
        ),
        (
            r#", "aft_on_page": "right", "right_on_page": "down""#,
            (20.0, 30.0),
            (60.0, 30.0),
        ),
        (
            r#", "aft_on_page": "left", "station_from_mm": 300, "right_on_page": "down""#,
            (280.0, 30.0),
            (240.0, 30.0),
        ),
        (
            r#", "right_on_page": "left", "right_from_mm": 100"#,
            (30.0, 80.0),
            (30.0, 40.0),
        ),
    ] {
        let (corners, _) = wing(&drawn(&svg, &format!("\"id\": \"wing\"{ways}")));
        near(&corners[..2], &[first, second]);
    }
}

#[test]
fn pieces_inside_and_further_ids_are_holes() {
    let svg = page(
        r#"<path id="wing" d="M20 20h10v10h-10z M0 0h100v60h-100z"/>
        <circle id="motor" cx="70" cy="30" r="5"/>"#,
    );
    let loaded = drawn(&svg, r#""id": "wing", "hole_ids": ["motor"]"#);
    let (corners, holes) = wing(&loaded);
    near(
        &corners,
        &[(0.0, 0.0), (0.0, 100.0), (60.0, 100.0), (60.0, 0.0)],
    );
    near(
        &holes[0],
        &[(20.0, 20.0), (20.0, 30.0), (30.0, 30.0), (30.0, 20.0)],
    );
    // 6000 − 100 − 25π mm², twice, at 100 g/m²; the circle's chords miss at most 0.05 of 10π mm.
    let mass = 2.0 * (6000.0 - 100.0 - 25.0 * PI) * 1e-7;
    close(
        loaded.built.parts[0].properties.mass_kg,
        mass,
        2.0 * 0.055 * 10.0 * PI * 1e-7,
    );
    assert!(loaded.built.parts[0].properties.mass_kg > mass - 1e-9);
}

#[test]
fn of_a_whole_plate_the_right_half_is_taken() {
    // Centre line at x = 150: a kite-like plate with a hole in each half.
    let svg = page(
        r#"<path id="wing" d="M150 10 L250 60 L150 110 L50 60 Z M190 55h10v10h-10z M110 55h-10v10h10z"/>"#,
    );
    let loaded = drawn(
        &svg,
        r#""id": "wing", "drawn": "whole", "station_from_mm": -10, "right_from_mm": -150"#,
    );
    let (corners, holes) = wing(&loaded);
    near(&corners, &[(0.0, 0.0), (50.0, 100.0), (100.0, 0.0)]);
    assert_eq!(holes.len(), 1);
    near(
        &holes[0],
        &[(45.0, 40.0), (45.0, 50.0), (55.0, 50.0), (55.0, 40.0)],
    );
    close(
        loaded.built.parts[0].properties.mass_kg,
        2.0 * (5000.0 - 100.0) * 1e-7,
        1e-15,
    );
}

#[test]
fn every_command_of_a_path_draws_what_the_curve_library_reads() {
    // Straight, smooth, relative and absolute pieces; the other parser is kurbo's own.
    let data = "m 20 20 c 10 -15 30 -15 40 0 s 30 15 40 0 l 20 10 q 20 20 0 40 t 0 40 H 60 v -20 h -20 V 80 A 30 20 30 0 1 20 60 z";
    let svg = page(&format!(r#"<path id="wing" d="{data}"/>"#));
    let (corners, _) = wing(&drawn(&svg, r#""id": "wing""#));
    let path = BezPath::from_svg(data).expect("path data");
    let perimeter = path.perimeter(1e-6);
    let (area, centroid, ..) = polygon_moments(&corners);
    close(area, path.area().abs(), 0.055 * perimeter);
    let moments = path.moments();
    // First moments: x is right, y is station.
    close(centroid.0, (moments.moment_y / path.area()).abs(), 0.1);
    close(centroid.1, (moments.moment_x / path.area()).abs(), 0.1);
}

// Green's theorem over polygons, in kurbo: another derivation of the same integrals.
#[test]
fn polygon_moments_are_those_of_the_curve_library() {
    let mut state = 12345_u64;
    let mut random = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    for count in 3..40 {
        // Corners at rising angles about a point inside: simple, and anything but convex.
        let mut path = BezPath::new();
        let points: Vec<(f64, f64)> = (0..count)
            .map(|k| {
                let angle = (f64::from(k) + 0.8 * random()) * 2.0 * PI / f64::from(count);
                let far = 20.0 + 80.0 * random();
                (30.0 + far * angle.cos(), -10.0 + far * angle.sin())
            })
            .collect();
        for (k, &point) in points.iter().enumerate() {
            if k == 0 {
                path.move_to(point)
            } else {
                path.line_to(point)
            }
        }
        path.close_path();
        let moments = path.moments();
        let (area, (a, b), aa, bb, ab) = polygon_moments(&points);
        let sign = path.area().signum();
        let relative =
            |found: f64, expected: f64, size: f64| close(found, sign * expected, 1e-9 * size);
        relative(area, path.area(), 1e4);
        relative(area * a, moments.moment_x, 1e6);
        relative(area * b, moments.moment_y, 1e6);
        relative(aa + area * a * a, moments.moment_xx, 1e8);
        relative(bb + area * b * b, moments.moment_yy, 1e8);
        relative(ab + area * a * b, moments.moment_xy, 1e8);
    }
}

#[test]
fn a_drawing_is_kept_with_the_airframe_and_read_once() {
    let svg = page(
        r#"<rect id="wing" x="0" y="0" width="200" height="100"/><rect id="fin" x="60" y="0" width="40" height="50"/>"#,
    );
    let text = wing_with(r#""outline_svg": { "file": "knot.svg", "id": "wing" }"#);
    let text = with(
        &text,
        r#""outline": [
          { "station_mm": 60, "up_mm": 0 },
          { "station_mm": 100, "up_mm": 0 },
          { "station_mm": 100, "up_mm": 50 }
        ]"#,
        r#""outline_svg": { "file": "knot.svg", "id": "fin", "aft_on_page": "right", "up_from_mm": 50 }"#,
    );
    let loaded = airframe_with_drawings(&text, &[("knot.svg", &svg), ("other.svg", &svg)], &[])
        .unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(
        *loaded.other_bytes,
        [("knot.svg".to_owned(), svg.clone().into_bytes())]
    );
    // Wing as the file without drawings has it; fin 40 × 50 mm² at 100 g/m², station 60 to 100, up 0 to 50.
    let without = super::airframe(KNOT, &[]).expect("the knot");
    assert_eq!(
        loaded.built.parts[0].properties.mass_kg,
        without.built.parts[0].properties.mass_kg
    );
    let fin = loaded.built.parts[1].properties;
    close(fin.mass_kg, 0.2e-3, 1e-15);
    close(fin.balance.station_m, 80e-3, 1e-15);
    close(fin.balance.up_m, 25e-3, 1e-15);
    // The effective file still names the drawing.
    assert_eq!(
        loaded.effective().value["mass"]["parts"][0]["outline_svg"]["id"],
        "wing"
    );
    assert!(without.other_bytes.is_empty());
}

#[test]
fn a_drawn_part_moves_by_one_override() {
    let svg = page(r#"<rect id="wing" x="0" y="0" width="200" height="100"/>"#);
    let text = wing_with(r#""outline_svg": { "file": "knot.svg", "id": "wing" }"#);
    let station = |path: &str, value: serde_json::Value| {
        let change = Override::new(path, &value).expect("an override");
        let loaded = airframe_with_drawings(&text, &[("knot.svg", &svg)], &[change]);
        loaded.map(|loaded| loaded.built.parts[0].properties.balance.station_m)
    };
    let path = "mass.parts.wing.outline_svg.station_from_mm";
    close(
        station(path, json!({"add": 12})).expect("moved"),
        62e-3,
        1e-15,
    );
    close(station(path, json!(-50)).expect("moved"), 0.0, 1e-15);
    assert_eq!(
        station("mass.parts.wing.outline_svg.check_width_mm", json!(250))
            .expect_err("another width"),
        "override: overrides \"mass.parts.wing.outline_svg.check_width_mm\" (mass.parts.wing.outline_svg): \
         found a path 200.0 mm wide on the page, wanted 250 mm within 1 % (check_width_mm): the drawing is 0.800 times as large"
    );
}
