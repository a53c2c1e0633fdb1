//! The blend into separated flow, the plates beyond it, and the damping of a spinning plate (MODEL.md § 5.3).

use super::flow::Flow;
use crate::frames::BuilderPoint;
use crate::number::{Number, lane_data};
use crate::wrench::Wrench;
use gauss_quad::GaussLegendre;
use nalgebra::Vector3;

/// A trapezoidal panel of a lifting surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Panel {
    /// Leading edge at the root, m.
    pub root_leading_edge: BuilderPoint,
    /// Chord at the root, m.
    pub root_chord_m: f64,
    /// Chord at the tip, m.
    pub tip_chord_m: f64,
    /// Length from root to tip along the surface, m.
    pub half_span_m: f64,
    /// Sweep of the leading edge, rad, tip aft positive.
    pub sweep_rad: f64,
    /// Dihedral, rad; a right angle for a fin.
    pub dihedral_rad: f64,
    /// +1 for a panel going out to the right of its root, −1 for its mirror image.
    pub side: f64,
}

impl Panel {
    /// Point at a distance from the root (share of the half span) and a share of the chord.
    pub fn point(&self, span_share: f64, chord_share: f64) -> BuilderPoint {
        let out = span_share * self.half_span_m;
        BuilderPoint::new(
            self.root_leading_edge.station_m
                + out * libm::tan(self.sweep_rad)
                + chord_share * self.chord(span_share),
            self.root_leading_edge.right_m + self.side * out * libm::cos(self.dihedral_rad),
            self.root_leading_edge.up_m + out * libm::sin(self.dihedral_rad),
        )
    }

    /// Chord at a share of the half span, m.
    pub fn chord(&self, span_share: f64) -> f64 {
        self.root_chord_m + (self.tip_chord_m - self.root_chord_m) * span_share
    }

    /// The four corners, m.
    pub fn corners(&self) -> [BuilderPoint; 4] {
        [(0.0, 0.0), (0.0, 1.0), (1.0, 1.0), (1.0, 0.0)].map(|(s, c)| self.point(s, c))
    }

    /// The panel on the other side of the centre line.
    pub fn mirrored(&self) -> Self {
        Panel {
            root_leading_edge: self.root_leading_edge.mirrored(),
            side: -self.side,
            ..*self
        }
    }
}

lane_data! {
    /// All panels as one flat plate, level or upright.
    pub struct Plate<T> {
        /// Area, m².
        pub area: T,
        /// Mean chord, m.
        pub chord: T,
        /// Mean quarter-chord point with its mean height, body axes from the balance point, on the centre line, m.
        pub quarter_chord: Vector3<T>,
    }
}

lane_data! {
    /// Everything beyond the linear table.
    pub struct PostStall<T> {
        /// α_s, rad.
        pub alpha_stall: T,
        /// δ_α, rad.
        pub alpha_blend: T,
        /// β_s, rad.
        pub beta_stall: T,
        /// δ_β, rad.
        pub beta_blend: T,
        /// Normal-force coefficient of a plate across the flow.
        pub normal_at_90: T,
        /// Panels as a level plate.
        pub level: Plate<T>,
        /// Panels as an upright plate.
        pub upright: Plate<T>,
        /// Second moments of area (∫y² dS_h, ∫x² dS_h, ∫x² dS_v), m⁴, about the balance point.
        pub second: Vector3<T>,
        /// ∫z² dS_v, m⁴: the upright plate's part in roll.
        pub second_roll_upright: T,
        /// Third moments of area (J3_x, J3_y, J3_z), m⁵.
        pub third: Vector3<T>,
    }
}

/// Angles at which the flow separates, and over what range, rad; and the plate's normal-force coefficient.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StallAngles {
    /// α_s.
    pub alpha_stall_rad: f64,
    /// δ_α.
    pub alpha_blend_rad: f64,
    /// β_s.
    pub beta_stall_rad: f64,
    /// δ_β.
    pub beta_blend_rad: f64,
    /// C_90.
    pub normal_at_90: f64,
}

impl StallAngles {
    /// Angles no flow reaches: the linear table holds everywhere, as textbooks assume for small motions.
    pub fn never() -> Self {
        StallAngles {
            alpha_stall_rad: 1e6,
            alpha_blend_rad: 1.0,
            beta_stall_rad: 1e6,
            beta_blend_rad: 1.0,
            normal_at_90: 0.0,
        }
    }
}

/// Default C_90 of a plate of an aspect ratio. Source: Viterna & Corrigan 1981, from memory.
pub fn normal_at_90_of_aspect_ratio(aspect_ratio: f64) -> f64 {
    1.11 + 0.018 * aspect_ratio
}

/// Points and weights of a Gauss-Legendre rule over 0…1.
pub(crate) fn unit_rule(points: usize) -> Vec<(f64, f64)> {
    let rule = GaussLegendre::new(points.try_into().expect("a positive number of nodes"));
    rule.iter()
        .map(|&(node, weight)| ((node + 1.0) / 2.0, weight / 2.0))
        .collect()
}

/// |U| U_n C_N/s of a plate in separated flow with a normal-force coefficient across the flow: twice its normal force over density and
/// area, m²/s². `speed` must not be 0.
pub(crate) fn plate_normal<T: Number>(normal_at_90: T, speed: T, across: T) -> T {
    let shape = T::constant(0.56) * speed + T::constant(0.44) * across.abs();
    normal_at_90 * speed * speed * across / shape
}

/// Nodes per direction of the panels' integrals.
const NODES: usize = 16;

impl PostStall<f64> {
    /// Sums the panels about a balance point.
    pub fn of(angles: &StallAngles, panels: &[Panel], balance: &BuilderPoint) -> Self {
        let nodes = unit_rule(NODES);
        let mut level = PlateSum::default();
        let mut upright = PlateSum::default();
        let (mut second, mut third) = (Vector3::zeros(), Vector3::zeros());
        let mut second_roll_upright = 0.0;
        for panel in panels {
            let (up, out) = libm::sincos(panel.dihedral_rad);
            for &(span_share, span_weight) in &nodes {
                let chord = panel.chord(span_share);
                let strip = chord * panel.half_span_m * span_weight;
                let quarter = panel.point(span_share, 0.25).in_body(balance);
                level.add(strip * out * out, chord, &quarter);
                upright.add(strip * up * up, chord, &quarter);
                for &(chord_share, chord_weight) in &nodes {
                    let r = panel.point(span_share, chord_share).in_body(balance).abs();
                    let area = strip * chord_weight;
                    let (flat, tall) = (area * out * out, area * up * up);
                    second += Vector3::new(r.y * r.y * flat, r.x * r.x * flat, r.x * r.x * tall);
                    second_roll_upright += r.z * r.z * tall;
                    third += Vector3::new(
                        r.y * r.y * r.y * flat + r.z * r.z * r.z * tall,
                        r.x * r.x * r.x * flat,
                        r.x * r.x * r.x * tall,
                    );
                }
            }
        }
        PostStall {
            alpha_stall: angles.alpha_stall_rad,
            alpha_blend: angles.alpha_blend_rad,
            beta_stall: angles.beta_stall_rad,
            beta_blend: angles.beta_blend_rad,
            normal_at_90: angles.normal_at_90,
            level: level.plate(),
            upright: upright.plate(),
            second,
            second_roll_upright,
            third,
        }
    }
}

#[derive(Default)]
struct PlateSum {
    area: f64,
    chord: f64,
    station: f64,
    height: f64,
}

impl PlateSum {
    fn add(&mut self, area: f64, chord: f64, quarter: &Vector3<f64>) {
        self.area += area;
        self.chord += area * chord;
        self.station += area * quarter.x;
        self.height += area * quarter.z;
    }
    fn plate(&self) -> Plate<f64> {
        // An airframe without such a surface has a plate of no area; where it lies does not matter.
        let per_area = if self.area > 0.0 {
            1.0 / self.area
        } else {
            0.0
        };
        Plate {
            area: self.area,
            chord: self.chord * per_area,
            quarter_chord: Vector3::new(self.station * per_area, 0.0, self.height * per_area),
        }
    }
}

/// w: 0 well inside the stall angle, ½ at it, 1 well beyond.
fn separated_weight<T: Number>(angle: T, stall: T, blend: T) -> T {
    T::constant(0.5) * (T::one() + ((angle.abs() - stall) / blend).tanh())
}

impl<T: Number> PostStall<T> {
    /// Weight of attached flow, 1 to 0. Equation: MODEL.md § 5.3.
    pub fn attached_weight(&self, flow: &Flow<T>) -> T {
        let alpha = separated_weight(flow.alpha, self.alpha_stall, self.alpha_blend);
        let beta = separated_weight(flow.beta, self.beta_stall, self.beta_blend);
        (T::one() - alpha) * (T::one() - beta)
    }

    /// C_N and its slope κ for the sine of the angle between flow and plate.
    fn normal(&self, sine: T) -> (T, T) {
        let slope_share = T::constant(0.56);
        let below = slope_share + T::constant(0.44) * sine.abs();
        let coefficient = self.normal_at_90 * sine / below;
        let slope = self.normal_at_90 * slope_share / (below * below);
        let kappa = T::constant(2.0) * sine * coefficient + (T::one() - sine * sine) * slope;
        (coefficient, kappa)
    }

    /// Force and moment of the plates in fully separated flow. `area` and `drag_min` are S and C_Dmin of the table.
    pub fn plates(&self, flow: &Flow<T>, area: T, drag_min: T) -> Wrench<T> {
        let (sin_alpha, cos_alpha) = flow.sin_cos_alpha;
        let (sin_beta, cos_beta) = flow.sin_cos_beta;
        let forward = cos_alpha * cos_beta;
        let half_rho_v = T::constant(0.5) * flow.density * flow.airspeed;
        let pressure = half_rho_v * flow.airspeed;
        let back = T::constant(0.25) * (T::one() - forward);
        let centre = |plate: &Plate<T>| {
            plate.quarter_chord - Vector3::new(plate.chord * back, T::zero(), T::zero())
        };
        let zero = T::zero();
        let down = -pressure * self.level.area * self.normal(sin_alpha * cos_beta).0;
        let right = -pressure * self.upright.area * self.normal(sin_beta).0;
        let rub = -half_rho_v * area * drag_min;
        Wrench::at(Vector3::new(zero, zero, down), &centre(&self.level))
            + Wrench::at(Vector3::new(zero, right, zero), &centre(&self.upright))
            + Wrench {
                force: Vector3::new(rub * flow.velocity.x, rub * flow.velocity.y, zero),
                moment: Vector3::repeat(zero),
            }
    }

    /// Moment that slows rotation: the part that remains at zero airspeed, and the separated plates' with airspeed.
    pub fn damping(&self, flow: &Flow<T>, separated: T) -> Vector3<T> {
        let half_rho = T::constant(0.5) * flow.density;
        let rates = flow.rates;
        let spin = half_rho * self.normal_at_90;
        let level = self.normal(flow.sin_cos_alpha.0 * flow.sin_cos_beta.1).1;
        let upright = self.normal(flow.sin_cos_beta.0).1;
        let with_speed = half_rho * flow.airspeed * separated;
        let one = |third: T, second: T, rate: T| {
            -(spin * third * rate.abs() + with_speed * second) * rate
        };
        Vector3::new(
            one(
                self.third.x,
                self.second.x * level + self.second_roll_upright * upright,
                rates.x,
            ),
            one(self.third.y, self.second.y * level, rates.y),
            one(self.third.z, self.second.z * upright, rates.z),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rectangle() -> Panel {
        Panel {
            root_leading_edge: BuilderPoint::new(0.0, 0.0, 0.0),
            root_chord_m: 0.2,
            tip_chord_m: 0.2,
            half_span_m: 0.3,
            sweep_rad: 0.0,
            dihedral_rad: 0.0,
            side: 1.0,
        }
    }

    // Integral calculus: over a rectangle b × c about its middle ∫y² = c b³/12, ∫|y|³ = c b⁴/32, ∫x² = b c³/12.
    #[test]
    fn moments_of_a_rectangle() {
        let panels = [rectangle(), rectangle().mirrored()];
        let sum = PostStall::of(
            &StallAngles::never(),
            &panels,
            &BuilderPoint::new(0.1, 0.0, 0.0),
        );
        let (b, c) = (0.6_f64, 0.2_f64);
        assert!((sum.level.area - b * c).abs() < 1e-15);
        assert!((sum.second.x - c * b.powi(3) / 12.0).abs() < 1e-15);
        assert!((sum.second.y - b * c.powi(3) / 12.0).abs() < 1e-15);
        assert!((sum.third.x - c * b.powi(4) / 32.0).abs() < 1e-15);
        assert!((sum.third.y - b * c.powi(4) / 32.0).abs() / sum.third.y < 2e-4);
        assert!((sum.level.quarter_chord.x - 0.05).abs() < 1e-15);
        assert_eq!(sum.upright.area, 0.0);
    }

    #[test]
    fn a_fin_is_an_upright_plate() {
        let fin = Panel {
            dihedral_rad: std::f64::consts::FRAC_PI_2,
            ..rectangle()
        };
        let sum = PostStall::of(
            &StallAngles::never(),
            &[fin],
            &BuilderPoint::new(0.0, 0.0, 0.0),
        );
        assert!((sum.upright.area - 0.06).abs() < 1e-15);
        assert!(sum.level.area < 1e-17);
        assert!(
            (sum.upright.quarter_chord.z + 0.15).abs() < 1e-15,
            "mean height is half the fin's, upwards"
        );
    }
}
