//! How exactly an angle can be set, and what setting it so comes to.

use super::counting::Counting;
use super::passes::{Flown, Pass};
use super::search::Search;
use scenarios::study::Purpose;
use scenarios::study::file::{ChangeWord, ScatteredField, TruncatedNormal};
use scenarios::thrustline::window::{AtAngle, Window};
use serde::Serialize;

/// With what a window can be held.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Hold {
    /// By eye: ±3 deg.
    ByEye,
    /// A protractor on the mount: ±1.5 deg.
    Protractor,
    /// A wedge or card cut from the drawing: ±1 deg.
    Wedge,
    /// With none of these.
    NotToBeKept,
}

impl Hold {
    fn of_width(width_deg: f64) -> Self {
        match width_deg {
            width if width >= 6.0 => Hold::ByEye,
            width if width >= 3.0 => Hold::Protractor,
            width if width >= 2.0 => Hold::Wedge,
            _ => Hold::NotToBeKept,
        }
    }

    /// How far off it may be, deg; none where it is not to be kept.
    pub fn within_deg(self) -> Option<f64> {
        match self {
            Hold::ByEye => Some(3.0),
            Hold::Protractor => Some(1.5),
            Hold::Wedge => Some(1.0),
            Hold::NotToBeKept => None,
        }
    }

    fn one_lower(self) -> Self {
        match self {
            Hold::ByEye => Hold::Protractor,
            Hold::Protractor => Hold::Wedge,
            _ => Hold::NotToBeKept,
        }
    }
}

/// What setting the best angle as exactly as the window's width asks comes to.
#[derive(Clone, Debug, Serialize)]
pub struct SettingShare {
    /// Setting error cut at, deg; half of it one standard deviation.
    pub within_deg: f64,
    /// The flights.
    pub at: AtAngle,
}

/// The word for a window, and the share with the setting off as that word lets it be.
pub fn setting_share(
    ask: &Search<'_>,
    counts: &Counting<'_>,
    best_deg: f64,
    window: &Window,
    flights: &mut Vec<Flown>,
) -> (Hold, Option<SettingShare>) {
    let hold = Hold::of_width(window.high_deg - window.low_deg);
    let Some(within_deg) = hold.within_deg() else {
        return (hold, None);
    };
    let mut study = ask.study.clone();
    let Some(axis) = study.file.axes.first() else {
        return (hold, None);
    };
    let field = axis.field.clone();
    let fields = &mut study.file.scatter.fields;
    if axis.change == ChangeWord::Multiply || fields.iter().any(|one| one.field() == field) {
        return (hold, None);
    }
    // Last, so that the draws of the others stay.
    fields.push(ScatteredField::TruncatedNormal(TruncatedNormal {
        field,
        change: ChangeWord::Add,
        mean: 0.0,
        standard_deviation: 0.5 * within_deg,
        least: -within_deg,
        most: within_deg,
    }));
    let pass = Pass {
        name: "setting",
        purpose: Purpose::Set,
        ..Pass::state(study.file.flights)
    };
    let flown = ask.flyer.scattered(&study, &[best_deg], pass, ask.changed);
    let at = counts.at(best_deg, &flown.iter().collect::<Vec<&Flown>>());
    flights.extend(flown);
    let enough = at.meets.share_fraction.unwrap_or(0.0) >= ask.wanted.share_fraction;
    let word = if enough { hold } else { hold.one_lower() };
    (word, Some(SettingShare { within_deg, at }))
}

#[cfg(test)]
mod tests {
    use super::*;

    // The rows of MODEL.md § 24 (common practice, no source): 6, 3 and 2 degrees.
    #[test]
    fn words_go_by_the_whole_width() {
        let words = [6.0, 5.9, 3.0, 2.9, 2.0, 1.9].map(Hold::of_width);
        use Hold::{ByEye, NotToBeKept, Protractor, Wedge};
        assert_eq!(
            words,
            [ByEye, Protractor, Protractor, Wedge, Wedge, NotToBeKept]
        );
        assert_eq!(Wedge.one_lower(), NotToBeKept);
    }
}
