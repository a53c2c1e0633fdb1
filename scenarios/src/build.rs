//! Airframe and scenario files to what `sim_core` flies.

use crate::airframe_checks;
use crate::airframe_file::{
    AirframeFile, Cell as CellFile, Coefficient, Motor as MotorFile, Mount, Spin, Surface,
};
use crate::build_mass::{PartMass, shapes_of, whole};
use crate::error::{FileError, Warning};
use crate::scenario_checks;
use crate::scenario_file::{
    FractionProgramme, Gust as GustFile, ScenarioFile, SolverMethod, TabProgramme,
};
use crate::units::{
    c_from_mah, k_from_celsius, kg_m2_from_g_mm2, m_from_mm, m2_from_cm2, pa_from_hpa, place,
    rad_from_deg, rad_s_from_rpm,
};
use nalgebra::Vector3;
use sim_core::aero::coefficients::{Coefficients, TabEffect};
use sim_core::aero::post_stall::{Panel, PostStall, StallAngles, normal_at_90_of_aspect_ratio};
use sim_core::air::atmosphere::Atmosphere;
use sim_core::air::gust::Gust;
use sim_core::air::{Air, Gravity, wind_from};
use sim_core::flight::Throw;
use sim_core::frames::BuilderPoint;
use sim_core::interpolate::MonotoneCubic;
use sim_core::launch::Launch;
use sim_core::mass::MassProperties;
use sim_core::pilot::{Change, Pilot, Programme};
use sim_core::power::cell::Cell;
use sim_core::power::motor::{Motor, constant_of_speed_constant, thrust_axis};
use sim_core::power::propeller::{Propeller, PropellerRow};
use sim_core::site::{Site, Wall};
use sim_core::solver::{Method, Tolerance};
use sim_core::vehicle::Vehicle;

/// How far off the centre line a motor may be and still count as on it, m: rounding, no more.
const ON_CENTRE_LINE_M: f64 = 1e-9;

/// An airframe ready to fly, and what a person wants to see of it.
#[derive(Clone, Debug)]
pub struct BuiltAirframe {
    /// What flies.
    pub vehicle: Vehicle<f64>,
    /// Mass, balance point (builder's axes) and inertia of the whole.
    pub mass: MassProperties,
    /// The same of each part, in file order; none where the mass is measured.
    pub parts: Vec<PartMass>,
    /// The motors, in file order, which is that of rotors and throttles everywhere.
    pub motors: Vec<BuiltMotor>,
    /// The tabs, in file order.
    pub tabs: Vec<BuiltTab>,
    /// What share of the left-right difference each motor gets: ½ left, −½ right where there is one on each side, else 0.
    pub steering_shares: Vec<f64>,
}

/// Where a motor is.
#[derive(Clone, Debug, PartialEq)]
pub struct BuiltMotor {
    /// Name.
    pub name: String,
    /// Which side of the centre line it is on.
    pub side: Side,
    /// Middle of the propeller disc, builder's axes, m.
    pub place: BuilderPoint,
    /// Name of the part that carries it.
    pub carried_by: Option<String>,
}

/// A side of the centre line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Left of it.
    Left,
    /// On it.
    Centre,
    /// Right of it.
    Right,
}

impl Side {
    fn of(right_m: f64) -> Self {
        if right_m.abs() <= ON_CENTRE_LINE_M {
            Side::Centre
        } else if right_m > 0.0 {
            Side::Right
        } else {
            Side::Left
        }
    }
}

/// A tab's name and setting.
#[derive(Clone, Debug, PartialEq)]
pub struct BuiltTab {
    /// Name.
    pub name: String,
    /// Angle it is bent to, rad, trailing edge down positive.
    pub setting_rad: f64,
}

/// A scenario ready to fly.
#[derive(Clone, Debug)]
pub struct BuiltScenario {
    /// What flies.
    pub throw: Throw,
    /// Time between two rows of the trajectory, s.
    pub record_interval_s: f64,
    /// The throttle step the summary looks at; none where the throttle does not change.
    pub power_step: Option<PowerStep>,
    /// How long after the step the nose is compared with the flight without it, s.
    pub power_window_s: f64,
    /// How long after the step the lowest point is looked for, s.
    pub dip_window_s: f64,
}

/// One change of the throttle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PowerStep {
    /// Its number among the throttle's changes, from 1.
    pub number: u32,
    /// When it begins, s after release.
    pub time_s: f64,
}

/// Builds an airframe that did not come from a file.
///
/// # Errors
/// [`FileError`] (with the airframe's name in place of a file, and no line) where [`AirframeFile`] does not make sense.
pub fn build_airframe(file: &AirframeFile) -> Result<BuiltAirframe, FileError> {
    airframe_checks::check(file).map_err(|problem| problem.without_file(&file.name, file))?;
    Ok(airframe(file))
}

/// Builds a scenario that did not come from a file, with an airframe already built. Its own `airframe` and `overrides` are not
/// looked at.
///
/// # Errors
/// [`FileError`] (with the scenario's name in place of a file, and no line) where the scenario does not make sense by itself or
/// with this airframe.
pub fn build_scenario(
    file: &ScenarioFile,
    airframe: &BuiltAirframe,
) -> Result<BuiltScenario, FileError> {
    scenario_checks::check(file)
        .and_then(|()| scenario_checks::check_with_airframe(file, airframe))
        .map_err(|problem| problem.without_file(&file.name, file))?;
    Ok(scenario(file, airframe))
}

/// Where a mount puts its motor; none where the carrier does not exist or the mount is incomplete.
pub(crate) fn mount_place(mount: &Mount, parts: &[PartMass]) -> Option<BuilderPoint> {
    let from = |station: Option<f64>, right: Option<f64>, up: Option<f64>| {
        Some(BuilderPoint::new(
            m_from_mm(station?),
            m_from_mm(right?),
            m_from_mm(up?),
        ))
    };
    let Some(carrier) = &mount.carried_by else {
        return from(mount.station_mm, mount.right_mm, mount.up_mm);
    };
    let carrier = parts.iter().find(|part| part.name == *carrier)?.centroid;
    let offset = from(
        mount.station_from_carrier_mm,
        mount.right_from_carrier_mm,
        mount.up_from_carrier_mm,
    )?;
    Some(BuilderPoint::new(
        carrier.station_m + offset.station_m,
        carrier.right_m + offset.right_m,
        carrier.up_m + offset.up_m,
    ))
}

/// Which side of the centre line a place is on.
pub(crate) fn side_of(place: &BuilderPoint) -> Side {
    Side::of(place.right_m)
}

/// The panels of a surface: one, or two where it is mirrored.
pub(crate) fn panels_of(surface: &Surface) -> Vec<Panel> {
    let panel = Panel {
        root_leading_edge: place(&surface.root_leading_edge),
        root_chord_m: m_from_mm(surface.root_chord_mm),
        tip_chord_m: m_from_mm(surface.tip_chord_mm),
        half_span_m: m_from_mm(surface.half_span_mm),
        sweep_rad: rad_from_deg(surface.leading_edge_sweep_deg),
        dihedral_rad: rad_from_deg(surface.dihedral_deg),
        side: 1.0,
    };
    std::iter::once(panel)
        .chain(surface.mirrored.then(|| panel.mirrored()))
        .collect()
}

/// C_90: given, or by the aspect ratio of the reference area and span.
pub(crate) fn normal_at_90(file: &AirframeFile) -> f64 {
    let span_m = m_from_mm(file.reference.span_mm);
    let aspect_ratio = span_m * span_m / m2_from_cm2(file.reference.area_cm2);
    file.stall
        .normal_force_coefficient_at_90_deg
        .unwrap_or_else(|| normal_at_90_of_aspect_ratio(aspect_ratio))
}

/// Builds a checked airframe.
pub(crate) fn airframe(file: &AirframeFile) -> BuiltAirframe {
    let (mass, parts) = whole(&file.mass);
    let balance = mass.balance;
    let panels: Vec<Panel> = file.surfaces.iter().flat_map(panels_of).collect();
    let mut outline: Vec<Vector3<f64>> = panels
        .iter()
        .flat_map(|panel| panel.corners())
        .map(|corner| corner.in_body(&balance))
        .collect();
    for part in file.mass.parts.iter().flatten() {
        for shape in shapes_of(part) {
            outline.extend(
                shape
                    .corners()
                    .iter()
                    .map(|corner| corner.in_body(&balance)),
            );
        }
    }
    let motors: Vec<BuiltMotor> = file
        .motors
        .iter()
        .map(|motor| {
            let place =
                mount_place(&motor.mount, &parts).expect("mounts are checked before a build");
            BuiltMotor {
                name: motor.name.clone(),
                side: side_of(&place),
                place,
                carried_by: motor.mount.carried_by.clone(),
            }
        })
        .collect();
    let vehicle = Vehicle {
        mass: mass.mass_kg,
        inertia: mass.inertia_kg_m2,
        inverse_inertia: mass
            .inertia_kg_m2
            .try_inverse()
            .expect("a physical inertia has an inverse"),
        coefficients: coefficients(file, &balance),
        post_stall: PostStall::of(&stall_angles(file), &panels, &balance),
        cell: file.cell.as_ref().map_or_else(no_cell, cell),
        motors: file
            .motors
            .iter()
            .zip(&motors)
            .map(|(motor, built)| motor_of(file, motor, built, &balance))
            .collect(),
        outline,
    };
    let tabs = file
        .tabs
        .iter()
        .map(|tab| BuiltTab {
            name: tab.name.clone(),
            setting_rad: rad_from_deg(tab.setting_deg),
        })
        .collect();
    BuiltAirframe {
        vehicle,
        mass,
        parts,
        steering_shares: steering_shares(&motors),
        motors,
        tabs,
    }
}

fn steering_shares(motors: &[BuiltMotor]) -> Vec<f64> {
    let count = |side| motors.iter().filter(|motor| motor.side == side).count();
    let one_each = motors.len() == 2 && count(Side::Left) == 1 && count(Side::Right) == 1;
    motors
        .iter()
        .map(|motor| match (one_each, motor.side) {
            (true, Side::Left) => 0.5,
            (true, Side::Right) => -0.5,
            _ => 0.0,
        })
        .collect()
}

fn coefficients(file: &AirframeFile, balance: &BuilderPoint) -> Coefficients<f64> {
    let c = &file.coefficients;
    let reference = BuilderPoint::new(
        m_from_mm(file.reference.station_mm),
        0.0,
        m_from_mm(file.reference.up_mm),
    );
    let v = |coefficient: &Coefficient| coefficient.value;
    Coefficients {
        area: m2_from_cm2(file.reference.area_cm2),
        span: m_from_mm(file.reference.span_mm),
        chord: m_from_mm(file.reference.chord_mm),
        reference: reference.in_body(balance),
        lift_zero: v(&c.lift_zero),
        lift_alpha: v(&c.lift_alpha_per_rad),
        lift_q: v(&c.lift_q_per_rad),
        lift_alpha_rate: v(&c.lift_alpha_rate_per_rad),
        drag_min: v(&c.drag_min),
        drag_factor: v(&c.drag_factor),
        lift_at_min_drag: v(&c.lift_at_min_drag),
        pitch_zero: v(&c.pitch_zero),
        pitch_alpha: v(&c.pitch_alpha_per_rad),
        pitch_q: v(&c.pitch_q_per_rad),
        pitch_alpha_rate: v(&c.pitch_alpha_rate_per_rad),
        side_zero: v(&c.side_zero),
        side_beta: v(&c.side_beta_per_rad),
        side_p: v(&c.side_p_per_rad),
        side_r: v(&c.side_r_per_rad),
        roll_zero: v(&c.roll_zero),
        roll_beta: v(&c.roll_beta_per_rad),
        roll_p: v(&c.roll_p_per_rad),
        roll_r: v(&c.roll_r_per_rad),
        yaw_zero: v(&c.yaw_zero),
        yaw_beta: v(&c.yaw_beta_per_rad),
        yaw_p: v(&c.yaw_p_per_rad),
        yaw_r: v(&c.yaw_r_per_rad),
        tabs: file
            .tabs
            .iter()
            .map(|tab| TabEffect {
                lift: v(&tab.lift_per_rad),
                drag: v(&tab.drag_per_rad2),
                pitch: v(&tab.pitch_per_rad),
                side: v(&tab.side_per_rad),
                roll: v(&tab.roll_per_rad),
                yaw: v(&tab.yaw_per_rad),
            })
            .collect(),
    }
}

fn stall_angles(file: &AirframeFile) -> StallAngles {
    StallAngles {
        alpha_stall_rad: rad_from_deg(file.stall.alpha_stall_deg),
        alpha_blend_rad: rad_from_deg(file.stall.alpha_blend_deg),
        beta_stall_rad: rad_from_deg(file.stall.beta_stall_deg),
        beta_blend_rad: rad_from_deg(file.stall.beta_blend_deg),
        normal_at_90: normal_at_90(file),
    }
}

fn cell(cell: &CellFile) -> Cell<f64> {
    let table: Vec<(f64, f64)> = cell
        .open_circuit_voltage
        .iter()
        .map(|row| (row.charge_fraction, row.voltage_v))
        .collect();
    Cell {
        capacity: c_from_mah(cell.capacity_mah),
        resistance: cell.internal_resistance_ohm,
        electronics_current: cell.electronics_current_a,
        open_voltage: MonotoneCubic::through(&table),
    }
}

/// What stands for the cell of an airframe without power: the equations need one, and this one never drains.
fn no_cell() -> Cell<f64> {
    Cell {
        capacity: 1.0,
        resistance: 0.0,
        electronics_current: 0.0,
        open_voltage: MonotoneCubic::through(&[(0.0, 1.0), (1.0, 1.0)]),
    }
}

fn motor_of(
    file: &AirframeFile,
    motor: &MotorFile,
    built: &BuiltMotor,
    balance: &BuilderPoint,
) -> Motor<f64> {
    let propeller = file
        .propellers
        .iter()
        .find(|propeller| propeller.name == motor.propeller)
        .expect("propeller names are checked before a build");
    let rows: Vec<PropellerRow> = propeller
        .table
        .iter()
        .map(|row| PropellerRow {
            advance_ratio: row.advance_ratio,
            thrust_coefficient: row.thrust_coefficient,
            power_coefficient: row.power_coefficient,
        })
        .collect();
    let stopped = (
        propeller.stopped_thrust_coefficient,
        propeller.stopped_torque_coefficient,
    );
    let (turn_deg, side) = match built.side {
        Side::Left => (motor.thrust_toe_deg, -1.0),
        Side::Right => (motor.thrust_toe_deg, 1.0),
        Side::Centre => (motor.thrust_right_deg, 1.0),
    };
    Motor {
        constant: constant_of_speed_constant(motor.speed_constant_rpm_v),
        resistance: motor.resistance_ohm,
        no_load_current: motor.no_load_current_a,
        rotor_inertia: kg_m2_from_g_mm2(motor.rotor_inertia_g_mm2),
        spin: match motor.spin {
            Spin::Clockwise => 1.0,
            Spin::Counterclockwise => -1.0,
        },
        axis: thrust_axis(
            rad_from_deg(motor.thrust_elevation_deg),
            rad_from_deg(turn_deg.unwrap_or(0.0)),
            side,
        ),
        place: built.place.in_body(balance),
        propeller: Propeller::from_table(m_from_mm(propeller.diameter_mm), &rows, stopped),
    }
}

/// Builds a checked scenario with the airframe it flies.
pub(crate) fn scenario(file: &ScenarioFile, airframe: &BuiltAirframe) -> BuiltScenario {
    let launch = &file.launch;
    let throw = Throw {
        vehicle: airframe.vehicle.clone(),
        launch: Launch {
            height_m: launch.release_height_m,
            speed_m_s: launch.release_speed_m_s,
            path_angle_rad: rad_from_deg(launch.path_angle_deg),
            heading_rad: rad_from_deg(launch.heading_deg),
            nose_above_path_rad: rad_from_deg(launch.nose_above_path_deg),
            nose_right_of_path_rad: rad_from_deg(launch.nose_right_of_path_deg),
            bank_rad: rad_from_deg(launch.bank_deg),
            rates_rad_s: Vector3::new(
                rad_from_deg(launch.roll_rate_deg_s),
                rad_from_deg(launch.pitch_rate_deg_s),
                rad_from_deg(launch.yaw_rate_deg_s),
            ),
            rotor_speeds_rad_s: launch
                .rotor_speed_rpm
                .as_ref()
                .map(|speeds| speeds.iter().map(|&rpm| rad_s_from_rpm(rpm)).collect()),
            charge_fraction: launch.charge_fraction,
        },
        air: air(file),
        pilot: Pilot {
            throttle: fraction_programme(&file.pilot.throttle),
            left_minus_right: fraction_programme(&file.pilot.left_minus_right),
            steering_shares: airframe.steering_shares.clone(),
            tabs: airframe
                .tabs
                .iter()
                .map(|tab| tab_programme(tab, &file.pilot.tabs))
                .collect(),
        },
        site: Site {
            walls: file
                .site
                .walls
                .iter()
                .map(|wall| Wall {
                    heading_rad: rad_from_deg(wall.heading_deg),
                    distance_m: wall.distance_m,
                })
                .collect(),
        },
        time_limit_s: file.end.time_limit_s,
        tolerance: Tolerance {
            method: match file.solver.method {
                SolverMethod::Dopri5 => Method::Dopri5,
                SolverMethod::Dop853 => Method::Dop853,
            },
            relative: file.solver.relative_tolerance,
            absolute: file.solver.absolute_tolerance,
            largest_step_s: file.solver.largest_step_s,
            ..Tolerance::default()
        },
    };
    BuiltScenario {
        throw,
        record_interval_s: file.record.interval_s,
        power_step: file.power_step_time_s().map(|time_s| PowerStep {
            number: file.summary.power_step_number,
            time_s,
        }),
        power_window_s: file.summary.power_window_s,
        dip_window_s: file.summary.dip_window_s,
    }
}

fn air(file: &ScenarioFile) -> Air<f64> {
    let air = &file.air;
    Air {
        atmosphere: Atmosphere::of_day(
            k_from_celsius(air.temperature_c),
            pa_from_hpa(air.pressure_hpa),
        ),
        mean_wind: wind_from(
            air.wind.speed_m_s,
            rad_from_deg(air.wind.from_deg),
            air.wind.up_m_s,
        ),
        gusts: air
            .gusts
            .iter()
            .map(|gust| gust_of(gust, file.launch.heading_deg))
            .collect(),
        gravity: Gravity::uniform(),
    }
}

fn gust_of(gust: &GustFile, launch_heading_deg: f64) -> Gust<f64> {
    let peak = wind_from(gust.speed_m_s, rad_from_deg(gust.from_deg), gust.up_m_s);
    match (gust.gust_start_s, gust.gust_duration_s) {
        (Some(start_s), Some(duration_s)) => Gust::in_time(peak, start_s, duration_s),
        _ => Gust::in_place(
            peak,
            rad_from_deg(gust.along_heading_deg.unwrap_or(launch_heading_deg)),
            gust.gust_start_m.expect("gusts are checked before a build"),
            gust.gust_length_m
                .expect("gusts are checked before a build"),
        ),
    }
}

fn fraction_programme(programme: &FractionProgramme) -> Programme {
    Programme {
        at_release: programme.at_release_fraction,
        changes: programme
            .changes
            .iter()
            .map(|change| Change {
                time_s: change.time_s,
                to: change.to_fraction,
                ramp_s: change.ramp_s,
            })
            .collect(),
    }
}

fn tab_programme(tab: &BuiltTab, programmes: &[TabProgramme]) -> Programme {
    Programme {
        at_release: tab.setting_rad,
        changes: programmes
            .iter()
            .filter(|programme| programme.tab == tab.name)
            .flat_map(|programme| &programme.changes)
            .map(|change| Change {
                time_s: change.time_s,
                to: rad_from_deg(change.to_deg),
                ramp_s: change.ramp_s,
            })
            .collect(),
    }
}
