"""The airframe in SI with the forces of section 5."""

from math import atan2, cos, exp, hypot, pi, radians, sin, sqrt, tanh

import numpy as np

from airframe_file import TAB_EFFECTS
from apparent_mass import apparent_mass
from parts import BUILDER_TO_BODY, MIRROR, mass_properties, place
from power import Cell, Motor
from propeller_effects import PropellerEffects
from surfaces import Plates
from vectors import add, cross, dot, scale

COEFFICIENTS = ("lift_zero lift_alpha_per_rad lift_q_per_rad lift_alpha_rate_per_rad drag_min drag_factor lift_at_min_drag "
                "pitch_zero pitch_alpha_per_rad pitch_q_per_rad pitch_alpha_rate_per_rad "
                "side_zero side_beta_per_rad side_p_per_rad side_r_per_rad roll_zero roll_beta_per_rad roll_p_per_rad "
                "roll_r_per_rad yaw_zero yaw_beta_per_rad yaw_p_per_rad yaw_r_per_rad").split()


def body_points(body):
    """Corners of a body's block (a rod's: its length by its diameter), in builder's axes, mirrored copies included."""
    at = place(body["at"])
    if body["form"] == "rod":
        thick, long = body["diameter_mm"], body["length_mm"]
        size = [thick, thick, long] if body["plane"] == "upright" else [thick, long, thick]
    else:
        size = [body["length_mm"], body["width_mm"], body["height_mm"]]
    half = 0.5e-3 * np.array(size)
    points = [at + half * [x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)]
    return points + [MIRROR @ point for point in points] if body.get("mirrored", False) else points


def estimated(data):
    """Whether section 5.4 flies apparent mass where the file does not say: on an estimated table that does not hold it already."""
    given = data.get("coefficients")
    if given is None:
        return True  # without coefficients all are estimated (20.3)
    origins = {name: entry.get("origin") for name, entry in given.items() if isinstance(entry, dict)}
    some = "estimate" in data or "estimate" in origins.values()
    rates_given = any(origins.get(name) == "builder" for name in ("lift_alpha_rate_per_rad", "pitch_alpha_rate_per_rad"))
    return some and not rates_given and not given.get("includes_apparent_mass", False)


class Airframe:
    """An airframe file in SI, built as sections 3.1, 5, 6 and 12 say, with the numbers of `table` for its coefficients."""

    def __init__(self, data, table):
        self.mass, self.balance, inertia, vertices, centroids = mass_properties(data["mass"])
        self.inertia, self.inverse_inertia = inertia.tolist(), np.linalg.inv(inertia).tolist()
        reference = table["reference"]
        self.area, self.span, self.chord = 1e-4 * reference["area_cm2"], 1e-3 * reference["span_mm"], 1e-3 * reference["chord_mm"]
        at = 1e-3 * np.array([reference["station_mm"], 0.0, reference["up_mm"]])
        self.r_ref = (BUILDER_TO_BODY @ (at - self.balance)).tolist()
        if set(table["coefficients"]) != set(COEFFICIENTS):
            raise SystemExit(f"not the coefficients this script knows: {set(table['coefficients']) ^ set(COEFFICIENTS)}")
        for name in COEFFICIENTS:
            setattr(self, name, table["coefficients"][name])
        self.tabs = [(tab["name"], radians(tab["setting_deg"]), [table["tabs"][tab["name"]][effect] for effect in TAB_EFFECTS])
                     for tab in data.get("tabs", [])]
        stall = table["stall"]
        self.alpha_stall, self.alpha_blend = radians(stall["alpha_stall_deg"]), radians(stall["alpha_blend_deg"])
        self.beta_stall, self.beta_blend = radians(stall["beta_stall_deg"]), radians(stall["beta_blend_deg"])
        self.c_90 = stall.get("normal_force_coefficient_at_90_deg", 1.11 + 0.018 * self.span**2 / self.area)
        self.plates = Plates(data.get("surfaces", []), self.balance)
        self.motors = [Motor(entry, data["propellers"], centroids, self.balance) for entry in data.get("motors", [])]
        self.cell = Cell(data["cell"]) if self.motors else None
        bodies = [point for body in data.get("bodies", []) for point in body_points(body)]
        points = np.array([self.balance, *vertices, *self.plates.corners, *bodies])
        self.points = (points - self.balance) @ BUILDER_TO_BODY  # body coordinates, one row per vertex
        carried = data.get("apparent_mass", "from_surfaces" if estimated(data) else "none")
        self.apparent = apparent_mass(data.get("surfaces", []), self.balance) if carried == "from_surfaces" else np.zeros((6, 6))
        self.own = np.zeros((6, 6))
        self.own[:3, :3], self.own[3:, 3:] = self.mass * np.eye(3), inertia
        self.effects = PropellerEffects(data.get("propeller_effects", {}), self.motors, data.get("surfaces", []), self.balance, self.c_90)
        level = self.plates.level
        # the point whose height counts in the ground's effect (5.5)
        self.r_ground = [self.balance[0] - level.station, 0.0, self.balance[2] - level.up] if level.area > 0.0 else [0.0, 0.0, 0.0]

    def reach(self, direction):
        """How far the outermost point lies beyond the balance point along a unit vector in body axes (section 9)."""
        rims = [dot(m.r, direction) + m.diameter / 2 * sqrt(max(0.0, 1 - dot(m.axis, direction) ** 2)) for m in self.motors]
        return max([*rims, float((self.points @ direction).max())])

    def ground_share(self, height):
        """sigma_g of section 5.5 at a height over the ground."""
        t = min(1.0, max(0.0, 3 - height / self.span))
        if t == 0.0:
            return 0.0
        x = 2 * height / self.span
        return exp(-2.48 * (x * x + 0.02**2) ** 0.384) * t * t * (3 - 2 * t)

    def aerodynamics(self, density, air_velocity, air_rates, tab_angles, ground_share):
        """Section 5: force and moment about the balance point without alpha rate, both per unit sigma from alpha rate, cosine and sine
        of alpha and the attached share a."""
        s, b, c, r_ref = self.area, self.span, self.chord, self.r_ref
        vx, vy, vz = air_velocity
        p, q, r = air_rates
        speed = sqrt(vx * vx + vy * vy + vz * vz)
        alpha, beta = atan2(vz, vx), atan2(vy, hypot(vx, vz))
        ca, sa, cb, sb = cos(alpha), sin(alpha), cos(beta), sin(beta)
        # 5.1 attached flow
        cl = self.lift_zero + self.lift_alpha_per_rad * alpha
        cm = self.pitch_zero + self.pitch_alpha_per_rad * alpha
        cy = self.side_zero + self.side_beta_per_rad * beta
        croll = self.roll_zero + self.roll_beta_per_rad * beta
        cn = self.yaw_zero + self.yaw_beta_per_rad * beta
        cd = self.drag_min
        for (_, _, (e_lift, e_pitch, e_side, e_roll, e_yaw, e_drag)), delta in zip(self.tabs, tab_angles):
            cl, cm, cy = cl + e_lift * delta, cm + e_pitch * delta, cy + e_side * delta
            croll, cn, cd = croll + e_roll * delta, cn + e_yaw * delta, cd + e_drag * delta * delta
        cd += self.drag_factor * (cl - self.lift_at_min_drag) ** 2
        n, quarter = 0.5 * density * speed * speed * s, 0.25 * density * speed * s
        lift = n * cl + quarter * c * self.lift_q_per_rad * q
        drag = n * cd
        side = n * cy + quarter * b * (self.side_p_per_rad * p + self.side_r_per_rad * r)
        roll = n * b * croll + quarter * b * b * (self.roll_p_per_rad * p + self.roll_r_per_rad * r)
        pitch = n * c * cm + quarter * c * c * self.pitch_q_per_rad * q
        yaw = n * b * cn + quarter * b * b * (self.yaw_p_per_rad * p + self.yaw_r_per_rad * r)
        attached = [-drag * ca + lift * sa, side, -drag * sa - lift * ca]
        attached_moment = add([roll, pitch, yaw], cross(r_ref, attached))
        # 5.5 ground effect, added to the attached flow's
        if ground_share != 0.0:
            slope, disc = self.lift_alpha_per_rad, s / (pi * b * b)
            chi = disc if slope == 0.0 else min(disc, 2 * s / ((b * b + 2 * s) * abs(slope)))
            near = cl / (1 - ground_share * chi * slope)
            more_lift, more_pitch = near - cl, self.pitch_alpha_per_rad * ground_share * chi * near
            over, over_near = (cl - self.lift_at_min_drag) ** 2, (near - self.lift_at_min_drag) ** 2
            more_drag = self.drag_factor * (over_near - over) - ground_share * min(self.drag_factor, disc) * over_near
            extra = [n * (more_lift * sa - more_drag * ca), 0.0, -n * (more_lift * ca + more_drag * sa)]
            attached, attached_moment = add(attached, extra), add(attached_moment, [0.0, n * c * more_pitch, 0.0], cross(r_ref, extra))
        # 5.3 blend
        weight = (0.5 * (1 - tanh((abs(alpha) - self.alpha_stall) / self.alpha_blend))
                  * 0.5 * (1 - tanh((abs(beta) - self.beta_stall) / self.beta_blend)))
        rest = 1 - weight
        # 5.3 plates, friction along them at the balance point
        plates = self.plates
        s_h, s_v = sa * cb, sb
        shift = 0.25 - 0.25 * ca * cb
        force = add(scale(weight, attached), scale(-rest * 0.5 * density * speed * s * self.drag_min, [vx, vy, 0.0]))
        moment = scale(weight, attached_moment)
        for plate, sine, axis in ((plates.level, s_h, 2), (plates.upright, s_v, 1)):
            push = [0.0, 0.0, 0.0]
            push[axis] = -rest * 0.5 * density * speed * speed * plate.area * self.c_90 * sine / (0.56 + 0.44 * abs(sine))
            arm = [self.balance[0] - (plate.station + plate.chord * shift), 0.0, self.balance[2] - plate.up]
            force, moment = add(force, push), add(moment, cross(arm, push))
        # 5.3 damping
        k_h, k_v = self.damping_slope(s_h), self.damping_slope(s_v)
        half, part = -0.5 * density * self.c_90, -0.5 * density * speed * rest
        moment = add(moment,
                     [half * plates.j3_x * p * abs(p), half * plates.j3_y * q * abs(q), half * plates.j3_z * r * abs(r)],
                     [part * (plates.j2_xh * k_h + plates.j2_xv * k_v) * p, part * plates.j2_y * k_h * q, part * plates.j2_z * k_v * r])
        # 5.2 alpha rate, per unit sigma
        rate_lift = weight * 0.25 * density * s * c * self.lift_alpha_rate_per_rad
        rate_force = [rate_lift * sa, 0.0, -rate_lift * ca]
        rate_moment = add([0.0, weight * 0.25 * density * s * c * c * self.pitch_alpha_rate_per_rad, 0.0], cross(r_ref, rate_force))
        return force, moment, rate_force, rate_moment, ca, sa, weight

    def damping_slope(self, s):
        """kappa of section 5.3."""
        bottom = 0.56 + 0.44 * abs(s)
        return 2 * s * self.c_90 * s / bottom + (1 - s * s) * 0.56 * self.c_90 / bottom**2
