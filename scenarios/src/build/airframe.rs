//! An airframe file to a vehicle.

use super::controls::module;
use super::disc::disc_effects;
use super::outside::bodies;
use super::pieces::Pieces;
use super::surfaces::surfaces_with;
use super::{BuiltAirframe, BuiltMotor, BuiltTab, MotorConstants, Side, mount_place, side_of};
use crate::airframe_file::{
    AirframeFile, ApparentMass as Flown, Cell as CellFile, Coefficient, Motor as MotorFile, Spin,
};
use crate::units::{c_from_mah, kg_m2_from_g_mm2, m_from_mm, m2_from_cm2, rad_from_deg};
use nalgebra::Vector3;
use sim_core::aero::apparent_mass::ApparentMass;
use sim_core::aero::coefficients::{Coefficients, TabEffect};
use sim_core::aero::post_stall::{PostStall, StallAngles, normal_at_90_of_aspect_ratio};
use sim_core::estimate::apparent_mass::{matrix, plates_of};
use sim_core::frames::BuilderPoint;
use sim_core::interpolate::MonotoneCubic;
use sim_core::power::cell::Cell;
use sim_core::power::disc::DiscEffects;
use sim_core::power::disc::near::{NearSurface, Site};
use sim_core::power::motor::{Motor, thrust_axis};
use sim_core::power::propeller::{Propeller, PropellerRow};
use sim_core::vehicle::Vehicle;

/// Builds a checked airframe.
pub(crate) fn airframe(file: &AirframeFile) -> BuiltAirframe {
    let pieces = Pieces::of(file, None).expect("measurements are checked before a build");
    airframe_of(file, &pieces)
}

/// The same of its pieces.
pub(crate) fn airframe_of(file: &AirframeFile, pieces: &Pieces) -> BuiltAirframe {
    let (mass, parts) = pieces.whole_and_parts(file);
    let balance = mass.balance;
    let of_bodies = bodies(file).into_iter().flat_map(|body| body.corners());
    let outline: Vec<Vector3<f64>> = pieces
        .surfaces
        .corners
        .iter()
        .chain(pieces.parts.iter().flat_map(|part| &part.corners))
        .copied()
        .chain(of_bodies)
        .map(|corner| corner.in_body(&balance))
        .collect();
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
    let power = &pieces.power.propulsion;
    let vehicle = Vehicle {
        mass: mass.mass_kg,
        inertia: mass.inertia_kg_m2,
        inverse_inertia: mass
            .inertia_kg_m2
            .try_inverse()
            .expect("a physical inertia has an inverse"),
        coefficients: coefficients(file, &balance),
        post_stall: PostStall::of(&stall_angles(file), &pieces.surfaces.panels, &balance),
        apparent_mass: apparent_mass(file, pieces, &balance),
        cell: file.cell.as_ref().map_or_else(Cell::none, cell),
        motors: file
            .motors
            .iter()
            .zip(&motors)
            .zip(&power.motors)
            .map(|((motor, built), constants)| {
                let of = motor_of(file, motor, built, constants, &power.tables, &balance);
                with_effects(file, motor, built, of, &pieces.surfaces.near)
            })
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
        module: module(file),
        motors,
        tabs,
        worked_out: power.worked_out.clone(),
    }
}

/// Gives a built airframe the coefficients and stall of a file that differs in those alone.
pub(crate) fn exchange_table(built: &mut BuiltAirframe, file: &AirframeFile, pieces: &Pieces) {
    let balance = built.mass.balance;
    let vehicle = &mut built.vehicle;
    let angles = stall_angles(file);
    vehicle.coefficients = coefficients(file, &balance);
    vehicle.post_stall = PostStall {
        alpha_stall: angles.alpha_stall_rad,
        alpha_blend: angles.alpha_blend_rad,
        beta_stall: angles.beta_stall_rad,
        beta_blend: angles.beta_blend_rad,
        normal_at_90: angles.normal_at_90,
        ..vehicle.post_stall.clone()
    };
    // It hangs on the surfaces alone; the table says whether it is flown with.
    if is_flown(file) != vehicle.apparent_mass.is_some() {
        vehicle.apparent_mass = apparent_mass(file, pieces, &balance);
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

pub(crate) fn coefficients(file: &AirframeFile, balance: &BuilderPoint) -> Coefficients<f64> {
    let c = &file.coefficients;
    let reference = BuilderPoint::new(
        m_from_mm(file.reference().station_mm),
        0.0,
        m_from_mm(file.reference().up_mm),
    );
    let v = |coefficient: &Coefficient| coefficient.value;
    Coefficients {
        area: m2_from_cm2(file.reference().area_cm2),
        span: m_from_mm(file.reference().span_mm),
        chord: m_from_mm(file.reference().chord_mm),
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

fn is_flown(file: &AirframeFile) -> bool {
    file.flown_apparent_mass() == Flown::FromSurfaces
}

/// Of the surfaces, for any density; none where it is not flown with. The surfaces are checked before.
fn apparent_mass(
    file: &AirframeFile,
    pieces: &Pieces,
    balance: &BuilderPoint,
) -> Option<ApparentMass<f64>> {
    let plates = || {
        let all = surfaces_with(file, &pieces.surfaces.sections);
        all.iter()
            .flat_map(|surface| plates_of(surface, balance))
            .collect::<Vec<_>>()
    };
    is_flown(file).then(|| ApparentMass {
        per_density: matrix(&plates(), 1.0),
    })
}

fn stall_angles(file: &AirframeFile) -> StallAngles {
    StallAngles {
        alpha_stall_rad: rad_from_deg(file.stall().alpha_stall_deg),
        alpha_blend_rad: rad_from_deg(file.stall().alpha_blend_deg),
        beta_stall_rad: rad_from_deg(file.stall().beta_stall_deg),
        beta_blend_rad: rad_from_deg(file.stall().beta_blend_deg),
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

fn motor_of(
    file: &AirframeFile,
    motor: &MotorFile,
    built: &BuiltMotor,
    constants: &MotorConstants,
    tables: &[Vec<PropellerRow>],
    balance: &BuilderPoint,
) -> Motor<f64> {
    let (propeller, rows) = file
        .propellers
        .iter()
        .zip(tables)
        .find(|(propeller, _)| propeller.name == motor.propeller)
        .expect("propeller names are checked before a build");
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
        constant: constants.constant,
        resistance: constants.resistance,
        no_load_current: constants.no_load_current,
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
        propeller: Propeller::from_table(m_from_mm(propeller.diameter_mm), rows, stopped),
        disc: DiscEffects::none(),
    }
}

/// The motor with what its propeller does beside thrust and torque.
fn with_effects(
    file: &AirframeFile,
    motor: &MotorFile,
    built: &BuiltMotor,
    of: Motor<f64>,
    near: &[NearSurface],
) -> Motor<f64> {
    let site = Site {
        place: built.place,
        axis: of.axis,
        diameter_m: of.propeller.diameter,
    };
    let propeller = file
        .propellers
        .iter()
        .find(|propeller| propeller.name == motor.propeller)
        .expect("propeller names are checked before a build");
    Motor {
        disc: disc_effects(file, propeller, &site, near),
        ..of
    }
}

/// C_90: given, or by the aspect ratio of the reference area and span.
pub(crate) fn normal_at_90(file: &AirframeFile) -> f64 {
    let span_m = m_from_mm(file.reference().span_mm);
    let aspect_ratio = span_m * span_m / m2_from_cm2(file.reference().area_cm2);
    file.stall()
        .normal_force_coefficient_at_90_deg
        .unwrap_or_else(|| normal_at_90_of_aspect_ratio(aspect_ratio))
}
