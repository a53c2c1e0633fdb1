//! When a sampled controller looks, and when what it says comes into force (MODEL.md § 7.3, 7.4).

use super::Feedback;
use crate::pilot::ONE_CUT_S;
use std::collections::VecDeque;

/// The memory of a controller that looks at even times and acts after a delay.
#[derive(Clone, Debug)]
pub struct Sampled {
    sample_time_s: f64,
    delay_s: f64,
    next_sample: u64,
    /// Commands under way, with the time each comes into force (s).
    under_way: VecDeque<(f64, Feedback)>,
    in_force: Feedback,
}

impl Sampled {
    /// A controller that has not looked yet. Its first look is at 0 s.
    pub fn new(sample_time_s: f64, delay_s: f64) -> Self {
        Sampled {
            sample_time_s,
            delay_s,
            next_sample: 0,
            under_way: VecDeque::new(),
            in_force: Feedback::default(),
        }
    }

    /// Becomes [`Sampled::new`], in its own storage.
    pub fn restart(&mut self, sample_time_s: f64, delay_s: f64) {
        (self.sample_time_s, self.delay_s) = (sample_time_s, delay_s);
        self.next_sample = 0;
        self.under_way.clear();
        self.in_force = Feedback::default();
    }

    /// Takes what is due at a time (s): `look(k)` is the command after sample k. Times must not go back.
    pub fn advance(&mut self, time_s: f64, mut look: impl FnMut(u64) -> Feedback) -> Feedback {
        let reached_s = time_s + ONE_CUT_S;
        while self.sample_due_s() <= reached_s {
            let in_force_s = self.sample_due_s() + self.delay_s;
            self.under_way
                .push_back((in_force_s, look(self.next_sample)));
            self.next_sample += 1;
        }
        while let Some(&(_, command)) = self.under_way.front().filter(|next| next.0 <= reached_s) {
            self.in_force = command;
            self.under_way.pop_front();
        }
        self.in_force
    }

    fn sample_due_s(&self) -> f64 {
        self.next_sample as f64 * self.sample_time_s
    }

    /// The next time at which something is due, s.
    pub fn next_due_s(&self) -> f64 {
        let command = self.under_way.front().map_or(f64::INFINITY, |next| next.0);
        self.sample_due_s().min(command)
    }
}
