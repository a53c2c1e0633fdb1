//! Wrong drawings and exactly what is said about them.

use super::{airframe_with_drawings, wing_with};

const PATH: &str = r#"<path id="wing" d="M0 0h200v100h-200z"/>"#;

fn says(svg: &str, more: &str) -> String {
    let text = wing_with(&format!(
        r#""outline_svg": {{ "file": "outlines/knot.svg", "id": "wing"{more} }}"#
    ));
    airframe_with_drawings(&text, &[("outlines/knot.svg", svg)], &[]).expect_err(svg)
}

fn page(content: &str) -> String {
    format!(
        "<svg width=\"300mm\" height=\"200mm\" viewBox=\"0 0 300 200\">\n<g>\n{content}\n</g>\n</svg>"
    )
}

#[test]
fn a_page_without_a_size_in_millimetres() {
    let size = r#"wanted the width of the page in mm, such as "297mm""#;
    for (head, expected) in [
        ("<svg height=\"200mm\" viewBox=\"0 0 300 200\">", format!("width (for mass.parts.wing.outline_svg): found nothing, {size}")),
        (
            "<svg width=\"1134\" height=\"756\" viewBox=\"0 0 300 200\">",
            format!("width (for mass.parts.wing.outline_svg): found \"1134\" in pixels, which at 96 to the inch would be 300.0 mm, {size}"),
        ),
        (
            "<svg width=\"1134px\" height=\"756px\" viewBox=\"0 0 300 200\">",
            format!("width (for mass.parts.wing.outline_svg): found \"1134px\" in pixels, which at 96 to the inch would be 300.0 mm, {size}"),
        ),
        ("<svg width=\"100%\" height=\"100%\" viewBox=\"0 0 300 200\">", format!("width (for mass.parts.wing.outline_svg): found \"100%\", {size}")),
        (
            "<svg width=\"300mm\" height=\"200mm\">",
            "viewBox (for mass.parts.wing.outline_svg): found nothing, wanted four numbers: left, top, width, height of the page in the \
             drawing's own units, such as \"0 0 297 210\" on a page 297 mm wide"
                .to_owned(),
        ),
        (
            "<svg width=\"300mm\" height=\"100mm\" viewBox=\"0 0 300 200\">",
            "viewBox (for mass.parts.wing.outline_svg): found a unit of 1.0000 mm across and 0.5000 mm down the page, wanted one scale: \
             width and height of the page in the proportion of the viewBox"
                .to_owned(),
        ),
    ] {
        let svg = format!("<?xml version=\"1.0\"?>\n{head}{PATH}</svg>");
        assert_eq!(says(&svg, ""), format!("outlines/knot.svg:2: page, {expected}"));
    }
}

#[test]
fn a_scale_that_cannot_be_or_is_not_the_measured_one() {
    assert_eq!(
        says(&page(PATH), ", \"check_width_mm\": 189"),
        "outlines/knot.svg:3: id \"wing\" (for mass.parts.wing.outline_svg): found a path 200.0 mm wide on the page, \
         wanted 189 mm within 1 % (check_width_mm): the drawing is 1.058 times as large"
    );
    let outside = "wanted one of 5 to 2000 mm on its longer side; is the drawing's scale right?";
    for (data, size) in [
        ("M0 0h2100v100h-2100z", "2100.0 by 100.0"),
        ("M0 0h4v4.5h-4z", "4.0 by 4.5"),
    ] {
        assert_eq!(
            says(&page(&format!(r#"<path id="wing" d="{data}"/>"#)), ""),
            format!(
                "outlines/knot.svg:3: id \"wing\" (for mass.parts.wing.outline_svg): found an outline of {size} mm, {outside}"
            )
        );
    }
}

#[test]
fn drawings_and_ids_that_are_not_there() {
    assert_eq!(
        says(
            &page(r#"<path id="wings" d="M0 0h200v100h-200z"/><text id="wing-1"/>"#),
            ""
        ),
        "knot.json:15: mass.parts.wing.outline_svg.id: found \"wing\", which is no id in outlines/knot.svg, wanted the id of a path, \
         polygon, rect, circle or ellipse in the drawing; did you mean \"wings\"?"
    );
    assert_eq!(
        says(&page(PATH), ", \"hole_ids\": [\"hatch\"]"),
        "knot.json:15: mass.parts.wing.outline_svg.hole_ids[1]: found \"hatch\", which is no id in outlines/knot.svg, wanted the id of a \
         path, polygon, rect, circle or ellipse in the drawing"
    );
    let text = wing_with(r#""outline_svg": { "file": "outlines/knit.svg", "id": "wing" }"#);
    assert_eq!(
        airframe_with_drawings(&text, &[("outlines/knot.svg", PATH)], &[])
            .expect_err("no such file"),
        "knot.json:15: mass.parts.wing.outline_svg.file: found \"outlines/knit.svg\", which is no file, wanted the path of an SVG \
         drawing, from the folder this file is in; did you mean \"outlines/knot.svg\"?"
    );
}

#[test]
fn texts_that_are_no_drawing() {
    for (svg, expected) in [
        (
            "<svg>\n<g>\n</svg>",
            "outlines/knot.svg:3: page (for mass.parts.wing.outline_svg): found expected 'g' tag, not 'svg', wanted an SVG drawing (well-formed XML)",
        ),
        (
            "<html/>",
            "outlines/knot.svg:1: page (for mass.parts.wing.outline_svg): found the element \"html\", wanted an SVG drawing, whose root is \"svg\"",
        ),
    ] {
        assert_eq!(says(svg, ""), expected);
    }
}

#[test]
fn paths_that_cannot_be_cut() {
    let wing = "id \"wing\" (for mass.parts.wing.outline_svg)";
    for (content, expected) in [
        (
            r#"<path id="wing" d="M0 0h200v100h-200"/>"#,
            format!("3: {wing}: found a path left open: its ends lie 100.00 mm apart, wanted a closed path"),
        ),
        (
            r#"<path id="wing" d="M0 0L200 100V0L0 100z"/>"#,
            format!("3: {wing}: found a path that meets itself, near x 0.0, y 0.0 mm on the page and x 200.0, y 0.0 mm on the page, \
                     wanted a path that can be cut: no edge crossing or touching another"),
        ),
        (
            r#"<path id="wing" d="M0 0h200v100h-200z M300 0h10v10z"/>"#,
            format!("3: {wing}: found a hole outside the outline, wanted holes inside the outline and apart from one another"),
        ),
        (
            r#"<path id="wing" d="M0 0h200v100h-200z M50 50h10v10z M55 51h10v5z"/>"#,
            format!("3: {wing}: found a hole that meets hole 1, wanted holes inside the outline and apart from one another"),
        ),
        (
            r#"<text id="wing">wing</text>"#,
            format!("3: {wing}: found the element \"text\", wanted a path, polygon, rect, circle or ellipse (an editor's \"object to path\" \
                     makes a path)"),
        ),
        (
            r#"<rect id="wing" width="200mm" height="100"/>"#,
            "3: id \"wing\", width (for mass.parts.wing.outline_svg): found \"200mm\", wanted a number in the drawing's own units".to_owned(),
        ),
        (
            r#"<rect id="wing" width="200" height="100" rx="5"/>"#,
            "3: id \"wing\", rx (for mass.parts.wing.outline_svg): found round corners, wanted a path, for a rectangle with round corners \
             (an editor's \"object to path\")"
                .to_owned(),
        ),
        (
            "<g transform=\"turn(3)\">\n<path id=\"wing\" d=\"M0 0h200v100h-200z\"/></g>",
            "3: id \"wing\", transform (for mass.parts.wing.outline_svg): found \"turn(3)\", wanted transforms as SVG has them".to_owned(),
        ),
        (
            "<symbol>\n<path id=\"wing\" d=\"M0 0h200v100h-200z\"/></symbol>",
            format!("3: {wing}: found it inside \"symbol\", wanted a path that is drawn on the page itself"),
        ),
        (
            "<path id=\"wing\" d=\"M0 0h200v100h-200z\"/>\n<path id=\"wing\" d=\"M0 0h200v100h-200z\"/>",
            "3: id \"wing\", id (for mass.parts.wing.outline_svg): found this id again on line 4, wanted it once".to_owned(),
        ),
    ] {
        assert_eq!(says(&page(content), ""), format!("outlines/knot.svg:{expected}"));
    }
    let misspelt = says(&page(r#"<path id="wing" d="M0 0h200v100k-200z"/>"#), "");
    assert!(
        misspelt.starts_with(
            "outlines/knot.svg:3: id \"wing\", d (for mass.parts.wing.outline_svg): found "
        ),
        "{misspelt}"
    );
    assert!(
        misspelt.ends_with(", wanted path data as SVG has it"),
        "{misspelt}"
    );
}

#[test]
fn fields_of_a_drawn_outline_that_do_not_go_together() {
    for (more, expected) in [
        (
            r#", "up_from_mm": 3"#,
            "knot.json:15: mass.parts.wing.outline_svg.up_from_mm: found 3, wanted none for the plane \"level\"",
        ),
        (
            r#", "right_on_page": "up""#,
            "knot.json:15: mass.parts.wing.outline_svg.right_on_page: found \"up\", wanted a way at right angles to aft, which is \"down\"",
        ),
        (
            r#", "aft_on_page": "dwon""#,
            "knot.json:15: mass.parts.wing.outline_svg.aft_on_page: found \"dwon\", wanted \"right\", \"left\", \"up\" or \"down\"; did you mean \"down\"?",
        ),
        (
            r#", "drawn": "whole", "right_from_mm": -80"#,
            "outlines/knot.svg:3: id \"wing\" (for mass.parts.wing.outline_svg): found halves of 120.0 cm² right and 80.0 cm² left of the \
             centre line, wanted halves alike within 1 %; is the centre line where right_from_mm puts it?",
        ),
        (
            r#", "drawn": "whole", "right_from_mm": -280"#,
            "outlines/knot.svg:3: id \"wing\" (for mass.parts.wing.outline_svg): found a path wholly left of the centre line, wanted a path \
             on both sides of the centre line, as \"whole\" says; see right_from_mm",
        ),
    ] {
        assert_eq!(says(&page(PATH), more), expected);
    }
    let text = wing_with(
        r#""outline_svg": { "file": "outlines/knot.svg", "id": "wing", "drawn": "whole" }"#,
    )
    .replacen("\"mirrored\": true", "\"mirrored\": false", 1);
    assert_eq!(
        airframe_with_drawings(&text, &[("outlines/knot.svg", &page(PATH))], &[])
            .expect_err("not mirrored"),
        "knot.json:15: mass.parts.wing.outline_svg.drawn: found \"whole\", wanted \"whole\" only for a level, mirrored part; else leave it \
         out, and the path is taken as it is drawn"
    );
}

#[test]
fn wild_drawings_are_refused_without_a_hang_or_a_panic() {
    let path = |d: &str| page(&format!("<path id=\"wing\" d=\"{d}\"/>"));
    let nested = format!("{}{PATH}{}", "<g>".repeat(400_000), "</g>".repeat(400_000));
    let entities = "<!DOCTYPE svg [<!ENTITY a \"aaaaaaaaaa\"><!ENTITY b \"&a;&a;&a;&a;&a;&a;&a;&a;\"><!ENTITY c \"&b;&b;&b;&b;&b;&b;&b;&b;\">\
        <!ENTITY d \"&c;&c;&c;&c;&c;&c;&c;&c;\">]><svg id=\"&d;&d;&d;&d;&d;&d;\"/>";
    let curves = "c1 1 2 -1 3 0".repeat(3000);
    for svg in [
        path("M0 0A1e300 1e300 0 0 1 1e300 9z"),
        path("M0 0A1e12 1e12 0 0 1 1e10 9z"),
        path("M0 0C1e300 0 0 1e300 5 5z"),
        path("M0 0C1e9 0 0 1e9 5 5z"),
        path("M0 0L1e999 5L3 3z"),
        path("M0 0"),
        path("M0 0z"),
        path("M5 5L5 5z"),
        path("L5 5"),
        path(""),
        path(&format!("M0 0{curves}V9H0z")),
        page("<path id=\"wing\"/>"),
        page("<polygon id=\"wing\"/>"),
        page("<polygon id=\"wing\" points=\"1 2 3\"/>"),
        page("<circle id=\"wing\" r=\"-5\"/>"),
        page("<circle id=\"wing\" r=\"1e300\"/>"),
        page("<rect id=\"wing\" width=\"0\" height=\"5\"/>"),
        page(&format!("<g transform=\"scale(1e300)\">{PATH}</g>")),
        page(&format!("<g transform=\"scale(0)\">{PATH}</g>")),
        page(&format!("<g transform=\"matrix(1 1 1 1 0 0)\">{PATH}</g>")),
        entities.to_owned(),
        nested,
        String::new(),
    ] {
        let said = says(&svg, ", \"check_width_mm\": 77");
        assert!(
            said.contains(": found ") && said.contains(", wanted "),
            "{said}"
        );
        assert!(!said.contains("NaN") && !said.contains("inf"), "{said}");
    }
}
