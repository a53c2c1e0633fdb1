//! Checks of slew limits, holding pilot and power cut.

use super::{Check, LONGEST_FLIGHT_S, times_rise};
use crate::build::BuiltAirframe;
use crate::check::{over_zero, within, zero_or_time};
use crate::error::{Problem, number};
use crate::field::FieldPath;
use crate::scenario_file::{HeadingHold, Hold, Pilot, ScenarioFile};

/// Most looks of one controller in one flight: each is a cut, and all are kept.
const MOST_SAMPLES: f64 = 2e5;
/// Fastest slew limit: full throttle, or a radian, in a tenth of a millisecond; faster is none.
const FASTEST_1_S: f64 = 1e4;

pub(super) fn controls(pilot: &Pilot, at: &FieldPath) -> Check {
    if let Some(slew) = &pilot.slew {
        let at = at.key("slew");
        if let Some(rate) = slew.throttle_largest_rate_fraction_s {
            within(
                &at,
                "throttle_largest_rate_fraction_s",
                rate,
                1e-3,
                FASTEST_1_S,
            )?;
        }
        if let Some(rate) = slew.tabs_largest_rate_deg_s {
            let fastest_deg_s = FASTEST_1_S.to_degrees().floor();
            within(&at, "tabs_largest_rate_deg_s", rate, 1e-2, fastest_deg_s)?;
        }
    }
    if let Some(given) = &pilot.hold {
        hold(given, &at.key("hold"))?;
    }
    if let Some(cut) = &pilot.power_cut {
        let at = at.key("power_cut");
        zero_or_time(&at, "at_s", cut.at_s)?;
        within(&at, "at_s", cut.at_s, 0.0, LONGEST_FLIGHT_S)?;
    }
    Ok(())
}

fn hold(hold: &Hold, at: &FieldPath) -> Check {
    within(at, "sample_time_s", hold.sample_time_s, 1e-3, 10.0)?;
    within(at, "delay_s", hold.delay_s, 0.0, 10.0)?;
    if hold.height.is_some() && hold.climb.is_some() {
        let found = "a height and a climb";
        return Err(Problem::new(at.clone(), found, "\"height\" or \"climb\""));
    }
    if let Some(given) = &hold.heading {
        heading(given, &at.key("heading"))?;
    }
    if let Some(given) = &hold.height {
        let at = at.key("height");
        within(&at, "at_release_m", given.at_release_m, 0.0, 2000.0)?;
        let changes = at.key("changes");
        times_rise(&changes, given.changes.iter().map(|c| (c.time_s, c.ramp_s)))?;
        for (k, change) in given.changes.iter().enumerate() {
            within(&changes.index(k), "to_m", change.to_m, 0.0, 2000.0)?;
        }
        within(
            &at,
            "climb_per_height_1_s",
            given.climb_per_height_1_s,
            0.0,
            100.0,
        )?;
        over_zero(&at, "largest_climb_m_s", given.largest_climb_m_s)?;
        climb_gain(&at, given.gain_fraction_s_m, given.largest_fraction)?;
    }
    if let Some(given) = &hold.climb {
        let at = at.key("climb");
        within(&at, "at_release_m_s", given.at_release_m_s, -50.0, 50.0)?;
        let changes = at.key("changes");
        times_rise(&changes, given.changes.iter().map(|c| (c.time_s, c.ramp_s)))?;
        for (k, change) in given.changes.iter().enumerate() {
            within(&changes.index(k), "to_m_s", change.to_m_s, -50.0, 50.0)?;
        }
        climb_gain(&at, given.gain_fraction_s_m, given.largest_fraction)?;
    }
    Ok(())
}

fn heading(hold: &HeadingHold, at: &FieldPath) -> Check {
    super::heading(at, "at_release_deg", hold.at_release_deg)?;
    let changes = at.key("changes");
    times_rise(&changes, hold.changes.iter().map(|c| (c.time_s, c.ramp_s)))?;
    for (k, change) in hold.changes.iter().enumerate() {
        // More than a turn, so that several turns the same way can be planned.
        within(
            &changes.index(k),
            "to_deg",
            change.to_deg,
            -36_000.0,
            36_000.0,
        )?;
    }
    within(at, "bank_per_heading", hold.bank_per_heading, 0.0, 100.0)?;
    within(at, "largest_bank_deg", hold.largest_bank_deg, 0.0, 90.0)?;
    within(at, "gain_fraction_deg", hold.gain_fraction_deg, -1.0, 1.0)?;
    within(at, "largest_fraction", hold.largest_fraction, 0.0, 1.0)
}

fn climb_gain(at: &FieldPath, gain_fraction_s_m: f64, largest_fraction: f64) -> Check {
    within(at, "gain_fraction_s_m", gain_fraction_s_m, -100.0, 100.0)?;
    within(at, "largest_fraction", largest_fraction, 0.0, 1.0)
}

/// What these ask of the airframe.
pub(super) fn with_airframe(
    file: &ScenarioFile,
    airframe: &BuiltAirframe,
    at: &FieldPath,
) -> Check {
    let hold = file.pilot.hold.as_ref();
    let steered = airframe.steering_shares.iter().any(|&share| share != 0.0);
    if hold.is_some_and(|hold| hold.heading.is_some()) && !steered {
        let wanted =
            "none, since the airframe does not have one motor on each side of the centre line";
        let at = at.key("hold").key("heading");
        return Err(Problem::new(at, "a heading to hold", wanted));
    }
    let limit_s = file.end.time_limit_s;
    let too_many = |sample_time_s: f64| limit_s / sample_time_s > MOST_SAMPLES;
    let slower = || {
        format!(
            "{} or more, so that a flight of {} s has at most {} samples",
            number(limit_s / MOST_SAMPLES),
            number(limit_s),
            number(MOST_SAMPLES)
        )
    };
    if let Some(hold) = hold.filter(|hold| too_many(hold.sample_time_s)) {
        let at = at.key("hold").key("sample_time_s");
        return Err(Problem::new(at, number(hold.sample_time_s), slower()));
    }
    let damper = airframe.module.damper.as_ref().filter(|one| one.is_on());
    if let Some(damper) = damper.filter(|damper| too_many(damper.sample_time_s)) {
        let found = number(limit_s);
        let wanted = format!(
            "{} or less, since the airframe's damper samples every {} s",
            number(MOST_SAMPLES * damper.sample_time_s),
            number(damper.sample_time_s)
        );
        let at = FieldPath::default().key("end").key("time_limit_s");
        return Err(Problem::new(at, found, wanted));
    }
    Ok(())
}

/// What is allowed and still worth saying.
pub(super) fn warnings(
    file: &ScenarioFile,
    airframe: &BuiltAirframe,
    at: &FieldPath,
) -> Vec<(FieldPath, String)> {
    let mut list = Vec::new();
    let throttle_held = |hold: &Hold| hold.height.is_some() || hold.climb.is_some();
    if file.pilot.hold.as_ref().is_some_and(throttle_held) && airframe.motors.is_empty() {
        let text = "the airframe has no motor; holding by the throttle does nothing";
        list.push((at.key("hold"), text.to_owned()));
    }
    if let Some(cut) = file
        .pilot
        .power_cut
        .filter(|cut| cut.at_s >= file.end.time_limit_s)
    {
        let text = format!(
            "the power goes at {} s, after the time limit",
            number(cut.at_s)
        );
        list.push((at.key("power_cut").key("at_s"), text));
    }
    list
}
