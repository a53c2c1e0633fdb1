//! One chart: axes with round ticks, and marks told apart by colour, dash and shape. Looks are classes; `pictures.css` says what they look
//! like, on the page of a result and in a picture that stands alone alike.

mod axis;
mod bars;
mod look;

pub use axis::{Axis, Frame};
pub use bars::{Bar, BarRow, Bars};
pub use look::{LOOKS, Look, Sample, sample};

use super::marks::text;
use svg::node::element::{Group, Line, Path, Rectangle, SVG, Title};

/// Width of a chart, px of its own.
pub const WIDTH: f64 = 420.0;
/// Its height.
pub const HEIGHT: f64 = 270.0;
/// How many shapes a curve carries along its way.
const SHAPES: usize = 5;

/// Something drawn in a chart, in the units of its axes.
#[derive(Clone, Debug)]
pub enum Mark {
    /// A curve: what it is, how it looks, where it goes.
    Curve(String, Look, Vec<(f64, f64)>),
    /// Counted shares: what they are, how they look, hollow or not; place, value, ends of the interval and words of each.
    Intervals(String, Look, bool, Vec<Interval>),
    /// Counts in bins that join: what they are, how they look, the bins.
    Bins(String, Look, Vec<Bin>),
    /// Places: what they are, how they look, where.
    Points(String, Look, Vec<(f64, f64)>),
    /// A stretch of the horizontal axis, and what it is.
    Band(f64, f64, String),
    /// A level line, and what it is.
    Level(f64, String),
    /// An upright line, and what it is.
    Upright(f64, String),
}

/// A value with the ends of its interval.
#[derive(Clone, Debug)]
pub struct Interval {
    /// Place on the horizontal axis.
    pub x: f64,
    /// The value.
    pub value: f64,
    /// Low end.
    pub low: f64,
    /// High end.
    pub high: f64,
    /// In words.
    pub words: String,
}

/// How much lies in a stretch of the horizontal axis.
#[derive(Clone, Debug)]
pub struct Bin {
    /// Where it begins.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
    /// How much.
    pub value: f64,
    /// In words.
    pub words: String,
}

/// A chart to be drawn.
#[derive(Clone, Debug)]
pub struct Chart {
    /// What it shows, in a line.
    pub title: String,
    /// Horizontal axis.
    pub x: Axis,
    /// Vertical axis.
    pub y: Axis,
    /// Whether a unit is as long on both axes.
    pub equal: bool,
    /// Its marks; the first lie under the last.
    pub marks: Vec<Mark>,
}

impl Chart {
    /// Where the axes lie.
    pub fn frame(&self) -> Frame {
        let (mut xs, mut ys) = (self.x.range(), self.y.range());
        for mark in &self.marks {
            match mark {
                Mark::Bins(_, _, list) => {
                    for one in list {
                        xs.hold(one.from);
                        xs.hold(one.to);
                        ys.hold(one.value);
                    }
                    ys.hold(0.0);
                }
                Mark::Curve(_, _, points) | Mark::Points(_, _, points) => {
                    for (x, y) in points {
                        xs.hold(*x);
                        ys.hold(*y);
                    }
                }
                Mark::Intervals(_, _, _, list) => {
                    for one in list {
                        xs.hold(one.x);
                        ys.hold(one.low);
                        ys.hold(one.high);
                    }
                }
                Mark::Band(from, to, _) => {
                    xs.hold(*from);
                    xs.hold(*to);
                }
                Mark::Level(y, _) => ys.hold(*y),
                Mark::Upright(x, _) => xs.hold(*x),
            }
        }
        Frame::new((&self.x, xs), (&self.y, ys), self.equal)
    }

    /// Draws it. The text alternative is its title and, after it, what is known of its curves.
    pub fn draw(&self) -> SVG {
        let frame = self.frame();
        let mut inside = Group::new();
        for mark in &self.marks {
            inside = inside.add(self.draw_mark(mark, &frame));
        }
        SVG::new()
            .set("viewBox", (0, 0, WIDTH as i64, HEIGHT as i64))
            .set("class", "chart")
            .set("role", "img")
            .set("aria-label", self.in_words())
            .add(frame.draw(&self.x, &self.y))
            .add(inside)
    }

    /// What is to be seen, in words: the title, and where each curve begins, ends, is lowest and highest.
    pub fn in_words(&self) -> String {
        let mut text = format!(
            "{}: {} over {}.",
            self.title,
            self.y.label(),
            self.x.label()
        );
        for mark in &self.marks {
            text += &match mark {
                Mark::Curve(name, _, points) => match (points.first(), points.last()) {
                    (Some(first), Some(last)) => {
                        let by_height = |a: &&(f64, f64), b: &&(f64, f64)| a.1.total_cmp(&b.1);
                        let low = points.iter().min_by(by_height).unwrap_or(first);
                        let high = points.iter().max_by(by_height).unwrap_or(first);
                        let at = |p: &(f64, f64)| {
                            format!("{} at {}", self.y.worded(p.1), self.x.worded(p.0))
                        };
                        format!(
                            " {name}: from {} to {}; least {}, most {}.",
                            at(first),
                            at(last),
                            at(low),
                            at(high)
                        )
                    }
                    _ => format!(" {name}: nothing."),
                },
                Mark::Intervals(name, _, _, list) => format!(" {name}: {} points.", list.len()),
                Mark::Points(name, _, points) => format!(" {name}: {} points.", points.len()),
                Mark::Bins(name, _, list) => {
                    let most = list.iter().max_by(|a, b| a.value.total_cmp(&b.value));
                    let most = most.map_or_else(String::new, |bin| format!("; most {}", bin.words));
                    format!(" {name}: {} bins{most}.", list.len())
                }
                Mark::Band(from, to, name) => format!(
                    " {name}: {} to {}.",
                    self.x.worded(*from),
                    self.x.worded(*to)
                ),
                Mark::Level(y, name) => format!(" {name}: {}.", self.y.worded(*y)),
                Mark::Upright(x, name) => format!(" {name}: {}.", self.x.worded(*x)),
            };
        }
        text
    }
}

impl Chart {
    fn draw_mark(&self, mark: &Mark, frame: &Frame) -> Group {
        match mark {
            Mark::Curve(name, look, points) => {
                let places: Vec<(f64, f64)> = points.iter().map(|p| frame.at(*p)).collect();
                let line = Path::new()
                    .set("class", "line")
                    .set("d", way(&places))
                    .add(Title::new(name.clone()));
                let mut group = Group::new().set("class", look.class()).add(line);
                if look.has_shapes() && places.len() > 1 {
                    for i in 0..SHAPES {
                        // Curves carry their shapes at different places, so that they do not lie on one another.
                        let share =
                            (i as f64 + 0.25 + 0.09 * f64::from(look.number())) / SHAPES as f64;
                        let k =
                            ((share.fract() * places.len() as f64) as usize).min(places.len() - 1);
                        let words = format!(
                            "{name}: {} at {}",
                            self.y.worded(points[k].1),
                            self.x.worded(points[k].0)
                        );
                        let shape = look
                            .shape(places[k], 4.0)
                            .set("class", "mark")
                            .add(Title::new(words));
                        group = group.add(shape);
                    }
                }
                group
            }
            Mark::Intervals(_, look, hollow, list) => {
                let mut group = Group::new().set("class", look.class());
                for one in list {
                    let (x, high) = frame.at((one.x, one.high));
                    let (_, low) = frame.at((one.x, one.low));
                    let class = if *hollow { "mark hollow" } else { "mark" };
                    let bar = Path::new().set("class", "bar").set(
                        "d",
                        format!(
                            "M{x:.1} {low:.1}V{high:.1}M{:.1} {low:.1}h6m0 {:.1}h-6",
                            x - 3.0,
                            high - low
                        ),
                    );
                    let shape = look
                        .shape(frame.at((one.x, one.value)), 4.0)
                        .set("class", class)
                        .add(Title::new(one.words.clone()));
                    group = group.add(bar).add(shape);
                }
                group
            }
            Mark::Bins(_, look, list) => {
                let mut group = Group::new().set("class", look.class());
                for bin in list {
                    let (left, top) = frame.at((bin.from, bin.value));
                    let (right, base) = frame.at((bin.to, 0.0));
                    let bar = Rectangle::new()
                        .set("class", "bin")
                        .set("x", format!("{left:.1}"))
                        .set("y", format!("{top:.1}"))
                        // Where all values are alike the bin is a line.
                        .set("width", format!("{:.1}", (right - left).max(2.0)))
                        .set("height", format!("{:.1}", (base - top).max(0.0)))
                        .add(Title::new(bin.words.clone()));
                    group = group.add(bar);
                }
                group
            }
            Mark::Points(name, look, points) => {
                let all: String = points
                    .iter()
                    .map(|&point| look.outline(frame.at(point), 2.5))
                    .collect();
                let shapes = Path::new()
                    .set("class", "spots")
                    .set("d", all)
                    .add(Title::new(name.clone()));
                Group::new().set("class", look.class()).add(shapes)
            }
            Mark::Band(from, to, name) => {
                let (left, right) = (frame.at((*from, 0.0)).0, frame.at((*to, 0.0)).0);
                let (top, bottom) = frame.top_and_bottom();
                let band = Rectangle::new()
                    .set("class", "band")
                    .set("x", format!("{:.1}", left.min(right)))
                    .set("y", format!("{top:.1}"))
                    // A window of one angle is still to be seen.
                    .set("width", format!("{:.1}", (right - left).abs().max(2.0)))
                    .set("height", format!("{:.1}", bottom - top))
                    .add(Title::new(name.clone()));
                Group::new().add(band)
            }
            Mark::Level(y, name) => {
                let (left, right) = frame.left_and_right();
                let y = frame.at((0.0, *y)).1;
                Group::new()
                    .add(rule((left, y), (right, y)).add(Title::new(name.clone())))
                    .add(text(right, y - 4.0, name, "ink end"))
            }
            Mark::Upright(x, name) => {
                let (top, bottom) = frame.top_and_bottom();
                let x = frame.at((*x, 0.0)).0;
                Group::new().add(rule((x, top), (x, bottom)).add(Title::new(name.clone())))
            }
        }
    }
}

fn rule(from: (f64, f64), to: (f64, f64)) -> Line {
    Line::new()
        .set("class", "rule")
        .set("x1", format!("{:.1}", from.0))
        .set("y1", format!("{:.1}", from.1))
        .set("x2", format!("{:.1}", to.0))
        .set("y2", format!("{:.1}", to.1))
}

/// A path through places on the page.
fn way(places: &[(f64, f64)]) -> String {
    let pairs: Vec<String> = places
        .iter()
        .map(|(x, y)| format!("{x:.1} {y:.1}"))
        .collect();
    match pairs.as_slice() {
        [] => String::new(),
        // A curve of one point is a dot.
        [one] => format!("M{one}h0"),
        more => format!("M{}", more.join("L")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chart(points: Vec<(f64, f64)>) -> Chart {
        Chart {
            title: "height over time".into(),
            x: Axis::new("time", "s", 2),
            y: Axis::new("height", "m", 2),
            equal: false,
            marks: vec![Mark::Curve("before & <after>".into(), Look::of(0), points)],
        }
    }

    // By hand: of 0 to 10 s and 1 to 3 m, the point in the middle of both lies in the middle of the axes.
    #[test]
    fn what_is_in_the_middle_is_drawn_in_the_middle() {
        let frame = chart(vec![(0.0, 1.0), (10.0, 3.0)]).frame();
        let (left, right) = frame.left_and_right();
        let (top, bottom) = frame.top_and_bottom();
        let (x, y) = frame.at((5.0, 2.0));
        assert!((x - 0.5 * (left + right)).abs() < 1e-9, "{x}");
        assert!((y - 0.5 * (top + bottom)).abs() < 1e-9, "{y}");
        assert!(frame.at((5.0, 3.0)).1 < y, "more is up");
    }

    #[test]
    fn names_are_escaped_and_nothing_is_not_a_number() {
        let svg = chart(vec![(0.0, 1.0), (10.0, 3.0)]).draw().to_string();
        assert!(svg.contains("before &amp; &lt;after&gt;") && !svg.contains("<after>"));
        assert!(
            svg.contains("least 1.00 m at 0.00 s, most 3.00 m at 10.00 s"),
            "{svg}"
        );
        for points in [vec![], vec![(1.0, 1.0)], vec![(0.0, 2.0), (0.0, 2.0)]] {
            let svg = chart(points).draw().to_string();
            assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
        }
    }
}
