//! The linear coefficient table and the attached-flow force it gives (MODEL.md § 5.1, 5.2).

use super::flow::Flow;
use crate::number::{Number, lane_data};
use crate::wrench::Wrench;
use nalgebra::{Matrix3, Vector3};

lane_data! {
    /// What one trim tab or bent edge does, per rad of its angle (drag per rad²). Angles are positive trailing edge down,
    /// on an upright surface trailing edge left.
    pub struct TabEffect<T> {
        /// C_Lδ, 1/rad.
        pub lift: T,
        /// C_Dδ, 1/rad².
        pub drag: T,
        /// C_mδ, 1/rad.
        pub pitch: T,
        /// C_Yδ, 1/rad.
        pub side: T,
        /// C_lδ, 1/rad.
        pub roll: T,
        /// C_nδ, 1/rad.
        pub yaw: T,
    }
}

lane_data! {
    /// Linear coefficients about a reference point. Angles in rad; rates made dimensionless with b/2V (p, r) and c̄/2V (q, α̇).
    ///
    /// Valid for: incidence and sideslip inside the stall angles. Source: forms of ANSI/AIAA R-004A, from memory.
    pub struct Coefficients<T> {
        /// Reference area S, m².
        pub area: T,
        /// Reference span b, m.
        pub span: T,
        /// Reference chord c̄, m.
        pub chord: T,
        /// Reference point, body axes from the balance point, m.
        pub reference: Vector3<T>,
        /// C_L0.
        pub lift_zero: T,
        /// C_Lα.
        pub lift_alpha: T,
        /// C_Lq.
        pub lift_q: T,
        /// C_Lα̇.
        pub lift_alpha_rate: T,
        /// C_Dmin.
        pub drag_min: T,
        /// K of the drag polar.
        pub drag_factor: T,
        /// C_L of least drag.
        pub lift_at_min_drag: T,
        /// C_m0.
        pub pitch_zero: T,
        /// C_mα.
        pub pitch_alpha: T,
        /// C_mq.
        pub pitch_q: T,
        /// C_mα̇.
        pub pitch_alpha_rate: T,
        /// C_Y0.
        pub side_zero: T,
        /// C_Yβ.
        pub side_beta: T,
        /// C_Yp.
        pub side_p: T,
        /// C_Yr.
        pub side_r: T,
        /// C_l0.
        pub roll_zero: T,
        /// C_lβ.
        pub roll_beta: T,
        /// C_lp.
        pub roll_p: T,
        /// C_lr.
        pub roll_r: T,
        /// C_n0.
        pub yaw_zero: T,
        /// C_nβ.
        pub yaw_beta: T,
        /// C_np.
        pub yaw_p: T,
        /// C_nr.
        pub yaw_r: T,
        /// What each tab does.
        pub tabs: Vec<TabEffect<T>>,
    }
}

/// Coefficients of one attitude, rates left out; moments about the reference point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StaticCoefficients<T> {
    /// C_L.
    pub lift: T,
    /// C_D.
    pub drag: T,
    /// C_m.
    pub pitch: T,
    /// C_Y.
    pub side: T,
    /// C_l.
    pub roll: T,
    /// C_n.
    pub yaw: T,
}

impl Coefficients<f64> {
    /// A table of nothing but its reference area (m²), span and chord (m), about the balance point: every coefficient zero.
    pub fn none(area: f64, span: f64, chord: f64) -> Self {
        Coefficients {
            area,
            span,
            chord,
            reference: Vector3::zeros(),
            lift_zero: 0.0,
            lift_alpha: 0.0,
            lift_q: 0.0,
            lift_alpha_rate: 0.0,
            drag_min: 0.0,
            drag_factor: 0.0,
            lift_at_min_drag: 0.0,
            pitch_zero: 0.0,
            pitch_alpha: 0.0,
            pitch_q: 0.0,
            pitch_alpha_rate: 0.0,
            side_zero: 0.0,
            side_beta: 0.0,
            side_p: 0.0,
            side_r: 0.0,
            roll_zero: 0.0,
            roll_beta: 0.0,
            roll_p: 0.0,
            roll_r: 0.0,
            yaw_zero: 0.0,
            yaw_beta: 0.0,
            yaw_p: 0.0,
            yaw_r: 0.0,
            tabs: Vec::new(),
        }
    }
}

impl Coefficients<f64> {
    /// Bound of |k·e| of MODEL.md § 5.2 at a density (kg/m³), for a mass (kg) and inverse inertia tensor (1/(kg m²)): how much of an
    /// acceleration the alpha-rate coefficients feed back into itself, at any incidence. Must stay well under 1.
    pub fn alpha_rate_feedback(
        &self,
        density: f64,
        mass: f64,
        inverse_inertia: &Matrix3<f64>,
    ) -> f64 {
        let (lift, moment, arm) = self.alpha_rate_bounds(density);
        lift / mass + moment * arm * inverse_inertia.norm()
    }

    /// The same where air is carried along, whatever its amount (MODEL.md § 5.4): the product of the lengths of k and of the force, each
    /// measured by the body's own mass and inertia, which the air only adds to.
    pub fn alpha_rate_feedback_with_air(
        &self,
        density: f64,
        mass: f64,
        inverse_inertia: &Matrix3<f64>,
    ) -> f64 {
        let (lift, moment, arm) = self.alpha_rate_bounds(density);
        let stiffness = inverse_inertia.norm();
        let length =
            |force: f64, moment: f64| (force * force / mass + moment * moment * stiffness).sqrt();
        length(1.0, arm) * length(lift, moment)
    }

    /// Largest lift (N) and moment (N m) about the balance point for each m/s² of σ, and the reference point's distance (m).
    fn alpha_rate_bounds(&self, density: f64) -> (f64, f64, f64) {
        let scale = 0.25 * density * self.area * self.chord;
        let arm = self.reference.norm();
        let lift = scale * self.lift_alpha_rate.abs();
        let moment = scale * self.chord * self.pitch_alpha_rate.abs() + lift * arm;
        (lift, moment, arm)
    }
}

impl<T: Number> Coefficients<T> {
    /// The static coefficients at an incidence and sideslip (rad) with the tabs at `tabs` (rad): MODEL.md § 5.1 without rates.
    #[inline(always)]
    pub fn at(&self, alpha: T, beta: T, tabs: impl Iterator<Item = T>) -> StaticCoefficients<T> {
        let mut lift = self.lift_alpha.times_plus(alpha, self.lift_zero);
        let mut pitch = self.pitch_alpha.times_plus(alpha, self.pitch_zero);
        let mut side = self.side_beta.times_plus(beta, self.side_zero);
        let mut roll = self.roll_beta.times_plus(beta, self.roll_zero);
        let mut yaw = self.yaw_beta.times_plus(beta, self.yaw_zero);
        let mut drag = self.drag_min;
        let mut tabs = tabs;
        for tab in &self.tabs {
            let Some(angle) = tabs.next() else { break };
            lift = tab.lift.times_plus(angle, lift);
            pitch = tab.pitch.times_plus(angle, pitch);
            side = tab.side.times_plus(angle, side);
            roll = tab.roll.times_plus(angle, roll);
            yaw = tab.yaw.times_plus(angle, yaw);
            drag = (tab.drag * angle).times_plus(angle, drag);
        }
        let excess = lift - self.lift_at_min_drag;
        drag = (self.drag_factor * excess).times_plus(excess, drag);
        StaticCoefficients {
            lift,
            drag,
            pitch,
            side,
            roll,
            yaw,
        }
    }

    /// Force and moment of the attached flow about the balance point, alpha-rate part left out. `tabs` yields the tab angles, rad.
    ///
    /// Equation: MODEL.md § 5.1. Nothing is divided by the airspeed.
    #[inline(always)]
    pub fn attached(&self, flow: &Flow<T>, tabs: impl Iterator<Item = T>) -> Wrench<T> {
        self.attached_with(flow, &self.at(flow.alpha, flow.beta, tabs))
    }

    /// The same with the static coefficients of that flow at hand.
    #[inline(always)]
    pub fn attached_with(&self, flow: &Flow<T>, fixed: &StaticCoefficients<T>) -> Wrench<T> {
        let rates = flow.rates;
        let (b, c) = (self.span, self.chord);
        let linear = T::constant(0.25) * flow.density * flow.airspeed * self.area;
        let pressure = T::constant(2.0) * linear * flow.airspeed;
        let side_turn = self.side_p.times_plus(rates.x, self.side_r * rates.z);
        let roll_turn = self.roll_p.times_plus(rates.x, self.roll_r * rates.z);
        let yaw_turn = self.yaw_p.times_plus(rates.x, self.yaw_r * rates.z);
        let (linear_b, linear_c) = (linear * b, linear * c);
        let lift_n = pressure.times_plus(fixed.lift, linear_c * self.lift_q * rates.y);
        let drag_n = pressure * fixed.drag;
        let side_n = pressure.times_plus(fixed.side, linear_b * side_turn);
        let moment = Vector3::new(
            b * pressure.times_plus(fixed.roll, linear_b * roll_turn),
            c * pressure.times_plus(fixed.pitch, linear_c * self.pitch_q * rates.y),
            b * pressure.times_plus(fixed.yaw, linear_b * yaw_turn),
        );
        Wrench::at(flow.force(lift_n, side_n, drag_n), &self.reference).with_moment(moment)
    }

    /// The same times the share of attached flow.
    #[inline(always)]
    pub fn attached_share(
        &self,
        flow: &Flow<T>,
        fixed: &StaticCoefficients<T>,
        share: T,
    ) -> Wrench<T> {
        if !T::FUSED {
            return self.attached_with(flow, fixed) * share;
        }
        let (p, q, r) = (flow.rates.x, flow.rates.y, flow.rates.z);
        let half_rho_v = T::constant(0.5) * flow.density * flow.airspeed;
        let area = self.area * share;
        let pressure = half_rho_v * flow.airspeed * area;
        let linear = half_rho_v * area * T::constant(0.5);
        let (across, along) = (linear * self.span, linear * self.chord);
        let (across_p, across_r) = (across * p, across * r);
        let lift_n = pressure.times_plus(fixed.lift, along * self.lift_q * q);
        let side_n = pressure.times_plus(
            fixed.side,
            self.side_p.times_plus(across_p, self.side_r * across_r),
        );
        let roll = pressure.times_plus(
            fixed.roll,
            self.roll_p.times_plus(across_p, self.roll_r * across_r),
        );
        let pitch = pressure.times_plus(fixed.pitch, along * self.pitch_q * q);
        let yaw = pressure.times_plus(
            fixed.yaw,
            self.yaw_p.times_plus(across_p, self.yaw_r * across_r),
        );
        let force = flow.force(lift_n, side_n, pressure * fixed.drag);
        let (at, f) = (&self.reference, &force);
        // The reference point's arm joined to the table's own moment.
        let moment = Vector3::new(
            at.y.times_plus(f.z, at.z.times_from(f.y, roll * self.span)),
            at.z.times_plus(f.x, at.x.times_from(f.z, pitch * self.chord)),
            at.x.times_plus(f.y, at.y.times_from(f.x, yaw * self.span)),
        );
        Wrench { force, moment }
    }

    /// Force and moment for each m/s² of σ, the alpha rate times airspeed (MODEL.md § 5.2).
    #[inline(always)]
    pub fn alpha_rate(&self, flow: &Flow<T>) -> Wrench<T> {
        let scale = T::constant(0.25) * flow.density * self.area * self.chord;
        let (sin, cos) = flow.sin_cos_alpha;
        let lift = scale * self.lift_alpha_rate;
        let pitch = scale * self.chord * self.pitch_alpha_rate;
        Wrench::at(
            Vector3::new(lift * sin, T::zero(), -lift * cos),
            &self.reference,
        ) + Wrench::pure_moment(Vector3::new(T::zero(), pitch, T::zero()))
    }
}
