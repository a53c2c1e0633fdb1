//! The blend into separated flow, the plates beyond it, and the damping of a spinning plate (MODEL.md § 5.3).

use super::flow::Flow;
use crate::frames::BuilderPoint;
use crate::number::{Number, lane_data};
use crate::parts::Constants;
use crate::vector::nothing;
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
#[inline(always)]
pub(crate) fn plate_normal<T: Number>(normal_at_90: T, speed: T, across: T) -> T {
    let shape = T::constant(0.56).times_plus(speed, T::constant(0.44) * across.abs());
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

impl<T: Number> Plate<T> {
    /// Centre of pressure, so many chords behind the quarter chord.
    #[inline(always)]
    fn centre(&self, back: T) -> Vector3<T> {
        let quarter = &self.quarter_chord;
        let x = self.chord.times_from(back, quarter.x);
        Vector3::new(x, quarter.y, quarter.z)
    }
}

/// Normal force of a plate at one angle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlateNormal<T> {
    /// C_N.
    pub coefficient: T,
    /// κ: its slope where rotation adds normal velocity.
    pub kappa: T,
}

/// 0.56 + 0.44 |s|.
#[inline(always)]
fn plate_shape<T: Number>(sine: T) -> T {
    T::constant(0.44).times_plus(sine.abs(), T::constant(0.56))
}

impl<T: Number> PlateNormal<T> {
    /// With the reciprocal of [`plate_shape`] at hand.
    #[inline(always)]
    fn of_reciprocal(normal_at_90: T, sine: T, over: T) -> Self {
        let scaled = normal_at_90 * over;
        Self::of(sine, scaled * sine, T::constant(0.56) * scaled * over)
    }

    #[inline(always)]
    fn of(sine: T, coefficient: T, slope: T) -> Self {
        let steady = T::constant(2.0) * sine * coefficient;
        let kappa = sine.times_from(sine, T::one()).times_plus(slope, steady);
        PlateNormal { coefficient, kappa }
    }
}

impl<T: Number> PostStall<T> {
    /// Weight of attached flow, 1 to 0. Equation: MODEL.md § 5.3.
    pub fn attached_weight(&self, flow: &Flow<T>) -> T {
        let one = |x: T| T::one() / x;
        let constants = Constants {
            over_alpha_blend: one(self.alpha_blend),
            over_beta_blend: one(self.beta_blend),
            ..Constants::none()
        };
        self.attached_weight_by(flow, &constants)
    }

    /// The same with reciprocals at hand.
    #[inline(always)]
    pub fn attached_weight_by(&self, flow: &Flow<T>, constants: &Constants<T>) -> T {
        let (by_alpha, by_beta) = (constants.over_alpha_blend, constants.over_beta_blend);
        let (alpha, beta) = (
            flow.alpha.abs() - self.alpha_stall,
            flow.beta.abs() - self.beta_stall,
        );
        let alpha = alpha.over(self.alpha_blend, by_alpha);
        let beta = beta.over(self.beta_blend, by_beta);
        T::inside_both(alpha, beta)
    }

    /// C_N and its slope κ for the sines of the angles between the flow and the level and the upright plate.
    #[inline(always)]
    pub fn normals(&self, flow: &Flow<T>) -> [PlateNormal<T>; 2] {
        let (sine, cosine) = flow.sin_cos_beta;
        let sines = [flow.sin_cos_alpha.0 * cosine, sine];
        let below = [plate_shape(sines[0]), plate_shape(sines[1])];
        if !T::FUSED {
            return [0, 1].map(|i| {
                let slope = self.normal_at_90 * T::constant(0.56) / (below[i] * below[i]);
                PlateNormal::of(sines[i], self.normal_at_90 * sines[i] / below[i], slope)
            });
        }
        // One division for both.
        let both = T::one() / (below[0] * below[1]);
        [
            PlateNormal::of_reciprocal(self.normal_at_90, sines[0], both * below[1]),
            PlateNormal::of_reciprocal(self.normal_at_90, sines[1], both * below[0]),
        ]
    }

    /// Force and moment of the plates in fully separated flow. `area` and `drag_min` are S and C_Dmin of the table.
    pub fn plates(&self, flow: &Flow<T>, area: T, drag_min: T) -> Wrench<T> {
        self.plates_by(flow, &self.normals(flow), area, drag_min, T::one())
    }

    /// The same with [`PostStall::normals`] of that flow at hand, times the share of separated flow.
    #[inline(always)]
    pub fn plates_by(
        &self,
        flow: &Flow<T>,
        normals: &[PlateNormal<T>; 2],
        area: T,
        drag_min: T,
        share: T,
    ) -> Wrench<T> {
        let forward = flow.sin_cos_alpha.1 * flow.sin_cos_beta.1;
        let mut half_rho_v = T::constant(0.5) * flow.density * flow.airspeed;
        if T::FUSED {
            half_rho_v *= share;
        }
        let pressure = half_rho_v * flow.airspeed;
        let back = T::constant(0.25) * (T::one() - forward);
        let zero = T::zero();
        let down = -pressure * self.level.area * normals[0].coefficient;
        let right = -pressure * self.upright.area * normals[1].coefficient;
        let rub = -half_rho_v * area * drag_min;
        let (level, upright) = (self.level.centre(back), self.upright.centre(back));
        if T::FUSED {
            // Each force has one component only, and the plates lie on the centre line.
            return Wrench {
                force: Vector3::new(
                    rub * flow.velocity.x,
                    rub.times_plus(flow.velocity.y, right),
                    down,
                ),
                moment: Vector3::new(-upright.z * right, -level.x * down, upright.x * right),
            };
        }
        let whole = Wrench::at(Vector3::new(zero, zero, down), &level)
            + Wrench::at(Vector3::new(zero, right, zero), &upright)
            + Wrench {
                force: Vector3::new(rub * flow.velocity.x, rub * flow.velocity.y, zero),
                moment: nothing(),
            };
        whole * share
    }

    /// Moment that slows rotation: the part that remains at zero airspeed, and the separated plates' with airspeed.
    pub fn damping(&self, flow: &Flow<T>, separated: T) -> Vector3<T> {
        self.damping_by(flow, &self.normals(flow), separated)
    }

    /// The same with [`PostStall::normals`] of that flow at hand.
    #[inline(always)]
    pub fn damping_by(
        &self,
        flow: &Flow<T>,
        normals: &[PlateNormal<T>; 2],
        separated: T,
    ) -> Vector3<T> {
        let half_rho = T::constant(0.5) * flow.density;
        let rates = flow.rates;
        let spin = half_rho * self.normal_at_90;
        let [level, upright] = [normals[0].kappa, normals[1].kappa];
        let with_speed = half_rho * flow.airspeed * separated;
        let both_plates = self.second_roll_upright * upright;
        let in_roll = self.second.x.times_plus(level, both_plates);
        let (in_pitch, in_yaw) = (self.second.y * level, self.second.z * upright);
        let (x, y, z) = (rates.x, rates.y, rates.z);
        let third = &self.third;
        Vector3::new(
            -with_speed.times_plus(in_roll, spin * third.x * x.abs()) * x,
            -with_speed.times_plus(in_pitch, spin * third.y * y.abs()) * y,
            -with_speed.times_plus(in_yaw, spin * third.z * z.abs()) * z,
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
