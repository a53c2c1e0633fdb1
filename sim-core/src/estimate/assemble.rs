//! The coefficient table out of the lattice and of what plates do, each entry with its band and origin (MODEL.md § 20).

mod drag;
mod notes;

use super::bands::{Doubt, together};
use super::bodies::{Body, BodyParts};
use super::convergence::LatticeResult;
use super::friction::{Doubler, Edge, FlowCondition, PlateSkin, TRANSITION_REYNOLDS};
use super::geometry::{Reference, Surface};
use super::plate_data::{StallInput, stall, stall_angles};
use super::suction::{drag_factor, suction_share, table_slope, vortex_factor, vortex_share};
use crate::aero::coefficients::{Coefficients, TabEffect};
use crate::aero::post_stall::StallAngles;
use crate::frames::BuilderPoint;
use drag::{least_drag, suction_free};
use notes::notes;
use std::f64::consts::PI;

/// What every estimate says: there was no measured table of a whole glider of this size to hold it against.
pub const NOT_VALIDATED: &str = "not validated at this size";

/// How a surface is made.
#[derive(Clone, Debug, PartialEq)]
pub struct Skin {
    /// Thickness, m.
    pub thickness_m: f64,
    /// Leading edge.
    pub leading: Edge,
    /// Trailing edge.
    pub trailing: Edge,
    /// Further sheets glued on over part of it.
    pub doublers: Vec<Doubler>,
}

impl Skin {
    /// Thickness with the doublers spread over all of a surface, m.
    fn mean_thickness_m(&self, on: &Surface) -> f64 {
        let more = self.doublers.iter();
        self.thickness_m
            + more
                .map(|one| one.thickness_m * one.covered_share(on))
                .sum::<f64>()
    }
}

/// What the aircraft is made of, as the air sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct Outside {
    /// Surfaces with how they are made, in the lattice's order.
    pub surfaces: Vec<(Surface, Skin)>,
    /// Module, canopy, rods.
    pub bodies: Vec<Body>,
    /// Index of the surface that decides the stall.
    pub main: usize,
    /// Index of the fin, if there is one.
    pub fin: Option<usize>,
    /// Index of a tail that stands in the main surface's downwash, if there is one.
    pub tail: Option<usize>,
}

/// At what airspeed and how the estimate is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Design {
    /// Air and airspeed, which decide the Reynolds numbers.
    pub flow: FlowCondition,
    /// Reynolds number of transition.
    pub transition_reynolds: f64,
    /// Incidence α_ref of the secant slope on slender planforms, rad.
    pub secant_alpha_rad: f64,
    /// Whether the stall angles' standard deviations are wanted; without them the estimate takes a third of the time, and they are 0.
    pub stall_bands: bool,
}

impl Design {
    /// Smooth plates, secant at 10°.
    pub fn new(flow: FlowCondition) -> Self {
        Design {
            flow,
            transition_reynolds: TRANSITION_REYNOLDS,
            secant_alpha_rad: 10_f64.to_radians(),
            stall_bands: true,
        }
    }
}

/// One entry of the table.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Name of the field in [`Coefficients`] or [`StallAngles`]; a tab's with its number, from 0: `tabs[0].lift`.
    pub name: String,
    /// The value.
    pub value: f64,
    /// One standard deviation.
    pub one_sigma: f64,
    /// How it was found, for people.
    pub origin: String,
}

/// An estimated coefficient table.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimate {
    /// The table, about the reference point.
    pub coefficients: Coefficients<f64>,
    /// One standard deviation in each of its entries; area, span, chord and reference point are the table's.
    pub one_sigma: Coefficients<f64>,
    /// Stall angles and the plate's normal force.
    pub stall: StallAngles,
    /// One standard deviation of each.
    pub stall_one_sigma: StallAngles,
    /// All of the above one by one, with their origins.
    pub entries: Vec<Entry>,
    /// What to tell whoever relies on it.
    pub notes: Vec<String>,
}

struct Sheet {
    values: Coefficients<f64>,
    sigmas: Coefficients<f64>,
    entries: Vec<Entry>,
}

impl Sheet {
    fn put(
        &mut self,
        name: &str,
        field: impl Fn(&mut Coefficients<f64>) -> &mut f64,
        value: f64,
        one_sigma: f64,
        origin: &str,
    ) {
        *field(&mut self.values) = value;
        *field(&mut self.sigmas) = one_sigma;
        self.entries.push(Entry {
            name: name.to_owned(),
            value,
            one_sigma,
            origin: origin.to_owned(),
        });
    }
}

/// Puts the table together.
///
/// `balance` is the balance point the coefficients' reference is measured from; `lattice` the result for the same surfaces and
/// reference. Equation: MODEL.md § 20. Valid for: thin plates, Reynolds numbers 1e4 to 2e5.
///
/// # Panics
/// Where `main`, `fin` or `tail` is no index of a surface.
pub fn assemble(
    outside: &Outside,
    reference: &Reference,
    lattice: &LatticeResult,
    design: &Design,
    balance: &BuilderPoint,
) -> Estimate {
    let d = &lattice.derivatives;
    let more = &lattice.still_to_come;
    let aspect_ratio = reference.span_m * reference.span_m / reference.area_m2;
    let skins: Vec<PlateSkin> = outside
        .surfaces
        .iter()
        .map(|(s, k)| PlateSkin::of_surface(s, k.thickness_m, k.leading, k.trailing))
        .collect();
    let main = &skins[outside.main];
    let reynolds = design.flow.reynolds(main.mean_chord_m());
    let (main_surface, main_skin) = &outside.surfaces[outside.main];
    let thickness_ratio = main_skin.mean_thickness_m(main_surface) / main.mean_chord_m();

    // Lift, with what comes back of the suction of a swept edge.
    let sweep = main.leading_sweep_rad();
    let vortex = vortex_share(sweep);
    let e = lattice.span_efficiency;
    let k_v = vortex_factor(d.lift_alpha, aspect_ratio, e, sweep);
    let lift_alpha = table_slope(d.lift_alpha, k_v, vortex, design.secant_alpha_rad);
    let scale = lift_alpha / d.lift_alpha;
    let doubt = Doubt {
        reynolds,
        thickness_ratio,
        vortex_share: vortex,
        lift_alpha,
    };

    // Drag.
    let bodies = BodyParts::of(
        &outside.bodies,
        reference,
        &design.flow,
        design.transition_reynolds,
    );
    let (drag, bend_parts) = least_drag(outside, &skins, bodies.drag.drag_min, reference, design);
    let suction = suction_share(main.leading, reynolds);
    let kept = suction.value * (1.0 - vortex);
    let factor = drag_factor(lift_alpha, aspect_ratio, e, kept);
    let per_suction = drag_factor(lift_alpha, aspect_ratio, e, 0.0)
        - drag_factor(lift_alpha, aspect_ratio, e, 1.0);
    let free = suction_free(outside, reference, d.lift_alpha);
    let (lift_lag, pitch_lag) = downwash_lag(outside, reference, lattice);

    let blank = || {
        let mut table = Coefficients::none(reference.area_m2, reference.span_m, reference.chord_m);
        table.reference = reference.point.in_body(balance);
        table.tabs = vec![no_effect(); d.tabs.len()];
        table
    };
    let mut sheet = Sheet {
        values: blank(),
        sigmas: blank(),
        entries: Vec::new(),
    };
    let theory = format!("vortex lattice, {} panels (MODEL.md 17)", lattice.panels);
    let slope_origin = if vortex > 0.0 {
        format!(
            "{theory}; secant at {:.0}° of the leading-edge suction analogy (Polhamus, NASA TN D-3767), K_p {:.3}, K_v {k_v:.3}, share {vortex:.2}",
            design.secant_alpha_rad.to_degrees(),
            d.lift_alpha
        )
    } else {
        theory.clone()
    };
    let with_lattice = |sigma: f64, to_come: f64| together(&[sigma, to_come]);
    macro_rules! entry {
        ($name:ident, $value:expr, $sigma:expr, $origin:expr) => {
            sheet.put(stringify!($name), |t| &mut t.$name, $value, $sigma, $origin)
        };
    }
    macro_rules! from_lattice {
        ($($name:ident: $sigma:expr;)*) => {
            $({
                let (drag, side) = (bodies.drag.$name, bodies.side.$name);
                entry!(
                    $name,
                    d.$name + drag + side,
                    together(&[$sigma, more.$name, doubt.body_drag(drag), doubt.body_side(side)]),
                    &with_bodies(&theory, drag + side)
                );
            })*
        };
    }
    entry!(
        lift_alpha,
        lift_alpha,
        with_lattice(doubt.lift_alpha(), scale * more.lift_alpha),
        &slope_origin
    );
    let pitch_alpha = d.pitch_alpha * scale;
    let body_pitch = bodies.drag.pitch_alpha;
    entry!(
        pitch_alpha,
        pitch_alpha + body_pitch,
        together(&[
            doubt.pitch_alpha(pitch_alpha),
            scale * more.pitch_alpha,
            doubt.body_drag(body_pitch)
        ]),
        &with_bodies(&slope_origin, body_pitch)
    );
    from_lattice! {
        lift_zero: doubt.lift_zero(d.lift_zero);
        lift_q: doubt.pitch_rate(d.lift_q);
        pitch_zero: doubt.pitch_zero(d.pitch_zero);
        pitch_q: doubt.pitch_rate(d.pitch_q);
        side_zero: doubt.lopsided(d.side_zero, 0.002);
        side_beta: doubt.sideslip(d.side_beta, 0.02);
        side_p: doubt.lateral_rate(d.side_p, 0.02);
        side_r: doubt.lateral_rate(d.side_r, 0.02);
        roll_zero: doubt.lopsided(d.roll_zero, 0.001);
        roll_beta: doubt.sideslip(d.roll_beta, 0.01);
        roll_p: doubt.roll_damping(d.roll_p);
        roll_r: doubt.lateral_rate(d.roll_r, 0.01);
        yaw_zero: doubt.lopsided(d.yaw_zero, 0.001);
        yaw_beta: doubt.sideslip(d.yaw_beta, 0.005);
        yaw_p: doubt.lateral_rate(d.yaw_p, 0.01);
        yaw_r: doubt.lateral_rate(d.yaw_r, 0.01);
    }
    let lag_origin = if outside.tail.is_some() {
        "downwash lag of the tail (MODEL.md 20); apparent mass not in it"
    } else {
        "no tail in the downwash; apparent mass not in it"
    };
    entry!(
        lift_alpha_rate,
        lift_lag,
        doubt.alpha_rate(lift_lag),
        lag_origin
    );
    entry!(
        pitch_alpha_rate,
        pitch_lag,
        doubt.alpha_rate(pitch_lag),
        lag_origin
    );
    let drag_min = drag.friction + drag.edges + drag.bodies;
    entry!(
        drag_min,
        drag_min,
        doubt.drag_min(&drag),
        &format!(
            "plate friction {:.4} (Blasius, Schlichting), edges {:.4} (Hoerner), bodies {:.4}, Reynolds number {reynolds:.0} (MODEL.md 18)",
            drag.friction, drag.edges, drag.bodies
        )
    );
    entry!(
        drag_factor,
        factor,
        doubt.drag_factor(factor, per_suction, suction.one_sigma),
        &format!("leading-edge suction share {kept:.2}, span efficiency {e:.3} (MODEL.md 18.4)")
    );
    entry!(
        lift_at_min_drag,
        free,
        doubt.lift_at_min_drag(free),
        "lift at which leading-edge suction vanishes (MODEL.md 18.4)"
    );
    let tab_theory = format!("{theory}, bent edge");
    for (k, tab) in d.tabs.iter().enumerate() {
        let profile: f64 = bend_parts
            .iter()
            .filter(|(t, _)| *t == Some(k))
            .map(|(_, drag)| drag)
            .sum();
        macro_rules! tab_entry {
            ($($field:ident),*) => {
                $(sheet.put(
                    &format!("tabs[{k}].{}", stringify!($field)),
                    |t| &mut t.tabs[k].$field,
                    tab.$field,
                    with_lattice(doubt.tab(tab.$field), more.tabs[k].$field),
                    &tab_theory,
                );)*
            };
        }
        tab_entry!(lift, pitch, side, roll, yaw);
        let whole = tab.drag + profile;
        sheet.put(
            &format!("tabs[{k}].drag"),
            |t| &mut t.tabs[k].drag,
            whole,
            doubt.tab_drag(whole),
            "plain flap (Young, from memory) and the lattice's induced drag (MODEL.md 18.4)",
        );
    }

    let fin_aspect_ratio = outside.fin.map(|k| {
        let surface = &outside.surfaces[k].0;
        surface.developed_span_m().powi(2) / surface.area_m2()
    });
    let input = StallInput {
        aspect_ratio,
        reynolds,
        vortex_share: vortex,
        lift_alpha,
        thickness_ratio,
        fin_aspect_ratio,
    };
    let (angles, angles_sigma) = if design.stall_bands {
        stall(&input)
    } else {
        let none = StallAngles {
            alpha_stall_rad: 0.0,
            alpha_blend_rad: 0.0,
            beta_stall_rad: 0.0,
            beta_blend_rad: 0.0,
            normal_at_90: 0.0,
        };
        (stall_angles(&input), none)
    };
    let stall_origin = format!(
        "flat-plate table at aspect ratio {aspect_ratio:.2}, Reynolds number {reynolds:.0} (MODEL.md 18.6; from memory, low confidence)"
    );
    macro_rules! stall_entry {
        ($($field:ident),*) => {
            $(sheet.entries.push(Entry {
                name: stringify!($field).to_owned(),
                value: angles.$field,
                one_sigma: angles_sigma.$field,
                origin: stall_origin.clone(),
            });)*
        };
    }
    stall_entry!(
        alpha_stall_rad,
        alpha_blend_rad,
        beta_stall_rad,
        beta_blend_rad,
        normal_at_90
    );
    Estimate {
        coefficients: sheet.values,
        one_sigma: sheet.sigmas,
        stall: angles,
        stall_one_sigma: angles_sigma,
        entries: sheet.entries,
        notes: notes(&doubt, lattice),
    }
}

/// An origin with what bodies have added, where they did.
fn with_bodies(origin: &str, added: f64) -> String {
    if added == 0.0 {
        return origin.to_owned();
    }
    format!("{origin}; bodies add {added:.4} (MODEL.md 18.3)")
}

fn no_effect() -> TabEffect<f64> {
    TabEffect {
        lift: 0.0,
        drag: 0.0,
        pitch: 0.0,
        side: 0.0,
        roll: 0.0,
        yaw: 0.0,
    }
}

/// C_Lα̇ and C_mα̇ of a tail in the downwash.
fn downwash_lag(outside: &Outside, reference: &Reference, lattice: &LatticeResult) -> (f64, f64) {
    let Some(tail) = outside.tail else {
        return (0.0, 0.0);
    };
    let surface = &outside.surfaces[tail].0;
    let copies = if surface.mirrored { 2.0 } else { 1.0 };
    let area = copies * surface.area_m2();
    let span = copies * surface.developed_span_m();
    let aspect = span * span / area;
    // Helmbold's slope, alone in the air; that it is up to 7 % high lies inside the band.
    let slope = 2.0 * PI * aspect / (2.0 + libm::sqrt(aspect * aspect + 4.0));
    let over_reference = slope * area / reference.area_m2;
    let arm = quarter_station(surface) - reference.point.station_m;
    let lift = 2.0 * over_reference * lattice.downwash[tail] * arm / reference.chord_m;
    (lift, -lift * arm / reference.chord_m)
}

/// Mean quarter-chord station, weighted with area, m.
fn quarter_station(surface: &Surface) -> f64 {
    let (mut moment, mut area) = (0.0, 0.0);
    for pair in surface.sections.windows(2) {
        for k in 0..16 {
            let share = (f64::from(k) + 0.5) / 16.0;
            let between = |a: f64, b: f64| a + share * (b - a);
            let chord = between(pair[0].chord_m, pair[1].chord_m);
            let lead = between(
                pair[0].leading_edge.station_m,
                pair[1].leading_edge.station_m,
            );
            let width = libm::hypot(
                pair[1].leading_edge.right_m - pair[0].leading_edge.right_m,
                pair[1].leading_edge.up_m - pair[0].leading_edge.up_m,
            );
            moment += width * chord * (lead + 0.25 * chord);
            area += width * chord;
        }
    }
    moment / area
}

#[cfg(test)]
mod tests;
