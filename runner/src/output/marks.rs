//! Pieces all pictures are made of. Their colours are classes of `pictures.css`, so that one sheet serves light, dark and print.

use svg::Document;
use svg::node::element::{Path, Style, Text};

/// What the classes look like.
pub const STYLE: &str = include_str!("pictures.css");

/// Class of what is written, and of lines as dark.
pub const INK: &str = "ink";
/// Class of the air: where it blows.
pub const AIR: &str = "air";

/// A picture that stands alone: with its style and its paper.
pub fn document(width: f64, height: f64) -> Document {
    let paper = Path::new()
        .set("class", "paper")
        .set("d", format!("M0 0H{width}V{height}H0Z"));
    Document::new()
        .set("viewBox", (0, 0, width.ceil() as i64, height.ceil() as i64))
        .set("font-family", "sans-serif")
        .set("font-size", 13)
        .add(Style::new(STYLE))
        .add(paper)
}

/// A line of text.
pub fn text(x: f64, y: f64, content: &str, class: &str) -> Text {
    Text::new(content)
        .set("x", format!("{x:.1}"))
        .set("y", format!("{y:.1}"))
        .set("class", class)
}

/// An arrow.
pub fn arrow(from: (f64, f64), to: (f64, f64), class: &str) -> Path {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let length = dx.hypot(dy).max(1e-9);
    let (ux, uy) = (dx / length * 8.0, dy / length * 8.0);
    let head = |side: f64| (to.0 - ux - side * uy * 0.5, to.1 - uy + side * ux * 0.5);
    let (a, b) = (head(1.0), head(-1.0));
    Path::new()
        .set(
            "d",
            format!(
                "M{:.1} {:.1}L{:.1} {:.1}M{:.1} {:.1}L{:.1} {:.1}L{:.1} {:.1}",
                from.0, from.1, to.0, to.1, a.0, a.1, to.0, to.1, b.0, b.1
            ),
        )
        .set("class", format!("{class} arrow"))
}
