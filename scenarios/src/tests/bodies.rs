//! Bodies, keels, edges and doublers through whole files; numbers by hand.

use super::{KNOT, airframe, close, with};
use crate::build::{Drawn, bodies, drawn, surfaces};
use crate::estimate::{estimate, outside};
use crate::load::LoadedAirframe;
use sim_core::air::Air;
use sim_core::estimate::assemble::Estimate;
use sim_core::estimate::bodies::BodyShape;
use sim_core::estimate::friction::Edge;

const SURFACES: &str = "\"surfaces\": [";

fn with_bodies(list: &str) -> String {
    with(
        KNOT,
        SURFACES,
        &format!("\"bodies\": [ {list} ],\n{SURFACES}"),
    )
}

fn with_surface(surface: &str) -> String {
    with(KNOT, SURFACES, &format!("{SURFACES} {{ {surface} }},"))
}

fn loaded(text: &str) -> LoadedAirframe {
    airframe(text, &[]).unwrap_or_else(|error| panic!("{error}"))
}

fn estimated(text: &str) -> Estimate {
    let loaded = loaded(text);
    let (estimate, _) = estimate(
        &loaded.written_down,
        &loaded.built.mass.balance,
        &Air::calm(),
        5.0,
        0.1,
    )
    .expect("surfaces that can be panelled");
    estimate
}

const MODULE: &str = r#"{ "name": "module", "form": "rounded_block", "width_mm": 20, "height_mm": 12, "length_mm": 50,
    "at": { "station_mm": 30, "right_mm": 0, "up_mm": -40 } }"#;
const LEGS: &str = r#"{ "name": "leg", "form": "rod", "length_mm": 60, "diameter_mm": 2, "plane": "upright",
    "at": { "station_mm": 80, "right_mm": 50, "up_mm": 30 }, "mirrored": true }"#;

#[test]
fn bodies_have_size_place_and_mirror_image() {
    let loaded = loaded(&with_bodies(&format!("{MODULE}, {LEGS}")));
    let found = bodies(&loaded.written_down);
    assert_eq!(found.len(), 3);
    assert_eq!(found[0].shape, BodyShape::RoundedBlock);
    for (found, expected) in found[0].size_m.iter().zip([0.05, 0.02, 0.012]) {
        close(*found, expected, 1e-15);
    }
    assert_eq!(found[1].shape, BodyShape::Rod);
    for (found, expected) in found[1].size_m.iter().zip([0.002, 0.002, 0.06]) {
        close(*found, expected, 1e-15);
    }
    close(found[2].middle.right_m, -0.05, 1e-15);
    // The module's belly, 46 mm below the reference line, is the lowest point of the airframe; z is down from the balance point.
    let lowest = |of: &LoadedAirframe| {
        let corners = of.built.vehicle.outline.iter();
        corners.map(|corner| corner.z).fold(f64::MIN, f64::max)
    };
    close(
        lowest(&loaded),
        0.046 + loaded.built.mass.balance.up_m,
        1e-12,
    );
    let boxes = drawn(&loaded.written_down);
    let boxes = boxes.iter().filter(|one| matches!(one, Drawn::Body { .. }));
    assert_eq!(boxes.count(), 3);
    // They weigh nothing.
    assert_eq!(
        loaded.built.mass,
        super::airframe(KNOT, &[]).unwrap().built.mass
    );
}

// The module hangs 40 mm under the reference point's height of the knot or thereabouts: its drag turns the nose down, and there is more drag.
#[test]
fn bodies_come_into_the_estimate_and_their_absence_is_said() {
    let (without, with) = (estimated(KNOT), estimated(&with_bodies(MODULE)));
    let (a, b) = (&without.coefficients, &with.coefficients);
    assert!(b.drag_min > a.drag_min && b.pitch_zero < a.pitch_zero && b.side_beta < a.side_beta);
    let says = |estimate: &Estimate| estimate.notes.iter().any(|note| note.contains("no bodies"));
    assert!(says(&without) && !says(&with));
}

#[test]
fn wrong_bodies() {
    let says = |body: &str| airframe(&with_bodies(body), &[]).unwrap_err().to_string();
    for (body, expected) in [
        (
            MODULE.replace("rounded_block", "round_block"),
            "found \"round_block\", wanted \"block\", \"rounded_block\", \"streamlined\", \"rod\" or \"stacked_canopy\"",
        ),
        (
            MODULE.replace("\"width_mm\": 20", "\"width_mm\": 0"),
            "bodies.module.width_mm: found 0, wanted a number from 0.1 to 3000",
        ),
        (
            LEGS.replace("\"plane\": \"upright\",", ""),
            "bodies.leg.plane: found nothing, wanted",
        ),
        (
            LEGS.replace("\"diameter_mm\": 2", "\"width_mm\": 2"),
            "bodies.leg.width_mm: found an unknown field",
        ),
        (
            format!("{MODULE}, {MODULE}"),
            "bodies.module.name: found \"module\" a second time",
        ),
    ] {
        let said = says(&body);
        assert!(said.contains(expected), "{said}\n{expected}");
    }
    let doubled = MODULE.replace("-40 }", "-40 }, \"mirrored\": true");
    let warnings = loaded(&with_bodies(&doubled)).warnings();
    assert!(
        warnings
            .iter()
            .any(|one| one.field == "bodies.module.mirrored"),
        "{warnings:?}"
    );
}

const KEEL: &str = r#""name": "keel", "plane": "upright", "right_mm": 0, "outline": [ { "station_mm": 20, "up_mm": -2 },
    { "station_mm": 90, "up_mm": -2 }, { "station_mm": 80, "up_mm": -42 }, { "station_mm": 40, "up_mm": -42 } ]"#;

// Root where it hangs, 2 mm below the line; chords 70 and 40 mm, 40 mm deep: 22 cm². Canted by 30° it leans right by half its depth.
#[test]
fn a_keel_hangs_from_its_root() {
    let keel = |text: &str| {
        let list = surfaces(&loaded(&with_surface(text)).written_down);
        let keel = list[0].clone();
        keel.check().unwrap_or_else(|error| panic!("{error}"));
        keel
    };
    let found = keel(KEEL);
    assert_eq!(found.sections.len(), 2);
    for (section, expected) in found
        .sections
        .iter()
        .zip([[20.0, -2.0, 70.0], [40.0, -42.0, 40.0]])
    {
        let at = section.leading_edge;
        close(at.station_m * 1e3, expected[0], 1e-9);
        close(at.up_m * 1e3, expected[1], 1e-9);
        close(section.chord_m * 1e3, expected[2], 1e-9);
        close(at.right_m, 0.0, 1e-12);
    }
    let leaning = keel(&format!("{KEEL}, \"cant_deg\": 30"));
    close(leaning.sections[1].leading_edge.right_m, 0.020, 1e-12);
    close(
        leaning.sections[1].leading_edge.up_m,
        -0.002 - 0.04 * 0.75_f64.sqrt(),
        1e-12,
    );
    // The plates beyond stall take it where it is.
    let upright = |text: &str| loaded(text).built.vehicle.post_stall.upright;
    let (with, without) = (upright(&with_surface(KEEL)), upright(KNOT));
    close(with.area - without.area, 2.2e-3, 1e-12);
    assert!(
        with.quarter_chord.z > without.quarter_chord.z,
        "further down"
    );
}

// A keel's side force goes left in slip to the right, as a fin's, but below: clear of the wing, behind it, it rolls the other way. Right below the
// wing the wing's windward half is lifted by the keel's pressure and takes more than that back (MODEL.md § 17).
#[test]
fn a_keel_rolls_against_a_fin_and_drags() {
    let of = |text: &str| estimated(text).coefficients;
    let behind = [("20", "120"), ("90", "190"), ("80", "180"), ("40", "140")]
        .iter()
        .fold(KEEL.to_owned(), |keel, (from, to)| {
            keel.replacen(
                &format!("\"station_mm\": {from},"),
                &format!("\"station_mm\": {to},"),
                1,
            )
        });
    let (plain, behind, below) = (
        of(KNOT),
        of(&with_surface(&behind)),
        of(&with_surface(KEEL)),
    );
    for keel in [&behind, &below] {
        assert!(keel.side_beta < plain.side_beta && keel.drag_min > plain.drag_min);
    }
    assert!(behind.roll_beta > plain.roll_beta && below.roll_beta < plain.roll_beta);
    // A trapezoid hangs down by its dihedral.
    let down = of(&with(KNOT, "\"dihedral_deg\": 90", "\"dihedral_deg\": -90"));
    assert!((down.side_beta / plain.side_beta - 1.0).abs() < 0.2 && down.yaw_beta > 0.0);
}

#[test]
fn surfaces_say_how_they_are_made() {
    let made = format!(
        r#"{KEEL}, "thickness_mm": 5, "leading_edge": "rounded", "trailing_edge": "tapered", "doublers": [ {{ "name": "grip",
        "thickness_mm": 3, "from_span_fraction": 0, "to_span_fraction": 0.5, "from_chord_fraction": 0.2, "to_chord_fraction": 0.6 }} ]"#
    );
    let file = loaded(&with_surface(&made)).written_down;
    let all = outside(&file, surfaces(&file));
    let skin = &all.surfaces[0].1;
    close(skin.thickness_m, 0.005, 1e-15);
    assert_eq!(
        (skin.leading, skin.trailing),
        (Edge::Rounded, Edge::Tapered)
    );
    assert_eq!(skin.doublers[0].chord_shares, [0.2, 0.6]);
    assert_eq!(skin.doublers[0].leading, Edge::Square);
    // The knot's wing has a sheet of its name, 3 mm thick.
    close(all.surfaces[1].1.thickness_m, 0.003, 1e-15);
    let wrong = made.replace("\"to_chord_fraction\": 0.6", "\"to_chord_fraction\": 0.1");
    let said = airframe(&with_surface(&wrong), &[])
        .unwrap_err()
        .to_string();
    let expected =
        "surfaces.keel.doublers.grip.to_chord_fraction: found 0.1, wanted a number from 0.201 to 1";
    assert!(said.contains(expected), "{said}");
}
