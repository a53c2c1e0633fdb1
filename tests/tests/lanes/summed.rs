//! Throws flown and summed up together come to what they come to alone, whatever else is in the lot and whatever was flown before.

use crate::ready::{all, in_lanes};
use scenarios::summary::{Summary, SummarySettings, Together, fly_with_twin, summarise};
use sim_core::flight::Throw;
use sim_core::solver::Method;

fn alone((throw, settings): &(Throw, SummarySettings)) -> Summary {
    let (flight, twin) = fly_with_twin(throw, settings).expect("it starts");
    summarise(&flight, twin.as_ref(), settings)
}

fn together(lanes: &mut Together, lot: &[(Throw, SummarySettings)]) -> Vec<Summary> {
    let mut summaries: Vec<Option<Summary>> = lot.iter().map(|_| None).collect();
    let throw = |i: usize| (&lot[i].0, &lot[i].1);
    lanes.fly(lot.len(), throw, |i, summed| {
        summaries[i] = Some(summed.expect("it starts").summary.clone());
    });
    let landed = summaries.into_iter();
    landed.map(|one| one.expect("every throw lands")).collect()
}

// Every ready scenario in lanes, one of each three in numbers of 24 bits and a few by the solver, in one lot; then the lot turned round, in the
// storage that the first left behind.
#[test]
fn throws_come_to_the_same_together_and_alone() {
    let mut lot: Vec<(Throw, SummarySettings)> = all()
        .iter()
        .map(|(_, scenario)| {
            let built = &scenario.built;
            (in_lanes(&built.throw, 1e-5), built.summary)
        })
        .collect();
    let mut others: Vec<_> = lot.iter().step_by(3).cloned().collect();
    for (throw, _) in &mut others {
        throw.tolerance.method = Method::LanesSingle;
        throw.tolerance.relative = 1e-4;
    }
    let mut by_solver: Vec<_> = lot.iter().step_by(9).cloned().collect();
    for (throw, _) in &mut by_solver {
        throw.tolerance.method = Method::Dopri5;
    }
    lot.append(&mut others);
    lot.append(&mut by_solver);
    let wanted: Vec<Summary> = lot.iter().map(alone).collect();
    let mut lanes = Together::new();
    assert!(together(&mut lanes, &lot) == wanted);
    lot.reverse();
    let mut turned = together(&mut lanes, &lot);
    turned.reverse();
    assert!(turned == wanted);
}

// A throw that cannot start says so and harms no other.
#[test]
fn a_throw_that_cannot_start_is_told_apart() {
    let built = &all()[0].1.built;
    let good = (in_lanes(&built.throw, 1e-5), built.summary);
    let mut bad = good.clone();
    bad.0.launch.height_m = -1.0;
    let lot = [good.clone(), bad, good.clone()];
    let wanted = alone(&good);
    let mut results = Vec::new();
    Together::new().fly(
        3,
        |i| (&lot[i].0, &lot[i].1),
        |i, summed| {
            results.push((i, summed.map(|summed| summed.summary.clone())));
        },
    );
    results.sort_by_key(|result| result.0);
    assert_eq!(results.len(), 3);
    assert!(results[1].1.is_err());
    for i in [0, 2] {
        assert!(
            results[i]
                .1
                .as_ref()
                .is_ok_and(|summary| *summary == wanted)
        );
    }
}
