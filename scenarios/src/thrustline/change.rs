//! What else than the angle could be changed, and how far it can be.

use crate::airframe_file::{AirframeFile, Part};
use crate::build::surfaces;
use crate::load::LoadedScenario;
use crate::overrides::{Change, Override};

/// Kinds of change.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Height of the motors.
    Height,
    /// Place of a heavy part.
    Balance,
    /// Mass.
    Mass,
}

/// One change to try.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// Kind.
    pub kind: Kind,
    /// What is done, for people.
    pub words: String,
    /// How far, in its own unit, for order.
    pub size: f64,
    /// As overrides.
    pub overrides: Vec<Override>,
}

/// Names of the parts that carry motors, each once.
pub fn carriers(file: &AirframeFile) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for name in file
        .motors
        .iter()
        .filter_map(|motor| motor.mount.carried_by.clone())
    {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

/// Name of the heaviest single point part that carries no motor.
pub fn heaviest_movable(file: &AirframeFile, carriers: &[String]) -> Option<String> {
    let points = file
        .mass
        .parts
        .iter()
        .flatten()
        .filter_map(|part| match part {
            Part::Point(point) if !point.mirrored && !carriers.contains(&point.name) => Some(point),
            _ => None,
        });
    points
        .max_by(|a, b| a.mass_g.total_cmp(&b.mass_g))
        .map(|point| point.name.clone())
}

fn change(path: String, change: Change) -> Override {
    Override {
        path,
        change,
        file: "change tried".to_owned(),
        line: None,
    }
}

/// The motors with what carries them higher by some mm, as overrides.
pub fn raised(file: &AirframeFile, up_mm: f64) -> Vec<Override> {
    let carriers = carriers(file);
    let mut list: Vec<Override> = Vec::new();
    for part in file.mass.parts.iter().flatten() {
        if let Part::Point(point) = part
            && carriers.contains(&point.name)
        {
            list.push(change(
                format!("mass.parts.{}.at.up_mm", point.name),
                Change::Add(up_mm),
            ));
        }
    }
    // A mount that no point part carries moves alone, without its weight.
    for motor in &file.motors {
        let carried = motor.mount.carried_by.as_ref();
        let moves = |name: &String| {
            let parts = file.mass.parts.iter().flatten();
            parts
                .filter(|p| matches!(p, Part::Point(_)))
                .any(|p| p.name() == name)
        };
        let field = match carried {
            Some(name) if moves(name) => continue,
            Some(_) => "up_from_carrier_mm",
            None => "up_mm",
        };
        list.push(change(
            format!("motors.{}.mount.{field}", motor.name),
            Change::Add(up_mm),
        ));
    }
    list
}

/// Changes to try, each kind from small to large.
pub fn candidates(scenario: &LoadedScenario) -> Vec<Candidate> {
    let file = &scenario.airframe.file;
    let mut list = Vec::new();
    for up_mm in [-10.0, 10.0, -20.0, 20.0, -30.0, 30.0] {
        let word = if up_mm < 0.0 { "lower" } else { "higher" };
        list.push(Candidate {
            kind: Kind::Height,
            words: format!("motors {} mm {word}", f64::abs(up_mm)),
            size: f64::abs(up_mm),
            overrides: raised(file, up_mm),
        });
    }
    if let Some(name) = heaviest_movable(file, &carriers(file)) {
        for (field, by, word) in [
            ("station_mm", -10.0, "forward"),
            ("station_mm", 10.0, "back"),
            ("station_mm", -20.0, "forward"),
            ("station_mm", 20.0, "back"),
            ("up_mm", 20.0, "up"),
            ("up_mm", -20.0, "down"),
            ("up_mm", 40.0, "up"),
            ("up_mm", -40.0, "down"),
        ] {
            list.push(Candidate {
                kind: Kind::Balance,
                words: format!("{name} {} mm {word}", f64::abs(by)),
                size: f64::abs(by),
                overrides: vec![change(
                    format!("mass.parts.{name}.at.{field}"),
                    Change::Add(by),
                )],
            });
        }
    }
    for (factor, share) in [(0.9, 10), (0.8, 20)] {
        let scaled = file.mass.parts.iter().flatten().map(|part| {
            let field = match part {
                Part::Sheet(_) => "areal_density_g_m2",
                Part::Strip(_) => "linear_density_g_m",
                Part::Rod(_) | Part::Point(_) => "mass_g",
            };
            change(
                format!("mass.parts.{}.{field}", part.name()),
                Change::Multiply(factor),
            )
        });
        let overrides: Vec<Override> = scaled.collect();
        if !overrides.is_empty() {
            list.push(Candidate {
                kind: Kind::Mass,
                words: format!("all parts {share} % lighter"),
                size: f64::from(share),
                overrides,
            });
        }
    }
    list
}

/// Whether a propeller's disc cuts a level surface.
pub fn disc_cuts_a_surface(scenario: &LoadedScenario) -> bool {
    let airframe = &scenario.airframe;
    let surfaces = surfaces(&airframe.written_down);
    airframe
        .built
        .motors
        .iter()
        .zip(&airframe.built.vehicle.motors)
        .any(|(motor, flown)| {
            let radius = 0.5 * flown.propeller.diameter;
            let disc = motor.place;
            let cuts = |along: f64, right: f64| {
                let right = if right < 0.0 { -right } else { right };
                surfaces.iter().any(|surface| {
                    surface.sections.windows(2).any(|pair| {
                        let (a, b) = (&pair[0], &pair[1]);
                        let (from, to) = (a.leading_edge.right_m, b.leading_edge.right_m);
                        let share = (right - from) / (to - from);
                        // A surface steeper than 45° is none a disc is lowered onto.
                        let level =
                            (b.leading_edge.up_m - a.leading_edge.up_m).abs() < (to - from).abs();
                        if !level || !(0.0..=1.0).contains(&share) {
                            return false;
                        }
                        let between = |x: f64, y: f64| x + share * (y - x);
                        let front = between(a.leading_edge.station_m, b.leading_edge.station_m);
                        let chord = between(a.chord_m, b.chord_m);
                        let up = between(a.leading_edge.up_m, b.leading_edge.up_m);
                        let off = right - disc.right_m.abs();
                        let half = (radius * radius - off * off).max(0.0).sqrt();
                        along >= front && along <= front + chord && (disc.up_m - up).abs() < half
                    })
                })
            };
            (-4..=4).any(|i| {
                let right = disc.right_m + radius * f64::from(i) / 4.0;
                cuts(disc.station_m, right)
            })
        })
}
