//! The balance page in words.

use crate::output::table::{number, of_texts};
use scenarios::balance::{
    Balance, BalanceDoubt, BallastWish, Bend, Glide, GlideDoubt, Mark, TrailingEdge,
};
use scenarios::estimate::Comparison;

/// Edges whose ends differ by less than this are told by one number, mm.
const SAME_MM: f64 = 0.5;

/// Everything the page tells.
pub(super) struct Page<'a> {
    pub balance: &'a Balance,
    pub wish: &'a BallastWish,
    /// None where the file's coefficients carry no one sigma.
    pub doubt: Option<BalanceDoubt>,
    pub mark: Option<Mark>,
    pub edges: Vec<TrailingEdge>,
}

impl Page<'_> {
    pub fn text(&self) -> String {
        [
            self.points(),
            self.glides(),
            self.bends(),
            self.ballast(),
            self.how_sure(),
        ]
        .concat()
    }

    fn points(&self) -> String {
        let balance = self.balance;
        let behind = self.mark.as_ref().map_or(String::new(), |mark| {
            let by = mark.behind_leading_edge_mm;
            format!(
                ", that is {:.1} mm {} the leading edge at the root of surface {}",
                by.abs(),
                if by >= 0.0 { "behind" } else { "ahead of" },
                mark.surface
            )
        });
        let doubt = self.doubt.as_ref();
        let mut text = format!(
            "Mark the balance point {:.1} mm aft of the nose datum{behind}.\nThe neutral point is at {:.1}{} mm, the static margin {:.1}{} % of the chord.\n",
            balance.balance_station_mm,
            balance.neutral_point_station_mm,
            give(doubt.map(|d| d.neutral_point_mm), 1),
            balance.static_margin_fraction * 100.0,
            give(doubt.map(|d| d.static_margin_fraction * 100.0), 1),
        );
        if balance.static_margin_fraction <= 0.0 {
            text +=
                "It balances behind its neutral point and will not glide: move weight forward.\n";
        } else if doubt.is_some_and(|d| d.static_margin_fraction > balance.static_margin_fraction) {
            text += "The margin is smaller than its own give or take: move weight forward before the first throw.\n";
        }
        text += &match &balance.gliding_window_mm {
            Some(window) => format!(
                "It glides, as its edges are bent now, with the balance point from {:.1} to {:.1} mm{}.\n",
                window.from_mm,
                window.to_mm,
                if window.holds_balance {
                    ""
                } else {
                    "; the present point lies outside"
                }
            ),
            None => "As its edges are bent now it glides with no balance point.\n".to_owned(),
        };
        text
    }

    fn glides(&self) -> String {
        let balance = self.balance;
        let of_doubt =
            |pick: fn(&BalanceDoubt) -> Option<GlideDoubt>| self.doubt.as_ref().and_then(pick);
        let mut text = of_texts(
            &[
                "",
                "airspeed\nm/s",
                "sink\nm/s",
                "glide\nratio",
                "incidence\ndeg",
                "lift\ncoefficient",
                "Reynolds\nnumber",
            ],
            &[
                row("as it is trimmed", &balance.glide, of_doubt(|d| d.glide)),
                row(
                    "best glide",
                    &balance.best_glide,
                    of_doubt(|d| d.best_glide),
                ),
                row(
                    "least sink",
                    &balance.least_sink,
                    of_doubt(|d| d.least_sink),
                ),
            ],
        );
        text += "Best glide and least sink are the polar's, without the drag of propellers standing still.\n";
        if let Some(reason) = &balance.glide_not_found {
            text += &format!("As it is trimmed it does not glide steadily: {reason}\n");
        }
        text + &format!("Wing loading {:.1} g/dm².\n", balance.wing_loading_g_dm2)
    }

    fn bends(&self) -> String {
        let bends = self.balance.bends_to_best_glide.iter().enumerate();
        bends.map(|(i, bend)| self.bend(i, bend)).collect()
    }

    fn bend(&self, i: usize, bend: &Bend) -> String {
        let doubt = self.doubt.as_ref();
        let sigma = doubt.and_then(|d| d.bends_to_best_glide_deg.get(i).copied());
        let mut text = format!(
            "For best glide bend {} to {:.1}{} deg {}; it is at {:.1} deg {}.\n",
            bend.tab,
            bend.to_best_glide_deg.abs(),
            give(sigma, 1),
            way(bend.to_best_glide_deg),
            bend.setting_deg.abs(),
            way(bend.setting_deg),
        );
        for edge in self.edges.iter().filter(|edge| edge.tab == bend.tab) {
            let [inner, outer] = edge.up_mm(bend.to_best_glide_deg).map(f64::abs);
            let more = sigma.map(|sigma| {
                let [inner, outer] = edge.up_mm(sigma).map(f64::abs);
                0.5 * (inner + outer)
            });
            let ends = if (inner - outer).abs() < SAME_MM {
                format!("{:.1} mm", 0.5 * (inner + outer))
            } else {
                format!("{inner:.1} mm (inner end) to {outer:.1} mm (outer end)")
            };
            text += &format!(
                "  The trailing edge of surface {} then stands {ends}{} {} where it would be unbent.\n",
                edge.surface,
                more.map_or(String::new(), |more| format!(
                    ", give or take {more:.1} mm,"
                )),
                if bend.to_best_glide_deg <= 0.0 {
                    "above"
                } else {
                    "below"
                },
            );
        }
        text
    }

    fn ballast(&self) -> String {
        match &self.balance.ballast {
            Some(ballast) => format!(
                "{:.1} g at station {:.0} mm brings the margin to {:.0} %.\n",
                ballast.mass_g,
                ballast.station_mm,
                ballast.margin_fraction * 100.0
            ),
            None => format!(
                "No ballast at station {:.0} mm is needed for, or can reach, a margin of {:.0} %.\n",
                self.wish.station_m * 1e3,
                self.wish.margin_fraction * 100.0
            ),
        }
    }

    fn how_sure(&self) -> String {
        match self.doubt {
            Some(_) => "± is one standard deviation, from those of the file's coefficients: two times out of three the true number lies inside, if they are right.\n",
            None => "How sure these numbers are is not known: the file's coefficients carry no one_sigma (those of --estimate do).\n",
        }
        .to_owned()
    }
}

/// Up or down, for an angle with trailing edge down positive.
fn way(angle_deg: f64) -> &'static str {
    if angle_deg <= 0.0 { "up" } else { "down" }
}

/// Give or take, where it is known.
fn give(sigma: Option<f64>, decimals: usize) -> String {
    sigma.map_or(String::new(), |sigma| format!(" ± {sigma:.decimals$}"))
}

fn row(name: &str, glide: &Option<Glide>, doubt: Option<GlideDoubt>) -> Vec<String> {
    let of = |f: fn(&Glide) -> f64, sigma: Option<f64>, decimals| {
        let text = number(glide.as_ref().map(f), decimals);
        text + &give(sigma, decimals)
    };
    let sigma = |f: fn(&GlideDoubt) -> f64| doubt.as_ref().map(f);
    vec![
        name.to_owned(),
        of(|g| g.airspeed_m_s, sigma(|d| d.airspeed_m_s), 2),
        of(|g| g.sink_m_s, sigma(|d| d.sink_m_s), 2),
        of(|g| g.glide_ratio, sigma(|d| d.glide_ratio), 1),
        of(|g| g.alpha_deg, sigma(|d| d.alpha_deg), 1),
        of(|g| g.lift_coefficient, sigma(|d| d.lift_coefficient), 2),
        of(|g| g.reynolds_number, None, 0),
    ]
}

/// What the estimate says about itself, below the coefficients of file and estimate side by side where they are asked for.
pub(super) fn compared(comparison: &Comparison, table: bool) -> String {
    let mut text = String::new();
    if table {
        let rows: Vec<Vec<String>> = comparison
            .coefficients
            .iter()
            .map(|one| {
                vec![
                    one.name.clone(),
                    number(Some(one.in_file), 4),
                    number(Some(one.estimated), 4),
                    number(Some(one.one_sigma), 4),
                    number(Some(one.apart_sigma), 1),
                ]
            })
            .collect();
        text += &of_texts(
            &[
                "coefficient",
                "in the file",
                "estimated",
                "one sigma",
                "apart\nsigma",
            ],
            &rows,
        );
    }
    if !comparison.converged {
        text += "The lattice had not enough panels: take the estimate with more care.\n";
    }
    for note in &comparison.notes {
        text += &format!("estimate: {note}\n");
    }
    text
}
