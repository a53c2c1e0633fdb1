//! Airframe and scenario files to what `sim_core` flies.

mod air;
mod airframe;
mod controls;
mod disc;
mod drawn;
mod mass;
mod outside;
mod pieces;
mod propulsion;
mod scenario;
mod surfaces;

pub(crate) use airframe::{airframe, airframe_of, coefficients, exchange_table, normal_at_90};
pub use disc::side_area_m2;
pub use drawn::{Drawn, drawn};
pub use mass::PartMass;
pub(crate) use mass::{GLUE, part_mass, whole};
pub(crate) use outside::{bodies, skin};
pub(crate) use pieces::Pieces;
pub(crate) use propulsion::{MotorConstants, propulsion};
pub(crate) use scenario::scenario;
pub use surfaces::surfaces;
pub(crate) use surfaces::surfaces_with;

use crate::airframe_checks;
use crate::airframe_file::{AirframeFile, Mount};
use crate::error::{FileError, Problem};
use crate::estimate::on_reading::{fill, fill_reference};
use crate::outline::written_down;
use crate::read::typed;
use crate::scenario_checks;
use crate::scenario_file::ScenarioFile;
use crate::schema::Kind;
use crate::site;
use crate::summary::SummarySettings;
use crate::units::m_from_mm;
use serde_json::{Value, json};
use sim_core::control::Module;
use sim_core::flight::Throw;
use sim_core::frames::BuilderPoint;
use sim_core::mass::MassProperties;
use sim_core::trim::TrimConditions;
use sim_core::vehicle::Vehicle;

/// How far off the centre line a motor may be and still count as on it, m: rounding, no more.
const ON_CENTRE_LINE_M: f64 = 1e-9;

/// An airframe ready to fly, and what a person wants to see of it.
#[derive(Clone, Debug)]
pub struct BuiltAirframe {
    /// What flies.
    pub vehicle: Vehicle<f64>,
    /// Mass, balance point (builder's axes) and inertia of the whole.
    pub mass: MassProperties,
    /// The same of each part, in file order, then of the glue where it is given as a fraction; none where the mass is measured.
    pub parts: Vec<PartMass>,
    /// The motors, in file order, which is that of rotors and throttles everywhere.
    pub motors: Vec<BuiltMotor>,
    /// The tabs, in file order.
    pub tabs: Vec<BuiltTab>,
    /// What share of the left-right difference each motor gets: ½ left, −½ right where there is one on each side, else 0.
    pub steering_shares: Vec<f64>,
    /// What the power module does by itself; the seed of its gyro is the throw's.
    pub module: Module,
    /// Numbers that were worked out from measurements, each with its method and band; none where the file gives all of them.
    pub worked_out: Vec<WorkedOut>,
}

/// A number worked out from what the builder measured.
#[derive(Clone, Debug, PartialEq)]
pub struct WorkedOut {
    /// The field it stands for, by names, or what it is.
    pub path: String,
    /// Unit of value and band; empty for coefficients.
    pub unit: &'static str,
    /// The value flown with.
    pub value: f64,
    /// One standard deviation.
    pub one_sigma: f64,
    /// How it was found and what was assumed.
    pub method: String,
}

impl BuiltAirframe {
    /// Tabs as set, at a height (m) and charge, for steady flight.
    pub fn trim_conditions(&self, height_m: f64, charge_fraction: f64) -> TrimConditions {
        TrimConditions {
            tabs_rad: self.tabs.iter().map(|tab| tab.setting_rad).collect(),
            steering_shares: self.steering_shares.clone(),
            height_m,
            charge_fraction,
        }
    }
}

/// Where a motor is.
#[derive(Clone, Debug, PartialEq)]
pub struct BuiltMotor {
    /// Name.
    pub name: String,
    /// Which side of the centre line it is on.
    pub side: Side,
    /// Middle of the propeller disc, builder's axes, m.
    pub place: BuilderPoint,
    /// Name of the part that carries it.
    pub carried_by: Option<String>,
}

/// A side of the centre line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Left of it.
    Left,
    /// On it.
    Centre,
    /// Right of it.
    Right,
}

impl Side {
    fn of(right_m: f64) -> Self {
        if right_m.abs() <= ON_CENTRE_LINE_M {
            Side::Centre
        } else if right_m > 0.0 {
            Side::Right
        } else {
            Side::Left
        }
    }
}

/// A tab's name and setting.
#[derive(Clone, Debug, PartialEq)]
pub struct BuiltTab {
    /// Name.
    pub name: String,
    /// Angle it is bent to, rad, trailing edge down positive.
    pub setting_rad: f64,
}

/// A scenario ready to fly.
#[derive(Clone, Debug)]
pub struct BuiltScenario {
    /// What flies.
    pub throw: Throw,
    /// Time between two rows of the trajectory, s.
    pub record_interval_s: f64,
    /// What the summary looks at.
    pub summary: SummarySettings,
}

/// Builds an airframe that did not come from a file.
///
/// # Errors
/// [`FileError`] (with the airframe's name in place of a file, and no line) where [`AirframeFile`] does not make sense, or takes an
/// outline from a drawing.
pub fn build_airframe(file: &AirframeFile) -> Result<BuiltAirframe, FileError> {
    let complete = || {
        let mut value = json!(written_down(file, None)?);
        let read = |value: &Value| -> Result<AirframeFile, Problem> {
            let file: AirframeFile = typed(value, Kind::Airframe)?;
            airframe_checks::check(&file).map(|()| file)
        };
        let given = read(&value)?;
        fill_reference(&mut value, &given)?;
        let given = read(&value)?;
        fill(&mut value, &given, None)?;
        let file = read(&value)?;
        airframe_checks::check_filled(&file).map(|()| file)
    };
    let file = complete().map_err(|problem| problem.without_file(&file.name, file))?;
    Ok(airframe(&file))
}

/// Builds a scenario that did not come from a file, with an airframe already built. Its own `airframe` and `overrides` are not
/// looked at.
///
/// # Errors
/// [`FileError`] (with the scenario's name in place of a file, and no line) where the scenario does not make sense by itself or
/// with this airframe.
pub fn build_scenario(
    file: &ScenarioFile,
    airframe: &BuiltAirframe,
) -> Result<BuiltScenario, FileError> {
    scenario_checks::check(file)
        .and_then(|()| scenario_checks::check_with_airframe(file, airframe))
        .and_then(|()| site::zones_of_file(&file.site, None).map(drop))
        .map_err(|problem| problem.without_file(&file.name, file))?;
    Ok(scenario(file, airframe))
}

/// Where a mount puts its motor; none where the carrier does not exist or the mount is incomplete.
pub(crate) fn mount_place(mount: &Mount, parts: &[PartMass]) -> Option<BuilderPoint> {
    let from = |station: Option<f64>, right: Option<f64>, up: Option<f64>| {
        Some(BuilderPoint::new(
            m_from_mm(station?),
            m_from_mm(right?),
            m_from_mm(up?),
        ))
    };
    let Some(carrier) = &mount.carried_by else {
        return from(mount.station_mm, mount.right_mm, mount.up_mm);
    };
    let carrier = parts.iter().find(|part| part.name == *carrier)?.centroid;
    let offset = from(
        mount.station_from_carrier_mm,
        mount.right_from_carrier_mm,
        mount.up_from_carrier_mm,
    )?;
    Some(BuilderPoint::new(
        carrier.station_m + offset.station_m,
        carrier.right_m + offset.right_m,
        carrier.up_m + offset.up_m,
    ))
}

/// Which side of the centre line a place is on.
pub(crate) fn side_of(place: &BuilderPoint) -> Side {
    Side::of(place.right_m)
}
