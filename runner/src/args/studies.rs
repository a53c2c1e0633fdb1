//! What was typed to the commands that fly many throws.

use super::{FlyingOption, Overrides, PageOption};
use crate::resume::identity::Part;
use clap::{Args, ValueEnum};
use scenarios::thrustline::hands::Hands;
use std::path::PathBuf;

/// `tossline footprint`.
#[derive(Debug, Args)]
#[command(after_help = "\
Writes DIR/landings.csv with a row for each throw, DIR/power-cut-landings.csv with a row for each throw and moment of a power cut,
DIR/footprint.json, DIR/footprint.svg and DIR/report.html. Exit code 1 where a condition marked must_hold does not hold.")]
pub struct FootprintArguments {
    /// Study file without axes
    pub study: PathBuf,
    /// Folder for the results; made where it is missing
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Moments of each throw at which the power is cut in turn; 0 for none
    #[arg(long, value_name = "N", default_value_t = 8, value_parser = clap::value_parser!(u32).range(0..=200))]
    pub cut_moments: u32,
    /// Share of a normal cloud that the ellipse is to hold, over 0 and under 1
    #[arg(long, value_name = "FRACTION", default_value_t = 0.95)]
    pub coverage_fraction: f64,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub flying: FlyingOption,
    #[command(flatten)]
    pub page: PageOption,
    #[command(flatten)]
    pub overrides: Overrides,
}

/// `tossline sweep`.
#[derive(Debug, Args)]
#[command(after_help = "\
Writes a row for each flight, inputs beside outputs, to DIR/flights.csv or DIR/flights/part-*.parquet as it comes; then DIR/summary.json,
with axes DIR/points.csv, and the trajectories the study keeps. Killed, stopped or out of disk, the same command goes on where it was, and ends
with the same bytes as an undisturbed run. Exit code 1 where a flight failed numerically or a condition marked must_hold does not hold.")]
pub struct SweepArguments {
    /// Study file
    pub study: PathBuf,
    /// Folder for the results: a new one, or the one to go on in
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Fly the K-th of N shares only, for as many machines; join their folders with tossline gather
    #[arg(long, value_name = "K/N")]
    pub part: Option<Part>,
    /// Say how many flights, how long and how much disk it takes, and fly none but a few timed ones
    #[arg(long)]
    pub plan_only: bool,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub flying: FlyingOption,
    #[command(flatten)]
    pub overrides: Overrides,
}

/// `tossline gather`.
#[derive(Debug, Args)]
#[command(after_help = "\
Parts that are missing, doubled, unfinished or of another study are named, and nothing is written. What it writes has the same bytes as the
sweep of one machine.")]
pub struct GatherArguments {
    /// Results folders of all parts
    #[arg(required = true, value_name = "DIR")]
    pub parts: Vec<PathBuf>,
    /// Folder for the joined results
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
}

/// `tossline wind`.
#[derive(Debug, Args)]
#[command(after_help = "\
Winds of the table are those at 2 m, with turbulence, a gust and the scatter of a hand launch; the note in --json says how much. With --out
it writes DIR/wind.json, DIR/wind-cells.csv with a row for each wind and throttle, DIR/wind-throws.csv with a row for each throw, and
DIR/wind.svg. Exit code 1 where a flight failed numerically, or a condition marked must_hold does not hold where the table says go.")]
pub struct WindArguments {
    /// Airframe file
    pub airframe: PathBuf,
    /// Folder for the results; made where it is missing. Without it nothing is written
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Study file flown in place of the built-in throws; its axes are air.wind.speed_m_s or air.gusts.1.speed_m_s, then pilot.throttle.at_release_fraction
    #[arg(long, value_name = "STUDY", conflicts_with_all = ["gust_fraction", "gust_m_s", "throws", "seed", "confidence_fraction", "release_height_m", "time_s", "least_clearance_m", "hold_heading"])]
    pub study: Option<PathBuf>,
    /// Throttles, 0 to 1, comma between
    #[arg(
        long,
        value_name = "FRACTION",
        value_delimiter = ',',
        allow_negative_numbers = true,
        default_value = "0.55,0.7,0.85,1"
    )]
    pub throttle: Vec<f64>,
    /// Mean winds, m/s, comma between
    #[arg(
        long,
        value_name = "M/S",
        value_delimiter = ',',
        allow_negative_numbers = true,
        default_value = "0,1,2,3,4"
    )]
    pub wind_m_s: Vec<f64>,
    /// Speeds of the gust alone in still air, m/s, comma between
    #[arg(
        long,
        value_name = "M/S",
        value_delimiter = ',',
        allow_negative_numbers = true,
        default_value = "1,2,3"
    )]
    pub gust_m_s: Vec<f64>,
    /// Gust that comes with a mean wind, as a fraction of it
    #[arg(
        long,
        value_name = "FRACTION",
        default_value_t = 0.5,
        allow_negative_numbers = true
    )]
    pub gust_fraction: f64,
    /// Throws at each wind and throttle
    #[arg(long, value_name = "N", default_value_t = 32, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub throws: u32,
    /// What all draws depend on
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u32,
    /// Share of the throws that is to meet all conditions, over 0 and under 1
    #[arg(
        long,
        value_name = "FRACTION",
        default_value_t = 0.8,
        allow_negative_numbers = true
    )]
    pub share_fraction: f64,
    /// Confidence of the intervals, 0.5 to 0.9999
    #[arg(
        long,
        value_name = "FRACTION",
        default_value_t = 0.95,
        allow_negative_numbers = true
    )]
    pub confidence_fraction: f64,
    /// Height of the release, m
    #[arg(
        long,
        value_name = "M",
        default_value_t = 1.8,
        allow_negative_numbers = true
    )]
    pub release_height_m: f64,
    /// How long a throw is flown, s
    #[arg(
        long,
        value_name = "S",
        default_value_t = 6.0,
        allow_negative_numbers = true
    )]
    pub time_s: f64,
    /// Clearance over the ground a throw is to keep, m
    #[arg(
        long,
        value_name = "M",
        default_value_t = 0.5,
        allow_negative_numbers = true
    )]
    pub least_clearance_m: f64,
    /// A pilot holds the heading into the wind by left-right difference; needs one motor on each side
    #[arg(long)]
    pub hold_heading: bool,
    /// Kept back of the wind at which it no longer comes back, m/s
    #[arg(
        long,
        value_name = "M/S",
        default_value_t = 1.0,
        allow_negative_numbers = true
    )]
    pub reserve_m_s: f64,
    /// How far down the dive points, deg
    #[arg(
        long,
        value_name = "DEG",
        default_value_t = 30.0,
        allow_negative_numbers = true
    )]
    pub dive_angle_deg: f64,
    /// Airspeed of the dive, m/s; that of the glide by default
    #[arg(long, value_name = "M/S", allow_negative_numbers = true)]
    pub dive_airspeed_m_s: Option<f64>,
    /// Throttle in the dive before it is changed, 0 to 1
    #[arg(
        long,
        value_name = "FRACTION",
        default_value_t = 0.0,
        allow_negative_numbers = true
    )]
    pub dive_throttle: f64,
    /// Print JSON instead of tables
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub flying: FlyingOption,
    #[command(flatten)]
    pub overrides: Overrides,
}

/// `tossline thrustline`.
#[derive(Debug, Args)]
#[command(after_help = "\
Writes DIR/thrustline.json, DIR/thrustline.csv with a row for each flight (inputs beside outputs), DIR/thrustline.svg,
DIR/study.json, the study as flown, and DIR/report.html. With --level-throttle it writes DIR/weight.json, DIR/weight-parts.csv and DIR/weight-draws.csv instead.
'No angle cures it' is an answer: exit code 0. Exit code 1 where a condition marked must_hold does not hold at the angle found.")]
pub struct ThrustlineArguments {
    /// Airframe file
    pub airframe: PathBuf,
    /// Study file with a first axis of angles; further axes are circumstances. Its scenario must fly that airframe. Left out: usual throws from a wall, in eight circumstances
    #[arg(long, value_name = "FILE")]
    pub study: Option<PathBuf>,
    /// Folder for the results; made where it is missing
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Also answer with the motors, and what carries them, so many mm higher (negative: lower); comma between
    #[arg(
        long,
        value_name = "MM",
        value_delimiter = ',',
        allow_negative_numbers = true
    )]
    pub height: Vec<f64>,
    /// Share of throws that must meet all conditions, over 0 and under 1; stated where the whole interval lies above
    #[arg(long, value_name = "FRACTION", default_value_t = 0.9)]
    pub share_fraction: f64,
    /// Who builds and throws in the built-in study: by how much builds and throws scatter
    #[arg(long, value_enum, default_value_t = WhoseHands::Visitors, conflicts_with = "study")]
    pub hands: WhoseHands,
    /// Flights of the built-in study at each angle and circumstance while choosing; twice as many at the window's ends and eight times at
    /// the best angle to state by. With --study the file's `flights` say it
    #[arg(long, value_name = "NUMBER", conflicts_with = "study", value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub flights: Option<u32>,
    /// Fly each drawn airframe as it is built, without balancing it and trimming it by test glides first
    #[arg(long)]
    pub as_built: bool,
    /// Answer how heavy it may be to fly level at this throttle (over 0, up to 1), what is over and which parts hold it, instead of the angle
    #[arg(long, value_name = "FRACTION", allow_negative_numbers = true, conflicts_with_all = ["height", "share_fraction"])]
    pub level_throttle: Option<f64>,
    /// With --level-throttle: where ballast sits, mm aft of the nose datum
    #[arg(
        long,
        value_name = "MM",
        default_value_t = 0.0,
        allow_negative_numbers = true,
        requires = "level_throttle"
    )]
    pub ballast_station_mm: f64,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub flying: FlyingOption,
    #[command(flatten)]
    pub page: PageOption,
    #[command(flatten)]
    pub overrides: Overrides,
}

/// Who builds and throws.
#[derive(Clone, Copy, Debug, Default, ValueEnum)]
pub enum WhoseHands {
    #[default]
    /// Many hands who build kits and throw for the first time
    Visitors,
    /// One experienced builder with a jig, who throws what he has built
    Practised,
}

impl From<WhoseHands> for Hands {
    fn from(hands: WhoseHands) -> Self {
        match hands {
            WhoseHands::Visitors => Hands::Visitors,
            WhoseHands::Practised => Hands::Practised,
        }
    }
}

/// `tossline compare`.
#[derive(Debug, Args)]
#[command(after_help = "\
Two airframe files are flown in the same throw and air. Two results are what tossline fly has written: its folder, one of the folders in it,
or a summary.json. Writes DIR/compare.json, DIR/compare.csv and DIR/compare.svg; of airframes DIR/fields.csv, DIR/before/ and DIR/after/ with
trajectory.csv and summary.json as well. Exit code 1 where a flight failed numerically.")]
pub struct CompareArguments {
    /// Airframe file, or result, before
    pub before: PathBuf,
    /// Airframe file, or result, after
    pub after: PathBuf,
    /// Folder for the results; made where it is missing
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Scenario to fly both airframes in, in place of its own. Left out: the built-in throw with a throttle step at 4 m, made for BEFORE
    #[arg(long, value_name = "FILE")]
    pub scenario: Option<PathBuf>,
    /// Print JSON instead of tables
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub flying: FlyingOption,
    #[command(flatten)]
    pub overrides: Overrides,
}

/// `tossline worst`.
#[derive(Debug, Args)]
#[command(after_help = "\
Writes DIR/NAME-worst-gust-length.json or DIR/NAME-worst-power-cut.json: the scenario with the worst of it, for tossline fly.")]
pub struct WorstArguments {
    /// Scenario file
    pub scenario: PathBuf,
    /// What is changed until it is worst
    #[arg(long, value_enum)]
    pub of: WorstKind,
    /// What counts as worse
    #[arg(long, value_enum, default_value = "lowest-point")]
    pub harm: HarmKind,
    /// Which gust, counted from 1
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u16).range(1..))]
    pub gust: u16,
    /// Folder for the worst scenario; made where it is missing. Without it nothing is written
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub overrides: Overrides,
}

/// What is changed until it is worst.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum WorstKind {
    /// The length of a gust, 1 to 100 m
    GustLength,
    /// The moment at which the power goes from all motors
    PowerCut,
}

/// What counts as worse.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum HarmKind {
    /// A lower lowest point: after the throttle step, or after the power cut
    LowestPoint,
    /// More height lost since the throttle step; of a gust
    HeightLost,
    /// A landing nearer to the release; of a power cut
    LandingNearest,
    /// A landing further from the release; of a power cut
    LandingFurthest,
}
