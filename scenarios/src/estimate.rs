//! An airframe's coefficients estimated from its surfaces, beside those of its file (MODEL.md § 16 to 20).

use crate::airframe_file::{AirframeFile, Part};
use crate::build::{BuiltAirframe, surfaces};
use crate::units::{m_from_mm, m2_from_cm2};
use serde::Serialize;
use serde_json::{Value, json};
use sim_core::aero::coefficients::{Coefficients, TabEffect};
use sim_core::air::Air;
use sim_core::estimate::assemble::{Design, Estimate, Outside, Skin, assemble};
use sim_core::estimate::convergence::{Settings, analyse};
use sim_core::estimate::friction::{Edge, FlowCondition};
use sim_core::estimate::geometry::{GeometryError, Reference, Surface};
use sim_core::frames::BuilderPoint;

/// Thickness of a surface no sheet part is named after, m: common foam sheet.
const USUAL_THICKNESS_M: f64 = 3e-3;

/// One coefficient, as the file has it and as it is estimated.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Compared {
    /// Name of the field in the file.
    pub name: String,
    /// The file's value, per rad or per rad² where the name says so.
    pub in_file: f64,
    /// The estimate.
    pub estimated: f64,
    /// One standard deviation of the estimate.
    pub one_sigma: f64,
    /// The file's value less the estimate, in standard deviations.
    pub apart_sigma: f64,
    /// How the estimate was found.
    pub origin: String,
}

/// The estimate of an airframe beside its file.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Comparison {
    /// Coefficient by coefficient; those that are zero in both are left out.
    pub coefficients: Vec<Compared>,
    /// Whether the lattice had panels enough.
    pub converged: bool,
    /// What to tell whoever relies on it.
    pub notes: Vec<String>,
}

/// Estimates an airframe at an airspeed (m/s) and incidence (rad) of flight. `file` must have its outlines written down
/// ([`crate::load::LoadedAirframe::written_down`]).
///
/// Tabs are taken straight: what they do is in their own entries. Bodies (module, stick) have no size in the file; their drag is left out.
///
/// # Errors
/// [`GeometryError`] for surfaces the lattice cannot take.
pub fn estimate(
    file: &AirframeFile,
    built: &BuiltAirframe,
    air: &Air<f64>,
    airspeed_m_s: f64,
    alpha_rad: f64,
) -> Result<(Estimate, bool), GeometryError> {
    let mut all = surfaces(file);
    for bend in all.iter_mut().flat_map(|surface| &mut surface.bends) {
        if bend.tab.is_some() {
            bend.angle_rad = 0.0;
        }
    }
    let reference = Reference {
        point: BuilderPoint::new(
            m_from_mm(file.reference.station_mm),
            0.0,
            m_from_mm(file.reference.up_mm),
        ),
        area_m2: m2_from_cm2(file.reference.area_cm2),
        span_m: m_from_mm(file.reference.span_mm),
        chord_m: m_from_mm(file.reference.chord_mm),
    };
    let settings = Settings {
        lateral_alpha_rad: alpha_rad,
        ..Settings::default()
    };
    let lattice = analyse(&all, &reference, &settings)?;
    let at = air.atmosphere.at(0.0);
    let flow = FlowCondition {
        speed_m_s: airspeed_m_s,
        density_kg_m3: at.density_kg_m3,
        viscosity_pa_s: at.viscosity_pa_s,
    };
    let design = Design {
        secant_alpha_rad: alpha_rad.max(0.02),
        ..Design::new(flow)
    };
    let outside = outside(file, all);
    let estimate = assemble(&outside, &reference, &lattice, &design, &built.mass.balance);
    Ok((estimate, lattice.converged))
}

/// Which surface is what: the largest level one decides the stall, a smaller one behind it is the tail, the largest upright one the fin.
fn outside(file: &AirframeFile, all: Vec<Surface>) -> Outside {
    let area = |surface: &Surface| -> (f64, f64) {
        let legs = surface.sections.windows(2).map(|pair| {
            let (a, b) = (pair[0].leading_edge, pair[1].leading_edge);
            let mean = 0.5 * (pair[0].chord_m + pair[1].chord_m);
            (
                mean * (b.right_m - a.right_m).abs(),
                mean * (b.up_m - a.up_m).abs(),
            )
        });
        legs.fold((0.0, 0.0), |sum, leg| (sum.0 + leg.0, sum.1 + leg.1))
    };
    let largest = |of: &dyn Fn(&Surface) -> f64, but: Option<usize>| {
        let sizes = all.iter().map(of).enumerate();
        sizes
            .filter(|&(i, size)| size > 0.0 && Some(i) != but)
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(i, _)| i)
    };
    let level = |surface: &Surface| {
        let (flat, tall) = area(surface);
        if flat >= tall { flat } else { 0.0 }
    };
    let upright = |surface: &Surface| {
        let (flat, tall) = area(surface);
        if tall > flat { tall } else { 0.0 }
    };
    let main = largest(&level, None).unwrap_or(0);
    let behind = |i: &usize| {
        all[*i].sections[0].leading_edge.station_m > all[main].sections[0].leading_edge.station_m
    };
    Outside {
        main,
        tail: largest(&level, Some(main)).filter(behind),
        fin: largest(&upright, None),
        bodies: Vec::new(),
        surfaces: all
            .iter()
            .map(|surface| (surface.clone(), skin(file, &surface.name)))
            .collect(),
    }
}

/// How a surface is made: as thick as the sheet part of its name, edges cut square.
fn skin(file: &AirframeFile, name: &str) -> Skin {
    let thickness_mm = file
        .mass
        .parts
        .iter()
        .flatten()
        .find_map(|part| match part {
            Part::Sheet(sheet) if sheet.name == name => {
                Some(f64::from(sheet.layers) * sheet.thickness_mm)
            }
            _ => None,
        });
    Skin {
        thickness_m: thickness_mm.map_or(USUAL_THICKNESS_M, m_from_mm),
        leading: Edge::Square,
        trailing: Edge::Square,
    }
}

/// A coefficient's name in the file, and how to read it from a table.
type Named = (&'static str, fn(&Coefficients<f64>) -> f64);

const NAMED: [Named; 23] = [
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

/// Coefficients smaller than this in file and estimate are nothing to compare.
const NOTHING: f64 = 1e-6;

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

/// The airframe file with the estimate in place of its coefficients and stall angles, as JSON; each entry with its origin and one sigma. Tabs
/// that no surface's bend belongs to keep what they have. Outlines must be written down, so that the file stands alone.
pub fn with_estimate(file: &AirframeFile, estimate: &Estimate) -> Value {
    let mut json = serde_json::to_value(file).unwrap_or(Value::Null);
    let source = |field: &str| {
        let entry = estimate.entries.iter().find(|entry| entry.name == field);
        entry.map_or("estimate".to_owned(), |entry| entry.origin.clone())
    };
    let filled = |value: f64, sigma: f64, source: String| json!({ "value": rounded(value), "origin": "estimate", "source": source, "one_sigma": rounded(sigma) });
    if let Some(table) = json["coefficients"].as_object_mut() {
        // The estimate's alpha-rate entries hold downwash lag alone.
        table.remove("includes_apparent_mass");
    }
    for (name, read) in NAMED {
        json["coefficients"][name] = filled(
            read(&estimate.coefficients),
            read(&estimate.one_sigma),
            source(name.trim_end_matches("_per_rad")),
        );
    }
    let bent = |i: usize| {
        let bends = file.surfaces.iter().flat_map(|surface| &surface.bends);
        bends
            .filter_map(|bend| bend.tab.as_ref())
            .any(|name| *name == file.tabs[i].name)
    };
    let (values, sigmas) = (&estimate.coefficients.tabs, &estimate.one_sigma.tabs);
    for (i, (value, sigma)) in values
        .iter()
        .zip(sigmas)
        .enumerate()
        .filter(|&(i, _)| i < file.tabs.len() && bent(i))
    {
        for (name, read) in TAB_NAMED {
            let field = name.trim_end_matches("2").trim_end_matches("_per_rad");
            json["tabs"][i][name] = filled(
                read(value),
                read(sigma),
                source(&format!("tabs[{i}].{field}")),
            );
        }
    }
    let stall = &estimate.stall;
    for (name, angle_rad) in [
        ("alpha_stall_deg", stall.alpha_stall_rad),
        ("alpha_blend_deg", stall.alpha_blend_rad),
        ("beta_stall_deg", stall.beta_stall_rad),
        ("beta_blend_deg", stall.beta_blend_rad),
    ] {
        json["stall"][name] = json!(rounded(angle_rad.to_degrees()));
    }
    json["stall"]["normal_force_coefficient_at_90_deg"] = json!(rounded(stall.normal_at_90));
    json["name"] = json!(format!("{}-estimated", file.name));
    json
}

/// Six significant digits: far more than an estimate holds, few enough to read.
fn rounded(value: f64) -> f64 {
    format!("{value:.5e}").parse().unwrap_or(value)
}

/// The file's table beside the estimate's.
pub fn compare(built: &BuiltAirframe, estimate: &Estimate, converged: bool) -> Comparison {
    let table = &built.vehicle.coefficients;
    let coefficients = NAMED
        .iter()
        .filter_map(|(name, read)| {
            let (in_file, estimated) = (read(table), read(&estimate.coefficients));
            let one_sigma = read(&estimate.one_sigma);
            let field = name.trim_end_matches("_per_rad");
            let entry = estimate.entries.iter().find(|entry| entry.name == field);
            (in_file.abs().max(estimated.abs()) > NOTHING).then(|| Compared {
                name: (*name).to_owned(),
                in_file,
                estimated,
                one_sigma,
                apart_sigma: if one_sigma > 0.0 {
                    (in_file - estimated) / one_sigma
                } else {
                    0.0
                },
                origin: entry.map_or(String::new(), |entry| entry.origin.clone()),
            })
        })
        .collect();
    let mut notes = estimate.notes.clone();
    notes.push(
        "drag of module, stick and pylon is left out: the file gives them no size".to_owned(),
    );
    Comparison {
        coefficients,
        converged,
        notes,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::load::load_airframe;
    use std::path::Path;

    // What is written is an airframe file like any other: it reads, and it flies on the estimate.
    #[test]
    fn an_estimated_file_is_read_and_carries_its_bands() {
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo-airframes/dunlin.json");
        let loaded = load_airframe(file, &[]).expect("a demonstration aircraft");
        let (estimate, _) = estimate(&loaded.written_down, &loaded.built, &Air::calm(), 4.2, 0.13)
            .expect("an estimate");
        let text = with_estimate(&loaded.written_down, &estimate).to_string();
        let again = crate::load::airframe_from_bytes("estimated.json", text.into_bytes(), &[])
            .expect("a file like any other");
        let slope = &again.file.coefficients.lift_alpha_per_rad;
        assert_eq!(slope.origin, crate::airframe_file::Origin::Estimate);
        assert!((slope.value / estimate.coefficients.lift_alpha - 1.0).abs() < 1e-5);
        assert!(slope.one_sigma.is_some_and(|sigma| sigma > 0.0));
        assert!(again.built.vehicle.apparent_mass.is_some());
        assert_eq!(again.file.name, "dunlin-estimated");
        let kept = &again.file.tabs[0].lift_per_rad;
        assert_eq!(
            kept, &loaded.file.tabs[0].lift_per_rad,
            "no surface has a bend of this tab"
        );
    }

    // The demonstration tables were made by hand from handbook formulas, apart from this code: where both hold, they meet within the estimate's
    // own band. Slope, place of the lift and roll damping are the ones both do well.
    #[test]
    fn hand_made_tables_and_estimates_meet_where_both_hold() {
        for name in ["dunlin", "avocet", "godwit"] {
            let file = Path::new(env!("CARGO_MANIFEST_DIR"))
                .join("../demo-airframes")
                .join(name)
                .with_extension("json");
            let loaded = load_airframe(file, &[]).expect("a demonstration aircraft");
            let (estimate, converged) =
                estimate(&loaded.written_down, &loaded.built, &Air::calm(), 4.2, 0.13)
                    .expect("surfaces that can be panelled");
            let all = compare(&loaded.built, &estimate, converged);
            assert!(all.converged && all.notes[0].contains("not validated at this size"));
            let of = |field: &str| {
                all.coefficients
                    .iter()
                    .find(|c| c.name == field)
                    .expect("an entry")
            };
            for field in [
                "lift_alpha_per_rad",
                "roll_p_per_rad",
                "side_beta_per_rad",
                "yaw_beta_per_rad",
            ] {
                let one = of(field);
                assert!(one.apart_sigma.abs() < 3.0, "{name}: {one:?}");
                assert!(one.in_file * one.estimated > 0.0, "{name}: {one:?}");
            }
            // Neutral points: both put them within a twentieth of the chord of one another.
            let neutral = |pitch: f64, lift: f64| -pitch / lift;
            let (pitch, lift) = (of("pitch_alpha_per_rad"), of("lift_alpha_per_rad"));
            let apart =
                neutral(pitch.in_file, lift.in_file) - neutral(pitch.estimated, lift.estimated);
            assert!(apart.abs() < 0.05, "{name}: {apart} chords");
        }
    }
}
