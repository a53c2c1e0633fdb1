//! The vortex lattice: matrices, circulations, forces (MODEL.md § 17).

use super::geometry::{GeometryError, Reference, Surface};
use super::panels::{Panel, Panelling, Panels, cut};
use crate::frames::BuilderPoint;
use nalgebra::{DMatrix, DVector, Dyn, LU, Vector3};
use std::f64::consts::PI;

/// Motion through the air, in MODEL.md § 5's measures.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Motion {
    /// Incidence α, rad.
    pub alpha_rad: f64,
    /// Sideslip β, rad.
    pub beta_rad: f64,
    /// p b/2V.
    pub roll_rate: f64,
    /// q c̄/2V.
    pub pitch_rate: f64,
    /// r b/2V.
    pub yaw_rate: f64,
    /// Each tab's angle beyond its set one, rad; missing ones are 0.
    pub tabs_rad: Vec<f64>,
}

/// The six coefficients of one motion, or of one unit input: forces in stability axes, moments body axes about the reference point.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Loads {
    /// C_L.
    pub lift: f64,
    /// Induced C_D from the forces on the panels (the Trefftz plane's is the better one).
    pub drag: f64,
    /// C_Y.
    pub side: f64,
    /// C_l.
    pub roll: f64,
    /// C_m.
    pub pitch: f64,
    /// C_n.
    pub yaw: f64,
}

/// A lattice ready for any motion: induced velocities and the factorised equations.
#[derive(Clone, Debug)]
pub struct Lattice {
    pub(super) panels: Panels,
    pub(super) reference: Reference,
    /// Induced velocity at control points, one matrix a component.
    at_control: [DMatrix<f64>; 3],
    /// Induced velocity at the middles of bound vortices.
    at_bound: [DMatrix<f64>; 3],
    /// Normals with the set angles.
    normals: Vec<Vector3<f64>>,
    factors: LU<f64, Dyn, Dyn>,
    size: f64,
}

/// Velocity of the body at its reference point and its rates, over the airspeed.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Onset {
    pub velocity: Vector3<f64>,
    pub rates: Vector3<f64>,
}

impl Onset {
    /// Air's velocity past a point of the body.
    pub fn at(&self, r: &Vector3<f64>) -> Vector3<f64> {
        -(self.velocity + self.rates.cross(r))
    }
}

/// Onset, normals' turn and circulation: what forces are bilinear in, or a direction in that space.
#[derive(Clone, Debug)]
pub(super) struct Flow {
    pub onset: Onset,
    pub circulation: DVector<f64>,
    control: [DVector<f64>; 3],
    bound: [DVector<f64>; 3],
}

impl Flow {
    /// A multiple of it.
    pub fn times(&self, factor: f64) -> Self {
        let all = |fields: &[DVector<f64>; 3]| fields.each_ref().map(|field| field * factor);
        Flow {
            onset: Onset {
                velocity: self.onset.velocity * factor,
                rates: self.onset.rates * factor,
            },
            circulation: &self.circulation * factor,
            control: all(&self.control),
            bound: all(&self.bound),
        }
    }

    /// One on top of the other.
    pub fn plus(&self, other: &Self) -> Self {
        let all = |a: &[DVector<f64>; 3], b: &[DVector<f64>; 3]| {
            [&a[0] + &b[0], &a[1] + &b[1], &a[2] + &b[2]]
        };
        Flow {
            onset: Onset {
                velocity: self.onset.velocity + other.onset.velocity,
                rates: self.onset.rates + other.onset.rates,
            },
            circulation: &self.circulation + &other.circulation,
            control: all(&self.control, &other.control),
            bound: all(&self.bound, &other.bound),
        }
    }
}

impl Lattice {
    /// Cuts surfaces and factorises.
    ///
    /// Equation: MODEL.md § 17. Errors: [`GeometryError`].
    pub fn new(
        surfaces: &[Surface],
        reference: &Reference,
        panelling: &Panelling,
    ) -> Result<Self, GeometryError> {
        let panels = cut(surfaces, reference, panelling)?;
        let n = panels.panels.len();
        let size = panels
            .panels
            .iter()
            .map(|p| p.control.norm())
            .fold(reference.span_m, f64::max);
        let mut at_control = [0; 3].map(|_| DMatrix::zeros(n, n));
        let mut at_bound = at_control.clone();
        for (j, vortex) in panels.panels.iter().enumerate() {
            for (i, panel) in panels.panels.iter().enumerate() {
                let w = induced(vortex, &panel.control, size);
                let v = induced(vortex, &panel.bound_middle, size);
                for axis in 0..3 {
                    at_control[axis][(i, j)] = w[axis];
                    at_bound[axis][(i, j)] = v[axis];
                }
            }
        }
        let normals: Vec<_> = panels
            .panels
            .iter()
            .map(|p| p.normal - Vector3::x() * p.tilt)
            .collect();
        let factors = factorise(&at_control, &normals)?;
        Ok(Lattice {
            panels,
            reference: *reference,
            at_control,
            at_bound,
            normals,
            factors,
            size,
        })
    }

    /// Number of panels.
    pub fn panel_count(&self) -> usize {
        self.panels.panels.len()
    }

    /// The panels and strips.
    pub fn panels(&self) -> &Panels {
        &self.panels
    }

    /// Velocity and rates over the airspeed of a motion.
    pub(super) fn onset(&self, motion: &Motion) -> Onset {
        let (sa, ca) = (libm::sin(motion.alpha_rad), libm::cos(motion.alpha_rad));
        let (sb, cb) = (libm::sin(motion.beta_rad), libm::cos(motion.beta_rad));
        Onset {
            velocity: Vector3::new(ca * cb, sb, sa * cb),
            rates: Vector3::new(
                motion.roll_rate * 2.0 / self.reference.span_m,
                motion.pitch_rate * 2.0 / self.reference.chord_m,
                motion.yaw_rate * 2.0 / self.reference.span_m,
            ),
        }
    }

    /// The flow of a motion, tabs at their set angles.
    pub(super) fn flow(&self, onset: Onset) -> Flow {
        let panels = &self.panels.panels;
        let right = DVector::from_fn(panels.len(), |i, _| {
            -self.normals[i].dot(&onset.at(&panels[i].control))
        });
        self.with_circulation(onset, self.solve(right))
    }

    /// How the flow changes with onset and with a turn of the normals (dn = −tilt x̂), linear solves with the one factorisation.
    /// `skew` is how far the wakes turn with the sideslip, rad per unit.
    pub(super) fn change(
        &self,
        base: &Flow,
        onset: Onset,
        skew: f64,
        tilt: impl Fn(&Panel) -> f64,
    ) -> Flow {
        let panels = &self.panels.panels;
        let turning = |place: fn(&Panel) -> &Vector3<f64>| -> Vec<Vector3<f64>> {
            if skew == 0.0 {
                return vec![Vector3::zeros(); panels.len()];
            }
            panels
                .iter()
                .map(|panel| {
                    panels
                        .iter()
                        .zip(base.circulation.iter())
                        .filter(|(vortex, _)| self.same_surface(vortex, panel))
                        .map(|(vortex, g)| wake_turn_rate(vortex, place(panel)) * (g * skew))
                        .sum()
                })
                .collect()
        };
        let at_control = turning(|p| &p.control);
        let at_bound = turning(|p| &p.bound_middle);
        let right = DVector::from_fn(panels.len(), |i, _| {
            let control = &panels[i].control;
            let along = base.onset.at(control).x + base.control[0][i];
            tilt(&panels[i]) * along - self.normals[i].dot(&(onset.at(control) + at_control[i]))
        });
        let mut flow = self.with_circulation(onset, self.solve(right));
        for axis in 0..3 {
            for i in 0..panels.len() {
                flow.control[axis][i] += at_control[i][axis];
                flow.bound[axis][i] += at_bound[i][axis];
            }
        }
        flow
    }

    fn same_surface(&self, a: &Panel, b: &Panel) -> bool {
        let strips = &self.panels.strips;
        strips[a.strip].surface == strips[b.strip].surface
    }

    fn solve(&self, right: DVector<f64>) -> DVector<f64> {
        // The factorisation was found invertible when it was made.
        self.factors
            .solve(&right)
            .unwrap_or_else(|| DVector::zeros(self.panel_count()))
    }

    fn with_circulation(&self, onset: Onset, circulation: DVector<f64>) -> Flow {
        let through = |m: &[DMatrix<f64>; 3]| {
            [
                &m[0] * &circulation,
                &m[1] * &circulation,
                &m[2] * &circulation,
            ]
        };
        let (control, bound) = (through(&self.at_control), through(&self.at_bound));
        Flow {
            onset,
            circulation,
            control,
            bound,
        }
    }

    /// Coefficients of any motion, bent tabs and turned wakes included: the whole evaluation, factorised anew where those are moved.
    ///
    /// Errors: [`GeometryError::Singular`].
    pub fn loads(&self, motion: &Motion) -> Result<Loads, GeometryError> {
        let mut moved = None;
        if motion.beta_rad != 0.0 || motion.tabs_rad.iter().any(|a| *a != 0.0) {
            let mut other = self.clone();
            for (i, panel) in self.panels.panels.iter().enumerate() {
                for (per, angle) in panel.tilt_per_tab.iter().zip(&motion.tabs_rad) {
                    other.normals[i].x -= per * angle;
                }
                for (j, vortex) in self.panels.panels.iter().enumerate() {
                    if self.same_surface(vortex, panel) {
                        let w = wake_turn(vortex, &panel.control, motion.beta_rad);
                        let v = wake_turn(vortex, &panel.bound_middle, motion.beta_rad);
                        for axis in 0..3 {
                            other.at_control[axis][(i, j)] += w[axis];
                            other.at_bound[axis][(i, j)] += v[axis];
                        }
                    }
                }
            }
            other.factors = factorise(&other.at_control, &other.normals)?;
            moved = Some(other);
        }
        let flow = moved.as_ref().unwrap_or(self).flow(self.onset(motion));
        let wrench = self.wrench(&flow, &flow);
        Ok(self.coefficients(&wrench, motion.alpha_rad))
    }

    /// Force and moment over ρV²: circulation of one flow in the velocities of another.
    pub(super) fn wrench(&self, lifting: &Flow, moving: &Flow) -> (Vector3<f64>, Vector3<f64>) {
        let (mut force, mut moment) = (Vector3::zeros(), Vector3::zeros());
        let velocity = |field: &[DVector<f64>; 3], i: usize, r: &Vector3<f64>| {
            moving.onset.at(r) + Vector3::new(field[0][i], field[1][i], field[2][i])
        };
        let mut gathered = 0.0;
        let mut strip = usize::MAX;
        for (i, panel) in self.panels.panels.iter().enumerate() {
            if panel.strip != strip {
                (strip, gathered) = (panel.strip, 0.0);
            }
            let circulation = lifting.circulation[i];
            gathered += circulation;
            let place = panel.bound_middle;
            let along = panel.bound_to - panel.bound_from;
            let bound = velocity(&moving.bound, i, &place).cross(&along) * circulation;
            force += bound;
            moment += place.cross(&bound);

            let sideways =
                velocity(&moving.control, i, &panel.control).cross(&Vector3::x()) * gathered;
            for (end, length, sign) in [
                (&panel.bound_from, panel.trailing_lengths[0], 1.0),
                (&panel.bound_to, panel.trailing_lengths[1], -1.0),
            ] {
                let piece = sideways * (sign * length);
                force += piece;
                moment += (end - Vector3::x() * (0.5 * length)).cross(&piece);
            }
        }
        (force, moment)
    }

    /// Coefficients of a force and moment over ρV².
    pub(super) fn coefficients(&self, wrench: &(Vector3<f64>, Vector3<f64>), alpha: f64) -> Loads {
        let (force, moment) = wrench;
        let (sin, cos) = (libm::sin(alpha), libm::cos(alpha));
        let scale = 2.0 / self.reference.area_m2;
        let (b, c) = (self.reference.span_m, self.reference.chord_m);
        Loads {
            lift: scale * (force.x * sin - force.z * cos),
            drag: -scale * (force.x * cos + force.z * sin),
            side: scale * force.y,
            roll: scale * moment.x / b,
            pitch: scale * moment.y / c,
            yaw: scale * moment.z / b,
        }
    }

    /// Whole circulation of each strip over V, m.
    pub(super) fn strip_circulations(&self, circulation: &DVector<f64>) -> Vec<f64> {
        self.panels
            .strips
            .iter()
            .map(|s| circulation.rows(s.first_panel, s.panels).sum())
            .collect()
    }

    /// Induced drag coefficient of two strip circulations on each other, and the lift coefficient of the first, in the Trefftz plane.
    pub(super) fn far_behind(&self, first: &[f64], second: &[f64]) -> (f64, f64) {
        let ends: Vec<_> = self
            .panels
            .strips
            .iter()
            .map(|s| {
                let panel = &self.panels.panels[s.first_panel];
                (panel.bound_from, panel.bound_to)
            })
            .collect();
        let least = 1e-18 * self.size * self.size;
        let (mut drag, mut lift) = (0.0, 0.0);
        for (strip, ((a, _), gamma)) in self.panels.strips.iter().zip(ends.iter().zip(first)) {
            let (panel, width) = (&self.panels.panels[strip.first_panel], strip.width_m);
            let normal = panel.normal;
            // Normal velocity of a leg along x̂ at the strip's middle; of one that falls inside the strip the mean over it.
            let leg = |p: &Vector3<f64>| {
                let d = panel.bound_middle - p;
                let (along, off) = (d.dot(&strip.across), d.dot(&normal));
                let from = (p - a).dot(&strip.across);
                let square = along * along + off * off;
                if from > 0.02 * width && from < 0.98 * width && off.abs() < width {
                    let (far, near) = ((width - from).powi(2), from * from);
                    -libm::log((far + off * off) / (near + off * off)) / (4.0 * PI * width)
                } else if square < least {
                    0.0
                } else {
                    -along / (2.0 * PI * square)
                }
            };
            let wash: f64 = ends
                .iter()
                .zip(second)
                .map(|((p, q), g)| (leg(p) - leg(q)) * g)
                .sum();
            drag -= gamma * wash * width;
            lift += gamma * strip.across.y * strip.width_m;
        }
        let area = self.reference.area_m2;
        (drag / area, 2.0 * lift / area)
    }

    /// Velocity over V that circulations induce at a point (body axes about the reference point), one surface left out if asked.
    pub(super) fn induced_at(
        &self,
        point: &Vector3<f64>,
        circulation: &DVector<f64>,
        without: Option<usize>,
    ) -> Vector3<f64> {
        self.panels
            .panels
            .iter()
            .zip(circulation.iter())
            .filter(|(panel, _)| Some(self.panels.strips[panel.strip].surface) != without)
            .map(|(panel, gamma)| induced(panel, point, self.size) * *gamma)
            .sum()
    }

    /// Body coordinates about the reference point of a point in builder's axes, m.
    pub(super) fn body(&self, point: &BuilderPoint) -> Vector3<f64> {
        point.in_body(&self.reference.point)
    }
}

fn factorise(
    at_control: &[DMatrix<f64>; 3],
    normals: &[Vector3<f64>],
) -> Result<LU<f64, Dyn, Dyn>, GeometryError> {
    let n = normals.len();
    let matrix = DMatrix::from_fn(n, n, |i, j| {
        (0..3)
            .map(|axis| at_control[axis][(i, j)] * normals[i][axis])
            .sum()
    });
    let largest: f64 = matrix.amax();
    let factors = matrix.lu();
    let pivots = factors.u().diagonal();
    if pivots
        .iter()
        .all(|p| p.is_finite() && p.abs() > 1e-12 * largest)
    {
        Ok(factors)
    } else {
        Err(GeometryError::Singular)
    }
}

/// Velocity at `r` of a horseshoe vortex of unit circulation (MODEL.md § 17).
fn induced(vortex: &Panel, r: &Vector3<f64>, size: f64) -> Vector3<f64> {
    let least = 1e-18 * size * size;
    let r1 = r - vortex.bound_from;
    let r2 = r - vortex.bound_to;
    let (d1, d2) = (r1.norm(), r2.norm());
    let mut w = half_line(&r1, d1, least) - half_line(&r2, d2, least);
    let cross = r1.cross(&r2);
    let along = vortex.bound_to - vortex.bound_from;
    let product = d1 * d2;
    if cross.norm_squared() > least * along.norm_squared() {
        w += cross * ((d1 + d2) / (product * (product + r1.dot(&r2))));
    }
    w / (4.0 * PI)
}

/// x̂×r/(|r|(|r| + x̂·r)), by the form without cancellation on either side.
fn half_line(r: &Vector3<f64>, length: f64, least: f64) -> Vector3<f64> {
    let square = r.y * r.y + r.z * r.z;
    if square < least {
        return Vector3::zeros();
    }
    let factor = if r.x > 0.0 {
        1.0 / (length * (length + r.x))
    } else {
        (length - r.x) / (length * square)
    };
    Vector3::new(0.0, -r.z * factor, r.y * factor)
}

/// What turning its wake from body x into the sideslip adds to a unit vortex's velocity at `r`.
fn wake_turn(vortex: &Panel, r: &Vector3<f64>, beta: f64) -> Vector3<f64> {
    let turned = -Vector3::new(libm::cos(beta), libm::sin(beta), 0.0);
    let leg = |direction: &Vector3<f64>, r: Vector3<f64>| {
        let length = r.norm();
        direction.cross(&r) / (length * (length - direction.dot(&r)))
    };
    let change = |r: Vector3<f64>| leg(&turned, r) - leg(&-Vector3::x(), r);
    let [r1, r2] = from_trailing_edge(vortex, r);
    (change(r2) - change(r1)) / (4.0 * PI)
}

/// Its derivative by β at β = 0.
fn wake_turn_rate(vortex: &Panel, r: &Vector3<f64>) -> Vector3<f64> {
    let change = |r: Vector3<f64>| {
        let length = r.norm();
        let ahead = length + r.x;
        -Vector3::y().cross(&r) / (length * ahead)
            + Vector3::x().cross(&r) * (r.y / (length * ahead * ahead))
    };
    let [r1, r2] = from_trailing_edge(vortex, r);
    (change(r2) - change(r1)) / (4.0 * PI)
}

/// From where a panel's legs leave the surface to a place.
fn from_trailing_edge(vortex: &Panel, r: &Vector3<f64>) -> [Vector3<f64>; 2] {
    let [inner, outer] = vortex.to_trailing_edge;
    [
        r - vortex.bound_from + Vector3::x() * inner,
        r - vortex.bound_to + Vector3::x() * outer,
    ]
}

#[cfg(test)]
mod tests;
