//! From a file to its typed form, with file, line and field in every error.
//!
//! A file goes through: size and encoding, JSON syntax, doubled fields, `tossline` and `kind`, the form (fields, types, words), the
//! typed read. Ranges and cross references come after that, in `airframe_checks` and `scenario_checks`.

use crate::error::{FileError, Problem, nearest, one_of};
use crate::field::FieldPath;
use crate::locate;
use crate::schema::Kind;
use crate::shape::{Shape, found};
use serde::de::DeserializeOwned;
use serde_json::Value;
use std::io::Read;
use std::path::Path;
use std::sync::Arc;

/// Largest file read, bytes. A hundred times what a long airframe file needs.
pub const LARGEST_FILE_BYTES: u64 = 4_000_000;
/// Version of the file format this library reads.
pub const FORMAT_VERSION: u64 = 1;

/// A file's bytes and the JSON in it.
#[derive(Clone, Debug)]
pub struct Document {
    /// The file as the user named it.
    pub file: String,
    /// The file's bytes as they were read.
    pub bytes: Arc<[u8]>,
    /// The JSON value.
    pub value: Value,
    text: String,
}

impl Document {
    /// Reads a file.
    ///
    /// # Errors
    /// [`FileError`] where it is missing, unreadable, too large, not UTF-8 or not standard JSON.
    pub fn open(path: &Path) -> Result<Self, FileError> {
        Self::open_as(path, &path.display().to_string())
    }

    /// Reads a file; `file` is the name errors give it.
    ///
    /// # Errors
    /// As [`Document::open`].
    pub fn open_as(path: &Path, file: &str) -> Result<Self, FileError> {
        let whole = |found: String, wanted: String| FileError {
            file: file.to_owned(),
            line: None,
            field: None,
            found,
            wanted,
            nearest: None,
        };
        let unreadable = |error: &std::io::Error| {
            let wanted = "a JSON file that can be read".to_owned();
            if error.kind() == std::io::ErrorKind::NotFound {
                FileError {
                    nearest: nearest_file(path).map(String::into_boxed_str),
                    ..whole("no such file".to_owned(), wanted)
                }
            } else {
                whole(error.to_string(), wanted)
            }
        };
        let opened = std::fs::File::open(path).map_err(|error| unreadable(&error))?;
        if opened.metadata().is_ok_and(|about| about.is_dir()) {
            return Err(whole("a folder".to_owned(), "a JSON file".to_owned()));
        }
        let mut bytes = Vec::new();
        opened
            .take(LARGEST_FILE_BYTES + 1)
            .read_to_end(&mut bytes)
            .map_err(|error| unreadable(&error))?;
        Self::from_bytes(file, bytes)
    }

    /// Takes a file's bytes; `file` is the name errors give it.
    ///
    /// # Errors
    /// [`FileError`] where they are too many, not UTF-8 or not standard JSON.
    pub fn from_bytes(file: &str, bytes: Vec<u8>) -> Result<Self, FileError> {
        let whole = |line: Option<u32>, found: &str, wanted: String| FileError {
            file: file.to_owned(),
            line,
            field: None,
            found: found.to_owned(),
            wanted,
            nearest: None,
        };
        if bytes.len() as u64 > LARGEST_FILE_BYTES {
            let wanted = format!("a file of at most {LARGEST_FILE_BYTES} bytes");
            return Err(whole(None, "a larger file", wanted));
        }
        let text = match std::str::from_utf8(&bytes) {
            Ok(text) => text.strip_prefix('\u{feff}').unwrap_or(text).to_owned(),
            Err(error) => {
                let good = String::from_utf8_lossy(&bytes[..error.valid_up_to()]);
                let line = locate::line_at(&good, good.len());
                return Err(whole(
                    Some(line),
                    "bytes that are not UTF-8",
                    "text saved as UTF-8".to_owned(),
                ));
            }
        };
        let value = locate::parse(file, &text)?;
        Ok(Document {
            file: file.to_owned(),
            bytes: bytes.into(),
            value,
            text,
        })
    }

    /// The kind of file its `kind` says.
    ///
    /// # Errors
    /// [`FileError`] where it is none of the kinds, or `tossline` is not the version read here.
    pub fn kind(&self) -> Result<Kind, FileError> {
        read_header(&self.value, &Kind::ALL).map_err(|problem| self.error(problem))
    }

    /// The typed form of the file, of one kind. Ranges and references are not yet checked.
    pub(crate) fn typed<T: DeserializeOwned>(&self, kind: Kind) -> Result<T, FileError> {
        typed(&self.value, kind).map_err(|problem| self.error(problem))
    }

    /// A problem with its place in this file.
    pub(crate) fn error(&self, problem: Problem) -> FileError {
        let field = problem.path.shown(&self.value);
        let line = self.line_of(&problem.path);
        problem.at(&self.file, line, field)
    }

    /// Line of a field.
    pub(crate) fn line_of(&self, path: &FieldPath) -> Option<u32> {
        locate::line_of(&self.text, path)
    }
}

/// The typed form of a JSON value of one kind.
pub(crate) fn typed<T: DeserializeOwned>(value: &Value, kind: Kind) -> Result<T, Problem> {
    read_header(value, &[kind])?;
    Shape::of(kind).check(value, &FieldPath::default())?;
    // The check of the form leaves nothing to go wrong here; what still does is said in the library's own words.
    serde_path_to_error::deserialize(value).map_err(|error| {
        let path = FieldPath::from(error.path());
        Problem::new(
            path,
            error.inner().to_string(),
            format!("what the schema of kind \"{}\" says", kind.word()),
        )
    })
}

/// Checks `tossline` and `kind`.
fn read_header(value: &Value, kinds: &[Kind]) -> Result<Kind, Problem> {
    let top = FieldPath::default();
    if !value.is_object() {
        return Err(Problem::new(top, found(value), "an object {...}"));
    }
    let given = |name: &str| value.get(name).map_or("nothing".to_owned(), found);
    if value.get("tossline").and_then(Value::as_u64) != Some(FORMAT_VERSION) {
        let wanted = format!("{FORMAT_VERSION}, the version of the file format");
        return Err(Problem::new(top.key("tossline"), given("tossline"), wanted));
    }
    let word = value
        .get("kind")
        .and_then(Value::as_str)
        .unwrap_or_default();
    kinds
        .iter()
        .copied()
        .find(|kind| kind.word() == word)
        .ok_or_else(|| {
            let words: Vec<&str> = kinds.iter().map(|kind| kind.word()).collect();
            Problem::new(top.key("kind"), given("kind"), one_of(words.clone()))
                .with_nearest(word, words)
        })
}

/// The file beside a missing JSON file whose name is most like it.
pub(crate) fn nearest_file(path: &Path) -> Option<String> {
    nearest_file_of_kind(path, ".json")
}

/// The file beside a missing one, of those that end like this, whose name is most like it.
pub(crate) fn nearest_file_of_kind(path: &Path, ending: &str) -> Option<String> {
    let folder = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty());
    let entries = std::fs::read_dir(folder.unwrap_or(Path::new("."))).ok()?;
    let mut names: Vec<String> = entries
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .filter(|name| name.ends_with(ending))
        .collect();
    names.sort();
    let name = nearest(
        path.file_name()?.to_str()?,
        names.iter().map(String::as_str),
    )?;
    Some(match folder {
        Some(folder) => folder.join(name).display().to_string(),
        None => name,
    })
}
