//! Monotone cubic interpolation of measured tables (MODEL.md § 6.4).

use crate::number::{Number, lane_data};

lane_data! {
    /// A piecewise cubic through measured points that keeps their rises and falls.
    ///
    /// On the interval from `knots[i]` the value is `c0 + t (c1 + t (c2 + t c3))`, t the distance from the knot.
    /// Source: Fritsch & Butland, SIAM J. Sci. Stat. Comput. 5 (1984), from memory.
    pub struct MonotoneCubic<T> {
        /// Where the points lie, rising, in the argument's unit.
        pub knots: Vec<T>,
        /// Values at the knots.
        pub c0: Vec<T>,
        /// First-power coefficients.
        pub c1: Vec<T>,
        /// Second-power coefficients.
        pub c2: Vec<T>,
        /// Third-power coefficients.
        pub c3: Vec<T>,
    }
}

impl MonotoneCubic<f64> {
    /// Interpolation through `(x, y)` points; at least two, x rising.
    ///
    /// # Panics
    /// With fewer than two points or where x does not rise: callers check their tables first.
    pub fn through(points: &[(f64, f64)]) -> Self {
        let n = points.len();
        assert!(n >= 2, "a table needs two points");
        assert!(
            points.windows(2).all(|w| w[0].0 < w[1].0),
            "a table's knots must rise"
        );
        let steps: Vec<f64> = points.windows(2).map(|w| w[1].0 - w[0].0).collect();
        let secants: Vec<f64> = points
            .windows(2)
            .zip(&steps)
            .map(|(w, h)| (w[1].1 - w[0].1) / h)
            .collect();
        let slopes: Vec<f64> = (0..n)
            .map(|i| {
                if n == 2 {
                    secants[0]
                } else if i == 0 {
                    end_slope(steps[0], steps[1], secants[0], secants[1])
                } else if i == n - 1 {
                    end_slope(steps[n - 2], steps[n - 3], secants[n - 2], secants[n - 3])
                } else {
                    inner_slope(steps[i - 1], steps[i], secants[i - 1], secants[i])
                }
            })
            .collect();
        let of = |f: &dyn Fn(usize) -> f64| (0..n - 1).map(f).collect::<Vec<_>>();
        MonotoneCubic {
            knots: points.iter().map(|p| p.0).collect(),
            c0: of(&|i| points[i].1),
            c1: of(&|i| slopes[i]),
            c2: of(&|i| (3.0 * secants[i] - 2.0 * slopes[i] - slopes[i + 1]) / steps[i]),
            c3: of(&|i| (slopes[i] + slopes[i + 1] - 2.0 * secants[i]) / (steps[i] * steps[i])),
        }
    }
}

impl<T: Number> MonotoneCubic<T> {
    /// Value at `x`; beyond the ends the outermost cubic goes on.
    #[inline(always)]
    pub fn at(&self, x: T) -> T {
        let cell = x.locate(&self.knots);
        self.in_cell(x - T::gather(&self.knots, cell), cell)
    }

    /// Value at a distance from the knot of a cell.
    #[inline(always)]
    fn in_cell(&self, t: T, cell: T::Cell) -> T {
        let (c0, c1) = (T::gather(&self.c0, cell), T::gather(&self.c1, cell));
        let (c2, c3) = (T::gather(&self.c2, cell), T::gather(&self.c3, cell));
        t.times_plus(t.times_plus(t.times_plus(c3, c2), c1), c0)
    }

    /// Values of two tables with the same knots.
    #[inline(always)]
    pub fn both_at(&self, other: &Self, x: T) -> (T, T) {
        let cell = x.locate(&self.knots);
        let t = x - T::gather(&self.knots, cell);
        (self.in_cell(t, cell), other.in_cell(t, cell))
    }
}

fn inner_slope(h0: f64, h1: f64, d0: f64, d1: f64) -> f64 {
    if d0 * d1 <= 0.0 {
        return 0.0;
    }
    let (w1, w2) = (2.0 * h1 + h0, h1 + 2.0 * h0);
    (w1 + w2) / (w1 / d0 + w2 / d1)
}

fn end_slope(h0: f64, h1: f64, d0: f64, d1: f64) -> f64 {
    let slope = ((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1);
    if slope * d0 <= 0.0 {
        0.0
    } else if d0 * d1 < 0.0 && slope.abs() > 3.0 * d0.abs() {
        3.0 * d0
    } else {
        slope
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Values of scipy.interpolate.PchipInterpolator (SciPy 1.17.1) at the same points.
    #[test]
    fn agrees_with_scipy_pchip() {
        let table = MonotoneCubic::through(&[
            (0.0, 0.12),
            (0.3, 0.10),
            (0.45, 0.11),
            (0.8, 0.02),
            (1.2, -0.03),
        ]);
        for (x, expected) in SCIPY {
            assert!(
                (table.at(x) - expected).abs() < 1e-15,
                "{x}: {}",
                table.at(x)
            );
        }
    }
    const SCIPY: [(f64, f64); 5] = [
        (0.05, 0.11311728395061729),
        (0.2, 0.10172839506172841),
        (0.4, 0.10740740740740741),
        (0.6, 0.080_804_781_878_068_48),
        (1.1, -0.022299166940740307),
    ];
}
