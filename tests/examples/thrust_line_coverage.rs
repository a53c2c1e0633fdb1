//! How often the intervals of small runs hold the share of a much larger one: an angle, a study file, both from the command line.
//! `cargo run -p tossline-tests --example thrust_line_coverage -- scenarios/studies/thrust-line-dunlin.json -14`

use scenarios::study::file::Design;
use scenarios::study::judge::{Share, meets_at};
use scenarios::study::{LoadedStudy, PlannedFlight, Purpose, load_study};
use scenarios::summary::{fly_with_twin, summarise};
use scenarios::thrustline::balanced::Mark;
use scenarios::thrustline::glide::TestGlide;

/// Small runs, flights of each a circumstance, and how many times that the large run has.
const RUNS: u32 = 20;
const FLIGHTS: u32 = 8;
const TIMES: u32 = 40;

fn main() {
    let mut arguments = std::env::args().skip(1);
    let (Some(path), Some(angle)) = (arguments.next(), arguments.next()) else {
        eprintln!("wanted: a study file and an angle in degrees");
        return;
    };
    let angle_deg: f64 = angle.parse().expect("an angle");
    let study = load_study(path, &[]).expect("a study");
    let large = share(&study, angle_deg, 1000, FLIGHTS * TIMES);
    println!("large run: {large:?}");
    let counted = large.share_fraction.expect("flights");
    let mut held = 0;
    for seed in 1..=RUNS {
        let small = share(&study, angle_deg, seed, FLIGHTS);
        let holds = small.low_fraction <= counted && counted <= small.high_fraction;
        held += u32::from(holds);
        println!(
            "seed {seed}: {} of {}, {:.3} to {:.3}",
            small.count, small.of, small.low_fraction, small.high_fraction
        );
    }
    println!("{held} of {RUNS} intervals hold the large run's share");
}

fn share(study: &LoadedStudy, angle_deg: f64, seed: u32, flights: u32) -> Share {
    let mut study = study.at_values(vec![angle_deg], flights);
    study.file.seed = seed;
    study.file.scatter.design = Design::Nested;
    let plan = study.plan(Purpose::State);
    let (mark, glide) = (Mark::of(&study.base), TestGlide::of(&study.base));
    let good = (0..plan.flights())
        .filter(|&i| is_good(&study, &plan.flight(i), mark.as_ref(), glide.as_ref()));
    Share::new(
        good.count() as u64,
        plan.flights(),
        study.file.confidence_fraction,
    )
}

fn is_good(
    study: &LoadedStudy,
    flight: &PlannedFlight,
    mark: Option<&Mark>,
    glide: Option<&TestGlide>,
) -> bool {
    let Ok(drawn) = study.scenario(flight) else {
        return false;
    };
    let mass = study.base.mass_changed_by(&flight.overrides);
    let shift = mark.zip(mass).and_then(|(mark, mass)| mark.shift(&mass));
    let Ok(drawn) = drawn.changed_by(shift.as_slice()) else {
        return false;
    };
    let bend = glide.and_then(|glide| Some((glide, glide.bend_rad(&drawn)?)));
    let throw = match bend {
        Some((glide, bend_rad)) => glide.bent(&drawn.built.throw, bend_rad),
        None => drawn.built.throw.clone(),
    };
    let Ok((flown, twin)) = fly_with_twin(&throw, &drawn.built.summary) else {
        return false;
    };
    let summary = summarise(&flown, twin.as_ref(), &drawn.built.summary);
    let mut conditions = study
        .file
        .conditions
        .iter()
        .filter(|condition| condition.counts);
    conditions.all(|condition| meets_at(condition, &flight.names, &summary))
}
