//! Axes: ranges that hold what is drawn, round ticks, and how values lie on the page.

use super::super::marks::text;
use super::super::table::number;
use super::{HEIGHT, WIDTH};
use svg::node::element::{Group, Path};

/// Room for tick labels left of the chart, px.
const LEFT: f64 = 46.0;
/// Room for the vertical axis' name over it, px.
const TOP: f64 = 24.0;
const RIGHT: f64 = 10.0;
/// Room for tick labels and the horizontal axis' name under it, px.
const BOTTOM: f64 = 42.0;
/// Ticks of an axis at most.
const MOST_TICKS: f64 = 6.0;

/// An axis.
#[derive(Clone, Debug)]
pub struct Axis {
    /// What runs along it.
    pub name: String,
    /// Its unit; empty where it has none.
    pub unit: &'static str,
    /// Digits after the point of a value in words.
    pub decimals: usize,
    /// Values that are to be seen whatever is drawn.
    pub holds: Vec<f64>,
    /// Names of the values 0, 1, 2 … along a horizontal axis, where they stand for things; they then stand for its ticks.
    pub names: Vec<String>,
    /// Whether more is down the page.
    pub down: bool,
}

impl Axis {
    /// An axis as long as what is drawn.
    pub fn new(name: impl Into<String>, unit: &'static str, decimals: usize) -> Self {
        Axis {
            name: name.into(),
            unit,
            decimals,
            holds: Vec::new(),
            names: Vec::new(),
            down: false,
        }
    }

    /// Name and unit.
    pub fn label(&self) -> String {
        match self.unit {
            "" => self.name.clone(),
            unit => format!("{}, {unit}", self.name),
        }
    }

    /// A value with its unit.
    pub fn worded(&self, value: f64) -> String {
        let text = number(Some(value), self.decimals);
        match self.unit {
            "" => text,
            unit => format!("{text} {unit}"),
        }
    }

    pub(super) fn range(&self) -> Range {
        let mut range = Range {
            low: f64::INFINITY,
            high: f64::NEG_INFINITY,
        };
        self.holds.iter().for_each(|value| range.hold(*value));
        range
    }
}

/// From the least to the most of some values.
#[derive(Clone, Copy, Debug)]
pub(super) struct Range {
    low: f64,
    high: f64,
}

impl Range {
    pub(super) fn hold(&mut self, value: f64) {
        if value.is_finite() {
            self.low = self.low.min(value);
            self.high = self.high.max(value);
        }
    }

    /// With a little room; never empty.
    pub(super) fn widened(self) -> Self {
        if self.low > self.high {
            return Range {
                low: 0.0,
                high: 1.0,
            };
        }
        // Rounding of a value that does not change is not blown up to the height of the chart.
        let room = ((self.high - self.low) * 0.04).max(0.02);
        Range {
            low: self.low - room,
            high: self.high + room,
        }
    }

    pub(super) fn low(self) -> f64 {
        self.low
    }

    pub(super) fn length(self) -> f64 {
        self.high - self.low
    }

    fn about_its_middle(self, length: f64) -> Self {
        let middle = 0.5 * (self.low + self.high);
        Range {
            low: middle - 0.5 * length,
            high: middle + 0.5 * length,
        }
    }

    /// Round values in it, 1, 2 or 5 times a power of ten apart, and how many digits after the point they need.
    pub(super) fn ticks(self) -> (Vec<f64>, usize) {
        let least = self.length() / MOST_TICKS;
        let power = least.log10().floor();
        let ten = 10.0_f64.powf(power);
        let step = [1.0, 2.0, 5.0, 10.0]
            .map(|times| times * ten)
            .into_iter()
            .find(|step| *step >= least * (1.0 - 1e-9))
            .unwrap_or(10.0 * ten);
        let first = (self.low / step).ceil() as i64;
        let last = (self.high / step).floor() as i64;
        let decimals = (-(step * (1.0 + 1e-9)).log10().floor()).max(0.0) as usize;
        ((first..=last).map(|i| i as f64 * step).collect(), decimals)
    }
}

/// How values lie on the page.
#[derive(Clone, Copy, Debug)]
pub struct Frame {
    x: Range,
    y: Range,
    down: bool,
}

impl Frame {
    pub(super) fn new((_, x): (&Axis, Range), (y_axis, y): (&Axis, Range), equal: bool) -> Self {
        let (mut x, mut y) = (x.widened(), y.widened());
        if equal {
            let per_px =
                (x.length() / (WIDTH - LEFT - RIGHT)).max(y.length() / (HEIGHT - TOP - BOTTOM));
            x = x.about_its_middle(per_px * (WIDTH - LEFT - RIGHT));
            y = y.about_its_middle(per_px * (HEIGHT - TOP - BOTTOM));
        }
        Frame {
            x,
            y,
            down: y_axis.down,
        }
    }

    /// Place of values on the page, px.
    pub fn at(&self, (x, y): (f64, f64)) -> (f64, f64) {
        let [x0, kx, y0, ky] = self.scales();
        (x0 + kx * x, y0 + ky * y)
    }

    /// px of 0 and px in a unit, along and up the page.
    pub fn scales(&self) -> [f64; 4] {
        let (left, right) = self.left_and_right();
        let (top, bottom) = self.top_and_bottom();
        let kx = (right - left) / self.x.length();
        let (base, ky) = if self.down {
            (top, (bottom - top) / self.y.length())
        } else {
            (bottom, (top - bottom) / self.y.length())
        };
        [left - kx * self.x.low, kx, base - ky * self.y.low, ky]
    }

    /// Ends of the horizontal axis, px.
    pub fn left_and_right(&self) -> (f64, f64) {
        (LEFT, WIDTH - RIGHT)
    }

    /// Ends of the vertical axis, px.
    pub fn top_and_bottom(&self) -> (f64, f64) {
        (TOP, HEIGHT - BOTTOM)
    }

    /// Ticks of the horizontal axis with their words.
    fn ticks_along(&self, x: &Axis) -> Vec<(f64, String)> {
        if !x.names.is_empty() {
            let names = x.names.iter().enumerate();
            return names.map(|(i, name)| (i as f64, name.clone())).collect();
        }
        let (ticks, decimals) = self.x.ticks();
        let worded = |tick: f64| (tick, number(Some(tick), decimals));
        ticks.into_iter().map(worded).collect()
    }

    pub(super) fn draw(&self, x: &Axis, y: &Axis) -> Group {
        let ((left, right), (top, bottom)) = (self.left_and_right(), self.top_and_bottom());
        let mut grid = String::new();
        let mut labels = Group::new();
        for (tick, words) in self.ticks_along(x) {
            let at = self.at((tick, 0.0)).0;
            grid += &format!("M{at:.1} {top:.1}V{bottom:.1}");
            labels = labels.add(text(at, bottom + 16.0, &words, "ink middle"));
        }
        let (ticks, decimals) = self.y.ticks();
        for tick in ticks {
            let at = self.at((0.0, tick)).1;
            grid += &format!("M{left:.1} {at:.1}H{right:.1}");
            labels = labels.add(text(
                left - 5.0,
                at + 4.5,
                &number(Some(tick), decimals),
                "ink end",
            ));
        }
        let axes = format!("M{left:.1} {top:.1}V{bottom:.1}H{right:.1}");
        Group::new()
            .add(Path::new().set("class", "grid").set("d", grid))
            .add(Path::new().set("class", "axes").set("d", axes))
            .add(labels)
            .add(text(2.0, 14.0, &y.label(), "ink"))
            .add(text(right, HEIGHT - 6.0, &x.label(), "ink end"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // By hand: 0 to 45 in at most six steps of 1, 2 or 5 times a power of ten: 10; −0.12 to 0.31: 0.1; 3.2 to 3.21: 0.002.
    #[test]
    fn ticks_are_round_and_few() {
        let ticks = |low, high| Range { low, high }.ticks();
        assert_eq!(ticks(0.0, 45.0), (vec![0.0, 10.0, 20.0, 30.0, 40.0], 0));
        let (list, decimals) = ticks(-0.12, 0.31);
        assert_eq!((list.len(), decimals), (5, 1));
        assert!((list[0] + 0.1).abs() < 1e-12);
        let (list, decimals) = ticks(3.2, 3.21);
        assert_eq!((list.len(), decimals), (6, 3));
    }
}
