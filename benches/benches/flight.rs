//! One throw: the flight alone, with its twin and summary, with its trajectory's rows; and steady flight.

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use scenarios::summary::{fly_with_twin, summarise};
use sim_core::air::Air;
use sim_core::lanes::{Width, fly};
use sim_core::record::{row, row_times_s};
use sim_core::solver::{Method, Tolerance};
use sim_core::trim::{TrimConditions, Trimmer};
use std::hint::black_box;
use tossline_benches::ready;

fn flight(criterion: &mut Criterion) {
    let scenario = ready("gust-on-the-climb");
    let (throw, settings) = (&scenario.built.throw, &scenario.built.summary);
    let mut looser = throw.clone();
    looser.tolerance = Tolerance {
        relative: 1e-6,
        absolute: 1e-6,
        ..throw.tolerance
    };
    let mut higher = throw.clone();
    higher.tolerance.method = Method::Dop853;
    criterion.bench_function("8 s flight with a gust, Dopri5 at 1e-9", |b| {
        b.iter(|| black_box(throw).fly());
    });
    criterion.bench_function("the same at 1e-6", |b| b.iter(|| black_box(&looser).fly()));
    criterion.bench_function("the same by Dop853 at 1e-9", |b| {
        b.iter(|| black_box(&higher).fly())
    });
    let mut laned = throw.clone();
    laned.tolerance.method = Method::Lanes;
    laned.tolerance.relative = 1e-6;
    criterion.bench_function("the same in lanes at 1e-6, alone and kept", |b| {
        b.iter(|| black_box(&laned).fly())
    });
    let thousand: Vec<_> = std::iter::repeat_n(&laned, 1000).collect();
    let width = Width::widest(false);
    criterion.bench_function("a thousand of it in the widest lanes, not kept", |b| {
        b.iter(|| {
            fly(width, black_box(&thousand), false, |_, landed| {
                drop(black_box(landed))
            })
        });
    });
    let calm = ready("step-in-calm");
    let (calm_throw, calm_settings) = (&calm.built.throw, &calm.built.summary);
    criterion.bench_function("8 s symmetric flight, Dopri5 at 1e-9", |b| {
        b.iter(|| black_box(calm_throw).fly());
    });
    criterion.bench_function("symmetric flight, twin and summary", |b| {
        b.iter(|| {
            let (flight, twin) =
                fly_with_twin(black_box(calm_throw), calm_settings).expect("it starts");
            summarise(&flight, twin.as_ref(), calm_settings)
        });
    });
    criterion.bench_function("flight, twin and summary", |b| {
        b.iter(|| {
            let (flight, twin) = fly_with_twin(black_box(throw), settings).expect("it starts");
            summarise(&flight, twin.as_ref(), settings)
        });
    });
    criterion.bench_function("800 rows of a trajectory", |b| {
        b.iter_batched(
            || throw.fly().expect("it starts"),
            |flight| {
                row_times_s(&flight, 0.01)
                    .into_iter()
                    .map(|time_s| row(&flight, time_s).len())
                    .sum::<usize>()
            },
            BatchSize::LargeInput,
        );
    });
    let built = &scenario.airframe.built;
    let trimmer = Trimmer::new(
        &built.vehicle,
        &Air::calm(),
        TrimConditions {
            tabs_rad: built.tabs.iter().map(|tab| tab.setting_rad).collect(),
            steering_shares: built.steering_shares.clone(),
            height_m: 0.0,
            charge_fraction: 1.0,
        },
    );
    criterion.bench_function("level flight and its throttle", |b| {
        b.iter(|| black_box(&trimmer).level())
    });
}

criterion_group!(benches, flight);
criterion_main!(benches);
