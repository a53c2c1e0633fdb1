//! Files of a result, read with errors that say which one and what is wrong.

use crate::exit::Outcome;
use crate::output::chart::Look;
use crate::output::curves::{Curves, CurvesError};
use crate::output::files::WriteError;
use serde::de::DeserializeOwned;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why there is no page.
#[derive(Debug, Error)]
pub enum ReportError {
    /// A file or folder that is not what a command leaves.
    #[error("{}: found {found}, wanted {wanted}", path.display())]
    Wrong {
        /// The file or folder.
        path: PathBuf,
        /// What is there.
        found: String,
        /// What should be.
        wanted: String,
    },
    /// A file that cannot be understood.
    #[error("{}: {reason}", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// Why not.
        reason: String,
    },
    /// The page could not be written.
    #[error(transparent)]
    CannotWrite(#[from] WriteError),
}

impl ReportError {
    /// What the command ends with.
    pub fn outcome(&self) -> Outcome {
        match self {
            ReportError::CannotWrite(_) => Outcome::CannotWrite,
            _ => Outcome::BadInput,
        }
    }
}

/// A folder with a result.
pub struct Folder {
    pub path: PathBuf,
}

impl Folder {
    pub fn new(path: &Path) -> Self {
        Folder {
            path: path.to_path_buf(),
        }
    }

    /// Whether a file is in it.
    pub fn has(&self, file: &str) -> bool {
        self.path.join(file).is_file()
    }

    /// Says what is wrong with the folder.
    pub fn wrong(&self, found: &str, wanted: &str) -> ReportError {
        let found = if self.path.is_dir() {
            found
        } else {
            "no such folder"
        };
        ReportError::Wrong {
            path: self.path.clone(),
            found: found.to_owned(),
            wanted: wanted.to_owned(),
        }
    }

    /// Says what is wrong with a file.
    pub fn wrong_file(&self, file: &str, found: &str, wanted: &str) -> ReportError {
        ReportError::Wrong {
            path: self.path.join(file),
            found: found.to_owned(),
            wanted: wanted.to_owned(),
        }
    }

    fn unreadable(&self, file: &str, reason: &dyn std::fmt::Display) -> ReportError {
        ReportError::Unreadable {
            path: self.path.join(file),
            reason: reason.to_string(),
        }
    }

    /// A file's bytes.
    pub fn bytes(&self, file: &str) -> Result<Vec<u8>, ReportError> {
        std::fs::read(self.path.join(file)).map_err(|error| match error.kind() {
            std::io::ErrorKind::NotFound => {
                self.wrong_file(file, "no such file", "the whole of a result")
            }
            _ => self.unreadable(file, &error),
        })
    }

    /// A JSON file.
    pub fn json<T: DeserializeOwned>(&self, file: &str) -> Result<T, ReportError> {
        let bytes = self.bytes(file)?;
        let mut json = serde_json::Deserializer::from_slice(&bytes);
        serde_path_to_error::deserialize(&mut json).map_err(|error| {
            let place = match error.path().to_string().as_str() {
                "." => String::new(),
                path => format!("{path}: "),
            };
            self.unreadable(file, &format!("{place}{}", error.inner()))
        })
    }

    /// A CSV file as rows of named cells.
    pub fn csv(&self, file: &str) -> Result<Vec<Vec<(String, String)>>, ReportError> {
        let bytes = self.bytes(file)?;
        let mut table = csv::Reader::from_reader(bytes.as_slice());
        let heads = table
            .headers()
            .map_err(|e| self.unreadable(file, &e))?
            .clone();
        table
            .records()
            .map(|record| {
                let record = record.map_err(|error| self.unreadable(file, &error))?;
                let cells = heads.iter().zip(&record);
                Ok(cells.map(|(n, c)| (n.to_owned(), c.to_owned())).collect())
            })
            .collect()
    }

    /// The heads and the first rows of a CSV file, of whatever length.
    pub fn csv_begin(
        &self,
        file: &str,
        most: usize,
    ) -> Result<(Vec<String>, Vec<Vec<String>>), ReportError> {
        let unreadable = |error: csv::Error| self.unreadable(file, &error);
        let mut table = csv::Reader::from_path(self.path.join(file)).map_err(unreadable)?;
        let cells = |record: &csv::StringRecord| record.iter().map(str::to_owned).collect();
        let heads = cells(table.headers().map_err(unreadable)?);
        let rows = table.records().take(most);
        let rows = rows.map(|record| record.map(|record| cells(&record)).map_err(unreadable));
        Ok((heads, rows.collect::<Result<_, _>>()?))
    }

    /// A trajectory's curves; none of a flight whose numbers failed at once.
    pub fn curves(
        &self,
        file: &str,
        name: &str,
        look: Look,
    ) -> Result<Option<Curves>, ReportError> {
        match Curves::read(name, look, &self.bytes(file)?) {
            Ok(curves) => Ok(Some(curves)),
            Err(CurvesError::NoRow) => Ok(None),
            Err(error) => Err(self.unreadable(file, &error)),
        }
    }

    /// Takes a file away, where it is there.
    pub fn remove(&self, file: &str) -> Result<(), ReportError> {
        if !self.has(file) {
            return Ok(());
        }
        let path = self.path.join(file);
        std::fs::remove_file(&path).map_err(|error| WriteError::new(&path, error).into())
    }
}

/// Whether a name can stand in an address as it is and leads nowhere else: letters, digits, `-`, `_`, `.` and `/`, not up and not absolute.
pub fn is_plain(name: &str) -> bool {
    let plain = |c: char| c.is_ascii_alphanumeric() || "-_./".contains(c);
    !name.is_empty()
        && !name.starts_with('/')
        && name.chars().all(plain)
        && name.split('/').all(|part| !part.is_empty() && part != "..")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_names_below_the_folder_are_plain() {
        for name in ["twin.csv", "trajectories/worst-12.csv", "a_b/c.csv"] {
            assert!(is_plain(name), "{name}");
        }
        for name in [
            "",
            "/etc/x",
            "../x.csv",
            "a//b",
            "a b.csv",
            "javascript:x",
            "a\"b",
        ] {
            assert!(!is_plain(name), "{name}");
        }
    }
}
