//! An estimate as entries of an airframe file.

use crate::airframe_file::{AirframeFile, Coefficient, Origin, Stall};
use crate::digits::to_digits;
use crate::shape::LARGEST;
use serde_json::{Value, json};
use sim_core::aero::coefficients::{Coefficients, TabEffect};
use sim_core::estimate::assemble::Estimate;

/// A coefficient's name in the file, and how to read it from a table.
pub(super) type Named = (&'static str, fn(&Coefficients<f64>) -> f64);

pub(super) const NAMED: [Named; 23] = [
    ("lift_zero", |c| c.lift_zero),
    ("lift_alpha_per_rad", |c| c.lift_alpha),
    ("lift_q_per_rad", |c| c.lift_q),
    ("lift_alpha_rate_per_rad", |c| c.lift_alpha_rate),
    ("drag_min", |c| c.drag_min),
    ("drag_factor", |c| c.drag_factor),
    ("lift_at_min_drag", |c| c.lift_at_min_drag),
    ("pitch_zero", |c| c.pitch_zero),
    ("pitch_alpha_per_rad", |c| c.pitch_alpha),
    ("pitch_q_per_rad", |c| c.pitch_q),
    ("pitch_alpha_rate_per_rad", |c| c.pitch_alpha_rate),
    ("side_zero", |c| c.side_zero),
    ("side_beta_per_rad", |c| c.side_beta),
    ("side_p_per_rad", |c| c.side_p),
    ("side_r_per_rad", |c| c.side_r),
    ("roll_zero", |c| c.roll_zero),
    ("roll_beta_per_rad", |c| c.roll_beta),
    ("roll_p_per_rad", |c| c.roll_p),
    ("roll_r_per_rad", |c| c.roll_r),
    ("yaw_zero", |c| c.yaw_zero),
    ("yaw_beta_per_rad", |c| c.yaw_beta),
    ("yaw_p_per_rad", |c| c.yaw_p),
    ("yaw_r_per_rad", |c| c.yaw_r),
];

/// A tab's effect's name in the file, and how to read it.
type TabNamed = (&'static str, fn(&TabEffect<f64>) -> f64);

const TAB_NAMED: [TabNamed; 6] = [
    ("lift_per_rad", |t| t.lift),
    ("drag_per_rad2", |t| t.drag),
    ("pitch_per_rad", |t| t.pitch),
    ("side_per_rad", |t| t.side),
    ("roll_per_rad", |t| t.roll),
    ("yaw_per_rad", |t| t.yaw),
];

/// Which entries of a table an estimate takes the place of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Missing {
    /// Those the file leaves out.
    Only,
    /// All of them.
    AndGiven,
}

/// The airframe file with the estimate in place of its coefficients and stall angles, as JSON; each entry with its origin and one sigma. Tabs
/// that no surface's bend belongs to keep what they have. Outlines must be written down, so that the file stands alone.
pub fn with_estimate(file: &AirframeFile, estimate: &Estimate) -> Value {
    let mut json = json!(file);
    write_into(&mut json, file, estimate, Missing::AndGiven);
    json["name"] = json!(format!("{}-estimated", file.name));
    json
}

/// A coefficient of a file: which of the table's, or which effect of which tab.
#[derive(Clone, Copy, Debug)]
enum Which {
    Table(usize),
    Tab(usize, usize),
}

/// What an estimate of `file` takes the place of, entry by entry.
fn estimated_entries<'a>(
    file: &'a AirframeFile,
    estimate: &'a Estimate,
    missing: Missing,
) -> impl Iterator<Item = (Which, Coefficient)> + 'a {
    let takes = move |given: &Coefficient| missing == Missing::AndGiven || !given.is_given();
    let source = |field: &str| {
        let entry = estimate.entries.iter().find(|entry| entry.name == field);
        entry.map_or("estimate".to_owned(), |entry| entry.origin.clone())
    };
    let filled = |value: f64, sigma: f64, source: String| Coefficient {
        value: rounded(value),
        origin: Origin::Estimate,
        source,
        one_sigma: Some(rounded(sigma)),
    };
    let of_table = NAMED.iter().zip(file.coefficients.named()).enumerate();
    let of_table = of_table.filter(move |(_, (_, (_, given)))| takes(given));
    let of_table = of_table.map(move |(i, ((name, read), _))| {
        let (value, sigma) = (read(&estimate.coefficients), read(&estimate.one_sigma));
        let source = source(name.trim_end_matches("_per_rad"));
        (Which::Table(i), filled(value, sigma, source))
    });
    let bent = |i: &usize| {
        let bends = file.surfaces.iter().flat_map(|surface| &surface.bends);
        bends
            .filter_map(|bend| bend.tab.as_ref())
            .any(|name| *name == file.tabs[*i].name)
    };
    let (values, sigmas) = (&estimate.coefficients.tabs, &estimate.one_sigma.tabs);
    let tabs = 0..values.len().min(sigmas.len()).min(file.tabs.len());
    let of_tabs = tabs.filter(bent).flat_map(move |i| {
        let effects = TAB_NAMED.iter().zip(file.tabs[i].named()).enumerate();
        let effects = effects.filter(move |(_, (_, (_, given)))| takes(given));
        effects.map(move |(k, ((name, read), _))| {
            let field = name.trim_end_matches("2").trim_end_matches("_per_rad");
            let source = source(&format!("tabs[{i}].{field}"));
            (
                Which::Tab(i, k),
                filled(read(&values[i]), read(&sigmas[i]), source),
            )
        })
    });
    of_table.chain(of_tabs)
}

/// Whether the alpha-rate entries become the estimate's, which hold downwash lag alone.
fn takes_alpha_rate(file: &AirframeFile, missing: Missing) -> bool {
    missing == Missing::AndGiven || !file.coefficients.lift_alpha_rate_per_rad.is_given()
}

fn stall_of(estimate: &Estimate) -> Stall {
    let stall = &estimate.stall;
    let degrees = |angle_rad: f64| rounded(angle_rad.to_degrees());
    Stall {
        alpha_stall_deg: degrees(stall.alpha_stall_rad),
        alpha_blend_deg: degrees(stall.alpha_blend_rad),
        beta_stall_deg: degrees(stall.beta_stall_rad),
        beta_blend_deg: degrees(stall.beta_blend_rad),
        normal_force_coefficient_at_90_deg: Some(rounded(stall.normal_at_90)),
    }
}

/// Writes an estimate of `file` into its JSON.
pub(crate) fn write_into(
    json: &mut Value,
    file: &AirframeFile,
    estimate: &Estimate,
    missing: Missing,
) {
    if takes_alpha_rate(file, missing)
        && let Some(table) = json["coefficients"].as_object_mut()
    {
        table.remove("includes_apparent_mass");
    }
    for (which, entry) in estimated_entries(file, estimate, missing) {
        match which {
            Which::Table(i) => json["coefficients"][NAMED[i].0] = json!(entry),
            Which::Tab(i, k) => json["tabs"][i][TAB_NAMED[k].0] = json!(entry),
        }
    }
    if missing == Missing::AndGiven || file.stall.is_none() {
        json["stall"] = json!(stall_of(estimate));
    }
}

/// Writes an estimate of `file` into another form of it, which has the same coefficients and tabs, where the file leaves them out.
pub(crate) fn write_missing(to: &mut AirframeFile, file: &AirframeFile, estimate: &Estimate) {
    if takes_alpha_rate(file, Missing::Only) {
        to.coefficients.includes_apparent_mass = false;
    }
    for (which, entry) in estimated_entries(file, estimate, Missing::Only) {
        match which {
            Which::Table(i) => *to.coefficients.all_mut()[i] = entry,
            Which::Tab(i, k) => *to.tabs[i].all_mut()[k] = entry,
        }
    }
    if file.stall.is_none() {
        to.stall = Some(stall_of(estimate));
    }
}

/// Whether a file can hold all of an estimate's numbers.
pub(crate) fn is_writable(estimate: &Estimate) -> bool {
    let fits = |value: f64| rounded(value).abs() <= LARGEST;
    let tables = [&estimate.coefficients, &estimate.one_sigma];
    let stall = &estimate.stall;
    tables.iter().all(|table| {
        let tabs = table.tabs.iter();
        NAMED.iter().all(|(_, read)| fits(read(table)))
            && tabs
                .flat_map(|tab| TAB_NAMED.map(|(_, read)| read(tab)))
                .all(fits)
    }) && [
        stall.alpha_stall_rad.to_degrees(),
        stall.alpha_blend_rad.to_degrees(),
        stall.beta_stall_rad.to_degrees(),
        stall.beta_blend_rad.to_degrees(),
        stall.normal_at_90,
    ]
    .into_iter()
    .all(fits)
}

/// Six significant digits: far more than an estimate holds, few enough to read. What is left of sums that cancel is 0.
pub(super) fn rounded(value: f64) -> f64 {
    const CANCELLED: f64 = 1e-9;
    if value.abs() < CANCELLED {
        return 0.0;
    }
    to_digits(value, 6)
}
