//! How sure the balance is, from the one sigma of each coefficient (MODEL.md § 22).

use super::{Answers, Glide, Polar};
use crate::airframe_file::{AirframeFile, Coefficient};
use crate::build::BuiltAirframe;
use serde::Serialize;
use sim_core::aero::coefficients::Coefficients;
use sim_core::air::Air;

/// One standard deviation of what [`super::balance`] says, in the units of its fields.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BalanceDoubt {
    /// Neutral point, mm.
    pub neutral_point_mm: f64,
    /// Static margin, share of the reference chord.
    pub static_margin_fraction: f64,
    /// The steady glide, where there is one.
    pub glide: Option<GlideDoubt>,
    /// The flattest glide of the polar.
    pub best_glide: Option<GlideDoubt>,
    /// The slowest sink of the polar.
    pub least_sink: Option<GlideDoubt>,
    /// Angle that trims at best glide, deg, for each of the balance's bends.
    pub bends_to_best_glide_deg: Vec<f64>,
}

/// One standard deviation of a glide.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct GlideDoubt {
    /// Airspeed, m/s.
    pub airspeed_m_s: f64,
    /// Sinking speed, m/s.
    pub sink_m_s: f64,
    /// Distance per height.
    pub glide_ratio: f64,
    /// Incidence, deg.
    pub alpha_deg: f64,
    /// Lift coefficient.
    pub lift_coefficient: f64,
}

/// Numbers a glide has a band for.
const GLIDE: usize = 5;

/// One sigma of the balance; none where no coefficient of the file has one.
///
/// Equation: MODEL.md § 22, to first order, coefficients taken as independent. Sideways coefficients and rates do not come into a straight, steady
/// glide and are left where they are.
pub fn doubt(
    file: &AirframeFile,
    airframe: &BuiltAirframe,
    air: &Air<f64>,
) -> Option<BalanceDoubt> {
    let moves = moves(file);
    let answers = |airframe: &BuiltAirframe| numbers(&Polar { airframe, air }.answers());
    let middle = answers(airframe);
    let mut squares = vec![0.0; middle.len()];
    for (of, sigma) in &moves {
        let moved = |by: f64| {
            let mut moved = airframe.clone();
            of.put(&mut moved.vehicle.coefficients, by);
            answers(&moved)
        };
        let (up, down) = (moved(*sigma), moved(-sigma));
        for (i, square) in squares.iter_mut().enumerate() {
            let at = |list: &[Option<f64>]| list.get(i).copied().flatten();
            let change = match (at(&up), at(&down), middle[i]) {
                (Some(up), Some(down), _) => 0.5 * (up - down),
                (Some(one), None, Some(middle)) | (None, Some(one), Some(middle)) => one - middle,
                _ => 0.0,
            };
            *square += change * change;
        }
    }
    let sigma: Vec<f64> = squares.iter().map(|square: &f64| square.sqrt()).collect();
    let glide = |from: usize| {
        middle[from].map(|_| GlideDoubt {
            airspeed_m_s: sigma[from],
            sink_m_s: sigma[from + 1],
            glide_ratio: sigma[from + 2],
            alpha_deg: sigma[from + 3],
            lift_coefficient: sigma[from + 4],
        })
    };
    (!moves.is_empty()).then(|| BalanceDoubt {
        neutral_point_mm: sigma[0] * 1e3,
        static_margin_fraction: sigma[1],
        glide: glide(2),
        best_glide: glide(2 + GLIDE),
        least_sink: glide(2 + 2 * GLIDE),
        bends_to_best_glide_deg: sigma[2 + 3 * GLIDE..].to_vec(),
    })
}

/// All answers in one row; those of a glide that is not there are none.
fn numbers(answers: &Answers) -> Vec<Option<f64>> {
    let glide = |glide: Option<&Glide>| {
        let of = |f: fn(&Glide) -> f64| glide.map(f);
        [
            of(|g| g.airspeed_m_s),
            of(|g| g.sink_m_s),
            of(|g| g.glide_ratio),
            of(|g| g.alpha_deg),
            of(|g| g.lift_coefficient),
        ]
    };
    let mut all = vec![Some(answers.neutral_m), Some(answers.margin)];
    all.extend(glide(answers.glide.as_ref().ok()));
    all.extend(glide(answers.best.as_ref()));
    all.extend(glide(answers.least_sink.as_ref()));
    all.extend(answers.bends.iter().map(|b| Some(b.to_best_glide_deg)));
    all
}

/// Which number of the table is moved.
enum Moved {
    Table(fn(&mut Coefficients<f64>) -> &mut f64),
    Tab(usize, TabEntry),
}

enum TabEntry {
    Lift,
    Pitch,
    Drag,
}

impl Moved {
    fn put(&self, table: &mut Coefficients<f64>, by: f64) {
        let entry = match self {
            Moved::Table(entry) => entry(table),
            Moved::Tab(i, TabEntry::Lift) => &mut table.tabs[*i].lift,
            Moved::Tab(i, TabEntry::Pitch) => &mut table.tabs[*i].pitch,
            Moved::Tab(i, TabEntry::Drag) => &mut table.tabs[*i].drag,
        };
        *entry += by;
    }
}

/// Every coefficient a straight glide hangs on that has a one sigma above 0.
fn moves(file: &AirframeFile) -> Vec<(Moved, f64)> {
    let c = &file.coefficients;
    let mut all: Vec<(Moved, &Coefficient)> = vec![
        (Moved::Table(|t| &mut t.lift_zero), &c.lift_zero),
        (Moved::Table(|t| &mut t.lift_alpha), &c.lift_alpha_per_rad),
        (Moved::Table(|t| &mut t.drag_min), &c.drag_min),
        (Moved::Table(|t| &mut t.drag_factor), &c.drag_factor),
        (
            Moved::Table(|t| &mut t.lift_at_min_drag),
            &c.lift_at_min_drag,
        ),
        (Moved::Table(|t| &mut t.pitch_zero), &c.pitch_zero),
        (Moved::Table(|t| &mut t.pitch_alpha), &c.pitch_alpha_per_rad),
    ];
    for (i, tab) in file.tabs.iter().enumerate() {
        all.push((Moved::Tab(i, TabEntry::Lift), &tab.lift_per_rad));
        all.push((Moved::Tab(i, TabEntry::Pitch), &tab.pitch_per_rad));
        all.push((Moved::Tab(i, TabEntry::Drag), &tab.drag_per_rad2));
    }
    all.into_iter()
        .filter_map(|(moved, of)| Some((moved, of.one_sigma.filter(|&sigma| sigma > 0.0)?)))
        .collect()
}
