//! Paths of files that name one another.

use crate::read::nearest_file;
use std::path::{Component, Path, PathBuf};

/// The path, as a file would write it, of the file beside a missing one whose name is most like it.
pub(crate) fn nearest_beside(missing: &Path, written: &str) -> Option<String> {
    let near = nearest_file(missing)?;
    let name = Path::new(&near).file_name()?.to_str()?;
    Some(
        Path::new(written)
            .with_file_name(name)
            .display()
            .to_string(),
    )
}

pub(super) fn folder_of(path: &Path) -> &Path {
    path.parent().unwrap_or(Path::new(""))
}

pub(super) fn airframe_path(scenario: &Path, airframe: &str) -> PathBuf {
    folder_of(scenario).join(airframe)
}

/// A path without its `..` where they only undo a folder before them; for people, not for opening (a folder may be a link).
pub(crate) fn without_detours(path: &Path) -> PathBuf {
    let mut tidy = PathBuf::new();
    for step in path.components() {
        match (step, tidy.components().next_back()) {
            (Component::ParentDir, Some(Component::Normal(_))) => {
                tidy.pop();
            }
            _ => tidy.push(step),
        }
    }
    tidy
}
