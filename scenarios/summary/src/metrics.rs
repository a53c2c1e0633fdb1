//! The named numbers a flight comes to, each defined to the letter.

use super::validity::RangeNote;
use serde::Serialize;
use std::borrow::Cow;
use std::fmt;

/// How a flight ended, as a word.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum EndWord {
    /// The airframe's lowest point touched the ground.
    Ground,
    /// It touched a wall, of a hall or not.
    Wall,
    /// Its highest point touched the hall's ceiling.
    Ceiling,
    /// The time limit was reached in the air.
    #[default]
    Time,
    /// The cell had no charge left.
    CellEmpty,
    /// A number failed; the summary holds no metric of such a flight.
    Failed,
}

/// What ended the look for the minimum altitude, as a word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum DipEnd {
    /// The height passed a minimum and rose 0.1 m from it.
    Climbed,
    /// `dip_window_s` was over, or the flight ended in the air, before that.
    Window,
    /// The airframe touched the ground before that.
    Ground,
    /// The balance point never went more than 1 mm below its height at the start of the look, whatever ended it but the ground.
    NoDip,
}

/// Numbers that are good for screening only, as a word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum Coarse {
    /// Numbers of 24 bits.
    #[serde(rename = "24_bits")]
    Bits24,
}

/// A column of `summary.csv`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Column {
    /// Name, with the unit at its end; the same as in `summary.json`.
    pub name: &'static str,
    /// Unit, as people read it; empty for words, counts and ratios.
    pub unit: &'static str,
    /// What its cells hold, where they are not empty.
    pub holds: Holds,
}

/// What the cells of a column hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holds {
    /// Numbers.
    Number,
    /// Words or sentences.
    Text,
}

/// A field of the summary as a column's cells.
trait Held {
    const HOLDS: Holds;
}

impl Held for EndWord {
    const HOLDS: Holds = Holds::Text;
}

impl Held for Option<DipEnd> {
    const HOLDS: Holds = Holds::Text;
}

impl Held for Option<Coarse> {
    const HOLDS: Holds = Holds::Text;
}

impl Held for Option<String> {
    const HOLDS: Holds = Holds::Text;
}

impl Held for Option<Cow<'static, str>> {
    const HOLDS: Holds = Holds::Text;
}

impl Held for Vec<RangeNote> {
    const HOLDS: Holds = Holds::Text;
}

impl Held for Option<f64> {
    const HOLDS: Holds = Holds::Number;
}

impl Held for Option<usize> {
    const HOLDS: Holds = Holds::Number;
}

/// A cell of `summary.csv`.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// A number; always finite.
    Number(f64),
    /// A word or a sentence.
    Text(String),
    /// Nothing: there is no such number in this flight.
    Empty,
}

impl fmt::Display for Cell {
    /// As in a CSV before quoting: the shortest digits that give the number back, nothing for an empty cell.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Cell::Number(number) if *number != 0.0 && number.abs() < 1e-4 => {
                write!(f, "{number:e}")
            }
            Cell::Number(number) => write!(f, "{number}"),
            Cell::Text(text) => f.write_str(text),
            Cell::Empty => Ok(()),
        }
    }
}

/// The word serde gives a variant, so that table and JSON cannot differ.
pub fn word(value: &impl Serialize) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(word)) => word,
        _ => String::new(),
    }
}

impl From<&EndWord> for Cell {
    fn from(end: &EndWord) -> Self {
        Cell::Text(word(end))
    }
}

impl From<&Option<DipEnd>> for Cell {
    fn from(end: &Option<DipEnd>) -> Self {
        end.map_or(Cell::Empty, |end| Cell::Text(word(&end)))
    }
}

impl From<&Option<Coarse>> for Cell {
    fn from(numbers: &Option<Coarse>) -> Self {
        numbers.map_or(Cell::Empty, |numbers| Cell::Text(word(&numbers)))
    }
}

impl From<&Option<String>> for Cell {
    fn from(text: &Option<String>) -> Self {
        text.clone().map_or(Cell::Empty, Cell::Text)
    }
}

impl From<&Option<Cow<'static, str>>> for Cell {
    fn from(text: &Option<Cow<'static, str>>) -> Self {
        let text = text.as_deref().map(str::to_owned);
        text.map_or(Cell::Empty, Cell::Text)
    }
}

impl From<&Option<f64>> for Cell {
    fn from(number: &Option<f64>) -> Self {
        number.map_or(Cell::Empty, Cell::Number)
    }
}

impl From<&Option<usize>> for Cell {
    fn from(count: &Option<usize>) -> Self {
        count.map_or(Cell::Empty, |n| Cell::Number(n as f64))
    }
}

impl From<&Vec<RangeNote>> for Cell {
    fn from(notes: &Vec<RangeNote>) -> Self {
        if notes.is_empty() {
            return Cell::Empty;
        }
        let notes: Vec<String> = notes.iter().map(RangeNote::to_string).collect();
        Cell::Text(notes.join("; "))
    }
}

/// Makes the struct, its columns and its row from one list, so that their names and order are the same.
macro_rules! summary {
    ($( $(#[$doc:meta])* $name:ident: $kind:ty, $unit:literal; )*) => {
        /// What one flight comes to. Fields are named alike in `summary.json` and `summary.csv`.
        ///
        /// Times are seconds after release; heights are over the ground, those of the balance point unless the clearance of the lowest
        /// point is named. A number that the flight does not have is absent: `null` or an empty cell, never 0 and never "not a number".
        /// Airspeed, alpha and beta are those at the reference point of the coefficients.
        #[allow(non_snake_case, reason = "mAh keeps its capitals in files, and one name serves everywhere")]
        #[derive(Clone, Debug, Default, PartialEq, Serialize)]
        pub struct Summary {
            $( $(#[$doc])* pub $name: $kind, )*
        }

        impl Summary {
            /// Columns of the flat form.
            pub fn columns() -> Vec<Column> {
                vec![$( Column { name: stringify!($name), unit: $unit, holds: <$kind as Held>::HOLDS } ),*]
            }

            /// This summary's cells, in the order of [`Summary::columns`].
            pub fn row(&self) -> Vec<Cell> {
                vec![$( Cell::from(&self.$name) ),*]
            }
        }
    };
}

summary! {
    /// How it ended.
    ended_by: EndWord, "";
    /// Why the numbers failed, where they did.
    failure: Option<String>, "";
    /// The last moment known before the numbers failed.
    failed_at_s: Option<f64>, "s";
    /// Which of the site's `walls` it touched, counted from 1; absent for a wall of a hall.
    wall_number: Option<usize>, "";
    /// What it touched, by name: `ground`, `wall 1` (of the site's `walls`), `ceiling`, `hall wall NAME`; absent where it touched nothing.
    touched: Option<Cow<'static, str>>, "";
    /// Speed of the balance point over the ground at that touch.
    touch_speed_m_s: Option<f64>, "m/s";
    /// Speed at that touch square to what was touched: down, up, or towards the wall.
    touch_speed_square_m_s: Option<f64>, "m/s";
    /// Release to end.
    flight_time_s: Option<f64>, "s";
    /// Speed of the balance point over the ground at the touch; absent unless `ended_by` is `ground`.
    ground_impact_speed_m_s: Option<f64>, "m/s";

    /// Airspeed at release, wind included.
    release_airspeed_m_s: Option<f64>, "m/s";
    /// Alpha at release.
    release_alpha_deg: Option<f64>, "deg";
    /// Beta at release.
    release_beta_deg: Option<f64>, "deg";

    /// Start of the throttle step that the twin flight leaves out. Absent, as is everything up to `nose_drop_time_s`, where the throttle
    /// never changes, the airframe has no motor, or the flight ended before the step.
    throttle_step_time_s: Option<f64>, "s";
    /// Why there is no twin to compare with although there is a step: its numbers failed.
    twin_failure: Option<String>, "";
    /// End of the power window: `power_window_s` after the step, or where flight or twin ends, whichever is first.
    power_window_end_s: Option<f64>, "s";
    /// Largest θ_twin − θ_flight in the power window, θ the elevation of body x over the horizon. Never below 0: it is 0 at the step.
    pitch_down_under_power_deg: Option<f64>, "deg";
    /// When that is; the time of the step where the nose never is below the twin's.
    pitch_down_time_s: Option<f64>, "s";
    /// Airspeed of the flight minus that of the twin at that moment.
    airspeed_above_twin_at_pitch_down_m_s: Option<f64>, "m/s";
    /// Largest θ_flight − θ_twin in the power window; never below 0.
    pitch_up_under_power_deg: Option<f64>, "deg";
    /// When that is; the time of the step where the nose never is above the twin's.
    pitch_up_time_s: Option<f64>, "s";
    /// Airspeed of the flight minus that of the twin at that moment.
    airspeed_above_twin_at_pitch_up_m_s: Option<f64>, "m/s";
    /// Largest fall of θ below its value at the step, in the power window, without regard to the twin; never below 0.
    nose_drop_deg: Option<f64>, "deg";
    /// When that is; the time of the step where the nose never falls.
    nose_drop_time_s: Option<f64>, "s";

    /// Least clearance of the airframe's lowest point over the ground, from the first throttle step (from release where there is none or
    /// the flight ended before it) to the first minimum of the height, passed after that, from which the height rises 0.1 m before it
    /// falls below it again and before `dip_window_s` is over; without such a minimum, to the end of `dip_window_s` or of the flight. 0
    /// where the ground is touched.
    minimum_altitude_m: Option<f64>, "m";
    /// When that is.
    minimum_altitude_time_s: Option<f64>, "s";
    /// Height at the first throttle step (at release where there is none) minus the lowest height over the same stretch; never below 0.
    height_lost_since_step_m: Option<f64>, "m";
    /// What ended the stretch.
    dip_ended_by: Option<DipEnd>, "";

    /// Least clearance of the airframe's lowest point over the ground in the whole flight; 0 where it comes down.
    lowest_clearance_m: Option<f64>, "m";
    /// When that is.
    lowest_clearance_time_s: Option<f64>, "s";
    /// Highest height of the whole flight.
    highest_point_m: Option<f64>, "m";
    /// When that is.
    highest_point_time_s: Option<f64>, "s";
    /// Highest height minus height at release; never below 0.
    height_gained_m: Option<f64>, "m";
    /// Highest height minus height at the end; never below 0.
    height_lost_m: Option<f64>, "m";
    /// Mean climb rate from the step to the end of the power window: change of height over time. Absent without a step.
    mean_climb_rate_m_s: Option<f64>, "m/s";
    /// Largest change of height over any whole second that begins at or after the first throttle step (at release where there is none);
    /// negative where every second loses height, absent where there is no whole second.
    best_climb_rate_m_s: Option<f64>, "m/s";

    /// Largest height of the twin over the flight from the step to two periods after it, or until either ends; never below 0. Absent, as the
    /// next three, where the scenario gives no `phugoid_period_s`.
    height_below_twin_m: Option<f64>, "m";
    /// Height three periods after the step minus height at it. Absent where the flight is over before.
    height_gain_since_step_m: Option<f64>, "m";
    /// Change of energy height (height and the height that speed through the mean wind would bring) between one and three periods after
    /// the step, after its ramp, over that time. Absent where the flight is over before.
    sustained_climb_m_s: Option<f64>, "m/s";
    /// Longest unbroken time beyond α_s or β_s within three periods after the step. Absent where the flight is over before.
    longest_stall_after_step_s: Option<f64>, "s";

    /// Least airspeed of the flight.
    airspeed_min_m_s: Option<f64>, "m/s";
    /// When that is.
    airspeed_min_time_s: Option<f64>, "s";
    /// Largest airspeed of the flight.
    airspeed_max_m_s: Option<f64>, "m/s";
    /// When that is.
    airspeed_max_time_s: Option<f64>, "s";
    /// Least alpha of the flight, −180 to 180.
    alpha_min_deg: Option<f64>, "deg";
    /// When that is.
    alpha_min_time_s: Option<f64>, "s";
    /// Largest alpha of the flight.
    alpha_max_deg: Option<f64>, "deg";
    /// When that is.
    alpha_max_time_s: Option<f64>, "s";
    /// Largest |beta| of the flight.
    beta_largest_deg: Option<f64>, "deg";
    /// When that is.
    beta_largest_time_s: Option<f64>, "s";
    /// Time spent with |alpha| beyond α_s or |beta| beyond β_s.
    stalled_time_s: Option<f64>, "s";
    /// Largest |roll| of the flight, 0 to 180; 180 is upside down, as at the top of a loop.
    bank_largest_deg: Option<f64>, "deg";
    /// When that is.
    bank_largest_time_s: Option<f64>, "s";
    /// Turn of the heading of body x from release to end, turns added up, right positive. Going through the vertical, where the heading
    /// flips by half a turn in no time, counts as no turn.
    heading_change_deg: Option<f64>, "deg";

    /// Distance of the end from the release, along the heading of the throw, over the ground.
    distance_along_m: Option<f64>, "m";
    /// The same to the right of that heading; negative is left.
    distance_right_m: Option<f64>, "m";
    /// Least distance from the release along that heading in the whole flight; negative where it comes back behind the release, else 0.
    furthest_back_m: Option<f64>, "m";
    /// Straight horizontal distance from release to end.
    distance_from_release_m: Option<f64>, "m";
    /// Length of the path over the ground as seen from above.
    track_length_m: Option<f64>, "m";
    /// Length of the path through the air (velocity less wind at the reference point) as seen from above, divided by the height lost
    /// through the air: a mean over the whole flight, motors on or off. Absent where less than 0.1 m is lost.
    glide_ratio_through_air: Option<f64>, "";
    /// `track_length_m` divided by the height lost from release to end. Absent where less than 0.1 m is lost.
    glide_ratio_over_ground: Option<f64>, "";

    /// Where the balance point was at the end, metres north of the release.
    end_north_m: Option<f64>, "m";
    /// Metres east of the release.
    end_east_m: Option<f64>, "m";
    /// Height over the ground under the release.
    end_height_m: Option<f64>, "m";
    /// Zone it came down in (names, where zones overlap); absent where it ended outside all zones or not on the ground.
    landed_in_zone: Option<String>, "";
    /// Zones the balance point was over at any time, in the order of the file, the one it came down in included.
    zones_overflown: Option<String>, "";
    /// Time spent over zones, overlaps counted once. Absent where the site has none.
    time_over_zones_s: Option<f64>, "s";

    /// Charge taken from the cell during the flight. Absent, as the next, where the airframe has no motor.
    charge_used_mAh: Option<f64>, "mAh";
    /// Share of the capacity left at the end.
    charge_left_fraction: Option<f64>, "";
    /// When the driver took the power from the motors because the cell's voltage was too low; absent where it did not.
    cut_off_time_s: Option<f64>, "s";

    /// Ways in which the flight left the range the model holds in.
    model_range: Vec<RangeNote>, "";
    /// What numbers it was screened in (`24_bits`), good for screening only: fly anew what a decision hangs on. Absent where it was not.
    screened_in: Option<Coarse>, "";
}
