//! This project's engines on the throws of `benches/side_by_side`: one JSON line for each engine and tolerance, as its README.md tells.
//!
//! Run from anywhere: `cargo run --release --example ours -- benches/side_by_side [NAME ...]`, where the names pick lines that contain them.

use scenarios::load::load_scenario;
use serde_json::json;
use sim_core::air::gust::Gust;
use sim_core::air::wind_from;
use sim_core::flight::Throw;
use sim_core::lanes::{Width, fly};
use sim_core::solver::{Method, Tolerance};
use std::f64::consts::TAU;
use std::path::Path;

/// Repeats of every measurement; the best counts.
const REPEATS: usize = 5;

/// Processor time of this thread, s.
fn cpu_s() -> f64 {
    // Else it is brought up to date once a tick only.
    std::thread::yield_now();
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").expect("Linux tells");
    let first = text.split(' ').next();
    first
        .and_then(|ns| ns.parse::<f64>().ok())
        .expect("a number")
        * 1e-9
}

/// Rows of a table by their column names.
fn rows(path: &Path) -> Vec<std::collections::HashMap<String, f64>> {
    let text = std::fs::read_to_string(path).expect("the table is there");
    let mut lines = text.lines();
    let names: Vec<&str> = lines.next().expect("a header").split(',').collect();
    lines
        .map(|line| {
            let values = line.split(',').map(|x| x.parse().expect("a number"));
            names
                .iter()
                .map(|name| name.to_string())
                .zip(values)
                .collect()
        })
        .collect()
}

/// The throws of throws.csv in a scenario.
fn throws(folder: &Path, scenario: &str) -> Vec<Throw> {
    let base = load_scenario(folder.join(scenario))
        .expect("the scenario loads")
        .built
        .throw;
    rows(&folder.join("throws.csv"))
        .iter()
        .map(|row| {
            let mut throw = base.clone();
            let launch = &mut throw.launch;
            launch.speed_m_s = row["release_speed_m_s"];
            launch.path_angle_rad = row["path_angle_deg"].to_radians();
            launch.heading_rad = row["heading_deg"].to_radians();
            launch.bank_rad = row["bank_deg"].to_radians();
            let rotor = |name: &str| row[name] * TAU / 60.0;
            launch.rotor_speeds_rad_s = Some(vec![
                rotor("left_rotor_speed_rpm"),
                rotor("right_rotor_speed_rpm"),
            ]);
            let change = &mut throw.pilot.throttle.changes[0];
            change.time_s = row["step_time_s"];
            change.to = row["step_to_fraction"];
            let peak = wind_from(
                row["gust_speed_m_s"],
                row["gust_from_deg"].to_radians(),
                row["gust_up_m_s"],
            );
            throw.air.gusts = vec![Gust::in_time(
                peak,
                row["gust_start_s"],
                row["gust_duration_s"],
            )];
            throw
        })
        .collect()
}

type Place = [f64; 3];

/// Ends of flights in lanes, and their steps.
fn in_lanes(width: Width, throws: &[&Throw]) -> (Vec<Place>, u64) {
    let mut ends = vec![[f64::INFINITY; 3]; throws.len()];
    let mut steps = 0;
    fly(width, throws, false, |i, landed| {
        if let Ok(landed) = landed {
            let place = landed.state.position;
            ends[i] = [place.x, place.y, place.z];
            steps += u64::from(landed.counts.accepted_steps + landed.counts.rejected_steps);
        }
    });
    (ends, steps)
}

fn by_solver(throws: &[&Throw]) -> (Vec<Place>, u64) {
    let mut steps = 0;
    let end = |throw: &&Throw| {
        let flight = throw.fly().expect("it starts");
        steps += u64::from(flight.counts.accepted_steps + flight.counts.rejected_steps);
        let place = flight.state_at(flight.end_time_s).position;
        [place.x, place.y, place.z]
    };
    (throws.iter().map(end).collect(), steps)
}

fn with(throws: &[Throw], tolerance: Tolerance) -> Vec<Throw> {
    let mut throws = throws.to_vec();
    for throw in &mut throws {
        throw.tolerance = tolerance;
    }
    throws
}

fn distances(ends: &[Place], reference: &[Place]) -> [f64; 3] {
    let distance =
        |(a, b): (&Place, &Place)| (0..3).map(|i| (a[i] - b[i]).powi(2)).sum::<f64>().sqrt();
    let mut distances: Vec<f64> = ends.iter().zip(reference).map(distance).collect();
    distances.sort_by(f64::total_cmp);
    let n = distances.len();
    let at_99 = (0.99 * n as f64).ceil() as usize - 1;
    [
        distances[n / 2],
        distances[at_99.min(n - 1)],
        distances[n - 1],
    ]
}

/// Flies, measures and prints one line.
fn line(
    name: &str,
    setting: String,
    throws: &[Throw],
    reference: &[Place],
    run: impl Fn(&[&Throw]) -> (Vec<Place>, u64),
) {
    let throws: Vec<&Throw> = throws.iter().collect();
    let mut best_s = f64::INFINITY;
    let mut flown = (Vec::new(), 0);
    for _ in 0..REPEATS {
        let start_s = cpu_s();
        flown = run(&throws);
        best_s = best_s.min(cpu_s() - start_s);
    }
    let [median_m, p99_m, worst_m] = distances(&flown.0, reference);
    let flights = throws.len() as f64;
    println!(
        "{}",
        json!({
            "name": name,
            "version": env!("CARGO_PKG_VERSION"),
            "flights_per_s": flights / best_s,
            "median_m": median_m,
            "p99_m": p99_m,
            "worst_m": worst_m,
            "setting": format!("{setting}, {:.0} steps a flight", flown.1 as f64 / flights),
        })
    );
}

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let folder = Path::new(arguments.first().map_or(".", String::as_str));
    let picked = |name: &str| {
        arguments.len() < 2
            || arguments[1..]
                .iter()
                .any(|part| name.contains(part.as_str()))
    };
    let limit = std::env::var("SIDE_BY_SIDE_THROWS")
        .ok()
        .and_then(|n| n.parse().ok());
    for (model, scenario) in [("lean", "lean.json"), ("full", "full.json")] {
        let mut throws = throws(folder, scenario);
        throws.truncate(limit.unwrap_or(usize::MAX));
        let reference: Vec<Place> = if model == "lean" {
            let place = |row: &std::collections::HashMap<String, f64>| {
                ["north", "east", "down"].map(|axis| row[&format!("position_{axis}_m")])
            };
            let rows = rows(&folder.join("reference.csv"));
            rows.iter().take(throws.len()).map(place).collect()
        } else if arguments.len() < 2 || arguments[1..].iter().any(|part| part.contains("full")) {
            let exact = Tolerance {
                relative: 1e-11,
                absolute: 1e-11,
                ..Tolerance::default()
            };
            by_solver(&with(&throws, exact).iter().collect::<Vec<_>>()).0
        } else {
            continue;
        };
        let lanes = |method: Method, relative: f64| Tolerance {
            method,
            relative,
            largest_step_s: 0.5,
            ..Tolerance::default()
        };
        for width in Width::ALL.into_iter().filter(|width| width.is_here()) {
            let method = if width.is_single() {
                Method::LanesSingle
            } else {
                Method::Lanes
            };
            let name = format!("Tossline, {model} model, lanes: {width:?}");
            if !picked(&name) {
                continue;
            }
            for tolerance in [6e-5, 4e-5, 3e-5, 2e-5, 1e-5, 5e-6, 3e-6, 2e-6, 1e-6] {
                let throws = with(&throws, lanes(method, tolerance));
                let setting = format!("tolerance {tolerance:.0e}");
                line(&name, setting, &throws, &reference, |throws| {
                    in_lanes(width, throws)
                });
            }
        }
        let name = format!("Tossline, {model} model, one by one by ode_solvers");
        if picked(&name) {
            for tolerance in [1e-4, 3e-5, 1e-5, 5e-6, 1e-6] {
                let loose = Tolerance {
                    relative: tolerance,
                    absolute: tolerance,
                    largest_step_s: 0.5,
                    ..Tolerance::default()
                };
                let throws = with(&throws, loose);
                line(
                    &name,
                    format!("Dopri5, tolerance {tolerance:.0e}"),
                    &throws,
                    &reference,
                    by_solver,
                );
            }
        }
    }
}
