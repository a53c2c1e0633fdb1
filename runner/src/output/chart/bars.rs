//! Bars that lie: one row for each thing that is compared, its name over it, values with their intervals.

use super::axis::Range;
use super::{Axis, Look, WIDTH, rule};
use crate::output::marks::text;
use crate::output::table::number;
use svg::node::element::{Group, Path, Rectangle, SVG, Title};

/// Room left and right of the axis, px.
const EDGE: f64 = 12.0;
/// Room for a row's name, px.
const NAME: f64 = 20.0;
/// Height of a bar, px.
const BAR: f64 = 10.0;
/// Room between bars and under a row's last, px.
const BETWEEN: f64 = 4.0;
/// Room for tick labels and the axis' name under the rows, px.
const BOTTOM: f64 = 44.0;
/// Letters of a row's name that are drawn at most.
const MOST_LETTERS: usize = 54;

/// A bar.
#[derive(Clone, Debug)]
pub struct Bar {
    /// How it looks.
    pub look: Look,
    /// Where it ends.
    pub value: f64,
    /// Low end of its interval.
    pub low: f64,
    /// High end.
    pub high: f64,
    /// In words.
    pub words: String,
}

/// Bars about one thing.
#[derive(Clone, Debug)]
pub struct BarRow {
    /// What it is called.
    pub name: String,
    /// Its bars; as many in every row.
    pub bars: Vec<Bar>,
    /// A value that is asked for, and what it is.
    pub asked: Option<(f64, String)>,
}

/// A picture of bars.
#[derive(Clone, Debug)]
pub struct Bars {
    /// What it shows, in a line.
    pub title: String,
    /// What runs along the bars.
    pub axis: Axis,
    /// Rows, the first on top.
    pub rows: Vec<BarRow>,
}

impl Bars {
    fn row_height(&self) -> f64 {
        let bars = self.rows.iter().map(|row| row.bars.len()).max();
        NAME + bars.unwrap_or(0) as f64 * (BAR + BETWEEN) + BETWEEN
    }

    fn range(&self) -> Range {
        let mut range = self.axis.range();
        range.hold(0.0);
        for row in &self.rows {
            for bar in &row.bars {
                [bar.value, bar.low, bar.high]
                    .into_iter()
                    .for_each(|value| range.hold(value));
            }
            if let Some((asked, _)) = row.asked {
                range.hold(asked);
            }
        }
        range.widened()
    }

    /// px of 0 and px in a unit, along; px of the middle of row 0 and px in a row, down.
    pub fn scales(&self) -> [f64; 4] {
        let (range, height) = (self.range(), self.row_height());
        let kx = (WIDTH - 2.0 * EDGE) / range.length();
        [
            EDGE - kx * range.low(),
            kx,
            NAME + 0.5 * (height - NAME),
            height,
        ]
    }

    /// Draws it; the text alternative says every bar.
    pub fn draw(&self) -> SVG {
        let [x0, kx, _, height] = self.scales();
        let bottom = height * self.rows.len() as f64;
        let at = |value: f64| x0 + kx * value;
        let mut labels = Group::new();
        let mut grid = String::new();
        let (ticks, decimals) = self.range().ticks();
        // Not through the names.
        let beside_bars = |x: f64| -> String {
            let rows = (0..self.rows.len()).map(|i| height * i as f64);
            rows.map(|top| format!("M{x:.1} {:.1}V{:.1}", top + NAME - 2.0, top + height))
                .collect()
        };
        for tick in ticks {
            grid += &beside_bars(at(tick));
            let words = number(Some(tick), decimals);
            labels = labels.add(text(at(tick), bottom + 17.0, &words, "ink middle"));
        }
        let axes = format!(
            "{}M{EDGE:.1} {bottom:.1}H{:.1}",
            beside_bars(at(0.0)),
            WIDTH - EDGE
        );
        let mut inside = Group::new();
        for (i, row) in self.rows.iter().enumerate() {
            let top = height * i as f64;
            let name = Group::new()
                .add(text(EDGE, top + 15.0, &shortened(&row.name), "ink"))
                .add(Title::new(row.name.clone()));
            labels = labels.add(name);
            for (k, bar) in row.bars.iter().enumerate() {
                let y = top + NAME + k as f64 * (BAR + BETWEEN);
                inside = inside.add(drawn(bar, y, at));
            }
            if let Some((asked, words)) = &row.asked {
                let x = at(*asked);
                let line = rule((x, top + NAME - 2.0), (x, top + height - BETWEEN));
                inside = inside.add(line.add(Title::new(words.clone())));
            }
        }
        SVG::new()
            .set("viewBox", (0, 0, WIDTH as i64, (bottom + BOTTOM) as i64))
            .set("class", "chart")
            .set("role", "img")
            .set("aria-label", self.in_words())
            .add(Path::new().set("class", "grid").set("d", grid))
            .add(Path::new().set("class", "axes").set("d", axes))
            .add(inside)
            .add(labels)
            .add(text(
                WIDTH - EDGE,
                bottom + 36.0,
                &self.axis.label(),
                "ink end",
            ))
    }

    fn in_words(&self) -> String {
        let mut words = format!("{}: {}.", self.title, self.axis.label());
        for row in &self.rows {
            let bars: Vec<&str> = row.bars.iter().map(|bar| bar.words.as_str()).collect();
            words += &format!(" {}: {}", row.name, bars.join("; "));
            if let Some((_, asked)) = &row.asked {
                words += &format!("; {asked}");
            }
            words.push('.');
        }
        words
    }
}

/// A bar from 0 to its value, y px from the top, with its interval.
fn drawn(bar: &Bar, y: f64, at: impl Fn(f64) -> f64) -> Group {
    let (from, to) = (at(0.0).min(at(bar.value)), at(0.0).max(at(bar.value)));
    let (low, high, middle) = (at(bar.low), at(bar.high), y + 0.5 * BAR);
    let body = Rectangle::new()
        .set("class", "bin")
        .set("x", format!("{from:.1}"))
        .set("y", format!("{y:.1}"))
        .set("width", format!("{:.1}", (to - from).max(1.0)))
        .set("height", format!("{BAR:.1}"));
    let interval = Path::new().set("class", "bar").set(
        "d",
        format!(
            "M{low:.1} {middle:.1}H{high:.1}M{low:.1} {:.1}v6m{:.1} 0v-6",
            middle - 3.0,
            high - low
        ),
    );
    let shape = bar.look.shape((at(bar.value), middle), 3.0);
    Group::new()
        .set("class", bar.look.class())
        .add(Title::new(bar.words.clone()))
        .add(body)
        .add(interval)
        .add(shape.set("class", "mark"))
}

fn shortened(name: &str) -> String {
    if name.chars().count() <= MOST_LETTERS {
        return name.to_owned();
    }
    let mut short: String = name.chars().take(MOST_LETTERS - 1).collect();
    short.push('…');
    short
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bars(values: &[f64]) -> Bars {
        let row = |(i, &value): (usize, &f64)| BarRow {
            name: format!("field <{i}>"),
            bars: vec![Bar {
                look: Look::of(0),
                value,
                low: value - 0.1,
                high: value + 0.1,
                words: format!("{value} give or take 0.1"),
            }],
            asked: None,
        };
        Bars {
            title: "what decides".into(),
            axis: Axis::new("share", "", 2),
            rows: values.iter().enumerate().map(row).collect(),
        }
    }

    // By hand: 0 and 1 lie as far apart as ten tenths, and rows at equal distances.
    #[test]
    fn values_and_rows_lie_where_the_scales_say() {
        let bars = bars(&[0.0, 1.0, 0.5]);
        let [x0, kx, y0, ky] = bars.scales();
        let svg = bars.draw().to_string();
        let body = format!("width=\"{kx:.1}\"");
        assert!(svg.contains(&body), "{body}: {svg}");
        assert!(svg.contains(&format!("x=\"{x0:.1}\"")));
        assert!(y0 > 0.0 && y0 < ky);
        assert!(x0 > 0.0 && x0 + 1.1 * kx < WIDTH);
    }

    #[test]
    fn names_are_escaped_and_nothing_is_not_a_number() {
        for values in [&[][..], &[0.0], &[-0.2, 3.0]] {
            let svg = bars(values).draw().to_string();
            assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
            assert!(!svg.contains("<0>"));
        }
        assert!(bars(&[2.0]).in_words().contains("2 give or take 0.1"));
        assert_eq!(shortened(&"x".repeat(80)).chars().count(), MOST_LETTERS);
    }
}
