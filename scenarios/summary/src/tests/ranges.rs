//! Right beside the limits of the model's range, and what a cell that is not full has given.

use super::bodies::{ball, ideal_motor, throw};
use super::{near, sum_up};
use crate::RangeKind;
use nalgebra::Vector3;
use sim_core::launch::Launch;

// A ball of 0.5 m reference span and 0.1 m chord at 10 m/s without gravity keeps its rates: p b/2V = 0.3 at 12 rad/s, q c̄/2V = 0.1 at
// 20 rad/s, r b/2V = 0.3 at 12 rad/s (MODEL.md § 11, by hand). A thousandth less says nothing, a thousandth more does, all along.
#[test]
fn rates_are_said_right_beyond_their_limits() {
    for (axis, rate_rad_s, limit, what) in [
        (Vector3::x(), 12.0, 0.3, RangeKind::RollRateBeyondTable),
        (Vector3::y(), 20.0, 0.1, RangeKind::PitchRateBeyondTable),
        (Vector3::z(), 12.0, 0.3, RangeKind::YawRateBeyondTable),
    ] {
        for sign in [1.0, -1.0] {
            let turning = |share: f64| {
                let launch = Launch {
                    rates_rad_s: axis * (sign * share * rate_rad_s),
                    ..Launch::level(100.0, 10.0)
                };
                let mut throw = throw(ball(), launch, 0.5);
                throw.air.gravity.surface_m_s2 = 0.0;
                sum_up(&throw).model_range
            };
            assert_eq!(turning(0.999), []);
            let notes = turning(1.001);
            assert_eq!(notes.len(), 1, "{notes:?}");
            assert_eq!((notes[0].what, notes[0].unit), (what, "1"));
            near(Some(notes[0].limit), limit, 0.0);
            near(Some(notes[0].worst), 1.001 * limit, 1e-6);
            near(Some(notes[0].time_s), 0.5, 1e-9);
        }
    }
}

// Electronics draw 0.9 A for 2 s: 1.8 C, 0.5 mAh, of a cell of 360 C that was 0.6 full at release; 0.6 − 1.8/360 = 0.595 is left.
#[test]
fn charge_used_counts_from_the_release() {
    let mut vehicle = ball();
    vehicle.cell.electronics_current = 0.9;
    vehicle
        .motors
        .push(ideal_motor(Vector3::x(), Vector3::zeros(), 1e-9, 0.1));
    let launch = Launch {
        charge_fraction: 0.6,
        ..Launch::level(100.0, 5.0)
    };
    let summary = sum_up(&throw(vehicle, launch, 2.0));
    near(summary.charge_used_mAh, 0.5, 1e-9);
    near(summary.charge_left_fraction, 0.595, 1e-12);
}
