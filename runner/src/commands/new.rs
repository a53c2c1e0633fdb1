//! `tossline new`.

use crate::args::{MotorsKind, NewArguments};
use crate::exit::Outcome;
use crate::output::files::{prove_writable, write_new};
use crate::output::{CAUTION, complain, print};
use dialoguer::{Input, Select};
use scenarios::start::{Measures, Motors, Range, StartError, Started, start};
use std::io::IsTerminal;
use std::path::Path;

/// Why no measures came together.
enum NotAsked {
    /// There is nobody to ask: what is missing, a line each.
    Missing(Vec<String>),
    /// Whoever was asked broke off.
    BrokenOff,
}

/// Writes a starting airframe and its test glide.
pub fn run(arguments: &NewArguments) -> Outcome {
    let measures = match asked(arguments) {
        Ok(measures) => measures,
        Err(NotAsked::Missing(lines)) => {
            return complain(&lines.join("\nerror: "), Outcome::BadInput);
        }
        Err(NotAsked::BrokenOff) => {
            return complain(&"broken off; nothing written", Outcome::Stopped);
        }
    };
    let started = match start(&measures) {
        Ok(started) => started,
        Err(error) => return complain(&worded(&error), Outcome::BadInput),
    };
    let out = &arguments.out;
    let files = [
        (
            out.join(format!("{}.json", measures.name)),
            &started.airframe,
        ),
        (
            out.join(format!("{}.json", started.test_glide_name)),
            &started.test_glide,
        ),
    ];
    if let Some((there, _)) = files.iter().find(|(path, _)| path.exists()) {
        let text = format!(
            "{}: found a file, wanted none; it is not overwritten: take another name or folder",
            there.display()
        );
        return complain(&text, Outcome::BadInput);
    }
    let written = prove_writable(out).and_then(|()| {
        files
            .iter()
            .try_for_each(|(path, text)| write_new(path, text.as_bytes()))
    });
    match written {
        Ok(()) => print(&said(out, &measures, &started)),
        Err(error) => complain(&error, Outcome::CannotWrite),
    }
}

/// The measures typed, and those asked for at a terminal.
fn asked(arguments: &NewArguments) -> Result<Measures, NotAsked> {
    let terminal = std::io::stdin().is_terminal() && std::io::stderr().is_terminal();
    let mut missing = Vec::new();
    let mut number = |given: Option<f64>, name: &str, what: &str| -> Result<f64, NotAsked> {
        let range = Range::of(name);
        let wanted = format!("{} to {}", range.least, range.largest);
        match given {
            Some(value) => Ok(value),
            None if terminal => Input::<f64>::new()
                .with_prompt(format!("{what} ({wanted})"))
                .validate_with(|value: &f64| {
                    let fits = (range.least..=range.largest).contains(value);
                    if fits {
                        Ok(())
                    } else {
                        Err(format!("found {value}, wanted {wanted}"))
                    }
                })
                .interact_text()
                .map_err(|_| NotAsked::BrokenOff),
            None => {
                missing.push(format!(
                    "{}: found nothing, wanted {wanted}: {what}",
                    flag(name)
                ));
                Ok(f64::NAN)
            }
        }
    };
    let span_mm = number(
        arguments.span_mm,
        "span_mm",
        "span from tip to tip along the foam, mm",
    )?;
    let root_chord_mm = number(
        arguments.root_chord_mm,
        "root_chord_mm",
        "chord of the wing at the centre line, mm",
    )?;
    let tip_chord_mm = number(
        arguments.tip_chord_mm,
        "tip_chord_mm",
        "chord of the wing at the tip, mm",
    )?;
    let areal_density_g_m2 = number(
        arguments.areal_density_g_m2,
        "areal_density_g_m2",
        "mass of the foam sheet per area, g/m²: weigh a rectangle and divide by its area",
    )?;
    let motors = match arguments.motors {
        Some(MotorsKind::None) => Some(Motors::None),
        Some(MotorsKind::One) => Some(Motors::One),
        Some(MotorsKind::Two) => Some(Motors::Two),
        None if terminal => Some(motors_asked()?),
        None => None,
    };
    let module_mass_g = match motors {
        Some(Motors::None) => f64::NAN,
        _ => number(
            arguments.module_mass_g,
            "module_mass_g",
            "mass of the power module, cell, board, motors and propellers, g",
        )?,
    };
    if motors.is_none() {
        let at = missing
            .len()
            .saturating_sub(usize::from(arguments.module_mass_g.is_none()));
        missing.insert(
            at,
            "--motors: found nothing, wanted none, one or two".to_owned(),
        );
    }
    match motors {
        Some(motors) if missing.is_empty() => Ok(Measures {
            name: arguments.name.clone(),
            span_mm,
            root_chord_mm,
            tip_chord_mm,
            areal_density_g_m2,
            thickness_mm: arguments.thickness_mm,
            motors,
            module_mass_g,
            static_thrust_g: arguments.static_thrust_g,
        }),
        _ => Err(NotAsked::Missing(missing)),
    }
}

fn motors_asked() -> Result<Motors, NotAsked> {
    let kinds = [Motors::None, Motors::One, Motors::Two];
    Select::new()
        .with_prompt("motors")
        .items([
            "none: a glider without power",
            "one, at the nose",
            "two, on a bridge ahead of the wing",
        ])
        .default(2)
        .interact_opt()
        .ok()
        .flatten()
        .map(|chosen| kinds[chosen])
        .ok_or(NotAsked::BrokenOff)
}

/// The flag of a measure.
fn flag(name: &str) -> String {
    format!("--{}", name.replace('_', "-"))
}

/// An error with the measure's name as it is typed.
fn worded(error: &StartError) -> String {
    let text = error.to_string();
    match text.split_once(": ") {
        Some((name, rest))
            if name.ends_with("_mm") || name.ends_with("_g") || name.ends_with("_g_m2") =>
        {
            format!("{}: {rest}", flag(name))
        }
        _ => text,
    }
}

/// What was written, what it comes to, and what to do next.
fn said(out: &Path, measures: &Measures, started: &Started) -> String {
    let balance = &started.balance;
    let mut text = format!(
        "{}: {:.1} g, balance point {:.1} mm aft of the nose, static margin {:.1} % of the chord\n",
        measures.name,
        balance.mass_g,
        balance.balance_station_mm,
        balance.static_margin_fraction * 100.0
    );
    if let Some(station) = started.pack_station_mm {
        text += &format!("the pack's middle is {station:.1} mm aft of the nose\n");
    }
    if let Some((mass_g, station_mm)) = started.clay {
        text += &format!("{mass_g} g of clay {station_mm:.0} mm aft of the nose\n");
    }
    if let Some(glide) = &balance.glide {
        text += &format!(
            "tailplane bent {:.1} deg (minus: trailing edge up); it glides at {:.1} m/s, {:.1} m for each metre of height\n",
            started.tailplane_deg, glide.airspeed_m_s, glide.glide_ratio
        );
    }
    let shown = |name: &str| out.join(format!("{name}.json")).display().to_string();
    let (airframe, throw) = (shown(&measures.name), shown(&started.test_glide_name));
    text + &format!(
        "Laid out by rules of thumb and estimated, not measured: replace its numbers by your own; the notes in the file say how.\n\
Written: {airframe}, {throw}. Next:\n  tossline balance {airframe} --out out\n  tossline fly {throw} --out out\n{CAUTION}\n"
    )
}
