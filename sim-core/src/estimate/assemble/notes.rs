//! What an estimate says about itself.

use super::super::bands::Doubt;
use super::super::convergence::LatticeResult;
use super::super::plate_data::COVERED_REYNOLDS;
use super::NOT_VALIDATED;

/// Thickness over chord above which plates' edges are poorly known.
const THICK: f64 = 0.03;

/// One sigma of the lift slope, per cent of it.
fn slope_percent(doubt: &Doubt) -> f64 {
    100.0 * doubt.lift_alpha() / doubt.lift_alpha
}

/// What to tell whoever relies on the estimate.
pub(super) fn notes(doubt: &Doubt, lattice: &LatticeResult) -> Vec<String> {
    let mut notes = vec![format!(
        "{NOT_VALIDATED}: no measured table of a whole glider of this size was at hand"
    )];
    let (low, high) = COVERED_REYNOLDS;
    if !(low..=high).contains(&doubt.reynolds) {
        notes.push(format!(
            "Reynolds number {:.0} lies outside {low:.0} to {high:.0}, where small plates were measured",
            doubt.reynolds
        ));
    }
    if doubt.thickness_ratio > THICK {
        notes.push(format!(
            "plate {:.1} % thick: separated flow at its edges is poorly known; bands are wider, of the lift slope {:.0} % instead of {:.0} % of a thin one",
            100.0 * doubt.thickness_ratio,
            slope_percent(doubt),
            slope_percent(&Doubt {
                thickness_ratio: 0.0,
                ..*doubt
            })
        ));
    }
    if doubt.vortex_share > 0.0 {
        notes.push(format!(
            "swept leading edge with strong suction: lift and moment grow faster than the straight line; bands are wider, of the lift slope {:.0} % instead of {:.0} % without it",
            slope_percent(doubt),
            slope_percent(&Doubt {
                vortex_share: 0.0,
                ..*doubt
            })
        ));
    }
    if !lattice.converged {
        notes.push(format!(
            "the lattice still changes by {:.1} % with finer panels",
            100.0 * lattice.change_on_refinement
        ));
    }
    notes
}
