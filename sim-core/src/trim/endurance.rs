//! How long the cell lasts at a throttle and in level flight (MODEL.md § 10.1).

use super::{Power, SteadyFlight, TrimConditions, Trimmer};
use crate::error::TrimError;
use gauss_quad::GaussLegendre;
use std::num::NonZeroUsize;

/// Why it does not last longer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EnduranceEnd {
    /// The voltage under load reached the driver's cut-off.
    CutOff,
    /// No charge was left.
    Empty,
    /// Level flight came to need more than full throttle.
    NotEnoughPower,
    /// There is no steady flight any more.
    NoSteadyFlight,
    /// Nothing draws current: it lasts for ever.
    Never,
}

impl EnduranceEnd {
    /// The word for it in files and tables.
    pub fn word(self) -> &'static str {
        match self {
            EnduranceEnd::CutOff => "cut_off",
            EnduranceEnd::Empty => "empty",
            EnduranceEnd::NotEnoughPower => "not_enough_power",
            EnduranceEnd::NoSteadyFlight => "no_steady_flight",
            EnduranceEnd::Never => "never",
        }
    }
}

/// How long, and why no longer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Endurance {
    /// From the charge asked for to the end, s; infinite for [`EnduranceEnd::Never`].
    pub time_s: f64,
    /// Charge taken in that time, C.
    pub charge_used_c: f64,
    /// What ended it.
    pub ended_by: EnduranceEnd,
}

/// Points of the quadrature between two knots of the cell's table.
const POINTS: NonZeroUsize = NonZeroUsize::new(4).unwrap();
/// How closely the end is looked for, in charge fraction.
const END_RESOLUTION: f64 = 1e-7;

impl Trimmer<'_> {
    /// How long the cell lasts in a steady flight found by this trimmer, from its charge on, at the same throttle.
    ///
    /// Quasi-steady: the aircraft flies the steady flight of every charge in turn. Heat is left out: a small motor may not live that long.
    pub fn endurance_at_throttle(
        &self,
        steady: &SteadyFlight,
        cut_off_voltage_v: Option<f64>,
    ) -> Endurance {
        let throttle = steady.throttle_fraction;
        self.endurance(steady, cut_off_voltage_v, |at, from| {
            // From the neighbouring charge first; all the way from the glide where that is too far.
            at.continued(from, throttle, 0.0)
                .or_else(|_| at.power(throttle))
                .map_err(|_| EnduranceEnd::NoSteadyFlight)
        })
    }

    /// How long level flight lasts, with the throttle it takes at every charge: as [`Trimmer::endurance_at_throttle`].
    pub fn endurance_in_level_flight(
        &self,
        steady: &SteadyFlight,
        cut_off_voltage_v: Option<f64>,
    ) -> Endurance {
        self.endurance(steady, cut_off_voltage_v, |at, from| {
            let guess = at.unknowns(from).push(from.throttle_fraction);
            // Beyond full throttle the duty is held, and what is found is no level flight of this airframe.
            let near = at.solve(Power::Level, 0.0, guess);
            let near = near.ok().filter(|level| level.throttle_fraction <= 1.0);
            near.map_or_else(|| at.level(), Ok)
                .map_err(|error| match error {
                    TrimError::NotEnoughPower { .. } => EnduranceEnd::NotEnoughPower,
                    _ => EnduranceEnd::NoSteadyFlight,
                })
        })
    }

    fn with_charge(&self, charge_fraction: f64) -> Self {
        self.with_conditions(TrimConditions {
            charge_fraction,
            ..self.conditions.clone()
        })
    }

    fn endurance(
        &self,
        start: &SteadyFlight,
        cut_off_voltage_v: Option<f64>,
        next: impl Fn(&Self, &SteadyFlight) -> Result<SteadyFlight, EnduranceEnd>,
    ) -> Endurance {
        let cell = &self.vehicle.cell;
        let below = |at: &Self, steady: &SteadyFlight| {
            cut_off_voltage_v
                .is_some_and(|voltage_v| at.evaluation(steady).cell_voltage < voltage_v)
        };
        let look = |charge: f64, from: &SteadyFlight| {
            let at = self.with_charge(charge);
            let steady = next(&at, from)?;
            if below(&at, &steady) {
                return Err(EnduranceEnd::CutOff);
            }
            let current_a = at.evaluation(&steady).rate.charge;
            Ok((steady, current_a))
        };
        let full = self.conditions.charge_fraction;
        let mut whole = Endurance {
            time_s: 0.0,
            charge_used_c: 0.0,
            ended_by: EnduranceEnd::Empty,
        };
        if below(self, start) {
            whole.ended_by = EnduranceEnd::CutOff;
            return whole;
        }
        let rule = GaussLegendre::new(POINTS);
        let knots = cell.open_voltage.knots.iter().rev().copied();
        let (mut high, mut last) = (full, start.clone());
        for knot in knots.filter(|&knot| knot < full) {
            let (mut low, mut reason) = (knot, None);
            match look(knot, &last) {
                Ok(_) => {}
                Err(ended) => {
                    // The last charge at which it still flies, between the knots.
                    let (mut flies, mut not) = (high, knot);
                    let mut from = last.clone();
                    reason = Some(ended);
                    while flies - not > END_RESOLUTION {
                        let middle = 0.5 * (flies + not);
                        match look(middle, &from) {
                            Ok((steady, _)) => (flies, from) = (middle, steady),
                            Err(ended) => (not, reason) = (middle, Some(ended)),
                        }
                    }
                    low = flies;
                }
            }
            let mut from = last.clone();
            let mut never = false;
            whole.time_s += rule.integrate(low, high, |charge| match look(charge, &from) {
                Ok((steady, current_a)) => {
                    never |= current_a <= 0.0;
                    from = steady;
                    cell.capacity / current_a
                }
                // Between two charges that fly; not reached but for rounding at the ends.
                Err(_) => 0.0,
            });
            whole.charge_used_c += (high - low) * cell.capacity;
            if never {
                return Endurance {
                    time_s: f64::INFINITY,
                    charge_used_c: 0.0,
                    ended_by: EnduranceEnd::Never,
                };
            }
            if let Some(ended_by) = reason {
                return Endurance { ended_by, ..whole };
            }
            if let Ok((steady, _)) = look(knot, &from) {
                last = steady;
            }
            high = knot;
        }
        whole
    }
}
