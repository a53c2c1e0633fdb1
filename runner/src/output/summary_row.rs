//! A flight's summary by the names of its columns, from memory or from `summary.csv`.

use scenarios::summary::Summary;

/// A summary's cells by name. Of a cell that is not there nothing is known.
#[derive(Clone, Debug)]
pub struct SummaryRow {
    /// What the flight is called.
    pub name: String,
    cells: Vec<(String, String)>,
}

impl SummaryRow {
    /// Of a summary.
    pub fn of(name: &str, summary: &Summary) -> Self {
        let names = Summary::columns()
            .into_iter()
            .map(|column| column.name.to_owned());
        let cells = summary.row().into_iter().map(|cell| cell.to_string());
        Self::from_cells(name, names.zip(cells).collect())
    }

    /// Of cells as they stand in a file.
    pub fn from_cells(name: &str, cells: Vec<(String, String)>) -> Self {
        SummaryRow {
            name: name.to_owned(),
            cells,
        }
    }

    /// A cell that is not empty.
    pub fn text(&self, column: &str) -> Option<&str> {
        let cell = self.cells.iter().find(|(name, _)| name == column);
        cell.map(|(_, text)| text.as_str())
            .filter(|text| !text.is_empty())
    }

    /// A cell that holds a number.
    pub fn number(&self, column: &str) -> Option<f64> {
        self.text(column)?.parse().ok()
    }
}
