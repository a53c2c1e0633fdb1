//! Published tables: CSV files under `published/` with their source in the comment lines at the head.

use std::path::Path;

/// A table of numbers with named columns.
#[derive(Clone, Debug)]
pub struct Table {
    columns: Vec<String>,
    rows: Vec<Vec<f64>>,
}

impl Table {
    /// Reads `published/NAME.csv`.
    ///
    /// # Panics
    /// Where the file is missing, has no source line at its head, or holds something that is not a number: a broken
    /// check must not pass.
    pub fn read(name: &str) -> Self {
        let path = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("published")
            .join(format!("{name}.csv"));
        let text = std::fs::read_to_string(&path).expect("published table");
        assert!(
            text.starts_with("# Source: "),
            "{name}: the first line names the source"
        );
        let mut reader = csv::ReaderBuilder::new()
            .comment(Some(b'#'))
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        let columns = reader
            .headers()
            .expect("header")
            .iter()
            .map(str::to_owned)
            .collect();
        let rows = reader
            .records()
            .map(|record| {
                record
                    .expect("row")
                    .iter()
                    .map(|cell| cell.parse().expect("number"))
                    .collect()
            })
            .collect();
        Table { columns, rows }
    }

    /// The columns of the given names, row by row.
    ///
    /// # Panics
    /// Where a column is missing.
    pub fn rows<const N: usize>(&self, names: [&str; N]) -> Vec<[f64; N]> {
        let places = names.map(|name| {
            self.columns
                .iter()
                .position(|column| column == name)
                .unwrap_or_else(|| panic!("no column {name} among {:?}", self.columns))
        });
        self.rows
            .iter()
            .map(|row| places.map(|place| row[place]))
            .collect()
    }
}
