//! The module's rate damper against the z-domain: poles by SciPy, the handbook's limits of stability, the zero-order hold of a whole
//! aircraft with its rotors, and its gyro's noise by a statistics library.
//!
//! Source: G. F. Franklin, J. D. Powell, M. Workman, Digital Control of Dynamic Systems (zero-order hold, delay, Jury's test; from memory).

use nalgebra::{DMatrix, DVector, Vector3};
use sim_core::aero::coefficients::Coefficients;
use sim_core::control::damper::Damper;
use sim_core::control::gyro::{Gyro, standard_normals};
use sim_core::control::sampled::Sampled;
use sim_core::forces::evaluate;
use sim_core::launch::Launch;
use sim_core::modes::linearise;
use sim_core::power::cell::Cell;
use sim_core::segment::Segment;
use sim_core::vehicle::Vehicle;
use statrs::distribution::{ChiSquared, ContinuousCDF};
use statrs::statistics::Statistics;
use tossline_tests::known::aircraft::{body, steady_pilot, throw, tight, weightless_air};
use tossline_tests::known::power::{ideal_cell, small_motor};
use tossline_tests::published::Table;

const QUIET: Gyro = Gyro {
    bias_rad_s: Vector3::new(0.0, 0.0, 0.0),
    noise_rad_s: 0.0,
    seed: 0,
};

fn roll_damper(sample_time_s: f64, delay_s: f64, roll_gain_s: f64) -> Damper {
    Damper {
        sample_time_s,
        delay_s,
        roll_gain_s,
        pitch_gain_s: 0.0,
        yaw_gain_s: 0.0,
        saturation: 1e9,
        gyro: QUIET,
    }
}

/// Roll rates at the samples of the mode ṗ = −4 p + 60 u under a damper, from p = 1, solved exactly between its cuts.
fn roll_rates(damper: &Damper, samples: usize) -> Vec<f64> {
    const A: f64 = 4.0;
    const B: f64 = 60.0;
    let mut memory = Sampled::new(damper.sample_time_s, damper.delay_s);
    let (mut time_s, mut rate) = (0.0, 1.0_f64);
    let mut seen = Vec::new();
    while seen.len() < samples {
        let command = memory.advance(time_s, |k| {
            seen.push(rate);
            damper.command(&Vector3::new(rate, 0.0, 0.0), k)
        });
        let next_s = memory.next_due_s();
        let decay = (-A * (next_s - time_s)).exp();
        rate = decay * rate + (1.0 - decay) * B / A * command.difference;
        time_s = next_s;
    }
    seen
}

// The samples obey the difference equation whose roots are the poles SciPy finds (sampled_damper_poles.py): no other sequence does.
#[test]
fn a_damped_roll_mode_has_the_poles_of_the_z_domain() {
    let table = Table::read("sampled_damper_poles").rows([
        "sample_s",
        "delay_samples",
        "gain_s",
        "real_1",
        "imaginary_1",
        "real_2",
        "imaginary_2",
        "real_3",
        "imaginary_3",
        "real_4",
        "imaginary_4",
    ]);
    assert_eq!(table.len(), 7);
    for [sample_s, delay, gain_s, poles @ ..] in table {
        // Coefficients of Π (z − z_i), highest first; complex ones as pairs of numbers.
        let mut polynomial = vec![(1.0, 0.0)];
        for pole in poles.chunks(2) {
            let mut longer = polynomial.clone();
            longer.push((0.0, 0.0));
            for (i, c) in polynomial.iter().enumerate() {
                longer[i + 1].0 -= c.0 * pole[0] - c.1 * pole[1];
                longer[i + 1].1 -= c.0 * pole[1] + c.1 * pole[0];
            }
            polynomial = longer;
        }
        let rates = roll_rates(&roll_damper(sample_s, delay * sample_s, gain_s), 40);
        for window in rates.windows(5).skip(3) {
            let left: f64 = (0..5).map(|i| polynomial[i].0 * window[4 - i]).sum();
            let size = window.iter().fold(0.0_f64, |most, x| most.max(x.abs()));
            assert!(
                left.abs() < 1e-12 * size,
                "{sample_s} s, delay {delay}: {left:e} of {size:e}"
            );
        }
        let changes = (rates[39] / rates[0]).abs();
        assert!(changes > 0.0 && changes != 1.0);
    }
}

// Φ = e^(−aT), Γ = b(1 − Φ)/a. Without delay the pole Φ − GΓ reaches −1 at G = (1 + Φ)/Γ; with a delay of one sample Jury's test of
// z² − Φz + GΓ gives G = 1/Γ. Just below the rate dies away, just above it grows.
#[test]
fn a_delayed_damper_turns_unstable_where_jury_says() {
    for sample_s in [0.01, 0.05] {
        let phi = f64::exp(-4.0 * sample_s);
        let gamma = 60.0 * (1.0 - phi) / 4.0;
        for (delay_samples, limit_s) in [(0.0, (1.0 + phi) / gamma), (1.0, 1.0 / gamma)] {
            let size = |share: f64| {
                let damper = roll_damper(sample_s, delay_samples * sample_s, share * limit_s);
                let rates = roll_rates(&damper, 1500);
                let of = |part: &[f64]| part.iter().fold(0.0_f64, |most, x| most.max(x.abs()));
                of(&rates[1400..]) / of(&rates[100..200])
            };
            assert!(
                size(0.99) < 0.1 && size(1.01) > 10.0,
                "{sample_s} s, delay {delay_samples}: {} {}",
                size(0.99),
                size(1.01)
            );
        }
    }
}

/// A weightless body that rolls and does nothing else: roll damping alone, two motors that pull upwards at 0.1 m left and right.
fn roller() -> Vehicle<f64> {
    let lift = |side: f64, spin: f64| {
        let at = Vector3::new(0.0, 0.1 * side, 0.0);
        small_motor(at, std::f64::consts::FRAC_PI_2, 0.0, 1.0, spin)
    };
    let inertia = nalgebra::Matrix3::from_diagonal(&Vector3::new(4e-4, 3.5e-4, 7e-4));
    let table = Coefficients {
        roll_p: -0.4,
        ..Coefficients::none(0.06, 0.5, 0.12)
    };
    Vehicle {
        motors: vec![lift(-1.0, 0.0), lift(1.0, 0.0)],
        cell: Cell {
            resistance: 0.0,
            ..ideal_cell(4.0)
        },
        // So heavy that thrust does not move it while it is looked at.
        ..body(1e6, inertia, table)
    }
}

// A whole flight with rotors that lag: the sampled roll rates follow x(k+1) = Φ x(k) + Γ₁ u(k−2) + Γ₀ u(k−1) of the aircraft linearised
// (Jacobian by dual numbers, input by a difference), Φ and Γ by the matrix exponential of nalgebra. Delay 1.4 samples.
#[test]
fn a_flight_with_the_damper_is_its_zero_order_hold_equivalent() {
    const SAMPLE_S: f64 = 0.04;
    const DELAY_S: f64 = 0.056;
    const THROTTLE: f64 = 0.5;
    let vehicle = roller();
    let launch = Launch {
        rates_rad_s: Vector3::new(1e-4, 0.0, 0.0),
        ..Launch::level(100.0, 6.0)
    };
    let mut flown = throw(vehicle.clone(), weightless_air(), launch, 1.0);
    flown.tolerance = tight();
    flown.pilot = steady_pilot(THROTTLE, 0.0, &[]);
    let damper = roll_damper(SAMPLE_S, DELAY_S, 0.5);
    flown.pilot.module.damper = Some(damper);
    let flight = flown.fly().unwrap();

    let mut state = flight.state_at(0.0);
    state.rates = Vector3::zeros();
    let air = weightless_air();
    let segment = Segment::steady(&[THROTTLE; 2], &[]);
    let jacobian = linearise(&vehicle, &air, &segment, &state).matrix;
    // p, Ω1, Ω2 of (u, v, w, p, q, r, θ, φ, Ω1, Ω2).
    let places = [3, 8, 9];
    let step = 1e-4;
    let rates = |difference: f64| {
        let duties = [THROTTLE + difference / 2.0, THROTTLE - difference / 2.0];
        let rate = evaluate(&vehicle, &air, &Segment::steady(&duties, &[]), 0.0, &state).rate;
        DVector::from_vec(vec![rate.rates.x, rate.rotors[0], rate.rotors[1]])
    };
    let input = (rates(step) - rates(-step)) / (2.0 * step);
    let held = |time_s: f64| {
        let mut whole = DMatrix::zeros(4, 4);
        for (i, &row) in places.iter().enumerate() {
            for (j, &column) in places.iter().enumerate() {
                whole[(i, j)] = jacobian[(row, column)];
            }
            whole[(i, 3)] = input[i];
        }
        let whole = (whole * time_s).exp();
        (
            whole.view((0, 0), (3, 3)).into_owned(),
            whole.view((0, 3), (3, 1)).column(0).into_owned(),
        )
    };
    // u(k−2) is in force for the first 0.4 of a sample, then u(k−1).
    let (early, late) = (held(DELAY_S - SAMPLE_S), held(2.0 * SAMPLE_S - DELAY_S));
    let mut x = DVector::from_vec(vec![1e-4, 0.0, 0.0]);
    let mut commands = vec![0.0, 0.0];
    let mut largest = 0.0_f64;
    for k in 0..25 {
        let p = flight.state_at(k as f64 * SAMPLE_S).rates.x;
        largest = largest.max((p - x[0]).abs());
        assert!(
            (p - x[0]).abs() < 2e-4 * 1e-4,
            "sample {k}: {p:e} {:e}",
            x[0]
        );
        commands.push(-damper.roll_gain_s * x[0]);
        x = &late.0 * (&early.0 * &x + &early.1 * commands[k]) + &late.1 * commands[k + 1];
    }
    // The damper does something: without it the mode decays by itself, and slower or faster by more than the tolerance above.
    let mut plain = flown.clone();
    plain.pilot.module.damper = None;
    let without = plain.fly().unwrap().state_at(0.4).rates.x;
    assert!(
        (without - flight.state_at(0.4).rates.x).abs() > 0.05 * 1e-4,
        "{largest:e}"
    );
}

// A stranger's script from MODEL.md gives the same numbers (gyro_noise.py).
#[test]
fn noise_is_that_of_the_model_page() {
    for [seed, k, p, q, r] in Table::read("gyro_noise").rows(["seed", "k", "p", "q", "r"]) {
        let ours = standard_normals(seed as u64, k as u64);
        assert!(
            (ours - Vector3::new(p, q, r)).norm() < 1e-14,
            "{seed} {k}: {ours}"
        );
    }
}

// Mean, variance and covariance by the statrs library, whiteness by the statistic of Ljung & Box (1978, from memory) over 40 lags against its
// chi-squared distribution, shape by how many lie within one and two standard deviations. Bounds are four standard errors, or one in 10 000.
#[test]
fn noise_is_white_and_normal() {
    const N: usize = 50_000;
    let n = N as f64;
    let samples: Vec<Vector3<f64>> = (0..N as u64).map(|k| standard_normals(3, k)).collect();
    let axes: Vec<Vec<f64>> = (0..3)
        .map(|axis| samples.iter().map(|s| s[axis]).collect())
        .collect();
    for (i, axis) in axes.iter().enumerate() {
        let (mean, variance) = (axis.mean(), axis.variance());
        assert!(mean.abs() < 4.0 / n.sqrt(), "{mean}");
        assert!(
            (variance - 1.0).abs() < 4.0 * (2.0 / n).sqrt(),
            "{variance}"
        );
        let within = |size: f64| axis.iter().filter(|x| x.abs() < size).count() as f64 / n;
        assert!((within(1.0) - 0.682_689).abs() < 4.0 * (0.22_f64 / n).sqrt());
        assert!((within(2.0) - 0.954_500).abs() < 4.0 * (0.044_f64 / n).sqrt());
        let lags = 40;
        let ljung_box: f64 = (1..=lags)
            .map(|lag| {
                let share = axis[lag..].covariance(&axis[..N - lag]) / variance;
                n * (n + 2.0) * share * share / (n - lag as f64)
            })
            .sum();
        let chance = ChiSquared::new(lags as f64).unwrap().cdf(ljung_box);
        assert!(
            (1e-4..1.0 - 1e-4).contains(&chance),
            "{ljung_box}: {chance}"
        );
        let other = &axes[(i + 1) % 3];
        assert!(axis.covariance(other).abs() < 4.0 / n.sqrt());
    }
    // Another seed is another noise.
    assert!((0..100).all(|k| (standard_normals(3, k) - standard_normals(4, k)).norm() > 1e-6));
}
