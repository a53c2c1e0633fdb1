//! Polygons: whether one can be cut out of foam, and what is made of it.

use crate::error::Problem;
use crate::field::FieldPath;
use sim_core::site::{PlanPoint, is_inside};

/// A corner of an outline: station, and right or up.
pub(crate) type Flat = (f64, f64);

/// Why corners in order are no outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Fault {
    /// Fewer than three corners.
    TooFew(usize),
    /// This corner (counted from 0) lies where the one before it does.
    SamePlace(usize),
    /// The edges from these two corners (counted from 0) have a point in common.
    Meeting(usize, usize),
}

/// What is wrong with corners in order (the last joins the first), if anything.
pub(crate) fn fault(corners: &[Flat]) -> Option<Fault> {
    let count = corners.len();
    if count < 3 {
        return Some(Fault::TooFew(count));
    }
    let edge = |i: usize| (corners[i], corners[(i + 1) % count]);
    for i in 0..count {
        let (from, to) = edge(i);
        if from == to {
            return Some(Fault::SamePlace((i + 1) % count));
        }
    }
    for i in 0..count {
        for j in i + 1..count {
            // Neighbours share a corner; all they can do is fold back onto each other.
            let neighbours = j == i + 1 || (i == 0 && j == count - 1);
            let (a, b) = (edge(i), edge(j));
            let wrong = if neighbours {
                let (first, shared, last) = if j == i + 1 {
                    (a.0, a.1, b.1)
                } else {
                    (b.0, b.1, a.1)
                };
                turn(first, shared, last) == 0.0 && along(first, shared, last) < 0.0
            } else {
                meet(a, b)
            };
            if wrong {
                return Some(Fault::Meeting(i, j));
            }
        }
    }
    None
}

/// Checks corners written in a file; `at` is the outline's field.
pub(crate) fn is_simple(corners: &[Flat], at: &FieldPath) -> Result<(), Problem> {
    match fault(corners) {
        None => Ok(()),
        Some(Fault::TooFew(count)) => Err(Problem::new(
            at.clone(),
            format!("{count} corners"),
            "three at least",
        )),
        Some(Fault::SamePlace(i)) => {
            let wanted =
                "another place than the corner before (the last corner joins the first by itself)";
            // The first corner in the place of the last: the last is one too many.
            let i = if i == 0 { corners.len() - 1 } else { i };
            Err(Problem::new(at.index(i), "the same place twice", wanted))
        }
        Some(Fault::Meeting(i, j)) => {
            let found = format!("the edges from corners {} and {} meeting", i + 1, j + 1);
            let wanted =
                "an outline that can be cut: edges in order, none crossing or touching another";
            Err(Problem::new(at.index(j), found, wanted))
        }
    }
}

/// Area of a polygon, either way round.
pub(crate) fn area(corners: &[Flat]) -> f64 {
    let next = corners.iter().cycle().skip(1);
    let twice: f64 = corners
        .iter()
        .zip(next)
        .map(|(a, b)| a.0 * b.1 - b.0 * a.1)
        .sum();
    (twice / 2.0).abs()
}

/// Whether a point lies inside a polygon (on an edge: either).
fn holds(corners: &[Flat], point: Flat) -> bool {
    let plan: Vec<PlanPoint> = corners.iter().map(|c| PlanPoint::new(c.1, c.0)).collect();
    is_inside(&plan, &PlanPoint::new(point.1, point.0))
}

fn edges(corners: &[Flat]) -> impl Iterator<Item = (Flat, Flat)> + '_ {
    corners
        .iter()
        .copied()
        .zip(corners.iter().copied().cycle().skip(1))
}

fn edges_meet(one: &[Flat], other: &[Flat]) -> bool {
    edges(one).any(|a| edges(other).any(|b| meet(a, b)))
}

/// What is wrong with a hole beside the ones before it, if anything: in words.
pub(crate) fn hole_fault(outline: &[Flat], before: &[Vec<Flat>], hole: &[Flat]) -> Option<String> {
    if edges_meet(outline, hole) {
        return Some("a hole that meets the outline".to_owned());
    }
    if !holds(outline, hole[0]) {
        return Some("a hole outside the outline".to_owned());
    }
    let overlaps = |other: &Vec<Flat>| {
        edges_meet(other, hole) || holds(other, hole[0]) || holds(hole, other[0])
    };
    let k = before.iter().position(overlaps)?;
    Some(format!("a hole that meets hole {}", k + 1))
}

/// The part of a polygon with its second coordinate at 0 or above; none where there is no such part.
///
/// # Errors
/// The number of times the polygon crosses that line, where it is not twice: the part would be in pieces.
pub(crate) fn positive_half(corners: &[Flat]) -> Result<Option<Vec<Flat>>, usize> {
    let is_in = |p: Flat| p.1 >= 0.0;
    let crossings = edges(corners)
        .filter(|(a, b)| is_in(*a) != is_in(*b))
        .count();
    match crossings {
        0 => return Ok(is_in(corners[0]).then(|| corners.to_vec())),
        2 => {}
        _ => return Err(crossings),
    }
    let mut half = Vec::new();
    for (a, b) in edges(corners) {
        if is_in(a) {
            half.push(a);
        }
        if is_in(a) != is_in(b) {
            half.push((a.0 + a.1 / (a.1 - b.1) * (b.0 - a.0), 0.0));
        }
    }
    // A corner on the line itself is cut there a second time.
    half.dedup();
    if half.len() > 1 && half.first() == half.last() {
        half.pop();
    }
    Ok((area(&half) > 0.0).then_some(half))
}

/// A strip of a polygon between two neighbouring values of its second coordinate: first coordinates of its two sides there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Strip {
    pub from: f64,
    pub to: f64,
    /// Smaller first coordinate (leading edge) at `from` and `to`.
    pub leading: (f64, f64),
    /// Larger first coordinate (trailing edge) at `from` and `to`.
    pub trailing: (f64, f64),
}

/// Values of a coordinate closer than this are one (the unit is that of files, mm).
const SAME_VALUE: f64 = 1e-6;

/// A polygon cut at the second coordinate of each of its corners.
///
/// # Errors
/// The second coordinate at which a line meets the polygon in more than one piece, and in how many.
pub(crate) fn strips(corners: &[Flat]) -> Result<Vec<Strip>, (f64, usize)> {
    let mut cuts: Vec<f64> = corners.iter().map(|corner| corner.1).collect();
    cuts.sort_by(f64::total_cmp);
    cuts.dedup_by(|b, a| *b - *a <= SAME_VALUE);
    let mut strips = Vec::new();
    for cut in cuts.windows(2) {
        let (from, to) = (cut[0], cut[1]);
        let middle = f64::midpoint(from, to);
        let across = edges(corners).filter(|(a, b)| (a.1 > middle) != (b.1 > middle));
        let mut sides: Vec<(f64, f64)> = across
            .map(|(a, b)| {
                let at = |y: f64| {
                    let share = ((y - a.1) / (b.1 - a.1)).clamp(0.0, 1.0);
                    a.0 + share * (b.0 - a.0)
                };
                (at(from), at(to))
            })
            .collect();
        if sides.len() != 2 {
            return Err((middle, sides.len() / 2));
        }
        sides.sort_by(|a, b| (a.0 + a.1).total_cmp(&(b.0 + b.1)));
        strips.push(Strip {
            from,
            to,
            leading: sides[0],
            trailing: sides[1],
        });
    }
    Ok(strips)
}

/// Corners of the smallest convex polygon around points (Andrew's monotone chain).
pub(crate) fn hull(points: &[Flat]) -> Vec<Flat> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    sorted.dedup();
    if sorted.len() < 3 {
        return sorted;
    }
    let half = |points: &mut dyn Iterator<Item = Flat>| {
        let mut chain: Vec<Flat> = Vec::new();
        for point in points {
            while let [.., a, b] = chain[..]
                && turn(a, b, point) <= 0.0
            {
                chain.pop();
            }
            chain.push(point);
        }
        chain.pop();
        chain
    };
    let mut corners = half(&mut sorted.iter().copied());
    corners.extend(half(&mut sorted.iter().rev().copied()));
    corners
}

/// Twice the area of a triangle, positive counterclockwise.
fn turn(a: Flat, b: Flat, c: Flat) -> f64 {
    (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0)
}

/// How far the way goes on from b to c in the direction from a to b.
fn along(a: Flat, b: Flat, c: Flat) -> f64 {
    (b.0 - a.0) * (c.0 - b.0) + (b.1 - a.1) * (c.1 - b.1)
}

/// Whether two edges have a point in common.
fn meet((a, b): (Flat, Flat), (c, d): (Flat, Flat)) -> bool {
    let (c_side, d_side) = (turn(a, b, c), turn(a, b, d));
    let (a_side, b_side) = (turn(c, d, a), turn(c, d, b));
    if c_side * d_side < 0.0 && a_side * b_side < 0.0 {
        return true;
    }
    let on = |side: f64, from: Flat, to: Flat, point: Flat| {
        side == 0.0
            && (from.0.min(to.0)..=from.0.max(to.0)).contains(&point.0)
            && (from.1.min(to.1)..=from.1.max(to.1)).contains(&point.1)
    };
    on(c_side, a, b, c) || on(d_side, a, b, d) || on(a_side, c, d, a) || on(b_side, c, d, b)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(corners: &[Flat]) -> Result<(), Problem> {
        is_simple(corners, &FieldPath::default())
    }

    #[test]
    fn outlines_that_can_be_cut_pass_either_way_round() {
        let notched = [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (2.0, 1.0), (0.0, 3.0)];
        assert_eq!(check(&notched), Ok(()));
        let mut backwards = notched;
        backwards.reverse();
        assert_eq!(check(&backwards), Ok(()));
    }

    #[test]
    fn crossing_touching_folding_and_standing_still_are_refused() {
        let bow_tie = [(0.0, 0.0), (1.0, 1.0), (1.0, 0.0), (0.0, 1.0)];
        let touching = [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (2.0, 0.0), (0.0, 3.0)];
        let folded = [(0.0, 0.0), (4.0, 0.0), (2.0, 0.0)];
        let closed_by_hand = [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (0.0, 0.0)];
        for outline in [&bow_tie[..], &touching, &folded, &closed_by_hand] {
            assert!(check(outline).is_err(), "{outline:?}");
        }
        assert_eq!(
            check(&bow_tie).unwrap_err().found,
            "the edges from corners 1 and 3 meeting"
        );
    }

    fn square(from: f64, to: f64) -> Vec<Flat> {
        vec![(from, from), (to, from), (to, to), (from, to)]
    }

    #[test]
    fn holes_lie_inside_and_apart() {
        let outline = square(0.0, 10.0);
        let first = [square(1.0, 4.0)];
        assert_eq!(hole_fault(&outline, &first, &square(5.0, 8.0)), None);
        for (hole, expected) in [
            (square(8.0, 11.0), "a hole that meets the outline"),
            (square(8.0, 10.0), "a hole that meets the outline"),
            (square(11.0, 12.0), "a hole outside the outline"),
            (square(3.0, 5.0), "a hole that meets hole 1"),
            (square(2.0, 3.0), "a hole that meets hole 1"),
            (square(0.5, 9.0), "a hole that meets hole 1"),
        ] {
            assert_eq!(
                hole_fault(&outline, &first, &hole).as_deref(),
                Some(expected)
            );
        }
    }

    #[test]
    fn half_of_a_plate_ends_on_the_centre_line() {
        // A kite across the line: its upper half is the triangle over its two corners on the line.
        let kite = [(0.0, 0.0), (2.0, -3.0), (4.0, 0.0), (2.0, 3.0)];
        let half = positive_half(&kite)
            .expect("two crossings")
            .expect("a half");
        assert_eq!(half.len(), 3);
        assert_eq!(area(&half), 6.0);
        let plate = [(0.0, -5.0), (4.0, -5.0), (2.0, 5.0), (0.0, 5.0)];
        // By hand: the slanted side is at 3 on the line; trapezoid of 3 and 2, height 5.
        let half = positive_half(&plate)
            .expect("two crossings")
            .expect("a half");
        assert_eq!(area(&half), 12.5);
        assert_eq!(positive_half(&square(-3.0, -1.0)), Ok(None));
        let fork = [
            (0.0, -1.0),
            (6.0, -1.0),
            (6.0, 1.0),
            (4.0, 1.0),
            (3.0, -0.5),
            (2.0, 1.0),
            (0.0, 1.0),
        ];
        assert_eq!(positive_half(&fork), Err(4));
    }

    #[test]
    fn strips_are_cut_at_every_corner() {
        // Leading edge from (0, 0) to (3, 10) with a kink at (0, 5); trailing edge straight at 8.
        let outline = [(0.0, 0.0), (8.0, 0.0), (8.0, 10.0), (3.0, 10.0), (0.0, 5.0)];
        let found = strips(&outline).expect("one piece");
        let strip = |from, to, leading| Strip {
            from,
            to,
            leading,
            trailing: (8.0, 8.0),
        };
        assert_eq!(
            found,
            [strip(0.0, 5.0, (0.0, 0.0)), strip(5.0, 10.0, (0.0, 3.0))]
        );
        let fork = [
            (0.0, 0.0),
            (9.0, 0.0),
            (9.0, 5.0),
            (6.0, 5.0),
            (6.0, 2.0),
            (3.0, 2.0),
            (3.0, 5.0),
            (0.0, 5.0),
        ];
        assert_eq!(strips(&fork), Err((3.5, 2)));
    }

    #[test]
    fn a_hull_leaves_dents_and_points_on_edges_out() {
        let dented = [
            (0.0, 0.0),
            (2.0, 0.0),
            (4.0, 0.0),
            (4.0, 4.0),
            (2.0, 1.0),
            (0.0, 4.0),
        ];
        assert_eq!(
            hull(&dented),
            [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)]
        );
    }
}
