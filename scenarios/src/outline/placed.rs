//! One outline from a drawing: found on its page, checked, and placed on the airframe (MODEL.md § 12).

use super::drawings::Drawings;
use super::page::{Page, Pieces, Wrong};
use super::polygon::{Fault, Flat, area, fault, hole_fault, positive_half};
use crate::airframe_file::{Corner, Drawn, OutlineSvg, Plane, Way};
use crate::error::{Elsewhere, Problem, number, quoted};
use crate::field::FieldPath;

/// Longest side an outline may have, mm; and the shortest its longer side may have.
const LARGEST_MM: f64 = 2000.0;
const SMALLEST_MM: f64 = 5.0;
/// How much the halves of a part drawn whole may differ in area, and a measured width from the drawn one.
const SLACK: f64 = 0.01;

/// What an outline is for.
#[derive(Clone, Copy)]
pub(super) struct Role {
    pub plane: Plane,
    pub mirrored: bool,
}

/// An outline from a drawing, what it is for, and its field.
pub(super) struct Drawing<'a> {
    pub outline: &'a OutlineSvg,
    pub role: Role,
    pub at: &'a FieldPath,
}

/// An outline written down.
pub(super) struct Corners {
    pub outline: Vec<Corner>,
    pub holes: Vec<Vec<Corner>>,
}

impl Drawing<'_> {
    /// The outline and its holes as corners on the airframe. `drawings` is none where the airframe did not come from a file.
    pub fn corners(&self, drawings: Option<&Drawings>) -> Result<Corners, Problem> {
        self.check()?;
        let Some(drawings) = drawings else {
            let wanted = "\"outline\" in an airframe that does not come from a file";
            return Err(Problem::new(
                self.at.clone(),
                "an outline from a drawing",
                wanted,
            ));
        };
        let bytes = drawings.bytes(&self.outline.file, self.at)?;
        let shown = drawings.shown(&self.outline.file);
        let text = std::str::from_utf8(&bytes).map_err(|_| {
            let found = format!(
                "{}, with bytes that are not UTF-8",
                quoted(&self.outline.file)
            );
            Problem::new(self.at.key("file"), found, "a drawing saved as UTF-8")
        })?;
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let page =
            Page::of(text).map_err(|wrong| self.problem(wrong, &shown, self.at.key("id"), ""))?;
        let pieces = |id: &str, field: FieldPath| {
            page.pieces(id)
                .map_err(|wrong| self.problem(wrong, &shown, field, id))
        };
        let main = pieces(&self.outline.id, self.at.key("id"))?;
        let line = main.line;
        for polygon in &main.polygons {
            self.check_piece(polygon, line, &self.outline.id, &shown)?;
        }
        self.check_width(&main, &shown)?;
        let mut sorted = main.polygons;
        // The largest piece is the outline.
        let largest = (0..sorted.len())
            .max_by(|&i, &j| area(&sorted[i]).total_cmp(&area(&sorted[j])))
            .unwrap_or(0);
        let outline = sorted.swap_remove(largest);
        let mut holes: Vec<(Vec<Flat>, u32, &str)> = sorted
            .into_iter()
            .map(|hole| (hole, line, self.outline.id.as_str()))
            .collect();
        for (k, id) in self.outline.hole_ids.iter().enumerate() {
            let more = pieces(id, self.at.key("hole_ids").index(k))?;
            for hole in more.polygons {
                self.check_piece(&hole, more.line, id, &shown)?;
                holes.push((hole, more.line, id));
            }
        }
        let mut cut: Vec<Vec<Flat>> = Vec::new();
        for (hole, line, id) in holes {
            if let Some(found) = hole_fault(&outline, &cut, &hole) {
                let wanted = "holes inside the outline and apart from one another";
                return Err(self.in_drawing(found, wanted, line, id, &shown));
            }
            cut.push(hole);
        }
        self.on_the_airframe(outline, cut, line, &shown)
    }

    /// Fields that do not go together.
    fn check(&self) -> Result<(), Problem> {
        let (outline, level) = (self.outline, self.role.plane == Plane::Level);
        let word = if level { "level" } else { "upright" };
        let refused = |name: &str, found: Option<String>| match found {
            Some(found) => {
                let wanted = format!("none for the plane \"{word}\"");
                Err(Problem::new(self.at.key(name), found, wanted))
            }
            None => Ok(()),
        };
        if level {
            refused("up_on_page", outline.up_on_page.map(way_word))?;
            refused("up_from_mm", outline.up_from_mm.map(number))?;
        } else {
            refused("right_on_page", outline.right_on_page.map(way_word))?;
            refused("right_from_mm", outline.right_from_mm.map(number))?;
        }
        let (aft, across) = self.ways();
        let (a, b) = (direction(aft), direction(across));
        if a.0 * b.0 + a.1 * b.1 != 0.0 {
            let name = if level { "right_on_page" } else { "up_on_page" };
            let wanted = format!("a way at right angles to aft, which is {}", way_word(aft));
            return Err(Problem::new(self.at.key(name), way_word(across), wanted));
        }
        if outline.drawn == Some(Drawn::Whole) && !(level && self.role.mirrored) {
            let wanted = "\"whole\" only for a level, mirrored part; else leave it out, and the path is taken as it is drawn";
            return Err(Problem::new(self.at.key("drawn"), "\"whole\"", wanted));
        }
        match outline.check_width_mm {
            Some(width) => crate::check::over_zero(self.at, "check_width_mm", width),
            None => Ok(()),
        }
    }

    /// Which ways on the page are aft, and right or up.
    fn ways(&self) -> (Way, Way) {
        let aft = self.outline.aft_on_page.unwrap_or(Way::Down);
        let across = match self.role.plane {
            Plane::Level => self.outline.right_on_page,
            Plane::Upright => self.outline.up_on_page,
        };
        let usual = match aft {
            Way::Up | Way::Down => Way::Right,
            Way::Left | Way::Right => Way::Up,
        };
        (aft, across.unwrap_or(usual))
    }

    fn check_width(&self, pieces: &Pieces, shown: &str) -> Result<(), Problem> {
        let Some(wanted) = self.outline.check_width_mm else {
            return Ok(());
        };
        let (width, _) = extent(pieces.polygons.iter().flatten());
        if (width - wanted).abs() <= SLACK * wanted {
            return Ok(());
        }
        let found = format!("a path {width:.1} mm wide on the page");
        let wanted = format!(
            "{} mm within 1 % (check_width_mm): the drawing is {:.3} times as large",
            number(wanted),
            width / wanted
        );
        Err(self.in_drawing(found, wanted, pieces.line, &self.outline.id, shown))
    }

    /// A closed piece must be one that can be cut.
    fn check_piece(
        &self,
        polygon: &[Flat],
        line: u32,
        id: &str,
        shown: &str,
    ) -> Result<(), Problem> {
        let (found, wanted) = match fault(polygon) {
            None => return Ok(()),
            Some(Fault::TooFew(count)) => (
                format!("a piece of {count} corners"),
                "three corners at least",
            ),
            Some(Fault::SamePlace(i)) => (
                format!("two corners in one place, {}", place(polygon[i])),
                "one",
            ),
            Some(Fault::Meeting(i, j)) => (
                format!(
                    "a path that meets itself, near {} and {}",
                    place(polygon[i]),
                    place(polygon[j])
                ),
                "a path that can be cut: no edge crossing or touching another",
            ),
        };
        Err(self.in_drawing(found, wanted, line, id, shown))
    }

    /// Corners on the page to corners on the airframe.
    fn on_the_airframe(
        &self,
        outline: Vec<Flat>,
        holes: Vec<Vec<Flat>>,
        line: u32,
        shown: &str,
    ) -> Result<Corners, Problem> {
        let wrong = |found: String, wanted: &str| {
            self.in_drawing(found, wanted, line, &self.outline.id, shown)
        };
        let (width, height) = extent(&outline);
        let longer = width.max(height);
        if !(SMALLEST_MM..=LARGEST_MM).contains(&longer) {
            let found = format!("an outline of {width:.1} by {height:.1} mm");
            return Err(wrong(
                found,
                "one of 5 to 2000 mm on its longer side; is the drawing's scale right?",
            ));
        }
        let (aft, across) = self.ways();
        let (a, b) = (direction(aft), direction(across));
        let across_from = match self.role.plane {
            Plane::Level => self.outline.right_from_mm,
            Plane::Upright => self.outline.up_from_mm,
        };
        let station_from = self.outline.station_from_mm;
        let moved = |polygon: Vec<Flat>| -> Vec<Flat> {
            let place = |p: Flat| {
                let station = station_from + p.0 * a.0 + p.1 * a.1;
                (station, across_from.unwrap_or(0.0) + p.0 * b.0 + p.1 * b.1)
            };
            polygon.into_iter().map(place).collect()
        };
        let mut outline = moved(outline);
        let mut holes: Vec<Vec<Flat>> = holes.into_iter().map(moved).collect();
        if self.outline.drawn == Some(Drawn::Whole) {
            let in_pieces = "a path that crosses the centre line twice";
            let half = |polygon: &[Flat]| match positive_half(polygon) {
                Ok(half) => Ok(half),
                Err(count) => Err(wrong(
                    format!("one that crosses it {count} times"),
                    in_pieces,
                )),
            };
            let whole = area(&outline);
            let Some(right) = half(&outline)? else {
                let wanted =
                    "a path on both sides of the centre line, as \"whole\" says; see right_from_mm";
                return Err(wrong(
                    "a path wholly left of the centre line".to_owned(),
                    wanted,
                ));
            };
            let (right_area, left_area) = (area(&right), whole - area(&right));
            if (right_area - left_area).abs() > SLACK * right_area.max(left_area) {
                let found = format!(
                    "halves of {:.1} cm² right and {:.1} cm² left of the centre line",
                    right_area / 100.0,
                    left_area / 100.0
                );
                return Err(wrong(
                    found,
                    "halves alike within 1 %; is the centre line where right_from_mm puts it?",
                ));
            }
            outline = right;
            let mut right_holes = Vec::new();
            for hole in &holes {
                right_holes.extend(half(hole)?);
            }
            // A hole across the centre line is a notch in each half.
            if let Some(hole) = right_holes
                .iter()
                .find(|hole| hole.iter().any(|corner| corner.1 == 0.0))
            {
                let found = format!(
                    "a hole across the centre line, near station {:.1} mm",
                    hole[0].0
                );
                return Err(wrong(found, "two holes, or a path drawn as one half"));
            }
            holes = right_holes;
        }
        let level = self.role.plane == Plane::Level;
        let corner = |&(station_mm, across): &Flat| Corner {
            station_mm,
            right_mm: level.then_some(across),
            up_mm: (!level).then_some(across),
        };
        Ok(Corners {
            outline: outline.iter().map(corner).collect(),
            holes: holes
                .iter()
                .map(|hole| hole.iter().map(corner).collect())
                .collect(),
        })
    }

    fn problem(&self, wrong: Wrong, shown: &str, id_field: FieldPath, id: &str) -> Problem {
        match wrong {
            Wrong::NoSuchId(nearest) => {
                let found = format!("{}, which is no id in {shown}", quoted(id));
                let wanted = "the id of a path, polygon, rect, circle or ellipse in the drawing";
                Problem {
                    nearest,
                    ..Problem::new(id_field, found, wanted)
                }
            }
            Wrong::Drawing {
                line,
                attribute,
                found,
                wanted,
            } => {
                let mut field = if id.is_empty() {
                    "page".to_owned()
                } else {
                    format!("id {}", quoted(id))
                };
                if let Some(attribute) = attribute {
                    field = format!("{field}, {attribute}");
                }
                let mut problem = Problem::new(self.at.clone(), found, wanted);
                problem.elsewhere = Some(Box::new(Elsewhere {
                    file: shown.to_owned(),
                    line: Some(line),
                    field,
                }));
                problem
            }
        }
    }

    /// A problem of the path with an id.
    fn in_drawing(
        &self,
        found: String,
        wanted: impl Into<String>,
        line: u32,
        id: &str,
        shown: &str,
    ) -> Problem {
        let wrong = Wrong::Drawing {
            line,
            attribute: None,
            found,
            wanted: wanted.into(),
        };
        self.problem(wrong, shown, self.at.clone(), id)
    }
}

/// Width and height of points on the page, mm.
fn extent<'a>(points: impl IntoIterator<Item = &'a Flat>) -> (f64, f64) {
    let start = (f64::INFINITY, f64::NEG_INFINITY);
    let (x, y) = points.into_iter().fold((start, start), |(x, y), point| {
        (
            (x.0.min(point.0), x.1.max(point.0)),
            (y.0.min(point.1), y.1.max(point.1)),
        )
    });
    (x.1 - x.0, y.1 - y.0)
}

fn place(point: Flat) -> String {
    format!("x {:.1}, y {:.1} mm on the page", point.0, point.1)
}

fn direction(way: Way) -> Flat {
    match way {
        Way::Right => (1.0, 0.0),
        Way::Left => (-1.0, 0.0),
        Way::Down => (0.0, 1.0),
        Way::Up => (0.0, -1.0),
    }
}

fn way_word(way: Way) -> String {
    let word = match way {
        Way::Right => "right",
        Way::Left => "left",
        Way::Up => "up",
        Way::Down => "down",
    };
    quoted(word)
}
