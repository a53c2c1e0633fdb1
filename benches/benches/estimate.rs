//! Coefficients of one aircraft with three surfaces estimated from its outline, at default panels; and what reading such a file costs.

use criterion::{Criterion, criterion_group, criterion_main};
use scenarios::estimate::estimate;
use scenarios::load::load_scenario;
use scenarios::overrides::Override;
use serde_json::json;
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
                    &airframe.built.mass.balance,
                    &air,
                    4.6,
                    0.11,
                )
            });
        },
    );
}

/// A file read anew, and a flight of a study whose mass differs from its base's: the lattice is kept, the glide is not.
fn reading(criterion: &mut Criterion) {
    let base = ready("avocet-step");
    let path = base.path.clone();
    criterion.bench_function("reading a scenario whose airframe is estimated", |b| {
        b.iter(|| load_scenario(black_box(&path)));
    });
    let heavier = Override::new("mass.parts.cell.mass_g", &json!({"multiply": 1.01})).unwrap();
    criterion.bench_function("the same with another mass, on its base's lattice", |b| {
        b.iter(|| base.changed_by(black_box(std::slice::from_ref(&heavier))));
    });
}

criterion_group!(benches, whole, reading);
criterion_main!(benches);
