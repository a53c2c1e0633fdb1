//! What was typed.

use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Flies small hand-launched foam aircraft with clip-on power on the computer, between the real throws.
#[derive(Debug, Parser)]
#[command(
    name = "tossline",
    version,
    about,
    after_help = "\
Start with a ready throw:
  tossline fly scenarios/ready/step-in-calm.json --out out
  tossline trim demo-airframes/dunlin.json --throttle 0.5
  tossline inspect demo-airframes/dunlin.json

Exit codes: 0 done (ground, wall, stall are answers); 1 a flight failed numerically; 2 bad input, nothing written;
3 could not write; 130 stopped, what was finished is saved.

A computed flight is no clearance to fly: propellers cut, lithium cells burn when hurt, and your site's rules and club come first."
)]
pub struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Fly scenarios; write trajectories and summaries
    Fly(FlyArguments),
    /// Where an airframe balances: margin, glide, what to bend, ballast; with a drawing
    Balance(BalanceArguments),
    /// Steady flight of an airframe: glide, power, level flight, turn, and the modes of small motions
    Trim(TrimArguments),
    /// Fly a study's throws; where they come down, how likely each zone is, power cut or not; with a map
    Footprint(FootprintArguments),
    /// In how much wind it still goes: ground speed, return, height to end a dive, and go or no-go of many throws
    Wind(WindArguments),
    /// Find the worst gust length or power cut of a scenario, and write it as a scenario that flies
    Worst(WorstArguments),
    /// Which angle of the motors cures what power does to the nose, how exactly it must be held, or what else does
    Thrustline(ThrustlineArguments),
    /// Say what a file means after defaults and overrides
    Inspect(InspectArguments),
    /// Print the JSON Schema of a kind of file, for editors and validators
    Schema {
        /// Kind of file
        kind: SchemaKind,
    },
    /// Print a completion script for a shell
    Completions {
        /// Shell
        shell: clap_complete::Shell,
    },
}

/// A field set from the command line.
#[derive(Clone, Debug, Default, Args)]
pub struct Overrides {
    /// Set a field of the airframe, e.g. 'motors.*.thrust_elevation_deg=-3', or of the scenario, e.g. 'launch.release_speed_m_s=5'; with += it adds, with *= it multiplies. May be given more than once
    #[arg(long = "set", value_name = "PATH=VALUE")]
    pub set: Vec<String>,
}

/// `tossline fly`.
#[derive(Debug, Args)]
#[command(after_help = "\
Writes DIR/NAME/trajectory.csv and DIR/NAME/summary.json for each scenario's name, DIR/summary.csv with a row for
each, and DIR/picture.svg with all of them (the first eight).
Files are replaced whole: a stopped run never leaves half a file.")]
pub struct FlyArguments {
    /// Scenario files
    #[arg(required = true, value_name = "SCENARIO")]
    pub scenarios: Vec<PathBuf>,
    /// Folder for the results; made where it is missing
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Print the summaries as JSON instead of a table
    #[arg(long)]
    pub json: bool,
    /// Threads to fly with; all cores by default. Results do not depend on it
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
    #[command(flatten)]
    pub overrides: Overrides,
}

/// `tossline balance`.
#[derive(Debug, Args)]
pub struct BalanceArguments {
    /// Airframe file
    pub airframe: PathBuf,
    /// Folder for the drawing NAME-balance.svg; made where it is missing. Without it nothing is drawn
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Where ballast would go, mm aft of the nose datum
    #[arg(
        long,
        value_name = "MM",
        default_value_t = 0.0,
        allow_negative_numbers = true
    )]
    pub ballast_station_mm: f64,
    /// Static margin the ballast is to reach, share of the chord
    #[arg(
        long,
        value_name = "FRACTION",
        default_value_t = 0.1,
        allow_negative_numbers = true
    )]
    pub margin_fraction: f64,
    /// Also estimate the coefficients from the surfaces, and set them beside the file's with the estimate's band
    #[arg(long)]
    pub estimate: bool,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub overrides: Overrides,
}

/// `tossline trim`.
#[derive(Debug, Args)]
pub struct TrimArguments {
    /// Airframe file
    pub airframe: PathBuf,
    /// Throttles to find steady flight at, 0 to 1, comma between; a ladder of ten by default
    #[arg(long, value_name = "FRACTION", value_delimiter = ',')]
    pub throttle: Vec<f64>,
    /// Left-minus-right throttle difference for the steady turn, −1 to 1; positive turns right
    #[arg(
        long,
        value_name = "FRACTION",
        default_value_t = 0.2,
        allow_negative_numbers = true
    )]
    pub left_minus_right: f64,
    /// Height over the ground, m
    #[arg(
        long,
        value_name = "M",
        default_value_t = 0.0,
        allow_negative_numbers = true
    )]
    pub height_m: f64,
    /// Charge left in the cell, 0 to 1
    #[arg(long, value_name = "FRACTION", default_value_t = 1.0)]
    pub charge_fraction: f64,
    /// Scenario whose hall the steady turns are to fit in
    #[arg(long, value_name = "SCENARIO")]
    pub site: Option<PathBuf>,
    /// Print JSON instead of tables
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub overrides: Overrides,
}

/// `tossline footprint`.
#[derive(Debug, Args)]
#[command(after_help = "\
Writes DIR/landings.csv with a row for each throw, DIR/power-cut-landings.csv with a row for each throw and moment of a power cut,
DIR/footprint.json and DIR/footprint.svg. Exit code 1 where a condition marked must_hold does not hold.")]
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
    /// Threads to fly with; all cores by default. Results do not depend on it
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
    #[command(flatten)]
    pub overrides: Overrides,
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
    /// Threads to fly with; all cores by default. Results do not depend on it
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
    #[command(flatten)]
    pub overrides: Overrides,
}

/// `tossline thrustline`.
#[derive(Debug, Args)]
#[command(after_help = "\
Writes DIR/thrustline.json, DIR/thrustline.csv with a row for each flight (inputs beside outputs), DIR/thrustline.svg
and DIR/study.json, the study as flown.
'No angle cures it' is an answer: exit code 0. Exit code 1 where a condition marked must_hold does not hold at the angle found.")]
pub struct ThrustlineArguments {
    /// Airframe file
    pub airframe: PathBuf,
    /// Study file with one axis of angles; its scenario must fly that airframe. Left out: a throttle step at 4 m, usual scatter and conditions
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
    /// Share of throws that must meet all conditions, over 0 and under 1; the whole interval must lie above
    #[arg(long, value_name = "FRACTION", default_value_t = 0.9)]
    pub share_fraction: f64,
    /// Flights of the built-in study at each angle and circumstance while choosing; twice as many at the window's ends and eight times at
    /// the best angle to state by. With --study the file's `flights` say it
    #[arg(long, value_name = "NUMBER", conflicts_with = "study", value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub flights: Option<u32>,
    /// Fly each drawn airframe as it is built, without balancing it and trimming it by test glides first
    #[arg(long)]
    pub as_built: bool,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
    /// Threads to fly with; all cores by default. Results do not depend on it
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
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

/// `tossline inspect`.
#[derive(Debug, Args)]
pub struct InspectArguments {
    /// Airframe, scenario or study file
    pub file: PathBuf,
    /// Print the whole file after defaults and overrides as JSON
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub overrides: Overrides,
}

/// Kinds of file there is a schema for.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum SchemaKind {
    /// An aircraft
    Airframe,
    /// A throw
    Scenario,
    /// Many throws
    Study,
}
