//! Flights of a sweep flown side by side, where the scenario asks for lanes. A flight's bytes are those of flying it alone.

use super::fly::{Flyer, table, without_folders};
use crate::resume::recorder::Flown;
use scenarios::load::LoadedScenario;
use scenarios::study::PlannedFlight;
use scenarios::summary::{Summed, Together};
use sim_core::flight::Flight;
use sim_core::solver::Method;
use std::ops::Range;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::PoisonError;

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
        catch_unwind(AssertUnwindSafe(|| self.side_by_side(&planned)))
            .unwrap_or_else(|_| planned.iter().map(|one| self.fly_alone(one)).collect())
    }

    fn side_by_side(&self, planned: &[PlannedFlight]) -> Vec<Flown> {
        let scenarios: Vec<Result<LoadedScenario, String>> = planned
            .iter()
            .map(|planned| self.study.scenario(planned).map_err(without_folders))
            .collect();
        let (mut flown, mut to_fly) = (Vec::new(), Vec::new());
        for (i, scenario) in scenarios.iter().enumerate() {
            flown.push(match scenario {
                Err(reason) => Some(self.flown(&planned[i], Err(reason.clone()), || None)),
                Ok(scenario) => {
                    to_fly.push((i, scenario));
                    None
                }
            });
        }
        let mut lanes = self.idle_lanes();
        let throw = |k: usize| {
            let built = &to_fly[k].1.built;
            (&built.throw, &built.summary)
        };
        lanes.fly(to_fly.len(), throw, |k, summed| {
            let (i, scenario) = to_fly[k];
            let one = &planned[i];
            flown[i] = Some(match summed {
                Err(error) => self.flown(one, Err(error.to_string()), || None),
                Ok(Summed {
                    summary,
                    trajectory,
                }) => self.flown(one, Ok(summary), || {
                    let throw = scenario.built.throw.clone();
                    let flight = Flight::new(throw, std::mem::take(trajectory));
                    table(scenario, &flight)
                }),
            });
        });
        self.lanes
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .push(lanes);
        flown
            .into_iter()
            .map(|flown| flown.expect("every throw that was to be flown has landed"))
            .collect()
    }

    fn idle_lanes(&self) -> Together {
        let mut lanes = self.lanes.lock().unwrap_or_else(PoisonError::into_inner);
        lanes.pop().unwrap_or_default()
    }
}
