//! Writing results down: a study's rows as text and as Parquet, and a trajectory as text.

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use runner::tables;
use scenarios::study::load_study;
use scenarios::study::row::{Row, RowForm};
use scenarios::summary::{fly_with_twin, summarise};
use std::hint::black_box;
use std::path::Path;
use tossline_benches::ready;

/// Rows of one part of a table.
const ROWS: u64 = 256;
/// Flights flown for them; their rows are repeated.
const FLOWN: u64 = 8;

/// Rows of a study with all columns.
fn rows() -> (RowForm, Vec<Row>) {
    let studies = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios/studies");
    let study = load_study(studies.join("marsh-afternoon.json"), &[]).expect("the study loads");
    let plan = study.whole_plan();
    let form = RowForm::new(&study.file, &plan);
    let flown: Vec<Row> = (0..FLOWN)
        .map(|index| {
            let planned = plan.flight(index);
            let built = study.scenario(&planned).expect("it makes sense").built;
            let (flight, twin) = fly_with_twin(&built.throw, &built.summary).expect("it can start");
            let summary = summarise(&flight, twin.as_ref(), &built.summary);
            form.row(&planned, Ok(&summary))
        })
        .collect();
    let rows = flown.iter().cycle().take(ROWS as usize).cloned();
    (form, rows.collect())
}

fn writing(criterion: &mut Criterion) {
    let (form, rows) = rows();
    let mut group = criterion.benchmark_group("256 rows with all columns");
    group.throughput(Throughput::Elements(ROWS));
    group.bench_function("as text", |b| {
        b.iter(|| {
            let lines = black_box(&rows).iter().map(tables::text_row);
            lines
                .map(|line| line.expect("it is written").len())
                .sum::<usize>()
        });
    });
    group.bench_function("as Parquet", |b| {
        b.iter(|| tables::parquet_part(&form, black_box(&rows)).expect("it is written"));
    });
    group.finish();
    let scenario = ready("gust-on-the-climb");
    let flight = scenario.built.throw.fly().expect("it can start");
    let interval_s = scenario.built.record_interval_s;
    criterion.bench_function("a trajectory of 8 s as text", |b| {
        b.iter(|| {
            tables::trajectory_text(black_box(&flight), &scenario.airframe.built, interval_s)
        });
    });
}

criterion_group!(benches, writing);
criterion_main!(benches);
