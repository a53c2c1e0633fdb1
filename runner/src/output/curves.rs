//! Trajectory files as curves to draw.

use super::chart::{Axis, Chart, Look, Mark};
use thiserror::Error;

/// Rows of a trajectory drawn at most, but for the ends and the lowest and highest of each curve, which are always drawn.
pub const MOST_ROWS: usize = 300;

/// A trajectory file that cannot be drawn.
#[derive(Debug, Error)]
pub enum CurvesError {
    /// Not a table.
    #[error(transparent)]
    NotATable(#[from] csv::Error),
    /// A column is missing.
    #[error("found no column {0}, wanted a trajectory of tossline fly")]
    NoColumn(&'static str),
    /// A cell is not a number.
    #[error("line {line}: {column}: found \"{found}\", wanted a number")]
    NotANumber {
        /// Line, counted from 1.
        line: u64,
        /// The column.
        column: String,
        /// What is there.
        found: String,
    },
    /// No row at all.
    #[error("found no row, wanted one at least")]
    NoRow,
}

/// A quantity along a flight.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Quantity {
    /// Its key, with the unit at its end; that of the file's column where it is one.
    pub key: &'static str,
    /// Name people read.
    pub name: &'static str,
    /// Unit.
    pub unit: &'static str,
    /// Digits after the point.
    pub decimals: usize,
}

const fn quantity(
    key: &'static str,
    name: &'static str,
    unit: &'static str,
    decimals: usize,
) -> Quantity {
    Quantity {
        key,
        name,
        unit,
        decimals,
    }
}

/// What is known of each moment, in the order of a row's values.
pub const QUANTITIES: [Quantity; 8] = [
    quantity("time_s", "time", "s", 2),
    quantity("along_m", "distance along the release heading", "m", 2),
    quantity("right_m", "distance to the right of it", "m", 2),
    quantity("height_m", "height", "m", 2),
    quantity("pitch_deg", "pitch", "deg", 1),
    quantity("airspeed_m_s", "airspeed", "m/s", 2),
    quantity(
        "throttle_fraction",
        "throttle, mean of the motors",
        "fraction",
        2,
    ),
    quantity("cell_power_W", "power drawn from the cell", "W", 2),
];

/// Values of one moment; absent where the flight has no such quantity.
pub type Row = [Option<f64>; QUANTITIES.len()];

/// A view of flights: title, what runs along, what up, whether a metre is as long both ways.
type View = (&'static str, usize, usize, bool);

/// The views, in the order they are read.
const VIEWS: [View; 7] = [
    ("Side view", 1, 3, false),
    ("Plan view, from above", 1, 2, true),
    ("Pitch", 0, 4, false),
    ("Height", 0, 3, false),
    ("Airspeed", 0, 5, false),
    ("Throttle", 0, 6, false),
    ("Power", 0, 7, false),
];

/// A flight's curves.
#[derive(Clone, Debug)]
pub struct Curves {
    /// What the flight is called.
    pub name: String,
    /// How its curves look.
    pub look: Look,
    /// Its rows.
    pub rows: Vec<Row>,
    /// Every how manieth row of the file is among them.
    pub every: usize,
}

/// Columns a row is made from.
const READ: [&str; 8] = [
    "time_s",
    "north_m",
    "east_m",
    "height_m",
    "pitch_deg",
    "airspeed_m_s",
    "velocity_north_m_s",
    "velocity_east_m_s",
];

impl Curves {
    /// Reads a trajectory file.
    ///
    /// Distances are along and to the right of the heading in which the balance point moves over the ground in the first row; north where
    /// it moves straight up or down or not at all. The throttle is the mean of the motors'. Power is the cell's voltage times its current.
    /// Of long flights rows are left out (see `MOST_ROWS`).
    ///
    /// # Errors
    /// `CurvesError`.
    pub fn read(name: &str, look: Look, file: &[u8]) -> Result<Self, CurvesError> {
        let mut table = csv::Reader::from_reader(file);
        let heads = table.headers()?.clone();
        let place = |column: &'static str| {
            let found = heads.iter().position(|head| head == column);
            found.ok_or(CurvesError::NoColumn(column))
        };
        let mut places = [0; READ.len()];
        for (place_of, column) in places.iter_mut().zip(READ) {
            *place_of = place(column)?;
        }
        let throttles: Vec<usize> = (0..heads.len())
            .filter(|&i| heads[i].starts_with("motor_") && heads[i].ends_with("_throttle_fraction"))
            .collect();
        let cell = place("cell_voltage_V")
            .ok()
            .zip(place("cell_current_A").ok());
        let mut heading = None;
        let mut rows = Vec::new();
        for record in table.records() {
            let record = record?;
            let value = |i: usize| -> Result<Option<f64>, CurvesError> {
                let text = record.get(i).unwrap_or_default();
                if text.is_empty() {
                    return Ok(None);
                }
                let number = text.parse().ok().filter(|x: &f64| x.is_finite());
                number.map(Some).ok_or_else(|| CurvesError::NotANumber {
                    line: record.position().map_or(0, csv::Position::line),
                    column: heads[i].to_owned(),
                    found: text.to_owned(),
                })
            };
            let mut read = [None; READ.len()];
            for (cell, place) in read.iter_mut().zip(places) {
                *cell = value(place)?;
            }
            let [
                time,
                north,
                east,
                height,
                pitch,
                airspeed,
                to_north,
                to_east,
            ] = read;
            // The last row of a flight whose numbers failed may lack some.
            let (Some(time), Some(north), Some(east)) = (time, north, east) else {
                continue;
            };
            let (ahead_north, ahead_east) = *heading.get_or_insert_with(|| {
                let (n, e) = (to_north.unwrap_or(0.0), to_east.unwrap_or(0.0));
                let speed = n.hypot(e);
                if speed > 1e-6 {
                    (n / speed, e / speed)
                } else {
                    (1.0, 0.0)
                }
            });
            let mut sum = None;
            for &i in &throttles {
                sum = value(i)?.map(|throttle| throttle + sum.unwrap_or(0.0));
            }
            let power = match cell {
                Some((voltage, current)) => value(voltage)?.zip(value(current)?),
                None => None,
            };
            rows.push([
                Some(time),
                Some(north * ahead_north + east * ahead_east),
                Some(east * ahead_north - north * ahead_east),
                height,
                pitch,
                airspeed,
                sum.map(|sum| sum / throttles.len() as f64),
                power.map(|(voltage, current)| voltage * current),
            ]);
        }
        if rows.is_empty() {
            return Err(CurvesError::NoRow);
        }
        let every = rows.len().div_ceil(MOST_ROWS);
        Ok(Curves {
            name: name.to_owned(),
            look,
            rows: thinned(rows, every),
            every,
        })
    }

    /// A quantity against another.
    fn points(&self, x: usize, y: usize) -> Vec<(f64, f64)> {
        let both = |row: &Row| row[x].zip(row[y]);
        self.rows.iter().filter_map(both).collect()
    }
}

/// Every so manieth row, the last, and the rows with the lowest and highest value of each quantity.
fn thinned(rows: Vec<Row>, every: usize) -> Vec<Row> {
    let mut kept: Vec<bool> = (0..rows.len()).map(|i| i % every == 0).collect();
    kept[rows.len() - 1] = true;
    for quantity in 0..QUANTITIES.len() {
        let known = || (0..rows.len()).filter_map(|i| Some((i, rows[i][quantity]?)));
        let by_value = |a: &(usize, f64), b: &(usize, f64)| a.1.total_cmp(&b.1);
        let ends = [known().min_by(by_value), known().max_by(by_value)];
        for (i, _) in ends.into_iter().flatten() {
            kept[i] = true;
        }
    }
    let mut kept = kept.into_iter();
    let mut rows = rows;
    rows.retain(|_| kept.next().unwrap_or(true));
    rows
}

/// Flights over one another: a chart for each view of which something is known. With each the keys of what runs along and up.
pub fn charts(flights: &[Curves]) -> Vec<(Chart, &'static str, &'static str)> {
    let axis = |i: usize| {
        let Quantity {
            name,
            unit,
            decimals,
            ..
        } = QUANTITIES[i];
        Axis::new(name, unit, decimals)
    };
    let mut charts = Vec::new();
    for (title, x, y, equal) in VIEWS {
        let (twins, whole): (Vec<&Curves>, Vec<&Curves>) =
            flights.iter().partition(|flight| flight.look.is_twin());
        // Twins under the flights.
        let marks: Vec<Mark> = twins
            .into_iter()
            .chain(whole)
            .map(|flight| (flight, flight.points(x, y)))
            .filter(|(_, points)| !points.is_empty())
            .map(|(flight, points)| Mark::Curve(flight.name.clone(), flight.look, points))
            .collect();
        if marks.is_empty() {
            continue;
        }
        let mut chart = Chart {
            title: title.to_owned(),
            x: axis(x),
            y: axis(y),
            equal,
            marks,
        };
        match QUANTITIES[y].key {
            // The ground and a throttle's ends are to be seen.
            "height_m" if x == 1 => chart.y.holds = vec![0.0],
            "throttle_fraction" => chart.y.holds = vec![0.0, 1.0],
            "cell_power_W" => chart.y.holds = vec![0.0],
            // Right of the heading is down the page when one looks along it to the page's right.
            "right_m" => chart.y.down = true,
            _ => {}
        }
        charts.push((chart, QUANTITIES[x].key, QUANTITIES[y].key));
    }
    charts
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(rows: &str) -> Vec<u8> {
        format!(
            "time_s,north_m,east_m,height_m,pitch_deg,airspeed_m_s,velocity_north_m_s,velocity_east_m_s,cell_voltage_V,cell_current_A,motor_left_throttle_fraction,motor_right_throttle_fraction\n{rows}"
        )
        .into_bytes()
    }

    // By hand: thrown east, 3 m east is 3 m along, and 2 m north is 2 m to the left. 4 V times 0.5 A are 2 W.
    #[test]
    fn distances_are_along_and_right_of_the_release_heading() {
        let rows = "0,0,0,1,5,4,0,4,4,0.5,0.2,0.4\n1,2,3,1.5,6,4.5,1,4,,,0,1\n";
        let curves = Curves::read("east", Look::of(0), &file(rows)).unwrap();
        let [_, along, right, height, pitch, ..] = curves.rows[1];
        assert_eq!((along, right), (Some(3.0), Some(-2.0)));
        assert_eq!((height, pitch), (Some(1.5), Some(6.0)));
        assert!((curves.rows[0][6].unwrap() - 0.3).abs() < 1e-12);
        assert_eq!((curves.rows[0][7], curves.rows[1][7]), (Some(2.0), None));
    }

    #[test]
    fn what_is_not_a_trajectory_is_said() {
        let of = |bytes: &[u8]| {
            Curves::read("x", Look::of(0), bytes)
                .unwrap_err()
                .to_string()
        };
        assert!(of(b"a,b\n1,2\n").contains("time_s"));
        assert!(of(&file("")).contains("no row"));
        let text = of(&file("0,0,zero,1,5,4,0,4,4,0.5,0.2,0.4\n"));
        assert!(text.contains("line 2: east_m: found \"zero\""), "{text}");
    }

    #[test]
    fn long_flights_are_thinned_and_keep_their_ends_and_extremes() {
        let mut rows = String::new();
        for i in 0..4001 {
            // A peak of one row, at a place that every fourteenth row misses.
            let height = if i == 1001 {
                9.0
            } else {
                1.0 + f64::from(i) * 1e-4
            };
            rows += &format!(
                "{},{i},0,{height},5,4,1,0,4,0.5,0.2,0.4\n",
                f64::from(i) * 0.01
            );
        }
        let curves = Curves::read("long", Look::of(0), &file(&rows)).unwrap();
        assert!(curves.rows.len() < MOST_ROWS + 20 && curves.rows.len() > MOST_ROWS / 2);
        assert!(curves.rows.iter().any(|row| row[3] == Some(9.0)));
        assert_eq!(curves.rows.last().unwrap()[0], Some(40.0));
    }
}
