//! `tossline trim`.

use super::hall::HallFit;
use crate::args::TrimArguments;
use crate::exit::Outcome;
use crate::output::table::{number, of_texts};
use crate::output::{CAUTION, complain, print, print_json, warn};
use crate::plan;
use scenarios::load::{LoadedAirframe, LoadedScenario, load_scenario};
use serde::Serialize;
use sim_core::air::Air;
use sim_core::error::TrimError;
use sim_core::modes::{Mode, linearise};
use sim_core::record::COULOMB_PER_MILLIAMPERE_HOUR;
use sim_core::trim::endurance::Endurance;
use sim_core::trim::{SteadyFlight, Trimmer};

/// Throttles looked at where none are given.
const LADDER: [f64; 10] = [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0];

/// One steady flight, in people's units.
#[derive(Debug, Serialize)]
struct Steady {
    flight: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    not_found: Option<String>,
    throttle_fraction: Option<f64>,
    left_minus_right_fraction: Option<f64>,
    airspeed_m_s: Option<f64>,
    alpha_deg: Option<f64>,
    stall_margin_deg: Option<f64>,
    beta_deg: Option<f64>,
    bank_deg: Option<f64>,
    pitch_deg: Option<f64>,
    path_angle_deg: Option<f64>,
    climb_m_s: Option<f64>,
    glide_ratio: Option<f64>,
    turn_radius_m: Option<f64>,
    height_change_per_turn_m: Option<f64>,
    throttle_left_fraction: Option<f64>,
    #[serde(rename = "thrust_N")]
    thrust_n: Option<f64>,
    #[serde(rename = "cell_current_A")]
    cell_current_a: Option<f64>,
    /// How long the cell lasts in this flight from the charge asked for; heat is left out.
    endurance_min: Option<f64>,
    /// What ends it: cut_off, empty, not_enough_power, no_steady_flight or never.
    endurance_ended_by: Option<&'static str>,
    #[serde(rename = "endurance_charge_used_mAh")]
    endurance_charge_used_mah: Option<f64>,
}

/// One mode, in people's units.
#[derive(Debug, Serialize)]
struct NamedMode {
    about: String,
    name: &'static str,
    growth_1_s: f64,
    damped_frequency_rad_s: f64,
    natural_frequency_rad_s: Option<f64>,
    damping_ratio: Option<f64>,
    period_s: Option<f64>,
    time_to_half_s: Option<f64>,
    time_to_double_s: Option<f64>,
}

/// Steady flights of an airframe and the modes of small motions about them.
#[derive(Debug, Serialize)]
pub struct Report {
    airframe: String,
    tossline_version: &'static str,
    steady: Vec<Steady>,
    modes: Vec<NamedMode>,
    #[serde(skip_serializing_if = "Option::is_none")]
    hall: Option<HallFit>,
    caution: &'static str,
}

/// Which steady flights are asked for.
#[derive(Clone, Debug)]
pub struct Ask {
    /// Throttles, 0 to 1; none for a ladder of ten.
    pub throttle: Vec<f64>,
    /// Left-minus-right throttle difference of the turns, −1 to 1.
    pub left_minus_right: f64,
    /// Height over the ground, m.
    pub height_m: f64,
    /// Charge left in the cell, 0 to 1.
    pub charge_fraction: f64,
}

/// Finds the steady flights of an airframe and prints them with the modes of glide and level flight.
pub fn run(arguments: &TrimArguments) -> Outcome {
    let ask = Ask {
        throttle: arguments.throttle.clone(),
        left_minus_right: arguments.left_minus_right,
        height_m: arguments.height_m,
        charge_fraction: arguments.charge_fraction,
    };
    if let Some((name, text)) = ask.fault() {
        let flag = name.replace('_', "-");
        return complain(&format!("--{flag}: {text}"), Outcome::BadInput);
    }
    let airframe = match plan::airframe(&arguments.airframe, &arguments.overrides) {
        Ok(airframe) => airframe,
        Err(error) => return complain(&error, Outcome::BadInput),
    };
    airframe.warnings().iter().for_each(|warning| warn(warning));
    let site = arguments.site.as_ref();
    let site = match site.map(load_scenario).transpose() {
        Ok(site) => site,
        Err(error) => return complain(&error, Outcome::BadInput),
    };
    if let Some(site) = site.as_ref().filter(|s| s.built.throw.site.hall.is_none()) {
        let text = format!(
            "{}: site.hall: found nothing, wanted a hall, for --site",
            site.path.display()
        );
        return complain(&text, Outcome::BadInput);
    }
    if airframe.built.vehicle.motors.is_empty() && !ask.throttle.is_empty() {
        warn(&"the airframe has no motor; --throttle does nothing");
    }
    let report = report(&airframe, &ask, site.as_ref());
    if arguments.json {
        print_json(&report)
    } else {
        print(&text(&report))
    }
}

/// Finds the steady flights asked for, and whether their turns fit the hall of a scenario.
pub fn report(airframe: &LoadedAirframe, ask: &Ask, site: Option<&LoadedScenario>) -> Report {
    let built = &airframe.built;
    let trimmer = Trimmer::new(
        &built.vehicle,
        &Air::calm(),
        built.trim_conditions(ask.height_m, ask.charge_fraction),
    );

    let mut found: Vec<(String, Result<SteadyFlight, TrimError>)> =
        vec![("glide".into(), trimmer.glide())];
    if !built.vehicle.motors.is_empty() {
        let mut throttles = if ask.throttle.is_empty() {
            LADDER.to_vec()
        } else {
            ask.throttle.clone()
        };
        throttles.sort_by(f64::total_cmp);
        let mut curve = trimmer.power_curve(&throttles);
        // The curve ends with its first failure; what lies beyond has not been reached for the same reason.
        if let Some(Err(error)) = curve.last() {
            let error = error.clone();
            curve.resize_with(throttles.len(), || Err(error.clone()));
        }
        found.extend(
            throttles
                .iter()
                .zip(curve)
                .map(|(throttle, steady)| (format!("throttle {throttle}"), steady)),
        );
        found.push(("level".into(), trimmer.level()));
        if built.steering_shares.iter().any(|&share| share != 0.0) {
            let difference = ask.left_minus_right;
            found.push((
                format!("level turn, left minus right {difference}"),
                trimmer.level_turn(difference),
            ));
            found.extend(ask.throttle.iter().map(|&throttle| {
                (
                    format!("turn at throttle {throttle}, left minus right {difference}"),
                    trimmer.turn(throttle, difference),
                )
            }));
        }
    }
    let modes = found
        .iter()
        .filter(|(name, _)| name == "glide" || name == "level")
        .filter_map(|(name, steady)| Some((name, steady.as_ref().ok()?)))
        .flat_map(|(name, steady)| {
            linearise(
                &built.vehicle,
                trimmer.air(),
                &steady.segment,
                &steady.state,
            )
            .modes()
            .into_iter()
            .map(|mode| named(name, &mode))
            .collect::<Vec<_>>()
        })
        .collect();
    let turns = found
        .iter()
        .filter_map(|(name, steady)| Some((name.as_str(), steady.as_ref().ok()?)));
    let hall = match site {
        Some(site) => HallFit::new(site, &built.vehicle, turns),
        None => None,
    };
    Report {
        hall,
        airframe: airframe.file.name.clone(),
        tossline_version: env!("CARGO_PKG_VERSION"),
        steady: found
            .into_iter()
            .map(|(name, steady)| {
                let endurance = lasts(&trimmer, &name, &steady, built.module.cut_off_voltage_v);
                described(&trimmer, name, steady, endurance)
            })
            .collect(),
        modes,
        caution: CAUTION,
    }
}

impl Ask {
    /// What is wrong with a number asked for, if anything: which, and why.
    pub fn fault(&self) -> Option<(&'static str, String)> {
        let unit = |x: f64| (0.0..=1.0).contains(&x);
        if let Some(throttle) = self.throttle.iter().find(|t| !unit(**t)) {
            return Some(("throttle", format!("found {throttle}, wanted 0 to 1")));
        }
        if !(-1.0..=1.0).contains(&self.left_minus_right) {
            let found = self.left_minus_right;
            return Some(("left_minus_right", format!("found {found}, wanted -1 to 1")));
        }
        if !(self.charge_fraction > 0.0 && self.charge_fraction <= 1.0) {
            let found = self.charge_fraction;
            let text = format!("found {found}, wanted more than 0, up to 1");
            return Some(("charge_fraction", text));
        }
        if !(-100.0..=2000.0).contains(&self.height_m) {
            let found = self.height_m;
            return Some(("height_m", format!("found {found}, wanted -100 to 2000")));
        }
        None
    }
}

/// How long the cell lasts in straight flight under power.
fn lasts(
    trimmer: &Trimmer<'_>,
    name: &str,
    steady: &Result<SteadyFlight, TrimError>,
    cut_off_voltage_v: Option<f64>,
) -> Option<Endurance> {
    let steady = steady.as_ref().ok()?;
    if name == "level" {
        Some(trimmer.endurance_in_level_flight(steady, cut_off_voltage_v))
    } else if name.starts_with("throttle ") {
        Some(trimmer.endurance_at_throttle(steady, cut_off_voltage_v))
    } else {
        None
    }
}

fn described(
    trimmer: &Trimmer<'_>,
    flight: String,
    steady: Result<SteadyFlight, TrimError>,
    endurance: Option<Endurance>,
) -> Steady {
    let found = steady.as_ref().ok();
    let evaluation = found.map(|s| trimmer.evaluation(s));
    let of = |f: fn(&SteadyFlight) -> f64| found.map(f);
    Steady {
        flight,
        not_found: steady.as_ref().err().map(ToString::to_string),
        throttle_fraction: of(|s| s.throttle_fraction),
        left_minus_right_fraction: of(|s| s.left_minus_right_fraction),
        airspeed_m_s: of(|s| s.airspeed_m_s),
        alpha_deg: of(|s| s.alpha_rad.to_degrees()),
        stall_margin_deg: of(|s| s.stall_margin_rad.to_degrees()),
        beta_deg: of(|s| s.beta_rad.to_degrees()),
        bank_deg: of(|s| s.bank_rad.to_degrees()),
        pitch_deg: of(|s| s.pitch_rad.to_degrees()),
        path_angle_deg: of(|s| s.path_angle_rad.to_degrees()),
        climb_m_s: of(|s| s.climb_m_s),
        glide_ratio: found.and_then(SteadyFlight::glide_ratio),
        turn_radius_m: found.and_then(SteadyFlight::turn_radius_m),
        height_change_per_turn_m: found.and_then(SteadyFlight::height_change_per_turn_m),
        throttle_left_fraction: of(|s| 1.0 - s.throttle_fraction),
        thrust_n: evaluation.map(|e| e.motors.iter().map(|m| m.thrust).sum()),
        cell_current_a: evaluation.map(|e| e.rate.charge),
        endurance_min: endurance
            .map(|endurance| endurance.time_s / 60.0)
            .filter(|minutes| minutes.is_finite()),
        endurance_ended_by: endurance.map(|endurance| endurance.ended_by.word()),
        endurance_charge_used_mah: endurance
            .map(|endurance| endurance.charge_used_c / COULOMB_PER_MILLIAMPERE_HOUR),
    }
}

fn named(about: &str, mode: &Mode) -> NamedMode {
    NamedMode {
        about: about.to_owned(),
        name: mode.name,
        growth_1_s: mode.growth_1_s,
        damped_frequency_rad_s: mode.damped_frequency_rad_s,
        natural_frequency_rad_s: mode.natural_frequency_rad_s(),
        damping_ratio: mode.damping_ratio(),
        period_s: mode.period_s(),
        time_to_half_s: mode.time_to_half_s(),
        time_to_double_s: mode.time_to_double_s(),
    }
}

fn text(report: &Report) -> String {
    let rows: Vec<Vec<String>> = report
        .steady
        .iter()
        .filter(|s| s.not_found.is_none())
        .map(|s| {
            vec![
                s.flight.clone(),
                number(s.throttle_fraction, 3),
                number(s.airspeed_m_s, 2),
                number(s.alpha_deg, 1),
                number(s.stall_margin_deg, 1),
                number(s.path_angle_deg, 1),
                number(s.climb_m_s, 2),
                number(s.glide_ratio, 1),
                number(s.bank_deg, 1),
                number(s.turn_radius_m, 1),
                number(s.height_change_per_turn_m, 1),
                number(s.throttle_left_fraction, 2),
                number(s.thrust_n, 3),
                number(s.cell_current_a, 2),
                number(s.endurance_min, 1),
                s.endurance_ended_by.unwrap_or("–").replace('_', " "),
            ]
        })
        .collect();
    let heads = [
        "steady flight",
        "throttle",
        "airspeed\nm/s",
        "incidence\ndeg",
        "to stall\ndeg",
        "path\ndeg",
        "climb\nm/s",
        "glide\nratio",
        "bank\ndeg",
        "radius\nm",
        "a turn\nm",
        "throttle\nleft",
        "thrust\nN",
        "cell\nA",
        "lasts\nmin",
        "until",
    ];
    let mut text = format!("{}\n{}", report.airframe, of_texts(&heads, &rows));
    text += "a turn: height gained in one turn.\n";
    if report.steady.iter().any(|s| s.endurance_ended_by.is_some()) {
        text += "lasts: from the charge asked for, in that flight, until the driver cuts the motors off (its cut_off_voltage_V), the cell is empty or level flight\n\
takes more than full throttle. Heat is left out: a small motor or cell may not stand full throttle that long.\n";
    }
    for s in &report.steady {
        if let (Some(difference), Some(bank)) = (s.left_minus_right_fraction, s.bank_deg)
            && difference * bank < 0.0
        {
            text += &format!(
                "{}: the steady turn goes against the difference: its spiral grows by itself, so a turn has to be held back\n",
                s.flight
            );
        }
        if s.stall_margin_deg.is_some_and(|margin| margin < 0.0) {
            text += &format!("{}: beyond stall: it falls, it does not fly\n", s.flight);
        }
        if let Some(reason) = &s.not_found {
            text += &format!("{}: {reason}\n", s.flight);
        }
    }
    let rows: Vec<Vec<String>> = report
        .modes
        .iter()
        .map(|m| {
            vec![
                m.about.clone(),
                m.name.to_owned(),
                number(m.natural_frequency_rad_s, 2),
                number(m.damping_ratio, 3),
                number(m.period_s, 2),
                number(m.time_to_half_s, 2),
                number(m.time_to_double_s, 2),
            ]
        })
        .collect();
    let heads = [
        "about",
        "mode",
        "natural\nrad/s",
        "damping\nratio",
        "period\ns",
        "half in\ns",
        "double in\ns",
    ];
    text += &of_texts(&heads, &rows);
    if let Some(hall) = &report.hall {
        text += &hall.text();
    }
    text + CAUTION + "\n"
}
