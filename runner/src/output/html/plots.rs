//! Pictures that are read together: a legend, the pictures, and the values behind them for the readout.

use super::super::chart::{Chart, Look, Sample, sample};
use super::super::curves::{Curves, QUANTITIES, charts};
use maud::{Markup, PreEscaped, html};
use serde::Serialize;
use std::collections::BTreeMap;
use svg::node::element::SVG;

/// Digits behind those shown that the values on the page keep.
const MORE_DIGITS: usize = 3;

/// A quantity the readout can say.
#[derive(Clone, Debug, Serialize)]
struct Known {
    name: String,
    unit: String,
    decimals: usize,
}

/// Rows of one curve.
#[derive(Clone, Debug, Serialize)]
pub struct Series {
    /// What it is called.
    pub name: String,
    #[serde(skip)]
    /// How it looks.
    pub look: Look,
    #[serde(skip)]
    /// What the legend shows of that.
    pub sample: Sample,
    /// Values by key; as many of each.
    pub columns: BTreeMap<String, Vec<Option<f64>>>,
}

/// One picture.
#[derive(Debug)]
pub struct Figure {
    /// What it shows.
    pub title: String,
    /// The picture, with its own text alternative.
    pub svg: SVG,
    /// Key of what runs along it.
    pub x: String,
    /// Key of what runs up it.
    pub y: String,
    /// px of 0 and px in a unit, along and up.
    pub scales: [f64; 4],
    /// Keys of what the readout says.
    pub says: Vec<String>,
}

/// Pictures over the same rows.
#[derive(Debug)]
pub struct Plots {
    /// What they are, for who cannot see them.
    pub label: String,
    /// Key of the column in which all curves are read at the same value.
    pub index: String,
    /// Whether a curve is read only where it has a row at just that value; else at its nearest row.
    pub exact: bool,
    /// Names of the values 0, 1, 2 … of the index, where they stand for things; else empty.
    pub names: Vec<String>,
    /// Curves.
    pub series: Vec<Series>,
    /// Pictures.
    pub figures: Vec<Figure>,
    known: BTreeMap<String, Known>,
}

#[derive(Serialize)]
struct Data<'a> {
    index: &'a str,
    exact: bool,
    names: &'a [String],
    known: &'a BTreeMap<String, Known>,
    series: Vec<Series>,
}

impl Plots {
    /// With nothing in it yet.
    pub fn new(label: &str, index: &str, exact: bool) -> Self {
        Plots {
            label: label.to_owned(),
            index: index.to_owned(),
            exact,
            names: Vec::new(),
            series: Vec::new(),
            figures: Vec::new(),
            known: BTreeMap::new(),
        }
    }

    /// Makes a quantity known to the readout.
    pub fn know(&mut self, key: &str, name: &str, unit: &str, decimals: usize) {
        let known = Known {
            name: name.to_owned(),
            unit: unit.to_owned(),
            decimals,
        };
        self.known.insert(key.to_owned(), known);
    }

    /// Adds a chart whose axes are known by keys.
    pub fn chart(&mut self, chart: &Chart, x: &str, y: &str, says: &[&str]) {
        for (axis, key) in [(&chart.x, x), (&chart.y, y)] {
            self.know(key, &axis.name, axis.unit, axis.decimals);
        }
        self.figures.push(Figure {
            title: chart.title.clone(),
            svg: chart.draw(),
            x: x.to_owned(),
            y: y.to_owned(),
            scales: chart.frame().scales(),
            says: says.iter().map(|key| (*key).to_owned()).collect(),
        });
    }

    /// Flights over one another.
    pub fn of_flights(label: &str, flights: &[Curves]) -> Self {
        let mut plots = Plots::new(label, "time_s", false);
        for flight in flights {
            let columns = QUANTITIES.iter().enumerate().map(|(i, quantity)| {
                let column = flight.rows.iter().map(|row| row[i]).collect();
                (quantity.key.to_owned(), column)
            });
            plots.series.push(Series {
                name: flight.name.clone(),
                look: flight.look,
                sample: Sample::Curve,
                columns: columns.collect(),
            });
        }
        for (chart, x, y) in charts(flights) {
            let says: &[&str] = if x == "time_s" { &[y] } else { &[x, y] };
            plots.chart(&chart, x, y, says);
        }
        plots
    }

    /// As part of a page.
    pub fn draw(&self) -> Markup {
        let series = self.series.iter().map(|series| Series {
            name: series.name.clone(),
            look: series.look,
            sample: series.sample,
            columns: series
                .columns
                .iter()
                .map(|(key, values)| (key.clone(), self.rounded(key, values)))
                .collect(),
        });
        let data = Data {
            index: &self.index,
            exact: self.exact,
            names: &self.names,
            known: &self.known,
            series: series.collect(),
        };
        // Within a script element only "<" could end it.
        let data = serde_json::to_string(&data)
            .unwrap_or_default()
            .replace('<', "\\u003c");
        html! {
            div.plots data-plots {
                ul.legend {
                    @for series in &self.series {
                        li {
                            svg class="sample" viewBox="0 0 34 16" aria-hidden="true" {
                                (PreEscaped(sample(series.look, series.sample).to_string()))
                            }
                            (series.name)
                        }
                    }
                }
                div.figures {
                    @for figure in &self.figures {
                        figure.plot tabindex="0" role="group"
                            aria-label={ (figure.title) ": " (self.label) "; arrow keys move the readout" }
                            data-x=(figure.x) data-y=(figure.y) data-says=(figure.says.join(" "))
                            data-scales=(figure.scales.map(|n| n.to_string()).join(" "))
                        {
                            figcaption { (figure.title) }
                            (PreEscaped(figure.svg.to_string()))
                            p.readout {}
                        }
                    }
                }
                script type="application/json" { (PreEscaped(data)) }
            }
        }
    }

    fn rounded(&self, key: &str, values: &[Option<f64>]) -> Vec<Option<f64>> {
        let decimals = self.known.get(key).map_or(2, |known| known.decimals);
        let ten = 10.0_f64.powi((decimals + MORE_DIGITS) as i32);
        let round = |value: &Option<f64>| value.map(|value| (value * ten).round() / ten + 0.0);
        values.iter().map(round).collect()
    }
}
