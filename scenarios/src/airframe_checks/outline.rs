//! Whether a sheet's outline is one that can be cut: it has an area, and no two of its edges cross.

use crate::error::Problem;
use crate::field::FieldPath;

type Point = (f64, f64);

/// Checks corners in order (the last joins the first); `at` is the outline's field.
pub(crate) fn is_simple(corners: &[Point], at: &FieldPath) -> Result<(), Problem> {
    let count = corners.len();
    if count < 3 {
        return Err(Problem::new(
            at.clone(),
            format!("{count} corners"),
            "three at least",
        ));
    }
    let edge = |i: usize| (corners[i], corners[(i + 1) % count]);
    for i in 0..count {
        let (from, to) = edge(i);
        if from == to {
            let wanted =
                "another place than the corner before (the last corner joins the first by itself)";
            return Err(Problem::new(
                at.index((i + 1).min(count - 1)),
                "the same place twice",
                wanted,
            ));
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
                let found = format!("the edges from corners {} and {} meeting", i + 1, j + 1);
                let wanted =
                    "an outline that can be cut: edges in order, none crossing or touching another";
                return Err(Problem::new(at.index(j), found, wanted));
            }
        }
    }
    Ok(())
}

/// Twice the area of a triangle, positive counterclockwise.
fn turn(a: Point, b: Point, c: Point) -> f64 {
    (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0)
}

/// How far the way goes on from b to c in the direction from a to b.
fn along(a: Point, b: Point, c: Point) -> f64 {
    (b.0 - a.0) * (c.0 - b.0) + (b.1 - a.1) * (c.1 - b.1)
}

/// Whether two edges have a point in common.
fn meet((a, b): (Point, Point), (c, d): (Point, Point)) -> bool {
    let (c_side, d_side) = (turn(a, b, c), turn(a, b, d));
    let (a_side, b_side) = (turn(c, d, a), turn(c, d, b));
    if c_side * d_side < 0.0 && a_side * b_side < 0.0 {
        return true;
    }
    let on = |side: f64, from: Point, to: Point, point: Point| {
        side == 0.0
            && (from.0.min(to.0)..=from.0.max(to.0)).contains(&point.0)
            && (from.1.min(to.1)..=from.1.max(to.1)).contains(&point.1)
    };
    on(c_side, a, b, c) || on(d_side, a, b, d) || on(a_side, c, d, a) || on(b_side, c, d, b)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(corners: &[Point]) -> Result<(), Problem> {
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
}
