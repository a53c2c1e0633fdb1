//! The derivative allocates nothing, nor does flying and summing up one throw after another: counted by an allocator that counts, on the
//! thread that asks.

use nalgebra::{Vector3, Vector4};
use num_dual::Dual64;
use scenarios::build::BuiltScenario;
use scenarios::load::load_scenario;
use scenarios::summary::{SummarySettings, Together};
use sim_core::air::Air;
use sim_core::air::gust::Gust;
use sim_core::air::profile::Profile;
use sim_core::air::turbulence::{DrydenScales, Turbulence};
use sim_core::flight::Throw;
use sim_core::forces::evaluate;
use sim_core::lanes::{Beside, Width, rates};
use sim_core::number::{Number, Widen};
use sim_core::parts::Parts;
use sim_core::segment::Segment;
use sim_core::solver::Method;
use sim_core::state::State;
use sim_core::vehicle::Vehicle;
use std::hint::black_box;
use std::path::Path;
use tossline_tests::known::aircraft::{lopsided_twin, steady_air, throw};
use tossline_tests::known::carried_air::lopsided;
use tossline_tests::known::random::Random;

/// Everything on: two motors, two tabs, two gusts, turbulence, a wind over height, stalled, turning, α̇, carried air, low over the ground.
fn busy() -> (Vehicle<f64>, Air<f64>, Segment<f64>, State<f64>) {
    let mut air = steady_air();
    air.gusts = vec![
        Gust::in_place(Vector3::new(0.1, 0.2, -1.0), 0.0, -3.0, 9.0),
        Gust::in_time(Vector3::new(0.1, 0.2, -1.0), 0.0, 2.0),
    ];
    air.mean_wind = Vector3::new(-2.0, 0.5, 0.0);
    air.profile = Some(Profile::logarithmic(0.05, 6.0));
    let scales = DrydenScales::low_altitude(2.0, 3.0);
    air.turbulence = Turbulence::from_seed(1, &scales, 0.5);
    air.ground_effect = 1.0;
    let segment = Segment {
        gusts_on: vec![1.0, 1.0],
        ..Segment::steady(&[0.6, 0.4], &[0.1, -0.1])
    };
    let state = State {
        position: Vector3::new(1.0, 2.0, -0.4),
        attitude: Vector4::new(0.9, 0.1, -0.2, 0.3),
        velocity: Vector3::new(5.0, 0.7, 1.8),
        rates: Vector3::new(1.0, -2.0, 0.5),
        rotors: [1500.0, 1200.0],
        charge: 20.0,
    };
    let mut vehicle = lopsided_twin();
    vehicle.apparent_mass = Some(lopsided(&mut Random::new(7)));
    (vehicle, air, segment, state)
}

fn allocations<T: Number>() -> u64 {
    let (vehicle, air, segment, state) = busy();
    let (vehicle, air) = (
        Vehicle::<f64>::widen(&[&vehicle]),
        Air::<f64>::widen(&[&air]),
    );
    let (segment, state) = (segment.spread::<T>(), State::<T>::widen(&[state]));
    let counted = allocation_counter::measure(|| {
        for i in 0..100 {
            let time = T::constant(0.01 * f64::from(i));
            black_box(evaluate(black_box(&vehicle), &air, &segment, time, &state));
        }
    });
    counted.count_total
}

fn allocations_in_lanes(width: Width) -> Option<u64> {
    let (vehicle, air, segment, state) = busy();
    let beside = Beside {
        vehicles: &[vehicle],
        airs: &[air],
        segments: &[segment],
        parts: Parts::ALL,
    };
    let mut rates = rates(width, &beside)?;
    let counted = allocation_counter::measure(|| {
        for i in 0..100 {
            rates.put(&[0.01 * f64::from(i)], &[black_box(state)]);
            rates.work_out();
            black_box(rates.rate(0));
        }
    });
    Some(counted.count_total)
}

#[test]
fn the_derivative_allocates_nothing_in_any_number_type() {
    assert_eq!(allocations::<f64>(), 0);
    assert_eq!(allocations::<Dual64>(), 0);
    for width in Width::ALL.into_iter().filter(|width| width.is_here()) {
        assert_eq!(allocations_in_lanes(width), Some(0), "{width:?}");
    }
}

// The counter counts: one box is one allocation, and a whole flight, which keeps its dense output, makes many.
#[test]
fn the_counter_counts() {
    let one = allocation_counter::measure(|| {
        black_box(Box::new(black_box(3.0_f64)));
    });
    assert_eq!(one.count_total, 1);
    let flight = allocation_counter::measure(|| {
        let launch = sim_core::launch::Launch::level(20.0, 6.0);
        black_box(
            throw(lopsided_twin(), steady_air(), launch, 0.1)
                .fly()
                .unwrap(),
        );
    });
    assert!(flight.count_total > 10);
}

/// Throws of a ready scenario in lanes, each a little faster than the one before.
fn alike(built: &BuiltScenario) -> Vec<Throw> {
    let faster = |i: u32| {
        let mut throw = built.throw.clone();
        throw.tolerance.method = Method::Lanes;
        throw.tolerance.relative = 1e-5;
        throw.launch.speed_m_s *= 1.0 + 0.002 * f64::from(i);
        throw
    };
    (0..10).map(faster).collect()
}

/// Allocations while throws are flown and summed up.
fn summing_up(lanes: &mut Together, throws: &[Throw], settings: &SummarySettings) -> u64 {
    let mut summed = 0;
    let counted = allocation_counter::measure(|| {
        lanes.fly(
            throws.len(),
            |i| (&throws[i], settings),
            |_, one| {
                summed +=
                    usize::from(one.is_ok_and(|one| black_box(one.summary).failure.is_none()));
            },
        );
    });
    assert_eq!(summed, throws.len());
    counted.count_total
}

// Throws that are built are flown, their twins too, and summed up, the same lot again and again. Lists grow in the first rounds, until each has
// held the longest leg it comes to hold; then nothing is allocated any more. A site's zones and halls are named in the summary, which takes a
// string; those scenarios are left out.
#[test]
fn flying_and_summing_up_allocates_nothing_in_the_long_run() {
    const MOST_ROUNDS: usize = 60;
    const QUIET_ROUNDS: usize = 3;
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios/ready");
    let mut seen = 0;
    for entry in std::fs::read_dir(folder).expect("the ready scenarios are there") {
        let file = entry.expect("readable").path();
        let built = load_scenario(&file).expect("it loads").built;
        let site = &built.throw.site;
        if site.hall.is_some() || !site.walls.is_empty() || !site.zones.is_empty() {
            continue;
        }
        let throws = alike(&built);
        let mut lanes = Together::new();
        let mut counts = Vec::new();
        let quiet = |counts: &[u64]| counts.iter().rev().take_while(|n| **n == 0).count();
        while counts.len() < MOST_ROUNDS && quiet(&counts) < QUIET_ROUNDS {
            counts.push(summing_up(&mut lanes, &throws, &built.summary));
        }
        assert!(counts[0] > 0, "the first round makes the storage");
        assert!(
            quiet(&counts) == QUIET_ROUNDS,
            "{}: {counts:?}",
            file.display()
        );
        println!("{}: {counts:?}", file.display());
        seen += 1;
    }
    assert!(seen > 25, "{seen} scenarios");
}
