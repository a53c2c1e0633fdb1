//! From counted flights at some angles to a window of angles.

use crate::study::judge::Share;
use serde::{Deserialize, Serialize};
use std::ops::RangeInclusive;

/// What keeps a stretch without margin from having no weight.
const LEAST_WEIGHT: f64 = 0.02;

/// What is asked of an angle.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Wanted {
    /// Share of all flights that must meet all conditions.
    pub share_fraction: f64,
    /// Share that must in every single circumstance.
    pub floor_fraction: f64,
}

/// The flights at one angle.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct AtAngle {
    /// The angle, deg.
    pub angle_deg: f64,
    /// Flights that meet all conditions.
    pub meets: Share,
    /// The same in each circumstance.
    pub each: Vec<Share>,
    /// Why it is refused whatever the flights say, where it is.
    pub refused: Option<String>,
}

impl AtAngle {
    /// Whether the whole interval lies at or above the share wanted, and that of each circumstance at or above the floor.
    pub fn holds(&self, wanted: &Wanted) -> bool {
        let holds = |share: &Share, least: f64| share.low_fraction >= least;
        self.refused.is_none()
            && holds(&self.meets, wanted.share_fraction)
            && self
                .each
                .iter()
                .all(|share| holds(share, wanted.floor_fraction))
    }

    /// Whether a whole interval lies below what is wanted.
    pub fn is_bad(&self, wanted: &Wanted) -> bool {
        self.refused.is_some()
            || self.meets.high_fraction < wanted.share_fraction
            || self
                .each
                .iter()
                .any(|share| share.high_fraction < wanted.floor_fraction)
    }

    /// Whether the shares counted reach what is wanted.
    pub fn reaches(&self, wanted: &Wanted) -> bool {
        self.refused.is_none() && self.margin(wanted) >= 0.0
    }

    /// How far the shares as counted lie over what is wanted, the least of them.
    fn margin(&self, wanted: &Wanted) -> f64 {
        let over = |share: &Share, least: f64| share.share_fraction.unwrap_or(0.0) - least;
        let floors = self.each.iter();
        floors
            .map(|share| over(share, wanted.floor_fraction))
            .fold(over(&self.meets, wanted.share_fraction), f64::min)
    }
}

/// A window of angles as it is stated.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Window {
    /// Its low end, deg.
    pub low_deg: f64,
    /// Its high end, deg.
    pub high_deg: f64,
    /// The least share of flights that meet all conditions among its angles flown.
    pub least: Share,
}

/// The run of neighbouring angles whose shares as counted are enough, with the largest margin over it; angles must rise.
pub fn stretch(points: &[AtAngle], wanted: &Wanted) -> Option<RangeInclusive<usize>> {
    let mut best: Option<(f64, RangeInclusive<usize>)> = None;
    let mut start = 0;
    while start < points.len() {
        if !points[start].reaches(wanted) {
            start += 1;
            continue;
        }
        let more = points[start..].iter().take_while(|p| p.reaches(wanted));
        let end = start + more.count() - 1;
        let area = weigh(&points[start..=end], wanted).0;
        if best.as_ref().is_none_or(|(most, _)| area > *most) {
            best = Some((area, start..=end));
        }
        start = end + 1;
    }
    best.map(|(_, run)| run)
}

/// Weight of a run by trapezoids, and the same times the angle.
fn weigh(run: &[AtAngle], wanted: &Wanted) -> (f64, f64) {
    let weight = |p: &AtAngle| p.margin(wanted) + LEAST_WEIGHT;
    run.windows(2).fold((0.0, 0.0), |(sum, moment), pair| {
        let (a, b) = (&pair[0], &pair[1]);
        let half = 0.5 * (b.angle_deg - a.angle_deg);
        (
            sum + half * (weight(a) + weight(b)),
            moment + half * (weight(a) * a.angle_deg + weight(b) * b.angle_deg),
        )
    })
}

/// Middle of a stretch weighted by margin, to 0.1 deg; of a single angle, that angle.
pub fn best_angle_deg(run: &[AtAngle], wanted: &Wanted) -> Option<f64> {
    let (sum, moment) = weigh(run, wanted);
    if sum > 0.0 {
        return Some((moment / sum * 10.0).round() / 10.0);
    }
    run.first().map(|p| p.angle_deg)
}

/// Angles to fly next while a window is being chosen, none where it is fine enough.
pub fn refined(points: &[AtAngle], wanted: &Wanted, resolution_deg: f64) -> Vec<f64> {
    let middle = |i: usize, j: usize| {
        let (a, b) = (points[i].angle_deg, points[j].angle_deg);
        (b - a > resolution_deg * (1.0 + 1e-9)).then_some(0.5 * (a + b))
    };
    let around = |low: usize, high: usize| {
        let below = low.checked_sub(1).and_then(|i| middle(i, low));
        let above = (high + 1 < points.len())
            .then(|| middle(high, high + 1))
            .flatten();
        below.into_iter().chain(above).collect()
    };
    match stretch(points, wanted) {
        Some(run) => around(*run.start(), *run.end()),
        None => most_promising(points).map_or_else(Vec::new, |i| around(i, i)),
    }
}

/// The angle with the most flights that meet all conditions, those refused last; of equal ones, the one nearest 0.
pub fn most_promising(points: &[AtAngle]) -> Option<usize> {
    let share = |p: &AtAngle| p.meets.share_fraction.unwrap_or(0.0);
    let flies = |p: &AtAngle| p.refused.is_none();
    (0..points.len()).max_by(|&i, &j| {
        let (a, b) = (&points[i], &points[j]);
        flies(a)
            .cmp(&flies(b))
            .then(share(a).total_cmp(&share(b)))
            .then(b.angle_deg.abs().total_cmp(&a.angle_deg.abs()))
    })
}

/// The run of angles round the best one that hold; none where that one does not.
pub fn window(points: &[AtAngle], best_deg: f64, wanted: &Wanted) -> Option<Window> {
    let at = points.iter().position(|p| p.angle_deg == best_deg)?;
    if !points[at].holds(wanted) {
        return None;
    }
    let below = points[..at].iter().rev();
    let low = at - below.take_while(|p| p.holds(wanted)).count();
    let high = at
        + points[at + 1..]
            .iter()
            .take_while(|p| p.holds(wanted))
            .count();
    let least = points[low..=high]
        .iter()
        .map(|p| p.meets)
        .min_by(|a, b| a.low_fraction.total_cmp(&b.low_fraction))?;
    Some(Window {
        low_deg: points[low].angle_deg,
        high_deg: points[high].angle_deg,
        least,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const WANTED: Wanted = Wanted {
        share_fraction: 0.8,
        floor_fraction: 0.5,
    };

    fn points(list: &[(f64, u64)]) -> Vec<AtAngle> {
        let at = |&(angle_deg, count): &(f64, u64)| AtAngle {
            angle_deg,
            meets: Share::new(count, 64, 0.95),
            each: Vec::new(),
            refused: None,
        };
        list.iter().map(at).collect()
    }

    // Clopper & Pearson at 95 %, scipy.stats.binomtest(k, 64).proportion_ci(0.95, method='exact'), SciPy 1.17.1: low ends 0.80703 for k = 58, 0.78754 for 57.
    #[test]
    fn an_angle_holds_where_the_whole_interval_is_above() {
        let list = points(&[(0.0, 57), (1.0, 58)]);
        assert!(!list[0].holds(&WANTED) && list[1].holds(&WANTED));
        assert!((list[1].meets.low_fraction - 0.807_030_896).abs() < 1e-8);
        assert!((list[0].meets.low_fraction - 0.787_542_774).abs() < 1e-8);
    }

    // A circumstance that fails cannot be bought with the others; the floor is 0.5.
    // scipy.stats.binomtest exact 95 %, SciPy 1.17.1: 2 of 8 lie within 0.0319 to 0.6509, 8 of 8 above 0.6306, 0 of 8 below 0.3694.
    #[test]
    fn every_circumstance_must_reach_the_floor() {
        let mut at = points(&[(0.0, 62)]).remove(0);
        at.each = vec![Share::new(8, 8, 0.95); 2];
        assert!(at.holds(&WANTED) && at.reaches(&WANTED) && !at.is_bad(&WANTED));
        at.each[1] = Share::new(2, 8, 0.95);
        assert!(!at.holds(&WANTED) && !at.reaches(&WANTED) && !at.is_bad(&WANTED));
        at.each[1] = Share::new(0, 8, 0.95);
        assert!(at.is_bad(&WANTED));
        at.each.clear();
        at.refused = Some("stalls".into());
        assert!(!at.holds(&WANTED) && at.is_bad(&WANTED));
    }

    #[test]
    fn the_stretch_with_the_largest_margin_is_chosen_and_its_ends_refined() {
        let list = points(&[
            (-8.0, 60),
            (-4.0, 10),
            (0.0, 60),
            (4.0, 64),
            (8.0, 60),
            (12.0, 0),
        ]);
        assert_eq!(stretch(&list, &WANTED), Some(2..=4));
        assert_eq!(refined(&list, &WANTED, 0.5), [-2.0, 10.0]);
        assert_eq!(refined(&list, &WANTED, 4.0), [0.0_f64; 0]);
        // Symmetric margins: by symmetry the middle is 4.
        assert_eq!(best_angle_deg(&list[2..=4], &WANTED), Some(4.0));
        assert_eq!(stretch(&points(&[(0.0, 3), (1.0, 0)]), &WANTED), None);
    }

    // By hand: weights 0.02 + margin alike at two angles 0 and 1 give ½; at 0 and 4 with margins 52/64 − 0.8 = 0.0125 and 0.2 the trapezoid's
    // middle is 4 · 0.22/(0.0325 + 0.22) = 3.485.
    #[test]
    fn the_best_angle_leans_to_where_the_margin_is() {
        assert_eq!(
            best_angle_deg(&points(&[(0.0, 60), (1.0, 60)]), &WANTED),
            Some(0.5)
        );
        assert_eq!(
            best_angle_deg(&points(&[(0.0, 52), (4.0, 64)]), &WANTED),
            Some(3.5)
        );
        assert_eq!(best_angle_deg(&points(&[(7.0, 64)]), &WANTED), Some(7.0));
    }

    #[test]
    fn a_window_ends_where_the_stating_flights_say() {
        let list = points(&[(0.0, 50), (1.0, 60), (2.0, 64), (3.0, 62), (4.0, 30)]);
        let found = window(&list, 2.0, &WANTED).unwrap();
        assert_eq!(
            (found.low_deg, found.high_deg, found.least.count),
            (1.0, 3.0, 60)
        );
        assert_eq!(window(&list, 4.0, &WANTED), None);
        assert_eq!(window(&list, 2.5, &WANTED), None);
    }

    #[test]
    fn without_any_that_holds_the_most_promising_is_looked_round() {
        let list = points(&[(-4.0, 20), (0.0, 20), (4.0, 10)]);
        assert_eq!(most_promising(&list), Some(1));
        assert_eq!(refined(&list, &WANTED, 1.0), [-2.0, 2.0]);
    }
}
