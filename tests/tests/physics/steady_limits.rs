//! Steady flight at its edges: how exactly it is found, when nothing is found, stall margin and turns by hand.

use nalgebra::Matrix3;
use sim_core::aero::coefficients::Coefficients;
use sim_core::aero::post_stall::{PostStall, StallAngles};
use sim_core::error::TrimError;
use sim_core::frames::BuilderPoint;
use sim_core::trim::{SteadyFlight, TrimConditions, Trimmer};
use sim_core::vehicle::Vehicle;
use std::f64::consts::PI;
use tossline_tests::known::aircraft::{body, glider, never_stalls, steady_air, twin};
use tossline_tests::known::power::ideal_cell;

fn conditions(motors: usize) -> TrimConditions {
    TrimConditions {
        tabs_rad: vec![0.0; motors],
        steering_shares: [0.5, -0.5][..motors].to_vec(),
        height_m: 20.0,
        charge_fraction: 1.0,
    }
}

/// The twin without stall, on a cell of a voltage that does not sag, with dihedral enough for stable turns.
fn turning_twin(voltage_v: f64) -> Vehicle<f64> {
    let mut vehicle = Vehicle {
        post_stall: never_stalls(),
        cell: ideal_cell(voltage_v),
        ..twin()
    };
    vehicle.coefficients.roll_beta = -0.12;
    vehicle
}

// MODEL.md § 10: to 1e-13, or to what rounding leaves. Rounding: forces near the weight to 1e-16 of it, the rotors' torques near
// 1e-3 N m over 1e-7 kg m² and 1000 rad/s² to some 1e-15. So every one of many flights is there.
#[test]
fn steady_flight_is_found_to_the_last_digits() {
    let (vehicle, air) = (turning_twin(3.9), steady_air());
    let trimmer = Trimmer::new(&vehicle, &air, conditions(2));
    let throttles: Vec<f64> = (1..=50).map(|i| 0.02 * f64::from(i)).collect();
    let mut found = trimmer.power_curve(&throttles);
    let level = trimmer.level().unwrap().throttle_fraction;
    found.extend((1..=10).map(|i| trimmer.turn(level, 0.003 * f64::from(i))));
    found.extend((1..=10).map(|i| trimmer.level_turn(0.003 * f64::from(i))));
    found.extend([trimmer.glide(), trimmer.level()]);
    assert_eq!(found.len(), 72);
    for steady in found {
        let steady = steady.unwrap();
        assert!(
            steady.residual < 1e-13,
            "{:.1e} at throttle {}, difference {}",
            steady.residual,
            steady.throttle_fraction,
            steady.left_minus_right_fraction
        );
    }
}

// A body whose inertia is a ball's has no ω×Iω; with a roll moment that neither sideslip nor rates change, its roll is never in
// balance as long as air flows: ½ρV²S b C_l0 ≠ 0. It has no steady flight, however small C_l0 is. At its glide's speed V near 5.4 m/s
// the scaled residual is ½ρV²S b C_l0/I · c̄/g, about 1.1 N · 0.5 m · 1e-4/4e-4 kg m² · 0.12/9.8 = 1.6e-3.
#[test]
fn a_roll_moment_that_nothing_balances_has_no_steady_flight() {
    let base = glider();
    let lopsided = |roll_zero: f64| {
        body(
            base.mass,
            Matrix3::identity() * 4e-4,
            Coefficients {
                roll_zero,
                roll_beta: 0.0,
                roll_p: 0.0,
                roll_r: 0.0,
                ..base.coefficients.clone()
            },
        )
    };
    let air = steady_air();
    for roll_zero in [1e-4, -1e-5] {
        let vehicle = lopsided(roll_zero);
        match Trimmer::new(&vehicle, &air, conditions(0)).glide() {
            Err(TrimError::NotFound { residual, .. }) => {
                assert!(residual > 1e-10 && residual < 1e-2, "{residual:.1e}");
            }
            other => panic!("{other:?}"),
        }
    }
}

// C_m = 0 at α = −C_m0/C_mα, wings level, table about the balance point; the margin is α_s − |α|, by hand. α_s 14°: 0.244346 rad.
#[test]
fn the_stall_margin_is_what_is_left_of_either_side_of_the_stall_angle() {
    let stall = |alpha_stall_rad: f64, blend: f64| {
        let angles = StallAngles {
            alpha_stall_rad,
            alpha_blend_rad: blend,
            ..StallAngles::never()
        };
        PostStall::of(&angles, &[], &BuilderPoint::default())
    };
    let air = steady_air();
    // α, α_s, blend; lift at zero incidence that carries the glider there.
    for (alpha, alpha_stall, blend, lift_zero, margin) in [
        (0.08, 0.244_346, 0.02, 0.05, 0.164_346),
        (-0.05, 0.244_346, 0.02, 0.6, 0.194_346),
        (0.08, 0.05, 0.1, 0.05, -0.03),
        (-0.05, 0.04, 0.1, 0.6, -0.01),
    ] {
        let mut vehicle = glider();
        vehicle.coefficients.pitch_zero = 0.5 * alpha;
        vehicle.coefficients.lift_zero = lift_zero;
        vehicle.post_stall = stall(alpha_stall, blend);
        let glide = Trimmer::new(&vehicle, &air, conditions(0)).glide().unwrap();
        assert!((glide.alpha_rad - alpha).abs() < 1e-9, "{glide:?}");
        assert!(
            (glide.stall_margin_rad - margin).abs() < 1e-9,
            "{} {margin}",
            glide.stall_margin_rad
        );
    }
}

// A left turn's rate is negative, its time for a circle and its radius are not: sinking at 0.5 m/s, half a turn a second, 1 m is lost
// in the 2 s of a circle; climbing, gained. At 5 m/s level, 5/π m of radius.
#[test]
fn a_left_turn_gains_and_loses_height_as_a_right_turn_does() {
    let (vehicle, air) = (turning_twin(3.9), steady_air());
    let trimmer = Trimmer::new(&vehicle, &air, conditions(2));
    let level = trimmer.level().unwrap();
    for turn_rate_rad_s in [PI, -PI] {
        for climb_m_s in [-0.5, 0.25] {
            let turn = SteadyFlight {
                turn_rate_rad_s,
                climb_m_s,
                airspeed_m_s: 5.0,
                path_angle_rad: 0.0,
                ..level.clone()
            };
            let change = turn.height_change_per_turn_m().unwrap();
            assert!((change - 2.0 * climb_m_s).abs() < 1e-12, "{change}");
            assert!((turn.turn_radius_m().unwrap() - 5.0 / PI).abs() < 1e-12);
        }
    }
    // Mirrored, the airframe is itself: left and right turns are alike. At level flight's throttle a turn sinks.
    let [right, left] = [0.02, -0.02].map(|difference| {
        let turn = trimmer.turn(level.throttle_fraction, difference).unwrap();
        assert!(turn.turn_rate_rad_s * difference > 0.0 && turn.climb_m_s < 0.0);
        turn.height_change_per_turn_m().unwrap()
    });
    assert!(right < 0.0 && (left / right - 1.0).abs() < 1e-9);
}

// Where level flight takes nearly full throttle, a difference of 0.1 holds one motor at its limit, and the other would have to make up
// for it: with f that of level flight and a turn taking no less, f − 0.05 + 1 ≥ 2 · 0.985 wants f ≥ 1.02. There is no such throttle.
#[test]
fn a_level_turn_beyond_full_throttle_is_too_tight() {
    let air = steady_air();
    let level_at = |voltage_v: f64| {
        let vehicle = turning_twin(voltage_v);
        let level = Trimmer::new(&vehicle, &air, conditions(2)).level();
        level.map_or(f64::INFINITY, |steady| steady.throttle_fraction)
    };
    // The voltage at which level flight takes 0.985 of throttle.
    let (mut low, mut high) = (1.0, 3.9);
    assert!(level_at(high) < 0.985 && level_at(low) > 0.985);
    for _ in 0..20 {
        let middle = 0.5 * (low + high);
        if level_at(middle) > 0.985 {
            low = middle;
        } else {
            high = middle;
        }
    }
    let vehicle = turning_twin(high);
    let trimmer = Trimmer::new(&vehicle, &air, conditions(2));
    assert!((trimmer.level().unwrap().throttle_fraction - 0.985).abs() < 1e-3);
    for difference in [0.1, -0.1] {
        match trimmer.level_turn(difference) {
            Err(TrimError::TurnTooTight {
                left_minus_right_fraction,
                reached_fraction,
                throttle_fraction,
            }) => {
                assert_eq!(left_minus_right_fraction, difference);
                assert!(reached_fraction.abs() < 0.1, "{reached_fraction}");
                assert!((0.98..=1.0).contains(&throttle_fraction));
            }
            other => panic!("{other:?}"),
        }
    }
    // A tenth of that difference is flown.
    let gentle = trimmer.level_turn(0.01).unwrap();
    assert!(gentle.throttle_fraction <= 1.0 && gentle.climb_m_s.abs() < 1e-9);
}
