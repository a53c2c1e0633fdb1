//! What the summary looks at in one moment of a flight.

use nalgebra::Vector3;
use sim_core::events::clearance;
use sim_core::flight::Flight;
use sim_core::frames::EulerAngles;
use sim_core::state::MAX_MOTORS;

/// One moment, in SI units and radians.
#[derive(Clone, Copy, Debug)]
pub struct Moment {
    pub time_s: f64,
    pub position_m: Vector3<f64>,
    pub height_m: f64,
    pub clearance_m: f64,
    pub angles: EulerAngles,
    /// Velocity over the ground, earth axes.
    pub ground_m_s: Vector3<f64>,
    /// The same less the wind at the reference point.
    pub air_m_s: Vector3<f64>,
    pub airspeed_m_s: f64,
    pub alpha_rad: f64,
    pub beta_rad: f64,
    /// Rates relative to the air.
    pub rates_rad_s: Vector3<f64>,
    pub rotors_rad_s: [f64; MAX_MOTORS],
    /// Axial speed of each disc through the air.
    pub axial_m_s: [f64; MAX_MOTORS],
    pub charge_c: f64,
}

impl Moment {
    /// A flight at a time (s).
    pub fn at(flight: &Flight, time_s: f64) -> Self {
        let (state, at) = flight.evaluation_at(time_s);
        let ground = at.to_earth * state.velocity;
        Moment {
            time_s,
            position_m: state.position,
            height_m: state.height(),
            clearance_m: clearance(&flight.throw().vehicle, &flight.throw().site, &state),
            angles: EulerAngles::of(&at.to_earth),
            ground_m_s: ground,
            air_m_s: ground - at.wind.velocity,
            airspeed_m_s: at.flow.airspeed,
            alpha_rad: at.flow.alpha,
            beta_rad: at.flow.beta,
            rates_rad_s: at.flow.rates,
            rotors_rad_s: state.rotors,
            axial_m_s: at.motors.map(|motor| motor.axial_speed),
            charge_c: state.charge,
        }
    }

    fn is_finite(&self) -> bool {
        let vectors = [
            self.position_m,
            self.ground_m_s,
            self.air_m_s,
            self.rates_rad_s,
        ];
        let numbers = [
            self.clearance_m,
            self.angles.roll_rad,
            self.angles.pitch_rad,
            self.angles.yaw_rad,
            self.airspeed_m_s,
            self.alpha_rad,
            self.beta_rad,
            self.charge_c,
        ];
        let vectors = vectors.iter().flat_map(Vector3::iter);
        let motors = self.rotors_rad_s.iter().chain(&self.axial_m_s);
        vectors.chain(motors).chain(&numbers).all(|x| x.is_finite())
    }

    /// Speed over the ground as seen from above.
    pub fn ground_speed_m_s(&self) -> f64 {
        self.ground_m_s.xy().norm()
    }

    /// Speed through the air as seen from above.
    pub fn air_speed_from_above_m_s(&self) -> f64 {
        self.air_m_s.xy().norm()
    }
}

/// A flight at all its looks.
pub struct Trace<'a> {
    pub flight: &'a Flight,
    pub moments: Vec<Moment>,
}

impl<'a> Trace<'a> {
    /// Looks at a whole flight.
    ///
    /// # Errors
    /// The last good time (s) before a number that is not finite.
    pub fn of(flight: &'a Flight) -> Result<Self, f64> {
        let mut last_good_s = 0.0;
        let mut moments: Vec<Moment> = Vec::new();
        for time_s in flight.look_times_s() {
            let moment = Moment::at(flight, time_s);
            if !moment.is_finite() {
                return Err(last_good_s);
            }
            last_good_s = time_s;
            moments.push(moment);
        }
        Ok(Trace { flight, moments })
    }

    /// A function's values at the looks from one time to another (s), with both of these.
    pub fn points(&self, from_s: f64, to_s: f64, f: impl Fn(&Moment) -> f64) -> Vec<(f64, f64)> {
        let inside = self
            .moments
            .iter()
            .filter(|m| m.time_s > from_s && m.time_s < to_s);
        let mut points = vec![(from_s, f(&Moment::at(self.flight, from_s)))];
        points.extend(inside.map(|m| (m.time_s, f(m))));
        if to_s > from_s {
            points.push((to_s, f(&Moment::at(self.flight, to_s))));
        }
        points
    }

    /// A function's values over the whole flight.
    pub fn all(&self, f: impl Fn(&Moment) -> f64) -> Vec<(f64, f64)> {
        self.moments.iter().map(|m| (m.time_s, f(m))).collect()
    }

    /// A function at any time (s).
    pub fn value<'f>(&'f self, f: impl Fn(&Moment) -> f64 + 'f) -> impl Fn(f64) -> f64 + 'f {
        move |time_s| f(&Moment::at(self.flight, time_s))
    }

    pub fn first(&self) -> &Moment {
        &self.moments[0]
    }

    pub fn last(&self) -> &Moment {
        &self.moments[self.moments.len() - 1]
    }
}
