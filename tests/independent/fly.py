"""Fly a hand-launched glider from the written model alone: an independent check of Tossline.

This script was written from the model description (MODEL.md) and the file formats only, without reading Tossline's code.
It shares nothing with it: the equations are typed again, the interpolation is SciPy's, the quadrature NumPy's, and the
integrator SciPy's DOP853 at rtol = atol = 1e-12, restarted at every discontinuity. Where this script and Tossline differ,
one of the three (description, program, this script) has a defect.

The modules beside it can be read beside the description; the section numbers in the docstrings are MODEL.md's:

    vectors.py              1         vectors and rotations
    airframe_file.py        12        overrides, outlines from drawings
    parts.py                3.1       mass, balance point, inertia
    surfaces.py             5.3, 12   panels, plates and their damping
    airframe.py             5         forces and moments of the air, outermost points
    apparent_mass.py        19        matrix of the apparent mass
    air.py, turbulence.py   4         density, wind, gusts, turbulence
    power.py                6.1-6.4   cell, propeller, motor
    propeller_effects.py    6.5-6.7   disc at incidence, wash, suction
    control.py              7         programmes, slew limits, holding pilot, rate damper, power cut
    grounds.py              9, 9.1    ground, walls, hall
    fly.py                  2, 3, 8, 9  the flight

All quantities inside are SI and radians; vectors are lists of three floats, rotations three rows.

One thing is taken over: coefficients, tabs' effects, stall and reference, which Tossline may estimate from the outlines by a
vortex lattice (sections 16 to 20). The script has no lattice; it reads the numbers each scenario is flown with, after overrides
and estimate, from tables.json beside it, in place of the airframe file's. So it is a check of the flight, not of the estimate.
Masses, outlines (with their drawings), motors, propellers, cell, launch, air and pilot come from the files themselves.

Of an SVG drawing it reads closed paths of straight lines (M L H V Z and their lower case), polygons and rectangles without
transforms; whatever else an outline may be drawn with it refuses.

Run:    python fly.py SCENARIO.json [SCENARIO.json ...] --out FILE.json [--tables FILE.json]
Needs:  NumPy and SciPy.
Writes: for each scenario its name, how and when the flight ended, the state at the end, the states at t = 0, 0.5, 1.0, ... s,
        and the mass, balance point and inertia found. Prints a short table.
"""

import argparse
import json
import sys
from math import cos, pi, radians, sin, sqrt
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, fsolve

from air import G0, Air
from airframe import Airframe
from airframe_file import apply_overrides, read_drawings
from control import SAME_CUT_S, Controls
from grounds import Grounds
from vectors import add, cross, dot, euler_deg, quaternion_product, rotation, scale, times, transposed_times

TOLERANCE = 1e-12  # relative and absolute, each state in its SI unit
LARGEST_STEP_S = 0.02
SAMPLE_INTERVAL_S = 0.5


class Flight:
    """One scenario: launch state, right-hand side, segments, events."""

    def __init__(self, path, tables):
        scenario = json.loads(Path(path).read_text(encoding="utf-8"))
        airframe_file = Path(path).parent / scenario["airframe"]
        data = json.loads(airframe_file.read_text(encoding="utf-8"))
        apply_overrides(scenario, data)
        read_drawings(data, airframe_file.parent)
        self.name = scenario["name"]
        if self.name not in tables:
            raise SystemExit(f"{path}: no coefficients for {self.name!r} in the tables")
        self.airframe = airframe = Airframe(data, tables[self.name])
        self.launch = scenario["launch"]
        self.air = Air(scenario.get("air", {}), self.launch, airframe.span)
        self.controls = Controls(scenario.get("pilot", {}), data.get("damper", {}), airframe.tabs, [motor.right for motor in airframe.motors])
        self.grounds = Grounds(scenario.get("site", {}), self.launch, airframe)
        self.time_limit = scenario["end"]["time_limit_s"]

    def reference_point(self, y):
        return add(y[0:3], times(rotation(y[3:7]), self.airframe.r_ref))

    # --- section 3
    def rates(self, t, y):
        """Time derivative of the 16 states."""
        airframe, air = self.airframe, self.air
        y = y.tolist() if isinstance(y, np.ndarray) else list(y)
        position, attitude, v, omega, rotors, charge = y[0:3], y[3:7], y[7:10], y[10:13], y[13:15], y[15]
        rows = rotation(attitude)
        density = air.density(-position[2])
        # section 4.4
        r_ref = airframe.r_ref
        place, at_reference = add(position, times(rows, r_ref)), add(v, cross(omega, r_ref))
        felt = air.at(t, place)
        wind_body = transposed_times(rows, felt.velocity)
        air_velocity = [at_reference[i] - wind_body[i] for i in range(3)]
        way = times(rows, at_reference)
        carried, air_rates, rate_change = felt.change, omega, [0.0, 0.0, 0.0]
        if felt.gradient is not None:
            carried = add(carried, times(felt.gradient, way))
            air_rates = add(omega, gradient_rates(turned(rows, felt.roll), turned(rows, felt.turn)))
            rate_change = self.change_of_gradient_rates(t, place, way, rows, omega, felt)
        # how the velocity relative to the air changes besides by the accelerations (5.2, 5.4)
        velocity_change = add(cross(omega, wind_body), scale(-1.0, transposed_times(rows, carried)))
        ground_share = 0.0
        if self.grounds.ground_effect:
            level = position[2] + times(rows, airframe.r_ground)[2]
            ground_share = airframe.ground_share(-level - self.grounds.ground_height)
        force, moment, rate_force, rate_moment, ca, sa, attached = airframe.aerodynamics(
            density, air_velocity, air_rates, self.controls.tabs(t), ground_share)
        # section 6
        rotor_rates, current = [0.0, 0.0], 0.0
        spin_momentum = [0.0, 0.0, 0.0]
        if airframe.motors:
            motors, duties = airframe.motors, self.controls.duties(t)
            _, currents, current = airframe.cell.solve(charge, motors, duties, rotors)
            thrusts = []
            for i, motor in enumerate(motors):
                disc = add(v, cross(omega, motor.r), scale(-1.0, wind_body))
                thrust, air_torque = motor.propeller(density, dot(motor.axis, disc), rotors[i])
                thrusts.append(thrust)
                rotor_rates[i] = (motor.torque(currents[i], rotors[i]) - air_torque) / motor.inertia
                push = scale(thrust, motor.axis)
                force = add(force, push)
                # air torque on the propeller, and the rotor's own acceleration (section 3)
                twist = -motor.spin * (air_torque + motor.inertia * rotor_rates[i])
                moment = add(moment, cross(motor.r, push), scale(twist, motor.axis))
                spin_momentum = add(spin_momentum, scale(motor.spin * motor.inertia * rotors[i], motor.axis))
            more_force, more_moment = airframe.effects.forces(density, attached, motors, thrusts, v, omega, wind_body)
            force, moment = add(force, more_force), add(moment, more_moment)
        # sections 3 and 5.4
        m = airframe.mass
        force = add(force, scale(m * G0, rows[2]), scale(m, cross(v, omega)))
        momentum = add(times(airframe.inertia, omega), spin_momentum)
        moment = add(moment, cross(momentum, omega))
        apparent = density * airframe.apparent
        loads = np.array([[*force, *moment], [*rate_force, *rate_moment]]).T
        loads[:, 0] -= apparent @ [*velocity_change, *rate_change]
        rates, per_sigma = np.linalg.solve(airframe.own + apparent, loads).T
        # section 5.2
        if airframe.lift_alpha_rate_per_rad or airframe.pitch_alpha_rate_per_rad:
            def across(a, turn):
                a = add(a, cross(turn, r_ref))
                return ca * a[2] - sa * a[0]

            sigma = across(add(velocity_change, rates[:3]), rates[3:]) / (1 - across(per_sigma[:3], per_sigma[3:]))
            rates = rates + sigma * per_sigma
        q_dot = [0.5 * part for part in quaternion_product(attitude, [0.0, *omega])]
        return [*times(rows, v), *q_dot, *rates.tolist(), *rotor_rates, current]

    def change_of_gradient_rates(self, t, place, way, rows, omega, felt):
        """n of the rates in section 5.4."""
        turning = np.array([[0.0, -omega[2], omega[1]], [omega[2], 0.0, -omega[0]], [-omega[1], omega[0], 0.0]])
        changes = []
        for gradient, change in zip((felt.roll, felt.turn), self.air.gradient_rate(t, place, way)):
            body = turned(rows, gradient)
            changes.append(turned(rows, change) + body @ turning - turning @ body)
        return gradient_rates(*changes)

    # --- section 8
    def launch_state(self):
        launch = self.launch
        heading, climb, right, above, bank = (radians(launch.get(name, 0.0)) for name in (
            "heading_deg", "path_angle_deg", "nose_right_of_path_deg", "nose_above_path_deg", "bank_deg"))
        q = [1.0, 0.0, 0.0, 0.0]
        for angle, axis in ((heading, 3), (climb, 2), (right, 3), (above, 2), (bank, 1)):
            turn = [cos(angle / 2), 0.0, 0.0, 0.0]
            turn[axis] = sin(angle / 2)
            q = quaternion_product(q, turn)
        speed = launch["release_speed_m_s"]
        ground = [speed * cos(climb) * cos(heading), speed * cos(climb) * sin(heading), -speed * sin(climb)]
        v = transposed_times(rotation(q), ground)
        rates = [radians(launch.get(f"{axis}_rate_deg_s", 0.0)) for axis in ("roll", "pitch", "yaw")]
        cell = self.airframe.cell
        charge = (1 - launch.get("charge_fraction", 1.0)) * cell.capacity if cell else 0.0
        y = [0.0, 0.0, -float(launch["release_height_m"]), *q, *v, *rates, 0.0, 0.0, charge]
        self.settle_zones(0.0, y)
        self.gusts_at(0.0, 0.0)
        self.controls.cut(0.0, y)
        given = launch.get("rotor_speed_rpm")
        rotors = [speed * 2 * pi / 60 for speed in given] if given is not None else self.steady_rotors(y)
        y[13:13 + len(rotors)] = rotors
        return y

    def steady_rotors(self, y):
        """Rotor speeds with no acceleration at release: rotors by bisection at given voltage, the voltage by an outer one."""
        airframe = self.airframe
        motors, cell, duties = airframe.motors, airframe.cell, self.controls.duties(0.0)
        if not motors:
            return []
        rows, v, omega, charge = rotation(y[3:7]), y[7:10], y[10:13], y[15]
        wind_body = transposed_times(rows, self.air.at(0.0, self.reference_point(y)).velocity)
        density = self.air.density(-y[2])
        axial = [dot(m.axis, add(v, cross(omega, m.r), scale(-1.0, wind_body))) for m in motors]

        def excess(i, voltage, speed):
            m = motors[i]
            return m.torque(m.current(duties[i], voltage, speed), speed) - m.propeller(density, axial[i], speed)[1]

        def rotor_at(i, voltage):
            if excess(i, voltage, 0.0) <= 0.0:
                return 0.0
            high = 100.0
            while excess(i, voltage, high) > 0.0:
                high *= 2.0
            grid = [high * j / 400 for j in range(1, 401)]
            signs = [excess(i, voltage, speed) > 0.0 for speed in grid]
            if sum(a != b for a, b in zip([True] + signs, signs)) != 1:
                print(f"warning: {self.name}: motor {i + 1} has more than one steady speed at release", file=sys.stderr)
            return brentq(lambda speed: excess(i, voltage, speed), 0.0, high, xtol=1e-13, rtol=1e-15)

        def too_high(voltage):
            drawn = sum(duties[i] * m.current(duties[i], voltage, rotor_at(i, voltage)) for i, m in enumerate(motors))
            return voltage - cell.open_circuit(1 - charge / cell.capacity) + cell.resistance * (cell.electronics + drawn)

        top = cell.open_circuit(1 - charge / cell.capacity)
        voltage = brentq(too_high, 0.0, top + 1e-9, xtol=1e-13, rtol=1e-15)
        speeds = [rotor_at(i, voltage) for i in range(len(motors))]
        if any(speed == 0.0 for speed in speeds):
            return speeds

        def together(guess):
            terminal = cell.solve(charge, motors, duties, guess.tolist())[0]
            return [excess(i, terminal, guess[i]) / (m.k * 1e-3) for i, m in enumerate(motors)]

        polished = fsolve(together, speeds, xtol=1e-14)
        return polished.tolist() if np.allclose(polished, speeds, rtol=1e-8) else speeds

    # --- section 9
    def terminal_voltage(self, t, y):
        return self.airframe.cell.solve(y[15], self.airframe.motors, self.controls.duties(t), y[13:15])[0]

    def gust_edges(self):
        return [edge for gust in self.air.gusts if not gust.by_place for edge in (gust.start, gust.start + gust.length)]

    def gusts_at(self, start, end):
        """Choose the gusts that are on in a segment."""
        middle = 0.5 * (start + end)
        self.air.active = [g for g in self.air.gusts if (g.zone == 0 if g.by_place else g.start <= middle <= g.start + g.length)]

    def settle_zones(self, t, y, but=None):
        """Put each gust by place in the zone its xi says, except one whose edge was just crossed."""
        for gust in self.air.gusts:
            if gust.by_place and gust is not but:
                xi = self.air.gust_place(gust, t, self.reference_point(y))
                gust.zone = -1 if xi < gust.start else 0 if xi <= gust.start + gust.length else 1

    def events(self):
        """(kind, gust or None, zone after, function of (t, y), direction) for all that may end a segment inside."""
        airframe = self.airframe
        found = [(kind, None, 0, function, -1) for kind, function in self.grounds.events()]
        if airframe.cell:
            found.append(("cell empty", None, 0, lambda t, y: 1 - y[15] / airframe.cell.capacity, -1))
            if airframe.cell.cut_off is not None and self.controls.power:
                found.append(("cut-off", None, 0, lambda t, y: self.terminal_voltage(t, y) - airframe.cell.cut_off, -1))
        for gust in self.air.gusts:
            if gust.by_place:
                start, end = gust.start, gust.start + gust.length
                for zone, edge, after, direction in ((-1, start, 0, 1), (0, start, -1, -1), (0, end, 1, 1), (1, end, 0, -1)):
                    if zone == gust.zone:
                        found.append(("gust edge", gust, after,
                                      lambda t, y, g=gust, e=edge: self.air.gust_place(g, t, self.reference_point(y)) - e, direction))
        return found

    def integrate(self, start, y, end, events=()):
        functions = []
        for _, _, _, function, direction in events:
            def wrapped(t, state, f=function):
                return f(t, state.tolist())
            wrapped.terminal, wrapped.direction = True, direction
            functions.append(wrapped)
        result = solve_ivp(self.rates, (start, end), np.array(y), method="DOP853", rtol=TOLERANCE, atol=TOLERANCE,
                           max_step=LARGEST_STEP_S, events=functions or None)
        if result.status < 0:
            raise SystemExit(f"{self.name}: the integration failed at {result.t[-1]} s: {result.message}")
        return result

    def fly(self):
        """End kind, end time, end state and samples [(time, state)]."""
        t, y = 0.0, self.launch_state()
        samples = [(t, list(y))]
        edges = self.gust_edges()
        while t < self.time_limit - SAME_CUT_S:
            self.controls.cut(t, y)
            cell = self.airframe.cell
            if cell and cell.cut_off is not None and self.controls.power and self.terminal_voltage(t, y) < cell.cut_off:
                self.controls.take_power()
                self.controls.lines(t)
            sample = SAMPLE_INTERVAL_S * (int((t + SAME_CUT_S) / SAMPLE_INTERVAL_S) + 1)
            end = min([self.controls.next_cut(t), sample, self.time_limit, *(edge for edge in edges if edge > t + SAME_CUT_S)])
            self.gusts_at(t, end)
            events = self.events()
            result = self.integrate(t, y, end, events)
            if result.status == 0:
                t, y = end, result.y[:, -1].tolist()
                if abs(t - sample) <= SAME_CUT_S:
                    samples.append((t, list(y)))
                continue
            hit = next(i for i, found in enumerate(result.t_events) if len(found))
            kind, gust, after, function, _ = events[hit]
            before, state = result.t[-2], result.y[:, -2]
            t, y = self.refine(before, state, result.t[-1], function)
            if kind == "cut-off":
                self.controls.take_power()
            elif gust is None:
                return kind, t, y, samples
            else:
                gust.zone = after
                self.settle_zones(t, y, but=gust)
        return "time limit", t, y, samples

    def refine(self, before, state, root, function):
        """Integrate the last step again up to a root found on the dense output, after one Newton step on its time."""
        def reach(time):
            return self.integrate(before, state, time).y[:, -1].tolist() if time > before else state.tolist()

        y, h = reach(root), 1e-6
        rate = (function(root + h, add_scaled(y, h, self.rates(root, y))) - function(root, y)) / h
        better = root - function(root, y) / rate if rate != 0.0 else root
        if not before <= better or abs(better - root) > 1e-6:
            return root, y
        return better, reach(better)


def add_scaled(y, h, slope):
    return [a + h * b for a, b in zip(y, slope)]


def turned(rows, gradient):
    """A gradient in earth axes turned into body axes."""
    rows = np.array(rows)
    return rows.T @ np.array(gradient) @ rows


def gradient_rates(roll, turn):
    """What a gradient in body axes adds to the rates (section 4.4): its part felt in roll, and in pitch and yaw."""
    return [-float(roll[2][1]), float(turn[2][0]), -float(turn[1][0])]


def state_record(t, y, motors):
    norm = sqrt(sum(part * part for part in y[3:7]))
    return {"time_s": t, "position_m": y[0:3], "attitude": [part / norm for part in y[3:7]], "velocity_body_m_s": y[7:10],
            "rates_rad_s": y[10:13], "rotor_speed_rad_s": y[13:13 + motors], "charge_C": y[15], "attitude_norm": norm}


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("scenarios", nargs="+", help="scenario files")
    parser.add_argument("--out", required=True, help="file to write")
    parser.add_argument("--tables", default=Path(__file__).with_name("tables.json"), type=Path,
                        help="coefficients, tabs' effects, stall and reference by scenario (default: tables.json beside the script)")
    arguments = parser.parse_args()
    tables = json.loads(arguments.tables.read_text(encoding="utf-8"))
    results = []
    print(f"{'scenario':32} {'end':10} {'t s':>9} {'north m':>11} {'east m':>11} {'down m':>10} {'roll':>8} {'pitch':>8} {'yaw':>8} {'m/s':>7}")
    for path in arguments.scenarios:
        flight = Flight(path, tables)
        kind, t, y, samples = flight.fly()
        airframe = flight.airframe
        motors = len(airframe.motors)
        results.append({"file": Path(path).name, "name": flight.name, "end": kind, "end_time_s": t,
                        "state": state_record(t, y, motors), "samples": [state_record(*sample, motors) for sample in samples],
                        "mass_kg": airframe.mass, "balance_m": airframe.balance.tolist(), "inertia_kg_m2": airframe.inertia})
        roll, pitch, yaw = euler_deg(y[3:7])
        print(f"{flight.name:32} {kind:10} {t:9.5f} {y[0]:11.6f} {y[1]:11.6f} {y[2]:10.6f} {roll:8.3f} {pitch:8.3f} {yaw:8.3f} "
              f"{sqrt(dot(y[7:10], y[7:10])):7.3f}", flush=True)
    Path(arguments.out).write_text(json.dumps({"scenarios": results}, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
