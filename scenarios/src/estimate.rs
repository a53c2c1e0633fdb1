//! An airframe's coefficients estimated from its surfaces, beside those of its file (MODEL.md § 16 to 20).

pub(crate) mod on_reading;
mod table;

pub use on_reading::EstimatedAt;
pub use table::with_estimate;
pub(crate) use table::{Missing, is_writable, write_into, write_missing};

use crate::airframe_file::{AirframeFile, Reference as ReferenceFile};
use crate::build::{BuiltAirframe, bodies, skin, surfaces};
use crate::units::{m_from_mm, m2_from_cm2};
use serde::Serialize;
use sim_core::air::Air;
use sim_core::estimate::assemble::{Design, Estimate, Outside, assemble};
use sim_core::estimate::convergence::{LatticeResult, Settings, Settled};
use sim_core::estimate::friction::FlowCondition;
use sim_core::estimate::geometry::{GeometryError, Reference, Surface};
use sim_core::frames::BuilderPoint;
use table::{NAMED, rounded};

/// Said of a file without bodies.
const NO_BODIES: &str =
    "drag and side area of module, sticks and canopy are left out: the file lists no bodies";

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
/// Tabs are taken straight: what they do is in their own entries.
///
/// # Errors
/// [`GeometryError`] for surfaces the lattice cannot take.
pub fn estimate(
    file: &AirframeFile,
    balance: &BuilderPoint,
    air: &Air<f64>,
    airspeed_m_s: f64,
    alpha_rad: f64,
) -> Result<(Estimate, bool), GeometryError> {
    let all = straight(surfaces(file));
    let settled = Settled::new(&all, &reference_of(file), &Settings::default())?;
    let outside = outside(file, all);
    let lattice = settled.at(alpha_rad);
    let flow = (airspeed_m_s, alpha_rad);
    let estimate = estimate_on(&lattice, file, &outside, balance, air, flow, true);
    Ok((estimate, settled.is_converged()))
}

/// Surfaces with tabs straight.
fn straight(mut all: Vec<Surface>) -> Vec<Surface> {
    for bend in all.iter_mut().flat_map(|surface| &mut surface.bends) {
        if bend.tab.is_some() {
            bend.angle_rad = 0.0;
        }
    }
    all
}

/// [`estimate`] out of the airframe's own lattice at the incidence (rad), for an airspeed (m/s). `outside` has tabs straight.
fn estimate_on(
    lattice: &LatticeResult,
    file: &AirframeFile,
    outside: &Outside,
    balance: &BuilderPoint,
    air: &Air<f64>,
    (airspeed_m_s, alpha_rad): (f64, f64),
    stall_bands: bool,
) -> Estimate {
    let at = air.atmosphere.at(0.0);
    let flow = FlowCondition {
        speed_m_s: airspeed_m_s,
        density_kg_m3: at.density_kg_m3,
        viscosity_pa_s: at.viscosity_pa_s,
    };
    let design = Design {
        stall_bands,
        secant_alpha_rad: alpha_rad.max(0.02),
        ..Design::new(flow)
    };
    let mut estimate = assemble(outside, &reference_of(file), lattice, &design, balance);
    if file.bodies.is_empty() {
        estimate.notes.push(NO_BODIES.to_owned());
    }
    estimate
}

/// The file's reference in SI.
fn reference_of(file: &AirframeFile) -> Reference {
    let reference = file.reference();
    Reference {
        point: BuilderPoint::new(
            m_from_mm(reference.station_mm),
            0.0,
            m_from_mm(reference.up_mm),
        ),
        area_m2: m2_from_cm2(reference.area_cm2),
        span_m: m_from_mm(reference.span_mm),
        chord_m: m_from_mm(reference.chord_mm),
    }
}

/// The reference of the largest level surface: its area and span in plan, mean aerodynamic chord, and that chord's quarter point. None where
/// no surface is level.
fn reference_of_surfaces(all: &[Surface]) -> Option<ReferenceFile> {
    let main = &all[largest(all, level_area)?];
    let copies = if main.mirrored { 2.0 } else { 1.0 };
    let (mut area, mut chord_sum, mut station_sum, mut up_sum) = (0.0, 0.0, 0.0, 0.0);
    for pair in main.sections.windows(2) {
        let (a, b) = (pair[0].leading_edge, pair[1].leading_edge);
        let width = (b.right_m - a.right_m).abs();
        let (c, d) = (pair[0].chord_m, pair[1].chord_m);
        // Products of two lines over the width: ∫ f g = w (2 f0 g0 + f0 g1 + f1 g0 + 2 f1 g1)/6.
        let product = |f: (f64, f64), g: (f64, f64)| {
            width * (2.0 * f.0 * g.0 + f.0 * g.1 + f.1 * g.0 + 2.0 * f.1 * g.1) / 6.0
        };
        area += width * (c + d) / 2.0;
        chord_sum += product((c, d), (c, d));
        let quarter = (a.station_m + c / 4.0, b.station_m + d / 4.0);
        station_sum += product((c, d), quarter);
        up_sum += product((c, d), (a.up_m, b.up_m));
    }
    let reach = |sign: f64| {
        let rights = main.sections.iter().map(|s| sign * s.leading_edge.right_m);
        rights.fold(f64::NEG_INFINITY, f64::max)
    };
    let span = if main.mirrored {
        2.0 * reach(1.0).max(reach(-1.0))
    } else {
        reach(1.0) + reach(-1.0)
    };
    Some(ReferenceFile {
        area_cm2: rounded(copies * area * 1e4),
        span_mm: rounded(span * 1e3),
        chord_mm: rounded(chord_sum / area * 1e3),
        station_mm: rounded(station_sum / area * 1e3),
        up_mm: rounded(up_sum / area * 1e3),
    })
}

/// Area of one copy of a surface in plan, m², and as seen from the side.
fn plan_and_side(surface: &Surface) -> (f64, f64) {
    let legs = surface.sections.windows(2).map(|pair| {
        let (a, b) = (pair[0].leading_edge, pair[1].leading_edge);
        let mean = 0.5 * (pair[0].chord_m + pair[1].chord_m);
        (
            mean * (b.right_m - a.right_m).abs(),
            mean * (b.up_m - a.up_m).abs(),
        )
    });
    legs.fold((0.0, 0.0), |sum, leg| (sum.0 + leg.0, sum.1 + leg.1))
}

/// Area in plan of a surface that is level rather than upright, else 0; m².
fn level_area(surface: &Surface) -> f64 {
    let (flat, tall) = plan_and_side(surface);
    if flat >= tall { flat } else { 0.0 }
}

/// Area as seen from the side of a surface that is upright rather than level, else 0; m².
fn upright_area(surface: &Surface) -> f64 {
    let (flat, tall) = plan_and_side(surface);
    if tall > flat { tall } else { 0.0 }
}

/// Index of the largest surface by a size, if any has it.
fn largest(all: &[Surface], size: impl Fn(&Surface) -> f64) -> Option<usize> {
    let sizes = all.iter().map(size).enumerate();
    sizes
        .filter(|&(_, size)| size > 0.0)
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(i, _)| i)
}

/// Which surface is what: the largest level one decides the stall, a smaller one behind it is the tail, the largest upright one the fin.
pub(crate) fn outside(file: &AirframeFile, all: Vec<Surface>) -> Outside {
    let main = largest(&all, level_area).unwrap_or(0);
    let other = |surface: &Surface| {
        if std::ptr::eq(surface, &all[main]) {
            0.0
        } else {
            level_area(surface)
        }
    };
    let behind = |i: &usize| {
        all[*i].sections[0].leading_edge.station_m > all[main].sections[0].leading_edge.station_m
    };
    Outside {
        main,
        tail: largest(&all, other).filter(behind),
        fin: largest(&all, upright_area),
        bodies: bodies(file),
        surfaces: file
            .surfaces
            .iter()
            .zip(all)
            .map(|(given, surface)| (surface, skin(file, given)))
            .collect(),
    }
}

/// Coefficients smaller than this in file and estimate are nothing to compare.
const NOTHING: f64 = 1e-6;

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
    Comparison {
        coefficients,
        converged,
        notes: estimate.notes.clone(),
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
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("test-data/hand-made/dunlin.json");
        let loaded = load_airframe(file, &[]).expect("a hand-made table");
        let (estimate, _) = estimate(
            &loaded.written_down,
            &loaded.built.mass.balance,
            &Air::calm(),
            4.2,
            0.13,
        )
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

    // These tables of the demonstration aircraft were made by hand from handbook formulas, apart from this code: where both hold, they meet within the estimate's
    // own band. Slope, place of the lift and roll damping are the ones both do well.
    #[test]
    fn hand_made_tables_and_estimates_meet_where_both_hold() {
        for name in ["dunlin", "avocet", "godwit"] {
            let file = Path::new(env!("CARGO_MANIFEST_DIR"))
                .join("test-data/hand-made")
                .join(name)
                .with_extension("json");
            let loaded = load_airframe(file, &[]).expect("a demonstration aircraft");
            let (estimate, converged) = estimate(
                &loaded.written_down,
                &loaded.built.mass.balance,
                &Air::calm(),
                4.2,
                0.13,
            )
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
