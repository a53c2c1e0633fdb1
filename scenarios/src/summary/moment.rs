//! What the summary looks at in one moment of a flight.

use super::refine::Points;
use nalgebra::Vector3;
use sim_core::events::clearance;
use sim_core::flight::{Flight, Instant, Throw, Trajectory};
use sim_core::frames::EulerAngles;
use sim_core::look::look;
use sim_core::state::MAX_MOTORS;
use std::ops::Deref;

/// A throw and what became of it.
#[derive(Clone, Copy)]
pub struct Flown<'a> {
    throw: &'a Throw,
    trajectory: &'a Trajectory,
}

impl<'a> Flown<'a> {
    pub fn new(throw: &'a Throw, trajectory: &'a Trajectory) -> Self {
        Flown { throw, trajectory }
    }

    pub fn throw(&self) -> &'a Throw {
        self.throw
    }

    /// Height of the airframe's lowest point over the ground at a time (s), m.
    pub fn clearance_at(&self, time_s: f64) -> f64 {
        let state = self.trajectory.state_at(time_s);
        clearance(&self.throw.vehicle, &self.throw.site, &state)
    }
}

impl<'a> From<&'a Flight> for Flown<'a> {
    fn from(flight: &'a Flight) -> Self {
        Flown::new(flight.throw(), flight.trajectory())
    }
}

impl Deref for Flown<'_> {
    type Target = Trajectory;
    fn deref(&self) -> &Trajectory {
        self.trajectory
    }
}

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
    pub fn at(flight: &Flown<'_>, time_s: f64) -> Self {
        Moment::of(flight.throw, &flight.at(time_s))
    }

    fn of(throw: &Throw, at: &Instant<'_>) -> Self {
        let state = &at.state;
        let seen = look(&throw.vehicle, &throw.air, at.segment, at.time_s, state);
        let ground = seen.to_earth * state.velocity;
        Moment {
            time_s: at.time_s,
            position_m: state.position,
            height_m: state.height(),
            clearance_m: clearance(&throw.vehicle, &throw.site, state),
            angles: EulerAngles::of(&seen.to_earth),
            ground_m_s: ground,
            air_m_s: ground - seen.wind,
            airspeed_m_s: seen.airspeed,
            alpha_rad: seen.alpha,
            beta_rad: seen.beta,
            rates_rad_s: seen.rates,
            rotors_rad_s: state.rotors,
            axial_m_s: seen.axial_speeds,
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

/// Times and values, storage that is used again.
pub type Values = Vec<(f64, f64)>;

/// A flight at all its looks.
#[derive(Clone, Copy)]
pub struct Trace<'a> {
    pub flight: Flown<'a>,
    pub moments: &'a [Moment],
}

impl<'a> Trace<'a> {
    /// Looks at a whole flight, into storage that is used again.
    ///
    /// # Errors
    /// The last good time (s) before a number that is not finite.
    pub fn of(flight: Flown<'a>, moments: &'a mut Vec<Moment>) -> Result<Self, f64> {
        moments.clear();
        for instant in flight.looks() {
            let moment = Moment::of(flight.throw, &instant);
            if !moment.is_finite() {
                return Err(moments.last().map_or(0.0, |last| last.time_s));
            }
            moments.push(moment);
        }
        Ok(Trace { flight, moments })
    }

    /// The looks from one time to another (s), with both of these.
    pub fn between(&self, from_s: f64, to_s: f64) -> Stretch<'a> {
        let start = self.moments.partition_point(|m| m.time_s <= from_s);
        let inside = &self.moments[start..];
        let end = inside.partition_point(|m| m.time_s < to_s);
        Stretch {
            first: Some(Moment::at(&self.flight, from_s)),
            inside: &inside[..end],
            last: (to_s > from_s).then(|| Moment::at(&self.flight, to_s)),
        }
    }

    /// All looks.
    pub fn whole(&self) -> Stretch<'a> {
        Stretch {
            first: None,
            inside: self.moments,
            last: None,
        }
    }

    /// A function at any time (s).
    pub fn value<'f>(&'f self, f: impl Fn(&Moment) -> f64 + 'f) -> impl Fn(f64) -> f64 + 'f {
        move |time_s| f(&Moment::at(&self.flight, time_s))
    }

    pub fn first(&self) -> &Moment {
        &self.moments[0]
    }

    pub fn last(&self) -> &Moment {
        &self.moments[self.moments.len() - 1]
    }
}

/// Looks of a stretch of flight, times rising.
#[derive(Clone, Copy)]
pub struct Stretch<'a> {
    first: Option<Moment>,
    inside: &'a [Moment],
    last: Option<Moment>,
}

impl Stretch<'_> {
    pub fn len(&self) -> usize {
        usize::from(self.first.is_some()) + self.inside.len() + usize::from(self.last.is_some())
    }

    pub fn moment(&self, i: usize) -> &Moment {
        let i = match &self.first {
            Some(first) if i == 0 => return first,
            Some(_) => i - 1,
            None => i,
        };
        match &self.last {
            Some(last) if i == self.inside.len() => last,
            _ => &self.inside[i],
        }
    }

    pub fn moments(&self) -> impl Iterator<Item = &Moment> {
        self.first.iter().chain(self.inside).chain(&self.last)
    }

    /// A function's values at these looks.
    pub fn of<F: Fn(&Moment) -> f64>(&self, f: F) -> Measured<'_, F> {
        Measured { stretch: self, f }
    }
}

/// A function of the moments at the looks of a stretch.
pub struct Measured<'s, F> {
    stretch: &'s Stretch<'s>,
    f: F,
}

impl<F: Fn(&Moment) -> f64> Points for Measured<'_, F> {
    fn count(&self) -> usize {
        self.stretch.len()
    }
    fn point(&self, i: usize) -> (f64, f64) {
        let moment = self.stretch.moment(i);
        (moment.time_s, (self.f)(moment))
    }
}
