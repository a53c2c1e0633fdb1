"""Sections 6.1 to 6.4: cell, propeller, motor and interpolation."""

from bisect import bisect_right
from math import asinh, atan2, cos, pi, radians, sin, tanh

import numpy as np
from scipy.interpolate import PchipInterpolator

from parts import BUILDER_TO_BODY, place

FRICTION_SPEED = 20.0  # rad/s, section 6.3
DEFAULT_CELL = [(0.0, 3.27), (0.1, 3.69), (0.2, 3.73), (0.3, 3.77), (0.4, 3.80), (0.5, 3.84), (0.6, 3.87), (0.7, 3.95),
                (0.8, 4.02), (0.9, 4.11), (1.0, 4.20)]


class Curve:
    """Monotone cubic interpolation (section 6.4): SciPy's PCHIP, evaluated for one float at a time."""

    def __init__(self, x, y):
        pchip = PchipInterpolator(x, y)
        self.x, self.c = pchip.x.tolist(), pchip.c.T.tolist()

    def __call__(self, x):
        i = min(max(bisect_right(self.x, x) - 1, 0), len(self.c) - 1)
        c3, c2, c1, c0 = self.c[i]
        s = x - self.x[i]
        return ((c3 * s + c2) * s + c1) * s + c0


class Motor:
    """Motor, rotor and propeller with their place on the airframe."""

    def __init__(self, entry, propellers, centroids, balance):
        mount = entry["mount"]
        if "carried_by" in mount:
            offset = [mount.get(f"{axis}_from_carrier_mm", 0.0) for axis in ("station", "right", "up")]
            at = centroids[mount["carried_by"]] + 1e-3 * np.array(offset)
        else:
            at = place(mount)
        self.right = at[1]
        self.r = (BUILDER_TO_BODY @ (at - balance)).tolist()
        side = -1.0 if at[1] < 0.0 else 1.0
        elevation = radians(entry.get("thrust_elevation_deg", 0.0))
        toe = radians(entry.get("thrust_right_deg", 0.0) if at[1] == 0.0 else entry.get("thrust_toe_deg", 0.0))
        self.axis = [cos(elevation) * cos(toe), side * cos(elevation) * sin(toe), -sin(elevation)]
        self.spin = 1.0 if entry["spin"] == "clockwise" else -1.0
        propeller = next(p for p in propellers if p["name"] == entry["propeller"])
        if "measured" in entry or "measured" in propeller:
            raise SystemExit("motors and propellers from measurements (section 21) are not read by this script")
        self.k = 60 / (2 * pi * entry["speed_constant_rpm_V"])
        self.resistance, self.no_load_current = entry["resistance_ohm"], entry["no_load_current_A"]
        self.inertia = 1e-9 * entry["rotor_inertia_g_mm2"]
        self.diameter = 1e-3 * propeller["diameter_mm"]
        table = [(row["advance_ratio"], row["thrust_coefficient"], row["power_coefficient"]) for row in propeller["table"]]
        # 6.5: blades seen from the side; defaults of 21.1
        pitch = 0.7 * self.diameter
        chord = self.diameter * min(0.125, max(0.085, 0.125 - 0.04 * (self.diameter - 0.075) / 0.025))
        hub, tip = (asinh(pi * self.diameter * x / pitch) for x in (0.15, 1.0))
        self.side_area = chord * pitch / (2 * pi) * (tip - hub)  # two blades
        if "blade_side_area_cm2" in propeller:
            self.side_area = 1e-4 * propeller["blade_side_area_cm2"]
        k_t, k_q = propeller.get("stopped_thrust_coefficient", 0.04), propeller.get("stopped_torque_coefficient", 0.006)
        (_, ct0, cp0), (j1, ct1, cp1) = table[:2]
        knots = [(-j1, 2 * ct0 - ct1, 2 * cp0 - cp1)] + table
        chi = [atan2(j, 1.0) for j, _, _ in knots]
        self.thrust_curve = Curve([-pi / 2] + chi + [pi / 2], [k_t] + [ct * cos(x) ** 2 for x, (_, ct, _) in zip(chi, knots)] + [-k_t])
        self.torque_curve = Curve([-pi / 2] + chi + [pi / 2], [0.0] + [cp * cos(x) ** 2 / (2 * pi) for x, (_, _, cp) in zip(chi, knots)] + [-k_q])

    def propeller(self, density, u, speed):
        """Thrust (N) and air torque (N m) at axial speed u (m/s) and rotor speed (rad/s)."""
        nd = abs(speed) / (2 * pi) * self.diameter
        chi, pressure = atan2(u, nd), density * self.diameter**2 * (u * u + nd * nd)
        return pressure * self.thrust_curve(chi), pressure * self.diameter * self.torque_curve(chi)

    def current(self, duty, voltage, speed):
        return max(0.0, (duty * voltage - self.k * speed) / self.resistance)

    def torque(self, current, speed):
        """Torque of the motor on its rotor."""
        return self.k * current - self.k * self.no_load_current * tanh(speed / FRICTION_SPEED)


class Cell:
    """Section 6.1."""

    def __init__(self, entry):
        self.capacity = 3.6 * entry["capacity_mAh"]
        self.resistance, self.electronics = entry["internal_resistance_ohm"], entry["electronics_current_A"]
        rows = entry.get("open_circuit_voltage")
        table = [(row["charge_fraction"], row["voltage_V"]) for row in rows] if rows else DEFAULT_CELL
        self.cut_off = entry.get("cut_off_voltage_V")
        self.open_circuit = Curve(*zip(*table))

    def solve(self, charge, motors, duties, speeds):
        """Terminal voltage, motor currents and cell current; which motors draw is found by trying, from the highest voltage."""
        u0 = self.open_circuit(1 - charge / self.capacity)
        voltage, drawing = u0, None
        while True:
            now = [d * voltage > m.k * w for m, d, w in zip(motors, duties, speeds)]
            if now == drawing:
                break
            drawing = now
            back, slope = 0.0, 0.0
            for m, d, w, on in zip(motors, duties, speeds, drawing):
                if on:
                    back += d * m.k * w / m.resistance
                    slope += d * d / m.resistance
            voltage = (u0 - self.resistance * (self.electronics - back)) / (1 + self.resistance * slope)
        currents = [m.current(d, voltage, w) for m, d, w in zip(motors, duties, speeds)]
        return voltage, currents, self.electronics + sum(d * i for d, i in zip(duties, currents))
