//! What a flight without a trajectory comes to in processor time: flying it and its twin in lanes, and summing both up, one after the other;
//! and all of it together in storage that is kept, as a sweep does it.
//!
//! `cargo run --example summing_up -- [ROUNDS]`, in the profile asked about; Linux only. Times are the processor's for this thread, so that
//! other work on the machine does not count.

use scenarios::summary::{SummarySettings, Together, summarise, twin_of};
use sim_core::flight::{Flight, Throw};
use sim_core::lanes::{Width, fly};
use sim_core::solver::Method;
use std::hint::black_box;
use tossline_benches::ready;

/// Scenarios that differ in what a look costs: calm, gust in place, wind over height, turbulence, damper.
const SCENARIOS: [&str; 6] = [
    "step-in-calm",
    "step-downwind",
    "gust-on-the-climb",
    "turn-downwind-in-shear",
    "turbulent-afternoon",
    "damper-in-side-gust",
];
/// Throws flown together.
const TOGETHER: usize = 64;
/// Relative tolerance of a step, a sweep's.
const TOLERANCE: f64 = 1e-5;

/// Processor time of this thread, s.
fn processor_time_s() -> f64 {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").expect("Linux");
    let ns = text.split(' ').next().and_then(|ns| ns.parse::<f64>().ok());
    ns.expect("a count") / 1e9
}

fn flights(throws: &[&Throw]) -> Vec<Flight> {
    let mut flights: Vec<Option<Flight>> = throws.iter().map(|_| None).collect();
    fly(Width::widest(false), throws, true, |i, landed| {
        let trajectory = landed.expect("it starts").trajectory;
        flights[i] = trajectory.map(|trajectory| Flight::new(throws[i].clone(), trajectory));
    });
    flights.into_iter().flatten().collect()
}

fn main() {
    let rounds: usize = std::env::args()
        .nth(1)
        .map_or(5, |n| n.parse().expect("rounds"));
    println!(
        "{:<24}{:>7}{:>8}{:>10}{:>10}{:>10}{:>10}{:>13}",
        "per flight", "s", "steps", "fly us", "twin us", "sum us", "all us", "together us"
    );
    for name in SCENARIOS {
        let built = ready(name).built;
        let settings: SummarySettings = built.summary;
        let throws: Vec<Throw> = (0..TOGETHER)
            .map(|i| {
                let mut throw = built.throw.clone();
                throw.tolerance.method = Method::Lanes;
                throw.tolerance.relative = TOLERANCE;
                throw.launch.speed_m_s *= 1.0 + 0.0005 * i as f64;
                throw
            })
            .collect();
        let throws: Vec<&Throw> = throws.iter().collect();
        let [mut flying, mut twins, mut summing, mut together] = [f64::INFINITY; 4];
        let mut lanes = Together::new();
        let (mut length_s, mut steps) = (0.0, 0);
        for _ in 0..rounds {
            let start = processor_time_s();
            let flown = flights(&throws);
            let first = processor_time_s();
            let others: Vec<Option<Throw>> = flown
                .iter()
                .map(|flight| twin_of(flight, &settings))
                .collect();
            let landed = flights(&others.iter().flatten().collect::<Vec<_>>());
            let second = processor_time_s();
            let mut landed = landed.iter();
            for (flight, other) in flown.iter().zip(&others) {
                let twin = other.as_ref().and_then(|_| landed.next());
                black_box(summarise(flight, twin, &settings));
            }
            let third = processor_time_s();
            lanes.fly(
                throws.len(),
                |i| (throws[i], &settings),
                |_, summed| {
                    black_box(summed.expect("it starts").summary);
                },
            );
            together = together.min(processor_time_s() - third);
            flying = flying.min(first - start);
            twins = twins.min(second - first);
            summing = summing.min(third - second);
            length_s = flown.iter().map(|f| f.end_time_s).sum::<f64>();
            steps = flown.iter().map(|f| f.counts.accepted_steps).sum();
        }
        let each = 1e6 / TOGETHER as f64;
        println!(
            "{name:<24}{:>7.2}{:>8}{:>10.1}{:>10.1}{:>10.1}{:>10.1}{:>13.1}",
            length_s / TOGETHER as f64,
            steps / TOGETHER as u32,
            flying * each,
            twins * each,
            summing * each,
            (flying + twins + summing) * each,
            together * each
        );
    }
}
