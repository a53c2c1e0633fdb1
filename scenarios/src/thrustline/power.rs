//! What power does in steady flight: pitching moment by cause, power curve, level flight, the angle at which nothing pitches.

use crate::error::FileError;
use crate::load::LoadedScenario;
use crate::overrides::{Change, Override};
use crate::study::{LoadedStudy, Purpose};
use nalgebra::Vector3;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use sim_core::power::motor::Motor;
use sim_core::trim::{SteadyFlight, TrimConditions, Trimmer};

/// Throttles of the power curve.
const LADDER: [f64; 11] = [0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0];
/// Throttle from which on more of it should mean climb, where there is no level flight.
const WITHOUT_LEVEL: f64 = 0.5;
/// Steps of the scan for the balanced angle, deg.
const SCAN_STEP_DEG: f64 = 2.0;
/// To what the balanced angle is refined, deg.
const FINE_DEG: f64 = 0.005;

/// Pitching moment of power about the balance point by cause, N m, nose up positive.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PowerMoment {
    /// Thrust times its lever arm.
    #[serde(rename = "lever_arm_N_m")]
    pub lever_arm_n_m: f64,
    /// Propellers at incidence.
    #[serde(rename = "disc_normal_force_N_m")]
    pub disc_normal_force_n_m: f64,
    /// Jets over surfaces.
    #[serde(rename = "wash_N_m")]
    pub wash_n_m: f64,
    /// Air drawn over surfaces.
    #[serde(rename = "suction_N_m")]
    pub suction_n_m: f64,
    /// Torque of propellers.
    #[serde(rename = "torque_N_m")]
    pub torque_n_m: f64,
}

impl PowerMoment {
    /// All together, N m.
    pub fn total_n_m(&self) -> f64 {
        self.lever_arm_n_m
            + self.disc_normal_force_n_m
            + self.wash_n_m
            + self.suction_n_m
            + self.torque_n_m
    }
}

/// Steady straight flight at one throttle.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct AtThrottle {
    /// Throttle, 0 to 1.
    pub throttle_fraction: f64,
    /// Path angle, deg; climbing positive.
    pub path_angle_deg: f64,
    /// Pitch angle of the reference line, deg.
    pub pitch_deg: f64,
    /// Airspeed, m/s.
    pub airspeed_m_s: f64,
    /// Incidence at the reference point, deg.
    pub alpha_deg: f64,
    /// To stall, deg.
    pub stall_margin_deg: f64,
    /// Climb, m/s.
    pub climb_m_s: f64,
    /// Thrust of all motors, N.
    #[serde(rename = "thrust_N")]
    pub thrust_n: f64,
    /// Pitching moment of power.
    pub moment: PowerMoment,
}

/// How much of a move of the carrying part is lost because the balance point goes along.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WeightShift {
    /// The motor.
    pub motor: String,
    /// The part that carries it; none where the file does not say.
    pub carried_by: Option<String>,
    /// That part's share of the mass.
    pub lost_fraction: Option<f64>,
}

/// An airframe under power.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PowerCurve {
    /// Throttle by throttle; ends before the first without steady flight.
    pub points: Vec<AtThrottle>,
    /// Why it ends before full throttle, where it does.
    pub ends_because: Option<String>,
    /// Throttle for level flight.
    pub level_throttle_fraction: Option<f64>,
    /// Why there is none, where there is none.
    pub no_level_because: Option<String>,
    /// Whether the path rises with every step of throttle above level flight.
    pub more_throttle_climbs: Option<bool>,
    /// Change of pitch angle from level flight's neighbour below (else half throttle) to full throttle, deg; nose up positive.
    pub nose_change_deg: Option<f64>,
    /// Elevation that aims the mean motor through the balance point, deg; absent without a lever along the body.
    pub aimed_through_deg: Option<f64>,
    /// How much of a move of the motors is lost to the balance point going along.
    pub weight_shift: Vec<WeightShift>,
}

/// Steady flights of a scenario's airframe, in its air made still.
pub fn trimmer(scenario: &LoadedScenario) -> Trimmer<'_> {
    let built = &scenario.airframe.built;
    let throw = &scenario.built.throw;
    Trimmer::new(
        &built.vehicle,
        &throw.air,
        TrimConditions {
            tabs_rad: built.tabs.iter().map(|tab| tab.setting_rad).collect(),
            steering_shares: built.steering_shares.clone(),
            height_m: scenario.file.launch.release_height_m,
            charge_fraction: 1.0,
        },
    )
}

/// Pitching moment of power in a steady flight.
pub fn moment(
    trimmer: &Trimmer<'_>,
    scenario: &LoadedScenario,
    flight: &SteadyFlight,
) -> PowerMoment {
    let now = trimmer.evaluation(flight);
    let motors = &scenario.airframe.built.vehicle.motors;
    let arm = |(motor, at): (
        &sim_core::power::motor::Motor<f64>,
        &sim_core::forces::MotorState<f64>,
    )| { motor.place.cross(&(motor.axis * at.thrust)).y };
    let lever_arm: f64 = motors.iter().zip(&now.motors).map(arm).sum();
    let of_motors: f64 = now.forces.motors.iter().map(|wrench| wrench.moment.y).sum();
    PowerMoment {
        lever_arm_n_m: lever_arm,
        disc_normal_force_n_m: now.forces.disc.moment.y,
        wash_n_m: now.forces.wash.moment.y,
        suction_n_m: now.forces.suction.moment.y,
        torque_n_m: of_motors - lever_arm,
    }
}

/// The power curve of a scenario's airframe.
pub fn curve(scenario: &LoadedScenario) -> PowerCurve {
    let trimmer = trimmer(scenario);
    let built = &scenario.airframe.built;
    let mut points = Vec::new();
    let mut ends_because = None;
    for steady in trimmer.power_curve(&LADDER) {
        match steady {
            Ok(steady) => points.push(AtThrottle {
                throttle_fraction: steady.throttle_fraction,
                path_angle_deg: steady.path_angle_rad.to_degrees(),
                pitch_deg: steady.pitch_rad.to_degrees(),
                airspeed_m_s: steady.airspeed_m_s,
                alpha_deg: steady.alpha_rad.to_degrees(),
                stall_margin_deg: steady.stall_margin_rad.to_degrees(),
                climb_m_s: steady.climb_m_s,
                thrust_n: trimmer
                    .evaluation(&steady)
                    .motors
                    .iter()
                    .map(|m| m.thrust)
                    .sum(),
                moment: moment(&trimmer, scenario, &steady),
            }),
            Err(error) => ends_because = Some(error.to_string()),
        }
    }
    let level = trimmer.level();
    let level_throttle = level.as_ref().ok().map(|flight| flight.throttle_fraction);
    let from = level_throttle.unwrap_or(WITHOUT_LEVEL);
    let above: Vec<&AtThrottle> = points
        .iter()
        .filter(|p| p.throttle_fraction >= from)
        .collect();
    let whole = ends_because.is_none() && above.len() > 1;
    let rises = |pair: &[&AtThrottle]| pair[1].path_angle_deg > pair[0].path_angle_deg;
    let before = points.iter().rfind(|p| p.throttle_fraction <= from);
    PowerCurve {
        more_throttle_climbs: whole.then(|| above.windows(2).all(rises)),
        nose_change_deg: before
            .zip(points.last())
            .filter(|_| whole)
            .map(|(low, high)| high.pitch_deg - low.pitch_deg),
        no_level_because: level.err().map(|error| error.to_string()),
        level_throttle_fraction: level_throttle,
        aimed_through_deg: aimed_through_deg(scenario),
        weight_shift: built
            .motors
            .iter()
            .map(|motor| WeightShift {
                motor: motor.name.clone(),
                carried_by: motor.carried_by.clone(),
                lost_fraction: motor.carried_by.as_ref().and_then(|name| {
                    let part = built.parts.iter().find(|part| part.name == *name)?;
                    Some(part.properties.mass_kg / built.mass.mass_kg)
                }),
            })
            .collect(),
        points,
        ends_because,
    }
}

/// Elevation (deg) at which the line of thrust of the mean motor passes through the balance point.
pub fn aimed_through_deg(scenario: &LoadedScenario) -> Option<f64> {
    let motors = &scenario.airframe.built.vehicle.motors;
    aimed_through_from_deg(motors, &Vector3::zeros())
}

/// The same with every place moved (body axes, m), as it is where the balance point moves the other way.
pub(super) fn aimed_through_from_deg(motors: &[Motor<f64>], moved: &Vector3<f64>) -> Option<f64> {
    let along: f64 = motors.iter().map(|motor| motor.place.x + moved.x).sum();
    let down: f64 = motors.iter().map(|motor| motor.place.z + moved.z).sum();
    (along != 0.0).then(|| libm::atan(-down / along).to_degrees())
}

/// Elevation (deg) of all motors at which power has no pitching moment in steady flight at full throttle: of those between `low_deg` and `high_deg`
/// the one nearest to where the thrust aims through the balance point. None where there is none.
///
/// # Errors
/// [`FileError`] where the elevation cannot be set.
pub fn balanced_deg(
    scenario: &LoadedScenario,
    low_deg: f64,
    high_deg: f64,
) -> Result<Option<f64>, FileError> {
    let power = |angle_deg: f64| -> Result<Option<f64>, FileError> {
        let tilted = scenario.changed_by(&[set_elevation(angle_deg)])?;
        let trimmer = trimmer(&tilted);
        let full = trimmer.power(1.0).ok();
        Ok(full.map(|flight| moment(&trimmer, &tilted, &flight).total_n_m()))
    };
    let steps = ((high_deg - low_deg) / SCAN_STEP_DEG).ceil().max(1.0) as u32;
    let mut scan = Vec::new();
    for i in 0..=steps {
        let angle = low_deg + (high_deg - low_deg) * f64::from(i) / f64::from(steps);
        scan.push((angle, power(angle)?));
    }
    let aim = aimed_through_deg(scenario).unwrap_or(0.0);
    let brackets = scan.windows(2).filter_map(|pair| {
        let (a, b) = (pair[0].1?, pair[1].1?);
        (a.signum() != b.signum()).then_some((pair[0].0, pair[1].0, a))
    });
    let off = |(low, high, _): &(f64, f64, f64)| (0.5 * (low + high) - aim).abs();
    let Some((mut low, mut high, at_low)) = brackets.min_by(|a, b| off(a).total_cmp(&off(b)))
    else {
        return Ok(None);
    };
    while high - low > FINE_DEG {
        let middle = 0.5 * (low + high);
        match power(middle)? {
            Some(value) if value.signum() == at_low.signum() => low = middle,
            Some(_) => high = middle,
            None => return Ok(None),
        }
    }
    Ok(Some(0.5 * (low + high)))
}

/// Elevation of all motors, as an override.
pub fn set_elevation(angle_deg: f64) -> Override {
    Override {
        path: "motors.*.thrust_elevation_deg".to_owned(),
        change: Change::Set(Value::from(angle_deg)),
        file: "thrust line".to_owned(),
        line: None,
    }
}

/// Why an angle of a study is refused whatever its flights say: what the unscattered airframe's steady flight at full throttle lacks.
///
/// # Errors
/// [`FileError`] where the angle cannot be.
pub fn steady_refusal(study: &LoadedStudy, angle_deg: f64) -> Result<Option<String>, FileError> {
    let Some(limits) = study.file.steady_at_full_throttle else {
        return Ok(None);
    };
    let mut drawn = study.at_values(vec![angle_deg], 1);
    drawn.file.scatter = Default::default();
    let scenario = drawn.scenario(&drawn.plan(Purpose::State).flight(0))?;
    let steady = match trimmer(&scenario).power(1.0) {
        Ok(steady) => steady,
        Err(error) => return Ok(Some(format!("no steady flight at full throttle: {error}"))),
    };
    let path_deg = steady.path_angle_rad.to_degrees();
    let margin_deg = steady.stall_margin_rad.to_degrees();
    if path_deg < limits.least_path_angle_deg {
        return Ok(Some(format!("steady path {path_deg:.1}° at full throttle")));
    }
    if margin_deg < limits.least_stall_margin_deg {
        return Ok(Some(format!(
            "{margin_deg:.1}° to stall in steady flight at full throttle"
        )));
    }
    Ok(None)
}
