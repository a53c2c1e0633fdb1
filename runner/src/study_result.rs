//! What a finished table of flights comes to: read once from its beginning to its end, in memory that does not grow with it.

pub mod page;
pub mod paragraph;

use crate::output::files::write_whole;
use crate::output::{CAUTION, flights as text, parquet};
use crate::resume::SweepError;
use crate::resume::folder::{Folder, trajectory_name};
use scenarios::study::judge::Share;
use scenarios::study::keep::TableFormat;
use scenarios::study::row::{ColumnKind, Row, RowForm};
use scenarios::study::tally::{Answer, ColumnAnswer, Point, Tally};
use scenarios::study::{Plan, StudyFile};
use serde::Serialize;
use std::fs::File;
use std::io::{BufReader, BufWriter, Write};
use std::path::PathBuf;

/// What is in `summary.json`.
#[derive(Debug, Serialize)]
pub struct Report {
    /// The study.
    pub study: String,
    scenario: String,
    airframe: String,
    tossline_version: String,
    inputs_sha256: String,
    engine: String,
    seed: u32,
    axes: Vec<String>,
    scattered_fields: Vec<String>,
    /// What it comes to, in plain words.
    pub paragraph: String,
    /// The numbers.
    #[serde(flatten)]
    pub answer: Answer,
    /// The table, from the folder.
    table: &'static str,
    /// The table of points of the axes, from the folder.
    points_table: Option<&'static str>,
    /// Rows of flights chosen as if by chance, all where they are few, from the folder; its columns are those of the table.
    sample_table: &'static str,
    /// Trajectories of the worst flights, from the folder, the worst first.
    worst_trajectories: Vec<PathBuf>,
    warnings: Vec<String>,
    caution: &'static str,
}

/// A finished study.
#[derive(Debug)]
pub struct Finished {
    /// What is in `summary.json`.
    pub report: Report,
    /// The study.
    pub file: StudyFile,
    /// The first points of the axes.
    pub points: Vec<Point>,
}

/// Columns that are shown where no condition is about them, the most telling first.
const TELLING: [&str; 9] = [
    "minimum_altitude_m",
    "lowest_clearance_m",
    "pitch_down_under_power_deg",
    "best_climb_rate_m_s",
    "distance_from_release_m",
    "flight_time_s",
    "ground_impact_speed_m_s",
    "alpha_max_deg",
    "bank_largest_deg",
];
/// Columns that are shown.
const COLUMNS_SHOWN: usize = 10;

/// Columns of numbers that are shown: those of the conditions, then the most telling ones, of those that some flight has.
pub fn told_columns<'a>(file: &StudyFile, answer: &'a Answer) -> Vec<&'a ColumnAnswer> {
    let of_conditions = file.conditions.iter().map(|c| c.column.as_str());
    let mut names: Vec<&str> = Vec::new();
    for name in of_conditions.chain(TELLING) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    let found = names
        .iter()
        .filter_map(|name| answer.columns.iter().find(|c| c.column == *name));
    let ends = |column: &ColumnAnswer| (column.mean, column.least, column.most);
    let mut told: Vec<&ColumnAnswer> = Vec::new();
    for column in found.filter(|column| column.flights > 0) {
        // One that says the same as another is left out: over ground that is level everywhere clearance is altitude.
        let is_asked = file.conditions.iter().any(|c| c.column == column.column);
        if is_asked || !told.iter().any(|other| ends(other) == ends(column)) {
            told.push(column);
        }
    }
    told.truncate(COLUMNS_SHOWN);
    told
}

/// Points of the axes that are shown.
const POINTS_SHOWN: usize = 24;

/// Where the trajectory of a flight comes from; none where it could not start.
pub type Trajectory<'a> = dyn FnMut(u64) -> Result<Option<Vec<u8>>, SweepError> + 'a;

/// Sums a finished table up and writes `summary.json`, `sample.csv`, with axes `points.csv`, and the trajectories of the worst flights.
///
/// # Errors
/// [`SweepError`].
pub fn finish(
    folder: &Folder,
    form: &RowForm,
    plan: &Plan,
    trajectory: &mut Trajectory<'_>,
) -> Result<Finished, SweepError> {
    let identity = folder.identity();
    let file = identity.study_file()?;
    let mut tally = Tally::new(&file, plan);
    let mut table = (!file.axes.is_empty())
        .then(|| PointTable::begin(folder, &file, form))
        .transpose()?;
    let mut points = Vec::new();
    let mut keep = |point: Point| {
        if let Some(table) = &mut table {
            table.add(&point)?;
        }
        if points.len() < POINTS_SHOWN {
            points.push(point);
        }
        Ok::<(), SweepError>(())
    };
    each_row(folder, form, &mut |row| {
        tally.add(row).map_or(Ok(()), &mut keep)
    })?;
    write_sample(folder, form, tally.sample())?;
    let (answer, last) = tally.finish();
    last.map_or(Ok(()), &mut keep)?;
    let points_table = table.map(PointTable::end).transpose()?;
    let worst: Vec<u64> = answer.worst_flights.iter().map(|w| w.flight).collect();
    write_trajectories(folder, &worst, trajectory)?;
    let fields = form.inputs();
    let report = Report {
        study: identity.study.clone(),
        scenario: identity.scenario.clone(),
        airframe: identity.airframe.clone(),
        tossline_version: identity.tossline_version.clone(),
        inputs_sha256: identity.inputs_sha256.clone(),
        engine: identity.engine.clone(),
        seed: file.seed,
        axes: fields[..file.axes.len()].to_vec(),
        scattered_fields: fields[file.axes.len()..].to_vec(),
        paragraph: paragraph::paragraph(&file, &identity.scenario, &answer),
        table: match identity.format {
            TableFormat::Csv => "flights.csv",
            TableFormat::Parquet => "flights/part-*.parquet",
        },
        points_table,
        sample_table: SAMPLE,
        worst_trajectories: worst
            .iter()
            .map(|&flight| trajectory_name(flight))
            .collect(),
        answer,
        warnings: identity.warnings.clone(),
        caution: CAUTION,
    };
    let mut json =
        serde_json::to_vec_pretty(&report).map_err(|error| SweepError::Table(error.to_string()))?;
    json.push(b'\n');
    write_whole(&folder.path().join("summary.json"), &json)?;
    Ok(Finished {
        report,
        file,
        points,
    })
}

/// Writes the trajectories of a part's worst flights: those of the whole are among them.
///
/// # Errors
/// [`SweepError`].
pub fn worst_of_rows(
    folder: &Folder,
    form: &RowForm,
    plan: &Plan,
    trajectory: &mut Trajectory<'_>,
) -> Result<(), SweepError> {
    let mut tally = Tally::new(&folder.identity().study_file()?, plan);
    each_row(folder, form, &mut |row| {
        tally.add(row);
        Ok(())
    })?;
    let worst = tally.finish().0.worst_flights;
    let worst: Vec<u64> = worst.iter().map(|one| one.flight).collect();
    write_trajectories(folder, &worst, trajectory)
}

/// Name of the table of some rows.
const SAMPLE: &str = "sample.csv";

fn write_sample(folder: &Folder, form: &RowForm, rows: &[Row]) -> Result<(), SweepError> {
    let mut lines = text::header(form)?;
    for row in rows {
        lines.extend(text::encoded(row)?);
    }
    write_whole(&folder.path().join(SAMPLE), &lines)?;
    Ok(())
}

fn write_trajectories(
    folder: &Folder,
    flights: &[u64],
    trajectory: &mut Trajectory<'_>,
) -> Result<(), SweepError> {
    for &flight in flights {
        let Some(rows) = trajectory(flight)? else {
            return Err(SweepError::Refused(format!(
                "the trajectory of flight {flight}, one of the worst, is missing; give the sweep command of its folder again"
            )));
        };
        write_whole(&folder.trajectory(flight), &rows)?;
    }
    Ok(())
}

/// Does something with every row, in order.
///
/// # Errors
/// [`SweepError`] of the table, or of what is done.
pub fn each_row(
    folder: &Folder,
    form: &RowForm,
    each: &mut dyn FnMut(&Row) -> Result<(), SweepError>,
) -> Result<(), SweepError> {
    let identity = folder.identity();
    let range = identity.range();
    match identity.format {
        TableFormat::Csv => {
            let path = folder.table();
            let file = File::open(&path).map_err(SweepError::disk(&path))?;
            let mut reader = csv::Reader::from_reader(BufReader::with_capacity(1 << 16, file));
            let mut record = csv::StringRecord::new();
            while reader.read_record(&mut record)? {
                let row = text::decoded(&record, form)
                    .map_err(|error| SweepError::Table(error.to_string()))?;
                each(&row)?;
            }
        }
        TableFormat::Parquet => {
            let mut at = range.start;
            while at < range.end {
                let path = folder.part(at);
                let file = File::open(&path).map_err(SweepError::disk(&path))?;
                for row in parquet::decoded(file, form)? {
                    each(&row)?;
                }
                at = identity.block_end(at);
            }
        }
    }
    Ok(())
}

/// `points.csv`, written as points come.
struct PointTable {
    path: PathBuf,
    writer: csv::Writer<BufWriter<tempfile::NamedTempFile>>,
}

impl PointTable {
    const FILE: &'static str = "points.csv";

    fn begin(folder: &Folder, file: &StudyFile, form: &RowForm) -> Result<Self, SweepError> {
        let path = folder.path().join(Self::FILE);
        let temporary = crate::output::files::beside(&path)?;
        let mut writer = csv::Writer::from_writer(BufWriter::new(temporary));
        let text = str::to_owned;
        let mut heads = vec![text("point")];
        heads.extend(form.inputs()[..file.axes.len()].iter().cloned());
        heads.extend([text("flights"), text("flights_without_result")]);
        let names = file.conditions.iter().map(|c| format!("meets {}", c.name));
        for name in names.chain([text("meets all")]) {
            let of = |what: &str| format!("{name}: {what}");
            heads.extend(["flights", "share_fraction", "low_fraction", "high_fraction"].map(of));
        }
        let numbers = form.outputs().iter();
        let numbers = numbers.filter(|column| column.kind == ColumnKind::Number);
        heads.extend(numbers.map(|column| format!("mean_{}", column.name)));
        writer.write_record(heads)?;
        Ok(PointTable { path, writer })
    }

    fn add(&mut self, point: &Point) -> Result<(), SweepError> {
        let optional = |value: Option<f64>| value.map_or(String::new(), |v| v.to_string());
        let mut cells = vec![point.point.to_string()];
        cells.extend(point.axis_values.iter().map(f64::to_string));
        cells.extend([point.flights.to_string(), point.without_result.to_string()]);
        let of = |share: &Share| {
            [
                share.count.to_string(),
                optional(share.share_fraction),
                share.low_fraction.to_string(),
                share.high_fraction.to_string(),
            ]
        };
        cells.extend(point.conditions.iter().flat_map(of));
        cells.extend(of(&point.all_conditions));
        cells.extend(point.means.iter().map(|&mean| optional(mean)));
        self.writer.write_record(cells)?;
        Ok(())
    }

    fn end(self) -> Result<&'static str, SweepError> {
        let path = self.path;
        let buffer = self
            .writer
            .into_inner()
            .map_err(|error| SweepError::disk(&path)(error.into_error()))?;
        let mut temporary = buffer
            .into_inner()
            .map_err(|error| SweepError::disk(&path)(error.into_error()))?;
        temporary.flush().map_err(SweepError::disk(&path))?;
        crate::output::files::into_place(temporary, &path)?;
        Ok(Self::FILE)
    }
}
