//! What flights have to say, on the terminal and on their page: table, paragraph, and what they hit.

use crate::output::summary_row::SummaryRow;
use crate::output::table::{Column, Worst, number};

/// Columns of the table of throws.
pub const COLUMNS: [Column; 10] = [
    column("flew", "s", 2, Worst::None),
    column("nose down", "deg", 1, Worst::Highest),
    column("nose up", "deg", 1, Worst::Highest),
    column("dip to", "m", 2, Worst::Lowest),
    column("lowest", "m", 2, Worst::Lowest),
    column("climb", "m/s", 2, Worst::Lowest),
    column("incidence", "deg", 1, Worst::Highest),
    column("stalled", "s", 2, Worst::Highest),
    column("bank", "deg", 0, Worst::Highest),
    column("along", "m", 1, Worst::None),
];

const fn column(name: &'static str, unit: &'static str, decimals: usize, worst: Worst) -> Column {
    Column {
        name,
        unit,
        decimals,
        worst,
    }
}

/// What the columns mean.
pub const MEANING: &str = "nose down, nose up: most against the same throw without the throttle step; dip to: clearance at the first low point after the step;
lowest: least clearance of a flight that stays up; climb: from the step to the end of its window; incidence: largest angle of attack;
* worst of the column; – there is none.
";

/// How a flight ended.
fn end_word(flight: &SummaryRow) -> &str {
    match flight.text("ended_by") {
        Some("time") => "in the air",
        Some("cell_empty") => "cell empty",
        Some("failed") | None => "FAILED",
        Some(touched) => touched,
    }
}

/// Rows of the table of throws.
pub fn rows(flights: &[SummaryRow]) -> Vec<(String, Vec<Option<f64>>)> {
    let row = |flight: &SummaryRow| {
        let of = |column: &str| flight.number(column);
        let stayed_up = flight.text("ended_by") != Some("ground");
        let values = vec![
            of("flight_time_s"),
            of("pitch_down_under_power_deg"),
            of("pitch_up_under_power_deg"),
            of("minimum_altitude_m").filter(|_| of("throttle_step_time_s").is_some()),
            of("lowest_clearance_m").filter(|_| stayed_up),
            of("mean_climb_rate_m_s"),
            of("alpha_max_deg"),
            of("stalled_time_s"),
            of("bank_largest_deg"),
            of("distance_along_m"),
        ];
        (format!("{} ({})", flight.name, end_word(flight)), values)
    };
    flights.iter().map(row).collect()
}

/// What a flight has to say beside its row: failures, what was hit, zones, cut-off. One sentence each.
pub fn about(flight: &SummaryRow) -> Vec<String> {
    let name = &flight.name;
    let of = |column: &str| flight.number(column);
    let mut said = Vec::new();
    if let Some(reason) = flight.text("failure") {
        let at = of("failed_at_s").unwrap_or(0.0);
        said.push(format!("{name}: the numbers failed at {at:.4} s: {reason}"));
    }
    said.extend(about_site(flight));
    if let Some(reason) = flight.text("twin_failure") {
        said.push(format!(
            "{name}: no comparison without the step, the twin's numbers failed: {reason}"
        ));
    }
    if let Some(at) = of("cut_off_time_s") {
        said.push(format!(
            "{name}: the driver cut the motors off at {at:.2} s, the cell's voltage being too low; from then on it glides"
        ));
    }
    let notes = flight.text("model_range").into_iter();
    said.extend(
        notes
            .flat_map(|notes| notes.split("; "))
            .map(|note| format!("{name}: outside the model's range: {note}")),
    );
    said
}

/// What was hit other than the ground, and which zones the flight was over or came down in.
fn about_site(flight: &SummaryRow) -> Vec<String> {
    let name = &flight.name;
    let of = |column: &str| flight.number(column);
    let mut said = Vec::new();
    let hit = flight
        .text("touched")
        .filter(|_| flight.text("ended_by") != Some("ground"));
    if let (Some(touched), Some(north), Some(east), Some(height), Some(speed)) = (
        hit,
        of("end_north_m"),
        of("end_east_m"),
        of("end_height_m"),
        of("touch_speed_m_s"),
    ) {
        let the = if touched == "ceiling" { "the " } else { "" };
        said.push(format!(
            "{name}: hit {the}{touched} at {speed:.1} m/s ({:.1} m/s square to it), {north:.1} m north and {east:.1} m east of the release, \
{height:.1} m up",
            of("touch_speed_square_m_s").unwrap_or(0.0)
        ));
    }
    if let Some(zones) = flight.text("landed_in_zone") {
        said.push(format!(
            "{name}: CAME DOWN IN {zones}; do not throw like this here"
        ));
    } else if let Some(zones) = flight.text("zones_overflown") {
        said.push(format!(
            "{name}: flew over {zones} for {:.1} s; where power or pilot fail there, it comes down there",
            of("time_over_zones_s").unwrap_or(0.0)
        ));
    }
    said
}

/// One paragraph to act on.
pub fn plain_words(flights: &[SummaryRow]) -> String {
    let mut text = String::new();
    let most = |column: &str, sign: f64| {
        let known = flights.iter().filter_map(|f| Some((f, f.number(column)?)));
        known.max_by(|a, b| (sign * a.1).total_cmp(&(sign * b.1)))
    };
    let at = |flight: &SummaryRow, column: &str, decimals: usize| {
        number(flight.number(column), decimals)
    };
    if flights.len() > 1 {
        text += &format!("{} throws. ", flights.len());
    }
    let failed = flights
        .iter()
        .filter(|f| f.text("failure").is_some())
        .count();
    if failed > 0 {
        text += &format!("The numbers of {failed} failed: do not go by those. ");
    }
    match most("pitch_down_under_power_deg", 1.0).filter(|(_, deg)| *deg >= 0.05) {
        Some((flight, deg)) => {
            text += &format!(
                "{}at {} s, {} s after the throttle changes, the nose points {deg:.1}° further down than in the same throw without that change{}. \
Which angle or height of the motors cures that is what tossline thrustline answers for the airframe. ",
                match flights.len() {
                    1 => format!("{}: ", flight.name),
                    _ => format!("Most nose-down: {}: ", flight.name),
                },
                at(flight, "pitch_down_time_s", 2),
                number(
                    flight
                        .number("pitch_down_time_s")
                        .zip(flight.number("throttle_step_time_s"))
                        .map(|(down, step)| down - step),
                    2
                ),
                match flight.number("minimum_altitude_m") {
                    Some(least) => format!(
                        ", and it comes down to {} m over the ground, {} m lower than at the change",
                        number(Some(least), 2),
                        at(flight, "height_lost_since_step_m", 2)
                    ),
                    None => String::new(),
                }
            );
        }
        None if flights.len() == 1 => text += &format!("{}: ", flights[0].name),
        None => {}
    }
    let stays_up = |f: &&SummaryRow| f.text("ended_by") != Some("ground");
    let lowest = flights
        .iter()
        .filter(stays_up)
        .filter_map(|f| Some((f, f.number("lowest_clearance_m")?)))
        .min_by(|a, b| a.1.total_cmp(&b.1));
    if let Some((flight, least)) = lowest.filter(|_| flights.len() > 1) {
        text += &format!(
            "Lowest of those that stay up: {}, {least:.2} m over the ground. ",
            flight.name
        );
    }
    match most("stalled_time_s", 1.0) {
        Some((_, s)) if s < 0.005 => {
            text += if flights.len() > 1 {
                "None stalls. "
            } else {
                "It does not stall. "
            };
        }
        Some((flight, s)) if flights.len() > 1 => {
            text += &format!("Stalled longest: {}, {s:.2} s. ", flight.name);
        }
        Some((_, s)) => text += &format!("It is stalled for {s:.2} s. "),
        // Nothing is known of flights whose numbers failed.
        None => {}
    }
    let wet: Vec<String> = flights
        .iter()
        .filter_map(|f| Some(format!("{} in {}", f.name, f.text("landed_in_zone")?)))
        .collect();
    if !wet.is_empty() {
        text += &format!(
            "Comes down where it must not: {}; do not throw like this here. ",
            wet.join(", ")
        );
    }
    if flights.len() == 1 {
        let flight = &flights[0];
        text += &format!(
            "After {} s it is {} m along the heading of the throw: {}.",
            at(flight, "flight_time_s", 1),
            at(flight, "distance_along_m", 1),
            match end_word(flight) {
                "in the air" => "still in the air",
                "ground" => "on the ground",
                "FAILED" => "its numbers failed",
                "cell empty" => "its cell empty",
                _ => "against what it hit",
            }
        );
    }
    text.trim_end().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(name: &str, cells: &[(&str, &str)]) -> SummaryRow {
        let cells = cells
            .iter()
            .map(|(c, v)| ((*c).to_owned(), (*v).to_owned()));
        SummaryRow::from_cells(name, cells.collect())
    }

    #[test]
    fn the_worst_is_named_and_nothing_is_claimed_of_what_is_not_known() {
        let low = row(
            "low",
            &[
                ("ended_by", "time"),
                ("pitch_down_under_power_deg", "17.24"),
                ("pitch_down_time_s", "1.54"),
                ("throttle_step_time_s", "1"),
                ("lowest_clearance_m", "0.4"),
                ("stalled_time_s", "0"),
            ],
        );
        let high = row(
            "high",
            &[
                ("ended_by", "time"),
                ("pitch_down_under_power_deg", "2"),
                ("lowest_clearance_m", "3"),
                ("stalled_time_s", "0.5"),
            ],
        );
        let text = plain_words(&[high, low]);
        for words in [
            "Most nose-down: low: at 1.54 s, 0.54 s after the throttle changes, the nose points 17.2°",
            "Lowest of those that stay up: low, 0.40 m",
            "Stalled longest: high, 0.50 s",
        ] {
            assert!(text.contains(words), "{words}: {text}");
        }
        let failed = row("lost", &[("ended_by", "failed"), ("failure", "not finite")]);
        let text = plain_words(&[failed]);
        assert!(text.contains("The numbers of 1 failed"), "{text}");
        assert!(!text.contains("does not stall"), "{text}");
    }
}
