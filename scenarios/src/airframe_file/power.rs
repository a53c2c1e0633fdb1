//! Cell, propellers and motors.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use sim_core::power::cell::LITHIUM_POLYMER_V;
use sim_core::power::propeller::STOPPED_DEFAULT;

/// The lithium-polymer cell. Keep to its maker's limits; never charge it unwatched.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Cell {
    /// Charge when full, mAh.
    #[serde(rename = "capacity_mAh")]
    pub capacity_mah: f64,
    /// Inner resistance with leads and plug, ohm: the voltage lost under load over the current drawn.
    pub internal_resistance_ohm: f64,
    /// Current of the electronics with the motors off, A.
    #[serde(rename = "electronics_current_A")]
    pub electronics_current_a: f64,
    /// Voltage without load over the charge left, from 0 to 1. Left out: a usual table of one lithium-polymer cell.
    #[serde(default = "lithium_polymer")]
    pub open_circuit_voltage: Vec<ChargeVoltage>,
}

/// One row of a cell's table.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChargeVoltage {
    /// Charge left, 0 (empty) to 1 (full).
    pub charge_fraction: f64,
    /// Voltage without load, V.
    #[serde(rename = "voltage_V")]
    pub voltage_v: f64,
}

fn lithium_polymer() -> Vec<ChargeVoltage> {
    LITHIUM_POLYMER_V
        .iter()
        .map(|&(charge_fraction, voltage_v)| ChargeVoltage {
            charge_fraction,
            voltage_v,
        })
        .collect()
}

/// A propeller by its diameter and its measured table.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Propeller {
    /// Name the motors call it by: letters, digits, - and _.
    pub name: String,
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// Thrust and power over the advance ratio: the first row at 0, two at least, the ratio rising.
    #[schemars(length(min = 2))]
    pub table: Vec<PropellerRow>,
    /// Drag of the stopped propeller in axial flow over (density × airspeed² × diameter²).
    #[serde(default = "stopped_thrust")]
    pub stopped_thrust_coefficient: f64,
    /// Torque of the stopped propeller in axial flow over (density × airspeed² × diameter³).
    #[serde(default = "stopped_torque")]
    pub stopped_torque_coefficient: f64,
}

fn stopped_thrust() -> f64 {
    STOPPED_DEFAULT.0
}

fn stopped_torque() -> f64 {
    STOPPED_DEFAULT.1
}

/// One row of a propeller's table.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PropellerRow {
    /// Axial speed over (revolutions per second × diameter).
    pub advance_ratio: f64,
    /// Thrust over (density × revolutions per second² × diameter⁴).
    pub thrust_coefficient: f64,
    /// Shaft power over (density × revolutions per second³ × diameter⁵).
    pub power_coefficient: f64,
}

/// A brushed motor, its propeller, and where and which way it pulls. A propeller cuts: keep fingers and faces out of its plane.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Motor {
    /// Name: letters, digits, - and _.
    pub name: String,
    /// Name of its propeller, one of `propellers`.
    pub propeller: String,
    /// Speed constant, rpm per volt without load. Turn it by a drill and measure the voltage.
    #[serde(rename = "speed_constant_rpm_V")]
    pub speed_constant_rpm_v: f64,
    /// Winding resistance with its leads and driver, ohm.
    pub resistance_ohm: f64,
    /// Current it draws with no propeller on, A.
    #[serde(rename = "no_load_current_A")]
    pub no_load_current_a: f64,
    /// Inertia of rotor and propeller about the shaft, g mm².
    pub rotor_inertia_g_mm2: f64,
    /// Which way it turns, seen from behind.
    pub spin: Spin,
    /// Elevation of the thrust over the reference line, deg: positive pulls the aircraft upwards, so the propeller blows its air
    /// backwards and down.
    #[serde(default)]
    pub thrust_elevation_deg: f64,
    /// Turn of the thrust away from the centre line, deg: positive pulls outwards, so the propeller blows its air backwards and
    /// inwards. Motors off the centre line only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("default" = 0.0))]
    pub thrust_toe_deg: Option<f64>,
    /// Turn of the thrust to the right, deg: the propeller blows its air backwards and to the left. Motors on the centre line only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("default" = 0.0))]
    pub thrust_right_deg: Option<f64>,
    /// Where the middle of the propeller disc is.
    pub mount: Mount,
}

/// Which way a rotor turns, seen from behind.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Spin {
    /// Clockwise seen from behind.
    Clockwise,
    /// Counterclockwise seen from behind.
    Counterclockwise,
}

/// Where the middle of a propeller disc is: a fixed place, or an offset from the part that carries the motor.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("oneOf" = [
    {"required": ["station_mm", "right_mm", "up_mm"]},
    {"required": ["carried_by", "station_from_carrier_mm", "right_from_carrier_mm", "up_from_carrier_mm"]}
]))]
pub struct Mount {
    /// Aft of the nose datum, mm. Fixed mounts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub station_mm: Option<f64>,
    /// Right of the centre line, mm. Fixed mounts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub right_mm: Option<f64>,
    /// Up from the reference line, mm. Fixed mounts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub up_mm: Option<f64>,
    /// Name of the part that carries the motor, one of `mass.parts`: moving the part moves mass and thrust together.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub carried_by: Option<String>,
    /// Aft of the carrier's centroid, mm. Carried mounts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub station_from_carrier_mm: Option<f64>,
    /// Right of the carrier's centroid, mm. Carried mounts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub right_from_carrier_mm: Option<f64>,
    /// Up from the carrier's centroid, mm. Carried mounts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub up_from_carrier_mm: Option<f64>,
}
