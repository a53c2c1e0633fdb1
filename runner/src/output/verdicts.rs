//! Tables of go and no-go as a picture: winds down, throttles across. Each cell says in words what its colour says.

use super::drawing::{MARGIN, WIDTH};
use super::marks::{INK, document, text};
use scenarios::wind_limits::verdicts::Verdict;
use svg::node::element::Rectangle;

/// Height of a row, px.
const ROW: f64 = 30.0;
/// Width of the first column, px.
const FIRST: f64 = 90.0;

/// One table.
pub struct Picture {
    /// Title.
    pub title: String,
    /// Head of the first column.
    pub first: String,
    /// Heads of the rows.
    pub speeds: Vec<String>,
    /// Heads of the other columns.
    pub throttles: Vec<String>,
    /// Verdict and words of each cell, row by row.
    pub cells: Vec<(Verdict, String)>,
}

fn class(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Go => "cell go",
        Verdict::CannotTell => "cell",
        Verdict::NoGo => "cell no-go",
    }
}

/// Draws tables one under the other.
pub fn draw(pictures: &[Picture]) -> String {
    let rows: usize = pictures.iter().map(|p| p.speeds.len() + 3).sum();
    let height = 2.0 * MARGIN + ROW * (rows + 1) as f64;
    let mut drawing = document(WIDTH, height);
    let mut y = MARGIN;
    for picture in pictures {
        let width = (WIDTH - 2.0 * MARGIN - FIRST) / picture.throttles.len().max(1) as f64;
        let left = |column: usize| MARGIN + FIRST + width * column as f64;
        drawing = drawing.add(text(MARGIN, y, &picture.title, INK));
        y += ROW;
        drawing = drawing.add(text(MARGIN, y, &picture.first, INK));
        for (column, throttle) in picture.throttles.iter().enumerate() {
            drawing = drawing.add(text(left(column) + 6.0, y, throttle, INK));
        }
        y += 10.0;
        let across = picture.throttles.len().max(1);
        for (speed, cells) in picture.speeds.iter().zip(picture.cells.chunks(across)) {
            drawing = drawing.add(text(MARGIN, y + 20.0, speed, INK));
            for (column, (verdict, words)) in cells.iter().enumerate() {
                let cell = Rectangle::new()
                    .set("x", format!("{:.1}", left(column)))
                    .set("y", format!("{y:.1}"))
                    .set("width", format!("{width:.1}"))
                    .set("height", ROW)
                    .set("class", class(*verdict));
                drawing =
                    drawing
                        .add(cell)
                        .add(text(left(column) + 6.0, y + 20.0, words, "on-cell"));
            }
            y += ROW;
        }
        y += 1.5 * ROW;
    }
    let said = "Computed, not flown. Blue: go; orange: no-go; white: these throws cannot tell.";
    drawing.add(text(MARGIN, y, said, INK)).to_string()
}
