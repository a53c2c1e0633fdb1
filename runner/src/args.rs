//! What was typed.

mod studies;

pub use studies::{
    CompareArguments, FootprintArguments, GatherArguments, HarmKind, SweepArguments,
    ThrustlineArguments, WhoseHands, WindArguments, WorstArguments, WorstKind,
};

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
  tossline sweep scenarios/studies/marsh-afternoon.json --out out

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
    /// Fly a study, from ten throws to millions: what comes out how often, what decides it; goes on where it was stopped
    Sweep(SweepArguments),
    /// Join the parts of a study that several machines have flown
    Gather(GatherArguments),
    /// In how much wind it still goes: ground speed, return, height to end a dive, and go or no-go of many throws
    Wind(WindArguments),
    /// Find the worst gust length or power cut of a scenario, and write it as a scenario that flies
    Worst(WorstArguments),
    /// Which angle of the motors cures what power does to the nose, how exactly it must be held, or what else does
    Thrustline(ThrustlineArguments),
    /// Write a result's page: what to do first, pictures, tables, worst cases, inputs
    Report(ReportArguments),
    /// Two airframes in the same throw and air, or two results, side by side: what differs, and what it means
    Compare(CompareArguments),
    /// Say what a file means after defaults and overrides
    Inspect(InspectArguments),
    /// Print the JSON Schema of a kind of file, for editors and validators
    Schema {
        /// Kind of file
        kind: SchemaKind,
    },
    /// Write a starting airframe that balances and glides, with a note beside each value on how to measure it, and its test glide
    New(NewArguments),
    /// Print a completion script for a shell
    Completions {
        /// Shell
        shell: clap_complete::Shell,
    },
    /// Print the manual page; with --out, write it and one for each command
    #[command(after_help = "For man to find them: tossline man --out ~/.local/share/man/man1")]
    Man {
        /// Folder for tossline.1, tossline-fly.1 and so on; made where it is missing
        #[arg(long, value_name = "DIR")]
        out: Option<PathBuf>,
    },
}

/// A field set from the command line.
#[derive(Clone, Debug, Default, Args)]
pub struct Overrides {
    /// Set a field of the airframe, e.g. 'motors.*.thrust_elevation_deg=-3', or of the scenario, e.g. 'launch.release_speed_m_s=5'; with += it adds, with *= it multiplies. May be given more than once
    #[arg(long = "set", value_name = "PATH=VALUE")]
    pub set: Vec<String>,
}

/// Whether a result's page is written.
#[derive(Clone, Copy, Debug, Default, Args)]
pub struct PageOption {
    /// Leave out DIR/report.html, the result as a page to read; tossline report DIR writes it later
    #[arg(long)]
    pub no_page: bool,
}

impl PageOption {
    /// For the list of files written: the page, where it is.
    pub fn named(self) -> &'static str {
        if self.no_page { "" } else { ", report.html" }
    }
}

/// On how many threads flights are flown.
#[derive(Clone, Copy, Debug, Default, Args)]
pub struct FlyingOption {
    /// Threads to fly with; all cores by default. Results do not depend on it
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
}

/// `tossline report`.
#[derive(Debug, Args)]
#[command(after_help = "\
Writes DIR/report.html: one page that needs no network, with pictures, tables, worst cases and what made the result. It opens in any browser,
on a phone too, and prints. Exit code 2 where DIR holds no result, half a one, or those of two commands.")]
pub struct ReportArguments {
    /// Folder that tossline fly, thrustline or footprint has written
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,
}

/// `tossline fly`.
#[derive(Debug, Args)]
#[command(after_help = "\
Writes DIR/NAME/trajectory.csv, DIR/NAME/summary.json and, where a throttle steps, DIR/NAME/twin.csv (the same throw without the step)
for each scenario's name, DIR/summary.csv with a row for each, DIR/picture.svg with all of them (the first eight), and DIR/report.html.
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
    #[command(flatten)]
    pub flying: FlyingOption,
    #[command(flatten)]
    pub page: PageOption,
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

/// `tossline new`.
#[derive(Debug, Args)]
#[command(after_help = "\
Writes DIR/NAME.json, a wing and tail on a stick, and DIR/NAME-test-glide.json, its first throw. Nothing is overwritten. What is left out of
span, chords, areal density, motors and module mass is asked for at a terminal, and missed elsewhere.

  tossline new curlew --span-mm 480 --root-chord-mm 95 --tip-chord-mm 65 --areal-density-g-m2 110 --motors two --module-mass-g 13
  tossline balance curlew.json
  tossline fly curlew-test-glide.json --out out")]
pub struct NewArguments {
    /// Name of the aircraft: letters, digits, - and _
    pub name: String,
    /// Folder for the two files; made where it is missing
    #[arg(long, value_name = "DIR", default_value = ".")]
    pub out: PathBuf,
    /// Span, tip to tip along the foam, mm
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    pub span_mm: Option<f64>,
    /// Chord of the wing at the centre line, mm
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    pub root_chord_mm: Option<f64>,
    /// Chord of the wing at the tip, mm
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    pub tip_chord_mm: Option<f64>,
    /// Mass of the foam sheet per area, g/m²: weigh a rectangle of known sides
    #[arg(long, value_name = "G/M²", allow_negative_numbers = true)]
    pub areal_density_g_m2: Option<f64>,
    /// Thickness of the foam sheet, mm
    #[arg(
        long,
        value_name = "MM",
        default_value_t = 3.0,
        allow_negative_numbers = true
    )]
    pub thickness_mm: f64,
    /// The power module's motors
    #[arg(long, value_enum)]
    pub motors: Option<MotorsKind>,
    /// Mass of the power module, cell, board, motors and propellers, g; not for a glider without one
    #[arg(long, value_name = "G", allow_negative_numbers = true)]
    pub module_mass_g: Option<f64>,
    /// Thrust of one motor at rest at full throttle, as a kitchen scale reads it, g
    #[arg(
        long,
        value_name = "G",
        default_value_t = 8.0,
        allow_negative_numbers = true
    )]
    pub static_thrust_g: f64,
}

/// Motors of a starting airframe.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum MotorsKind {
    /// A glider without power
    None,
    /// One at the nose
    One,
    /// Two on a bridge ahead of the wing
    Two,
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
