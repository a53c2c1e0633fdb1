//! Wrong facings, holes, glue, surfaces and bends, and exactly what is said about them.

use super::{KNOT, airframe, with};
use crate::overrides::Override;
use serde_json::json;

fn says(from: &str, to: &str) -> String {
    airframe(&with(KNOT, from, to), &[])
        .expect_err(to)
        .to_string()
}

#[test]
fn facings_layers_and_glue() {
    let density = r#""areal_density_g_m2": 100,"#;
    for (more, expected) in [
        (
            r#""facing_areal_density_g_m2": 15,"#,
            "8: mass.parts.wing.faced_sides: found nothing, wanted 0, 1 or 2, with facing_areal_density_g_m2",
        ),
        (
            r#""faced_sides": 1,"#,
            "8: mass.parts.wing.facing_areal_density_g_m2: found nothing, wanted the mass of the facing, with faced_sides",
        ),
        (
            r#""facing_areal_density_g_m2": 15, "faced_sides": 3,"#,
            "11: mass.parts.wing.faced_sides: found 3, wanted a whole number from 0 to 2",
        ),
        (
            r#""facing_areal_density_g_m2": 15, "faced_sides": 1.5,"#,
            "11: mass.parts.wing.faced_sides: found 1.5, wanted a whole number of 0 or more",
        ),
        (
            r#""facing_areal_density_g_m2": -1, "faced_sides": 1,"#,
            "11: mass.parts.wing.facing_areal_density_g_m2: found -1, wanted a number of 0 or more",
        ),
        (
            r#""layers": 0,"#,
            "11: mass.parts.wing.layers: found 0, wanted a whole number from 1 to 100",
        ),
        (
            r#""layer": 2,"#,
            "11: mass.parts.wing.layer: found an unknown field, wanted a field that exists here; did you mean \"layers\"?",
        ),
    ] {
        assert_eq!(
            says(density, &format!("{density} {more}")),
            format!("knot.json:{expected}")
        );
    }
    for (fraction, expected) in [
        (
            "-0.1",
            "7: mass.glue_fraction: found -0.1, wanted a number from 0 to 1",
        ),
        (
            "5",
            "7: mass.glue_fraction: found 5, wanted a number from 0 to 1",
        ),
    ] {
        let found = says(
            "\"parts\": [",
            &format!("\"glue_fraction\": {fraction}, \"parts\": ["),
        );
        assert_eq!(found, format!("knot.json:{expected}"));
    }
    let glue = Override::new("mass.glue_fraction", &json!(0.1)).expect("an override");
    let named = with(KNOT, r#""name": "ballast""#, r#""name": "glue""#);
    assert_eq!(
        airframe(&named, &[glue])
            .expect_err("glue twice")
            .to_string(),
        "override: overrides \"mass.glue_fraction\" (mass.parts.glue.name): found \"glue\", wanted another name, or no glue_fraction: its \
         glue is listed by that name"
    );
}

#[test]
fn outlines_and_holes_of_sheets() {
    let start = KNOT.find("\"outline\": [").expect("the outline");
    let end = KNOT
        .find("        \"mirrored\": true")
        .expect("what follows");
    let none = format!("{}{}", &KNOT[..start], &KNOT[end..]);
    assert_eq!(
        airframe(&none, &[]).expect_err("no outline").to_string(),
        "knot.json:8: mass.parts.wing: found neither \"outline\" nor \"outline_svg\", wanted \"outline\" or \"outline_svg\""
    );
    assert_eq!(
        says(
            "\"outline\": [",
            "\"outline_svg\": { \"file\": \"knot.svg\", \"id\": \"wing\" }, \"outline\": ["
        ),
        "knot.json:8: mass.parts.wing: found \"outline\" and \"outline_svg\", wanted one of them"
    );
    let hole = |corners: &str| {
        says(
            "\"up_mm\": 0,\n",
            &format!("\"up_mm\": 0, \"holes\": [[{corners}]],\n"),
        )
    };
    let corner = |station: i32, right: i32| {
        format!("{{ \"station_mm\": {station}, \"right_mm\": {right} }}")
    };
    let triangle = |s: i32, r: i32| [corner(s, r), corner(s + 10, r), corner(s, r + 10)].join(", ");
    for (corners, expected) in [
        (
            triangle(95, 20),
            "mass.parts.wing.holes[1]: found a hole that meets the outline, wanted holes inside the outline and apart from one another",
        ),
        (
            triangle(120, 20),
            "mass.parts.wing.holes[1]: found a hole outside the outline, wanted holes inside the outline and apart from one another",
        ),
        (
            format!("{}, {}", corner(20, 20), corner(30, 30)),
            "mass.parts.wing.holes[1]: found a list of 2, wanted 3 entries at least",
        ),
        (
            format!(
                "{}, {{ \"station_mm\": 20, \"up_mm\": 3 }}",
                [corner(40, 20), corner(40, 40)].join(", ")
            ),
            "mass.parts.wing.holes[1][3].up_mm: found 3, wanted none in a sheet with plane \"level\"",
        ),
        (
            [
                corner(20, 20),
                corner(30, 30),
                corner(30, 20),
                corner(20, 30),
            ]
            .join(", "),
            "mass.parts.wing.holes[1][3]: found the edges from corners 1 and 3 meeting, wanted an outline that can be cut: edges in order, \
             none crossing or touching another",
        ),
        (
            format!("{}], [{}", triangle(20, 20), triangle(22, 22)),
            "mass.parts.wing.holes[2]: found a hole that meets hole 1, wanted holes inside the outline and apart from one another",
        ),
    ] {
        assert_eq!(hole(&corners), format!("knot.json:14: {expected}"));
    }
}

#[test]
fn surfaces_have_one_form() {
    let chord = r#""root_chord_mm": 100,"#;
    let triangle = r#""outline": [ { "station_mm": 0, "right_mm": 0 }, { "station_mm": 9, "right_mm": 0 }, { "station_mm": 9, "right_mm": 9 } ],"#;
    for (from, to, expected) in [
        (
            chord,
            String::new(),
            "46: surfaces.wing.root_chord_mm: found nothing, wanted a number, in a surface without \"outline\" or \"outline_svg\"",
        ),
        (
            chord,
            format!("{chord} \"plane\": \"level\","),
            "49: surfaces.wing.plane: found \"level\", wanted none in a surface without an outline",
        ),
        (
            chord,
            format!("{chord} {triangle}"),
            "48: surfaces.wing.root_leading_edge: found a place, wanted none in a surface with an outline",
        ),
        (
            r#""dihedral_deg": 90"#,
            "\"dihedral_deg\": 90, \"cant_deg\": 3".to_owned(),
            "63: surfaces.fin.cant_deg: found 3, wanted dihedral_deg or cant_deg, not both",
        ),
        (
            "\"leading_edge_sweep_deg\": 38,\n      \"dihedral_deg\": 90",
            "\"leading_edge_sweep_deg\": 38".to_owned(),
            "56: surfaces.fin.dihedral_deg: found nothing, wanted a number: dihedral_deg, or cant_deg for a fin",
        ),
        (
            chord,
            format!("{chord} \"twist_deg\": 50,"),
            "49: surfaces.wing.twist_deg: found 50, wanted a number from -45 to 45",
        ),
    ] {
        assert_eq!(says(from, &to), format!("knot.json:{expected}"));
    }
}

#[test]
fn outlines_of_surfaces() {
    let surfaces = KNOT.find("\"surfaces\": [").expect("the surfaces");
    let end = KNOT.find("  \"reference\"").expect("what follows");
    let says = |surface: &str| {
        let text = format!(
            "{}\"surfaces\": [ {{ \"name\": \"wing\", {surface} }} ],\n{}",
            &KNOT[..surfaces],
            &KNOT[end..]
        );
        airframe(&text, &[]).expect_err(surface).to_string()
    };
    let outline = |corners: &[(i32, i32)]| {
        let corners: Vec<String> = corners
            .iter()
            .map(|(s, r)| format!("{{ \"station_mm\": {s}, \"right_mm\": {r} }}"))
            .collect();
        format!("\"outline\": [{}]", corners.join(", "))
    };
    let triangle = outline(&[(0, 0), (100, 0), (100, 200)]);
    for (surface, expected) in [
        (
            triangle.clone(),
            "surfaces.wing.plane: found nothing, wanted \"level\" or \"upright\", in a surface with an outline",
        ),
        (
            format!("\"plane\": \"level\", {triangle}"),
            "surfaces.wing.up_mm: found nothing, wanted a number, in a surface with plane \"level\"",
        ),
        (
            format!("\"plane\": \"level\", \"up_mm\": 0, \"cant_deg\": 3, {triangle}"),
            "surfaces.wing.cant_deg: found 3, wanted dihedral_deg, in a level surface",
        ),
        (
            format!("\"plane\": \"upright\", \"right_mm\": 0, \"dihedral_deg\": 90, {triangle}"),
            "surfaces.wing.dihedral_deg: found 90, wanted cant_deg, in an upright surface",
        ),
        (
            format!("\"plane\": \"upright\", \"right_mm\": 0, {triangle}"),
            "surfaces.wing.outline[1].right_mm: found 0, wanted none in a surface with plane \"upright\"",
        ),
        (
            format!(
                "\"plane\": \"level\", \"up_mm\": 0, {}",
                outline(&[
                    (0, 0),
                    (90, 0),
                    (90, 50),
                    (60, 50),
                    (60, 20),
                    (30, 20),
                    (30, 50),
                    (0, 50)
                ])
            ),
            "surfaces.wing.outline: found 2 pieces of it at right 35.0 mm, wanted an outline that every line across the span meets in one piece; write it as several surfaces",
        ),
        (
            format!(
                "\"plane\": \"level\", \"up_mm\": 0, {}",
                outline(&[(0, -100), (100, -100), (100, 200)])
            ),
            "surfaces.wing.outline: found corners from 100.0 mm left to 200.0 mm right of the centre line, wanted one side of it, with \"mirrored\" for the other (a drawing of the whole: \"drawn\": \"whole\")",
        ),
        (
            format!(
                "\"plane\": \"level\", \"up_mm\": 0, {}",
                outline(&[(0, 0), (100, 200), (100, 0), (0, 200)])
            ),
            "surfaces.wing.outline[3]: found the edges from corners 1 and 3 meeting, wanted an outline that can be cut: edges in order, none crossing or touching another",
        ),
    ] {
        assert_eq!(says(&surface), format!("knot.json:45: {expected}"));
    }
}

#[test]
fn bends_of_surfaces() {
    for (bend, expected) in [
        (
            r#""tab": "elevn", "from_span_fraction": 0, "to_span_fraction": 1, "chord_fraction": 0.2"#,
            "bends.elevn.tab: found \"elevn\", wanted the name of a tab: \"elevon\"; did you mean \"elevon\"?",
        ),
        (
            r#""from_span_fraction": 0, "to_span_fraction": 1, "chord_fraction": 0.2"#,
            "bends[1]: found neither \"tab\" nor \"angle_deg\", wanted \"tab\" or \"angle_deg\"",
        ),
        (
            r#""tab": "elevon", "angle_deg": 3, "from_span_fraction": 0, "to_span_fraction": 1, "chord_fraction": 0.2"#,
            "bends.elevon.angle_deg: found 3, wanted \"tab\" or \"angle_deg\", not both",
        ),
        (
            r#""angle_deg": 70, "from_span_fraction": 0, "to_span_fraction": 1, "chord_fraction": 0.2"#,
            "bends[1].angle_deg: found 70, wanted a number from -60 to 60",
        ),
        (
            r#""angle_deg": 3, "from_span_fraction": 0.5, "to_span_fraction": 0.4, "chord_fraction": 0.2"#,
            "bends[1].to_span_fraction: found 0.4, wanted a number from 0.501 to 1",
        ),
        (
            r#""angle_deg": 3, "from_span_fraction": 0.5, "to_span_fraction": 1, "chord_fraction": 0"#,
            "bends[1].chord_fraction: found 0, wanted a number from 0.001 to 1",
        ),
        (
            r#""angle_deg": 3, "from_span_fraction": 0.5, "to_span_fraction": 1"#,
            "bends[1].chord_fraction: found nothing, wanted a number",
        ),
    ] {
        let found = says(
            r#""root_chord_mm": 100,"#,
            &format!("\"root_chord_mm\": 100, \"bends\": [{{ {bend} }}],"),
        );
        assert_eq!(found, format!("knot.json:49: surfaces.wing.{expected}"));
    }
    let fin = says(
        r#""root_chord_mm": 40,"#,
        r#""root_chord_mm": 40, "bends": [{ "tab": "elevon", "from_span_fraction": 0, "to_span_fraction": 1, "chord_fraction": 0.2, "antisymmetric": true }],"#,
    );
    assert_eq!(
        fin,
        "knot.json:59: surfaces.fin.bends.elevon.antisymmetric: found true, wanted false, in a surface that is not mirrored"
    );
}
