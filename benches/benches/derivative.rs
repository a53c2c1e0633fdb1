//! One evaluation of the whole right-hand side: full model, two motors, one gust on; as a number, lanes of every width, a dual number.

use criterion::{Criterion, criterion_group, criterion_main};
use num_dual::Dual64;
use sim_core::air::Air;
use sim_core::forces::evaluate_parts;
use sim_core::lanes::{Width, Work};
use sim_core::number::{Number, Widen};
use sim_core::parts::{Parts, Reciprocals};
use sim_core::segment::{Line, Segment};
use sim_core::state::State;
use sim_core::vehicle::Vehicle;
use std::hint::black_box;
use tossline_benches::ready;

#[inline(always)]
fn one<T: Number>(criterion: &mut Criterion, name: &str) {
    let scenario = ready("gust-on-the-climb");
    let throw = &scenario.built.throw;
    let flight = throw.fly().expect("it starts");
    let states: Vec<State<T>> = (0..64)
        .map(|i| State::widen(&[flight.state_at(0.1 * f64::from(i))]))
        .collect();
    let (vehicle, air) = (
        Vehicle::<f64>::widen(&[&throw.vehicle]),
        Air::<f64>::widen(&[&throw.air]),
    );
    let segment = Segment {
        start_time: T::zero(),
        throttles: vec![Line::constant(T::constant(0.8)); 2],
        tabs: vec![Line::constant(T::constant(-0.05)); throw.vehicle.coefficients.tabs.len()],
        gusts_on: vec![T::one(); throw.air.gusts.len()],
    };
    let time = T::constant(1.0);
    let shares = Reciprocals::of(&vehicle);
    // `f64` works everything out; lanes leave out what is absent.
    let parts = if T::FUSED {
        Parts::of(&throw.vehicle, &throw.air)
    } else {
        Parts::ALL
    };
    criterion.bench_function(name, |bencher| {
        let mut i = 0;
        bencher.iter(|| {
            i = (i + 1) % states.len();
            evaluate_parts::<T>(
                &vehicle,
                &air,
                &segment,
                &parts,
                &shares,
                black_box(time),
                black_box(&states[i]),
            )
            .rate
        });
    });
}

struct InLanes<'a>(&'a mut Criterion, Width);

impl Work for InLanes<'_> {
    type Output = ();
    #[inline(always)]
    fn run<N: Number>(self) {
        one::<N>(
            self.0,
            &format!("derivative, full model, lanes: {:?}", self.1),
        );
    }
}

fn derivative(criterion: &mut Criterion) {
    one::<f64>(criterion, "derivative, full model, f64");
    for width in Width::ALL {
        width.work(InLanes(criterion, width));
    }
    one::<Dual64>(criterion, "derivative, full model, dual number");
}

criterion_group!(benches, derivative);
criterion_main!(benches);
