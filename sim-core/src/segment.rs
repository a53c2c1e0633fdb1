//! What holds between two cuts of a flight: controls that are straight lines in time, gusts that are on or off (MODEL.md § 9).

use crate::number::{Number, Widen, lane_data};
use crate::state::MAX_MOTORS;

lane_data! {
    /// A value that changes evenly in time.
    pub struct Line<T> {
        /// Value at the segment's start.
        pub start: T,
        /// Change per second.
        pub slope: T,
    }
}

impl<T: Number> Line<T> {
    /// A value that stays.
    pub fn constant(value: T) -> Self {
        Line {
            start: value,
            slope: T::zero(),
        }
    }
    /// Value a time (s) after the segment's start.
    #[inline(always)]
    pub fn after(&self, elapsed: T) -> T {
        self.slope.times_plus(elapsed, self.start)
    }
}

lane_data! {
    /// Conditions inside which the right-hand side is smooth in time.
    pub struct Segment<T> {
        /// When the segment starts, s.
        pub start_time: T,
        /// Duty of each motor, 0 to 1.
        pub throttles: Vec<Line<T>>,
        /// Angle of each tab, rad.
        pub tabs: Vec<Line<T>>,
        /// 1 for each gust whose pulse is on, else 0.
        pub gusts_on: Vec<T>,
    }
}

impl<T: Number> Segment<T> {
    /// Motors at fixed duties, tabs at fixed angles (rad), no gusts.
    pub fn steady(throttles: &[T], tabs: &[T]) -> Self {
        let lines = |values: &[T]| values.iter().map(|&v| Line::constant(v)).collect();
        Segment {
            start_time: T::zero(),
            throttles: lines(throttles),
            tabs: lines(tabs),
            gusts_on: Vec::new(),
        }
    }

    /// Duty of each motor at a time (s); zero where there is none.
    #[inline(always)]
    #[allow(clippy::needless_range_loop)]
    pub fn duty(&self, time: T) -> [T; MAX_MOTORS] {
        let elapsed = time - self.start_time;
        let mut duty = [T::zero(); MAX_MOTORS];
        for i in 0..self.throttles.len().min(MAX_MOTORS) {
            duty[i] = self.throttles[i].after(elapsed);
        }
        duty
    }

    /// Angle of each tab (rad) at a time (s).
    #[inline(always)]
    pub fn tab_angles(&self, time: T) -> impl Iterator<Item = T> + '_ {
        let elapsed = time - self.start_time;
        self.tabs.iter().map(move |line| line.after(elapsed))
    }
}

impl Segment<f64> {
    /// Becomes another one, in its own storage.
    pub fn become_like(&mut self, other: &Self) {
        self.start_time = other.start_time;
        self.throttles.clone_from(&other.throttles);
        self.tabs.clone_from(&other.tabs);
        self.gusts_on.clone_from(&other.gusts_on);
    }

    /// The same conditions in every lane of a wider number.
    pub fn spread<T: Number>(&self) -> Segment<T> {
        Segment::widen(&[self])
    }
}
