//! A look without forces holds the derivative's own numbers, to the last bit.

use scenarios::load::load_scenario;
use sim_core::flight::{Flight, Throw};
use sim_core::look::look;
use sim_core::solver::Method;
use std::path::Path;

fn same_bits(flight: &Flight) {
    let throw = flight.throw();
    let mut looked = 0;
    for at in flight.looks() {
        let (state, whole) = flight.evaluation_at(at.time_s);
        assert_eq!(at.state, state, "{} s", at.time_s);
        assert_eq!(flight.height_at(at.time_s), state.height());
        let cheap = look(&throw.vehicle, &throw.air, at.segment, at.time_s, &at.state);
        assert_eq!(cheap.to_earth, whole.to_earth);
        assert_eq!(cheap.wind, whole.wind.velocity);
        let flow = whole.flow;
        assert_eq!(cheap.rates, flow.rates);
        assert_eq!(
            [cheap.airspeed, cheap.alpha, cheap.beta],
            [flow.airspeed, flow.alpha, flow.beta]
        );
        assert_eq!(cheap.axial_speeds, whole.motors.map(|m| m.axial_speed));
        looked += 1;
    }
    assert!(looked > 200, "{looked} looks");
}

// Calm, gusts in place and in time, wind over height, turbulence, a damper, apparent mass, a cut-off; by the solver and in lanes.
#[test]
fn a_look_has_the_bits_of_the_derivative() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios/ready");
    for name in [
        "step-in-calm",
        "gust-on-the-climb",
        "gust-by-time",
        "turn-downwind-in-shear",
        "turbulent-afternoon",
        "damper-in-side-gust",
        "short-gust-with-apparent-mass",
        "flight-to-cut-off",
    ] {
        let file = folder.join(name).with_extension("json");
        let mut throw: Throw = load_scenario(&file).expect("it loads").built.throw;
        throw.time_limit_s = throw.time_limit_s.min(8.0);
        for method in [Method::Dopri5, Method::Lanes] {
            throw.tolerance.method = method;
            same_bits(&throw.fly().expect("it starts"));
        }
    }
}
