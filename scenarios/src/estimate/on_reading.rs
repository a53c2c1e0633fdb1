//! What an airframe file leaves out of its coefficients, estimated when it is read (MODEL.md § 20.3).

use super::{Missing, estimate_on, panelled, reference_of, reference_of_surfaces, write_into};
use crate::airframe_file::AirframeFile;
use crate::balance::glide_or_best;
use crate::build;
use crate::error::Problem;
use crate::field::FieldPath;
use crate::read::typed;
use crate::schema::Kind;
use serde::Serialize;
use serde_json::{Value, json};
use sim_core::air::{Air, STANDARD_GRAVITY_M_S2};
use sim_core::estimate::convergence::Settled;
use std::sync::Arc;

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

/// Puts the reference of the surfaces into an airframe's JSON where an estimated one leaves it out, and says whether it did. `file` is the same airframe, outlines
/// written down, checked.
///
/// # Errors
/// Where no surface is level.
pub(crate) fn fill_reference(value: &mut Value, file: &AirframeFile) -> Result<bool, Problem> {
    if !file.is_estimated() || file.reference.is_some() {
        return Ok(false);
    }
    let at = FieldPath::default().key("reference");
    let reference = reference_of_surfaces(&build::surfaces(file)).ok_or_else(|| {
        Problem::new(
            at,
            "nothing, and no level surface",
            "a reference, or a level surface to take it from",
        )
    })?;
    value["reference"] = json!(reference);
    Ok(true)
}

/// Puts an estimate into an airframe's JSON where the file leaves out what can be estimated. `file` is the same airframe, outlines written
/// down, checked, with a reference. The lattice it was made on comes back too; handed in again as `before` it serves the same surfaces without
/// being made anew, and the estimate is the same to the bit.
///
/// # Errors
/// For surfaces the lattice cannot take.
pub(crate) fn fill(
    value: &mut Value,
    file: &AirframeFile,
    before: Option<&Arc<Settled>>,
) -> Result<Option<(EstimatedAt, Arc<Settled>)>, Problem> {
    if !file.is_estimated() {
        return Ok(None);
    }
    let wanted = file.estimate.unwrap_or_default();
    let air = Air::calm();
    let density = air.atmosphere.at(0.0).density_kg_m3;
    let mass = build::whole(&file.mass).0;
    let weight = mass.mass_kg * STANDARD_GRAVITY_M_S2;
    let area_m2 = reference_of(file).area_m2;
    let mut airspeed_m_s = wanted
        .airspeed_m_s
        .unwrap_or_else(|| libm::sqrt(2.0 * weight / (density * area_m2 * FIRST_LIFT)))
        .clamp(AIRSPEEDS_M_S.0, AIRSPEEDS_M_S.1);
    let mut alpha_rad = wanted
        .incidence_deg
        .map_or(FIRST_ALPHA_RAD, f64::to_radians);
    let mut unsettled = None;
    let settled = panelled(file, before).map_err(|error| {
        Problem::new(
            FieldPath::default().key("surfaces"),
            error.to_string(),
            "surfaces that can be panelled, or coefficients in the file",
        )
    })?;
    let mut built = None;
    for pass in 1..=MOST_PASSES {
        let flow = (airspeed_m_s, alpha_rad);
        let table = estimate_on(&settled, file, &mass.balance, &air, flow);
        let mut whole = json!(file);
        write_into(&mut whole, file, &table, Missing::Only);
        let filled: AirframeFile = typed(&whole, Kind::Airframe)?;
        let now = match &built {
            None => build::airframe(&filled),
            Some(before) => build::with_table_of(before, &filled),
        };
        let glide = glide_or_best(&now, &air);
        built = Some(now);
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
            write_into(value, file, &table, Missing::Only);
            let mut notes = table.notes;
            notes.extend(unsettled);
            let at = EstimatedAt {
                airspeed_m_s,
                incidence_deg: alpha_rad.to_degrees(),
                passes: pass,
                converged: settled.is_converged(),
                notes,
            };
            return Ok(Some((at, settled)));
        }
        (airspeed_m_s, alpha_rad) = (next_m_s, next_rad);
    }
    unreachable!("the last pass returns")
}
