//! Which flights a comparison draws, and where their trajectories lie: in its own folder, or in the results that are compared.

use crate::output::chart::Look;
use crate::output::curves::{Curves, CurvesError};
use crate::resume::sha256;
use serde::{Deserialize, Serialize};
use std::io;
use std::path::{Component, Path, PathBuf};

/// A flight that is drawn.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Drawn {
    /// What it is called.
    pub name: String,
    /// Its trajectory, from the comparison's folder on.
    pub file: String,
    /// Of the trajectory, so that another flight that has come to lie there is not taken for it.
    pub sha256: String,
}

impl Drawn {
    /// Its curves, out of a file's bytes; none where that is another flight's.
    pub fn curves(&self, number: usize, bytes: &[u8]) -> Result<Option<Curves>, CurvesError> {
        if sha256(bytes) != self.sha256 {
            return Ok(None);
        }
        Curves::read(&self.name, Look::of(number), bytes).map(Some)
    }
}

/// A flight to be drawn, before the comparison's folder is made.
pub(super) struct Flown {
    name: String,
    place: Place,
    sha256: String,
}

enum Place {
    /// Under the comparison's folder.
    Own(String),
    /// Elsewhere.
    Elsewhere(PathBuf),
}

impl Flown {
    /// One whose trajectory is written under the comparison's folder.
    pub fn own(name: String, file: String, bytes: &[u8]) -> Self {
        Flown {
            name,
            place: Place::Own(file),
            sha256: sha256(bytes),
        }
    }

    /// One whose trajectory lies elsewhere.
    pub fn elsewhere(name: String, file: PathBuf, bytes: &[u8]) -> Self {
        Flown {
            name,
            place: Place::Elsewhere(file),
            sha256: sha256(bytes),
        }
    }

    /// As it is written down in the comparison's folder, which must be there.
    pub fn beside(&self, out: &Path) -> io::Result<Drawn> {
        Ok(Drawn {
            name: self.name.clone(),
            file: match &self.place {
                Place::Own(file) => file.clone(),
                Place::Elsewhere(file) => way(&out.canonicalize()?, &file.canonicalize()?),
            },
            sha256: self.sha256.clone(),
        })
    }
}

/// The way from a folder to a file, both absolute; the file itself where there is none.
fn way(from: &Path, to: &Path) -> String {
    let both = from.components().zip(to.components());
    let shared = both.take_while(|(a, b)| a == b).count();
    let up = from.components().skip(shared);
    let way: PathBuf = up
        .map(|_| Component::ParentDir)
        .chain(to.components().skip(shared))
        .collect();
    way.to_string_lossy().replace('\\', "/")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_way_goes_up_as_far_as_it_must() {
        let way = |from: &str, to: &str| super::way(Path::new(from), Path::new(to));
        assert_eq!(way("/a/c", "/a/c/x/t.csv"), "x/t.csv");
        assert_eq!(way("/a/c", "/a/b/t.csv"), "../b/t.csv");
        assert_eq!(way("/a/c/d", "/e/t.csv"), "../../../e/t.csv");
    }
}
