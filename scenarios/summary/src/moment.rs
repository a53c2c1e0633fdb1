//! What the summary looks at in one moment of a flight.

use super::refine::Points;
use sim_core::events::clearance;
use sim_core::flight::{Flight, Throw, Trajectory};
use sim_core::look::Moment;
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

    /// One look at a time (s).
    pub fn moment_at(&self, time_s: f64) -> Moment {
        Moment::of(self.throw, &self.trajectory.at(time_s))
    }

    /// Time (s) and elevation of body x (rad) at every look.
    pub fn pitches(&self) -> impl Iterator<Item = (f64, f64)> + use<'a> {
        let on_the_way = self.trajectory.moments();
        let trajectory = self.trajectory;
        let to_be_asked = on_the_way.is_empty().then(|| {
            let times_s = trajectory.look_times();
            times_s.map(move |time_s| (time_s, trajectory.pitch_at(time_s)))
        });
        on_the_way
            .iter()
            .map(|moment| (moment.time_s, moment.pitch_rad))
            .chain(to_be_asked.into_iter().flatten())
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

/// Times and values, storage that is used again.
pub type Values = Vec<(f64, f64)>;

/// A flight at all its looks.
#[derive(Clone, Copy)]
pub struct Trace<'a> {
    pub flight: Flown<'a>,
    pub moments: &'a [Moment],
}

impl<'a> Trace<'a> {
    /// Looks at a whole flight, into storage that is used again, where that was not done on the way.
    ///
    /// # Errors
    /// The last good time (s) before a number that is not finite.
    pub fn of(flight: Flown<'a>, moments: &'a mut Vec<Moment>) -> Result<Self, f64> {
        let on_the_way = flight.trajectory.moments();
        let looks = if on_the_way.is_empty() {
            moments.clear();
            for instant in flight.looks() {
                moments.push(Moment::of(flight.throw, &instant));
            }
            moments
        } else {
            on_the_way
        };
        match looks.iter().position(|moment| !moment.is_finite()) {
            Some(0) => Err(0.0),
            Some(i) => Err(looks[i - 1].time_s),
            None => Ok(Trace {
                flight,
                moments: looks,
            }),
        }
    }

    /// The looks from one time to another (s), with both of these.
    pub fn between(&self, from_s: f64, to_s: f64) -> Stretch<'a> {
        let start = self.moments.partition_point(|m| m.time_s <= from_s);
        let inside = &self.moments[start..];
        let end = inside.partition_point(|m| m.time_s < to_s);
        Stretch {
            first: Some(self.flight.moment_at(from_s)),
            inside: &inside[..end],
            last: (to_s > from_s).then(|| self.flight.moment_at(to_s)),
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
        move |time_s| f(&self.flight.moment_at(time_s))
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
