//! The flights that are kept whole beside the table: before and after without scatter, and the worst.

use super::passes::{Flown, Flyer};
use crate::output::trajectory;
use scenarios::study::LoadedStudy;
use serde::Serialize;

/// How many of the lowest flights are kept.
const WORST: usize = 3;

/// What a kept flight shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// At the angle of the file, without scatter.
    Before,
    /// The same without the throttle step, up to the end of the power window.
    BeforeTwin,
    /// At the best angle, without scatter; where there is none, at the angle with the largest share.
    After,
    /// Its twin.
    AfterTwin,
    /// One of the lowest flights at the angle spoken of.
    Worst,
}

/// A flight kept whole.
#[derive(Clone, Debug, Serialize)]
pub struct Kept {
    /// What it is called.
    pub name: String,
    /// What it shows.
    pub role: Role,
    /// Its file, from the folder of the results.
    pub file: String,
    /// Its row in `thrustline.csv`; of a twin, the row of the flight it belongs to.
    pub flight: usize,
    /// The angle, deg.
    pub angle_deg: f64,
    /// Bytes of the file.
    #[serde(skip)]
    pub rows: Vec<u8>,
}

/// Flies what is kept; `flights` are all rows of the table so far, and take the unscattered ones flown here. Of several circumstances the first
/// is shown without scatter.
///
/// # Errors
/// Where a row cannot be written down.
pub fn kept(
    flyer: &Flyer<'_>,
    study: &LoadedStudy,
    (own_deg, after_deg): (f64, f64),
    flights: &mut Vec<Flown>,
) -> Result<Vec<Kept>, csv::Error> {
    let lowest = worst(flights, after_deg);
    let mut list = Vec::new();
    for (angle_deg, name, roles) in [
        (own_deg, "before", [Role::Before, Role::BeforeTwin]),
        (after_deg, "after", [Role::After, Role::AfterTwin]),
    ] {
        let shown = flyer.unscattered(study, &[(angle_deg, name.to_owned(), Vec::new())], Some(0));
        let first = flights.len();
        if let Some(one) = shown.first() {
            list.extend(files(flyer, one, first, name, &roles)?);
        }
        flights.extend(shown);
    }
    for number in lowest {
        let name = format!("flight-{number}");
        list.extend(files(
            flyer,
            &flights[number],
            number,
            &name,
            &[Role::Worst],
        )?);
    }
    Ok(list)
}

/// A flight, and its twin where a second role is asked for.
fn files(
    flyer: &Flyer<'_>,
    flown: &Flown,
    number: usize,
    name: &str,
    roles: &[Role],
) -> Result<Vec<Kept>, csv::Error> {
    let Ok(again) = flyer.again(flown) else {
        return Ok(Vec::new());
    };
    let twin = again.twin.as_ref();
    let shown = [(Some(&again.flight), ""), (twin, "-twin")];
    let mut list = Vec::new();
    for (&role, (flight, end)) in roles.iter().zip(shown) {
        if let Some(flight) = flight {
            let name = format!("{name}{end}");
            let built = &again.scenario;
            list.push(Kept {
                file: format!("trajectories/{name}.csv"),
                name,
                role,
                flight: number,
                angle_deg: flown.angle_deg,
                rows: trajectory::csv(
                    flight,
                    &built.airframe.built,
                    built.built.record_interval_s,
                )?,
            });
        }
    }
    Ok(list)
}

/// Rows of the scattered flights at an angle with the least lowest clearance after the step, lowest first; those of the stating pass where there are any.
fn worst(flights: &[Flown], angle_deg: f64) -> Vec<usize> {
    let at = |pass: &str| -> Vec<(usize, f64)> {
        let here = flights.iter().enumerate();
        here.filter(|(_, one)| one.pass == pass && one.angle_deg == angle_deg)
            .filter_map(|(i, one)| Some((i, one.result.as_ref().ok()?.minimum_altitude_m?)))
            .collect()
    };
    let mut list = match at("state") {
        stated if stated.is_empty() => at("choose"),
        stated => stated,
    };
    list.sort_by(|a, b| a.1.total_cmp(&b.1));
    list.into_iter().take(WORST).map(|(i, _)| i).collect()
}
