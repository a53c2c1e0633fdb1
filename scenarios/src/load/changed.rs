//! An airframe's JSON after overrides and estimate.

use crate::airframe_checks;
use crate::airframe_file::AirframeFile;
use crate::error::{FileError, Problem};
use crate::estimate::EstimatedAt;
use crate::estimate::on_reading::{Lattice, fill, fill_reference};
use crate::outline::{Drawings, written_down};
use crate::overrides::{self, Override, Stage, Touched};
use crate::read::typed;
use crate::schema::Kind;
use serde_json::Value;
use std::sync::Arc;

/// An airframe after overrides and estimate.
pub(super) struct Changed {
    /// Its JSON.
    pub value: Value,
    pub touched: Vec<Touched>,
    pub file: AirframeFile,
    /// The same with its outlines written down.
    pub written_down: AirframeFile,
    pub estimated: Option<EstimatedAt>,
    /// The lattice of the estimate.
    pub lattice: Option<Arc<Lattice>>,
}

/// Why an airframe could not be changed.
pub(super) enum NotChanged {
    /// An override names nothing or has nothing to change.
    Override(FileError),
    /// What came out makes no sense.
    Airframe(Box<Spoilt>),
}

impl From<FileError> for NotChanged {
    fn from(error: FileError) -> Self {
        NotChanged::Override(error)
    }
}

/// An airframe that makes no sense, and what had been changed in it.
pub(super) struct Spoilt {
    pub problem: Problem,
    pub value: Value,
    pub touched: Vec<Touched>,
}

/// Overrides in three stages, with the reference and the estimate between them where the airframe leaves those out. `before` is a lattice
/// that may be of the same surfaces.
pub(super) fn changed(
    document: &Value,
    overrides: &[Override],
    drawings: &Drawings,
    before: Option<&Arc<Lattice>>,
) -> Result<Changed, NotChanged> {
    let mut value = document.clone();
    let mut touched = overrides::apply(&mut value, Kind::Airframe, overrides, Stage::Build)?;
    let worked_out = (|| -> Result<_, Result<FileError, Problem>> {
        // Reading, drawing and checking is the dear part: done again only where something has changed since.
        let mut read = formed(&value, drawings).map_err(Err)?;
        let filled = fill_reference(&mut value, &read.1).map_err(Err)?;
        let on_reference =
            overrides::apply(&mut value, Kind::Airframe, overrides, Stage::Reference)
                .map_err(Ok)?;
        if filled || !on_reference.is_empty() {
            touched.extend(on_reference);
            read = formed(&value, drawings).map_err(Err)?;
        }
        let estimated = fill(&mut value, &read.1, before).map_err(Err)?;
        let on_table =
            overrides::apply(&mut value, Kind::Airframe, overrides, Stage::Table).map_err(Ok)?;
        if estimated.is_some() || !on_table.is_empty() {
            touched.extend(on_table);
            overrides::note_in_sources(&mut value, overrides, &touched);
            read = formed(&value, drawings).map_err(Err)?;
        }
        let (file, written_down) = read;
        airframe_checks::check_filled(&written_down).map_err(Err)?;
        Ok((file, written_down, estimated))
    })();
    match worked_out {
        Ok((file, written_down, estimated)) => {
            touched.sort_by_key(|one| one.by);
            let (estimated, lattice) = estimated.unzip();
            Ok(Changed {
                value,
                touched,
                file,
                written_down,
                estimated,
                lattice,
            })
        }
        Err(Ok(error)) => Err(NotChanged::Override(error)),
        Err(Err(problem)) => Err(NotChanged::Airframe(Box::new(Spoilt {
            problem,
            value,
            touched,
        }))),
    }
}

/// An airframe's file after the overrides that come before any estimate, outlines written down: what its masses need.
pub(super) fn massed(
    document: &Value,
    overrides: &[Override],
    drawings: &Drawings,
) -> Result<AirframeFile, NotChanged> {
    let mut value = document.clone();
    let touched = overrides::apply(&mut value, Kind::Airframe, overrides, Stage::Build)?;
    match formed(&value, drawings) {
        Ok((_, written_down)) => Ok(written_down),
        Err(problem) => Err(NotChanged::Airframe(Box::new(Spoilt {
            problem,
            value,
            touched,
        }))),
    }
}

/// The file, and the same with its outlines written down; checked but for what an estimate fills in.
pub(super) fn formed(
    value: &Value,
    drawings: &Drawings,
) -> Result<(AirframeFile, AirframeFile), Problem> {
    let file: AirframeFile = typed(value, Kind::Airframe)?;
    let with_outlines = written_down(&file, Some(drawings))?;
    airframe_checks::check(&with_outlines)?;
    Ok((file, with_outlines))
}
