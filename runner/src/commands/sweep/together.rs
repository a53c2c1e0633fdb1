//! Flights of a sweep flown side by side, where the scenario asks for lanes. A flight's bytes are those of flying it alone.

use super::fly::{Flyer, Thrown, throw, without_folders};
use crate::resume::recorder::Flown;
use scenarios::load::LoadedScenario;
use scenarios::study::{LoadedStudy, PlannedFlight};
use scenarios::summary::{summarise, twin_of};
use sim_core::error::LaunchError;
use sim_core::flight::{Flight, Throw};
use sim_core::lanes::{Width, fly};
use sim_core::solver::Method;
use std::ops::Range;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Flights handed to the lanes at a time: several times as many as the widest has.
const IN_LANES: u64 = 64;

impl Flyer<'_> {
    /// How many flights are flown together: many where the scenario asks for lanes, else one. It changes no result.
    pub fn together(&self) -> u64 {
        match self.study.base.built.throw.tolerance.method {
            Method::Lanes | Method::LanesSingle => IN_LANES,
            Method::Dopri5 | Method::Dop853 => 1,
        }
    }

    /// Flies flights by their numbers, together.
    pub fn fly_together(&self, numbers: Range<u64>) -> Vec<Flown> {
        if numbers.end - numbers.start == 1 {
            return vec![self.fly(numbers.start)];
        }
        let planned: Vec<PlannedFlight> = numbers.map(|index| self.plan.flight(index)).collect();
        // A defect of this program in one flight must not end the others: then each is flown by itself, and its row says so.
        let thrown = catch_unwind(AssertUnwindSafe(|| side_by_side(self.study, &planned)))
            .unwrap_or_else(|_| planned.iter().map(|one| throw(self.study, one)).collect());
        let both = planned.iter().zip(&thrown);
        both.map(|(planned, thrown)| self.flown(planned, thrown))
            .collect()
    }
}

fn side_by_side(study: &LoadedStudy, planned: &[PlannedFlight]) -> Vec<Result<Thrown, String>> {
    let scenarios: Vec<Result<LoadedScenario, String>> = planned
        .iter()
        .map(|planned| study.scenario(planned).map_err(without_folders))
        .collect();
    let throws: Vec<Option<&Throw>> = scenarios
        .iter()
        .map(|scenario| scenario.as_ref().ok().map(|scenario| &scenario.built.throw))
        .collect();
    let flights = flights(&throws);
    let twins: Vec<Option<Throw>> = flights
        .iter()
        .zip(&scenarios)
        .map(|(flight, scenario)| match (flight, scenario) {
            (Some(Ok(flight)), Ok(scenario)) => twin_of(flight, &scenario.built.summary),
            _ => None,
        })
        .collect();
    let twin_throws: Vec<Option<&Throw>> = twins.iter().map(Option::as_ref).collect();
    let twin_flights = self::flights(&twin_throws);
    let flown = flights.into_iter().zip(twin_flights);
    scenarios
        .into_iter()
        .zip(flown)
        .map(|(scenario, (flight, twin))| {
            let scenario = scenario?;
            let flight = flight
                .ok_or("it was not flown")?
                .map_err(|e| e.to_string())?;
            let twin = twin.transpose().map_err(|e| e.to_string())?;
            let summary = summarise(&flight, twin.as_ref(), &scenario.built.summary);
            Ok(Thrown {
                scenario,
                flight,
                summary,
            })
        })
        .collect()
}

/// Flights of throws, in lanes where they ask for them.
fn flights(throws: &[Option<&Throw>]) -> Vec<Option<Result<Flight, LaunchError>>> {
    let mut flights: Vec<Option<Result<Flight, LaunchError>>> =
        throws.iter().map(|_| None).collect();
    for method in [Method::Lanes, Method::LanesSingle] {
        let asked = |throw: &&Throw| throw.tolerance.method == method;
        let (numbers, in_lanes): (Vec<usize>, Vec<&Throw>) = throws
            .iter()
            .enumerate()
            .filter_map(|(i, throw)| throw.filter(asked).map(|throw| (i, throw)))
            .unzip();
        let width = Width::widest(method == Method::LanesSingle);
        fly(width, &in_lanes, true, |i, landed| {
            flights[numbers[i]] = landed.map(|landed| landed.flight).transpose();
        });
    }
    for (throw, flight) in throws.iter().zip(&mut flights) {
        if let (Some(throw), None) = (throw, &flight) {
            *flight = Some(throw.fly());
        }
    }
    flights
}
