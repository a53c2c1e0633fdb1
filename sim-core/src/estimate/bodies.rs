//! What is in the air beside the plates: module, canopy, pylon, sticks (MODEL.md § 18.3).

use super::friction::{FlowCondition, friction};
use super::geometry::Reference;
use crate::aero::coefficients::Coefficients;
use crate::frames::BuilderPoint;
use std::f64::consts::PI;

/// What kind of thing a body is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BodyShape {
    /// Block with sharp edges.
    Block,
    /// Block with a rounded nose.
    RoundedBlock,
    /// Streamlined body.
    Streamlined,
    /// Rod or wire across the flow.
    Rod,
    /// Canopy of stacked foam plates.
    StackedCanopy,
}

impl BodyShape {
    /// Drag coefficient over frontal area. Source: MODEL.md § 18.3 (block, rod: Hoerner, from memory; the others ours).
    pub fn drag_coefficient(self) -> f64 {
        match self {
            BodyShape::Block => 1.05,
            BodyShape::RoundedBlock => 0.5,
            BodyShape::Streamlined => 0.15,
            BodyShape::Rod => 1.1,
            BodyShape::StackedCanopy => 0.8,
        }
    }
}

/// A module, canopy, pylon or rod.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Body {
    /// Its shape.
    pub shape: BodyShape,
    /// Size along the reference line, across it to the right, and up, m. A rod across the flow has its diameter for length.
    pub size_m: [f64; 3],
    /// Its middle.
    pub middle: BuilderPoint,
}

impl Body {
    /// Drag area, m². Source: MODEL.md § 18.3.
    pub fn drag_area_m2(&self, flow: &FlowCondition, transition_reynolds: f64) -> f64 {
        let [length, width, height] = self.size_m;
        let sides = match self.shape {
            BodyShape::Block | BodyShape::RoundedBlock | BodyShape::StackedCanopy => {
                friction(flow.reynolds(length), transition_reynolds)
                    * 2.0
                    * (width + height)
                    * length
            }
            BodyShape::Streamlined | BodyShape::Rod => 0.0,
        };
        self.shape.drag_coefficient() * width * height + sides
    }

    /// Side force area, m²: slope over sideslip times the area seen from the side; beside what the drag does.
    pub fn side_area_slope_m2(&self) -> f64 {
        if self.shape == BodyShape::Rod {
            return 0.0;
        }
        let [length, _, height] = self.size_m;
        let aspect = height / length;
        2.0 * PI * aspect / (2.0 + libm::sqrt(aspect * aspect + 4.0)) * length * height
    }

    /// The eight corners of the box it fills.
    pub fn corners(&self) -> [BuilderPoint; 8] {
        let half = self.size_m.map(|size| 0.5 * size);
        std::array::from_fn(|i| {
            let side = |bit: usize| if i >> bit & 1 == 0 { -1.0 } else { 1.0 };
            BuilderPoint::new(
                self.middle.station_m + side(0) * half[0],
                self.middle.right_m + side(1) * half[1],
                self.middle.up_m + side(2) * half[2],
            )
        })
    }
}

/// What bodies add to a coefficient table: one part that goes with drag, one with the areas seen from the side.
#[derive(Clone, Debug, PartialEq)]
pub struct BodyParts {
    /// From drag; `drag_min` is the drag itself.
    pub drag: Coefficients<f64>,
    /// From side areas.
    pub side: Coefficients<f64>,
}

impl BodyParts {
    /// Adds all bodies up about a reference point. Equation: MODEL.md § 18.3. Valid for: small incidence and sideslip.
    pub fn of(
        bodies: &[Body],
        reference: &Reference,
        flow: &FlowCondition,
        transition_reynolds: f64,
    ) -> Self {
        let blank = || Coefficients::none(reference.area_m2, reference.span_m, reference.chord_m);
        let mut parts = BodyParts {
            drag: blank(),
            side: blank(),
        };
        for body in bodies {
            let r = body.middle.in_body(&reference.point);
            let drag = body.drag_area_m2(flow, transition_reynolds) / reference.area_m2;
            let t = &mut parts.drag;
            t.drag_min += drag;
            t.pitch_zero -= drag * r.z / reference.chord_m;
            t.pitch_alpha += drag * r.x / reference.chord_m;
            t.yaw_zero += drag * r.y / reference.span_m;
            sideways(t, drag, r.x, r.z);
            let side = body.side_area_slope_m2() / reference.area_m2;
            sideways(&mut parts.side, side, r.x + 0.25 * body.size_m[0], r.z);
        }
        parts
    }
}

/// Adds what a side force −slope β at x ahead of and z below the reference point (m) does.
fn sideways(table: &mut Coefficients<f64>, slope: f64, x: f64, z: f64) {
    let span = table.span;
    let (side, yaw, roll) = (-slope, -slope * x / span, slope * z / span);
    let (per_yaw_rate, per_roll_rate) = (2.0 * x / span, -2.0 * z / span);
    table.side_beta += side;
    table.yaw_beta += yaw;
    table.roll_beta += roll;
    table.side_r += side * per_yaw_rate;
    table.yaw_r += yaw * per_yaw_rate;
    table.roll_r += roll * per_yaw_rate;
    table.side_p += side * per_roll_rate;
    table.yaw_p += yaw * per_roll_rate;
    table.roll_p += roll * per_roll_rate;
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(found: f64, expected: f64, relative: f64) {
        let off = found / expected - 1.0;
        assert!(off.abs() < relative, "{found} for {expected}: {off:.4}");
    }

    fn flow() -> FlowCondition {
        FlowCondition {
            speed_m_s: 5.0,
            density_kg_m3: 1.2,
            viscosity_pa_s: 1.8e-5,
        }
    }

    fn body(shape: BodyShape, size_m: [f64; 3], at: (f64, f64, f64)) -> Body {
        Body {
            shape,
            size_m,
            middle: BuilderPoint::new(at.0, at.1, at.2),
        }
    }

    fn parts(bodies: &[Body]) -> BodyParts {
        let reference = Reference {
            point: BuilderPoint::new(0.1, 0.0, 0.0),
            area_m2: 0.05,
            span_m: 0.5,
            chord_m: 0.1,
        };
        BodyParts::of(bodies, &reference, &flow(), 5e5)
    }

    // Hoerner, Fluid-Dynamic Drag ch. 3, from memory: cube 1.05, long cylinder 1.1 to 1.2; and of a rod of square section along the flow, four
    // times as long as wide, 0.87 to 0.9. Friction may add a tenth to the cube here, at Re 7000.
    #[test]
    fn bodies_have_the_handbook_drag() {
        let of = |shape, size| body(shape, size, (0.0, 0.0, 0.0)).drag_area_m2(&flow(), 5e5);
        let cube = of(BodyShape::Block, [0.02, 0.02, 0.02]) / 4e-4;
        assert!((1.05..1.16).contains(&cube), "{cube}");
        let rod = of(BodyShape::Rod, [0.002, 0.002, 0.1]) / 2e-4;
        assert!((1.1..=1.2).contains(&rod), "{rod}");
        let size = [0.06, 0.03, 0.02];
        assert!(of(BodyShape::Streamlined, size) < of(BodyShape::RoundedBlock, size));
        assert!(of(BodyShape::RoundedBlock, size) < of(BodyShape::StackedCanopy, size));
    }

    // R. T. Jones 1946: a slender plate's force per angle is (π/2) times its width across squared; and of high aspect ratio 2π times its area.
    #[test]
    fn side_area_goes_to_the_slender_and_the_wide_plate() {
        let slope = |length: f64, height: f64| {
            body(BodyShape::Block, [length, 0.01, height], (0.0, 0.0, 0.0)).side_area_slope_m2()
        };
        close(slope(0.4, 0.004), PI / 2.0 * 1.6e-5, 1e-4);
        close(slope(0.001, 1.0), 2.0 * PI * 0.001, 3e-3);
    }

    // By moments about the reference point, by hand: a streamlined body 2 cm² in front, 40 mm ahead and 30 mm above; its drag is 0.15 × 2e-4 /
    // 0.05 = 6e-4 and turns the nose up by 0.03/0.1 of that.
    #[test]
    fn drag_above_turns_the_nose_up_and_side_area_ahead_turns_it_away() {
        let found = parts(&[body(
            BodyShape::Streamlined,
            [0.04, 0.01, 0.02],
            (0.06, 0.0, 0.03),
        )]);
        close(found.drag.drag_min, 6e-4, 1e-12);
        close(found.drag.pitch_zero, 1.8e-4, 1e-12);
        close(found.drag.pitch_alpha, 2.4e-4, 1e-12);
        // Side force to the left in slip to the right; ahead: nose away from the air; above: right wing up.
        for part in [&found.drag, &found.side] {
            assert!(part.side_beta < 0.0 && part.yaw_beta < 0.0 && part.roll_beta < 0.0);
            assert!(part.yaw_r < 0.0 && part.roll_p < 0.0, "both damp");
            assert!(
                (part.yaw_p - part.roll_r).abs() < 1e-18,
                "cross terms agree"
            );
        }
        // Helmbold at 0.5: 2π 0.5/(2 + √4.25) = 0.7735, area 8 cm² of 500, arm 40 + 10 mm of 500.
        close(found.side.yaw_beta, -0.7735 * 0.016 * 0.1, 1e-4);
    }

    // Mirror symmetry: a pair has no yaw of its own; one body on the right pulls the nose to the right.
    #[test]
    fn a_pair_does_not_yaw_and_a_single_one_does() {
        let right = body(BodyShape::Block, [0.02, 0.02, 0.02], (0.1, 0.1, 0.0));
        let left = Body {
            middle: right.middle.mirrored(),
            ..right
        };
        assert!(parts(&[right]).drag.yaw_zero > 0.0);
        let pair = parts(&[right, left]).drag;
        assert!(pair.yaw_zero.abs() < 1e-18 && pair.drag_min > 0.0);
    }

    #[test]
    fn corners_are_half_a_size_away() {
        let corners = body(BodyShape::Block, [0.06, 0.02, 0.04], (0.1, 0.05, -0.01)).corners();
        let least =
            |of: fn(&BuilderPoint) -> f64| corners.iter().map(of).fold(f64::INFINITY, f64::min);
        close(least(|p| p.station_m), 0.07, 1e-12);
        close(least(|p| p.right_m), 0.04, 1e-12);
        close(least(|p| p.up_m), -0.03, 1e-12);
    }
}
