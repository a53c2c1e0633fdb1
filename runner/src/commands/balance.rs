//! `tossline balance`.

mod page;

use crate::args::BalanceArguments;
use crate::exit::Outcome;
use crate::output::{CAUTION, complain, drawing, files, print, print_json, warn};
use crate::plan;
use page::{Page, compared};
use scenarios::airframe_file::Origin;
use scenarios::balance::{Balance, BallastWish, balance, doubt, mark, trailing_edges};
use scenarios::build::drawn;
use scenarios::estimate::{Comparison, compare, estimate, with_estimate};
use scenarios::load::LoadedAirframe;
use sim_core::air::Air;
use sim_core::estimate::geometry::GeometryError;

/// Said on every page: nobody has measured a glider of this size against the model.
pub const NOT_VALIDATED: &str = "Not validated at this size: coefficients are the builder's, a handbook's or estimated, not measured on this aircraft.";

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
    airframe.warnings().iter().for_each(|warning| warn(warning));
    let wish = BallastWish {
        station_m: station * 1e-3,
        margin_fraction: margin,
    };
    let balance = balance(&airframe.built, &Air::calm(), &wish);
    let page = Page {
        doubt: doubt(&airframe.written_down, &airframe.built, &Air::calm()),
        mark: mark(&airframe.written_down, &balance),
        edges: trailing_edges(&airframe.written_down, &balance),
        balance: &balance,
        wish: &wish,
    };
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
    let asked_for = estimated.as_ref().filter(|_| arguments.estimate);
    if let Some(out) = &arguments.out {
        let things = drawn(&airframe.written_down);
        let picture = drawing::draw(name, &airframe.built, &things, &balance);
        let path = out.join(format!("{name}-balance.svg"));
        let with_estimate =
            asked_for.map(|e| (out.join(format!("{name}-estimated.json")), &e.file));
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
            "one_sigma": page.doubt,
            "mark": page.mark,
            "trailing_edges": page.edges,
            "estimate": asked_for.map(|e| &e.comparison),
            "estimate_notes": estimated.as_ref().map(|e| &e.comparison.notes),
            "validity": NOT_VALIDATED,
            "caution": CAUTION,
        }));
    }
    let mut text = super::inspect::mass_table(&airframe.built);
    text += &page.text();
    if let Some(estimated) = &estimated {
        text += &compared(&estimated.comparison, arguments.estimate);
    }
    if let Some(out) = &arguments.out {
        text += &format!("Drawn in {}/{name}-balance.svg\n", out.display());
        if asked_for.is_some() {
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

/// Whether the file's lift slope is an estimate, which then has something to say about itself.
fn is_estimated(airframe: &LoadedAirframe) -> bool {
    airframe.file.coefficients.lift_alpha_per_rad.origin == Origin::Estimate
}

/// The estimate, where it is asked for or the file's numbers are one: at the speed and incidence of the glide, or of the best glide.
fn estimated(
    arguments: &BalanceArguments,
    airframe: &LoadedAirframe,
    balance: &Balance,
) -> Result<Option<Estimated>, GeometryError> {
    let Some(glide) = balance
        .glide
        .or(balance.best_glide)
        .filter(|_| arguments.estimate || is_estimated(airframe))
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
