//! Cell, propellers and motors.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use sim_core::power::cell::LITHIUM_POLYMER_V;
use sim_core::power::propeller::STOPPED_DEFAULT;

/// The lithium-polymer cell. Keep to its maker's limits; never charge it unwatched.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Cell {
    /// Free text: how its numbers were measured.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Charge when full, mAh.
    #[serde(rename = "capacity_mAh")]
    pub capacity_mah: f64,
    /// Inner resistance with leads and plug, ohm: the voltage lost under load over the current drawn.
    pub internal_resistance_ohm: f64,
    /// Current of the electronics with the motors off, A.
    #[serde(rename = "electronics_current_A")]
    pub electronics_current_a: f64,
    /// Voltage under load below which the driver takes the power from the motors for good, V. Left out: it never does. A lithium-polymer
    /// cell is ruined below about 3 V.
    #[serde(
        default,
        rename = "cut_off_voltage_V",
        skip_serializing_if = "Option::is_none"
    )]
    pub cut_off_voltage_v: Option<f64>,
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

/// A propeller by its diameter, and exactly one of `table` (thrust and power measured over the advance ratio) and `measured` (what a
/// ruler and a kitchen scale say, from which a table is worked out).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("oneOf" = [{"required": ["table"]}, {"required": ["measured"]}]))]
pub struct Propeller {
    /// Name the motors call it by: letters, digits, - and _.
    pub name: String,
    /// Free text: how its numbers were measured.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// Thrust and power over the advance ratio: the first row at 0, two at least, the ratio rising.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 2))]
    pub table: Option<Vec<PropellerRow>>,
    /// What was measured at home; the table is worked out from it, with a band that `inspect` shows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measured: Option<MeasuredPropeller>,
    /// Area of the blades seen from the side, cm², the mean over a turn: half of all blades' width times the sine of their slant, summed
    /// from hub to tip. Left out: from `measured`, or a usual one for the diameter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub blade_side_area_cm2: Option<f64>,
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

/// What a ruler and a kitchen scale say of a propeller. All of it may be left out; what is left out is assumed and widens the band.
///
/// Weighing the thrust: fix the motor upright on a block heavier than its pull on a kitchen scale, so that the air is blown up and the
/// propeller presses the block down, well above the scale and with nothing within three diameters; set the scale to zero (tare) with
/// everything in place and the motor off; then full throttle for a few seconds, and read the scale with voltage and current. A
/// propeller cuts: guard it or keep fingers, hair and faces out of its plane, wear glasses, unplug the cell before touching anything.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MeasuredPropeller {
    /// Pitch, mm: how far it would screw itself forward in one turn; often printed behind the diameter (inches × 25.4). Left out:
    /// 0.7 of the diameter, give or take a quarter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pitch_mm: Option<f64>,
    /// Number of blades, 1 to 8.
    #[serde(default = "two_blades")]
    #[schemars(range(min = 1, max = 8))]
    pub blades: u32,
    /// Mean width of one blade from hub to tip, mm, measured along the blade's slant. Left out: a usual one for the diameter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mean_chord_mm: Option<f64>,
    /// Thrust of this one propeller at rest at full throttle, mN: the scale's grams times 9.807. Or `static_thrust_g`.
    #[serde(
        default,
        rename = "static_thrust_mN",
        skip_serializing_if = "Option::is_none"
    )]
    pub static_thrust_mn: Option<f64>,
    /// The same as a kitchen scale reads it, g (gram-force: 1 g is 9.80665 mN). Or `static_thrust_mN`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub static_thrust_g: Option<f64>,
    /// Current of this one motor during the weighing, A, without the electronics' own.
    #[serde(
        default,
        rename = "at_current_A",
        skip_serializing_if = "Option::is_none"
    )]
    pub at_current_a: Option<f64>,
    /// Voltage at the motor during the weighing, V; not the cell's at rest.
    #[serde(
        default,
        rename = "at_voltage_V",
        skip_serializing_if = "Option::is_none"
    )]
    pub at_voltage_v: Option<f64>,
    /// Rotor speed during the weighing, rpm: by an optical counter, or by the pitch of the hum (rpm = 60 × hertz / blades).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_rpm: Option<f64>,
}

fn two_blades() -> u32 {
    2
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
///
/// Either all of `speed_constant_rpm_V`, `resistance_ohm` and `no_load_current_A`, or `measured` and those of the three that are known.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("oneOf" = [
    {"required": ["speed_constant_rpm_V", "resistance_ohm", "no_load_current_A"]},
    {"required": ["measured"]}
]))]
pub struct Motor {
    /// Name: letters, digits, - and _.
    pub name: String,
    /// Free text: how its numbers were measured.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Name of its propeller, one of `propellers`.
    pub propeller: String,
    /// Speed constant, rpm per volt without load. Turn it by a drill and measure the voltage.
    #[serde(
        default,
        rename = "speed_constant_rpm_V",
        skip_serializing_if = "Option::is_none"
    )]
    pub speed_constant_rpm_v: Option<f64>,
    /// Winding resistance with its leads and driver, ohm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resistance_ohm: Option<f64>,
    /// Current it draws with no propeller on, A.
    #[serde(
        default,
        rename = "no_load_current_A",
        skip_serializing_if = "Option::is_none"
    )]
    pub no_load_current_a: Option<f64>,
    /// What was measured on the motor; with its propeller's `measured` it fills in those of the three numbers above that are left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measured: Option<MeasuredMotor>,
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

/// What was measured on a motor. May be empty (`{}`) where the propeller's `measured` has thrust or rotor speed, voltage and current.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MeasuredMotor {
    /// Speed without the propeller, rpm, with `no_load_voltage_V`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub no_load_rpm: Option<f64>,
    /// Voltage at the motor at that speed, V.
    #[serde(
        default,
        rename = "no_load_voltage_V",
        skip_serializing_if = "Option::is_none"
    )]
    pub no_load_voltage_v: Option<f64>,
    /// Current with the shaft held fast, A, with `stall_voltage_V`. Take the propeller off, hold the shaft with pliers, a second at
    /// most and at low voltage: a motor held fast burns out soon.
    #[serde(
        default,
        rename = "stall_current_A",
        skip_serializing_if = "Option::is_none"
    )]
    pub stall_current_a: Option<f64>,
    /// Voltage at the motor then, V.
    #[serde(
        default,
        rename = "stall_voltage_V",
        skip_serializing_if = "Option::is_none"
    )]
    pub stall_voltage_v: Option<f64>,
    /// Diameter of the can, mm. Where no current without load is given, it says how large that usually is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub can_diameter_mm: Option<f64>,
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
