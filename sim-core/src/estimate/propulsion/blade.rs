//! Thrust and power of a propeller from its geometry: blade elements and momentum (MODEL.md § 21.1).

use crate::root::false_position;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// Where the blade begins, as a share of the radius.
const ROOT_SHARE: f64 = 0.15;
/// Annuli from the root to the tip.
const ANNULI: u32 = 30;
/// Kinematic viscosity of air, m²/s.
const VISCOSITY_M2_S: f64 = 1.46e-5;
/// Half width of the change from attached to separated flow, rad.
const BLEND_RAD: f64 = 3.0 * PI / 180.0;
/// Lift at which the other side separates, as a share of this side's.
const OTHER_SIDE: f64 = -0.8;
/// Growth of section drag with lift off the camber's own.
const DRAG_OF_LIFT: f64 = 0.04;
/// Friction of both faces of a plate, Blasius, times the square root of the Reynolds number.
const BLASIUS_BOTH_FACES: f64 = 2.0 * 1.328;

/// A propeller with helical pitch and blades of even chord.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Blade {
    /// Diameter D, m.
    pub diameter_m: f64,
    /// Pitch, m per turn.
    pub pitch_m: f64,
    /// Number of blades.
    pub blades: u32,
    /// Chord, m.
    pub chord_m: f64,
    /// Its section.
    pub section: Section,
}

/// A thin cambered plate at low Reynolds number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    /// Incidence without lift, rad.
    pub zero_lift_rad: f64,
    /// Lift slope of attached flow, per rad.
    pub lift_slope: f64,
    /// Attached lift coefficient at which half of the flow has separated.
    pub separation_lift: f64,
    /// Drag at the camber's own lift over laminar friction of both faces.
    pub friction_factor: f64,
}

impl Section {
    /// Lift and drag coefficient at an incidence (rad) and a Reynolds number.
    pub fn lift_and_drag(&self, incidence_rad: f64, reynolds: f64) -> (f64, f64) {
        let from_zero = incidence_rad - self.zero_lift_rad;
        let stall = self.separation_lift / self.lift_slope;
        let step = |x: f64| 0.5 * (1.0 + libm::tanh(x / BLEND_RAD));
        let separated = (step(from_zero - stall) + step(OTHER_SIDE * stall - from_zero)).min(1.0);
        let attached = self.lift_slope * from_zero;
        let own_lift = -self.lift_slope * self.zero_lift_rad;
        let (sine, cosine) = libm::sincos(from_zero);
        let normal = 1.98 * sine / (0.56 + 0.44 * sine.abs());
        let friction = self.friction_factor * BLASIUS_BOTH_FACES / reynolds.sqrt();
        (
            (1.0 - separated) * attached + separated * normal * cosine,
            friction
                + (1.0 - separated) * DRAG_OF_LIFT * (attached - own_lift).powi(2)
                + separated * (normal * sine).abs(),
        )
    }
}

/// What one annulus adds.
struct Annulus {
    thrust: f64,
    torque: f64,
}

impl Blade {
    /// C_T and C_P at an advance ratio J ≥ 0 and a speed n·D (m/s), by the blade calculation with uniform annuli.
    ///
    /// Valid for chord Reynolds numbers of some 1e4 to 2e5. Source: MODEL.md § 21.1.
    pub fn coefficients(&self, advance_ratio: f64, turns_times_diameter_m_s: f64) -> (f64, f64) {
        let step = (1.0 - ROOT_SHARE) / f64::from(ANNULI);
        let (mut thrust, mut torque) = (0.0, 0.0);
        for i in 0..ANNULI {
            let x = ROOT_SHARE + (f64::from(i) + 0.5) * step;
            let annulus = self.annulus(x, advance_ratio, turns_times_diameter_m_s);
            thrust += annulus.thrust * step / 2.0;
            torque += annulus.torque * step / 2.0;
        }
        (thrust, TAU * torque)
    }

    fn annulus(&self, x: f64, advance_ratio: f64, turns_times_diameter_m_s: f64) -> Annulus {
        let blades = f64::from(self.blades);
        let chord = self.chord_m / self.diameter_m;
        let solidity = blades * chord / (PI * x);
        let turning = PI * x;
        let twist = libm::atan(self.pitch_m / (self.diameter_m * turning));
        let flow = libm::hypot(advance_ratio, turning) * turns_times_diameter_m_s;
        let reynolds = self.chord_m * flow / VISCOSITY_M2_S;
        // Normal and tangential coefficients, drag and Prandtl's factor at an inflow angle.
        let at = |angle: f64| {
            let (sine, cosine) = libm::sincos(angle);
            let (lift, drag) = self.section.lift_and_drag(twist - angle, reynolds);
            let exponent = blades * (1.0 - x) / (2.0 * x * sine);
            let loss = libm::acos(libm::exp(-exponent)) * 2.0 / PI;
            let normal = lift * cosine - drag * sine;
            let tangential = lift * sine + drag * cosine;
            (sine, cosine, normal, tangential, drag, loss)
        };
        let angle = false_position(1e-6, FRAC_PI_2, |angle| {
            let (sine, cosine, normal, tangential, _, loss) = at(angle);
            loss * sine * (advance_ratio * cosine - turning * sine)
                + solidity / 4.0 * (advance_ratio * tangential + turning * normal)
        });
        let (sine, cosine, normal, tangential, drag, loss) = at(angle);
        let speed = (advance_ratio * sine + turning * cosine)
            / (1.0 + solidity * drag / (4.0 * loss * sine));
        let pressure = 0.5 * speed * speed * blades * chord;
        Annulus {
            thrust: pressure * normal,
            torque: pressure * tangential * x / 2.0,
        }
    }

    /// The advance ratio without thrust; none where there is no thrust at rest.
    pub fn zero_thrust_ratio(&self, turns_times_diameter_m_s: f64) -> Option<f64> {
        let thrust = |ratio: f64| self.coefficients(ratio, turns_times_diameter_m_s).0;
        let most = 4.0 * self.pitch_m / self.diameter_m;
        (thrust(0.0) > 0.0 && thrust(most) < 0.0).then(|| false_position(0.0, most, thrust))
    }
}

/// C_P an actuator disc of the same thrust needs, thrust power included; of a windmill, its thrust power.
pub fn disc_power_coefficient(thrust_coefficient: f64, advance_ratio: f64) -> f64 {
    let through = if thrust_coefficient > 0.0 {
        let root = (advance_ratio * advance_ratio + 8.0 * thrust_coefficient / PI).sqrt();
        0.5 * (advance_ratio + root)
    } else {
        advance_ratio
    };
    thrust_coefficient * through
}

#[cfg(test)]
mod tests {
    use super::*;

    fn blade() -> Blade {
        Blade {
            diameter_m: 0.2,
            pitch_m: 0.15,
            blades: 2,
            chord_m: 0.017,
            section: Section {
                zero_lift_rad: -0.07,
                lift_slope: 5.65,
                separation_lift: 1.3,
                friction_factor: 1.8,
            },
        }
    }

    // Rankine-Froude (from memory): at rest P = T^1.5/√(2ρA), and with D 0.045 m, T 0.1 N, ρ 1.225 worked by hand 0.50659 W.
    #[test]
    fn the_disc_needs_the_textbooks_power() {
        let (diameter, turns, density) = (0.045_f64, 300.0_f64, 1.225);
        let coefficient = 0.1 / (density * turns.powi(2) * diameter.powi(4));
        let power =
            disc_power_coefficient(coefficient, 0.0) * density * turns.powi(3) * diameter.powi(5);
        assert!((power - 0.506_59).abs() < 1e-5, "{power}");
    }

    // Momentum theory bounds every blade calculation: C_P ≥ the disc's at each J with thrust; and with thrust or without, the
    // shaft power is never less than the thrust power (no perpetual motion).
    #[test]
    fn no_blade_beats_the_disc() {
        for pitch_m in [0.06, 0.15, 0.3] {
            for blades in [1, 2, 4] {
                let blade = Blade {
                    pitch_m,
                    blades,
                    ..blade()
                };
                for i in 0..=40 {
                    let ratio = f64::from(i) * 0.05;
                    let (thrust, power) = blade.coefficients(ratio, 10.0);
                    assert!(
                        power > disc_power_coefficient(thrust, ratio),
                        "{pitch_m} {blades} {ratio}"
                    );
                }
            }
        }
    }

    // A thin blade without drag and with hardly any load goes forward one pitch, less the camber's share, a turn: its zero thrust
    // lies where every section has none. With no camber that is J = p/D for all radii at once (geometry).
    #[test]
    fn a_flat_helix_without_drag_screws_itself_through_the_air() {
        let section = Section {
            zero_lift_rad: 0.0,
            friction_factor: 0.0,
            ..blade().section
        };
        let blade = Blade { section, ..blade() };
        let found = blade.zero_thrust_ratio(10.0).unwrap();
        assert!((found - 0.75).abs() < 1e-6, "{found}");
        let (thrust, power) = blade.coefficients(0.75, 10.0);
        assert!(thrust.abs() < 1e-9 && power.abs() < 1e-9);
    }

    // Without drag and with so many blades that the tip loses nothing, power at rest is the disc's times the factor for uneven
    // inflow: 1.1 to 1.2 for rotors of even chord (Leishman, Principles of Helicopter Aerodynamics, from memory), and swirl.
    #[test]
    fn induced_power_is_a_little_above_the_discs() {
        let section = Section {
            friction_factor: 0.0,
            separation_lift: 50.0,
            zero_lift_rad: 0.0,
            ..blade().section
        };
        let blade = Blade {
            blades: 40,
            chord_m: 0.017 / 20.0,
            pitch_m: 0.06,
            section,
            ..blade()
        };
        let (thrust, power) = blade.coefficients(0.0, 10.0);
        let factor = power / disc_power_coefficient(thrust, 0.0);
        assert!(factor > 1.0 && factor < 1.25, "{factor}");
    }
}
