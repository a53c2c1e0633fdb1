//! Files that are there whole or not at all.

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use tempfile::{NamedTempFile, PersistError};
use thiserror::Error;

/// A file or folder that could not be written.
#[derive(Debug, Error)]
#[error("cannot write {}: {source}", path.display())]
pub struct WriteError {
    path: PathBuf,
    source: io::Error,
}

/// Makes a folder and proves that files can be written in it.
pub fn prove_writable(folder: &Path) -> Result<(), WriteError> {
    let fail = |source| WriteError {
        path: folder.to_path_buf(),
        source,
    };
    fs::create_dir_all(folder).map_err(fail)?;
    tempfile::Builder::new()
        .prefix(".tossline-")
        .tempfile_in(folder)
        .map(drop)
        .map_err(fail)
}

/// Writes a file beside its place and renames it into place.
pub fn write_whole(path: &Path, content: &[u8]) -> Result<(), WriteError> {
    beside(path, content, |file| file.persist(path))
}

/// The same for a file that must not be there yet.
pub fn write_new(path: &Path, content: &[u8]) -> Result<(), WriteError> {
    beside(path, content, |file| file.persist_noclobber(path))
}

/// Writes a file beside its place and puts it there.
fn beside(
    path: &Path,
    content: &[u8],
    put: impl FnOnce(NamedTempFile) -> Result<fs::File, PersistError>,
) -> Result<(), WriteError> {
    let fail = |source| WriteError {
        path: path.to_path_buf(),
        source,
    };
    let folder = path.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder).map_err(fail)?;
    let mut file = tempfile::Builder::new()
        .prefix(".tossline-")
        .permissions(readable_by_all())
        .tempfile_in(folder)
        .map_err(fail)?;
    file.write_all(content).map_err(fail)?;
    file.as_file().sync_all().map_err(fail)?;
    put(file).map(drop).map_err(|e| fail(e.error))
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
