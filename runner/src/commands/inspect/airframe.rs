//! What `tossline inspect` says of an airframe.

use super::mass_table;
use crate::output::table::{number, of_texts};
use scenarios::airframe_file::{AirframeFile, Coefficient, Origin};
use scenarios::build::{BuiltMotor, WorkedOut, side_area_m2};
use scenarios::load::LoadedAirframe;
use sim_core::air::Air;
use sim_core::control::Module;
use sim_core::power::disc::ONE_SIGMA;
use sim_core::power::motor::Motor;
use sim_core::vehicle::Vehicle;

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

/// What an airframe means.
pub(super) fn about_airframe(airframe: &LoadedAirframe) -> String {
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
