//! The controls of one flight as it goes on: programmes, what holding pilot and damper add, slew limits, power lost (MODEL.md § 7).

use super::Feedback;
use super::sampled::Sampled;
use super::slew::follow;
use crate::pilot::{ControlSpan, ONE_CUT_S, Pilot, hold_to_limits, limit_crossings};
use crate::segment::Line;
use crate::state::State;

/// Hands out the controls from cut to cut, and keeps what controllers remember in between. The pilot is always the same until it is begun
/// again.
#[derive(Debug)]
pub struct Sequence {
    damper: Controller,
    hold: Controller,
    /// The driver has cut the motors off.
    cut_off: bool,
    /// What was handed out last, where anything was: slewed values go on from it.
    last: ControlSpan,
    has_last: bool,
}

/// A controller's memory, and whether it is there at all.
#[derive(Debug)]
struct Controller {
    memory: Sampled,
    is_on: bool,
}

impl Controller {
    fn none() -> Self {
        Controller {
            memory: Sampled::new(1.0, 0.0),
            is_on: false,
        }
    }

    /// Begins with the time between samples and the delay (s), where it is there.
    fn begin(&mut self, times_s: Option<(f64, f64)>) {
        self.is_on = times_s.is_some();
        if let Some((sample_time_s, delay_s)) = times_s {
            self.memory.restart(sample_time_s, delay_s);
        }
    }

    fn in_use(&mut self) -> Option<&mut Sampled> {
        self.is_on.then_some(&mut self.memory)
    }
}

impl Sequence {
    /// The controls before release.
    pub fn new(pilot: &Pilot) -> Self {
        let mut sequence = Sequence::of_nobody();
        sequence.begin(pilot);
        sequence
    }

    /// One to be begun.
    pub fn of_nobody() -> Self {
        Sequence {
            damper: Controller::none(),
            hold: Controller::none(),
            cut_off: false,
            last: ControlSpan::default(),
            has_last: false,
        }
    }

    /// Becomes [`Sequence::new`], in its own storage.
    pub fn begin(&mut self, pilot: &Pilot) {
        let damper = pilot.module.damper.as_ref().filter(|one| one.is_on());
        let hold = pilot.hold.as_ref().filter(|one| one.is_on());
        self.damper
            .begin(damper.map(|one| (one.sample_time_s, one.delay_s)));
        self.hold
            .begin(hold.map(|one| (one.sample_time_s, one.delay_s)));
        self.cut_off = false;
        self.has_last = false;
    }

    /// Takes the power from the motors for good.
    pub fn cut_off(&mut self) {
        self.cut_off = true;
    }

    /// Puts the controls from a time (s) in a span of the programmes, with the state there, into `now`: to the span's end, or to the first
    /// cut before it.
    pub fn next(
        &mut self,
        pilot: &Pilot,
        span: &ControlSpan,
        start_s: f64,
        state: &State<f64>,
        now: &mut ControlSpan,
    ) {
        now.become_like(span);
        let powered = span.powered && !self.cut_off;
        let slews = pilot.slew.is_on();
        if powered && !self.damper.is_on && !self.hold.is_on && !slews {
            return;
        }
        now.powered = powered;
        now.feedback = if powered {
            self.sample(pilot, start_s, state)
        } else {
            Feedback::default()
        };
        (now.start_s, now.end_s) = (start_s, span.end_s);
        let cut_at = |end_s: &mut f64, time_s: f64| {
            if time_s < *end_s - ONE_CUT_S {
                *end_s = time_s;
            }
        };
        if powered {
            for controller in [&self.damper, &self.hold] {
                if controller.is_on {
                    cut_at(&mut now.end_s, controller.memory.next_due_s());
                }
            }
        }
        let from_here = |line: &Line<f64>, added: f64| Line {
            start: line.after(start_s - span.start_s) + added,
            slope: line.slope,
        };
        now.throttles.clear();
        let shares = pilot.steering_shares.iter();
        now.throttles
            .extend(span.wanted.iter().zip(shares).map(|(line, share)| {
                from_here(
                    line,
                    now.feedback.collective + share * now.feedback.difference,
                )
            }));
        now.held_at_limit = if powered {
            for line in &now.throttles {
                for crossing_s in limit_crossings(line, start_s) {
                    if crossing_s > start_s + ONE_CUT_S {
                        cut_at(&mut now.end_s, crossing_s);
                    }
                }
            }
            hold_to_limits(&mut now.throttles, (now.end_s - start_s) / 2.0)
        } else {
            now.throttles.fill(Line::constant(0.0));
            false
        };
        for tab in &mut now.tabs {
            tab.start = tab.after(start_s - span.start_s);
        }
        if self.has_last && slews {
            let last = &self.last;
            let elapsed_s = start_s - last.start_s;
            let slew = &pilot.slew;
            let mut limit = |targets: &mut [Line<f64>], from: &[Line<f64>], rate: Option<f64>| {
                for (target, from) in targets.iter_mut().zip(from) {
                    let (line, meets_after_s) = follow(from.after(elapsed_s), target, rate);
                    *target = line;
                    cut_at(&mut now.end_s, start_s + meets_after_s);
                }
            };
            // Power that is gone is gone at once.
            if powered {
                limit(&mut now.throttles, &last.throttles, slew.throttle_1_s);
            }
            limit(&mut now.tabs, &last.tabs, slew.tabs_rad_s);
        }
        self.last.become_like(now);
        self.has_last = true;
    }

    fn sample(&mut self, pilot: &Pilot, time_s: f64, state: &State<f64>) -> Feedback {
        let damper = pilot.module.damper.as_ref().zip(self.damper.in_use());
        let hold = pilot.hold.as_ref().zip(self.hold.in_use());
        let damper =
            damper.map(|(law, memory)| memory.advance(time_s, |k| law.command(&state.rates, k)));
        let hold = hold.map(|(law, memory)| memory.advance(time_s, |_| law.command(time_s, state)));
        damper.unwrap_or_default() + hold.unwrap_or_default()
    }
}
