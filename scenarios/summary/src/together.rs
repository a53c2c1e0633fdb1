//! Throws and their twins flown side by side in lanes, and summed up as they land (MODEL.md § 28.7).

use super::{
    Summariser, Summary, SummarySettings, fly_with_twin, reaches, step_time_s, twin_flying,
};
use sim_core::error::LaunchError;
use sim_core::flight::{Flying, Throw, Trajectory};
use sim_core::lanes::{Fleet, Landed, Spare, Width};
use sim_core::pilot::Programme;
use sim_core::reused::Reused;
use sim_core::solver::Method;

/// Flies throws and their twins, one lot after another, and keeps what it has allocated.
///
/// Once it has seen throws of the same kind that fly as long, flying and summing up more of them allocates nothing but for what the site names
/// (zones, walls) and reasons of failures. Flights that do not ask for lanes are flown one by one.
#[derive(Debug)]
pub struct Together {
    of_53_bits: Fleet,
    of_24_bits: Fleet,
    /// Throttle programme of each throw's twin.
    throttles: Reused<Programme>,
    /// Time limit of each throw's twin, s; none where there is no twin.
    limits_s: Vec<Option<f64>>,
    /// What has landed and waits: each throw, behind it its twin.
    landed: Vec<Option<Flown>>,
    summariser: Summariser,
}

/// What became of a throw or a twin.
type Flown = Result<Trajectory, LaunchError>;

/// A throw flown and summed up.
#[derive(Debug)]
pub struct Summed<'s> {
    /// What it came to.
    pub summary: &'s Summary,
    /// The trajectory, to be taken by who wants to keep it.
    pub trajectory: &'s mut Trajectory,
}

impl Default for Together {
    fn default() -> Self {
        Together::new()
    }
}

impl Together {
    /// In the widest lanes of this processor.
    pub fn new() -> Self {
        let fleet =
            |single| Fleet::new(Width::widest(single)).expect("a processor has its widest lanes");
        Together {
            of_53_bits: fleet(false),
            of_24_bits: fleet(true),
            throttles: Reused::default(),
            limits_s: Vec::new(),
            landed: Vec::new(),
            summariser: Summariser::new(),
        }
    }

    /// Flies and sums up throws, told by their numbers from 0, and hands over what each came to, by its number, as it lands. It is what
    /// [`super::fly_with_twin`] and [`super::summarise`] give.
    pub fn fly<'t>(
        &mut self,
        count: usize,
        throw: impl Fn(usize) -> (&'t Throw, &'t SummarySettings),
        mut done: impl FnMut(usize, Result<Summed<'_>, LaunchError>),
    ) {
        let Together {
            of_53_bits,
            of_24_bits,
            throttles,
            limits_s,
            landed,
            summariser,
        } = self;
        throttles.clear();
        limits_s.clear();
        landed.clear();
        landed.resize_with(2 * count, || None);
        for i in 0..count {
            let (thrown, settings) = throw(i);
            let twin = twin_flying(thrown, settings, throttles.add());
            limits_s.push(twin.map(|twin| twin.time_limit_s));
        }
        let flying = |n: usize| {
            let thrown = throw(n / 2).0;
            match limits_s[n / 2] {
                Some(time_limit_s) if n % 2 == 1 => Flying {
                    throw: thrown,
                    throttle: &throttles[n / 2],
                    time_limit_s,
                },
                _ => Flying::from(thrown),
            }
        };
        for (fleet, method) in [
            (of_53_bits, Method::Lanes),
            (of_24_bits, Method::LanesSingle),
        ] {
            let numbers = (0..2 * count)
                .filter(|n| throw(n / 2).0.tolerance.method == method)
                .filter(|n| n % 2 == 0 || limits_s[n / 2].is_some());
            fleet.fly(numbers, flying, true, |n, one, spare| {
                let i = n / 2;
                landed[n] = Some(one.map(whole));
                let waits_for_twin = limits_s[i].is_some() && landed[2 * i + 1].is_none();
                if landed[2 * i].is_none() || waits_for_twin {
                    return;
                }
                let (thrown, settings) = throw(i);
                let pair = (landed[2 * i].take(), landed[2 * i + 1].take());
                done_with(summariser, (thrown, settings), pair, spare, |summed| {
                    done(i, summed);
                });
            });
        }
        for i in 0..count {
            let (thrown, settings) = throw(i);
            if matches!(thrown.tolerance.method, Method::Lanes | Method::LanesSingle) {
                continue;
            }
            match fly_with_twin(thrown, settings) {
                Err(error) => done(i, Err(error)),
                Ok((flight, twin)) => {
                    let twin = twin.as_ref().map(|twin| twin.trajectory());
                    let mut trajectory = flight.into_trajectory();
                    let summary = summariser.sum_up(thrown, &trajectory, twin, settings);
                    done(
                        i,
                        Ok(Summed {
                            summary,
                            trajectory: &mut trajectory,
                        }),
                    );
                }
            }
        }
    }
}

fn whole(landed: Landed) -> Trajectory {
    landed.trajectory.expect("it was to be kept")
}

/// Sums a throw up when it and its twin, where it has one, have landed.
fn done_with(
    summariser: &mut Summariser,
    (throw, settings): (&Throw, &SummarySettings),
    (flight, twin): (Option<Flown>, Option<Flown>),
    spare: &mut Spare,
    done: impl FnOnce(Result<Summed<'_>, LaunchError>),
) {
    let Some(flight) = flight else {
        return;
    };
    let mut flight = match flight {
        Ok(flight) => flight,
        Err(error) => {
            twin.into_iter().flatten().for_each(|twin| spare.put(twin));
            return done(Err(error));
        }
    };
    let twin = match twin.transpose() {
        Ok(twin) => twin,
        // A twin that cannot start is missed only where there is something to compare it with.
        Err(error) => {
            let step_s = step_time_s(throw, settings.throttle_step_number);
            if step_s.is_some_and(|step_s| reaches(&flight, step_s)) {
                spare.put(flight);
                return done(Err(error));
            }
            None
        }
    };
    let summary = summariser.sum_up(throw, &flight, twin.as_ref(), settings);
    done(Ok(Summed {
        summary,
        trajectory: &mut flight,
    }));
    spare.put(flight);
    twin.into_iter().for_each(|twin| spare.put(twin));
}
