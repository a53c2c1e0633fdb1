//! Checks of what lies in one plane: a level outline goes by station and right at one height, an upright one by station and up at
//! one place right of the centre line.

use super::Check;
use crate::airframe_file::{Corner, Plane};
use crate::error::{Problem, number};
use crate::field::FieldPath;
use crate::outline::polygon::Flat;

/// A sheet or a surface with an outline.
pub(super) struct Planar {
    /// "sheet" or "surface".
    pub what: &'static str,
    pub plane: Plane,
    pub right_mm: Option<f64>,
    pub up_mm: Option<f64>,
}

impl Planar {
    /// A level one needs `up_mm` and has no `right_mm`; an upright one the other way round.
    pub fn has_its_place(&self, at: &FieldPath) -> Check {
        self.one_of(at, self.right_mm, self.up_mm, self.plane == Plane::Upright)
            .map(|_| ())
    }

    /// Corners as station and right, or station and up.
    pub fn corners(&self, corners: &[Corner], at: &FieldPath) -> Result<Vec<Flat>, Problem> {
        let by_right = self.plane == Plane::Level;
        let corner = |(k, corner): (usize, &Corner)| {
            let across = self.one_of(&at.index(k), corner.right_mm, corner.up_mm, by_right)?;
            Ok((corner.station_mm, across))
        };
        corners.iter().enumerate().map(corner).collect()
    }

    fn one_of(
        &self,
        at: &FieldPath,
        right: Option<f64>,
        up: Option<f64>,
        right_is_needed: bool,
    ) -> Result<f64, Problem> {
        let word = match self.plane {
            Plane::Level => "level",
            Plane::Upright => "upright",
        };
        let what = self.what;
        let (refused, needed) = if right_is_needed {
            (("up_mm", up), ("right_mm", right))
        } else {
            (("right_mm", right), ("up_mm", up))
        };
        if let (name, Some(given)) = refused {
            let wanted = format!("none in a {what} with plane \"{word}\"");
            return Err(Problem::new(at.key(name), number(given), wanted));
        }
        let (name, value) = needed;
        value.ok_or_else(|| {
            let wanted = format!("a number, in a {what} with plane \"{word}\"");
            Problem::new(at.key(name), "nothing", wanted)
        })
    }
}
