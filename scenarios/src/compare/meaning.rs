//! What a difference means, in words.

/// A number, what it means that it has grown, and that it has shrunk. `{}` is the size of the difference.
type Row = (&'static str, &'static str, &'static str, usize, f64);

/// Name, grown, shrunk, digits after the point, factor to what people read.
const ROWS: [Row; 26] = [
    ("mass_g", "{} g heavier", "{} g lighter", 1, 1.0),
    (
        "balance_station_mm",
        "balance point {} mm aft",
        "balance point {} mm forward",
        1,
        1.0,
    ),
    (
        "balance_up_mm",
        "balance point {} mm higher",
        "balance point {} mm lower",
        1,
        1.0,
    ),
    (
        "neutral_point_station_mm",
        "neutral point {} mm aft",
        "neutral point {} mm forward",
        1,
        1.0,
    ),
    (
        "static_margin_fraction",
        "static margin {} % of the chord larger: more stable in pitch",
        "static margin {} % of the chord smaller: less stable in pitch",
        1,
        100.0,
    ),
    (
        "glide_airspeed_m_s",
        "glides {} m/s faster",
        "glides {} m/s slower",
        2,
        1.0,
    ),
    (
        "glide_sink_m_s",
        "glide sinks {} m/s faster",
        "glide sinks {} m/s slower",
        2,
        1.0,
    ),
    (
        "glide_stall_margin_deg",
        "glide {}° further from stall",
        "glide {}° nearer to stall",
        1,
        1.0,
    ),
    (
        "level_throttle_fraction",
        "level flight takes {} more throttle: less is left to climb with",
        "level flight takes {} less throttle: more is left to climb with",
        2,
        1.0,
    ),
    (
        "full_throttle_path_angle_deg",
        "full throttle flies {}° steeper up",
        "full throttle flies {}° flatter or further down",
        1,
        1.0,
    ),
    (
        "full_throttle_climb_m_s",
        "full throttle climbs {} m/s better",
        "full throttle climbs {} m/s worse",
        2,
        1.0,
    ),
    (
        "full_throttle_stall_margin_deg",
        "full throttle {}° further from stall",
        "full throttle {}° nearer to stall",
        1,
        1.0,
    ),
    (
        "full_throttle_power_moment_mN_m",
        "power's moment {} mN m more nose-up",
        "power's moment {} mN m more nose-down",
        2,
        1.0,
    ),
    (
        "steady_nose_change_deg",
        "full throttle holds the nose {}° higher over level flight's",
        "full throttle holds the nose {}° lower against level flight's",
        1,
        1.0,
    ),
    (
        "pitch_down_under_power_deg",
        "the throttle step drops the nose {}° more",
        "the throttle step drops the nose {}° less",
        1,
        1.0,
    ),
    (
        "pitch_up_under_power_deg",
        "the throttle step lifts the nose {}° more",
        "the throttle step lifts the nose {}° less",
        1,
        1.0,
    ),
    (
        "minimum_altitude_m",
        "lowest point after the step {} m higher",
        "lowest point after the step {} m lower",
        2,
        1.0,
    ),
    (
        "height_lost_since_step_m",
        "loses {} m more after the step",
        "loses {} m less after the step",
        2,
        1.0,
    ),
    (
        "lowest_clearance_m",
        "lowest point of the flight {} m higher",
        "lowest point of the flight {} m lower",
        2,
        1.0,
    ),
    (
        "mean_climb_rate_m_s",
        "climbs {} m/s better after the step",
        "climbs {} m/s worse after the step",
        2,
        1.0,
    ),
    (
        "best_climb_rate_m_s",
        "best second climbs {} m/s better",
        "best second climbs {} m/s worse",
        2,
        1.0,
    ),
    (
        "airspeed_min_m_s",
        "slowest moment {} m/s faster",
        "slowest moment {} m/s slower",
        2,
        1.0,
    ),
    (
        "alpha_max_deg",
        "largest incidence {}° larger",
        "largest incidence {}° smaller",
        1,
        1.0,
    ),
    (
        "stalled_time_s",
        "stalled {} s longer",
        "stalled {} s shorter",
        2,
        1.0,
    ),
    (
        "flight_time_s",
        "flies {} s longer",
        "flies {} s shorter",
        2,
        1.0,
    ),
    (
        "distance_along_m",
        "comes {} m further",
        "comes {} m less far",
        2,
        1.0,
    ),
];

/// What it means that a number went from one value to another; none for numbers whose change speaks for itself, or is too small to show.
pub fn meaning(
    name: &str,
    before: Option<f64>,
    after: Option<f64>,
    difference: f64,
) -> Option<String> {
    let (_, grown, shrunk, decimals, factor) = ROWS.iter().find(|row| row.0 == name)?;
    let size = format!("{:.decimals$}", difference.abs() * factor);
    if !size.contains(|digit: char| digit.is_ascii_digit() && digit != '0') {
        return None;
    }
    let words = if difference > 0.0 { grown } else { shrunk };
    let mut text = words.replace("{}", &size);
    let turned = before
        .zip(after)
        .is_some_and(|(b, a)| (b > 0.0) != (a > 0.0));
    match (name, turned, difference > 0.0) {
        ("static_margin_fraction", true, false) => text += ": no longer stable by itself",
        ("full_throttle_climb_m_s", true, true) => text += ": now it climbs",
        ("full_throttle_climb_m_s", true, false) => text += ": it no longer climbs",
        _ => {}
    }
    Some(text)
}

/// Whether a number belongs in the short table for people.
pub fn is_shown(name: &str) -> bool {
    ROWS.iter().any(|row| row.0 == name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::numbers::summary_numbers;
    use crate::summary::Summary;

    #[test]
    fn says_which_way_and_how_far() {
        let aft = meaning("balance_station_mm", Some(100.0), Some(103.1), 3.1);
        assert_eq!(aft.as_deref(), Some("balance point 3.1 mm aft"));
        let margin = meaning("static_margin_fraction", Some(0.02), Some(-0.01), -0.03).unwrap();
        assert!(margin.starts_with("static margin 3.0 %"), "{margin}");
        assert!(margin.ends_with("no longer stable by itself"), "{margin}");
        assert_eq!(meaning("mass_g", Some(1.0), Some(1.01), 0.01), None);
        assert_eq!(meaning("alpha_min_deg", Some(1.0), Some(2.0), 1.0), None);
    }

    // A row for a number that nobody computes would be a dead word.
    #[test]
    fn every_word_belongs_to_a_number() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/test-data");
        let scenario = crate::load_scenario(format!("{folder}/step.json")).unwrap();
        let steady = crate::compare::numbers::steady_numbers(&scenario);
        let summary = summary_numbers(&Summary::default());
        for (name, ..) in ROWS {
            let mut all = steady.iter().chain(&summary);
            assert!(all.any(|number| number.name == name), "{name}");
        }
    }
}
