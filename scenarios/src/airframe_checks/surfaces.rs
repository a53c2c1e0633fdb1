//! Checks of surfaces: a trapezoid or an outline, how it is set, and its bent edges.

use super::Check;
use super::planar::Planar;
use crate::airframe_file::{AirframeFile, Bend, Doubler, Plane, Surface, Tab};
use crate::check::{name_is_plain, names_are_unique, not_negative, over_zero, within};
use crate::error::{Problem, number, one_of, quoted};
use crate::field::FieldPath;
use crate::outline::{plane_needed, polygon};

/// How far a hand-drawn outline may reach over the centre line and still count as ending there, mm.
const OVER_CENTRE_LINE_MM: f64 = 0.05;

pub(super) fn surfaces(file: &AirframeFile, at: &FieldPath) -> Check {
    let surfaces = &file.surfaces;
    if surfaces.is_empty() {
        return Err(Problem::new(
            at.clone(),
            "an empty list",
            "one surface at least",
        ));
    }
    names_are_unique(
        at,
        "name",
        surfaces.iter().map(|surface| surface.name.as_str()),
    )?;
    for (i, surface) in surfaces.iter().enumerate() {
        let at = at.index(i);
        if surface.outline.is_empty() {
            trapezoid(surface, &at)?;
        } else {
            outline(surface, &at)?;
        }
        within(&at, "incidence_deg", surface.incidence_deg, -45.0, 45.0)?;
        within(&at, "twist_deg", surface.twist_deg, -45.0, 45.0)?;
        if let Some(thickness) = surface.thickness_mm {
            over_zero(&at, "thickness_mm", thickness)?;
        }
        for (k, one) in surface.doublers.iter().enumerate() {
            doubler(one, &at.key("doublers").index(k))?;
        }
        for (k, bend) in surface.bends.iter().enumerate() {
            self::bend(bend, surface, &file.tabs, &at.key("bends").index(k))?;
        }
    }
    Ok(())
}

fn trapezoid(surface: &Surface, at: &FieldPath) -> Check {
    let needed = |name: &str, value: Option<f64>, what: &str| {
        value.ok_or_else(|| Problem::new(at.key(name), "nothing", needed_in_trapezoid(what)))
    };
    if surface.root_leading_edge.is_none() {
        let wanted = needed_in_trapezoid("a place");
        return Err(Problem::new(at.key("root_leading_edge"), "nothing", wanted));
    }
    let number_of = |name, value| needed(name, value, "a number");
    over_zero(
        at,
        "root_chord_mm",
        number_of("root_chord_mm", surface.root_chord_mm)?,
    )?;
    not_negative(
        at,
        "tip_chord_mm",
        number_of("tip_chord_mm", surface.tip_chord_mm)?,
    )?;
    over_zero(
        at,
        "half_span_mm",
        number_of("half_span_mm", surface.half_span_mm)?,
    )?;
    let sweep = number_of("leading_edge_sweep_deg", surface.leading_edge_sweep_deg)?;
    within(at, "leading_edge_sweep_deg", sweep, -85.0, 85.0)?;
    if let Some(plane) = surface.plane {
        let wanted = "none in a surface without an outline";
        return Err(Problem::new(at.key("plane"), plane_word(plane), wanted));
    }
    for (name, value) in [("up_mm", surface.up_mm), ("right_mm", surface.right_mm)] {
        if let Some(given) = value {
            let wanted = "none in a surface without an outline";
            return Err(Problem::new(at.key(name), number(given), wanted));
        }
    }
    match (surface.dihedral_deg, surface.cant_deg) {
        (Some(dihedral), None) => within(at, "dihedral_deg", dihedral, -90.0, 90.0),
        (None, Some(cant)) => within(at, "cant_deg", cant, -90.0, 90.0),
        (None, None) => {
            let wanted = "a number: dihedral_deg, or cant_deg for a fin";
            Err(Problem::new(at.key("dihedral_deg"), "nothing", wanted))
        }
        (Some(_), Some(cant)) => {
            let wanted = "dihedral_deg or cant_deg, not both";
            Err(Problem::new(at.key("cant_deg"), number(cant), wanted))
        }
    }
}

fn needed_in_trapezoid(what: &str) -> String {
    format!("{what}, in a surface without \"outline\" or \"outline_svg\"")
}

fn plane_word(plane: Plane) -> &'static str {
    match plane {
        Plane::Level => "\"level\"",
        Plane::Upright => "\"upright\"",
    }
}

fn outline(surface: &Surface, at: &FieldPath) -> Check {
    let refuse =
        |name: &str, found: String, wanted: &str| Err(Problem::new(at.key(name), found, wanted));
    let beside_outline = "none in a surface with an outline";
    if surface.root_leading_edge.is_some() {
        return refuse("root_leading_edge", "a place".to_owned(), beside_outline);
    }
    for (name, value) in [
        ("root_chord_mm", surface.root_chord_mm),
        ("tip_chord_mm", surface.tip_chord_mm),
        ("half_span_mm", surface.half_span_mm),
        ("leading_edge_sweep_deg", surface.leading_edge_sweep_deg),
    ] {
        if let Some(given) = value {
            return refuse(name, number(given), beside_outline);
        }
    }
    let plane = surface.plane.ok_or_else(|| plane_needed(at))?;
    match plane {
        Plane::Level => {
            if let Some(cant) = surface.cant_deg {
                return refuse("cant_deg", number(cant), "dihedral_deg, in a level surface");
            }
            within(
                at,
                "dihedral_deg",
                surface.dihedral_deg.unwrap_or(0.0),
                -90.0,
                90.0,
            )?;
        }
        Plane::Upright => {
            if let Some(dihedral) = surface.dihedral_deg {
                return refuse(
                    "dihedral_deg",
                    number(dihedral),
                    "cant_deg, in an upright surface",
                );
            }
            within(at, "cant_deg", surface.cant_deg.unwrap_or(0.0), -90.0, 90.0)?;
        }
    }
    let flat = Planar {
        what: "surface",
        plane,
        right_mm: surface.right_mm,
        up_mm: surface.up_mm,
    };
    flat.has_its_place(at)?;
    let outline_at = at.key("outline");
    let corners = flat.corners(&surface.outline, &outline_at)?;
    polygon::is_simple(&corners, &outline_at)?;
    let across = match plane {
        Plane::Level => "right",
        Plane::Upright => "up",
    };
    if let Err((place, pieces)) = polygon::strips(&corners) {
        let found = format!("{pieces} pieces of it at {across} {place:.1} mm");
        let wanted = "an outline that every line across the span meets in one piece; write it as several surfaces";
        return Err(Problem::new(outline_at, found, wanted));
    }
    let reach = |sign: f64| corners.iter().map(|c| sign * c.1).fold(0.0, f64::max);
    let (right, left) = (reach(1.0), reach(-1.0));
    if plane == Plane::Level && right > OVER_CENTRE_LINE_MM && left > OVER_CENTRE_LINE_MM {
        let found =
            format!("corners from {left:.1} mm left to {right:.1} mm right of the centre line");
        let wanted = "one side of it, with \"mirrored\" for the other (a drawing of the whole: \"drawn\": \"whole\")";
        return Err(Problem::new(outline_at, found, wanted));
    }
    Ok(())
}

/// Shortest piece of the span, and narrowest of the chord.
const LEAST: f64 = 1e-3;

/// A stretch of span or chord from one fraction to another.
fn stretch(at: &FieldPath, from: (&str, f64), to: (&str, f64)) -> Check {
    within(at, from.0, from.1, 0.0, 1.0 - LEAST)?;
    within(at, to.0, to.1, from.1 + LEAST, 1.0)
}

fn doubler(doubler: &Doubler, at: &FieldPath) -> Check {
    if let Some(name) = &doubler.name {
        name_is_plain(&at.key("name"), name)?;
    }
    over_zero(at, "thickness_mm", doubler.thickness_mm)?;
    stretch(
        at,
        ("from_span_fraction", doubler.from_span_fraction),
        ("to_span_fraction", doubler.to_span_fraction),
    )?;
    stretch(
        at,
        ("from_chord_fraction", doubler.from_chord_fraction),
        ("to_chord_fraction", doubler.to_chord_fraction),
    )
}

fn bend(bend: &Bend, surface: &Surface, tabs: &[Tab], at: &FieldPath) -> Check {
    if let Some(name) = &bend.name {
        name_is_plain(&at.key("name"), name)?;
    }
    match (&bend.tab, bend.angle_deg) {
        (Some(tab), None) => {
            let names = || tabs.iter().map(|tab| tab.name.as_str());
            if !names().any(|name| name == tab) {
                let wanted = match tabs {
                    [] => "an angle_deg instead, in an airframe without tabs".to_owned(),
                    _ => format!("the name of a tab: {}", one_of(names())),
                };
                let problem = Problem::new(at.key("tab"), quoted(tab), wanted);
                return Err(problem.with_nearest(tab, names()));
            }
        }
        (None, Some(angle)) => within(at, "angle_deg", angle, -60.0, 60.0)?,
        (None, None) => {
            let wanted = "\"tab\" or \"angle_deg\"";
            return Err(Problem::new(
                at.clone(),
                "neither \"tab\" nor \"angle_deg\"",
                wanted,
            ));
        }
        (Some(_), Some(angle)) => {
            let wanted = "\"tab\" or \"angle_deg\", not both";
            return Err(Problem::new(at.key("angle_deg"), number(angle), wanted));
        }
    }
    stretch(
        at,
        ("from_span_fraction", bend.from_span_fraction),
        ("to_span_fraction", bend.to_span_fraction),
    )?;
    within(at, "chord_fraction", bend.chord_fraction, LEAST, 1.0)?;
    if bend.antisymmetric && !surface.mirrored {
        let wanted = "false, in a surface that is not mirrored";
        return Err(Problem::new(at.key("antisymmetric"), "true", wanted));
    }
    Ok(())
}
