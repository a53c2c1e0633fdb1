//! Where the flight left the range the model holds in (MODEL.md § 11).

use super::metrics::word;
use super::moment::Trace;
use super::refine::{above_zero, largest};
use serde::Serialize;
use sim_core::air::turbulence::LOWEST_STANDARD_HEIGHT_M;
use sim_core::look::Moment;
use sim_core::power::motor::FRICTION_FADE_RAD_S;
use std::f64::consts::TAU;
use std::fmt;

/// A way to leave the range the model holds in (MODEL.md § 11).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RangeKind {
    /// |alpha| beyond the stall angle; worst the largest |alpha|.
    IncidenceBeyondStall,
    /// |beta| beyond the fin's stall angle; worst the largest |beta|.
    SideslipBeyondStall,
    /// Advance ratio beyond the propeller's table with the rotor turning (20 rad/s or more); worst the largest.
    AdvanceRatioBeyondTable,
    /// Throttle and left-right difference ask a motor for less than 0 or more than 1; worst what is asked for farthest out.
    ThrottleHeldAtLimit,
    /// Rotor slower than −1 rad/s; worst the lowest.
    RotorTurnedBackwards,
    /// |p|b/2V above 0.3 at more than 1 m/s, p relative to the air; worst the largest.
    RollRateBeyondTable,
    /// |q|c/2V above 0.1 at more than 1 m/s; worst the largest.
    PitchRateBeyondTable,
    /// |r|b/2V above 0.3 at more than 1 m/s; worst the largest.
    YawRateBeyondTable,
    /// Height over 2000 m; worst the highest.
    HeightAboveRange,
    /// Height under −100 m; worst the lowest.
    HeightBelowRange,
    /// In turbulence, height under 10 ft, where its values are those of 10 ft and no standard's; worst the lowest.
    TurbulenceUnderTenFeet,
}

/// One way in which a flight left the model's range.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct RangeNote {
    /// In what way.
    pub what: RangeKind,
    /// Which motor, counted from 1, where it is one.
    pub motor: Option<usize>,
    /// How long in all, s.
    pub time_s: f64,
    /// When first, s after release.
    pub first_at_s: f64,
    /// The worst value meanwhile, in `unit`.
    pub worst: f64,
    /// Where the range ends, in `unit`.
    pub limit: f64,
    /// Unit of `worst` and `limit`; `1` for numbers without one.
    pub unit: &'static str,
}

impl fmt::Display for RangeNote {
    /// For a table's cell: what, for how long.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&word(&self.what))?;
        if let Some(motor) = self.motor {
            write!(f, " motor {motor}")?;
        }
        write!(f, " {:.3} s", self.time_s)
    }
}

const HIGHEST_M: f64 = 2000.0;
const LOWEST_M: f64 = -100.0;
const LARGEST_ROLL_OR_YAW_RATE: f64 = 0.3;
const LARGEST_PITCH_RATE: f64 = 0.1;
/// Airspeed below which dimensionless rates say nothing, m/s.
const SLOWEST_M_S: f64 = 1.0;
const ROTOR_BACKWARDS_RAD_S: f64 = -1.0;
/// Share of a motor's range by which a demand may miss it without a word: rounding of f ± Δ/2.
const THROTTLE_ROUNDING: f64 = 1e-12;

/// One range: beyond it where `margin` is above zero (any unit, continuous in time); `measure` is what the reader sees, worse upwards.
struct Range<M, V> {
    what: RangeKind,
    motor: Option<usize>,
    unit: &'static str,
    limit: f64,
    /// −1 where lower is worse.
    sign: f64,
    margin: M,
    measure: V,
}

/// Hands over when |alpha| is beyond α_s or |beta| beyond β_s, start and end of each stretch (s).
pub fn stalled(trace: &Trace<'_>, stretch: impl FnMut(f64, f64)) {
    let stall = &trace.flight.throw().vehicle.post_stall;
    let margin = |m: &Moment| {
        (m.alpha_rad.abs() - stall.alpha_stall).max(m.beta_rad.abs() - stall.beta_stall)
    };
    above_zero(&trace.whole().of(margin), trace.value(margin), stretch);
}

/// Adds all ways in which the flight left the model's range, in the order of MODEL.md § 11.
pub fn note(trace: &Trace<'_>, notes: &mut Vec<RangeNote>) {
    incidence(trace, notes);
    heights(trace, notes);
    motors(trace, notes);
    rates(trace, notes);
    throttle(trace, notes);
}

impl<M: Fn(&Moment) -> f64, V: Fn(&Moment) -> f64> Range<M, V> {
    /// Adds that a flight left it, where it did.
    fn note(&self, trace: &Trace<'_>, notes: &mut Vec<RangeNote>) {
        let mut first_at_s = None;
        let mut time_s = 0.0;
        let mut worst = f64::NEG_INFINITY;
        let value = trace.value(&self.measure);
        let points = trace.whole();
        above_zero(
            &points.of(&self.margin),
            trace.value(&self.margin),
            |start, end| {
                first_at_s.get_or_insert(start);
                time_s += end - start;
                let inside = trace.between(start, end);
                if let Some((_, most)) = largest(&inside.of(&self.measure), &value) {
                    worst = worst.max(most);
                }
            },
        );
        notes.extend(first_at_s.map(|first_at_s| RangeNote {
            what: self.what,
            motor: self.motor,
            time_s,
            first_at_s,
            worst: self.sign * worst,
            limit: self.limit,
            unit: self.unit,
        }));
    }
}

fn incidence(trace: &Trace<'_>, notes: &mut Vec<RangeNote>) {
    let stall = &trace.flight.throw().vehicle.post_stall;
    type Angle = fn(&Moment) -> f64;
    let alpha: Angle = |m| m.alpha_rad.abs();
    let beta: Angle = |m| m.beta_rad.abs();
    for (what, limit_rad, angle) in [
        (RangeKind::IncidenceBeyondStall, stall.alpha_stall, alpha),
        (RangeKind::SideslipBeyondStall, stall.beta_stall, beta),
    ] {
        let range = Range {
            what,
            motor: None,
            unit: "deg",
            limit: limit_rad.to_degrees(),
            sign: 1.0,
            margin: |m: &Moment| angle(m) - limit_rad,
            measure: |m: &Moment| angle(m).to_degrees(),
        };
        range.note(trace, notes);
    }
}

fn heights(trace: &Trace<'_>, notes: &mut Vec<RangeNote>) {
    let turbulent = trace.flight.throw().air.turbulence.is_some();
    let under_ten_feet = turbulent.then_some((
        RangeKind::TurbulenceUnderTenFeet,
        -1.0,
        LOWEST_STANDARD_HEIGHT_M,
    ));
    let always = [
        (RangeKind::HeightAboveRange, 1.0, HIGHEST_M),
        (RangeKind::HeightBelowRange, -1.0, LOWEST_M),
    ];
    for (what, sign, limit) in always.into_iter().chain(under_ten_feet) {
        let range = Range {
            what,
            motor: None,
            unit: "m",
            limit,
            sign,
            margin: |m: &Moment| sign * (m.height_m - limit),
            measure: |m: &Moment| sign * m.height_m,
        };
        range.note(trace, notes);
    }
}

fn motors(trace: &Trace<'_>, notes: &mut Vec<RangeNote>) {
    let motors = &trace.flight.throw().vehicle.motors;
    for (i, motor) in motors.iter().enumerate() {
        let last = motor.propeller.last_advance_ratio;
        let travel = |m: &Moment| m.rotors_rad_s[i] / TAU * motor.propeller.diameter;
        let turning = FRICTION_FADE_RAD_S / TAU * motor.propeller.diameter;
        let advance_ratio = Range {
            what: RangeKind::AdvanceRatioBeyondTable,
            motor: Some(i + 1),
            unit: "1",
            limit: last,
            sign: 1.0,
            margin: |m: &Moment| (m.axial_m_s[i] - last * travel(m)).min(travel(m) - turning),
            measure: |m: &Moment| m.axial_m_s[i] / travel(m),
        };
        advance_ratio.note(trace, notes);
        let backwards = Range {
            what: RangeKind::RotorTurnedBackwards,
            motor: Some(i + 1),
            unit: "rad/s",
            limit: ROTOR_BACKWARDS_RAD_S,
            sign: -1.0,
            margin: |m: &Moment| ROTOR_BACKWARDS_RAD_S - m.rotors_rad_s[i],
            measure: |m: &Moment| -m.rotors_rad_s[i],
        };
        backwards.note(trace, notes);
    }
}

fn rates(trace: &Trace<'_>, notes: &mut Vec<RangeNote>) {
    let table = &trace.flight.throw().vehicle.coefficients;
    let (span, chord) = (table.span, table.chord);
    for (what, axis, length, limit) in [
        (
            RangeKind::RollRateBeyondTable,
            0,
            span,
            LARGEST_ROLL_OR_YAW_RATE,
        ),
        (
            RangeKind::PitchRateBeyondTable,
            1,
            chord,
            LARGEST_PITCH_RATE,
        ),
        (
            RangeKind::YawRateBeyondTable,
            2,
            span,
            LARGEST_ROLL_OR_YAW_RATE,
        ),
    ] {
        let speed = |m: &Moment| m.rates_rad_s[axis].abs() * length / 2.0;
        let range = Range {
            what,
            motor: None,
            unit: "1",
            limit,
            sign: 1.0,
            margin: |m: &Moment| {
                (speed(m) - limit * m.airspeed_m_s).min(m.airspeed_m_s - SLOWEST_M_S)
            },
            measure: |m: &Moment| speed(m) / m.airspeed_m_s,
        };
        range.note(trace, notes);
    }
}

/// Throttle held at a limit: whole stretches between cuts, inside which each demand is a straight line on one side of its limits.
fn throttle(trace: &Trace<'_>, notes: &mut Vec<RangeNote>) {
    let flight = trace.flight;
    let pilot = &flight.throw().pilot;
    for motor in 0..flight.throw().vehicle.motors.len() {
        let share = pilot.steering_shares.get(motor).copied().unwrap_or(0.0);
        let mut note: Option<RangeNote> = None;
        let cuts = || flight.cut_times();
        for leg in cuts()
            .zip(cuts().skip(1))
            .map(|(start_s, end_s)| [start_s, end_s])
        {
            if !flight.powered_at(leg[0]) {
                continue;
            }
            let feedback = flight.feedback_at(leg[0]);
            let added = feedback.collective + share * feedback.difference;
            let demands = [
                pilot.throttle.after(leg[0]) + share * pilot.left_minus_right.after(leg[0]) + added,
                pilot.throttle.before(leg[1])
                    + share * pilot.left_minus_right.before(leg[1])
                    + added,
            ];
            let excess = |demand: f64| (demand - 1.0).max(-demand);
            let worst = if excess(demands[0]) >= excess(demands[1]) {
                demands[0]
            } else {
                demands[1]
            };
            if leg[1] <= leg[0] || excess(worst) <= THROTTLE_ROUNDING {
                continue;
            }
            let note = note.get_or_insert(RangeNote {
                what: RangeKind::ThrottleHeldAtLimit,
                motor: Some(motor + 1),
                time_s: 0.0,
                first_at_s: leg[0],
                worst,
                limit: if worst > 1.0 { 1.0 } else { 0.0 },
                unit: "fraction",
            });
            note.time_s += leg[1] - leg[0];
            if excess(worst) > excess(note.worst) {
                note.worst = worst;
                note.limit = if worst > 1.0 { 1.0 } else { 0.0 };
            }
        }
        notes.extend(note);
    }
}
