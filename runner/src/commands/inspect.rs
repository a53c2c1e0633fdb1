//! `tossline inspect`.

use crate::args::InspectArguments;
use crate::exit::Outcome;
use crate::output::table::{number, of_texts};
use crate::output::{complain, print, print_json, warn};
use crate::plan;
use scenarios::airframe_file::{AirframeFile, Coefficient, Origin};
use scenarios::build::{BuiltAirframe, BuiltMotor, WorkedOut, side_area_m2};
use scenarios::effective::Effective;
use scenarios::error::FileError;
use scenarios::load::{LoadedAirframe, LoadedScenario};
use scenarios::read::Document;
use scenarios::schema::Kind;
use scenarios::study::{LoadedStudy, Purpose};
use scenarios::summary::{SummarySettings, summarise};
use serde_json::{Value, json};
use sim_core::air::Air;
use sim_core::control::Module;
use sim_core::mass::MassProperties;
use sim_core::power::disc::ONE_SIGMA;
use sim_core::power::motor::Motor;
use sim_core::vehicle::Vehicle;

/// Says what a file means after defaults and overrides.
pub fn run(arguments: &InspectArguments) -> Outcome {
    match inspected(arguments) {
        Ok(outcome) => outcome,
        Err(error) => complain(&error, Outcome::BadInput),
    }
}

fn inspected(arguments: &InspectArguments) -> Result<Outcome, FileError> {
    match Document::open(&arguments.file)?.kind()? {
        Kind::Airframe => {
            let airframe = plan::airframe(&arguments.file, &arguments.overrides)?;
            airframe.warnings.iter().for_each(|warning| warn(warning));
            let effective = airframe.effective();
            Ok(if arguments.json {
                print_json(&effective.value)
            } else {
                print(&(about_airframe(&airframe) + &about_fields(&effective)))
            })
        }
        Kind::Study => {
            let study = plan::study(&arguments.file, &arguments.overrides)?;
            let base = &study.base;
            base.warnings.iter().for_each(|warning| warn(warning));
            Ok(if arguments.json {
                print_json(&json!({
                    "study": study.file,
                    "scenario": base.effective().value,
                    "airframe": base.airframe.effective().value
                }))
            } else {
                print(&(about_study(&study) + "\n" + &about_scenario(base)))
            })
        }
        Kind::Scenario => {
            let scenario = plan::scenario(&arguments.file, &arguments.overrides)?;
            scenario.warnings.iter().for_each(|warning| warn(warning));
            let (own, airframe) = (scenario.effective(), scenario.airframe.effective());
            Ok(if arguments.json {
                print_json(&json!({ "scenario": own.value, "airframe": airframe.value }))
            } else {
                print(
                    &(about_scenario(&scenario)
                        + &about_fields(&own)
                        + "\n"
                        + &about_airframe(&scenario.airframe)
                        + &about_fields(&airframe)),
                )
            })
        }
    }
}

/// What each part weighs and where, and all together.
pub(super) fn mass_table(built: &BuiltAirframe) -> String {
    let mm = |m: f64| number(Some(m * 1e3), 1);
    let row = |name: String, p: &MassProperties| {
        vec![
            name,
            format!("{:.2}", p.mass_kg * 1e3),
            mm(p.balance.station_m),
            mm(p.balance.right_m),
            mm(p.balance.up_m),
        ]
    };
    let mut rows: Vec<Vec<String>> = built
        .parts
        .iter()
        .map(|part| {
            let name = if part.copies > 1 {
                format!("{} ({} together)", part.name, part.copies)
            } else {
                part.name.clone()
            };
            row(name, &part.properties)
        })
        .collect();
    rows.push(row("all together".into(), &built.mass));
    of_texts(
        &["part", "mass\ng", "station\nmm", "right\nmm", "up\nmm"],
        &rows,
    )
}

/// For what flow the coefficients were estimated, and each with its band and where it comes from.
fn about_coefficients(airframe: &LoadedAirframe) -> String {
    let file = &airframe.file;
    let mut text = String::new();
    if let Some(at) = &airframe.estimated {
        text += &format!(
            "coefficients left out of the file are estimated for {:.2} m/s at {:.1} deg incidence ({} passes)\n",
            at.airspeed_m_s, at.incidence_deg, at.passes
        );
    }
    let row = |name: String, one: &Coefficient| {
        let origin = match one.origin {
            Origin::Builder => "builder",
            Origin::Estimate => "estimate",
            Origin::Fit => "fit",
        };
        vec![
            name,
            number(Some(one.value), 4),
            number(one.one_sigma, 4),
            origin.to_owned(),
        ]
    };
    let table = file.coefficients.named();
    let own = table.iter().map(|(name, one)| ((*name).to_owned(), *one));
    let tabs = file.tabs.iter().flat_map(|tab| {
        let effects = tab.named();
        effects.map(|(name, one)| (format!("{}: {name}", tab.name), one))
    });
    let rows: Vec<Vec<String>> = own
        .chain(tabs)
        .filter(|(_, one)| one.is_given() && one.value != 0.0)
        .map(|(name, one)| row(name, one))
        .collect();
    text += &of_texts(&["coefficient", "value", "one sigma", "origin"], &rows);
    text
}

fn about_airframe(airframe: &LoadedAirframe) -> String {
    let built = &airframe.built;
    let mut text = format!("airframe {}\n", airframe.file.name);
    if !airframe.file.note.is_empty() {
        text += &format!("{}\n", airframe.file.note);
    }
    text += &mass_table(built);
    let i = &built.mass.inertia_kg_m2;
    text += &format!(
        "inertia about the balance point: roll {:.3e}, pitch {:.3e}, yaw {:.3e}; products xy {:.1e}, xz {:.1e}, yz {:.1e} kg m²\n",
        i[(0, 0)],
        i[(1, 1)],
        i[(2, 2)],
        0.0 - i[(0, 1)],
        0.0 - i[(0, 2)],
        0.0 - i[(1, 2)]
    );
    let loading = built.mass.mass_kg * 1e3 / (built.vehicle.coefficients.area * 1e2);
    text += &format!("wing loading {loading:.1} g/dm²\n");
    text += &about_coefficients(airframe);
    text += &about_apparent_mass(&built.vehicle);
    for (motor, named) in built.vehicle.motors.iter().zip(&built.motors) {
        text += &about_motor(motor, named);
    }
    if !airframe.file.motors.is_empty() {
        text += &about_propeller_effects(&airframe.file);
    }
    text + &about_module(&built.module) + &about_worked_out(&built.worked_out)
}

/// What the module does by itself.
fn about_module(module: &Module) -> String {
    let mut text = String::new();
    if let Some(damper) = module.damper {
        text += &if damper.is_on() {
            format!(
                "rate damper: samples every {} s, acts {} s later; gains roll {} s, pitch {} s, yaw {} s, {} at most; gyro noise {:.2} deg/s\n",
                damper.sample_time_s,
                damper.delay_s,
                damper.roll_gain_s,
                damper.pitch_gain_s,
                damper.yaw_gain_s,
                damper.saturation,
                damper.gyro.noise_rad_s.to_degrees(),
            )
        } else {
            "rate damper: off, its gains are 0\n".to_owned()
        };
    }
    if let Some(voltage_v) = module.cut_off_voltage_v {
        text +=
            &format!("the driver cuts the motors off below {voltage_v} V under load, for good\n");
    }
    text
}

/// What propellers do beside thrust and torque, with the doubt about it.
fn about_propeller_effects(file: &AirframeFile) -> String {
    let given = &file.propeller_effects;
    let one = |name: &str, on: bool, factor: f64, one_sigma: f64| {
        if on {
            format!("{name} × {factor:.2} ± {one_sigma:.2}")
        } else {
            format!("{name} off")
        }
    };
    let effects = [
        one(
            "force at incidence",
            given.disc_normal_force,
            given.disc_normal_force_factor,
            ONE_SIGMA.0,
        ),
        one("wash", given.wash, given.wash_factor, ONE_SIGMA.1),
        one("suction", given.suction, given.suction_factor, ONE_SIGMA.2),
    ];
    let mut text = format!(
        "propellers beside thrust and torque, give or take one standard deviation: {}\n",
        effects.join(", ")
    );
    for propeller in &file.propellers {
        text += &format!(
            "propeller {}: blades seen from the side {:.3} cm²\n",
            propeller.name,
            side_area_m2(propeller) * 1e4
        );
    }
    text
}

/// The air carried along, in the body's own measures, at standard density.
fn about_apparent_mass(vehicle: &Vehicle<f64>) -> String {
    let Some(apparent) = &vehicle.apparent_mass else {
        return "apparent mass: none flown\n".to_owned();
    };
    let density = Air::calm().atmosphere.density(0.0);
    let of = |i: usize| apparent.per_density[(i, i)] * density;
    let share = |i: usize| of(3 + i) / vehicle.inertia[(i, i)];
    format!(
        "apparent mass from the surfaces, at {density:.3} kg/m³: {:.1} g across the wing ({:.2} of the mass), {:.1} g sideways; \
{:.2}, {:.2}, {:.2} of the inertia in roll, pitch, yaw\n",
        of(2) * 1e3,
        of(2) / vehicle.mass,
        of(1) * 1e3,
        share(0),
        share(1),
        share(2)
    )
}

/// What was worked out from measurements: value, one sigma, method. A method that stays the same is said once.
fn about_worked_out(list: &[WorkedOut]) -> String {
    if list.is_empty() {
        return String::new();
    }
    let mut text =
        "worked out from measurements, give or take one standard deviation:\n".to_owned();
    let mut said = "";
    for one in list {
        if one.method != said {
            text += &format!("  by {}:\n", one.method);
            said = &one.method;
        }
        let unit = if one.unit.is_empty() {
            String::new()
        } else {
            format!(" {}", one.unit)
        };
        text += &format!(
            "    {} = {:.4} ± {:.4}{unit}\n",
            one.path, one.value, one.one_sigma
        );
    }
    text
}

/// Where a motor is, which way it pushes the airframe, and which way its air blows.
fn about_motor(motor: &Motor<f64>, named: &BuiltMotor) -> String {
    let word = |value: f64, plus: &str, minus: &str, unit: &str| {
        let side = if value >= 0.0 { plus } else { minus };
        format!("{:.1} {unit} {side}", value.abs())
    };
    let (place, axis) = (motor.place * 1e3, motor.axis);
    let elevation = (-axis.z).asin().to_degrees();
    let turn = axis.y.atan2(axis.x).to_degrees();
    let way = |value: f64, plus: &'static str, minus: &'static str| {
        if value.abs() < 1e-9 {
            ""
        } else if value > 0.0 {
            plus
        } else {
            minus
        }
    };
    let lever = place.cross(&axis);
    let nose = match lever.y {
        y if y.abs() < 0.05 => "leaves the nose where it is".to_owned(),
        y if y < 0.0 => format!("pushes the nose down ({:.1} mm lever)", -y),
        y => format!("pushes the nose up ({y:.1} mm lever)"),
    };
    format!(
        "motor {}: {}, {} and {} the balance point; thrust elevation {elevation:.1} deg{}; it pushes the airframe forward{}{}, \
its air blows back{}{}; its thrust line {nose}\n",
        named.name,
        word(place.x, "ahead", "behind", "mm"),
        word(place.y, "right", "left", "mm"),
        word(-place.z, "above", "below", "mm"),
        if turn == 0.0 {
            String::new()
        } else {
            format!(", turned {}", word(turn, "right", "left", "deg"))
        },
        way(-axis.z, " and up", " and down"),
        way(axis.y, " and right", " and left"),
        way(-axis.z, " and down", " and up"),
        way(axis.y, " and left", " and right"),
    )
}

/// How many flights a study has, and the fields it moves with their first values.
fn about_study(study: &LoadedStudy) -> String {
    let plan = study.plan(Purpose::State);
    let file = &study.file;
    let mut text = format!("study {}\n", file.name);
    if !file.note.is_empty() {
        text += &format!("{}\n", file.note);
    }
    text += &format!(
        "{} flights: {} points of the axes, {} throws at each\nthe first throws:\n",
        plan.flights(),
        plan.axis_points(),
        file.flights
    );
    let first: Vec<Vec<f64>> = (0..plan.flights().min(4))
        .map(|index| plan.flight(index).values)
        .collect();
    for (i, field) in plan.fields().enumerate() {
        let values: Vec<String> = first.iter().map(|v| number(Some(v[i]), 4)).collect();
        text += &format!("  {field}: {}\n", values.join(", "));
    }
    text
}

fn about_scenario(scenario: &LoadedScenario) -> String {
    let (file, built) = (&scenario.file, &scenario.built);
    let mut text = format!("scenario {}\n", file.name);
    if !file.note.is_empty() {
        text += &format!("{}\n", file.note);
    }
    // The release as it works out needs no more than the first instant of the flight.
    let mut instant = built.throw.clone();
    instant.time_limit_s = 1e-6;
    text += &match instant.fly() {
        Ok(flight) => {
            let at = summarise(&flight, None, &SummarySettings::default());
            let shown = |value: Option<f64>| value.map_or("–".into(), |v| format!("{v:.2}"));
            let rotors: Vec<String> = flight
                .state_at(0.0)
                .rotors
                .iter()
                .take(built.throw.vehicle.motors.len())
                .map(|speed| format!("{:.0} rpm", speed * 60.0 / std::f64::consts::TAU))
                .collect();
            format!(
                "at release: airspeed {} m/s, incidence {} deg, sideslip {} deg; rotors {}; lowest point {:.2} m over the ground\n",
                shown(at.release_airspeed_m_s),
                shown(at.release_alpha_deg),
                shown(at.release_beta_deg),
                if rotors.is_empty() {
                    "none".into()
                } else {
                    rotors.join(", ")
                },
                flight.clearance_at(0.0),
            )
        }
        Err(error) => format!("it cannot be released: {error}\n"),
    };
    text
}

fn about_fields(effective: &Effective) -> String {
    let list = |head: &str, paths: &[String]| {
        if paths.is_empty() {
            return String::new();
        }
        let lines: Vec<String> = paths
            .iter()
            .map(|path| format!("  {path}{}", value_at(&effective.value, path)))
            .collect();
        format!("{head}\n{}\n", lines.join("\n"))
    };
    list("changed by an override:", &effective.overridden)
        + &list("not in the file, default taken:", &effective.defaulted)
}

/// " = value" of a path whose list elements are named or counted from 1 in brackets; a coefficient's value alone, a list's length.
fn value_at(value: &Value, path: &str) -> String {
    let keys = path.split(['.', '[']).map(|key| key.trim_end_matches(']'));
    let found = keys
        .into_iter()
        .try_fold(value, |inside, key| match inside {
            Value::Array(list) => list
                .iter()
                .find(|one| one.get("name").and_then(Value::as_str) == Some(key))
                .or_else(|| list.get(key.parse::<usize>().ok()?.checked_sub(1)?)),
            other => other.get(key),
        });
    match found.map(|found| found.get("value").unwrap_or(found)) {
        Some(Value::Array(list)) => format!(" = a table of {} rows", list.len()),
        Some(found) => format!(" = {found}"),
        None => String::new(),
    }
}
