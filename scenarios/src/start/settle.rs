//! Balancing and trimming the airframe by the balance page's own numbers.

use super::form::{self, Layout, PACK_FOREMOST_MM, Settled, tenths};
use super::{Measures, Motors, StartError, Started};
use crate::balance::{Balance, BallastWish, Glide, balance};
use crate::build::BuiltAirframe;
use crate::load::airframe_from_bytes;
use sim_core::air::Air;

/// Static margin of a small hand-launched glider with a tail, share of the chord. Common practice, no source.
const MARGIN_FRACTION: f64 = 0.1;
/// How far the margin may be off after rounding.
const MARGIN_GIVE: f64 = 0.006;
/// Lift coefficient of the glide over that of best glide.
const LIFT_SHARE: f64 = 0.9;
/// No more lift than at so much incidence short of stall, deg; for narrow wings, whose best glide is at the stall or beyond.
const SHORT_OF_STALL_DEG: f64 = 3.0;
/// Farthest the tailplane is bent, deg.
const FARTHEST_BEND_DEG: f64 = 30.0;
/// Aircraft lighter than this are balanced to a hundredth of a gram, g: a tenth would be a part of their margin.
const LIGHT_G: f64 = 6.0;
/// How far that may be off after rounding.
const LIFT_GIVE: f64 = 0.04;
/// Passes of balancing and trimming; each has to do with the estimate the one before has changed a little.
const PASSES: usize = 12;
/// Clay lighter than this is none, g.
const LEAST_CLAY_G: f64 = 0.1;
/// Middle of a lump in the nose, mm.
const CLAY_AHEAD_MM: f64 = 3.0;

/// Slides, weights and bends until the airframe balances and glides as promised.
pub(super) fn settle(measures: &Measures) -> Result<Started, StartError> {
    let layout = Layout::of(measures);
    // Begun too far ahead rather than too far aft: behind its neutral point there is no glide to estimate coefficients for.
    let module_g = if measures.motors == Motors::None {
        0.0
    } else {
        measures.module_mass_g
    };
    let clay_g = 0.35 * layout.foam_g(measures) - 0.5 * module_g;
    let mut settled = Settled {
        pack_station_mm: layout.wing_station,
        clay: (clay_g > 0.0).then_some((clay_g, CLAY_AHEAD_MM)),
        tailplane_deg: -2.0,
        motors_up_mm: 4.0,
    };
    let mut reason = String::new();
    for pass in 0..PASSES {
        let (text, built, now) = worked_out(measures, &settled)?;
        reason = match good(&now, &built) {
            Ok(()) if pass > 0 => return Ok(started(measures, &settled, text, now)),
            Ok(()) => String::new(),
            Err(reason) => reason,
        };
        settled = Settled {
            tailplane_deg: bent(&now, &built, settled.tailplane_deg),
            motors_up_mm: now.balance_up_mm.round(),
            ..balanced(measures, &layout, &settled, &now)
        };
    }
    Err(StartError::DoesNotGlide { reason })
}

/// The airframe's text, the airframe, its balance.
fn worked_out(
    measures: &Measures,
    settled: &Settled,
) -> Result<(String, BuiltAirframe, Balance), StartError> {
    let text = format!("{:#}\n", form::airframe(measures, settled));
    let loaded = airframe_from_bytes(
        &format!("{}.json", measures.name),
        text.clone().into_bytes(),
        &[],
    )
    .map_err(|error| match error.field.as_deref() {
        Some("name") => StartError::File(error),
        _ => StartError::NotEstimated {
            reason: error.to_string(),
        },
    })?;
    let wish = BallastWish {
        station_m: 0.0,
        margin_fraction: MARGIN_FRACTION,
    };
    let balance = balance(&loaded.built, &Air::calm(), &wish);
    Ok((text, loaded.built, balance))
}

/// Whether it balances and glides as promised; why not.
fn good(now: &Balance, built: &BuiltAirframe) -> Result<(), String> {
    let margin = now.static_margin_fraction;
    if (margin - MARGIN_FRACTION).abs() > MARGIN_GIVE {
        return Err(format!(
            "its static margin comes out at {:.1} % of the chord, wanted {:.0} %",
            margin * 100.0,
            MARGIN_FRACTION * 100.0
        ));
    }
    let glide = match (&now.glide, wanted_lift(now, built)) {
        (Some(glide), Some(lift)) if is_trimmed(glide, lift) => glide,
        (Some(_), _) => {
            return Err(format!(
                "its tailplane, bent up to {FARTHEST_BEND_DEG:.0} deg, cannot trim it short of the stall and a little faster than its best glide"
            ));
        }
        (None, _) => {
            let reason = now.glide_not_found.clone();
            return Err(reason.unwrap_or_else(|| "no steady glide".to_owned()));
        }
    };
    let to_stall_deg = built.vehicle.post_stall.alpha_stall.to_degrees() - glide.alpha_deg;
    if to_stall_deg < 1.5 {
        return Err(format!(
            "its glide is only {to_stall_deg:.1} deg from the stall"
        ));
    }
    Ok(())
}

/// Whether it glides at about the lift coefficient that is asked for.
fn is_trimmed(glide: &Glide, lift: f64) -> bool {
    (glide.lift_coefficient / lift - 1.0).abs() < LIFT_GIVE / LIFT_SHARE
}

/// Lift coefficient the glide is to have: a little faster than best glide, and short of the stall.
fn wanted_lift(now: &Balance, built: &BuiltAirframe) -> Option<f64> {
    let best = now.best_glide?.lift_coefficient;
    let table = &built.vehicle.coefficients;
    let settings = built.tabs.iter().map(|tab| tab.setting_rad);
    let highest_alpha = built.vehicle.post_stall.alpha_stall - SHORT_OF_STALL_DEG.to_radians();
    let highest = table.at(0.0, 0.0, settings).lift + table.lift_alpha * highest_alpha;
    Some((LIFT_SHARE * best).min(highest))
}

/// Pack and clay moved towards the margin asked for.
fn balanced(measures: &Measures, layout: &Layout, settled: &Settled, now: &Balance) -> Settled {
    let built_mm = now.balance_station_mm;
    // Margin is lever over chord; the neutral point stays where it is.
    let chord_mm = (now.neutral_point_station_mm - built_mm) / now.static_margin_fraction;
    let target_mm = now.neutral_point_station_mm - MARGIN_FRACTION * chord_mm;
    // Without the clay that is there.
    let (clay_g, clay_mm) = settled.clay.unwrap_or((0.0, 0.0));
    let mass_g = now.mass_g - clay_g;
    let moment_g_mm = now.mass_g * built_mm - clay_g * clay_mm;
    // Positive: the rest balances so much too far ahead.
    let missing_g_mm = mass_g * target_mm - moment_g_mm;
    let mut next = *settled;
    let mut left_g_mm = missing_g_mm;
    if measures.motors != Motors::None {
        let motors_share = if measures.motors == Motors::One {
            0.3
        } else {
            0.45
        };
        let pack_g = measures.module_mass_g - tenths(motors_share * measures.module_mass_g);
        let aftmost_mm = layout.wing_station + 0.5 * layout.mean_chord;
        let wanted_mm = settled.pack_station_mm + missing_g_mm / pack_g;
        next.pack_station_mm = tenths(wanted_mm.clamp(PACK_FOREMOST_MM, aftmost_mm));
        left_g_mm -= pack_g * (next.pack_station_mm - settled.pack_station_mm);
    }
    let station_mm = if left_g_mm < 0.0 {
        CLAY_AHEAD_MM
    } else {
        layout.stick_end - 3.0
    };
    let clay_g = left_g_mm / (station_mm - target_mm);
    let (clay_g, least_g) = match mass_g + clay_g < LIGHT_G {
        true => ((clay_g * 100.0).round() / 100.0 + 0.0, 0.1 * LEAST_CLAY_G),
        false => (tenths(clay_g), LEAST_CLAY_G),
    };
    next.clay = (clay_g >= least_g).then_some((clay_g, station_mm));
    next
}

/// The tailplane's angle that glides at the wanted lift: with d the bend, C_L the lift it is trimmed at, pitching moment balances at every
/// C_L where d' = −(C_mα/C_Lα + arm)/(C_mδ − C_mα C_Lδ/C_Lα) for each unit of lift more.
fn bent(now: &Balance, built: &BuiltAirframe, present_deg: f64) -> f64 {
    let table = &built.vehicle.coefficients;
    let (Some(wanted), Some(effect)) = (wanted_lift(now, built), table.tabs.first()) else {
        return present_deg;
    };
    let slope = table.pitch_alpha / table.lift_alpha;
    let per_lift =
        -(slope + table.reference.x / table.chord) / (effect.pitch - slope * effect.lift);
    let trimmed_at = match (now.glide, now.best_glide, now.bends_to_best_glide.first()) {
        (Some(glide), _, _) => glide.lift_coefficient,
        // It is not trimmed where it could glide; the page's bend says how far off it is.
        (None, Some(best), Some(bend)) => {
            let off_deg = bend.to_best_glide_deg - bend.setting_deg;
            best.lift_coefficient - off_deg.to_radians() / per_lift
        }
        _ => return present_deg,
    };
    let to_deg = present_deg + (per_lift * (wanted - trimmed_at)).to_degrees();
    tenths(to_deg.clamp(-FARTHEST_BEND_DEG, FARTHEST_BEND_DEG))
}

fn started(measures: &Measures, settled: &Settled, airframe: String, balance: Balance) -> Started {
    let name = format!("{}-test-glide", measures.name);
    let test_glide = match &balance.glide {
        Some(glide) => {
            let path_deg = -(1.0 / glide.glide_ratio).atan().to_degrees();
            form::test_glide(
                &name,
                &measures.name,
                glide.airspeed_m_s,
                path_deg,
                glide.alpha_deg,
            )
        }
        None => unreachable!("only what glides is good"),
    };
    Started {
        airframe,
        test_glide: format!("{test_glide:#}\n"),
        test_glide_name: name,
        pack_station_mm: (measures.motors != Motors::None).then_some(settled.pack_station_mm),
        clay: settled.clay,
        tailplane_deg: settled.tailplane_deg,
        balance,
    }
}
