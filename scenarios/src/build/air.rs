//! The air of a scenario file to the field it is.

use crate::scenario_file::{Gust as GustFile, ScenarioFile, WindForm};
use crate::units::{k_from_celsius, pa_from_hpa, rad_from_deg};
use sim_core::air::atmosphere::Atmosphere;
use sim_core::air::gust::Gust;
use sim_core::air::profile::Profile;
use sim_core::air::turbulence::{DrydenScales, Turbulence, WIND_HEIGHT_M};
use sim_core::air::{Air, Gravity, wind_from};

/// Builds the air; `span_m` is that of the wing that feels its turbulence.
pub(super) fn air(file: &ScenarioFile, span_m: f64) -> Air<f64> {
    let air = &file.air;
    let mut built = Air {
        atmosphere: Atmosphere::of_day(
            k_from_celsius(air.temperature_c),
            pa_from_hpa(air.pressure_hpa),
        ),
        mean_wind: wind_from(
            air.wind.speed_m_s,
            rad_from_deg(air.wind.from_deg),
            air.wind.up_m_s,
        ),
        profile: profile(file),
        turbulence: None,
        gusts: air
            .gusts
            .iter()
            .map(|gust| gust_of(gust, file.launch.heading_deg))
            .collect(),
        gravity: Gravity::uniform(),
        ground_effect: f64::from(file.site.ground_effect),
        ground_height: file.site.ground_height_m,
    };
    built.turbulence = turbulence(file, &built, span_m);
    built
}

fn profile(file: &ScenarioFile) -> Option<Profile<f64>> {
    let given = file.air.wind.profile?;
    let profile = match (given.form, given.roughness_m, given.exponent) {
        (WindForm::Logarithmic, Some(roughness_m), _) => {
            Profile::logarithmic(roughness_m, given.speed_height_m?)
        }
        (WindForm::PowerLaw, _, Some(exponent)) => {
            Profile::power_law(exponent, given.speed_height_m?)
        }
        _ => return None,
    };
    let carried_at_m = given
        .carried_at_height_m
        .unwrap_or(file.launch.release_height_m);
    Some(profile.carried_at(carried_at_m))
}

fn turbulence(file: &ScenarioFile, air: &Air<f64>, span_m: f64) -> Option<Turbulence<f64>> {
    let given = file.air.turbulence?;
    let height_m = given.height_m.unwrap_or(file.launch.release_height_m);
    let wind_m_s = given
        .wind_at_20_ft_m_s
        .unwrap_or_else(|| air.mean_wind_at(WIND_HEIGHT_M).xy().norm());
    let standard = DrydenScales::low_altitude(height_m, wind_m_s);
    let scales = DrydenScales {
        horizontal_intensity_m_s: given
            .horizontal_intensity_m_s
            .unwrap_or(standard.horizontal_intensity_m_s),
        vertical_intensity_m_s: given
            .vertical_intensity_m_s
            .unwrap_or(standard.vertical_intensity_m_s),
        ..standard
    };
    Turbulence::from_seed(u64::from(given.seed), &scales, span_m)
}

fn gust_of(gust: &GustFile, launch_heading_deg: f64) -> Gust<f64> {
    let peak = wind_from(gust.speed_m_s, rad_from_deg(gust.from_deg), gust.up_m_s);
    match (gust.gust_start_s, gust.gust_duration_s) {
        (Some(start_s), Some(duration_s)) => Gust::in_time(peak, start_s, duration_s),
        _ => Gust::in_place(
            peak,
            rad_from_deg(gust.along_heading_deg.unwrap_or(launch_heading_deg)),
            gust.gust_start_m.expect("gusts are checked before a build"),
            gust.gust_length_m
                .expect("gusts are checked before a build"),
        ),
    }
}
