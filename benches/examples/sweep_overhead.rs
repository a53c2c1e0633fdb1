//! What a sweep costs over the flying itself, in one run: processor time of `tossline sweep --threads 1` against that of building, flying and
//! summing up the same flights with nothing kept. Processor time, so that other work on the machine does not count.
//!
//! `cargo run --example sweep_overhead -- target/debug/tossline STUDY [ROUNDS]`, both built with the same profile; Linux only.

use scenarios::study::load_study;
use scenarios::summary::{fly_with_twin, summarise};
use std::hint::black_box;
use std::process::{Command, Stdio};

/// Processor time of this process and of the children it has waited for, s. Linux counts a hundred ticks a second.
fn processor_time_s() -> (f64, f64) {
    let text = std::fs::read_to_string("/proc/self/stat").expect("Linux");
    // Behind the name, which may hold blanks, in brackets: fields 3 and on.
    let fields: Vec<&str> = text.rsplit(')').next().unwrap_or("").split(' ').collect();
    let ticks = |i: usize| fields[i].parse::<f64>().expect("a count") / 100.0;
    (ticks(12) + ticks(13), ticks(14) + ticks(15))
}

fn main() {
    let mut arguments = std::env::args().skip(1);
    let (Some(command), Some(path)) = (arguments.next(), arguments.next()) else {
        panic!("the command tossline and a study are wanted");
    };
    let rounds: usize = arguments.next().map_or(3, |n| n.parse().expect("rounds"));
    let study = load_study(&path, &[]).expect("a study");
    let plan = study.whole_plan();
    println!("{}: {} flights", study.file.name, plan.flights());
    let (mut flying, mut sweeping) = (0.0, 0.0);
    for round in 1..=rounds {
        let before = processor_time_s().0;
        for index in 0..plan.flights() {
            let Ok(scenario) = study.scenario(&plan.flight(index)) else {
                continue;
            };
            let built = &scenario.built;
            if let Ok((flight, twin)) = fly_with_twin(&built.throw, &built.summary) {
                black_box(summarise(&flight, twin.as_ref(), &built.summary));
            }
        }
        let alone = processor_time_s().0 - before;
        let out =
            std::env::temp_dir().join(format!("sweep-overhead-{}-{round}", std::process::id()));
        let before = processor_time_s().1;
        let status = Command::new(&command)
            .args(["sweep", &path, "--threads", "1", "--out"])
            .arg(&out)
            .stdout(Stdio::null())
            .status()
            .expect("the command runs");
        assert!(status.code().is_some_and(|code| code < 2), "{status}");
        let swept = processor_time_s().1 - before;
        std::fs::remove_dir_all(&out).expect("the folder goes");
        println!(
            "round {round}: flying {alone:.2} s, sweep {swept:.2} s, ratio {:.4}",
            swept / alone
        );
        flying += alone;
        sweeping += swept;
    }
    println!(
        "all rounds: {:+.2} % over the flying itself",
        100.0 * (sweeping / flying - 1.0)
    );
}
