//! What an airframe file leaves out of its coefficients, estimated when it is read (MODEL.md § 20.3).

use super::{
    Missing, estimate_on, is_writable, outside, reference_of, reference_of_surfaces, straight,
    write_into, write_missing,
};
use crate::airframe_file::{AirframeFile, Reference};
use crate::balance::glide_or_best;
use crate::build::{self, BuiltAirframe, Pieces, surfaces_with};
use crate::error::Problem;
use crate::field::FieldPath;
use crate::read::typed;
use crate::schema::Kind;
use serde::Serialize;
use serde_json::{Value, json};
use sim_core::air::{Air, STANDARD_GRAVITY_M_S2};
use sim_core::estimate::assemble::Estimate;
use sim_core::estimate::convergence::{LatticeResult, Settings, Settled};
use sim_core::estimate::geometry::{self, GeometryError, Surface};
use std::borrow::Cow;
use std::sync::{Arc, OnceLock};

/// Lift coefficient and incidence (rad) the search for the glide starts from.
const FIRST_LIFT: f64 = 0.5;
const FIRST_ALPHA_RAD: f64 = 0.1;
/// Estimates made at most until the glide is that of the estimate.
const MOST_PASSES: usize = 8;
/// The glide has settled when a pass moves it by less: share of the airspeed, and rad.
const SETTLED_SHARE: f64 = 0.01;
const SETTLED_RAD: f64 = 3.5e-3;
/// Airspeeds an estimate is made for, m/s: those of the file's own field.
const AIRSPEEDS_M_S: (f64, f64) = (0.5, 50.0);

/// For what flow an airframe's coefficients were estimated, and what to know of them.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EstimatedAt {
    /// Airspeed, m/s.
    pub airspeed_m_s: f64,
    /// Incidence of the reference line, deg.
    pub incidence_deg: f64,
    /// Estimates made.
    pub passes: usize,
    /// Whether the lattice had panels enough.
    pub converged: bool,
    /// What to tell whoever relies on it.
    pub notes: Vec<String>,
}

/// The lattice an airframe was estimated on, for others with the same surfaces.
#[derive(Debug)]
pub(crate) struct Lattice {
    settled: Settled,
    /// Its result at the incidence every search starts from, once somebody has asked for it.
    first: OnceLock<LatticeResult>,
}

impl Lattice {
    /// Of surfaces with tabs straight: `before`, where that is of the same surfaces and reference, else a new one.
    fn of(
        all: &[Surface],
        reference: &geometry::Reference,
        before: Option<&Arc<Self>>,
    ) -> Result<Arc<Self>, GeometryError> {
        if let Some(same) = before.filter(|before| before.settled.is_of(all, reference)) {
            return Ok(Arc::clone(same));
        }
        Ok(Arc::new(Lattice {
            settled: Settled::new(all, reference, &Settings::default())?,
            first: OnceLock::new(),
        }))
    }

    fn at(&self, alpha_rad: f64) -> Cow<'_, LatticeResult> {
        if alpha_rad == FIRST_ALPHA_RAD {
            return Cow::Borrowed(self.first.get_or_init(|| self.settled.at(alpha_rad)));
        }
        Cow::Owned(self.settled.at(alpha_rad))
    }
}

/// An estimate for an airframe's own glide.
pub(crate) struct Worked {
    pub table: Estimate,
    pub at: EstimatedAt,
    pub lattice: Arc<Lattice>,
    /// The airframe built with it.
    pub built: BuiltAirframe,
}

/// The reference of the surfaces, where an estimated airframe leaves its own out. `file` is checked, outlines written down.
///
/// # Errors
/// Where no surface is level.
pub(crate) fn missing_reference(
    file: &AirframeFile,
    surfaces: impl FnOnce() -> Vec<Surface>,
) -> Result<Option<Reference>, Problem> {
    if !file.is_estimated() || file.reference.is_some() {
        return Ok(None);
    }
    let reference = reference_of_surfaces(&surfaces()).ok_or_else(|| {
        Problem::new(
            FieldPath::default().key("reference"),
            "nothing, and no level surface",
            "a reference, or a level surface to take it from",
        )
    })?;
    Ok(Some(reference))
}

/// Puts the reference of the surfaces into an airframe's JSON where an estimated one leaves it out, and says whether it did. `file` is the same airframe, outlines
/// written down, checked.
///
/// # Errors
/// Where no surface is level.
pub(crate) fn fill_reference(value: &mut Value, file: &AirframeFile) -> Result<bool, Problem> {
    let reference = missing_reference(file, || build::surfaces(file))?;
    if let Some(reference) = &reference {
        value["reference"] = json!(reference);
    }
    Ok(reference.is_some())
}

/// Puts an estimate into an airframe's JSON where the file leaves out what can be estimated. `file` is the same airframe, outlines written
/// down, checked, with a reference.
///
/// # Errors
/// As [`worked_out`].
pub(crate) fn fill(
    value: &mut Value,
    file: &AirframeFile,
    before: Option<&Arc<Lattice>>,
) -> Result<Option<(EstimatedAt, Arc<Lattice>)>, Problem> {
    if !file.is_estimated() {
        return Ok(None);
    }
    let worked = worked_out(file, &Pieces::of(file, None)?, before)?;
    write_into(value, file, &worked.table, Missing::Only);
    Ok(Some((worked.at, worked.lattice)))
}

/// Estimates what an airframe leaves out of its coefficients for its own glide. `file` is checked, outlines written down, with a reference. The lattice it was
/// made on comes back too; handed in again as `before` it serves the same surfaces without being made anew, and the estimate is the same to the bit.
///
/// # Errors
/// For surfaces the lattice cannot take, and for an estimate whose numbers no file can hold.
pub(crate) fn worked_out(
    file: &AirframeFile,
    pieces: &Pieces,
    before: Option<&Arc<Lattice>>,
) -> Result<Worked, Problem> {
    let wanted = file.estimate.unwrap_or_default();
    let air = Air::calm();
    let density = air.atmosphere.at(0.0).density_kg_m3;
    let mut filled = file.clone();
    let mut built: Option<BuiltAirframe> = None;
    let mass = pieces.whole(file);
    let weight = mass.mass_kg * STANDARD_GRAVITY_M_S2;
    let reference = reference_of(file);
    let mut airspeed_m_s = wanted
        .airspeed_m_s
        .unwrap_or_else(|| libm::sqrt(2.0 * weight / (density * reference.area_m2 * FIRST_LIFT)))
        .clamp(AIRSPEEDS_M_S.0, AIRSPEEDS_M_S.1);
    let mut alpha_rad = wanted
        .incidence_deg
        .map_or(FIRST_ALPHA_RAD, f64::to_radians);
    let mut unsettled = None;
    let all = straight(surfaces_with(file, &pieces.surfaces.sections));
    let lattice = Lattice::of(&all, &reference, before).map_err(|error| {
        Problem::new(
            FieldPath::default().key("surfaces"),
            error.to_string(),
            "surfaces that can be panelled, or coefficients in the file",
        )
    })?;
    let outside = outside(file, all);
    for pass in 1..=MOST_PASSES {
        let flow = (airspeed_m_s, alpha_rad);
        let result = lattice.at(alpha_rad);
        let table = estimate_on(&result, file, &outside, &mass.balance, &air, flow, false);
        if !is_writable(&table) {
            // The words for it are those of a file with such a number.
            let mut whole = json!(file);
            write_into(&mut whole, file, &table, Missing::Only);
            typed::<AirframeFile>(&whole, Kind::Airframe)?;
        }
        write_missing(&mut filled, file, &table);
        match &mut built {
            None => built = Some(build::airframe_of(&filled, pieces)),
            Some(before) => build::exchange_table(before, &filled, pieces),
        }
        let now = built.as_ref().expect("built in the first pass");
        let glide = glide_or_best(now, &air);
        // A glide beyond the estimate's own range says nothing of the flow to estimate for: the nearest inside is taken, and that is said.
        let (next_m_s, next_rad) = match glide {
            Some(glide) => {
                let airspeed = glide.airspeed_m_s.clamp(AIRSPEEDS_M_S.0, AIRSPEEDS_M_S.1);
                let alpha = glide
                    .alpha_deg
                    .to_radians()
                    .clamp(0.0, table.stall.alpha_stall_rad);
                if airspeed != glide.airspeed_m_s || alpha != glide.alpha_deg.to_radians() {
                    unsettled = Some(format!(
                        "its glide ({:.1} m/s at {:.1} deg) lies outside attached flow: estimated for {airspeed:.1} m/s at {:.1} deg",
                        glide.airspeed_m_s,
                        glide.alpha_deg,
                        alpha.to_degrees()
                    ));
                }
                (airspeed, alpha)
            }
            None => {
                unsettled = Some(format!(
                    "no glide was found to estimate it for: {airspeed_m_s:.1} m/s at {:.1} deg taken",
                    alpha_rad.to_degrees()
                ));
                (airspeed_m_s, alpha_rad)
            }
        };
        let next_m_s = wanted.airspeed_m_s.unwrap_or(next_m_s);
        let next_rad = wanted.incidence_deg.map_or(next_rad, f64::to_radians);
        let still = (next_m_s / airspeed_m_s - 1.0).abs() < SETTLED_SHARE
            && (next_rad - alpha_rad).abs() < SETTLED_RAD;
        if still || pass == MOST_PASSES {
            if !still {
                unsettled = Some("its glide and the estimate for it do not settle".to_owned());
            }
            let mut notes = table.notes.clone();
            notes.extend(unsettled);
            let at = EstimatedAt {
                airspeed_m_s,
                incidence_deg: alpha_rad.to_degrees(),
                passes: pass,
                converged: lattice.settled.is_converged(),
                notes,
            };
            return Ok(Worked {
                table,
                at,
                lattice,
                built: built.expect("built in the first pass"),
            });
        }
        (airspeed_m_s, alpha_rad) = (next_m_s, next_rad);
    }
    unreachable!("the last pass returns")
}
