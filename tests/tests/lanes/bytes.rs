//! A flight's bytes depend neither on the width of the lanes nor on what flies beside it.

use crate::agreement::{drawn, landed};
use crate::ready::{all, in_lanes};
use sim_core::flight::Throw;
use sim_core::lanes::Width;
use tossline_tests::known::random::Random;

fn bytes(throws: &[Throw], width: Width) -> Vec<Vec<u64>> {
    landed(width, throws, true)
        .iter()
        .map(|landed| {
            let flight = landed.trajectory.as_ref().expect("kept");
            let mut numbers = landed.state.to_array().to_vec();
            numbers.push(landed.end_time_s);
            for t in [0.2, 0.61, 1.3] {
                numbers.extend(flight.state_at(t).to_array());
            }
            numbers.extend(flight.cut_times_s());
            numbers.iter().map(|x| x.to_bits()).collect()
        })
        .collect()
}

fn at_every_width(throws: &[Throw]) {
    let one = bytes(throws, Width::One);
    for width in [Width::Four, Width::Eight] {
        if width.is_here() {
            assert!(bytes(throws, width) == one, "{width:?}");
        }
    }
}

#[test]
fn every_ready_scenario_has_the_same_bytes_at_every_width() {
    let throws: Vec<Throw> = all()
        .iter()
        .map(|(_, scenario)| in_lanes(&scenario.built.throw, 1e-5))
        .collect();
    at_every_width(&throws);
}

// Forty throws of every kind, then turned round, so that each has other neighbours.
#[test]
fn neighbours_change_nothing() {
    let mut random = Random::new(43);
    let mut throws: Vec<Throw> = (0..40)
        .map(|_| in_lanes(&drawn(&mut random), 1e-5))
        .collect();
    throws.retain(|throw| throw.release_state().is_ok());
    at_every_width(&throws);
    let widest = Width::widest(false);
    let before = bytes(&throws, widest);
    throws.reverse();
    let mut after = bytes(&throws, widest);
    after.reverse();
    assert!(before == after);
}

#[test]
fn numbers_of_24_bits_have_the_same_bytes_at_every_width() {
    let throws: Vec<Throw> = all()
        .iter()
        .map(|(_, scenario)| in_lanes(&scenario.built.throw, 1e-4))
        .collect();
    let one = bytes(&throws, Width::OneSingle);
    for width in [Width::EightSingle, Width::SixteenSingle] {
        if width.is_here() {
            assert!(bytes(&throws, width) == one, "{width:?}");
        }
    }
}
