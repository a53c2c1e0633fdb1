"""The lean configuration in numbers: what every solver of the comparison is given.

Reads lean-airframe.json, lean.json and throws.csv. Mass properties, plates and propeller curves come from the independent scripts
(tests/independent), which were written from MODEL.md alone; the right-hand sides are written out in each solver's own file.

The lean airframe is symmetric, its thrust lines lie in planes parallel to the plane of symmetry, and the throttle steps upwards only. So
terms that are exactly zero are left out of the right-hand sides (products of inertia xy and yz, y of the reference point and of the
thrust axes), and so is the driver's max(0, ...) of the motor current, which never acts in these throws (make_reference.py refuses
throws in which it would). `constants` raises where the first does not hold.

State, 16 numbers: position 3, quaternion 4, body velocity 3, body rates 3, rotor speeds 2, charge (MODEL.md section 2).
"""

import csv
import json
import os
import sys
from math import cos, pi, radians, sin
from pathlib import Path
from types import SimpleNamespace

import numpy as np

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parents[1] / "tests" / "independent"))

from airframe import COEFFICIENTS, Airframe  # noqa: E402
from airframe_file import TAB_EFFECTS  # noqa: E402

END_S = 10.0
STATES = 16


def read(name):
    return json.loads((HERE / name).read_text(encoding="utf-8"))


def table_of(data):
    """Coefficients, tabs, stall and reference in the form the independent scripts read."""
    def value(entry):
        return entry["value"] if isinstance(entry, dict) else entry

    given = {name: value(data["coefficients"].get(name, 0.0)) for name in COEFFICIENTS}
    tabs = {tab["name"]: {effect: value(tab.get(effect, 0.0)) for effect in TAB_EFFECTS} for tab in data["tabs"]}
    return {"reference": data["reference"], "coefficients": given, "tabs": tabs, "stall": data["stall"]}


def independent_airframe():
    data = read("lean-airframe.json")
    return Airframe(data, table_of(data))


def constants():
    """All constants of the lean right-hand side, SI, as one namespace of floats (and the arrays of the propeller's spline)."""
    a = independent_airframe()
    (ixx, ixy, ixz), (_, iyy, iyz), (_, _, izz) = ([x for x in row] for row in a.inertia)
    left, right = a.motors
    zeros = (ixy, iyz, a.r_ref[1], left.axis[1], right.axis[1], left.r[1] + right.r[1], left.r[0] - right.r[0], left.r[2] - right.r[2],
             left.axis[0] - right.axis[0], left.spin + right.spin, a.side_zero, a.roll_zero, a.yaw_zero,
             a.lift_alpha_rate_per_rad, a.pitch_alpha_rate_per_rad)
    if max(map(abs, zeros)) > 1e-15 or left.spin != 1.0 or a.apparent.any():
        raise SystemExit("lean-airframe.json: not the symmetric airframe the lean right-hand sides are written for")
    k = SimpleNamespace()
    k.mass, k.ixx, k.iyy, k.izz, k.ixz_product = a.mass, ixx, iyy, izz, -ixz  # ixz_product is +int xz dm
    k.area, k.span, k.chord = a.area, a.span, a.chord
    k.ref_x, k.ref_z = a.r_ref[0], a.r_ref[2]
    # 5.1 with the tab's setting folded in
    [(_, delta, (e_lift, e_pitch, e_side, e_roll, e_yaw, e_drag))] = a.tabs
    if e_side or e_roll or e_yaw:
        raise SystemExit("lean-airframe.json: the tab must be symmetric")
    k.lift_zero, k.lift_alpha, k.lift_q = a.lift_zero + e_lift * delta, a.lift_alpha_per_rad, a.lift_q_per_rad
    k.drag_zero, k.drag_factor, k.lift_at_min_drag = a.drag_min + e_drag * delta * delta, a.drag_factor, a.lift_at_min_drag
    k.drag_min = a.drag_min
    k.pitch_zero, k.pitch_alpha, k.pitch_q = a.pitch_zero + e_pitch * delta, a.pitch_alpha_per_rad, a.pitch_q_per_rad
    k.side_beta, k.side_p, k.side_r = a.side_beta_per_rad, a.side_p_per_rad, a.side_r_per_rad
    k.roll_beta, k.roll_p, k.roll_r = a.roll_beta_per_rad, a.roll_p_per_rad, a.roll_r_per_rad
    k.yaw_beta, k.yaw_p, k.yaw_r = a.yaw_beta_per_rad, a.yaw_p_per_rad, a.yaw_r_per_rad
    # 5.3
    k.alpha_stall, k.alpha_blend, k.beta_stall, k.beta_blend, k.c_90 = a.alpha_stall, a.alpha_blend, a.beta_stall, a.beta_blend, a.c_90
    p = a.plates
    k.level_area, k.upright_area = p.level.area, p.upright.area
    # arm = base - chord * shift, with shift = (1 - cos alpha cos beta)/4
    k.level_x, k.level_chord, k.level_z = a.balance[0] - p.level.station, p.level.chord, a.balance[2] - p.level.up
    k.upright_x, k.upright_chord, k.upright_z = a.balance[0] - p.upright.station, p.upright.chord, a.balance[2] - p.upright.up
    for name in ("j2_xh", "j2_xv", "j2_y", "j2_z", "j3_x", "j3_y", "j3_z"):
        setattr(k, name, float(getattr(p, name)))
    # 6
    cell = a.cell
    k.capacity, k.cell_resistance, k.electronics = cell.capacity, cell.resistance, cell.electronics
    # the cell stays above nine tenths of its charge: one cubic in z
    k.cell_z0, k.cell_cubic = cell.open_circuit.x[-2], list(cell.open_circuit.c[-1])  # highest power first
    k.motor_k, k.motor_resistance, k.no_load = right.k, right.resistance, right.no_load_current
    k.rotor_inertia, k.diameter = right.inertia, right.diameter
    k.axis_x, k.axis_z = right.axis[0], right.axis[2]
    k.disc_x, k.disc_y, k.disc_z = right.r  # of the right motor; the left one stands at -disc_y
    k.knots = np.array(right.thrust_curve.x)
    k.thrust_pieces, k.torque_pieces = np.array(right.thrust_curve.c), np.array(right.torque_curve.c)  # highest power first
    scenario = read("lean.json")
    k.temperature = scenario["air"].get("temperature_C", 15.0) + 273.15
    k.pressure = 100.0 * scenario["air"].get("pressure_hPa", 1013.25)
    k.throttle_at_release = scenario["pilot"]["throttle"]["at_release_fraction"]
    return SimpleNamespace(**{name: float(x) if np.isscalar(x) else x for name, x in vars(k).items()})


# MODEL.md section 3 and 4.1
GRAVITY, GAS_CONSTANT, LAPSE, EARTH_RADIUS = 9.80665, 287.05287, -0.0065, 6356766.0
DENSITY_EXPONENT = -GRAVITY / (LAPSE * GAS_CONSTANT) - 1.0


def throws():
    """Rows of throws.csv as a dictionary of columns."""
    with open(HERE / "throws.csv", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    limit = int(os.environ.get("SIDE_BY_SIDE_THROWS", len(rows)))
    return {name: np.array([float(row[name]) for row in rows[:limit]]) for name in rows[0]}


def launch_states(columns):
    """Launch states (n, 16) of MODEL.md section 8."""
    launch = read("lean.json")["launch"]
    above = radians(launch["nose_above_path_deg"])
    states = np.zeros((len(columns["throw"]), STATES))
    for i, y in enumerate(states):
        heading, climb, bank = (radians(columns[name][i]) for name in ("heading_deg", "path_angle_deg", "bank_deg"))
        q = np.array([1.0, 0.0, 0.0, 0.0])
        for angle, axis in ((heading, 3), (climb, 2), (above, 2), (bank, 1)):
            turn = np.zeros(4)
            turn[0], turn[axis] = cos(angle / 2), sin(angle / 2)
            (a0, a1, a2, a3), (b0, b1, b2, b3) = q, turn
            q = np.array([a0 * b0 - a1 * b1 - a2 * b2 - a3 * b3, a0 * b1 + a1 * b0 + a2 * b3 - a3 * b2,
                          a0 * b2 - a1 * b3 + a2 * b0 + a3 * b1, a0 * b3 + a1 * b2 - a2 * b1 + a3 * b0])
        speed = columns["release_speed_m_s"][i]
        # body velocity: the path turned back by nose above path, then bank
        v = speed * cos(above), 0.0, speed * sin(above)
        y[2], y[3:7] = -launch["release_height_m"], q
        y[7:10] = v[0], v[2] * sin(bank), v[2] * cos(bank)
        y[13:15] = columns["left_rotor_speed_rpm"][i] * 2 * pi / 60, columns["right_rotor_speed_rpm"][i] * 2 * pi / 60
    return states


def segments(columns):
    """Cuts in time: (n, 5) bounds, (n, 4) throttle and (n, 4) whether the gust is on, of the four segments of each throw."""
    step, start = columns["step_time_s"], columns["gust_start_s"]
    stop = start + columns["gust_duration_s"]
    n = len(step)
    bounds = np.sort(np.column_stack([np.zeros(n), step, start, stop, np.full(n, END_S)]), axis=1)
    middle = 0.5 * (bounds[:, :-1] + bounds[:, 1:])
    throttle = np.where(middle > step[:, None], columns["step_to_fraction"][:, None], constants().throttle_at_release)
    gust_on = ((middle > start[:, None]) & (middle < stop[:, None])).astype(float)
    return bounds, throttle, gust_on


def gust_velocities(columns):
    """G of section 4.3 in earth axes, (n, 3)."""
    direction = np.radians(columns["gust_from_deg"])
    speed = columns["gust_speed_m_s"]
    return np.column_stack([-speed * np.cos(direction), -speed * np.sin(direction), -columns["gust_up_m_s"]])


def reference():
    """Final positions (n, 3) of reference.csv, m."""
    with open(HERE / "reference.csv", encoding="utf-8") as file:
        rows = [[float(row[f"position_{axis}_m"]) for axis in ("north", "east", "down")] for row in csv.DictReader(file)]
    limit = int(os.environ.get("SIDE_BY_SIDE_THROWS", len(rows)))
    return np.array(rows[:limit])


def errors_m(final_positions):
    """Median, 99th percentile and worst distance (m) of final positions from the reference; a throw that failed counts as infinitely far."""
    distance = np.sqrt(((np.asarray(final_positions) - reference()) ** 2).sum(axis=1))
    distance = np.sort(np.where(np.isfinite(distance), distance, np.inf))
    at_99 = distance[min(len(distance) - 1, int(np.ceil(0.99 * len(distance))) - 1)]
    return float(np.median(distance)), float(at_99), float(distance[-1])
