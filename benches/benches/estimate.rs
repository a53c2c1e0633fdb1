//! Coefficients of one aircraft with three surfaces estimated from its outline, at default panels.

use criterion::{Criterion, criterion_group, criterion_main};
use scenarios::estimate::estimate;
use sim_core::air::Air;
use std::hint::black_box;
use tossline_benches::ready;

fn whole(criterion: &mut Criterion) {
    let airframe = ready("avocet-step").airframe;
    let air = Air::calm();
    criterion.bench_function(
        "estimate of a wing, a tail and a fin, with its convergence check",
        |b| {
            b.iter(|| {
                estimate(
                    black_box(&airframe.written_down),
                    &airframe.built,
                    &air,
                    4.6,
                    0.11,
                )
            });
        },
    );
}

criterion_group!(benches, whole);
criterion_main!(benches);
