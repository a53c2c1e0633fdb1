//! Surfaces by outline, their setting and their bends: as panels and as sections, against numbers worked by hand.

use super::{KNOT, airframe, airframe_with_drawings, close, with};
use crate::build::surfaces;
use crate::load::LoadedAirframe;
use crate::overrides::Override;
use serde_json::json;
use sim_core::estimate::geometry::{Section, Surface};

/// The knot with this in place of the surface of a name.
fn with_surface(name: &str, instead: &str) -> String {
    let surfaces = KNOT.find("\"surfaces\"").expect("the surfaces");
    let named = KNOT[surfaces..]
        .find(&format!("\"name\": \"{name}\""))
        .expect("the surface")
        + surfaces;
    let start = KNOT[..named].rfind('{').expect("its start");
    let end = named + KNOT[named..].find("\n    }").expect("its end") + 6;
    format!(
        "{}{{ \"name\": \"{name}\", {instead} }}{}",
        &KNOT[..start],
        &KNOT[end..]
    )
}

fn loaded(text: &str) -> LoadedAirframe {
    airframe(text, &[]).unwrap_or_else(|error| panic!("{error}"))
}

fn surface(text: &str, index: usize) -> Surface {
    let mut list = surfaces(&loaded(text).written_down);
    for one in &list {
        one.check().unwrap_or_else(|error| panic!("{error}"));
    }
    list.swap_remove(index)
}

/// Station, right and up of a section's leading edge and its chord, mm.
fn section(section: &Section, expected: [f64; 4]) {
    let at = section.leading_edge;
    let found = [at.station_m, at.right_m, at.up_m, section.chord_m].map(|m| m * 1e3);
    for (f, e) in found.iter().zip(expected) {
        assert!(
            (f - e).abs() < 1e-4,
            "found {found:?}, expected {expected:?}"
        );
    }
}

const RECTANGLE: &str = r#""plane": "level", "up_mm": 0, "mirrored": true, "outline": [ { "station_mm": 0, "right_mm": 0 },
    { "station_mm": 0, "right_mm": 200 }, { "station_mm": 100, "right_mm": 200 }, { "station_mm": 100, "right_mm": 0 } ]"#;

#[test]
fn an_outline_that_is_a_trapezoid_flies_as_one() {
    let drawn = loaded(&with_surface("wing", RECTANGLE)).built.vehicle;
    let given = loaded(KNOT).built.vehicle;
    assert_eq!(drawn.post_stall, given.post_stall);
    assert_eq!(drawn.outline.len(), given.outline.len());
}

// The fin as a triangle: 40 × 50/2 mm² upright, its mean chord and heights as the trapezoid has them; sweep there is 38° where the
// triangle has atan(40/50) = 38.66°.
#[test]
fn an_upright_outline_stands_up() {
    let fin = r#""plane": "upright", "right_mm": 0, "outline": [ { "station_mm": 60, "up_mm": 0 }, { "station_mm": 100, "up_mm": 0 },
        { "station_mm": 100, "up_mm": 50 } ]"#;
    let text = with_surface("fin", fin);
    let plate = loaded(&text).built.vehicle.post_stall.upright;
    close(plate.area, 1e-3, 1e-15);
    // Mean height of a triangle: a third.
    let balance_up_m = 3.123690e-3;
    close(plate.quarter_chord.z, balance_up_m - 50e-3 / 3.0, 1e-8);
    let fin = surface(&text, 1);
    assert_eq!(fin.sections.len(), 2);
    section(&fin.sections[0], [60.0, 0.0, 0.0, 40.0]);
    section(&fin.sections[1], [100.0, 0.0, 50.0, 0.0]);
    assert!(!fin.mirrored);
}

// Corners by hand: kinks of the leading edge at right 100 and of the trailing edge at right 160.
#[test]
fn a_polygon_becomes_strips_between_its_corners() {
    let kinked = r#""plane": "level", "up_mm": 10, "mirrored": true, "dihedral_deg": 30, "outline": [
        { "station_mm": 0, "right_mm": 0 }, { "station_mm": 10, "right_mm": 100 }, { "station_mm": 60, "right_mm": 200 },
        { "station_mm": 90, "right_mm": 200 }, { "station_mm": 100, "right_mm": 160 }, { "station_mm": 100, "right_mm": 0 } ]"#;
    let text = with_surface("wing", kinked);
    let wing = surface(&text, 0);
    let (cos, sin) = (0.866_025_4, 0.5);
    // Chords: 100, 90, at 160: 100 − 40, and 30. Stations of the leading edge: 0, 10, 40, 60.
    assert_eq!(wing.sections.len(), 4);
    for (found, (station, out, chord)) in wing.sections.iter().zip([
        (0.0, 0.0, 100.0),
        (10.0, 100.0, 90.0),
        (40.0, 160.0, 60.0),
        (60.0, 200.0, 30.0),
    ]) {
        section(found, [station, out * cos, 10.0 + out * sin, chord]);
    }
    // Area of one half 9500 + 4500 + 1800 mm², seen from above cos² of both halves (MODEL.md § 5.3: dS_h = cos²Γ dS).
    close(wing.area_m2(), 15_800e-6, 1e-12);
    let plate = loaded(&text).built.vehicle.post_stall;
    close(plate.level.area, 0.75 * 31_600e-6, 1e-12);
    // Beside the fin's 1000 mm².
    close(plate.upright.area, 0.25 * 31_600e-6 + 1000e-6, 1e-12);
}

#[test]
fn a_step_in_the_chord_gets_two_sections() {
    let stepped = r#""plane": "level", "up_mm": 0, "mirrored": true, "outline": [
        { "station_mm": 0, "right_mm": 0 }, { "station_mm": 0, "right_mm": 200 }, { "station_mm": 50, "right_mm": 200 },
        { "station_mm": 50, "right_mm": 120 }, { "station_mm": 100, "right_mm": 120 }, { "station_mm": 100, "right_mm": 0 } ]"#;
    let text = with_surface("wing", stepped);
    let wing = surface(&text, 0);
    assert_eq!(wing.sections.len(), 4);
    section(&wing.sections[1], [0.0, 120.0, 0.0, 100.0]);
    // One per cent of the span of 200 mm further out.
    section(&wing.sections[2], [0.0, 122.0, 0.0, 50.0]);
    section(&wing.sections[3], [0.0, 200.0, 0.0, 50.0]);
    // The plates take the step as it is: 2 (120·100 + 80·50) mm².
    close(
        loaded(&text).built.vehicle.post_stall.level.area,
        32_000e-6,
        1e-12,
    );
}

// A half ellipse, chord 100 mm, half span 200 mm: π/4·100·200 mm². Chords and left-out sections miss 0.05 + 0.25 mm along both edges.
#[test]
fn a_drawn_ellipse_gives_few_sections_and_its_area() {
    let svg = r#"<svg width="300mm" height="200mm" viewBox="0 0 300 200"><path id="wing" d="M0 0 A200 50 0 0 1 0 100 z"/></svg>"#;
    let text = with_surface(
        "wing",
        r#""plane": "level", "up_mm": 0, "mirrored": true, "outline_svg": { "file": "knot.svg", "id": "wing" }"#,
    );
    let loaded = airframe_with_drawings(&text, &[("knot.svg", svg)], &[])
        .unwrap_or_else(|error| panic!("{error}"));
    let wing = surfaces(&loaded.written_down).swap_remove(0);
    assert_eq!(wing.check(), Ok(()));
    let exact = std::f64::consts::FRAC_PI_4 * 100.0 * 200.0 * 1e-6;
    close(wing.area_m2(), exact, 0.3 * 2.0 * 210.0 * 1e-6);
    assert!(
        (6..40).contains(&wing.sections.len()),
        "{}",
        wing.sections.len()
    );
    close(
        loaded.built.vehicle.post_stall.level.area,
        2.0 * exact,
        2.0 * 0.055 * 450.0 * 1e-6,
    );
    close(
        loaded.built.vehicle.post_stall.level.area,
        2.0 * exact,
        0.004 * exact,
    );
    // The wing's tip and edges are still its outermost points: 200 mm out.
    let out = sim_core::frames::BuilderPoint::new(0.0, 1.0, 0.0)
        .in_body(&sim_core::frames::BuilderPoint::new(0.0, 0.0, 0.0));
    close(loaded.built.vehicle.reach(&out), 0.2, 1e-5);
}

#[test]
fn fins_lean_by_their_cant() {
    // Root 60 mm right, 30° outwards: a tip 50 mm along lies 25 mm further out and 43.30127 mm up.
    let trapezoid = r#""root_leading_edge": { "station_mm": 60, "right_mm": 60, "up_mm": 5 }, "root_chord_mm": 40, "tip_chord_mm": 20,
        "half_span_mm": 50, "leading_edge_sweep_deg": 0, "cant_deg": 30, "mirrored": true"#;
    let fin = surface(&with_surface("fin", trapezoid), 1);
    section(&fin.sections[1], [60.0, 85.0, 48.301_27, 20.0]);
    let outline = r#""plane": "upright", "right_mm": 60, "cant_deg": 30, "mirrored": true, "outline": [ { "station_mm": 60, "up_mm": 5 },
        { "station_mm": 100, "up_mm": 5 }, { "station_mm": 80, "up_mm": 55 }, { "station_mm": 60, "up_mm": 55 } ]"#;
    let drawn = surface(&with_surface("fin", outline), 1);
    for (a, b) in fin.sections.iter().zip(&drawn.sections) {
        section(
            a,
            [
                b.leading_edge.station_m,
                b.leading_edge.right_m,
                b.leading_edge.up_m,
                b.chord_m,
            ]
            .map(|m| m * 1e3),
        );
    }
    // The plates see both: areas split by sin² and cos² of 60° dihedral.
    let plates = |text: &str| loaded(text).built.vehicle.post_stall;
    close(
        plates(&with_surface("fin", trapezoid)).upright.area,
        2.0 * 0.75 * 1.5e-3,
        1e-12,
    );
    close(
        plates(&with_surface("fin", outline)).upright.area,
        2.0 * 0.75 * 1.5e-3,
        1e-12,
    );
}

#[test]
fn a_surface_drawn_on_the_left_stays_there() {
    let left = RECTANGLE
        .replace("\"right_mm\": 200", "\"right_mm\": -200")
        .replace("\"mirrored\": true", "\"dihedral_deg\": 30");
    let text = with_surface("wing", &left);
    let wing = surface(&text, 0);
    section(&wing.sections[1], [0.0, -173.205_08, 100.0, 100.0]);
    let reach = |y: f64| loaded(&text).built.vehicle.post_stall.level.quarter_chord.y * y;
    assert_eq!(reach(1.0), 0.0);
    close(
        loaded(&text).built.vehicle.post_stall.level.area,
        0.75 * 0.02,
        1e-12,
    );
}

#[test]
fn incidence_and_twist_turn_the_sections() {
    let set = with(
        KNOT,
        r#""root_chord_mm": 100,"#,
        r#""root_chord_mm": 100, "incidence_deg": 2, "twist_deg": -3,"#,
    );
    let angles = |text: &str, overrides: &[Override]| {
        let file = airframe(text, overrides)
            .unwrap_or_else(|error| panic!("{error}"))
            .written_down;
        let sections = surfaces(&file).swap_remove(0).sections;
        sections
            .iter()
            .map(|one| one.incidence_rad.to_degrees())
            .collect::<Vec<_>>()
    };
    let near = |found: Vec<f64>, expected: &[f64]| {
        assert_eq!(found.len(), expected.len());
        found
            .iter()
            .zip(expected)
            .for_each(|(f, e)| close(*f, *e, 1e-12));
    };
    near(angles(&set, &[]), &[2.0, -1.0]);
    let change = |path: &str| Override::new(path, &json!({"add": 1.5})).expect("an override");
    near(
        angles(
            &set,
            &[
                change("surfaces.wing.incidence_deg"),
                change("surfaces.wing.twist_deg"),
            ],
        ),
        &[3.5, 2.0],
    );
    // Left out, both are 0 and can be added to.
    near(
        angles(KNOT, &[change("surfaces.wing.incidence_deg")]),
        &[1.5, 1.5],
    );
    // Nothing else changes in today's flight.
    assert_eq!(
        loaded(&set).built.vehicle.post_stall,
        loaded(KNOT).built.vehicle.post_stall
    );
}

#[test]
fn bends_know_their_tab_and_its_setting() {
    let bends = r#""root_chord_mm": 100, "bends": [
        { "tab": "elevon", "from_span_fraction": 0.5, "to_span_fraction": 1, "chord_fraction": 0.2, "antisymmetric": true },
        { "name": "reflex", "angle_deg": -5, "from_span_fraction": 0, "to_span_fraction": 0.5, "chord_fraction": 0.1 } ],"#;
    let text = with(KNOT, r#""root_chord_mm": 100,"#, bends);
    let wing = surface(&text, 0);
    assert_eq!((wing.bends[0].tab, wing.bends[1].tab), (Some(0), None));
    // The knot's elevon is set to −4°.
    close(wing.bends[0].angle_rad, -4.0_f64.to_radians(), 1e-15);
    close(wing.bends[1].angle_rad, -5.0_f64.to_radians(), 1e-15);
    assert!(wing.bends[0].antisymmetric && !wing.bends[1].antisymmetric);
    assert_eq!(
        (
            wing.bends[0].from_span_share,
            wing.bends[0].to_span_share,
            wing.bends[0].chord_share
        ),
        (0.5, 1.0, 0.2)
    );
    let changes = [
        ("surfaces.wing.bends.elevon.chord_fraction", json!(0.3)),
        ("surfaces.wing.bends.reflex.angle_deg", json!({"add": -1})),
        ("tabs.elevon.setting_deg", json!(3)),
    ]
    .map(|(path, value)| Override::new(path, &value).expect("an override"));
    let changed = surfaces(
        &airframe(&text, &changes)
            .unwrap_or_else(|error| panic!("{error}"))
            .written_down,
    )
    .swap_remove(0);
    assert_eq!(changed.bends[0].chord_share, 0.3);
    close(changed.bends[0].angle_rad, 3.0_f64.to_radians(), 1e-15);
    close(changed.bends[1].angle_rad, -6.0_f64.to_radians(), 1e-15);
}
