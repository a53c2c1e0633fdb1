//! Flights of the thrust line, pass by pass.

use scenarios::error::FileError;
use scenarios::load::LoadedScenario;
use scenarios::overrides::Override;
use scenarios::study::file::Design;
use scenarios::study::judge::meets_at;
use scenarios::study::{LoadedStudy, PlannedFlight, Purpose};
use scenarios::summary::{Summary, Summed, fly_with_twin};
use scenarios::thrustline::balanced::Mark;
use scenarios::thrustline::glide::TestGlide;
use sim_core::error::LaunchError;
use sim_core::flight::{Flight, Throw};
use std::collections::HashMap;
use std::sync::atomic::AtomicBool;
use std::sync::{Arc, Mutex};

use crate::work::{IN_LANES, IdleLanes, in_lots, thread_count};

/// One flight and what it came to.
pub struct Flown {
    /// Which pass it belongs to.
    pub pass: &'static str,
    /// What was changed for it beside the study's fields.
    pub changed: String,
    /// The angle, deg.
    pub angle_deg: f64,
    /// Point of the axes after the first, from 0: the circumstance.
    pub circumstance: usize,
    /// Sample at that angle.
    pub sample: Option<u64>,
    /// Values of the other axes' fields, then of the scattered ones; the latter not of an unscattered flight.
    pub values: Vec<f64>,
    /// How much further the tab was bent after test glides, deg; none where it was left.
    pub bend_deg: Option<f64>,
    /// The summary, or why it could not start.
    pub result: Result<Summary, String>,
    /// Conditions met.
    pub met: Vec<bool>,
    origin: Origin,
}

/// What a flight can be flown again from.
#[derive(Clone)]
struct Origin {
    study: Arc<LoadedStudy>,
    flight: Which,
}

#[derive(Clone)]
enum Which {
    /// A flight of the study's plan by its number.
    Numbered(Purpose, u64),
    /// One with further overrides.
    Own(Arc<PlannedFlight>),
}

impl Origin {
    fn planned(&self) -> PlannedFlight {
        match &self.flight {
            Which::Numbered(purpose, index) => self.study.plan(*purpose).flight(*index),
            Which::Own(flight) => (**flight).clone(),
        }
    }
}

/// What a pass is flown for.
#[derive(Clone, Copy, Debug)]
pub struct Pass {
    /// What it is called in the table.
    pub name: &'static str,
    /// What its draws are for.
    pub purpose: Purpose,
    /// Flights at each angle and circumstance.
    pub flights: u32,
    /// Whether every angle and circumstance has draws of its own.
    pub nested: bool,
    /// Whether what scatters between left and right is left out.
    pub straight: bool,
}

impl Pass {
    /// Flights to choose by, as the study's design has them.
    pub fn choose(flights: u32) -> Self {
        Pass {
            name: "choose",
            purpose: Purpose::Choose,
            flights,
            nested: false,
            straight: false,
        }
    }

    /// Flights apart from one another, to state by.
    pub fn state(flights: u32) -> Self {
        Pass {
            name: "state",
            purpose: Purpose::State,
            flights,
            nested: true,
            straight: false,
        }
    }
}

/// Whether a scattered field makes left and right differ: warp, single motors, and how the hand turns it (MODEL.md § 24).
fn is_left_right(path: &str) -> bool {
    let single_motor = path.starts_with("motors.") && !path.starts_with("motors.*");
    single_motor
        || matches!(
            path,
            "coefficients.roll_zero.value"
                | "coefficients.yaw_zero.value"
                | "coefficients.side_zero.value"
                | "launch.bank_deg"
                | "launch.nose_right_of_path_deg"
                | "launch.roll_rate_deg_s"
                | "launch.yaw_rate_deg_s"
        )
}

/// What flies.
pub struct Flyer<'a> {
    /// Where airframes are balanced; none as built.
    pub mark: Option<Mark>,
    /// How airframes are trimmed; none as built.
    pub glide: Option<TestGlide>,
    /// Threads to fly with.
    pub threads: Option<u16>,
    /// Set when interrupted.
    pub stop: &'a AtomicBool,
    /// What was found for airframes drawn before, by what was changed and the values drawn. Only speed hangs on it.
    pub known: Mutex<HashMap<Key, Prepared>>,
    /// Lanes nobody flies in at the moment.
    pub lanes: IdleLanes,
}

/// What tells drawn airframes of one study apart.
pub type Key = (String, Vec<u64>);

/// What is done to a drawn airframe before it flies.
#[derive(Clone, Default)]
pub struct Prepared {
    shift: Option<Override>,
    bend_rad: Option<f64>,
}

/// A flight to be flown.
struct Job {
    origin: Origin,
    flight: PlannedFlight,
    circumstance: usize,
    sample: Option<u64>,
    changed: String,
}

/// A flight flown again to be looked at.
pub struct Again {
    /// The scenario that was drawn.
    pub scenario: LoadedScenario,
    /// The flight.
    pub flight: Flight,
    /// Its twin, where it has one.
    pub twin: Option<Flight>,
}

/// A flight's airframe and throw as they were drawn.
struct Drawn {
    scenario: LoadedScenario,
    /// Trimmed as its builder trims it.
    throw: Throw,
    bend_deg: Option<f64>,
}

impl Flyer<'_> {
    /// Every sample of a study at some angles in every circumstance.
    pub fn scattered(
        &self,
        study: &LoadedStudy,
        angles_deg: &[f64],
        pass: Pass,
        changed: &str,
    ) -> Vec<Flown> {
        let purpose = pass.purpose;
        let mut study = study.at_values(angles_deg.to_vec(), pass.flights);
        if pass.nested {
            study.file.scatter.design = Design::Nested;
        }
        let study = Arc::new(study);
        let plan = study.plan(purpose);
        let circumstances = plan.axis_points() / (angles_deg.len() as u64).max(1);
        let jobs: Vec<Job> = (0..plan.flights())
            .map(|index| {
                let mut flight = plan.flight(index);
                let mut which = Which::Numbered(purpose, index);
                if pass.straight {
                    flight
                        .overrides
                        .retain(|change| !is_left_right(&change.path));
                    which = Which::Own(Arc::new(flight.clone()));
                }
                Job {
                    origin: Origin {
                        study: Arc::clone(&study),
                        flight: which,
                    },
                    circumstance: (flight.axis_point % circumstances) as usize,
                    sample: Some(flight.sample),
                    changed: changed.to_owned(),
                    flight,
                }
            })
            .collect();
        self.fly(&jobs, pass.name)
    }

    /// The unscattered airframe at some angles, each with further overrides, in every circumstance or one.
    pub fn unscattered(
        &self,
        study: &LoadedStudy,
        list: &[(f64, String, Vec<Override>)],
        only: Option<usize>,
    ) -> Vec<Flown> {
        let mut bare = study.clone();
        bare.file.scatter = Default::default();
        let mut jobs = Vec::new();
        for (angle_deg, changed, overrides) in list {
            let study = Arc::new(bare.at_values(vec![*angle_deg], 1));
            let plan = study.plan(Purpose::Choose);
            let wanted = |index: &u64| only.is_none_or(|one| one as u64 == *index);
            for index in (0..plan.flights()).filter(wanted) {
                let mut flight = plan.flight(index);
                flight.overrides.extend_from_slice(overrides);
                jobs.push(Job {
                    origin: Origin {
                        study: Arc::clone(&study),
                        flight: Which::Own(Arc::new(flight.clone())),
                    },
                    circumstance: index as usize,
                    sample: None,
                    changed: changed.clone(),
                    flight,
                });
            }
        }
        self.fly(&jobs, "unscattered")
    }

    fn fly(&self, jobs: &[Job], pass: &'static str) -> Vec<Flown> {
        let threads = thread_count(self.threads);
        let most = jobs.len().div_ceil(threads).clamp(1, IN_LANES);
        in_lots(jobs, most, self.threads, self.stop, |jobs| {
            self.fly_together(jobs, pass)
        })
        .into_iter()
        .flatten()
        .flatten()
        .collect()
    }

    /// Flies jobs side by side. What becomes of one does not hang on the others.
    fn fly_together(&self, jobs: &[Job], pass: &'static str) -> Vec<Flown> {
        let drawn: Vec<Result<Drawn, String>> = jobs
            .iter()
            .map(|job| self.drawn(&job.origin.study, &job.flight, &job.changed))
            .collect();
        let mut results: Vec<Result<Summary, String>> = drawn
            .iter()
            .map(|drawn| {
                drawn
                    .as_ref()
                    .map(|_| Summary::default())
                    .map_err(Clone::clone)
            })
            .collect();
        let able: Vec<(usize, &Drawn)> = drawn
            .iter()
            .enumerate()
            .filter_map(|(i, drawn)| drawn.as_ref().ok().map(|drawn| (i, drawn)))
            .collect();
        let throw = |k: usize| {
            let drawn = able[k].1;
            (&drawn.throw, &drawn.scenario.built.summary)
        };
        let done = |k: usize, summed: Result<Summed<'_>, LaunchError>| {
            results[able[k].0] = match summed {
                Ok(summed) => Ok(summed.summary.clone()),
                Err(error) => Err(error.to_string()),
            };
        };
        self.lanes
            .fly_in(|lanes| lanes.fly(able.len(), throw, done));
        let all = jobs.iter().zip(drawn).zip(results);
        all.map(|((job, drawn), result)| {
            let conditions = job.origin.study.file.conditions.iter();
            Flown {
                pass,
                changed: job.changed.clone(),
                angle_deg: job.flight.values[0],
                circumstance: job.circumstance,
                sample: job.sample,
                values: job.flight.values[1..].to_vec(),
                bend_deg: drawn.ok().and_then(|drawn| drawn.bend_deg),
                met: conditions
                    .map(|condition| {
                        let summary = result.as_ref();
                        summary.is_ok_and(|s| meets_at(condition, &job.flight.names, s))
                    })
                    .collect(),
                result,
                origin: job.origin.clone(),
            }
        })
        .collect()
    }

    /// Flies a flight again.
    ///
    /// # Errors
    /// Why it cannot start.
    pub fn again(&self, flown: &Flown) -> Result<Again, String> {
        let drawn = self.drawn(&flown.origin.study, &flown.origin.planned(), &flown.changed)?;
        let settings = &drawn.scenario.built.summary;
        let (flight, twin) =
            fly_with_twin(&drawn.throw, settings).map_err(|error| error.to_string())?;
        Ok(Again {
            scenario: drawn.scenario,
            flight,
            twin,
        })
    }

    /// What a builder does before the angle is set and the power clipped on: the same for all flights of a drawn airframe.
    fn prepared(
        &self,
        study: &LoadedStudy,
        flight: &PlannedFlight,
        changed: &str,
    ) -> Result<Prepared, String> {
        if self.mark.is_none() && self.glide.is_none() {
            return Ok(Prepared::default());
        }
        let axes = &study.file.axes;
        let along: usize = axes.iter().map(|axis| axis.along.len()).sum();
        let drawn = &flight.overrides[axes.len() + along..];
        let values = flight.values[axes.len()..].iter();
        let key = (changed.to_owned(), values.map(|x| x.to_bits()).collect());
        if let Some(known) = self.known.lock().ok().and_then(|k| k.get(&key).cloned()) {
            return Ok(known);
        }
        let load = |overrides: &[Override]| {
            let loaded = study.base.changed_by(overrides);
            loaded.map_err(|error| error.to_string())
        };
        let shift = self
            .mark
            .as_ref()
            .and_then(|mark| mark.shift(&study.base.mass_changed_by(drawn)?));
        let bend_rad = match &self.glide {
            Some(glide) => {
                let overrides: Vec<Override> = drawn.iter().chain(&shift).cloned().collect();
                glide.bend_rad(&load(&overrides)?)
            }
            None => None,
        };
        let prepared = Prepared { shift, bend_rad };
        if let Ok(mut known) = self.known.lock() {
            known.insert(key, prepared.clone());
        }
        Ok(prepared)
    }

    /// Draws a flight's airframe and throw.
    ///
    /// # Errors
    /// Why they do not make sense.
    fn drawn(
        &self,
        study: &LoadedStudy,
        flight: &PlannedFlight,
        changed: &str,
    ) -> Result<Drawn, String> {
        let prepared = self.prepared(study, flight, changed)?;
        let shifted = PlannedFlight {
            overrides: flight
                .overrides
                .iter()
                .chain(&prepared.shift)
                .cloned()
                .collect(),
            ..flight.clone()
        };
        let scenario = study
            .scenario(&shifted)
            .map_err(|error: FileError| error.to_string())?;
        let bend = self.glide.as_ref().zip(prepared.bend_rad);
        let throw = match bend {
            Some((glide, bend_rad)) => glide.bent(&scenario.built.throw, bend_rad),
            None => scenario.built.throw.clone(),
        };
        Ok(Drawn {
            bend_deg: bend.map(|(_, bend_rad)| bend_rad.to_degrees()),
            throw,
            scenario,
        })
    }
}
