//! Files that are there whole or not at all.

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;
use thiserror::Error;

/// How names of unfinished files begin.
const TEMPORARY: &str = ".tossline-unfinished-";

/// A file or folder that could not be written.
#[derive(Debug, Error)]
#[error("cannot write {}: {source}", path.display())]
pub struct WriteError {
    path: PathBuf,
    source: io::Error,
}

impl WriteError {
    /// Of a file or folder.
    pub fn new(path: &Path, source: io::Error) -> Self {
        WriteError {
            path: path.to_path_buf(),
            source,
        }
    }
}

/// Makes a folder and proves that files can be written in it.
pub fn prove_writable(folder: &Path) -> Result<(), WriteError> {
    let fail = |source| WriteError::new(folder, source);
    fs::create_dir_all(folder).map_err(fail)?;
    tempfile::Builder::new()
        .prefix(TEMPORARY)
        .tempfile_in(folder)
        .map(drop)
        .map_err(fail)
}

/// Writes a file beside its place and renames it into place.
pub fn write_whole(path: &Path, content: &[u8]) -> Result<(), WriteError> {
    let mut file = beside(path)?;
    file.write_all(content)
        .map_err(|source| WriteError::new(path, source))?;
    into_place(file, path)
}

/// The same for a file that must not be there yet.
pub fn write_new(path: &Path, content: &[u8]) -> Result<(), WriteError> {
    let fail = |source| WriteError::new(path, source);
    let mut file = beside(path)?;
    file.write_all(content).map_err(fail)?;
    file.as_file().sync_all().map_err(fail)?;
    file.persist_noclobber(path)
        .map(drop)
        .map_err(|error| fail(error.error))
}

/// A file beside a place, to be written and then brought there with [`into_place`]; gone if it is not.
pub fn beside(path: &Path) -> Result<NamedTempFile, WriteError> {
    let fail = |source| WriteError::new(path, source);
    let folder = path.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder).map_err(fail)?;
    tempfile::Builder::new()
        .prefix(TEMPORARY)
        .permissions(readable_by_all())
        .tempfile_in(folder)
        .map_err(fail)
}

/// Makes sure that a file is on the disk and renames it into its place.
pub fn into_place(file: NamedTempFile, path: &Path) -> Result<(), WriteError> {
    let fail = |source| WriteError::new(path, source);
    file.as_file().sync_all().map_err(fail)?;
    file.persist(path).map(drop).map_err(|e| fail(e.error))
}

/// Removes what a killed command has left of files it had not finished. Only for a folder that no other command works in.
pub fn tidy(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    for entry in entries.flatten() {
        let name = entry.file_name();
        if name.to_string_lossy().starts_with(TEMPORARY) {
            // One that cannot be removed does no harm.
            let _ = fs::remove_file(entry.path());
        }
    }
}

#[cfg(unix)]
fn readable_by_all() -> fs::Permissions {
    use std::os::unix::fs::PermissionsExt;
    fs::Permissions::from_mode(0o644)
}

#[cfg(not(unix))]
fn readable_by_all() -> fs::Permissions {
    fs::metadata(".")
        .map(|m| m.permissions())
        .expect("the current folder can be looked at")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn replaces_a_file_and_leaves_nothing_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a/b.csv");
        write_whole(&path, b"one").unwrap();
        write_whole(&path, b"two").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"two");
        assert_eq!(fs::read_dir(path.parent().unwrap()).unwrap().count(), 1);
    }

    #[test]
    fn leaves_a_file_alone_that_is_there() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.json");
        write_new(&path, b"one").unwrap();
        assert!(write_new(&path, b"two").is_err());
        assert_eq!(fs::read(&path).unwrap(), b"one");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn says_which_file_it_could_not_write() {
        let folder = tempfile::tempdir().unwrap();
        let blocker = folder.path().join("file");
        fs::write(&blocker, b"").unwrap();
        let error = write_whole(&blocker.join("x.csv"), b"").unwrap_err();
        assert!(error.to_string().contains("x.csv"), "{error}");
    }
}
