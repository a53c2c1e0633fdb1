"""Sections 6.5 to 6.7: a disc at incidence, its wash over surfaces behind it and its suction on surfaces beside and ahead of it.

All nodes of all motors lie in arrays; the first index of each array is the node (wash) or the pair of motor and panel (suction).
"""

from math import cos, pi, radians, sin, sqrt

import numpy as np

from surfaces import panels_of
from vectors import add, cross, dot, scale

SMALL_SPEED = 1e-3  # u_0, m/s
SUCTION_SHARE, FRICTION = 0.5, 0.02  # eta and c_f of section 6.6
AHEAD = np.array([1.0, 0.0, 0.0])


def slope_of(aspect):
    return 2 * pi * aspect / (2 + np.sqrt(aspect * aspect + 4))


class Sheet:
    """A panel as it stands in body axes: places on it, its normal and the lift slope of its surface."""

    def __init__(self, panel, side, balance, incidence, slope):
        self.panel, self.side, self.balance, self.slope = panel, side, balance, slope
        out = np.array([0.0, side * cos(panel.dihedral), -sin(panel.dihedral)])
        across = out if side > 0.0 else -out
        normal = np.cross(across, AHEAD)
        upright = abs(normal[1]) > abs(normal[2])
        sign = 1.0 if (normal[1] > 0.0 if upright else normal[2] < 0.0) else -1.0
        self.normal = normal - sign * incidence * AHEAD

    def chord(self, share):
        return self.panel.root_chord + (self.panel.tip_chord - self.panel.root_chord) * share

    def at(self, share, zeta):
        """Body coordinates at a share of the panel's length and a fraction of the chord."""
        p, eta = self.panel, share * self.panel.length
        return np.array([self.balance[0] - (p.station + eta * p.tan_sweep + zeta * self.chord(share)),
                         self.side * (p.right + eta * cos(p.dihedral)) - self.balance[1], self.balance[2] - (p.up + eta * sin(p.dihedral))])


def sheets_of(surfaces, balance):
    sheets = []
    for surface in surfaces:
        panels = panels_of(surface)
        length, area = sum(p.length for p in panels), sum(0.5 * (p.root_chord + p.tip_chord) * p.length for p in panels)
        mirrored = surface.get("mirrored", False)
        steep = min(abs(panels[0].dihedral), abs(pi - panels[0].dihedral))
        aspect = length * length / area * (2.0 if mirrored and steep < pi / 4 else 1.0)
        start = 0.0
        for panel in panels:
            middle = (start + 0.5 * panel.length) / length
            incidence = radians(surface.get("incidence_deg", 0.0) + surface.get("twist_deg", 0.0) * middle)
            start += panel.length
            sheets += [Sheet(panel, side, balance, incidence, slope_of(aspect)) for side in ((1.0, -1.0) if mirrored else (1.0,))]
    return sheets


def nearest_share(sheet, motor):
    """Share of the mid-chord line's point nearest the motor's axis, and the line's length, both seen along the axis."""
    axis = np.array(motor.axis)
    start, end = (sheet.at(share, 0.5) - np.array(motor.r) for share in (0.0, 1.0))
    start, end = (place - np.dot(place, axis) * axis for place in (start, end))
    way = end - start
    length = float(np.linalg.norm(way))
    return float(-np.dot(start, way)) / length**2, length


class Wash:
    """Section 6.6: nodes of every motor behind whose disc a surface lies."""

    def __init__(self, motors, sheets):
        nodes, weights = np.polynomial.legendre.leggauss(6)
        rows = []
        for index, motor in enumerate(motors):
            axis, centre, radius = np.array(motor.axis), np.array(motor.r), motor.diameter / 2
            for sheet in sheets:
                behind = max(-np.dot(axis, sheet.at(share, zeta) - centre) for share in (0.0, 1.0) for zeta in (0.0, 1.0))
                if behind <= 0.0:
                    continue
                nearest, length = nearest_share(sheet, motor)
                reach = (1.5 * radius + 0.15 * behind) / length
                low, high = max(0.0, nearest - reach), min(1.0, nearest + reach)
                if low >= high:
                    continue
                for node, weight in zip(nodes, weights):
                    share = low + (high - low) * 0.5 * (node + 1)
                    chord = sheet.chord(share)
                    area = 0.5 * chord * sheet.panel.length * (high - low) * 0.5 * weight
                    for theta in (pi / 4, 3 * pi / 4):
                        place = sheet.at(share, 0.5 * (1 - cos(theta)))
                        d = place - centre
                        x = -np.dot(axis, d)
                        off = np.linalg.norm(d + x * axis)
                        if x < -radius or off > 1.5 * radius + 0.2 * max(0.0, x):
                            continue
                        turned = sheet.at(share, -0.5 * cos(theta))
                        rows.append((index, place, turned, d, area, chord, theta, sheet.normal, sheet.slope, radius, axis))
        self.count = len(rows)
        if rows:
            (self.motor, self.place, self.turned, self.d, self.area, self.chord, theta, self.normal, self.slope, self.radius,
             self.axis) = (np.array(column) for column in zip(*rows))
            self.cosine = np.cos(theta)
            self.a_x = self.axis[:, 0]
            self.a_n = (self.axis * self.normal).sum(axis=1)
            self.d_d = (self.d * self.d).sum(axis=1)


class Suction:
    """Section 6.7: sums over nodes for each motor and panel."""

    def __init__(self, motors, sheets):
        rows = [self.sums(index, motor, sheet) for index, motor in enumerate(motors) for sheet in sheets]
        self.count = len(rows)
        if rows:
            (self.motor, self.normal, self.slope, self.a, self.b, self.d, self.b_2, self.f, self.f_2, self.area, self.mean, self.centre,
             self.a_place, self.b_place, self.d_place) = (np.array(column) for column in zip(*rows))

    @staticmethod
    def sums(index, motor, sheet):
        nodes, weights = np.polynomial.legendre.leggauss(8)
        nearest = min(1.0, max(0.0, nearest_share(sheet, motor)[0]))
        a = b = d = b_2 = f = f_2 = area = size = 0.0
        mean, centre, a_place, b_place, d_place = (np.zeros(3) for _ in range(5))
        thetas = [(k - 0.5) * pi / 8 for k in range(1, 9)]
        for low, high in ((0.0, nearest), (nearest, 1.0)):
            for node, weight in zip(nodes, weights):
                share = low + (high - low) * 0.5 * (node + 1)
                d_s = sheet.chord(share) * sheet.panel.length * (high - low) * 0.5 * weight
                turned = 0.0
                for theta in thetas:
                    place = sheet.at(share, 0.5 * (1 - cos(theta)))
                    back = sheet.at(share, -0.5 * cos(theta))
                    g = drawn(motor, place - np.array(motor.r))
                    along, normal = -g[0], -float(np.dot(g, sheet.normal))
                    part = d_s / 8
                    near, far = 1 + cos(theta), 1 - cos(theta)
                    a += part * near * along
                    a_place += part * near * along * place
                    b += part * far * normal
                    b_place += part * far * normal * back
                    d += part * far * normal * along
                    d_place += part * far * normal * along * back
                    turned += far * normal / 8
                    f += part * along
                    f_2 += part * along * abs(along)
                    mean -= part * g
                    strength = part * float(np.linalg.norm(g))
                    size += strength
                    centre += strength * sheet.at(share, 0.25)
                b_2 += d_s * turned**2
                area += d_s
        return (index, sheet.normal, sheet.slope, a, b, d, b_2, f, f_2, area, mean / area, centre / size, a_place, b_place, d_place)


RIM = 2 * pi * np.arange(48) / 48


def drawn(motor, d):
    """g of section 6.7 at d from the disc's centre."""
    axis, radius = np.array(motor.axis), motor.diameter / 2
    x = float(np.dot(axis, d))
    q = d - x * axis
    off = float(np.linalg.norm(q))
    if x < 0.0 and off < radius:
        return np.zeros(3)
    s = np.sqrt(x * x + off * off + radius * radius - 2 * radius * off * np.cos(RIM) + (radius / 20) ** 2)
    g = -np.sign(x) * axis * np.mean(radius * (radius - off * np.cos(RIM)) / (s * (s + abs(x))))
    return g if off == 0.0 else g - q / off * np.mean(radius * np.cos(RIM) / s)


class PropellerEffects:
    """All three effects with their factors (0 where switched off)."""

    def __init__(self, entry, motors, surfaces, balance, c_90):
        self.c_90 = c_90
        self.on = {effect: entry.get(f"{effect}_factor", 1.0) if entry.get(effect, True) else 0.0
                   for effect in ("disc_normal_force", "wash", "suction")}
        sheets = sheets_of(surfaces, balance)
        self.wash, self.suction = Wash(motors, sheets), Suction(motors, sheets)

    def plate(self, velocity, normal):
        """P of section 6.6."""
        size = np.sqrt((velocity * velocity).sum(axis=1) + SMALL_SPEED**2)
        across = (velocity * normal).sum(axis=1)
        return self.c_90 * size * size * across / (0.56 * size + 0.44 * np.abs(across))

    def forces(self, density, attached, motors, thrusts, v, omega, wind_body):
        """Force and moment about the balance point of all three effects."""
        force, moment = [0.0, 0.0, 0.0], [0.0, 0.0, 0.0]
        induced, stream, through = [], [], []
        for motor, thrust in zip(motors, thrusts):
            air = add(v, cross(omega, motor.r), scale(-1.0, wind_body))
            u = dot(motor.axis, air)
            across = add(air, scale(-u, motor.axis))
            speed = sqrt(dot(air, air) + SMALL_SPEED**2)
            k = thrust / (density * pi * motor.diameter**2 / 4)
            down = k / (speed + sqrt(speed * speed + 2 * abs(k)))
            induced.append(down)
            stream.append(speed)
            through.append(air)
            # 6.5
            smooth, pull = sqrt(u * u + SMALL_SPEED**2), max(down, 0.0)
            s, w = smooth + pull, smooth + 2 * pull
            size = (self.on["disc_normal_force"] * 0.5 * density * motor.side_area * 2 * pi * 8 / 10
                    * s * (s * smooth + w * w) / (smooth * smooth + w * w))
            push = scale(-size, across)
            force, moment = add(force, push), add(moment, cross(motor.r, push))
        calm = np.array(v) - np.array(wind_body)
        turning = np.array(omega)
        for effect, size in ((self.wash_forces, self.on["wash"]), (self.suction_forces, self.on["suction"])):
            if size != 0.0 and any(induced):
                f, m = effect(density, attached, np.array(induced), np.array(stream), np.array(through), calm, turning)
                force, moment = add(force, scale(size, f.tolist())), add(moment, scale(size, m.tolist()))
        return force, moment

    def wash_forces(self, density, attached, induced, stream, through, calm, turning):
        n = self.wash
        if n.count == 0:
            return np.zeros(3), np.zeros(3)
        v, u, disc = induced[n.motor], stream[n.motor], through[n.motor]
        plus = np.maximum(v, 0.0)
        blown = disc + 2 * v[:, None] * n.axis
        way = -blown / np.sqrt((blown * blown).sum(axis=1) + SMALL_SPEED**2)[:, None]
        s = (way * n.d).sum(axis=1)
        off = np.maximum(0.0, n.d_d - s * s)
        r = n.radius
        xi = s / np.sqrt(s * s + r * r)
        jet = (r * r * (u + plus) / (u + plus * (1 + xi))) ** 2  # r_j^4
        sigma = plus / (u + plus) * s
        b_2 = np.sqrt(jet + (0.09 * sigma) ** 4)
        e = (v * (1 + xi) * 0.5 * (1 + s / np.sqrt(s * s + r * r / 16)) * (jet / (jet + (sigma / 12) ** 4)) ** 0.25
             / (1 + (off / b_2) ** 6))
        a_j = slope_of(2 * np.sqrt(b_2) / n.chord)
        before = calm + np.cross(turning, n.place)
        after = before + e[:, None] * n.axis
        v_n, v_x, u_x = (before * n.normal).sum(axis=1), before[:, 0], after[:, 0]
        far = 1 - n.cosine
        turned = attached * a_j * e * n.a_n * (v_x + e * n.a_x) * far
        at_node = (attached * n.slope * v_n * e * n.a_x * (1 + n.cosine)
                   + (1 - attached) * (self.plate(after, n.normal) - self.plate(before, n.normal)))
        along = (attached * SUCTION_SHARE * (v_n * e * n.a_n * (n.slope + a_j) + a_j * (e * n.a_n) ** 2) * far
                 - FRICTION * (u_x * np.abs(u_x) - v_x * np.abs(v_x)))
        half = 0.5 * density * n.area
        first = -(half * at_node)[:, None] * n.normal
        first[:, 0] += half * along
        second = -(half * turned)[:, None] * n.normal
        return ((first + second).sum(axis=0),
                (np.cross(n.place, first) + np.cross(n.turned, second)).sum(axis=0))

    def suction_forces(self, density, attached, induced, stream, through, calm, turning):
        n = self.suction
        if n.count == 0:
            return np.zeros(3), np.zeros(3)
        v = induced[n.motor]
        before = calm + np.cross(turning, n.centre)
        after = before + v[:, None] * n.mean
        v_n, v_x = (before * n.normal).sum(axis=1), before[:, 0]
        lift = attached * n.slope
        parts = (lift * v_n * v, lift * v_x * v, lift * v * v)
        plates = (1 - attached) * n.area * (self.plate(after, n.normal) - self.plate(before, n.normal))
        along = (attached * SUCTION_SHARE * n.slope * (2 * v_n * v * n.b + v * v * n.b_2)
                 - FRICTION * (2 * np.abs(v_x) * v * n.f + v * np.abs(v) * n.f_2))
        half = 0.5 * density
        at_centre = -half * plates[:, None] * n.normal
        at_centre[:, 0] += half * along
        attached_force = -half * (parts[0] * n.a + parts[1] * n.b + parts[2] * n.d)[:, None] * n.normal
        levers = -half * (parts[0][:, None] * n.a_place + parts[1][:, None] * n.b_place + parts[2][:, None] * n.d_place)
        return ((at_centre + attached_force).sum(axis=0),
                (np.cross(n.centre, at_centre) + np.cross(levers, n.normal)).sum(axis=0))
