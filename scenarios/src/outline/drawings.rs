//! The drawings beside an airframe file, read once each.

use crate::airframe_file::{AirframeFile, Part};
use crate::error::{Problem, quoted};
use crate::field::FieldPath;
use crate::load::without_detours;
use crate::read::{LARGEST_FILE_BYTES, nearest_file_of_kind};
use std::cell::RefCell;
use std::io::Read;
use std::path::{Path, PathBuf};

/// A further file that a file names: the name as it stands there, and its bytes.
pub(crate) type NamedBytes = (String, Vec<u8>);

/// The drawings an airframe names, each read once.
pub(crate) struct Drawings {
    folder: PathBuf,
    /// The same as the user would name it.
    shown_folder: PathBuf,
    read: RefCell<Vec<NamedBytes>>,
}

impl Drawings {
    /// Drawings looked for from the folder of an airframe file, which errors call `shown`.
    pub fn beside(airframe: &Path, shown: &str) -> Self {
        let folder = |path: &Path| path.parent().unwrap_or(Path::new("")).to_owned();
        Drawings {
            folder: folder(airframe),
            shown_folder: folder(Path::new(shown)),
            read: RefCell::new(Vec::new()),
        }
    }

    /// The same with these already read.
    pub fn read_already(airframe: &Path, shown: &str, read: Vec<NamedBytes>) -> Self {
        Drawings {
            read: RefCell::new(read),
            ..Drawings::beside(airframe, shown)
        }
    }

    /// The drawings an airframe uses, in the order it names them.
    pub fn used_by(&self, airframe: &AirframeFile) -> Vec<NamedBytes> {
        let parts = airframe.mass.parts.iter().flatten();
        let of_parts = parts.filter_map(|part| match part {
            Part::Sheet(sheet) => sheet.outline_svg.as_ref(),
            _ => None,
        });
        let of_surfaces = airframe
            .surfaces
            .iter()
            .filter_map(|surface| surface.outline_svg.as_ref());
        let mut used: Vec<NamedBytes> = Vec::new();
        for drawing in of_parts.chain(of_surfaces) {
            let read = self.read.borrow();
            let named = read.iter().find(|(name, _)| *name == drawing.file);
            if let Some(named) =
                named.filter(|(name, _)| used.iter().all(|(other, _)| other != name))
            {
                used.push(named.clone());
            }
        }
        used
    }

    /// A drawing's path as the user would name it.
    pub fn shown(&self, file: &str) -> String {
        let path = without_detours(&self.shown_folder.join(file));
        path.display().to_string()
    }

    /// A drawing's bytes; `at` is the field that names it.
    pub fn bytes(&self, file: &str, at: &FieldPath) -> Result<Vec<u8>, Problem> {
        if let Some((_, bytes)) = self.read.borrow().iter().find(|(name, _)| name == file) {
            return Ok(bytes.clone());
        }
        let path = self.folder.join(file);
        let problem = |found: String| {
            let wanted = "the path of an SVG drawing, from the folder this file is in";
            Problem::new(at.key("file"), found, wanted)
        };
        if !path.is_file() {
            let mut missing = problem(format!("{}, which is no file", quoted(file)));
            missing.nearest = nearest_file_of_kind(&path, ".svg")
                .as_deref()
                .and_then(|near| Path::new(near).file_name()?.to_str())
                .map(|name| Path::new(file).with_file_name(name).display().to_string());
            return Err(missing);
        }
        let mut bytes = Vec::new();
        std::fs::File::open(&path)
            .and_then(|opened| opened.take(LARGEST_FILE_BYTES + 1).read_to_end(&mut bytes))
            .map_err(|error| problem(format!("{}: {error}", quoted(file))))?;
        if bytes.len() as u64 > LARGEST_FILE_BYTES {
            let found = format!(
                "{}, a file of more than {LARGEST_FILE_BYTES} bytes",
                quoted(file)
            );
            return Err(problem(found));
        }
        self.read
            .borrow_mut()
            .push((file.to_owned(), bytes.clone()));
        Ok(bytes)
    }
}
