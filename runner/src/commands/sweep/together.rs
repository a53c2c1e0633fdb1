//! Flights of a sweep flown side by side, where the scenario asks for lanes. A flight's bytes are those of flying it alone.

use super::fly::{Flyer, table, without_folders};
use crate::resume::recorder::Flown;
use crate::work::IN_LANES;
use scenarios::load::LoadedScenario;
use scenarios::study::PlannedFlight;
use scenarios::summary::Summed;
use sim_core::error::LaunchError;
use sim_core::flight::Flight;
use sim_core::solver::Method;
use std::ops::Range;
use std::panic::{AssertUnwindSafe, catch_unwind};

impl Flyer<'_> {
    /// How many flights are flown together: many where the scenario asks for lanes, else one. It changes no result.
    pub fn together(&self) -> u64 {
        match self.study.base.built.throw.tolerance.method {
            Method::Lanes | Method::LanesSingle => IN_LANES as u64,
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
        let throw = |k: usize| {
            let built = &to_fly[k].1.built;
            (&built.throw, &built.summary)
        };
        let done = |k: usize, summed: Result<Summed<'_>, LaunchError>| {
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
        };
        self.lanes
            .fly_in(|lanes| lanes.fly(to_fly.len(), throw, done));
        flown
            .into_iter()
            .map(|flown| flown.expect("every throw that was to be flown has landed"))
            .collect()
    }
}
