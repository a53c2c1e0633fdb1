//! `tossline balance`.

use crate::args::BalanceArguments;
use crate::exit::Outcome;
use crate::output::table::{number, of_texts};
use crate::output::{CAUTION, complain, drawing, files, print, print_json, warn};
use crate::plan;
use scenarios::balance::{Balance, BallastWish, Glide, balance};
use scenarios::build::drawn;
use scenarios::estimate::{Comparison, compare, estimate, with_estimate};
use scenarios::load::LoadedAirframe;
use sim_core::air::Air;
use sim_core::estimate::geometry::GeometryError;

/// Said on every page: nobody has measured a glider of this size against the model.
const NOT_VALIDATED: &str = "Not validated at this size: coefficients are the builder's or a handbook's, not measured on this aircraft.";

/// Works the balance of an airframe out, prints it and draws it.
pub fn run(arguments: &BalanceArguments) -> Outcome {
    let margin = arguments.margin_fraction;
    if !(-0.5..=1.0).contains(&margin) {
        return complain(
            &format!("--margin-fraction: found {margin}, wanted -0.5 to 1"),
            Outcome::BadInput,
        );
    }
    let station = arguments.ballast_station_mm;
    if !(-2000.0..=4000.0).contains(&station) {
        return complain(
            &format!("--ballast-station-mm: found {station}, wanted -2000 to 4000"),
            Outcome::BadInput,
        );
    }
    let airframe = match plan::airframe(&arguments.airframe, &arguments.overrides) {
        Ok(airframe) => airframe,
        Err(error) => return complain(&error, Outcome::BadInput),
    };
    airframe.warnings.iter().for_each(|warning| warn(warning));
    let wish = BallastWish {
        station_m: station * 1e-3,
        margin_fraction: margin,
    };
    let balance = balance(&airframe.built, &Air::calm(), &wish);
    let name = &airframe.file.name;
    let estimated = match estimated(arguments, &airframe, &balance) {
        Ok(estimated) => estimated,
        Err(error) => {
            return complain(
                &format!("{}: surfaces: {error}", airframe.file_name()),
                Outcome::BadInput,
            );
        }
    };
    if let Some(out) = &arguments.out {
        let things = drawn(&airframe.written_down);
        let picture = drawing::draw(name, &airframe.built, &things, &balance);
        let path = out.join(format!("{name}-balance.svg"));
        let with_estimate = estimated
            .as_ref()
            .map(|e| (out.join(format!("{name}-estimated.json")), &e.file));
        let written = files::prove_writable(out)
            .and_then(|()| files::write_whole(&path, picture.as_bytes()))
            .and_then(|()| match &with_estimate {
                Some((path, text)) => files::write_whole(path, text.as_bytes()),
                None => Ok(()),
            });
        if let Err(error) = written {
            return complain(&error, Outcome::CannotWrite);
        }
    }
    if arguments.json {
        return print_json(&serde_json::json!({
            "airframe": name,
            "tossline_version": env!("CARGO_PKG_VERSION"),
            "balance": balance,
            "estimate": estimated.as_ref().map(|e| &e.comparison),
            "validity": NOT_VALIDATED,
            "caution": CAUTION,
        }));
    }
    let mut text = super::inspect::mass_table(&airframe.built);
    text += &page(&balance, &wish);
    if let Some(estimated) = &estimated {
        text += &compared(&estimated.comparison);
    }
    if let Some(out) = &arguments.out {
        text += &format!("Drawn in {}/{name}-balance.svg\n", out.display());
        if estimated.is_some() {
            text += &format!(
                "An airframe file that flies on the estimate: {}/{name}-estimated.json\n",
                out.display()
            );
        }
    }
    print(&format!("{name}\n{text}{NOT_VALIDATED}\n{CAUTION}\n"))
}

/// The estimate of an airframe: beside its file, and as a file of its own.
struct Estimated {
    comparison: Comparison,
    file: String,
}

/// The estimate, where it is asked for: at the speed and incidence of the glide, or of the best glide.
fn estimated(
    arguments: &BalanceArguments,
    airframe: &LoadedAirframe,
    balance: &Balance,
) -> Result<Option<Estimated>, GeometryError> {
    let Some(glide) = balance
        .glide
        .or(balance.best_glide)
        .filter(|_| arguments.estimate)
    else {
        return Ok(None);
    };
    let (file, built, air) = (&airframe.written_down, &airframe.built, Air::calm());
    let (speed_m_s, alpha_rad) = (glide.airspeed_m_s, glide.alpha_deg.to_radians());
    let (estimate, converged) = estimate(file, &built.mass.balance, &air, speed_m_s, alpha_rad)?;
    Ok(Some(Estimated {
        comparison: compare(built, &estimate, converged),
        file: format!("{:#}\n", with_estimate(file, &estimate)),
    }))
}

/// Coefficients of the file and of the estimate, side by side.
fn compared(comparison: &Comparison) -> String {
    let rows: Vec<Vec<String>> = comparison
        .coefficients
        .iter()
        .map(|one| {
            vec![
                one.name.clone(),
                number(Some(one.in_file), 4),
                number(Some(one.estimated), 4),
                number(Some(one.one_sigma), 4),
                number(Some(one.apart_sigma), 1),
            ]
        })
        .collect();
    let mut text = of_texts(
        &[
            "coefficient",
            "in the file",
            "estimated",
            "one sigma",
            "apart\nsigma",
        ],
        &rows,
    );
    if !comparison.converged {
        text += "The lattice had not enough panels: take the estimate with more care.\n";
    }
    for note in &comparison.notes {
        text += &format!("estimate: {note}\n");
    }
    text
}

fn page(balance: &Balance, wish: &BallastWish) -> String {
    let mut text = format!(
        "Mark the balance point {:.1} mm aft of the nose datum; the neutral point is at {:.1} mm, the static margin {:.1} % of the chord.\n",
        balance.balance_station_mm,
        balance.neutral_point_station_mm,
        balance.static_margin_fraction * 100.0
    );
    if balance.static_margin_fraction <= 0.0 {
        text += "It balances behind its neutral point and will not glide: move weight forward.\n";
    }
    text += &match &balance.gliding_window_mm {
        Some(window) => format!(
            "It glides, as its edges are bent now, with the balance point from {:.1} to {:.1} mm{}.\n",
            window.from_mm,
            window.to_mm,
            if window.holds_balance {
                ""
            } else {
                "; the present point lies outside"
            }
        ),
        None => "As its edges are bent now it glides with no balance point.\n".to_owned(),
    };
    let row = |name: &str, glide: &Option<Glide>| {
        let of = |f: fn(&Glide) -> f64, decimals| number(glide.as_ref().map(f), decimals);
        vec![
            name.to_owned(),
            of(|g| g.airspeed_m_s, 2),
            of(|g| g.sink_m_s, 2),
            of(|g| g.glide_ratio, 1),
            of(|g| g.alpha_deg, 1),
            of(|g| g.lift_coefficient, 2),
            of(|g| g.reynolds_number, 0),
        ]
    };
    text += &of_texts(
        &[
            "",
            "airspeed\nm/s",
            "sink\nm/s",
            "glide\nratio",
            "incidence\ndeg",
            "lift\ncoefficient",
            "Reynolds\nnumber",
        ],
        &[
            row("as it is trimmed", &balance.glide),
            row("best glide", &balance.best_glide),
            row("least sink", &balance.least_sink),
        ],
    );
    text += "Best glide and least sink are the polar's, without the drag of propellers standing still.\n";
    if let Some(reason) = &balance.glide_not_found {
        text += &format!("As it is trimmed it does not glide steadily: {reason}\n");
    }
    text += &format!("Wing loading {:.1} g/dm².\n", balance.wing_loading_g_dm2);
    for bend in &balance.bends_to_best_glide {
        let change = bend.to_best_glide_deg - bend.setting_deg;
        text += &format!(
            "For best glide bend {} {:.1} deg {} (from {:.1} to {:.1} deg, trailing edge down positive).\n",
            bend.tab,
            change.abs(),
            if change < 0.0 { "up" } else { "down" },
            bend.setting_deg,
            bend.to_best_glide_deg
        );
    }
    text += &match &balance.ballast {
        Some(ballast) => format!(
            "{:.1} g at station {:.0} mm brings the margin to {:.0} %.\n",
            ballast.mass_g,
            ballast.station_mm,
            ballast.margin_fraction * 100.0
        ),
        None => format!(
            "No ballast at station {:.0} mm is needed for, or can reach, a margin of {:.0} %.\n",
            wish.station_m * 1e3,
            wish.margin_fraction * 100.0
        ),
    };
    text
}
