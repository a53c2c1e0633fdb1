//! Plane figures of a site seen from above: halls and zones (MODEL.md § 9.1).

use nalgebra::Vector2;

/// A place in plan: metres north and east of the ground point under the release.
pub type PlanPoint = Vector2<f64>;

/// A wall of a hall.
#[derive(Clone, Debug, PartialEq)]
pub struct HallWall {
    /// What it is called.
    pub name: String,
    /// Outward unit normal.
    pub normal: PlanPoint,
    /// Distance of the wall from the origin along the normal, m.
    pub distance_m: f64,
    /// Unit vector from its first corner to its second.
    pub along: PlanPoint,
    /// Stretch it covers along that, m from the origin.
    pub stretch_m: (f64, f64),
}

/// A hall: upright walls over a polygon, and a level ceiling.
#[derive(Clone, Debug, PartialEq)]
pub struct Hall {
    /// Corners of the plan, in order.
    corners: Vec<PlanPoint>,
    /// Wall k goes from corner k to the next.
    walls: Vec<HallWall>,
    is_convex: bool,
    /// Height of the ceiling over the ground under the release, m; infinite where there is none.
    pub ceiling_m: f64,
}

impl Hall {
    /// A hall over a polygon that does not cross itself, corners either way round, no two neighbours in one place. Wall k goes from corner
    /// k to the next and has name k.
    ///
    /// # Panics
    /// Where there are fewer than three corners or another number of names; file checks come first.
    pub fn new(corners: Vec<PlanPoint>, names: Vec<String>, ceiling_m: f64) -> Self {
        assert!(
            corners.len() >= 3 && names.len() == corners.len(),
            "a hall has three walls at least, each with a name"
        );
        let turn = |a: &PlanPoint, b: &PlanPoint| a.x * b.y - a.y * b.x;
        let next = |k: usize| &corners[(k + 1) % corners.len()];
        let twice_area: f64 = (0..corners.len()).map(|k| turn(&corners[k], next(k))).sum();
        // North to east is clockwise seen from above, and counts as positive here.
        let side = if twice_area > 0.0 { 1.0 } else { -1.0 };
        let walls: Vec<HallWall> = names
            .into_iter()
            .enumerate()
            .map(|(k, name)| {
                let along = (next(k) - corners[k]).normalize();
                let normal = PlanPoint::new(along.y, -along.x) * side;
                HallWall {
                    name,
                    normal,
                    distance_m: normal.dot(&corners[k]),
                    along,
                    stretch_m: (along.dot(&corners[k]), along.dot(next(k))),
                }
            })
            .collect();
        let is_convex = (0..walls.len())
            .all(|k| turn(&walls[k].along, &walls[(k + 1) % walls.len()].along) * side >= 0.0);
        Hall {
            corners,
            walls,
            is_convex,
            ceiling_m,
        }
    }

    /// Its corners, in order.
    pub fn corners(&self) -> &[PlanPoint] {
        &self.corners
    }

    /// Its walls, in order.
    pub fn walls(&self) -> &[HallWall] {
        &self.walls
    }

    /// How far the airframe is from the nearest wall (m), negative through it, and which wall. `reach` is how far the airframe reaches
    /// from its balance point `at` in a horizontal unit direction.
    pub fn clearance(&self, at: &PlanPoint, reach: impl Fn(&PlanPoint) -> f64) -> (f64, usize) {
        let mut nearest = (f64::INFINITY, 0);
        for (k, wall) in self.walls.iter().enumerate() {
            let (across, along) = (wall.normal.dot(at), wall.along.dot(at));
            let mut clearance = wall.distance_m - across - reach(&wall.normal);
            if !self.is_convex {
                clearance = clearance
                    .max(across - reach(&-wall.normal) - wall.distance_m)
                    .max(wall.stretch_m.0 - along - reach(&wall.along))
                    .max(along - reach(&-wall.along) - wall.stretch_m.1);
            }
            if clearance < nearest.0 {
                nearest = (clearance, k);
            }
        }
        if !self.is_convex && !is_inside(&self.corners, at) {
            nearest.0 = nearest.0.min(-distance_to_edges(&self.corners, at));
        }
        nearest
    }

    /// Radius of the largest circle inside the walls, m.
    pub fn largest_circle_m(&self) -> f64 {
        largest_circle(&self.corners).1
    }
}

/// An area in plan that must be missed.
#[derive(Clone, Debug, PartialEq)]
pub struct Zone {
    /// What it is called.
    pub name: String,
    /// What is there, as the file says it; empty where it does not.
    pub kind: String,
    /// Its rings, outlines and holes alike: inside is where a line to infinity crosses an odd number of edges.
    pub rings: Vec<Vec<PlanPoint>>,
}

impl Zone {
    /// Whether a place is inside.
    pub fn holds(&self, place: &PlanPoint) -> bool {
        self.rings
            .iter()
            .fold(false, |inside, ring| inside != is_inside(ring, place))
    }
}

fn edges(corners: &[PlanPoint]) -> impl Iterator<Item = (&PlanPoint, &PlanPoint)> {
    corners.iter().zip(corners.iter().cycle().skip(1))
}

/// Whether a place is inside a polygon: an odd number of edges lie east of it. On an edge: either.
pub fn is_inside(corners: &[PlanPoint], place: &PlanPoint) -> bool {
    let east_of = edges(corners).filter(|(a, b)| {
        (a.x > place.x) != (b.x > place.x)
            && place.y < a.y + (place.x - a.x) / (b.x - a.x) * (b.y - a.y)
    });
    east_of.count() % 2 == 1
}

/// Distance of a place from the nearest edge of a polygon, m.
pub fn distance_to_edges(corners: &[PlanPoint], place: &PlanPoint) -> f64 {
    edges(corners)
        .map(|(a, b)| {
            let (along, from) = (b - a, place - a);
            let share = (from.dot(&along) / along.norm_squared()).clamp(0.0, 1.0);
            (from - along * share).norm()
        })
        .fold(f64::INFINITY, f64::min)
}

/// Centre and radius (m) of the largest circle inside a polygon, the radius to a ten-thousandth of the polygon's size.
///
/// # Algorithm
/// A square around the polygon is quartered again and again; a square is dropped when its middle's distance from the edges plus half its
/// diagonal is no more than the best found (branch and bound; the distance cannot change faster than the place does).
pub fn largest_circle(corners: &[PlanPoint]) -> (PlanPoint, f64) {
    const RESOLUTION: f64 = 1e-4;
    let corner = |pick: fn(f64, f64) -> f64| {
        corners[1..].iter().fold(corners[0], |a, b| {
            PlanPoint::new(pick(a.x, b.x), pick(a.y, b.y))
        })
    };
    let (low, high) = (corner(f64::min), corner(f64::max));
    let size = (high - low).max();
    let depth = |place: &PlanPoint| {
        let distance = distance_to_edges(corners, place);
        if is_inside(corners, place) {
            distance
        } else {
            -distance
        }
    };
    let mut best = (corners[0], 0.0);
    let mut squares = vec![((low + high) * 0.5, size * 0.5)];
    while let Some((middle, half)) = squares.pop() {
        let found = depth(&middle);
        if found > best.1 {
            best = (middle, found);
        }
        if found + half * std::f64::consts::SQRT_2 > best.1 + size * RESOLUTION {
            let quarter = half * 0.5;
            for (north, east) in [(-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, 1.0)] {
                squares.push((middle + PlanPoint::new(north, east) * quarter, quarter));
            }
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plan(corners: &[(f64, f64)]) -> Vec<PlanPoint> {
        corners.iter().map(|&(n, e)| PlanPoint::new(n, e)).collect()
    }

    fn hall(corners: &[(f64, f64)]) -> Hall {
        let names = (1..=corners.len()).map(|k| format!("wall {k}")).collect();
        Hall::new(plan(corners), names, 5.0)
    }

    /// An L: a square of 10 m with its north-east quarter left out.
    const L: [(f64, f64); 6] = [
        (0.0, 0.0),
        (10.0, 0.0),
        (10.0, 5.0),
        (5.0, 5.0),
        (5.0, 10.0),
        (0.0, 10.0),
    ];

    // Closed forms: the incircle of a 3-4-5 triangle has radius 1; of a box half its width; in the L the circle touches the two outer walls
    // and the inner corner, r + r/√2 = 5.
    #[test]
    fn the_largest_circle_meets_closed_forms() {
        let triangle = plan(&[(0.0, 0.0), (3.0, 0.0), (0.0, 4.0)]);
        let (centre, radius) = largest_circle(&triangle);
        assert!((radius - 1.0).abs() < 4e-4, "{radius}");
        assert!((centre - PlanPoint::new(1.0, 1.0)).norm() < 1e-2);
        let long = plan(&[(0.0, -3.0), (20.0, -3.0), (20.0, 3.0), (0.0, 3.0)]);
        assert!((largest_circle(&long).1 - 3.0).abs() < 2e-3);
        let expected = 5.0 / (1.0 + 0.5_f64.sqrt());
        assert!((hall(&L).largest_circle_m() - expected).abs() < 1e-3);
    }

    #[test]
    fn clearance_is_the_distance_of_the_near_wall_whichever_way_round() {
        let box_corners = [(-2.0, -4.0), (10.0, -4.0), (10.0, 6.0), (-2.0, 6.0)];
        let mut turned = box_corners;
        turned.reverse();
        for corners in [box_corners, turned] {
            let hall = hall(&corners);
            let (clearance, wall) = hall.clearance(&PlanPoint::new(7.5, 0.0), |_| 0.5);
            assert!((clearance - 2.0).abs() < 1e-12);
            assert!((hall.walls()[wall].normal - PlanPoint::new(1.0, 0.0)).norm() < 1e-12);
            let (through, _) = hall.clearance(&PlanPoint::new(9.75, 0.0), |_| 0.5);
            assert!((through + 0.25).abs() < 1e-12);
        }
    }

    // In an L the walls of the notch end at the inner corner: north of it, west of it, their planes mean nothing.
    #[test]
    fn the_walls_of_a_notch_end_where_they_end() {
        let hall = hall(&L);
        let at = |north, east| hall.clearance(&PlanPoint::new(north, east), |_| 0.25);
        assert!((at(8.0, 2.0).0 - (2.0 - 0.25)).abs() < 1e-12, "outer walls");
        assert!((at(8.0, 4.5).0 - 0.25).abs() < 1e-12, "the notch's wall");
        assert_eq!(at(8.0, 4.5).1, 2);
        assert!((at(4.5, 8.0).0 - 0.25).abs() < 1e-12);
        assert_eq!(at(4.5, 8.0).1, 3);
        // Right through the wall, beyond the reach of the airframe on either side.
        assert!((at(8.0, 6.0).0 + 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_hole_is_not_part_of_its_zone() {
        let zone = Zone {
            name: "pond".into(),
            kind: "water".into(),
            rings: vec![
                plan(&[(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0)]),
                plan(&[(3.0, 3.0), (6.0, 3.0), (6.0, 6.0), (3.0, 6.0)]),
            ],
        };
        let holds = |north, east| zone.holds(&PlanPoint::new(north, east));
        assert!(holds(1.0, 1.0) && holds(7.0, 7.0));
        assert!(!holds(4.0, 4.0) && !holds(10.0, 1.0));
    }
}
