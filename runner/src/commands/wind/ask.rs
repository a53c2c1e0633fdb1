//! What `tossline wind` is asked: checked before anything flies.

use super::Rows;
use crate::args::WindArguments;
use crate::plan;
use scenarios::LoadedAirframe;
use scenarios::overrides::Override;
use scenarios::study::{LoadedStudy, load_study};
use scenarios::wind_limits::built_in::{
    Afternoon, GUST_FIELD, THROTTLE_FIELD, WIND_FIELD, airframe_of, study,
};
use sim_core::air::Air;
use sim_core::trim::{SteadyFlight, Trimmer};
use std::path::Path;

/// Everything read and checked.
pub(super) struct Asked {
    pub airframe: LoadedAirframe,
    pub glide: SteadyFlight,
    /// Rising.
    pub throttles: Vec<f64>,
    /// Rising.
    pub winds_m_s: Vec<f64>,
    pub studies: Vec<(Rows, LoadedStudy)>,
}

impl Asked {
    /// # Errors
    /// What is wrong, in a sentence.
    pub fn new(arguments: &WindArguments) -> Result<Self, String> {
        numbers(arguments)?;
        let said = |error: scenarios::FileError| error.to_string();
        let more = plan::parse(&arguments.overrides).map_err(said)?;
        let airframe = airframe_of(&arguments.airframe, &more).map_err(said)?;
        let mut throttles = rising(&arguments.throttle);
        if airframe.built.vehicle.motors.is_empty() {
            throttles = vec![0.0];
        }
        let conditions = airframe
            .built
            .trim_conditions(arguments.release_height_m, 1.0);
        let air = Air::calm();
        let glide = Trimmer::new(&airframe.built.vehicle, &air, conditions).glide();
        let glide = glide.map_err(|e| format!("{}: {e}", arguments.airframe.display()))?;
        let (winds_m_s, gusts_m_s) = (rising(&arguments.wind_m_s), rising(&arguments.gust_m_s));
        let studies = match &arguments.study {
            Some(file) => vec![brought(file, &airframe, &more)?],
            None => [(Rows::Wind, &winds_m_s), (Rows::Gust, &gusts_m_s)]
                .into_iter()
                .map(|(rows, speeds_m_s)| {
                    let afternoon = Afternoon {
                        rows,
                        speeds_m_s,
                        throttles: &throttles,
                        gust_fraction: arguments.gust_fraction,
                        throws: arguments.throws,
                        seed: arguments.seed,
                        confidence_fraction: arguments.confidence_fraction,
                        release_height_m: arguments.release_height_m,
                        time_s: arguments.time_s,
                        least_clearance_m: arguments.least_clearance_m,
                        glide_airspeed_m_s: glide.airspeed_m_s,
                        glide_alpha_deg: glide.alpha_rad.to_degrees(),
                        holds_heading: arguments.hold_heading,
                    };
                    Ok((rows, study(&arguments.airframe, &afternoon, &more)?))
                })
                .collect::<Result<_, _>>()
                .map_err(said)?,
        };
        Ok(Asked {
            airframe,
            glide,
            throttles,
            winds_m_s,
            studies,
        })
    }
}

/// A study of the user's, with its two axes.
fn brought(
    file: &Path,
    airframe: &LoadedAirframe,
    more: &[Override],
) -> Result<(Rows, LoadedStudy), String> {
    let study = load_study(file, more).map_err(|error| error.to_string())?;
    let flown = &study.base.airframe.file.name;
    if *flown != airframe.file.name {
        return Err(format!(
            "{}: base: found a scenario of the airframe \"{flown}\", wanted one of \"{}\"",
            file.display(),
            airframe.file.name
        ));
    }
    let fields: Vec<&str> = study.file.axes.iter().map(|a| a.field.as_str()).collect();
    let is_set = |i: usize| study.file.axes[i].change == scenarios::study::file::ChangeWord::Set;
    let rows = match fields[..] {
        [WIND_FIELD, THROTTLE_FIELD] => Some(Rows::Wind),
        [GUST_FIELD, THROTTLE_FIELD] => Some(Rows::Gust),
        _ => None,
    };
    match rows.filter(|_| is_set(0) && is_set(1)) {
        Some(rows) => Ok((rows, study)),
        None => Err(format!(
            "{}: axes: found {}, wanted {WIND_FIELD} or {GUST_FIELD}, then {THROTTLE_FIELD}, both set",
            file.display(),
            if fields.is_empty() {
                "none".to_owned()
            } else {
                fields.join(", ")
            }
        )),
    }
}

fn rising(values: &[f64]) -> Vec<f64> {
    let mut values = values.to_vec();
    values.sort_by(f64::total_cmp);
    values.dedup();
    values
}

/// # Errors
/// The first number typed that cannot be.
fn numbers(a: &WindArguments) -> Result<(), String> {
    let within = |name: &str, value: f64, least: f64, most: f64| {
        if (least..=most).contains(&value) {
            return Ok(());
        }
        Err(format!("--{name}: found {value}, wanted {least} to {most}"))
    };
    for &throttle in &a.throttle {
        within("throttle", throttle, 0.0, 1.0)?;
    }
    for &wind in &a.wind_m_s {
        within("wind-m-s", wind, 0.0, 30.0)?;
    }
    for &gust in &a.gust_m_s {
        within("gust-m-s", gust, 0.0, 30.0)?;
    }
    within("gust-fraction", a.gust_fraction, 0.0, 2.0)?;
    within("share-fraction", a.share_fraction, 0.01, 0.9999)?;
    within("confidence-fraction", a.confidence_fraction, 0.5, 0.9999)?;
    within("release-height-m", a.release_height_m, 0.1, 100.0)?;
    within("time-s", a.time_s, 0.5, 600.0)?;
    within("least-clearance-m", a.least_clearance_m, 0.0, 100.0)?;
    within("reserve-m-s", a.reserve_m_s, 0.0, 30.0)?;
    within("dive-angle-deg", a.dive_angle_deg, 1.0, 90.0)?;
    if let Some(airspeed) = a.dive_airspeed_m_s {
        within("dive-airspeed-m-s", airspeed, 0.1, 100.0)?;
    }
    within("dive-throttle", a.dive_throttle, 0.0, 1.0)
}
