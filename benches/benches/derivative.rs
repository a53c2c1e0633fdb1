//! One evaluation of the whole right-hand side: full model, two motors, one gust on; as a number, lanes of every width, a dual number.

use criterion::{Criterion, criterion_group, criterion_main};
use num_dual::Dual64;
use sim_core::air::Air;
use sim_core::forces::evaluate;
use sim_core::lanes::{Beside, Width, rates};
use sim_core::number::{Number, Widen};
use sim_core::parts::Parts;
use sim_core::segment::{Line, Segment};
use sim_core::state::State;
use sim_core::vehicle::Vehicle;
use std::hint::black_box;
use tossline_benches::ready;

/// States along a flight of the scenario, and the controls they are met with.
fn on_the_way() -> (Vec<State<f64>>, Segment<f64>) {
    let scenario = ready("gust-on-the-climb");
    let throw = &scenario.built.throw;
    let flight = throw.fly().expect("it starts");
    let states = (0..64)
        .map(|i| flight.state_at(0.1 * f64::from(i)))
        .collect();
    let segment = Segment {
        start_time: 0.0,
        throttles: vec![Line::constant(0.8); 2],
        tabs: vec![Line::constant(-0.05); throw.vehicle.coefficients.tabs.len()],
        gusts_on: vec![1.0; throw.air.gusts.len()],
    };
    (states, segment)
}

fn one_by_one<T: Number>(criterion: &mut Criterion, name: &str) {
    let scenario = ready("gust-on-the-climb");
    let throw = &scenario.built.throw;
    let (states, segment) = on_the_way();
    let states: Vec<State<T>> = states.iter().map(|&state| State::widen(&[state])).collect();
    let (vehicle, air) = (
        Vehicle::<f64>::widen(&[&throw.vehicle]),
        Air::<f64>::widen(&[&throw.air]),
    );
    let segment = segment.spread::<T>();
    criterion.bench_function(name, |bencher| {
        let mut i = 0;
        bencher.iter(|| {
            i = (i + 1) % states.len();
            let time = black_box(T::constant(1.0));
            evaluate(&vehicle, &air, &segment, time, black_box(&states[i])).rate
        });
    });
}

fn in_lanes(criterion: &mut Criterion, width: Width) {
    let scenario = ready("gust-on-the-climb");
    let throw = &scenario.built.throw;
    let (states, segment) = on_the_way();
    let beside = Beside {
        vehicles: std::slice::from_ref(&throw.vehicle),
        airs: std::slice::from_ref(&throw.air),
        segments: &[segment],
        parts: Parts::of(&throw.vehicle, &throw.air),
    };
    let Some(mut rates) = rates(width, &beside) else {
        return;
    };
    rates.put(&[1.0], &states);
    let name = format!("derivative, full model, lanes: {width:?}");
    criterion.bench_function(&name, |bencher| bencher.iter(|| rates.work_out()));
}

fn derivative(criterion: &mut Criterion) {
    one_by_one::<f64>(criterion, "derivative, full model, f64");
    for width in Width::ALL {
        in_lanes(criterion, width);
    }
    one_by_one::<Dual64>(criterion, "derivative, full model, dual number");
}

criterion_group!(benches, derivative);
criterion_main!(benches);
