use super::*;
use crate::output::flights;
use scenarios::study::{Plan, Purpose, study_file_from_bytes};

/// A form with every kind of column, and rows with every kind of cell.
fn table(count: u64) -> (RowForm, Vec<Row>) {
    let study = serde_json::json!({
        "tossline": 1, "kind": "study", "name": "s", "base": "b.json", "flights": 2,
        "scatter": {"fields": [{"distribution": "uniform", "field": "launch.bank_deg", "least": 0, "most": 1}]},
        "sensitivity": {"kind": "sobol_indices"},
        "keep": {"columns": ["flight_time_s", "landed_in_zone"]},
        "conditions": [{"name": "long", "column": "flight_time_s", "comparison": "above", "limit": 1}]
    });
    let file = study_file_from_bytes("s.json", study.to_string().into_bytes()).unwrap();
    let form = RowForm::new(&file, &Plan::new(&file, Purpose::State));
    let rows = (0..count)
        .map(|i| {
            let number = |x: f64| Cell::Number(x);
            let text = |t: &str| Cell::Text(t.into());
            let mut row = Row {
                flight: i,
                sample: Some((i / 3, format!("ab {}", i % 3))),
                could_not_start: None,
                inputs: vec![1.0 / (i + 3) as f64],
                outputs: vec![
                    text("ground"),
                    Cell::Empty,
                    number(0.1 * i as f64),
                    text("a \"b\", c\nd"),
                    Cell::Empty,
                ],
                meets: vec![Some(i % 2 == 0)],
            };
            if i % 5 == 4 {
                row.could_not_start = Some("found 1, wanted \"2\"".into());
                row.outputs = vec![Cell::Empty; 5];
                row.meets = vec![None];
            }
            row
        })
        .collect();
    (form, rows)
}

fn read(bytes: &[u8], form: &RowForm) -> Vec<Row> {
    use std::io::Write;
    let mut file = tempfile::tempfile().unwrap();
    file.write_all(bytes).unwrap();
    decoded(file, form).unwrap()
}

#[test]
fn rows_come_back_as_they_were_and_bytes_are_the_same_again() {
    for count in [1, 7, 2000] {
        let (form, rows) = table(count);
        let bytes = encoded(&form, &rows).unwrap();
        assert!(bytes == encoded(&form, &rows).unwrap());
        assert!(read(&bytes, &form) == rows, "{count}");
    }
}

#[test]
fn text_rows_come_back_as_they_were() {
    let (form, rows) = table(20);
    let mut bytes = flights::header(&form).unwrap();
    for row in &rows {
        bytes.extend(flights::encoded(row).unwrap());
    }
    let mut reader = csv::Reader::from_reader(bytes.as_slice());
    let heads: Vec<String> = form.columns().into_iter().map(|c| c.name).collect();
    assert!(reader.headers().unwrap().iter().eq(heads.iter()));
    let back = reader
        .records()
        .map(|record| flights::decoded(&record.unwrap(), &form).unwrap());
    assert!(back.eq(rows));
}

#[test]
fn a_file_of_another_form_is_refused() {
    let (form, rows) = table(3);
    let bytes = encoded(&form, &rows).unwrap();
    let file = study_file_from_bytes(
        "s.json",
        br#"{"tossline": 1, "kind": "study", "name": "s", "base": "b.json"}"#.to_vec(),
    )
    .unwrap();
    let other = RowForm::new(&file, &Plan::new(&file, Purpose::State));
    use std::io::Write;
    let mut written = tempfile::tempfile().unwrap();
    written.write_all(&bytes).unwrap();
    assert!(decoded(written, &other).is_err());
    let record = csv::StringRecord::from(vec!["x"; form.columns().len()]);
    assert!(flights::decoded(&record, &form).is_err());
}
