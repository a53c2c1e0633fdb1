//! What happens on the way: ground, wall, hall, empty cell, gust edges, apex (MODEL.md § 9).

use crate::air::Air;
use crate::frames::rotation;
use crate::root::bisect;
use crate::site::{Hall, PlanPoint, Site, Wall};
use crate::solver::{Piece, Row};
use crate::state::State;
use crate::vehicle::Vehicle;
use nalgebra::Vector3;

/// Parts a step is looked at in for changes of sign.
pub const LOOKS_PER_STEP: usize = 8;

/// Something to watch for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Event {
    /// The lowest point reaches the ground.
    Ground,
    /// The foremost point reaches wall `0`-based i.
    Wall(usize),
    /// The airframe reaches a wall of the hall.
    Hall,
    /// It reaches the hall's ceiling.
    Ceiling,
    /// No charge is left.
    CellEmpty,
    /// The reference point enters or leaves gust i.
    GustEdge(usize),
}

/// A flight's surroundings, as far as events need them.
#[derive(Clone, Copy, Debug)]
pub struct Watch<'a> {
    /// The vehicle.
    pub vehicle: &'a Vehicle<f64>,
    /// The air.
    pub air: &'a Air<f64>,
    /// The site.
    pub site: &'a Site,
}

impl Watch<'_> {
    /// All events of this flight.
    pub fn events(&self) -> impl Iterator<Item = Event> + '_ {
        let gusts = self.air.gusts.iter().enumerate();
        let hall = self.site.hall.iter();
        [Event::Ground, Event::CellEmpty]
            .into_iter()
            .chain((0..self.site.walls.len()).map(Event::Wall))
            .chain(hall.flat_map(|_| [Event::Hall, Event::Ceiling]))
            .chain(
                gusts
                    .filter(|(_, gust)| !gust.is_in_time())
                    .map(|(i, _)| Event::GustEdge(i)),
            )
    }

    /// Value that is positive before the event and negative after it. `gusts_on` says on which side of its edge each gust is.
    fn value(&self, event: Event, gusts_on: &[f64], time_s: f64, row: &Row) -> f64 {
        let state = State::from_array(row);
        match event {
            Event::Ground => clearance(self.vehicle, self.site, &state),
            Event::Wall(i) => wall_distance(self.vehicle, &self.site.walls[i], &state),
            Event::Hall => hall_clearance(self.vehicle, self.hall(), &state).0,
            Event::Ceiling => ceiling_clearance(self.vehicle, self.hall(), &state),
            Event::CellEmpty => self.vehicle.cell.capacity - state.charge,
            Event::GustEdge(i) => {
                let inside = self.depth_in_gust(i, time_s, &state);
                if gusts_on[i] > 0.5 { inside } else { -inside }
            }
        }
    }

    fn hall(&self) -> &Hall {
        let hall = self.site.hall.as_ref();
        hall.expect("a hall's events are watched only where there is one")
    }

    /// How far the reference point is inside gust i's pulse (m), negative outside.
    pub fn depth_in_gust(&self, i: usize, time_s: f64, state: &State<f64>) -> f64 {
        let place =
            state.position + rotation(&state.attitude) * self.vehicle.coefficients.reference;
        let gust = &self.air.gusts[i];
        let past = gust.past_start(&self.air.carrier(), &place, time_s);
        past.min(gust.length - past)
    }

    /// Whether a step's end lies beyond an event.
    pub fn beyond_any(&self, events: &[Event], gusts_on: &[f64], time_s: f64, row: &Row) -> bool {
        events
            .iter()
            .any(|&event| self.value(event, gusts_on, time_s, row) < 0.0)
    }

    /// The first event in a piece, with its time (s).
    pub fn first(&self, events: &[Event], gusts_on: &[f64], piece: &Piece) -> Option<(f64, Event)> {
        self.first_between(events.iter().copied(), gusts_on, looks(piece), |time_s| {
            piece.at(time_s)
        })
    }

    /// The first event between looks at a solution, with its time (s).
    pub fn first_between(
        &self,
        events: impl Iterator<Item = Event> + Clone,
        gusts_on: &[f64],
        mut looks: impl Iterator<Item = (f64, f64)>,
        at: impl Fn(f64) -> Row,
    ) -> Option<(f64, Event)> {
        looks.find_map(|(before, after)| {
            let row = at(after);
            events
                .clone()
                .filter(|&event| self.value(event, gusts_on, after, &row) < 0.0)
                .map(|event| {
                    let value = |t: f64| self.value(event, gusts_on, t, &at(t));
                    (bisect(before, after, value), event)
                })
                .min_by(|a, b| a.0.total_cmp(&b.0))
        })
    }
}

/// Times between which a piece is looked at, in order.
pub fn looks(piece: &Piece) -> impl Iterator<Item = (f64, f64)> + '_ {
    let steps = piece.step_times_s.windows(2);
    steps.flat_map(|step| looks_at_step(step[0], step[1]))
}

/// The same of one step from a time to another (s).
pub fn looks_at_step(start_s: f64, end_s: f64) -> impl Iterator<Item = (f64, f64)> {
    let part = (end_s - start_s) / LOOKS_PER_STEP as f64;
    (0..LOOKS_PER_STEP).map(move |i| {
        let end = if i + 1 == LOOKS_PER_STEP {
            end_s
        } else {
            start_s + part * (i + 1) as f64
        };
        (start_s + part * i as f64, end)
    })
}

/// Height of the airframe's lowest point over the site's ground, m.
pub fn clearance(vehicle: &Vehicle<f64>, site: &Site, state: &State<f64>) -> f64 {
    let down = rotation(&state.attitude).transpose() * Vector3::z();
    state.height() - vehicle.reach(&down) - site.ground_height_m
}

/// Distance of the airframe's foremost point from a wall, m.
pub fn wall_distance(vehicle: &Vehicle<f64>, wall: &Wall, state: &State<f64>) -> f64 {
    let (sin, cos) = libm::sincos(wall.heading_rad);
    let towards = Vector3::new(cos, sin, 0.0);
    wall.distance_m - state.position.dot(&towards) - reach_towards(vehicle, state, &towards)
}

/// How far the airframe is from the nearest of a hall's walls (m), negative through it, and which wall.
pub fn hall_clearance(vehicle: &Vehicle<f64>, hall: &Hall, state: &State<f64>) -> (f64, usize) {
    let at: PlanPoint = state.position.xy();
    hall.clearance(&at, |towards| {
        reach_towards(vehicle, state, &Vector3::new(towards.x, towards.y, 0.0))
    })
}

/// Distance of the airframe's highest point from a hall's ceiling, m.
pub fn ceiling_clearance(vehicle: &Vehicle<f64>, hall: &Hall, state: &State<f64>) -> f64 {
    hall.ceiling_m - state.height() - reach_towards(vehicle, state, &-Vector3::z())
}

/// How far the airframe reaches from its balance point in a direction (unit vector, earth axes), m.
fn reach_towards(vehicle: &Vehicle<f64>, state: &State<f64>, towards: &Vector3<f64>) -> f64 {
    vehicle.reach(&(rotation(&state.attitude).transpose() * towards))
}
