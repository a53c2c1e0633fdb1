//! Whether a scenario makes sense, by itself and with the airframe it flies.

mod air;
mod controls;

use crate::build::{BuiltAirframe, BuiltScenario};
use crate::check::{name_is_plain, over_zero, rises, within, zero_or_time};
use crate::error::{Problem, number, one_of, quoted};
use crate::field::FieldPath;
use crate::scenario_file::{FractionProgramme, Gust, Launch, Pilot, ScenarioFile, SolverMethod};
use crate::site;
use crate::summary::throttle_step_times_s;

use sim_core::error::LaunchError;

type Check = Result<(), Problem>;

/// Longest flight, s.
const LONGEST_FLIGHT_S: f64 = 3600.0;
/// Shortest gust in place, m: shorter ones than a hand mean nothing to an airframe and could be flown over unseen.
pub(crate) const SHORTEST_GUST_M: f64 = 0.1;
/// Most rows of one trajectory.
const MOST_ROWS: f64 = 1e6;

/// Checks everything but the form, without the airframe.
pub(crate) fn check(file: &ScenarioFile) -> Check {
    let top = FieldPath::default();
    name_is_plain(&top.key("name"), &file.name)?;
    if file.airframe.is_empty() {
        let wanted = "the path of an airframe file, from the folder this file is in";
        return Err(Problem::new(top.key("airframe"), "\"\"", wanted));
    }
    launch(&file.launch, &top.key("launch"))?;
    let air = top.key("air");
    within(&air, "temperature_C", file.air.temperature_c, -60.0, 60.0)?;
    within(&air, "pressure_hPa", file.air.pressure_hpa, 500.0, 1100.0)?;
    wind(
        &air.key("wind"),
        file.air.wind.speed_m_s,
        file.air.wind.from_deg,
        file.air.wind.up_m_s,
    )?;
    air::air(&file.air, &file.launch, &air)?;
    for (i, given) in file.air.gusts.iter().enumerate() {
        gust(given, &air.key("gusts").index(i))?;
    }
    pilot(&file.pilot, &top.key("pilot"))?;
    site::check(&file.site, &top.key("site"))?;
    let limit_s = file.end.time_limit_s;
    over_zero(&top.key("end"), "time_limit_s", limit_s)?;
    within(
        &top.key("end"),
        "time_limit_s",
        limit_s,
        1e-3,
        LONGEST_FLIGHT_S,
    )?;
    summary(file, &top.key("summary"))?;
    let solver = top.key("solver");
    within(
        &solver,
        "relative_tolerance",
        file.solver.relative_tolerance,
        1e-13,
        1e-3,
    )?;
    within(
        &solver,
        "absolute_tolerance",
        file.solver.absolute_tolerance,
        1e-13,
        1e-3,
    )?;
    within(
        &solver,
        "largest_step_s",
        file.solver.largest_step_s,
        1e-6,
        1.0,
    )?;
    let (record, interval_s) = (top.key("record"), file.record.interval_s);
    within(&record, "interval_s", interval_s, 1e-6, LONGEST_FLIGHT_S)?;
    if limit_s / interval_s > MOST_ROWS {
        let wanted = format!(
            "{} or more, so that a flight of {} s has at most {} rows",
            number(limit_s / MOST_ROWS),
            number(limit_s),
            number(MOST_ROWS)
        );
        return Err(Problem::new(
            record.key("interval_s"),
            number(interval_s),
            wanted,
        ));
    }
    Ok(())
}

fn heading(at: &FieldPath, name: &str, degrees: f64) -> Check {
    within(at, name, degrees, -360.0, 360.0)
}

fn wind(at: &FieldPath, speed_m_s: f64, from_deg: f64, up_m_s: f64) -> Check {
    within(at, "speed_m_s", speed_m_s, 0.0, 50.0)?;
    heading(at, "from_deg", from_deg)?;
    within(at, "up_m_s", up_m_s, -50.0, 50.0)
}

fn launch(launch: &Launch, at: &FieldPath) -> Check {
    within(
        at,
        "release_speed_m_s",
        launch.release_speed_m_s,
        0.0,
        100.0,
    )?;
    over_zero(at, "release_height_m", launch.release_height_m)?;
    within(
        at,
        "release_height_m",
        launch.release_height_m,
        1e-3,
        2000.0,
    )?;
    within(at, "path_angle_deg", launch.path_angle_deg, -90.0, 90.0)?;
    heading(at, "heading_deg", launch.heading_deg)?;
    for (name, degrees) in [
        ("nose_above_path_deg", launch.nose_above_path_deg),
        ("nose_right_of_path_deg", launch.nose_right_of_path_deg),
        ("bank_deg", launch.bank_deg),
    ] {
        within(at, name, degrees, -180.0, 180.0)?;
    }
    for (name, rate) in [
        ("roll_rate_deg_s", launch.roll_rate_deg_s),
        ("pitch_rate_deg_s", launch.pitch_rate_deg_s),
        ("yaw_rate_deg_s", launch.yaw_rate_deg_s),
    ] {
        within(at, name, rate, -7200.0, 7200.0)?;
    }
    let speeds = at.key("rotor_speed_rpm");
    for (i, &rpm) in launch.rotor_speed_rpm.iter().flatten().enumerate() {
        if !(0.0..=1e6).contains(&rpm) {
            return Err(Problem::new(
                speeds.index(i),
                number(rpm),
                "a number from 0 to 1000000",
            ));
        }
    }
    let charge = launch.charge_fraction;
    over_zero(at, "charge_fraction", charge)?;
    within(at, "charge_fraction", charge, 0.0, 1.0)
}

fn gust(gust: &Gust, at: &FieldPath) -> Check {
    wind(at, gust.speed_m_s, gust.from_deg, gust.up_m_s)?;
    let in_place = [
        ("gust_start_m", gust.gust_start_m),
        ("gust_length_m", gust.gust_length_m),
    ];
    let in_time = [
        ("gust_start_s", gust.gust_start_s),
        ("gust_duration_s", gust.gust_duration_s),
    ];
    let given = |fields: [(&str, Option<f64>); 2]| fields.iter().any(|(_, value)| value.is_some());
    let forms =
        "\"gust_start_m\" and \"gust_length_m\", or \"gust_start_s\" and \"gust_duration_s\"";
    let fields = match (given(in_place), given(in_time)) {
        (true, true) => {
            return Err(Problem::new(
                at.clone(),
                "a gust both in place and in time",
                forms,
            ));
        }
        (false, false) => {
            return Err(Problem::new(
                at.clone(),
                "a gust neither in place nor in time",
                forms,
            ));
        }
        (true, false) => in_place,
        (false, true) => in_time,
    };
    if let Some((name, _)) = fields.iter().find(|(_, value)| value.is_none()) {
        let beside = if *name == fields[0].0 {
            fields[1].0
        } else {
            fields[0].0
        };
        return Err(Problem::new(
            at.key(name),
            "nothing",
            format!("a number, beside \"{beside}\""),
        ));
    }
    if let Some(start_m) = gust.gust_start_m {
        within(at, "gust_start_m", start_m, -1e5, 1e5)?;
    }
    match gust.along_heading_deg {
        Some(degrees) if given(in_time) => {
            let problem = Problem::new(
                at.key("along_heading_deg"),
                number(degrees),
                "none in a gust in time",
            );
            return Err(problem);
        }
        Some(degrees) => heading(at, "along_heading_deg", degrees)?,
        None => {}
    }
    if let Some(start_s) = gust.gust_start_s {
        zero_or_time(at, "gust_start_s", start_s)?;
    }
    let (name, length) = fields[1];
    // A pulse in place must not fit between two looks of a step, nor one in time between two cuts.
    let least = if name == "gust_length_m" {
        SHORTEST_GUST_M
    } else {
        1e-3
    };
    within(at, name, length.unwrap_or_default(), least, 1e5)
}

fn pilot(pilot: &Pilot, at: &FieldPath) -> Check {
    fractions(&pilot.throttle, &at.key("throttle"), 0.0)?;
    fractions(&pilot.left_minus_right, &at.key("left_minus_right"), -1.0)?;
    let mut seen: Vec<&str> = Vec::new();
    for (i, programme) in pilot.tabs.iter().enumerate() {
        let at = at.key("tabs").index(i);
        if seen.contains(&programme.tab.as_str()) {
            let found = format!("{} a second time", quoted(&programme.tab));
            return Err(Problem::new(
                at.key("tab"),
                found,
                "all changes of one tab in one list",
            ));
        }
        seen.push(&programme.tab);
        let changes = at.key("changes");
        let times = programme.changes.iter().map(|c| (c.time_s, c.ramp_s));
        times_rise(&changes, times)?;
        for (k, change) in programme.changes.iter().enumerate() {
            within(&changes.index(k), "to_deg", change.to_deg, -60.0, 60.0)?;
        }
    }
    controls::controls(pilot, at)
}

fn fractions(programme: &FractionProgramme, at: &FieldPath, least: f64) -> Check {
    within(
        at,
        "at_release_fraction",
        programme.at_release_fraction,
        least,
        1.0,
    )?;
    let changes = at.key("changes");
    let times = programme.changes.iter().map(|c| (c.time_s, c.ramp_s));
    times_rise(&changes, times)?;
    for (k, change) in programme.changes.iter().enumerate() {
        within(
            &changes.index(k),
            "to_fraction",
            change.to_fraction,
            least,
            1.0,
        )?;
    }
    Ok(())
}

/// `times` are when each change begins and how long it takes, s.
fn times_rise(changes: &FieldPath, times: impl Iterator<Item = (f64, f64)> + Clone) -> Check {
    for (k, (time_s, ramp_s)) in times.clone().enumerate() {
        zero_or_time(&changes.index(k), "time_s", time_s)?;
        zero_or_time(&changes.index(k), "ramp_s", ramp_s)?;
    }
    rises(changes, "time_s", times.map(|(time_s, _)| time_s))
}

fn summary(file: &ScenarioFile, at: &FieldPath) -> Check {
    let number_given = file.summary.power_step_number;
    let steps = file.pilot.throttle.changes.len();
    // The default of 1 stands also where the throttle never changes: there is no power step then.
    if number_given != 1 && !(1..=steps).contains(&(number_given as usize)) {
        let wanted = match steps {
            0 | 1 => "1".to_owned(),
            _ => format!("a whole number from 1 to {steps}, the number of throttle changes"),
        };
        return Err(Problem::new(
            at.key("power_step_number"),
            number_given.to_string(),
            wanted,
        ));
    }
    within(
        at,
        "power_window_s",
        file.summary.power_window_s,
        1e-3,
        LONGEST_FLIGHT_S,
    )?;
    within(
        at,
        "dip_window_s",
        file.summary.dip_window_s,
        1e-3,
        LONGEST_FLIGHT_S,
    )?;
    match file.summary.phugoid_period_s {
        Some(period_s) => within(at, "phugoid_period_s", period_s, 1e-3, LONGEST_FLIGHT_S),
        None => Ok(()),
    }
}

/// Checks what a scenario asks of its airframe.
pub(crate) fn check_with_airframe(file: &ScenarioFile, airframe: &BuiltAirframe) -> Check {
    let top = FieldPath::default();
    let motors = airframe.motors.len();
    if let Some(speeds) = file
        .launch
        .rotor_speed_rpm
        .as_ref()
        .filter(|speeds| speeds.len() != motors)
    {
        let at = top.key("launch").key("rotor_speed_rpm");
        let wanted = format!("{motors}, one for each motor of the airframe");
        return Err(Problem::new(at, format!("{} speeds", speeds.len()), wanted));
    }
    let pilot = top.key("pilot");
    let difference = &file.pilot.left_minus_right;
    let steers = difference.at_release_fraction != 0.0
        || difference
            .changes
            .iter()
            .any(|change| change.to_fraction != 0.0);
    if steers && airframe.steering_shares.iter().all(|&share| share == 0.0) {
        let found = "a left-right difference";
        let wanted =
            "none, since the airframe does not have one motor on each side of the centre line";
        return Err(Problem::new(pilot.key("left_minus_right"), found, wanted));
    }
    controls::with_airframe(file, airframe, &pilot)?;
    let names: Vec<&str> = airframe.tabs.iter().map(|tab| tab.name.as_str()).collect();
    for (i, programme) in file.pilot.tabs.iter().enumerate() {
        if !names.contains(&programme.tab.as_str()) {
            let wanted = match names.as_slice() {
                [] => "no tab, since the airframe has none".to_owned(),
                _ => one_of(names.iter().copied()),
            };
            let problem = Problem::new(
                pilot.key("tabs").index(i).key("tab"),
                quoted(&programme.tab),
                wanted,
            );
            return Err(problem.with_nearest(&programme.tab, names));
        }
    }
    Ok(())
}

/// What is allowed and still worth saying: where, and what.
pub(crate) fn warnings(file: &ScenarioFile, airframe: &BuiltAirframe) -> Vec<(FieldPath, String)> {
    let top = FieldPath::default();
    let throttle = &file.pilot.throttle;
    let pilot = top.key("pilot");
    let mut list = Vec::new();
    let asks = throttle.at_release_fraction != 0.0
        || throttle
            .changes
            .iter()
            .any(|change| change.to_fraction != 0.0);
    if asks && airframe.motors.is_empty() {
        list.push((
            pilot.key("throttle"),
            "the airframe has no motor; the throttle does nothing".to_owned(),
        ));
    }
    if file.solver.method == SolverMethod::LanesSingle {
        let text = "numbers of 24 bits are for screening: a flight ends a millimetre or so beside where it should; fly anew what a decision hangs on";
        list.push((top.key("solver").key("method"), text.to_owned()));
    }
    list.extend(controls::warnings(file, airframe, &pilot));
    let span_m = airframe.vehicle.coefficients.span;
    for (k, gust) in file.air.gusts.iter().enumerate() {
        if gust.gust_length_m.is_some_and(|length_m| length_m < span_m) {
            let text = "the gust is shorter than the span; its effect over the airframe is taken as even, which it is not";
            list.push((
                top.key("air").key("gusts").index(k).key("gust_length_m"),
                text.to_owned(),
            ));
        }
    }
    if let Some(text) = air::no_turbulence(file) {
        list.push((top.key("air").key("turbulence"), text));
    }
    for (k, change) in throttle.changes.iter().enumerate() {
        if change.time_s >= file.end.time_limit_s {
            let text = "this change comes after the time limit and never happens".to_owned();
            list.push((
                pilot.key("throttle").key("changes").index(k).key("time_s"),
                text,
            ));
        }
    }
    list
}

/// A throw that cannot start, put down to the field that keeps it from starting.
pub(crate) fn cannot_start(file: &ScenarioFile, error: &LaunchError) -> Problem {
    let top = FieldPath::default();
    let height = number(file.launch.release_height_m);
    match error {
        LaunchError::BelowGround { below_m } => Problem::new(
            top.key("launch").key("release_height_m"),
            height,
            format!(
                "more than {} m: the airframe's lowest point would be under the ground",
                number(((file.launch.release_height_m + below_m) * 1e3).ceil() / 1e3)
            ),
        ),
        LaunchError::BehindWall { wall } => {
            let at = top
                .key("site")
                .key("walls")
                .index(wall - 1)
                .key("distance_m");
            let distance = file.site.walls.get(wall - 1).map_or(0.0, |w| w.distance_m);
            Problem::new(
                at,
                number(distance),
                "a wall that the airframe does not reach through at release",
            )
        }
        LaunchError::OutsideHall { .. } => Problem::new(
            top.key("site").key("hall"),
            error.to_string(),
            "walls around the release, clear of the airframe",
        ),
        LaunchError::ThroughCeiling { .. } => Problem::new(
            top.key("site").key("hall").key("ceiling_height_m"),
            error.to_string(),
            "a ceiling over the airframe's highest point",
        ),
        other => Problem::new(
            top.key("launch"),
            other.to_string(),
            "a release that can start",
        ),
    }
}

/// Whether the throttle step the summary is about exists. The default of 1 stands also where the throttle never changes.
pub(crate) fn check_step(file: &ScenarioFile, built: &BuiltScenario) -> Check {
    let number = file.summary.power_step_number as usize;
    let steps = throttle_step_times_s(&built.throw.pilot).len();
    if number == 1 || (1..=steps).contains(&number) {
        return Ok(());
    }
    Err(Problem::new(
        FieldPath::default().key("summary").key("power_step_number"),
        number.to_string(),
        format!("1 to {steps}: that many throttle changes change anything"),
    ))
}
