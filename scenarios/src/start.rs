//! A starting airframe out of a few measures: a wing and a tail on a stick that balances and glides as it stands.
//!
//! The form is the plainest one that flies by itself; a builder replaces its numbers by measured ones, one after the other, and each
//! carries a note on how. How it is laid out is common practice, no source:
//!
//! - the nose reaches 1.2 mean chords ahead of the wing, the tail's quarter chord lies 1.8 behind the wing's;
//! - the tailplane has 0.18 of the wing's area and thrice its own chord in span, the fin a ninth of the area (volume coefficients of
//!   0.32, and 0.03 to 0.06); the wing has 6° of dihedral;
//! - the static margin is a tenth of the reference chord: first the pack (cell and board) slides along the stick, then clay goes to
//!   the nose, or to the tail where the pack is too heavy already;
//! - the tailplane's trailing edge is bent to glide at nine tenths of the lift coefficient of best glide, a little faster and further
//!   from the stall, or at that of three degrees short of stall where this is less (narrow wings);
//! - propellers have the disc loading and the figure of merit of the smallest usual module, 8 g of thrust from 45 mm; current and
//!   cell go with the thrust;
//! - motors stand at the height of the balance point, so that power has next to no lever arm.
//!
//! Balance, margin and glide are those of [`crate::balance`]; what comes out is read back like any other file.

mod form;
mod settle;

use crate::balance::Balance;
use crate::error::FileError;
use thiserror::Error;

/// The power module's motors.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Motors {
    /// A glider without power.
    None,
    /// One at the nose.
    One,
    /// Two on a bridge ahead of the wing.
    Two,
}

/// The measures an airframe begins from.
#[derive(Clone, Debug, PartialEq)]
pub struct Measures {
    /// Name of the aircraft: letters, digits, - and _.
    pub name: String,
    /// Span from tip to tip along the foam, mm.
    pub span_mm: f64,
    /// Chord of the wing at the centre line, mm.
    pub root_chord_mm: f64,
    /// Chord of the wing at the tip, mm.
    pub tip_chord_mm: f64,
    /// Mass of the foam sheet per area, g/m².
    pub areal_density_g_m2: f64,
    /// Thickness of the foam sheet, mm.
    pub thickness_mm: f64,
    /// The power module's motors.
    pub motors: Motors,
    /// Mass of the module, g; not looked at without motors.
    pub module_mass_g: f64,
    /// Thrust of one motor at rest at full throttle, g as a scale reads it; not looked at without motors.
    pub static_thrust_g: f64,
}

/// A measure's name and the range it may have.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// The field of [`Measures`].
    pub name: &'static str,
    /// Least value.
    pub least: f64,
    /// Largest value.
    pub largest: f64,
}

/// Ranges of the measures: what a pair of hands cuts out of a sheet and throws.
pub const RANGES: [Range; 7] = [
    range("span_mm", 200.0, 1200.0),
    range("root_chord_mm", 40.0, 300.0),
    range("tip_chord_mm", 20.0, 300.0),
    range("areal_density_g_m2", 20.0, 600.0),
    range("thickness_mm", 1.0, 10.0),
    range("module_mass_g", 2.0, 100.0),
    range("static_thrust_g", 1.0, 100.0),
];

const fn range(name: &'static str, least: f64, largest: f64) -> Range {
    Range {
        name,
        least,
        largest,
    }
}

impl Range {
    /// The range of a field of [`Measures`].
    ///
    /// # Panics
    /// Where no measure has that name.
    pub fn of(name: &str) -> Self {
        let found = RANGES.iter().find(|range| range.name == name);
        *found.expect("a measure's name")
    }
}

/// Two files' text, and what the airframe comes to.
#[derive(Clone, Debug)]
pub struct Started {
    /// The airframe file.
    pub airframe: String,
    /// The scenario file of its test glide, which names the airframe as `NAME.json` in its own folder.
    pub test_glide: String,
    /// Name of that scenario.
    pub test_glide_name: String,
    /// Its balance.
    pub balance: Balance,
    /// Where the pack ended up, mm aft of the nose datum; none without a module.
    pub pack_station_mm: Option<f64>,
    /// Clay: mass (g) and station (mm); none where the pack alone does it.
    pub clay: Option<(f64, f64)>,
    /// What the tailplane is bent to, deg, trailing edge down positive.
    pub tailplane_deg: f64,
}

/// Why no airframe came out.
#[derive(Debug, Error)]
pub enum StartError {
    /// A measure out of its range.
    #[error("{}: found {found}, wanted {} to {}", range.name, range.least, range.largest)]
    OutOfRange {
        /// The range.
        range: Range,
        /// What was found.
        found: f64,
    },
    /// A tip longer than the root.
    #[error("tip_chord_mm: found {tip_mm}, wanted at most {root_mm}, the chord at the centre line")]
    TipLongerThanRoot {
        /// Chord at the tip, mm.
        tip_mm: f64,
        /// Chord at the root, mm.
        root_mm: f64,
    },
    /// A wing that is no wing.
    #[error(
        "span_mm: found {span_mm}, wanted at least {least_mm}, three mean chords: shorter, it is no wing with a tail"
    )]
    TooShort {
        /// Span, mm.
        span_mm: f64,
        /// Least span, mm.
        least_mm: f64,
    },
    /// A file that does not read back, as for a name that is none.
    #[error(transparent)]
    File(#[from] FileError),
    /// Its coefficients cannot be estimated.
    #[error(
        "an airframe of these measures cannot be estimated: {reason}; a narrower wing or heavier foam can"
    )]
    NotEstimated {
        /// Why.
        reason: String,
    },
    /// It does not glide, or not far enough from the stall.
    #[error(
        "an airframe of these measures does not glide well: {reason}; a larger wing or a lighter module may"
    )]
    DoesNotGlide {
        /// Why.
        reason: String,
    },
}

/// Lays an airframe out, and its test glide.
///
/// # Errors
/// [`StartError`] of measures out of range, or that make nothing that glides.
pub fn start(measures: &Measures) -> Result<Started, StartError> {
    check(measures)?;
    settle::settle(measures)
}

fn check(measures: &Measures) -> Result<(), StartError> {
    let powered = measures.motors != Motors::None;
    for (name, found, asked) in [
        ("span_mm", measures.span_mm, true),
        ("root_chord_mm", measures.root_chord_mm, true),
        ("tip_chord_mm", measures.tip_chord_mm, true),
        ("areal_density_g_m2", measures.areal_density_g_m2, true),
        ("thickness_mm", measures.thickness_mm, true),
        ("module_mass_g", measures.module_mass_g, powered),
        ("static_thrust_g", measures.static_thrust_g, powered),
    ] {
        let range = Range::of(name);
        if asked && !(range.least..=range.largest).contains(&found) {
            return Err(StartError::OutOfRange { range, found });
        }
    }
    let (root_mm, tip_mm) = (measures.root_chord_mm, measures.tip_chord_mm);
    if tip_mm > root_mm {
        return Err(StartError::TipLongerThanRoot { tip_mm, root_mm });
    }
    let least_mm = 3.0 * 0.5 * (root_mm + tip_mm);
    let span_mm = measures.span_mm;
    if span_mm < least_mm {
        return Err(StartError::TooShort { span_mm, least_mm });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::load::airframe_from_bytes;

    fn curlew(motors: Motors) -> Measures {
        Measures {
            name: "curlew".into(),
            span_mm: 480.0,
            root_chord_mm: 95.0,
            tip_chord_mm: 65.0,
            areal_density_g_m2: 110.0,
            thickness_mm: 3.0,
            motors,
            module_mass_g: 13.0,
            static_thrust_g: 8.0,
        }
    }

    // The margin is what the layout promises; the balance point is the sum of the parts' moments over the sum of their masses, added up
    // here from the written file, sheets by the trapezoid's own centroid.
    #[test]
    fn it_balances_with_the_usual_margin_and_glides() {
        for motors in [Motors::None, Motors::One, Motors::Two] {
            let started = start(&curlew(motors)).unwrap();
            let bytes = started.airframe.clone().into_bytes();
            let loaded = airframe_from_bytes("curlew.json", bytes, &[]).unwrap();
            let margin = started.balance.static_margin_fraction;
            assert!((margin - 0.1).abs() < 0.01, "{motors:?}: {margin}");
            let glide = started.balance.glide.unwrap();
            assert!(glide.glide_ratio > 2.5, "{motors:?}: {glide:?}");
            assert_eq!(
                loaded.file.motors.len(),
                [0, 1, 2][motors as usize],
                "{motors:?}"
            );
            let stall = loaded.file.stall().alpha_stall_deg;
            assert!(glide.alpha_deg < stall - 1.0, "{glide:?} {stall}");
        }
    }

    // The same promises for what is small, heavy, narrow or strong: span, root and tip chord, foam, module, thrust.
    #[test]
    fn odd_measures_balance_and_glide_too() {
        for (measures, motors) in [
            ([200.0, 50.0, 40.0, 60.0, 0.0, 8.0], Motors::None),
            ([1200.0, 40.0, 20.0, 100.0, 0.0, 8.0], Motors::None),
            ([900.0, 60.0, 20.0, 300.0, 25.0, 8.0], Motors::One),
            ([480.0, 95.0, 65.0, 110.0, 2.0, 1.0], Motors::Two),
            ([480.0, 95.0, 65.0, 110.0, 40.0, 20.0], Motors::Two),
            ([480.0, 95.0, 65.0, 110.0, 100.0, 100.0], Motors::Two),
        ] {
            let [span, root, tip, foam, module, thrust] = measures;
            let odd = Measures {
                span_mm: span,
                root_chord_mm: root,
                tip_chord_mm: tip,
                areal_density_g_m2: foam,
                module_mass_g: module,
                static_thrust_g: thrust,
                ..curlew(motors)
            };
            let started = start(&odd).unwrap_or_else(|error| panic!("{measures:?}: {error}"));
            let margin = started.balance.static_margin_fraction;
            assert!((margin - 0.1).abs() < 0.01, "{measures:?}: {margin}");
            let bytes = started.airframe.into_bytes();
            let loaded = airframe_from_bytes("curlew.json", bytes, &[]).unwrap();
            let glide = started.balance.glide.unwrap();
            let stall = loaded.file.stall().alpha_stall_deg;
            assert!(glide.alpha_deg < stall - 2.0, "{glide:?} {stall}");
        }
    }

    #[test]
    fn a_module_weighs_what_it_was_said_to_weigh() {
        for motors in [Motors::One, Motors::Two] {
            let started = start(&curlew(motors)).unwrap();
            let value: serde_json::Value = serde_json::from_str(&started.airframe).unwrap();
            let parts = value["mass"]["parts"].as_array().unwrap();
            let of_module: f64 = parts
                .iter()
                .filter(|part| {
                    ["pack", "motor", "motor-bridge"].contains(&part["name"].as_str().unwrap())
                })
                .map(|part| part["mass_g"].as_f64().unwrap())
                .sum();
            assert!((of_module - 13.0).abs() < 1e-9, "{motors:?}: {of_module}");
        }
    }

    #[test]
    fn every_measured_thing_says_how_to_measure_it() {
        let started = start(&curlew(Motors::Two)).unwrap();
        let value: serde_json::Value = serde_json::from_str(&started.airframe).unwrap();
        let lists = [
            &value["mass"]["parts"],
            &value["surfaces"],
            &value["bodies"],
            &value["tabs"],
            &value["propellers"],
            &value["motors"],
        ];
        let things = lists.iter().flat_map(|list| list.as_array().unwrap());
        let mut count = 0;
        for thing in things.chain([&value["mass"], &value["cell"]]) {
            assert!(
                thing["note"].as_str().is_some_and(|n| n.len() > 20),
                "{thing}"
            );
            count += 1;
        }
        assert!(count > 15, "{count}");
    }

    #[test]
    fn wrong_measures_are_named() {
        let wrong = |change: fn(&mut Measures)| {
            let mut measures = curlew(Motors::Two);
            change(&mut measures);
            start(&measures).unwrap_err().to_string()
        };
        assert_eq!(
            wrong(|m| m.span_mm = 48.0),
            "span_mm: found 48, wanted 200 to 1200"
        );
        assert_eq!(
            wrong(|m| m.tip_chord_mm = 120.0),
            "tip_chord_mm: found 120, wanted at most 95, the chord at the centre line"
        );
        assert!(wrong(|m| m.name = "a b".into()).contains("name: found \"a b\""));
        assert!(wrong(|m| m.module_mass_g = f64::NAN).starts_with("module_mass_g: found NaN"));
        let short = wrong(|m| (m.root_chord_mm, m.span_mm) = (300.0, 300.0));
        assert!(
            short.starts_with("span_mm: found 300, wanted at least 547.5"),
            "{short}"
        );
    }
}
