//! One standard deviation of every entry of an estimated table (MODEL.md § 20.1).
//!
//! They are judgements with a stated reason, not statistics.

/// What the doubt about an estimate depends on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Doubt {
    /// Reynolds number of the main surface's mean chord.
    pub reynolds: f64,
    /// Its thickness over mean chord.
    pub thickness_ratio: f64,
    /// Share of vortex lift, 0 to 1.
    pub vortex_share: f64,
    /// Lift slope of the table, 1/rad.
    pub lift_alpha: f64,
}

/// Drag parts the doubt about the least drag is made of, as coefficients.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DragParts {
    /// Friction.
    pub friction: f64,
    /// Edges and bends.
    pub edges: f64,
    /// Module, canopy, rods.
    pub bodies: f64,
}

/// Root of the sum of squares of doubts that do not depend on each other.
pub fn together(parts: &[f64]) -> f64 {
    parts.iter().map(|p| p * p).sum::<f64>().sqrt()
}

/// Share of bodies' drag that is in doubt.
const BODY_DRAG: f64 = 0.30;

const LEVELLING_RAD: f64 = 0.3 * std::f64::consts::PI / 180.0;

impl Doubt {
    /// f_Re: 1 down to Reynolds number 4e4, growing below.
    pub fn small(&self) -> f64 {
        if self.reynolds >= 4e4 {
            1.0
        } else {
            1.0 + 0.5 * libm::log(4e4 / self.reynolds)
        }
    }

    /// f_t: 1 up to 3 % thickness, growing in proportion above.
    pub fn thick(&self) -> f64 {
        (self.thickness_ratio / 0.03).max(1.0)
    }

    /// C_Lα, 1/rad.
    pub fn lift_alpha(&self) -> f64 {
        together(&[
            0.05 * self.small() * self.thick() * self.lift_alpha,
            0.12 * self.vortex_share * self.lift_alpha,
        ])
    }

    /// C_L0.
    pub fn lift_zero(&self, value: f64) -> f64 {
        together(&[self.lift_alpha * LEVELLING_RAD * self.thick(), 0.10 * value])
    }

    /// C_mα, 1/rad.
    pub fn pitch_alpha(&self, value: f64) -> f64 {
        let place = 0.02 * self.small() * self.thick() + 0.04 * self.vortex_share;
        together(&[self.lift_alpha * place, 0.05 * value])
    }

    /// C_m0.
    pub fn pitch_zero(&self, value: f64) -> f64 {
        together(&[0.25 * self.lift_alpha * LEVELLING_RAD, 0.15 * value])
    }

    /// C_Lq, C_mq.
    pub fn pitch_rate(&self, value: f64) -> f64 {
        together(&[
            0.15 * self.thick() * value,
            0.10 * self.vortex_share * value,
        ])
    }

    /// C_Lα̇, C_mα̇.
    pub fn alpha_rate(&self, value: f64) -> f64 {
        0.35 * value.abs()
    }

    /// C_Dmin.
    pub fn drag_min(&self, parts: &DragParts) -> f64 {
        together(&[
            0.30 * parts.friction,
            0.40 * parts.edges,
            BODY_DRAG * parts.bodies,
            0.0015,
        ])
    }

    /// K; `per_suction` is its change for a suction share from 1 to 0, `suction_sigma` the doubt about that share.
    pub fn drag_factor(&self, value: f64, per_suction: f64, suction_sigma: f64) -> f64 {
        together(&[per_suction * suction_sigma, 0.05 * value])
    }

    /// C_L of least drag.
    pub fn lift_at_min_drag(&self, value: f64) -> f64 {
        together(&[0.03, 0.50 * value])
    }

    /// What bodies' drag does.
    pub fn body_drag(&self, part: f64) -> f64 {
        BODY_DRAG * part.abs()
    }

    /// What bodies' side areas do.
    pub fn body_side(&self, part: f64) -> f64 {
        0.50 * part.abs()
    }

    /// C_Yβ, C_lβ, C_nβ with the part that what is in no list may have, `least`.
    pub fn sideslip(&self, value: f64, least: f64) -> f64 {
        together(&[0.20 * value, least])
    }

    /// C_lp.
    pub fn roll_damping(&self, value: f64) -> f64 {
        0.10 * self.thick() * value.abs()
    }

    /// C_lr, C_np, C_nr, C_Yp, C_Yr.
    pub fn lateral_rate(&self, value: f64, least: f64) -> f64 {
        together(&[0.25 * value, least])
    }

    /// C_Y0, C_l0, C_n0.
    pub fn lopsided(&self, value: f64, least: f64) -> f64 {
        together(&[0.20 * value, least])
    }

    /// A tab's effect on lift and moments.
    pub fn tab(&self, value: f64) -> f64 {
        0.20 * self.small() * value.abs()
    }

    /// A tab's drag.
    pub fn tab_drag(&self, value: f64) -> f64 {
        0.50 * value.abs()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn doubt() -> Doubt {
        Doubt {
            reynolds: 8e4,
            thickness_ratio: 0.02,
            vortex_share: 0.0,
            lift_alpha: 3.6,
        }
    }

    // Issue: wider where the estimate is poor: small, thick, strong suction.
    #[test]
    fn poor_ground_widens_the_band() {
        let usual = doubt();
        let small = Doubt {
            reynolds: 1e4,
            ..usual
        };
        let thick = Doubt {
            thickness_ratio: 0.08,
            ..usual
        };
        let slender = Doubt {
            vortex_share: 1.0,
            ..usual
        };
        for poor in [small, thick, slender] {
            assert!(poor.lift_alpha() > 1.3 * usual.lift_alpha(), "{poor:?}");
            assert!(poor.pitch_alpha(-0.3) > 1.3 * usual.pitch_alpha(-0.3));
        }
    }

    // Measured flat plates lie within 10 % of lifting-surface theory (practice note, from memory): taken as two standard deviations.
    #[test]
    fn two_standard_deviations_of_the_slope_are_a_tenth() {
        assert!((2.0 * doubt().lift_alpha() / 3.6 - 0.10).abs() < 1e-12);
    }

    // Arithmetic by hand: 3-4-5.
    #[test]
    fn doubts_add_as_squares() {
        assert!((together(&[0.3, -0.4]) - 0.5).abs() < 1e-15);
    }
}
