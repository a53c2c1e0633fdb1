//! A drawing on a page of known size: its scale, and the closed pieces of one path in millimetres on the page.

use super::path::{LARGEST, curves_of};
use super::polygon::Flat;
use crate::error::{nearest, quoted};
use kurbo::{Affine, BezPath, Circle, Ellipse, PathEl, Point, Rect, Shape};
use roxmltree::{Document, Node, ParsingOptions};
use std::str::FromStr;
use svgtypes::{Length, LengthUnit, NumberListParser, Transform, ViewBox};

/// How far chords may stay from the curve they stand for, mm.
const CHORD_TOLERANCE_MM: f64 = 0.05;
/// How far the cubics that stand for an arc may stay from it, mm.
const ARC_TOLERANCE_MM: f64 = 0.005;
/// Corners closer than this are one, mm.
const SAME_PLACE_MM: f64 = 1e-6;
/// How far apart the ends of a piece may lie that is not closed in the data, mm.
const LEFT_OPEN_MM: f64 = 0.05;
/// How much the two scales of a page may differ.
const SCALE_SLACK: f64 = 1e-3;
/// Most corners of one path: a smooth outline has some hundreds.
const MOST_CORNERS: usize = 5000;
/// How far from the page's corner a path may go, mm.
const LARGEST_PAGE_MM: f64 = 1e5;
/// Most elements of a drawing.
const MOST_NODES: u32 = 500_000;
/// Length of an inch, mm, and dots per inch of a CSS pixel.
const INCH_MM: f64 = 25.4;
const PIXELS_PER_INCH: f64 = 96.0;

/// What is wrong with a drawing.
#[derive(Debug)]
pub(super) enum Wrong {
    /// No element has the id; the one most like it.
    NoSuchId(Option<String>),
    /// Something at a line of the drawing.
    Drawing {
        line: u32,
        /// The attribute, or nothing where the path as a whole is meant.
        attribute: Option<&'static str>,
        found: String,
        wanted: String,
    },
}

/// Closed pieces, each by its corners.
type Polygons = Vec<Vec<Flat>>;

/// A path's closed pieces, mm on the page (x from the left edge, y from the top edge down), and the line it stands on.
#[derive(Clone, Debug)]
pub(super) struct Pieces {
    pub line: u32,
    pub polygons: Polygons,
}

/// A parsed drawing.
pub(super) struct Page<'a> {
    document: Document<'a>,
    /// User units of the root to mm on the page.
    to_page: Affine,
    scale_mm: f64,
}

impl<'a> Page<'a> {
    /// Parses a drawing and finds its scale.
    pub fn of(text: &'a str) -> Result<Self, Wrong> {
        let options = ParsingOptions {
            allow_dtd: true,
            nodes_limit: MOST_NODES,
            ..ParsingOptions::default()
        };
        let document = Document::parse_with_options(text, options).map_err(|error| {
            let words = error.to_string();
            Wrong::Drawing {
                line: error.pos().row,
                attribute: None,
                found: words.split(" at ").next().unwrap_or_default().to_owned(),
                wanted: "an SVG drawing (well-formed XML)".to_owned(),
            }
        })?;
        let root = document.root_element();
        let line = line_of(&document, root);
        let wrong = |attribute: Option<&'static str>, found: String, wanted: &str| Wrong::Drawing {
            line,
            attribute,
            found,
            wanted: wanted.to_owned(),
        };
        if root.tag_name().name() != "svg" {
            let found = format!("the element {}", quoted(root.tag_name().name()));
            return Err(wrong(None, found, "an SVG drawing, whose root is \"svg\""));
        }
        if is_moved(root) {
            let wanted = "none on the root; put it on a group";
            return Err(wrong(Some("transform"), "a transform".to_owned(), wanted));
        }
        let width_mm = size(root, "width").map_err(|(f, w)| wrong(Some("width"), f, &w))?;
        let height_mm = size(root, "height").map_err(|(f, w)| wrong(Some("height"), f, &w))?;
        let view_wanted = "four numbers: left, top, width, height of the page in the drawing's own units, such as \
                           \"0 0 297 210\" on a page 297 mm wide";
        let Some(view) = root.attribute("viewBox") else {
            return Err(wrong(Some("viewBox"), "nothing".to_owned(), view_wanted));
        };
        let view = ViewBox::from_str(view)
            .ok()
            .filter(|view| {
                [view.x, view.y, view.w, view.h]
                    .iter()
                    .all(|x| x.is_finite())
            })
            .ok_or_else(|| wrong(Some("viewBox"), quoted(view), view_wanted))?;
        let (across, down) = (width_mm / view.w, height_mm / view.h);
        if (across - down).abs() > SCALE_SLACK * across.max(down) {
            let found = format!("a unit of {across:.4} mm across and {down:.4} mm down the page");
            let wanted = "one scale: width and height of the page in the proportion of the viewBox";
            return Err(wrong(Some("viewBox"), found, wanted));
        }
        let scale_mm = (across + down) / 2.0;
        Ok(Page {
            document,
            to_page: Affine::scale(scale_mm) * Affine::translate((-view.x, -view.y)),
            scale_mm,
        })
    }

    /// The closed pieces of the path with an id.
    pub fn pieces(&self, id: &str) -> Result<Pieces, Wrong> {
        let mut with_id = self
            .document
            .descendants()
            .filter(|node| node.attribute("id") == Some(id));
        let Some(node) = with_id.next() else {
            let drawn =
                |node: &Node<'_, '_>| node.is_element() && KINDS.contains(&node.tag_name().name());
            let ids = self.document.descendants().filter(drawn);
            return Err(Wrong::NoSuchId(nearest(
                id,
                ids.filter_map(|node| node.attribute("id")),
            )));
        };
        let line = line_of(&self.document, node);
        let wrong = |attribute: Option<&'static str>, found: String, wanted: &str| Wrong::Drawing {
            line,
            attribute,
            found,
            wanted: wanted.to_owned(),
        };
        if let Some(second) = with_id.next() {
            let other = line_of(&self.document, second);
            return Err(wrong(
                Some("id"),
                format!("this id again on line {other}"),
                "it once",
            ));
        }
        let to_page = self.to_page * self.transform_of(node)?;
        let [a, b, c, d, ..] = to_page.as_coeffs();
        let stretch = a.hypot(b).max(c.hypot(d)).max(1e-9 * self.scale_mm);
        let curves = curves(node, ARC_TOLERANCE_MM / stretch)
            .map_err(|(attribute, found, wanted)| wrong(attribute, found, &wanted))?;
        let pieces =
            flattened(&(to_page * curves)).map_err(|(found, wanted)| wrong(None, found, wanted))?;
        Ok(Pieces {
            line,
            polygons: pieces,
        })
    }

    /// Product of the transforms of an element and the groups it is in.
    fn transform_of(&self, node: Node<'_, '_>) -> Result<Affine, Wrong> {
        let root = self.document.root_element();
        let mut product = Affine::IDENTITY;
        for one in node.ancestors().take_while(|one| *one != root) {
            let wrong =
                |attribute: Option<&'static str>, found: String, wanted: &str| Wrong::Drawing {
                    line: line_of(&self.document, one),
                    attribute,
                    found,
                    wanted: wanted.to_owned(),
                };
            let name = one.tag_name().name();
            if ["svg", "symbol", "clipPath", "mask", "pattern", "marker"].contains(&name) {
                let wanted = "a path that is drawn on the page itself";
                return Err(wrong(None, format!("it inside {}", quoted(name)), wanted));
            }
            if one
                .attribute("style")
                .is_some_and(|style| style.contains("transform"))
            {
                let wanted = "transforms in the attribute \"transform\"";
                return Err(wrong(Some("style"), "a transform".to_owned(), wanted));
            }
            if let Some(text) = one.attribute("transform") {
                let t = Transform::from_str(text).map_err(|_| {
                    wrong(
                        Some("transform"),
                        quoted(text),
                        "transforms as SVG has them",
                    )
                })?;
                product = Affine::new([t.a, t.b, t.c, t.d, t.e, t.f]) * product;
            }
        }
        if product.as_coeffs().iter().all(|x| x.is_finite()) && product.determinant() != 0.0 {
            return Ok(product);
        }
        Err(Wrong::Drawing {
            line: line_of(&self.document, node),
            attribute: Some("transform"),
            found: "transforms that leave no area".to_owned(),
            wanted: "transforms that can be undone".to_owned(),
        })
    }
}

/// Elements an outline can be read from.
const KINDS: [&str; 5] = ["path", "polygon", "rect", "circle", "ellipse"];

fn line_of(document: &Document<'_>, node: Node<'_, '_>) -> u32 {
    document.text_pos_at(node.range().start).row
}

fn is_moved(node: Node<'_, '_>) -> bool {
    node.attribute("transform").is_some()
        || node
            .attribute("style")
            .is_some_and(|style| style.contains("transform"))
}

/// Width or height of the page, mm; else what was found and what was wanted.
fn size(root: Node<'_, '_>, name: &str) -> Result<f64, (String, String)> {
    let wanted = format!("the {name} of the page in mm, such as \"297mm\"");
    let Some(text) = root.attribute(name) else {
        return Err(("nothing".to_owned(), wanted));
    };
    let Ok(length) = Length::from_str(text) else {
        return Err((quoted(text), wanted));
    };
    let mm = match length.unit {
        LengthUnit::Mm => length.number,
        LengthUnit::Cm => length.number * 10.0,
        LengthUnit::In => length.number * INCH_MM,
        LengthUnit::None | LengthUnit::Px => {
            let mm = length.number * INCH_MM / PIXELS_PER_INCH;
            let found = format!(
                "{} in pixels, which at 96 to the inch would be {mm:.1} mm",
                quoted(text)
            );
            return Err((found, wanted));
        }
        _ => return Err((quoted(text), wanted)),
    };
    if mm.is_finite() && mm > 0.0 {
        Ok(mm)
    } else {
        Err((quoted(text), wanted))
    }
}

type Misdrawn = (Option<&'static str>, String, String);

/// An element's curves in its own units.
fn curves(node: Node<'_, '_>, tolerance: f64) -> Result<BezPath, Misdrawn> {
    let number = |name: &'static str, default: Option<f64>| -> Result<f64, Misdrawn> {
        let wanted = "a number in the drawing's own units".to_owned();
        match (node.attribute(name), default) {
            (None, Some(value)) => Ok(value),
            (None, None) => Err((Some(name), "nothing".to_owned(), wanted)),
            (Some(text), _) => Length::from_str(text)
                .ok()
                .filter(|length| length.unit == LengthUnit::None)
                .map(|length| length.number)
                .filter(|number| number.abs() <= LARGEST * tolerance)
                .ok_or_else(|| (Some(name), quoted(text), wanted)),
        }
    };
    let size = |name: &'static str| match number(name, None)? {
        size if size > 0.0 => Ok(size),
        size => Err((Some(name), size.to_string(), "a number over 0".to_owned())),
    };
    match node.tag_name().name() {
        "path" => {
            let wanted = "path data as SVG has it".to_owned();
            let data = node
                .attribute("d")
                .ok_or_else(|| (Some("d"), "nothing".to_owned(), wanted.clone()))?;
            curves_of(data, tolerance).map_err(|found| (Some("d"), found, wanted))
        }
        "polygon" => {
            let text = node.attribute("points").unwrap_or_default();
            let numbers: Option<Vec<f64>> = NumberListParser::from(text).map(Result::ok).collect();
            let numbers = numbers
                .filter(|list| list.len() >= 6 && list.len() % 2 == 0)
                .ok_or_else(|| {
                    (
                        Some("points"),
                        quoted(text),
                        "three pairs of numbers at least".to_owned(),
                    )
                })?;
            let mut path = BezPath::new();
            for (i, pair) in numbers.chunks(2).enumerate() {
                let at = Point::new(pair[0], pair[1]);
                if i == 0 {
                    path.move_to(at)
                } else {
                    path.line_to(at)
                }
            }
            path.close_path();
            Ok(path)
        }
        "rect" => {
            for round in ["rx", "ry"] {
                if number(round, Some(0.0))? != 0.0 {
                    let wanted = "a path, for a rectangle with round corners (an editor's \"object to path\")";
                    return Err((Some("rx"), "round corners".to_owned(), wanted.to_owned()));
                }
            }
            let (x, y) = (number("x", Some(0.0))?, number("y", Some(0.0))?);
            let (width, height) = (size("width")?, size("height")?);
            Ok(Rect::new(x, y, x + width, y + height).to_path(tolerance))
        }
        "circle" => {
            let centre = (number("cx", Some(0.0))?, number("cy", Some(0.0))?);
            Ok(Circle::new(centre, size("r")?).to_path(tolerance))
        }
        "ellipse" => {
            let centre = (number("cx", Some(0.0))?, number("cy", Some(0.0))?);
            let radii = (size("rx")?, size("ry")?);
            Ok(Ellipse::new(centre, radii, 0.0).to_path(tolerance))
        }
        other => {
            let wanted = "a path, polygon, rect, circle or ellipse (an editor's \"object to path\" makes a path)";
            Err((
                None,
                format!("the element {}", quoted(other)),
                wanted.to_owned(),
            ))
        }
    }
}

/// Closed polygons of curves on the page; else what was found and what was wanted.
fn flattened(curves: &BezPath) -> Result<Polygons, (String, &'static str)> {
    let on_a_page = |point: Point| point.x.abs().max(point.y.abs()) <= LARGEST_PAGE_MM;
    if !curves.segments().all(|segment| {
        let cubic = segment.to_cubic();
        [cubic.p0, cubic.p1, cubic.p2, cubic.p3]
            .into_iter()
            .all(on_a_page)
    }) {
        let found = format!(
            "points more than {} m off the page's corner",
            LARGEST_PAGE_MM / 1e3
        );
        return Err((found, "a path on the page"));
    }
    let mut pieces: Vec<(Vec<Point>, bool)> = Vec::new();
    let mut count = 0_usize;
    kurbo::flatten(curves, CHORD_TOLERANCE_MM, |element| {
        count += 1;
        match element {
            PathEl::MoveTo(at) => pieces.push((vec![at], false)),
            PathEl::LineTo(at) => {
                if let Some((corners, _)) = pieces.last_mut().filter(|_| count <= 2 * MOST_CORNERS)
                {
                    corners.push(at);
                }
            }
            PathEl::ClosePath => {
                if let Some((_, closed)) = pieces.last_mut() {
                    *closed = true;
                }
            }
            // Flattening leaves no curves.
            PathEl::QuadTo(..) | PathEl::CurveTo(..) => {}
        }
    });
    if count > MOST_CORNERS {
        return Err((
            format!("{count} corners"),
            "a smoother path, of at most 5000",
        ));
    }
    let mut polygons = Vec::new();
    for (mut corners, closed) in pieces {
        // A lone point is what some editors leave behind a closed piece.
        if corners.len() < 2 {
            continue;
        }
        corners.dedup_by(|b, a| a.distance(*b) <= SAME_PLACE_MM);
        let gap = corners[0].distance(corners[corners.len() - 1]);
        if !closed && gap > LEFT_OPEN_MM {
            let found = format!("a path left open: its ends lie {gap:.2} mm apart");
            return Err((found, "a closed path"));
        }
        if gap <= if closed { SAME_PLACE_MM } else { LEFT_OPEN_MM } {
            corners.pop();
        }
        polygons.push(corners.iter().map(|at| (at.x, at.y)).collect());
    }
    if polygons.is_empty() {
        return Err(("a path without area".to_owned(), "a closed path"));
    }
    Ok(polygons)
}
