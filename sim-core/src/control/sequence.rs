//! The controls of one flight as it goes on: programmes, what holding pilot and damper add, slew limits, power lost (MODEL.md § 7).

use super::Feedback;
use super::sampled::Sampled;
use super::slew::follow;
use crate::pilot::{ControlSpan, ONE_CUT_S, Pilot, held_to_limits, limit_crossings};
use crate::segment::Line;
use crate::state::State;

/// Hands out the controls from cut to cut, and keeps what controllers remember in between.
#[derive(Debug)]
pub struct Sequence<'a> {
    pilot: &'a Pilot,
    damper: Option<Sampled>,
    hold: Option<Sampled>,
    /// The driver has cut the motors off.
    cut_off: bool,
    /// What was handed out last: slewed values go on from it.
    last: Option<ControlSpan>,
}

impl<'a> Sequence<'a> {
    /// The controls before release.
    pub fn new(pilot: &'a Pilot) -> Self {
        let damper = pilot.module.damper.as_ref().filter(|one| one.is_on());
        let hold = pilot.hold.as_ref().filter(|one| one.is_on());
        Sequence {
            pilot,
            damper: damper.map(|one| Sampled::new(one.sample_time_s, one.delay_s)),
            hold: hold.map(|one| Sampled::new(one.sample_time_s, one.delay_s)),
            cut_off: false,
            last: None,
        }
    }

    /// Takes the power from the motors for good.
    pub fn cut_off(&mut self) {
        self.cut_off = true;
    }

    /// The controls from a time (s) in a span of the programmes, with the state there: to the span's end, or to the first cut before it.
    pub fn from(&mut self, span: &ControlSpan, start_s: f64, state: &State<f64>) -> ControlSpan {
        let powered = span.powered && !self.cut_off;
        let slews = self.pilot.slew.is_on();
        if powered && self.damper.is_none() && self.hold.is_none() && !slews {
            return span.clone();
        }
        let feedback = if powered {
            self.sample(start_s, state)
        } else {
            Feedback::default()
        };
        let mut end_s = span.end_s;
        let cut_at = |end_s: &mut f64, time_s: f64| {
            if time_s < *end_s - ONE_CUT_S {
                *end_s = time_s;
            }
        };
        if powered {
            for controller in [&self.damper, &self.hold].into_iter().flatten() {
                cut_at(&mut end_s, controller.next_due_s());
            }
        }
        let wanted: Vec<Line<f64>> = span
            .wanted
            .iter()
            .zip(&self.pilot.steering_shares)
            .map(|(line, share)| Line {
                start: line.after(start_s - span.start_s)
                    + (feedback.collective + share * feedback.difference),
                slope: line.slope,
            })
            .collect();
        if powered {
            for line in &wanted {
                for crossing_s in limit_crossings(line, start_s) {
                    if crossing_s > start_s + ONE_CUT_S {
                        cut_at(&mut end_s, crossing_s);
                    }
                }
            }
        }
        let (mut throttles, held_at_limit) = if powered {
            held_to_limits(&wanted, (end_s - start_s) / 2.0)
        } else {
            (vec![Line::constant(0.0); wanted.len()], false)
        };
        let mut tabs: Vec<Line<f64>> = span
            .tabs
            .iter()
            .map(|line| Line {
                start: line.after(start_s - span.start_s),
                slope: line.slope,
            })
            .collect();
        if let Some(last) = self.last.as_ref().filter(|_| slews) {
            let elapsed_s = start_s - last.start_s;
            let slew = &self.pilot.slew;
            let mut limit = |targets: &mut [Line<f64>], from: &[Line<f64>], rate: Option<f64>| {
                for (target, from) in targets.iter_mut().zip(from) {
                    let (line, meets_after_s) = follow(from.after(elapsed_s), target, rate);
                    *target = line;
                    cut_at(&mut end_s, start_s + meets_after_s);
                }
            };
            // Power that is gone is gone at once.
            if powered {
                limit(&mut throttles, &last.throttles, slew.throttle_1_s);
            }
            limit(&mut tabs, &last.tabs, slew.tabs_rad_s);
        }
        let now = ControlSpan {
            start_s,
            end_s,
            wanted: span.wanted.clone(),
            throttles,
            tabs,
            held_at_limit,
            feedback,
            powered,
        };
        self.last = Some(now.clone());
        now
    }

    fn sample(&mut self, time_s: f64, state: &State<f64>) -> Feedback {
        let damper = self.pilot.module.damper.as_ref().zip(self.damper.as_mut());
        let hold = self.pilot.hold.as_ref().zip(self.hold.as_mut());
        let damper =
            damper.map(|(law, memory)| memory.advance(time_s, |k| law.command(&state.rates, k)));
        let hold = hold.map(|(law, memory)| memory.advance(time_s, |_| law.command(time_s, state)));
        damper.unwrap_or_default() + hold.unwrap_or_default()
    }
}
