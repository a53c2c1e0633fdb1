//! Scattered states, airs and controls for tests that must hold everywhere.

use nalgebra::{Vector3, Vector4};
use sim_core::air::Air;
use sim_core::air::atmosphere::Atmosphere;
use sim_core::air::gust::Gust;
use sim_core::segment::{Line, Segment};
use sim_core::state::State;
use tossline_tests::known::random::Random;

/// A state of violent flight: any attitude and flow direction, up to 12 m/s and 8 rad/s, rotors up to 3000 rad/s.
pub fn state(random: &mut Random) -> State<f64> {
    let attitude = Vector4::from_fn(|_, _| random.between(-1.0, 1.0));
    State {
        position: Vector3::new(
            random.between(-20.0, 20.0),
            random.between(-20.0, 20.0),
            random.between(-100.0, -1.0),
        ),
        attitude,
        velocity: random.direction() * random.between(0.1, 12.0),
        rates: random.vector(8.0),
        rotors: [random.between(0.0, 3000.0), random.between(0.0, 3000.0)],
        charge: random.between(0.0, 500.0),
    }
}

/// A warm or cold day with wind and two gusts, one in place and one in time.
pub fn air(random: &mut Random) -> Air<f64> {
    let mut air = Air::calm();
    air.atmosphere = Atmosphere::of_day(random.between(265.0, 305.0), random.between(97e3, 103e3));
    air.mean_wind = random.vector(4.0);
    air.gusts = vec![
        Gust::in_place(
            random.vector(3.0),
            random.between(0.0, 6.0),
            random.between(-5.0, 0.0),
            random.between(5.0, 20.0),
        ),
        Gust::in_time(
            random.vector(3.0),
            random.between(0.0, 0.5),
            random.between(1.0, 3.0),
        ),
    ];
    air
}

/// Two throttles and two tabs on the move, both gusts on or off.
pub fn segment(random: &mut Random) -> Segment<f64> {
    let mut line = |start: f64, slope: f64| Line {
        start: random.between(0.0, start),
        slope: random.between(-slope, slope),
    };
    let throttles = vec![line(1.0, 0.1), line(1.0, 0.1)];
    let tabs = vec![line(0.3, 0.2), line(0.3, 0.2)];
    let gusts_on = (0..2)
        .map(|_| f64::from(random.between(0.0, 1.0) > 0.3))
        .collect();
    Segment {
        start_time: random.between(0.0, 0.2),
        throttles,
        tabs,
        gusts_on,
    }
}
