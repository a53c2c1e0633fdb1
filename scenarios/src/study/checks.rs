//! Whether a study makes sense by itself.

use super::file::{Axis, Comparison, Condition, Correlation, ScatteredField, StudyFile};
use super::sampling::MOST_FIELDS;
use super::scatter::cholesky;
use crate::check::{name_is_plain, names_are_unique, over_zero, within};
use crate::error::{Problem, number, one_of, quoted};
use crate::field::FieldPath;
use crate::summary::{Column, Summary};

mod keep;

type Check = Result<(), Problem>;

/// Most flights of a study: what a plan can number.
const MOST_FLIGHTS: u64 = 1 << 32;
/// Largest whole number drawn: that of any number in a file.
const LARGEST_WHOLE_NUMBER: f64 = 1e9;

pub(super) fn check(file: &StudyFile) -> Check {
    let top = FieldPath::default();
    name_is_plain(&top.key("name"), &file.name)?;
    if file.base.is_empty() {
        let wanted = "the path of a scenario file, from the folder this file is in";
        return Err(Problem::new(top.key("base"), "\"\"", wanted));
    }
    let mut points: u64 = 1;
    for (i, one) in file.axes.iter().enumerate() {
        let at = top.key("axes").index(i);
        axis(one, &at)?;
        points = points.saturating_mul(super::plan::axis_values(one).len() as u64);
    }
    let group = super::plan::group(file);
    let all = points
        .saturating_mul(u64::from(file.flights))
        .saturating_mul(group);
    if file.flights == 0 || all > MOST_FLIGHTS {
        let each = match group {
            1 => String::new(),
            _ => format!(" ({group} a sample)"),
        };
        let wanted = format!(
            "1 or more, and at most {MOST_FLIGHTS} flights at all {points} points together{each}"
        );
        return Err(Problem::new(
            top.key("flights"),
            file.flights.to_string(),
            wanted,
        ));
    }
    scatter(file, &top.key("scatter"))?;
    if let Some(bands) = &file.bands {
        let at = top.key("bands");
        within(&at, "draws", f64::from(bands.draws), 1.0, 10_000.0)?;
        within(&at, "flights", f64::from(bands.flights), 1.0, 10_000.0)?;
        fields(&bands.fields, &at.key("fields"))?;
    }
    within(&top, "floor_fraction", file.floor_fraction, 0.0, 1.0)?;
    let all_names: Vec<&str> = file
        .axes
        .iter()
        .flat_map(|axis| axis.names.iter().map(String::as_str))
        .collect();
    for (i, one) in file.axes.iter().enumerate() {
        for (j, name) in one.names.iter().enumerate() {
            let at = top.key("axes").index(i).key("names").index(j);
            name_is_plain(&at, name)?;
            if all_names.iter().filter(|other| *other == name).count() > 1 {
                let found = format!("{} a second time", quoted(name));
                return Err(Problem::new(
                    at,
                    found,
                    "a name of its own for each axis value",
                ));
            }
        }
    }
    let conditions = top.key("conditions");
    names_are_unique(
        &conditions,
        "name",
        file.conditions.iter().map(|c| c.name.as_str()),
    )?;
    for (i, one) in file.conditions.iter().enumerate() {
        condition(one, &conditions.index(i))?;
        for (j, name) in one.at.iter().enumerate() {
            if !all_names.contains(&name.as_str()) {
                let at = conditions.index(i).key("at").index(j);
                let names = || all_names.iter().copied();
                let problem = Problem::new(at, quoted(name), "one of the axes' `names`");
                return Err(problem.with_nearest(name, names()));
            }
        }
    }
    within(
        &top,
        "confidence_fraction",
        file.confidence_fraction,
        0.5,
        0.9999,
    )?;
    keep::check(file, &top, all)
}

fn axis(axis: &Axis, at: &FieldPath) -> Check {
    form(axis, at)?;
    let wanted = super::plan::axis_values(axis).len();
    if !axis.names.is_empty() && axis.names.len() != wanted {
        let found = format!("{} names", axis.names.len());
        let wanted = format!("{wanted}, as many as the axis has values");
        return Err(Problem::new(at.key("names"), found, wanted));
    }
    for (i, along) in axis.along.iter().enumerate() {
        let found = along.values.len();
        if found != wanted {
            let at = at.key("along").index(i).key("values");
            let wanted = format!("{wanted}, as many as the axis has");
            return Err(Problem::new(at, format!("{found} values"), wanted));
        }
    }
    Ok(())
}

fn form(axis: &Axis, at: &FieldPath) -> Check {
    let wanted = "\"values\", or \"from\", \"to\" and \"count\"";
    match (axis.values.is_empty(), axis.from, axis.to, axis.count) {
        (false, None, None, None) => Ok(()),
        (true, Some(_), Some(_), Some(count)) => {
            within(at, "count", f64::from(count), 2.0, 100_000.0)
        }
        (false, ..) => Err(Problem::new(at.clone(), "a list and a range", wanted)),
        (true, None, None, None) => Err(Problem::new(at.clone(), "neither", wanted)),
        _ => Err(Problem::new(
            at.clone(),
            "a range without all of its fields",
            wanted,
        )),
    }
}

fn scatter(file: &StudyFile, at: &FieldPath) -> Check {
    let scattered = &file.scatter.fields;
    fields(scattered, &at.key("fields"))?;
    correlations(
        &file.scatter.correlations,
        scattered,
        &at.key("correlations"),
    )
}

fn fields(fields: &[ScatteredField], list: &FieldPath) -> Check {
    if fields.len() > MOST_FIELDS {
        let wanted = format!("{MOST_FIELDS} at most");
        return Err(Problem::new(
            list.clone(),
            format!("{} fields", fields.len()),
            wanted,
        ));
    }
    for (i, one) in fields.iter().enumerate() {
        let at = list.index(i);
        let twice = fields[..i].iter().any(|other| other.field() == one.field());
        if twice {
            let found = format!("{} a second time", quoted(one.field()));
            return Err(Problem::new(at.key("field"), found, "each field once"));
        }
        distribution(one, &at)?;
    }
    Ok(())
}

fn distribution(one: &ScatteredField, at: &FieldPath) -> Check {
    let more = |name: &str, value: f64, least: f64, than: &str| {
        if value > least {
            return Ok(());
        }
        let wanted = format!("more than \"{than}\" ({})", number(least));
        Err(Problem::new(at.key(name), number(value), wanted))
    };
    match one {
        ScatteredField::Normal(n) => over_zero(at, "standard_deviation", n.standard_deviation),
        ScatteredField::TruncatedNormal(n) => {
            over_zero(at, "standard_deviation", n.standard_deviation)?;
            more("most", n.most, n.least, "least")?;
            let (a, b) = (
                (n.least - n.mean) / n.standard_deviation,
                (n.most - n.mean) / n.standard_deviation,
            );
            // Farther out, what is kept of the bell is lost in rounding.
            if a > 6.0 || b < -6.0 {
                let wanted = "ends with the mean between them, or within 6 standard deviations";
                return Err(Problem::new(at.key("mean"), number(n.mean), wanted));
            }
            Ok(())
        }
        ScatteredField::Uniform(u) => more("most", u.most, u.least, "least"),
        ScatteredField::WholeNumber(u) => {
            for (name, value) in [("least", u.least), ("most", u.most)] {
                within(at, name, value, 0.0, LARGEST_WHOLE_NUMBER)?;
                if value.fract() != 0.0 {
                    return Err(Problem::new(at.key(name), number(value), "a whole number"));
                }
            }
            more("most", u.most, u.least, "least")
        }
        ScatteredField::Triangular(t) => {
            more("most", t.most, t.least, "least")?;
            within(at, "most_likely", t.most_likely, t.least, t.most)
        }
    }
}

fn correlations(list: &[Correlation], fields: &[ScatteredField], at: &FieldPath) -> Check {
    let names = || fields.iter().map(ScatteredField::field);
    for (i, one) in list.iter().enumerate() {
        let at = at.index(i);
        for (name, field) in [("first", &one.first), ("second", &one.second)] {
            if !names().any(|known| known == field) {
                let problem = Problem::new(at.key(name), quoted(field), one_of(names()));
                return Err(problem.with_nearest(field, names()));
            }
        }
        let same = |other: &Correlation| {
            (other.first == one.first && other.second == one.second)
                || (other.first == one.second && other.second == one.first)
        };
        if one.first == one.second || list[..i].iter().any(same) {
            return Err(Problem::new(
                at,
                "the same pair or field twice",
                "pairs of two fields, each once",
            ));
        }
        within(&at, "coefficient", one.coefficient, -0.999, 0.999)?;
    }
    if cholesky(list, fields).is_none() {
        let wanted = "coefficients that can be together (a positive definite matrix)";
        return Err(Problem::new(
            at.clone(),
            "coefficients that contradict one another",
            wanted,
        ));
    }
    Ok(())
}

/// The column of the summary that a name means.
fn column(name: &str, at: &FieldPath) -> Result<Column, Problem> {
    let columns = Summary::columns();
    if let Some(column) = columns.iter().find(|column| column.name == name) {
        return Ok(*column);
    }
    let problem = Problem::new(at.clone(), quoted(name), "a column of the summary");
    Err(problem.with_nearest(name, columns.iter().map(|column| column.name)))
}

fn condition(one: &Condition, at: &FieldPath) -> Check {
    column(&one.column, &at.key("column"))?;
    let of_words = matches!(one.comparison, Comparison::Is | Comparison::IsNot);
    match (of_words, one.limit, &one.word) {
        (true, None, Some(_)) | (false, Some(_), None) => {}
        (true, ..) => {
            let wanted = "\"word\" and no \"limit\", with \"is\" and \"is_not\"";
            return Err(Problem::new(at.clone(), "another", wanted));
        }
        (false, ..) => {
            let wanted = "\"limit\" and no \"word\", with this comparison";
            return Err(Problem::new(at.clone(), "another", wanted));
        }
    }
    within(
        at,
        "least_share_fraction",
        one.least_share_fraction,
        0.0,
        1.0,
    )
}
