//! How sure the greatest mass is: the same of drawn airframes.

use super::carries;
use crate::load::LoadedScenario;
use crate::study::judge::Share;
use crate::study::quantiles::quantiles;
use crate::thrustline::glide::TestGlide;
use serde::{Deserialize, Serialize};

/// Shares of the draws below the two ends that are stated.
const ENDS: [f64; 2] = [0.05, 0.95];

/// A drawn airframe.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Draw {
    /// Its mass, g.
    pub mass_g: f64,
    /// The greatest mass it flies level with, tabs as set (and bent by test glides), g.
    pub as_set_g: Option<f64>,
    /// The same with the tab that trims in pitch re-set, g.
    pub tab_re_set_g: Option<f64>,
    /// Why there is none with the tabs as set.
    pub as_set_not_found: Option<String>,
    /// How much further the tab was bent after test glides, deg; none where it was left.
    pub bend_deg: Option<f64>,
}

/// What draws come to, one way of setting the tab. An end is absent where a draw that flies level at no mass decides it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Ends {
    /// 5 % of the draws have a smaller greatest mass, g.
    pub greatest_mass_low_g: Option<f64>,
    /// 5 % of the draws have a larger one, g.
    pub greatest_mass_high_g: Option<f64>,
    /// 5 % of the draws have less to spare, g; negative is over.
    pub spare_low_g: Option<f64>,
    /// 5 % of the draws have more to spare, g.
    pub spare_high_g: Option<f64>,
    /// Draws that have something to spare: they hold height at their own mass.
    pub flies_level: Share,
    /// Draws that fly level at no mass.
    pub none_flies_level: usize,
}

/// What draws come to.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Margin {
    /// Tabs as set.
    pub as_set: Ends,
    /// The tab that trims in pitch re-set.
    pub tab_re_set: Ends,
}

/// What a drawn airframe carries, trimmed by test glides where there are any.
pub fn draw(drawn: &LoadedScenario, glide: Option<&TestGlide>, throttle_fraction: f64) -> Draw {
    let bent = glide.and_then(|glide| Some((glide.tab, glide.bend_rad(drawn)?)));
    let found = carries(drawn, throttle_fraction, bent);
    Draw {
        mass_g: drawn.airframe.built.mass.mass_kg * 1e3,
        as_set_g: found.as_set.map(|greatest| greatest.mass_g),
        tab_re_set_g: found.tab_re_set.map(|greatest| greatest.mass_g),
        as_set_not_found: found.as_set_not_found,
        bend_deg: bent.map(|(_, by_rad)| by_rad.to_degrees()),
    }
}

/// Quantiles and counts of draws; none of no draws.
pub fn margin(draws: &[Draw], confidence_fraction: f64) -> Option<Margin> {
    (!draws.is_empty()).then(|| Margin {
        as_set: ends(draws, |draw| draw.as_set_g, confidence_fraction),
        tab_re_set: ends(draws, |draw| draw.tab_re_set_g, confidence_fraction),
    })
}

fn ends(draws: &[Draw], of: fn(&Draw) -> Option<f64>, confidence_fraction: f64) -> Ends {
    // What flies level at no mass carries less than any.
    let carried = |draw: &Draw| of(draw).unwrap_or(f64::NEG_INFINITY);
    // Next to a draw without a number there is no number.
    let ends = |value: &dyn Fn(&Draw) -> f64| quantiles(draws.iter().map(value).collect(), ENDS);
    let greatest = ends(&carried);
    let spare = ends(&|draw| carried(draw) - draw.mass_g);
    let level = draws.iter().filter(|draw| carried(draw) >= draw.mass_g);
    Ends {
        greatest_mass_low_g: greatest[0],
        greatest_mass_high_g: greatest[1],
        spare_low_g: spare[0],
        spare_high_g: spare[1],
        flies_level: Share::new(
            level.count() as u64,
            draws.len() as u64,
            confidence_fraction,
        ),
        none_flies_level: draws.iter().filter(|draw| of(draw).is_none()).count(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(as_set_g: Option<f64>) -> Draw {
        Draw {
            mass_g: 50.0,
            as_set_g,
            tab_re_set_g: as_set_g.map(|mass_g| mass_g + 1.0),
            as_set_not_found: None,
            bend_deg: None,
        }
    }

    // Hyndman & Fan's definition 8 (from memory): of n values the quantile p lies at place (n + 1/3) p + 1/3. Of 1 … 100: 5.35 and 95.65.
    #[test]
    fn ends_are_hyndman_and_fans_and_what_has_to_spare_is_counted() {
        let draws: Vec<Draw> = (1..=100).map(|g| drawn(Some(f64::from(g)))).collect();
        let found = margin(&draws, 0.95).unwrap();
        let close = |found: Option<f64>, wanted: f64| (found.unwrap() - wanted).abs() < 1e-9;
        assert!(close(found.as_set.greatest_mass_low_g, 5.35));
        assert!(close(found.as_set.greatest_mass_high_g, 95.65));
        assert!(close(found.as_set.spare_low_g, -44.65));
        assert!(close(found.tab_re_set.greatest_mass_low_g, 6.35));
        assert_eq!(found.as_set.flies_level.count, 51);
        assert_eq!(found.tab_re_set.flies_level.count, 52);
    }

    #[test]
    fn draws_that_fly_level_at_no_mass_leave_the_lower_end_open() {
        let mut draws: Vec<Draw> = (1..=18).map(|g| drawn(Some(40.0 + f64::from(g)))).collect();
        draws.extend([drawn(None), drawn(None)]);
        let found = margin(&draws, 0.95).unwrap().as_set;
        assert_eq!(found.greatest_mass_low_g, None);
        assert!(found.greatest_mass_high_g.is_some());
        assert_eq!((found.none_flies_level, found.flies_level.count), (2, 9));
        assert_eq!(margin(&[], 0.95), None);
    }
}
