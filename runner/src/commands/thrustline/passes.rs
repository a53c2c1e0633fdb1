//! Flights of the thrust line, counted angle by angle.

use scenarios::error::FileError;
use scenarios::overrides::Override;
use scenarios::study::judge::{Share, meets};
use scenarios::study::{LoadedStudy, PlannedFlight, Purpose};
use scenarios::summary::{Summary, fly_with_twin, summarise};
use scenarios::thrustline::glide::TestGlide;
use scenarios::thrustline::window::AtAngle;
use std::sync::atomic::AtomicBool;

use crate::work::in_parallel;

/// One flight and what it came to.
pub struct Flown {
    /// Which pass it belongs to.
    pub pass: &'static str,
    /// What was changed for it beside the study's fields.
    pub changed: String,
    /// The angle, deg.
    pub angle_deg: f64,
    /// Sample at that angle.
    pub sample: Option<u64>,
    /// Values of the scattered fields; none of an unscattered flight.
    pub values: Vec<f64>,
    /// How much further the tab was bent after test glides, deg; none where it was left.
    pub bend_deg: Option<f64>,
    /// The summary, or why it could not start.
    pub result: Result<Summary, String>,
    /// Conditions met.
    pub met: Vec<bool>,
}

impl Flown {
    /// Whether it meets all conditions.
    pub fn meets_all(&self) -> bool {
        self.result.is_ok() && self.met.iter().all(|met| *met)
    }
}

/// What flies.
pub struct Flyer<'a> {
    /// How airframes are trimmed; none as built.
    pub glide: Option<TestGlide>,
    /// Threads to fly with.
    pub threads: Option<u16>,
    /// Set when interrupted.
    pub stop: &'a AtomicBool,
}

/// A flight to be flown.
struct Job<'a> {
    study: &'a LoadedStudy,
    flight: PlannedFlight,
    angle_deg: f64,
    sample: Option<u64>,
    changed: String,
}

impl Flyer<'_> {
    /// Every sample of a study at some angles.
    pub fn scattered(
        &self,
        study: &LoadedStudy,
        angles_deg: &[f64],
        flights: u32,
        purpose: Purpose,
        changed: &str,
    ) -> Vec<Flown> {
        let study = study.at_values(angles_deg.to_vec(), flights);
        let plan = study.plan(purpose);
        let jobs: Vec<Job<'_>> = (0..plan.flights())
            .map(|index| {
                let flight = plan.flight(index);
                Job {
                    study: &study,
                    angle_deg: flight.values[0],
                    sample: Some(flight.sample),
                    changed: changed.to_owned(),
                    flight,
                }
            })
            .collect();
        let pass = match purpose {
            Purpose::Choose => "choose",
            Purpose::State => "state",
        };
        self.fly(&jobs, pass)
    }

    /// The unscattered airframe at some angles, each with further overrides.
    pub fn unscattered(
        &self,
        study: &LoadedStudy,
        list: &[(f64, String, Vec<Override>)],
    ) -> Vec<Flown> {
        let mut bare = study.clone();
        bare.file.scatter = Default::default();
        let jobs: Vec<Job<'_>> = list
            .iter()
            .map(|(angle_deg, changed, overrides)| {
                let mut flight = bare
                    .at_values(vec![*angle_deg], 1)
                    .plan(Purpose::Choose)
                    .flight(0);
                flight.overrides.extend_from_slice(overrides);
                Job {
                    study: &bare,
                    flight,
                    angle_deg: *angle_deg,
                    sample: None,
                    changed: changed.clone(),
                }
            })
            .collect();
        self.fly(&jobs, "unscattered")
    }

    fn fly(&self, jobs: &[Job<'_>], pass: &'static str) -> Vec<Flown> {
        let one = |job: &Job<'_>| {
            let scattered = if job.sample.is_some() {
                &job.flight.values[1..]
            } else {
                &[]
            };
            let mut flown = Flown {
                pass,
                changed: job.changed.clone(),
                angle_deg: job.angle_deg,
                sample: job.sample,
                values: scattered.to_vec(),
                bend_deg: None,
                result: Err(String::new()),
                met: vec![false; job.study.file.conditions.len()],
            };
            match self.summary(job) {
                Ok((summary, bend_deg)) => {
                    let conditions = job.study.file.conditions.iter();
                    flown.met = conditions.map(|c| meets(c, &summary)).collect();
                    flown.bend_deg = bend_deg;
                    flown.result = Ok(summary);
                }
                Err(reason) => flown.result = Err(reason),
            }
            flown
        };
        in_parallel(jobs, self.threads, self.stop, one)
            .into_iter()
            .flatten()
            .collect()
    }

    fn summary(&self, job: &Job<'_>) -> Result<(Summary, Option<f64>), String> {
        let scenario = job
            .study
            .scenario(&job.flight)
            .map_err(|error: FileError| error.to_string())?;
        let built = &scenario.built;
        let bend = self
            .glide
            .as_ref()
            .and_then(|glide| Some((glide, glide.bend_rad(&scenario)?)));
        let throw = match bend {
            Some((glide, bend_rad)) => glide.bent(&built.throw, bend_rad),
            None => built.throw.clone(),
        };
        let (flight, twin) =
            fly_with_twin(&throw, &built.summary).map_err(|error| error.to_string())?;
        let summary = summarise(&flight, twin.as_ref(), &built.summary);
        Ok((summary, bend.map(|(_, bend_rad)| bend_rad.to_degrees())))
    }
}

/// Flights counted angle by angle, angles rising.
pub fn counted(flown: &[&Flown], confidence_fraction: f64) -> Vec<AtAngle> {
    let mut angles: Vec<f64> = flown.iter().map(|one| one.angle_deg).collect();
    angles.sort_by(f64::total_cmp);
    angles.dedup();
    angles
        .into_iter()
        .map(|angle_deg| {
            let here = flown.iter().filter(|one| one.angle_deg == angle_deg);
            let of = here.clone().count() as u64;
            let count = here.filter(|one| one.meets_all()).count() as u64;
            AtAngle {
                angle_deg,
                meets: Share::new(count, of, confidence_fraction),
            }
        })
        .collect()
}
