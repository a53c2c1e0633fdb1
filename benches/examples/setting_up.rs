//! What it costs to set a study's flight up before it flies: processor time and allocations of `study.scenario(&plan.flight(i))`, and of the plan
//! alone, for studies that move the throw alone, masses and places of an airframe with a coefficient table and of an estimated one, and all that
//! practised hands scatter.
//!
//! `cargo run --release --example setting_up -- [FLIGHTS] [ROUNDS] [NAME]`, those whose name begins so; Linux only. Of the rounds the quickest counts: other work on the machine only adds.

use scenarios::study::{LoadedStudy, Purpose, load_study};
use scenarios::thrustline::balanced::Mark;
use scenarios::thrustline::glide::TestGlide;
use scenarios::thrustline::hands::Hands;
use scenarios::thrustline::usual::usual_study;
use std::hint::black_box;
use std::path::{Path, PathBuf};

/// Time this thread has been on a processor, µs.
fn processor_time_us() -> f64 {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").expect("Linux");
    let first = text.split(' ').next().expect("a count");
    first.parse::<f64>().expect("nanoseconds") / 1e3
}

fn workspace() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn ready_made(name: &str) -> LoadedStudy {
    let folder = workspace().join("scenarios/studies");
    load_study(folder.join(name).with_extension("json"), &[]).expect("a ready-made study")
}

/// `marsh-afternoon` with the dunlin's hand-made coefficient table in place of its estimate.
fn with_a_table() -> LoadedStudy {
    let folder = std::env::temp_dir().join(format!("setting-up-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a folder");
    let json = |path: &str| -> serde_json::Value {
        let text = std::fs::read_to_string(workspace().join(path)).expect("a file");
        serde_json::from_str(&text).expect("JSON")
    };
    let mut throw = json("scenarios/ready/step-in-calm-cured.json");
    let table = workspace().join("scenarios/test-data/hand-made/dunlin.json");
    let table = std::path::absolute(table).expect("a path");
    throw["airframe"] = table.display().to_string().into();
    let mut study = json("scenarios/studies/marsh-afternoon.json");
    study["base"] = "throw.json".into();
    for (name, value) in [("throw.json", &throw), ("study.json", &study)] {
        std::fs::write(folder.join(name), value.to_string()).expect("a file");
    }
    let study = load_study(folder.join("study.json"), &[]).expect("a study");
    std::fs::remove_dir_all(&folder).expect("the folder goes");
    study
}

/// Prints what a flight of a study costs.
fn measure(name: &str, flights: u64, rounds: u64, mut one: impl FnMut(u64)) {
    /// Linux brings the time up to date a few hundred times a second only.
    const LONG_ENOUGH_US: f64 = 2e5;
    if !name.starts_with(&std::env::args().nth(3).unwrap_or_default()) {
        return;
    }
    // What is worked out once a study does not count.
    one(0);
    let allocated = allocation_counter::measure(|| (0..flights).for_each(&mut one));
    let mut quickest = f64::INFINITY;
    for _ in 0..rounds {
        let (before, mut times) = (processor_time_us(), 0.0);
        while processor_time_us() - before < LONG_ENOUGH_US {
            (0..flights).for_each(&mut one);
            times += 1.0;
        }
        quickest = quickest.min((processor_time_us() - before) / times);
    }
    println!(
        "{name:<64} {:>9.1} µs {:>8.0} allocations {:>9.0} bytes",
        quickest / flights as f64,
        allocated.count_total as f64 / flights as f64,
        allocated.bytes_total as f64 / flights as f64
    );
}

fn measure_study(name: &str, study: &LoadedStudy, flights: u64, rounds: u64) {
    let plan = study.plan(Purpose::State);
    // Flights from all over the plan.
    let step = (plan.flights() / flights).max(1);
    let flights = flights.min(plan.flights());
    measure(&format!("{name}: plan alone"), flights, rounds, |i| {
        black_box(plan.flight(i * step));
    });
    measure(
        &format!("{name}: plan and scenario"),
        flights,
        rounds,
        |i| {
            let _ = black_box(study.scenario(&plan.flight(i * step)));
        },
    );
}

fn main() {
    let mut arguments = std::env::args()
        .skip(1)
        .take(2)
        .map(|n| n.parse::<u64>().expect("a number"));
    let (flights, rounds) = (
        arguments.next().unwrap_or(200),
        arguments.next().unwrap_or(5),
    );
    let of_throws = ready_made("release-and-gust");
    measure_study("throw", &of_throws, flights, rounds);
    measure("throw: its state at release alone", 1, rounds, |_| {
        let _ = black_box(of_throws.base.built.throw.release_state());
    });
    measure("throw: copies of base and vehicle alone", 1, rounds, |_| {
        black_box((of_throws.base.file.clone(), of_throws.base.built.clone()));
    });
    measure_study("parts, table", &with_a_table(), flights, rounds);
    measure_study(
        "parts, estimated",
        &ready_made("marsh-afternoon"),
        flights,
        rounds,
    );
    let dunlin = workspace().join("demo-airframes/dunlin.json");
    let practised = usual_study(&dunlin, &[], Hands::Practised, Some(6)).expect("a study");
    measure_study("practised hands", &practised, flights, rounds);
    let mark = Mark::of(&practised.base).expect("a part to move");
    let plan = practised.plan(Purpose::State);
    let balanced = flights.min(plan.flights());
    let step = plan.flights() / balanced;
    measure("practised hands: balancing", balanced, rounds, |i| {
        let drawn = plan.flight(i * step).overrides;
        black_box(
            practised
                .base
                .mass_changed_by(&drawn)
                .and_then(|m| mark.shift(&m)),
        );
    });
    let glide = TestGlide::of(&practised.base).expect("a tab that pitches");
    measure(
        "practised hands: test glides",
        flights.min(20),
        rounds,
        |_| {
            black_box(glide.bend_rad(&practised.base));
        },
    );
}
