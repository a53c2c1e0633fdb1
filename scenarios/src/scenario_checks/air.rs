//! Whether wind profile and turbulence make sense.

use super::Check;
use crate::check::{over_zero, within};
use crate::error::{Problem, number};
use crate::field::FieldPath;
use crate::scenario_file::{Air, Launch, ScenarioFile, Turbulence, WindForm, WindProfile};
use sim_core::air::profile::{POWER_LAW_FOOT_M, Profile};
use sim_core::air::turbulence::HIGHEST_STANDARD_HEIGHT_M;

/// Highest height a profile is asked for, m.
const HIGHEST_PROFILE_M: f64 = 2000.0;

pub(super) fn air(air: &Air, launch: &Launch, at: &FieldPath) -> Check {
    if let Some(given) = &air.wind.profile {
        profile(given, &at.key("wind").key("profile"))?;
    }
    match &air.turbulence {
        Some(given) => turbulence(given, launch, &at.key("turbulence")),
        None => Ok(()),
    }
}

fn profile(profile: &WindProfile, at: &FieldPath) -> Check {
    let uniform = profile.form == WindForm::Uniform;
    let logarithmic = profile.form == WindForm::Logarithmic;
    let power_law = profile.form == WindForm::PowerLaw;
    for (name, value, wanted_here, instead) in [
        (
            "roughness_m",
            profile.roughness_m,
            logarithmic,
            "a \"logarithmic\" profile",
        ),
        (
            "exponent",
            profile.exponent,
            power_law,
            "a \"power_law\" profile",
        ),
        (
            "speed_height_m",
            profile.speed_height_m,
            !uniform,
            "a profile that is not \"uniform\"",
        ),
    ] {
        match value {
            None if wanted_here => {
                return Err(Problem::new(at.key(name), "nothing", "a number"));
            }
            Some(value) if !wanted_here => {
                let wanted = format!("none but in {instead}");
                return Err(Problem::new(at.key(name), number(value), wanted));
            }
            _ => {}
        }
    }
    let mut foot_m = POWER_LAW_FOOT_M;
    if let Some(roughness_m) = profile.roughness_m {
        over_zero(at, "roughness_m", roughness_m)?;
        within(at, "roughness_m", roughness_m, 1e-5, 5.0)?;
        foot_m = Profile::logarithmic_foot_m(roughness_m);
    }
    if let Some(exponent) = profile.exponent {
        within(at, "exponent", exponent, 0.01, 1.0)?;
    }
    if let Some(height_m) = profile.speed_height_m {
        // Below its foot the law does not hold, so that no speed can be given there.
        if height_m < foot_m {
            let wanted = format!(
                "{} or more, where the profile begins",
                number((foot_m * 1e3).ceil() / 1e3)
            );
            return Err(Problem::new(
                at.key("speed_height_m"),
                number(height_m),
                wanted,
            ));
        }
        within(at, "speed_height_m", height_m, foot_m, HIGHEST_PROFILE_M)?;
    }
    match profile.carried_at_height_m {
        Some(height_m) if uniform => {
            let wanted = "none in a \"uniform\" profile, which carries alike at every height";
            Err(Problem::new(
                at.key("carried_at_height_m"),
                number(height_m),
                wanted,
            ))
        }
        Some(height_m) => {
            over_zero(at, "carried_at_height_m", height_m)?;
            within(at, "carried_at_height_m", height_m, 1e-3, HIGHEST_PROFILE_M)
        }
        None => Ok(()),
    }
}

fn turbulence(turbulence: &Turbulence, launch: &Launch, at: &FieldPath) -> Check {
    match turbulence.height_m {
        Some(height_m) => {
            over_zero(at, "height_m", height_m)?;
            within(at, "height_m", height_m, 1e-3, HIGHEST_STANDARD_HEIGHT_M)?;
        }
        None if launch.release_height_m > HIGHEST_STANDARD_HEIGHT_M => {
            let wanted = format!(
                "a number up to {}, since the release is higher than the low-altitude values reach",
                number(HIGHEST_STANDARD_HEIGHT_M)
            );
            return Err(Problem::new(at.key("height_m"), "nothing", wanted));
        }
        None => {}
    }
    let intensities = [
        (
            "horizontal_intensity_m_s",
            turbulence.horizontal_intensity_m_s,
        ),
        ("vertical_intensity_m_s", turbulence.vertical_intensity_m_s),
    ];
    for (i, (name, value)) in intensities.into_iter().enumerate() {
        let (other, beside) = intensities[1 - i];
        match value {
            Some(value) => within(at, name, value, 0.0, 20.0)?,
            None if beside.is_some() => {
                let wanted = format!("a number, beside \"{other}\"");
                return Err(Problem::new(at.key(name), "nothing", wanted));
            }
            None => {}
        }
    }
    match turbulence.wind_at_20_ft_m_s {
        Some(wind_m_s) if turbulence.vertical_intensity_m_s.is_some() => {
            let wanted = "none beside intensities, which it would set";
            Err(Problem::new(
                at.key("wind_at_20_ft_m_s"),
                number(wind_m_s),
                wanted,
            ))
        }
        Some(wind_m_s) => within(at, "wind_at_20_ft_m_s", wind_m_s, 0.0, 50.0),
        None => Ok(()),
    }
}

/// What is said where turbulence was asked for and there is none.
pub(super) fn no_turbulence(file: &ScenarioFile) -> Option<String> {
    let given = file.air.turbulence?;
    let wind_m_s = given.wind_at_20_ft_m_s.unwrap_or(file.air.wind.speed_m_s);
    (given.vertical_intensity_m_s.is_none() && wind_m_s == 0.0).then(|| {
        "without wind the standard has no turbulence; give \"wind_at_20_ft_m_s\" or intensities"
            .to_owned()
    })
}
