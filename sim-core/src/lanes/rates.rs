//! Rates of states side by side, as the steps of [`super::fly`] work them out: for checks and for benches.

use super::Width;
#[cfg(all(target_arch = "x86_64", not(test)))]
use super::intrinsics::{Eight, EightSingle, Four, SixteenSingle};
use super::number::Lanes;
use super::register::{One, OneSingle, Register};
use super::step::{Flown, Rows, rates_at};
use crate::air::Air;
use crate::number::{Number, Widen};
use crate::parts::{Constants, Parts};
use crate::segment::Segment;
use crate::state::{STATE_LENGTH, State};
use crate::vehicle::Vehicle;
use num_traits::Zero;

/// What is flown side by side; lane i has the entries i modulo their number.
#[derive(Clone, Copy, Debug)]
pub struct Beside<'a> {
    /// Vehicles, all of one shape.
    pub vehicles: &'a [Vehicle<f64>],
    /// As many airs, all of one shape.
    pub airs: &'a [Air<f64>],
    /// Controls.
    pub segments: &'a [Segment<f64>],
    /// What is worked out.
    pub parts: Parts,
}

/// The right-hand side in lanes of one width.
pub trait Rates {
    /// Puts times (s) and states into the lanes; lane i has the entries i modulo their number.
    fn put(&mut self, times_s: &[f64], states: &[State<f64>]);
    /// Works out the rates of all lanes. Allocates nothing.
    fn work_out(&mut self);
    /// The rate in one lane.
    fn rate(&self, lane: usize) -> State<f64>;
}

struct InLanes<R: Register> {
    flown: Flown<R>,
    time: Lanes<R>,
    rows: Rows<R>,
    rates: Rows<R>,
}

/// The right-hand side at a width; none where the processor does not have it.
///
/// # Panics
/// Where the vehicles or airs differ in shape.
pub fn rates(width: Width, beside: &Beside<'_>) -> Option<Box<dyn Rates>> {
    if !width.is_here() {
        return None;
    }
    Some(match width {
        #[cfg(all(target_arch = "x86_64", not(test)))]
        Width::Four => in_lanes::<Four>(beside),
        #[cfg(all(target_arch = "x86_64", not(test)))]
        Width::Eight => in_lanes::<Eight>(beside),
        #[cfg(all(target_arch = "x86_64", not(test)))]
        Width::EightSingle => in_lanes::<EightSingle>(beside),
        #[cfg(all(target_arch = "x86_64", not(test)))]
        Width::SixteenSingle => in_lanes::<SixteenSingle>(beside),
        Width::OneSingle => in_lanes::<OneSingle>(beside),
        _ => in_lanes::<One>(beside),
    })
}

fn in_lanes<R: Register>(beside: &Beside<'_>) -> Box<dyn Rates> {
    let both = beside.vehicles.iter().zip(beside.airs);
    let constants: Vec<_> = both
        .map(|(vehicle, air)| Constants::of(vehicle, air))
        .collect();
    Box::new(InLanes::<R> {
        flown: Flown {
            vehicle: Vehicle::widen(&beside.vehicles.iter().collect::<Vec<_>>()),
            constants: Constants::widen(&constants.iter().collect::<Vec<_>>()),
            air: Air::widen(&beside.airs.iter().collect::<Vec<_>>()),
            segment: Segment::widen(&beside.segments.iter().collect::<Vec<_>>()),
            parts: beside.parts,
        },
        time: Lanes::zero(),
        rows: [Lanes::zero(); STATE_LENGTH],
        rates: [Lanes::zero(); STATE_LENGTH],
    })
}

impl<R: Register> Rates for InLanes<R> {
    fn put(&mut self, times_s: &[f64], states: &[State<f64>]) {
        for lane in 0..R::WIDTH {
            self.time.put_lane(lane, times_s[lane % times_s.len()]);
            let row = states[lane % states.len()].to_array();
            for (wide, value) in self.rows.iter_mut().zip(row) {
                wide.put_lane(lane, value);
            }
        }
    }

    fn work_out(&mut self) {
        rates_at(&self.flown, self.time, &self.rows, &mut self.rates);
    }

    fn rate(&self, lane: usize) -> State<f64> {
        State::from_array(&self.rates.map(|rate| rate.lane(lane)))
    }
}
