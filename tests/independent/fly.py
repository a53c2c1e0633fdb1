"""Fly a hand-launched glider from the written model alone: an independent check of Tossline.

This script was written from the model description (MODEL.md) and the file formats only, without reading Tossline's code.
It shares nothing with it: the equations are typed again, the interpolation is SciPy's, the quadrature NumPy's, and the
integrator SciPy's DOP853 at rtol = atol = 1e-12, restarted at every discontinuity. Where this script and Tossline differ,
one of the three (description, program, this script) has a defect.

It is one file on purpose, so that it can be read beside the description from top to bottom; the section numbers in the
docstrings are MODEL.md's. All quantities inside are SI and radians; vectors are lists of three floats, rotations three rows.

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
import re
import sys
import xml.etree.ElementTree as ElementTree
from bisect import bisect_right
from collections import namedtuple
from math import atan2, cos, hypot, inf, isfinite, pi, radians, sin, sqrt, tan, tanh
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq, fsolve

TOLERANCE = 1e-12  # relative and absolute, each state in its SI unit
LARGEST_STEP_S = 0.02
SAMPLE_INTERVAL_S = 0.5

G0 = 9.80665  # m/s^2, section 3
GAS_CONSTANT, LAPSE, EARTH_RADIUS = 287.05287, -0.0065, 6356766.0  # section 4.1
FRICTION_SPEED = 20.0  # rad/s, section 6.3
DEFAULT_CELL = [(0.0, 3.27), (0.1, 3.69), (0.2, 3.73), (0.3, 3.77), (0.4, 3.80), (0.5, 3.84), (0.6, 3.87), (0.7, 3.95),
                (0.8, 4.02), (0.9, 4.11), (1.0, 4.20)]
COEFFICIENTS = ("lift_zero lift_alpha_per_rad lift_q_per_rad lift_alpha_rate_per_rad drag_min drag_factor lift_at_min_drag "
                "pitch_zero pitch_alpha_per_rad pitch_q_per_rad pitch_alpha_rate_per_rad "
                "side_zero side_beta_per_rad side_p_per_rad side_r_per_rad roll_zero roll_beta_per_rad roll_p_per_rad "
                "roll_r_per_rad yaw_zero yaw_beta_per_rad yaw_p_per_rad yaw_r_per_rad").split()
TAB_EFFECTS = ("lift_per_rad", "pitch_per_rad", "side_per_rad", "roll_per_rad", "yaw_per_rad", "drag_per_rad2")


# ---------------------------------------------------------------------------------------------- vectors and rotations
def cross(a, b):
    return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]


def dot(a, b):
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def add(*vectors):
    return [sum(parts) for parts in zip(*vectors)]


def scale(factor, a):
    return [factor * a[0], factor * a[1], factor * a[2]]


def times(rows, a):
    """Matrix times vector."""
    return [dot(rows[0], a), dot(rows[1], a), dot(rows[2], a)]


def transposed_times(rows, a):
    """Transposed matrix times vector."""
    return [rows[0][j] * a[0] + rows[1][j] * a[1] + rows[2][j] * a[2] for j in range(3)]


def rotation(q):
    """Body to earth (section 1); only the direction of q matters."""
    a, b, c, d = q
    f = 1.0 / (a * a + b * b + c * c + d * d)
    return [[f * (a * a + b * b - c * c - d * d), f * 2 * (b * c - a * d), f * 2 * (b * d + a * c)],
            [f * 2 * (b * c + a * d), f * (a * a - b * b + c * c - d * d), f * 2 * (c * d - a * b)],
            [f * 2 * (b * d - a * c), f * 2 * (c * d + a * b), f * (a * a - b * b - c * c + d * d)]]


def quaternion_product(a, b):
    return [a[0] * b[0] - a[1] * b[1] - a[2] * b[2] - a[3] * b[3], a[0] * b[1] + a[1] * b[0] + a[2] * b[3] - a[3] * b[2],
            a[0] * b[2] - a[1] * b[3] + a[2] * b[0] + a[3] * b[1], a[0] * b[3] + a[1] * b[2] - a[2] * b[1] + a[3] * b[0]]


def euler_deg(q):
    """Roll, pitch, yaw in degrees (section 1)."""
    rows = rotation(q)
    return [v * 180 / pi for v in (atan2(rows[2][1], rows[2][2]), atan2(-rows[2][0], hypot(rows[0][0], rows[1][0])),
                                   atan2(rows[1][0], rows[0][0]))]


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


# ------------------------------------------------------------------------------------------------------------ overrides
def apply_overrides(airframe, overrides):
    """Change the airframe's JSON in place; paths are names joined by dots, `*` is every element of a list.

    Those of what tables.json holds are in it already.
    """
    for path, change in overrides.items():
        keys = path.split(".")
        if keys[0] in ("coefficients", "stall", "reference") or (keys[0] == "tabs" and len(keys) > 2 and keys[2] in TAB_EFFECTS):
            continue
        found = override_targets(airframe, keys)
        if not found:
            raise SystemExit(f"override {path!r} matches nothing")
        for holder, key in found:
            if not isinstance(change, dict):
                holder[key] = change
            elif "add" in change:
                holder[key] += change["add"]
            else:
                holder[key] *= change["multiply"]


def override_targets(node, keys):
    """All (holder, key) reached from node by the path keys."""
    if isinstance(node, list):
        slots = [i for i, item in enumerate(node) if keys[0] == "*" or (isinstance(item, dict) and item.get("name") == keys[0])]
    elif isinstance(node, dict):
        # a last key may name an optional field that is not there yet
        slots = list(node) if keys[0] == "*" else [keys[0]] if keys[0] in node or len(keys) == 1 else []
    else:
        slots = []
    if len(keys) == 1:
        return [(node, slot) for slot in slots]
    return [target for slot in slots for target in override_targets(node[slot], keys[1:])]


# -------------------------------------------------------------------------------- section 12: outlines from drawings
MM_PER_UNIT = {"mm": 1.0, "cm": 10.0, "in": 25.4}
WAYS = {"right": (1.0, 0.0), "left": (-1.0, 0.0), "down": (0.0, 1.0), "up": (0.0, -1.0)}  # on the page
NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"


def read_drawings(airframe, folder):
    """Put corners in place of every `outline_svg` of the airframe's JSON: `outline`, and `holes` where there are any."""
    for entry in [*airframe["mass"].get("parts", []), *airframe.get("surfaces", [])]:
        if "outline_svg" in entry:
            across_name = "up_mm" if entry["plane"] == "upright" else "right_mm"
            outline, *holes = drawn_outlines(entry["outline_svg"], across_name, folder)
            entry["outline"] = [{"station_mm": station, across_name: across} for station, across in outline]
            entry["holes"] = [[{"station_mm": station, across_name: across} for station, across in hole] for hole in holes]


def drawn_outlines(entry, across_name, folder):
    """Corners (station, across) in mm of a drawing's outline, then of its holes."""
    file = Path(folder) / entry["file"]
    root = ElementTree.parse(file).getroot()
    if entry.get("drawn", "half") != "half":
        raise SystemExit(f"{file}: only what is drawn as half is read here")
    sizes = []
    for name in ("width", "height"):
        size = re.fullmatch(rf"\s*({NUMBER})\s*(mm|cm|in)\s*", root.get(name, ""))
        if not size:
            raise SystemExit(f"{file}: no {name} in mm, cm or in")
        sizes.append(float(size[1]) * MM_PER_UNIT[size[2]])
    left, top, wide, high = (float(number) for number in re.split(r"[\s,]+", root.get("viewBox").strip()))
    kappa = 0.5 * (sizes[0] / wide + sizes[1] / high)
    if abs(sizes[0] / wide / kappa - 1) > 5e-4:
        raise SystemExit(f"{file}: the page and its viewBox have different shapes")
    rings = []
    for ident in (entry["id"], *entry.get("hole_ids", [])):
        rings += sorted(straight_rings(file, root, ident), key=lambda ring: -abs(twice_area(ring)))
    page = [[(kappa * (x - left), kappa * (y - top)) for x, y in ring] for ring in rings]
    wide = max(x for x, _ in page[0]) - min(x for x, _ in page[0])
    if abs(wide / entry.get("check_width_mm", wide) - 1) > 0.01:
        raise SystemExit(f"{file}: {entry['id']} is {wide} mm wide, not {entry['check_width_mm']}")
    axis = across_name.removesuffix("_mm")
    aft_way = entry.get("aft_on_page", "down")
    across_way = entry.get(f"{axis}_on_page", "right" if aft_way in ("down", "up") else "up")
    a, b = WAYS[aft_way], WAYS[across_way]
    station_0, across_0 = entry.get("station_from_mm", 0.0), entry.get(f"{axis}_from_mm", 0.0)
    return [[(station_0 + x * a[0] + y * a[1], across_0 + x * b[0] + y * b[1]) for x, y in ring] for ring in page]


def twice_area(ring):
    return sum(x * y1 - x1 * y for (x, y), (x1, y1) in zip(ring, ring[1:] + ring[:1]))


def straight_rings(file, root, ident):
    """All closed rings of corners, in user units, of the element with an id."""
    def trail(node, above):
        if node.get("id") == ident:
            return above + [node]
        return next((found for child in node if (found := trail(child, above + [node]))), None)

    nodes = trail(root, [])
    if not nodes:
        raise SystemExit(f"{file}: nothing has the id {ident!r}")
    *groups, node = nodes
    form = node.tag.split("}")[-1]
    if any(above.get("transform") for above in nodes) or any(above.tag.split("}")[-1] != "g" for above in groups[1:]):
        raise SystemExit(f"{file}: {ident} stands under a transform or not in plain groups; this script reads neither")
    if form == "path":
        rings = path_rings(f"{file}: {ident}", node.get("d", ""))
    elif form == "polygon":
        numbers = [float(number) for number in re.split(r"[\s,]+", node.get("points", "").strip())]
        rings = [list(zip(numbers[::2], numbers[1::2], strict=True))]
    elif form == "rect" and node.get("rx") is None and node.get("ry") is None:
        x, y, w, h = (float(node.get(name, 0)) for name in ("x", "y", "width", "height"))
        rings = [[(x, y), (x + w, y), (x + w, y + h), (x, y + h)]]
    else:
        raise SystemExit(f"{file}: {ident} is a {form} this script does not read")
    # corners written twice (as where a ring is led back to its start before it is closed) count once
    return [[corner for corner, before in zip(ring, ring[-1:] + ring[:-1]) if corner != before] for ring in rings]


def path_rings(where, text):
    """Closed rings of a path made of M, L, H, V, Z and their lower case."""
    tokens = re.findall(rf"[A-Za-z]|{NUMBER}", text)
    if re.sub(rf"[A-Za-z]|{NUMBER}|[\s,]", "", text) or not tokens or tokens[0] not in "Mm":
        raise SystemExit(f"{where}: not a path: {text!r}")
    rings, ring, at, i, command = [], [], (0.0, 0.0), 0, ""
    while i < len(tokens):
        if tokens[i].isalpha():
            command, i = tokens[i], i + 1
            if command not in "MmLlHhVvZz":
                raise SystemExit(f"{where}: {command} is not read by this script, only straight lines are")
            if command in "Mm" and ring:
                raise SystemExit(f"{where}: not closed")
            if command in "Zz":
                rings.append(ring)
                ring, at = [], ring[0]
                continue
        elif command in "Zz":
            raise SystemExit(f"{where}: a number after {command}")
        elif command in "Mm":
            command = "L" if command == "M" else "l"  # further pairs are lines
        x, y = at
        base_x, base_y = (x, y) if command.islower() else (0.0, 0.0)
        if command in "Hh":
            x, i = base_x + float(tokens[i]), i + 1
        elif command in "Vv":
            y, i = base_y + float(tokens[i]), i + 1
        else:
            x, y, i = base_x + float(tokens[i]), base_y + float(tokens[i + 1]), i + 2
        if not ring and command not in "Mm":
            ring.append(at)  # a path that goes on after Z starts where it closed
        at = (x, y)
        ring.append(at)
    if ring:
        raise SystemExit(f"{where}: not closed")
    return rings


# ------------------------------------------------------------------------------------- section 3.1: mass, balance, inertia
BUILDER_TO_BODY = np.diag([-1.0, 1.0, -1.0])  # directions only: (station, right, up) to (x, y, z)
MIRROR = np.diag([1.0, -1.0, 1.0])


def place(entry):
    """(station, right, up) in m of a JSON place in mm."""
    return 1e-3 * np.array([entry["station_mm"], entry["right_mm"], entry["up_mm"]], dtype=float)


def rod_spread(mass, ends):
    """Centroid and second moments of mass (integral of d d^T dm about the centroid) of a thin rod, builder's axes."""
    e = ends[1] - ends[0]
    return mass, 0.5 * (ends[0] + ends[1]), mass / 12 * np.outer(e, e)


def polygon_moments(x, y):
    """Area, first moments and second moments (xx, yy, xy) of a polygon, signs turned so that the area is positive."""
    x1, y1 = np.roll(x, -1), np.roll(y, -1)
    c = x * y1 - x1 * y
    return np.sign(c.sum()) * np.array([0.5 * c.sum(), np.sum((x + x1) * c) / 6, np.sum((y + y1) * c) / 6,
                                        np.sum((x * x + x * x1 + x1 * x1) * c) / 12, np.sum((y * y + y * y1 + y1 * y1) * c) / 12,
                                        np.sum((x * y1 + 2 * x * y + 2 * x1 * y1 + x1 * y) * c) / 24])


def sheet_spread(part):
    """Mass, centroid and second moments about it of a flat sheet by the polygon sums, builder's axes."""
    layers = part.get("layers", 1)
    sigma = 1e-3 * layers * (part["areal_density_g_m2"] + part.get("faced_sides", 0) * part.get("facing_areal_density_g_m2", 0.0))
    thickness = 1e-3 * layers * part["thickness_mm"]
    upright = part["plane"] == "upright"
    first, normal = (2, 1) if upright else (1, 2)  # in-plane axis beside station, and the normal's axis
    corner_name, level_name = ("up_mm", "right_mm") if upright else ("right_mm", "up_mm")

    def corners_of(ring):
        return 1e-3 * np.array([[corner["station_mm"], corner[corner_name]] for corner in ring], dtype=float)

    outline = corners_of(part["outline"])
    vertices = np.zeros((len(outline), 3))
    vertices[:, 0], vertices[:, first], vertices[:, normal] = outline[:, 0], outline[:, 1], 1e-3 * part[level_name]
    # sums taken about the first corner, to lose nothing by cancellation
    area, sx, sy, xx, yy, xy = polygon_moments(*(outline - outline[0]).T) - sum(
        polygon_moments(*(corners_of(hole) - outline[0]).T) for hole in part.get("holes", []))
    cx, cy = sx / area, sy / area
    second = np.zeros((3, 3))
    second[0, 0], second[first, first] = sigma * (xx - area * cx * cx), sigma * (yy - area * cy * cy)
    second[0, first] = second[first, 0] = sigma * (xy - area * cx * cy)
    second[normal, normal] = sigma * area * thickness**2 / 12
    centroid = vertices[0].copy()
    centroid[0] += cx
    centroid[first] += cy
    return [(sigma * area, centroid, second)], vertices


def part_spread(part):
    """A part's list of (mass, centroid, second moments) and its vertices, builder's axes, not yet mirrored."""
    form = part["form"]
    if form == "point":
        at = place(part["at"])
        return [(1e-3 * part["mass_g"], at, np.zeros((3, 3)))], at[None, :]
    if form == "rod":
        ends = np.array([place(part["from"]), place(part["to"])])
        return [rod_spread(1e-3 * part["mass_g"], ends)], ends
    if form == "strip":
        path = np.array([place(corner) for corner in part["path"]])
        density = 1e-3 * part["linear_density_g_m"]
        return [rod_spread(density * np.linalg.norm(path[i + 1] - path[i]), path[i:i + 2]) for i in range(len(path) - 1)], path
    if form == "sheet":
        return sheet_spread(part)
    raise SystemExit(f"unknown part form {form!r}")


def inertia_of(second):
    """Inertia tensor of a matrix of second moments."""
    return np.trace(second) * np.eye(3) - second


def mass_properties(entry):
    """Mass, balance point (builder's axes), inertia about it (body axes), all vertices and each part's centroid by name."""
    if "measured" in entry:
        m = entry["measured"]
        xy, xz, yz = (m.get(f"product_{axes}_kg_m2", 0.0) for axes in ("xy", "xz", "yz"))
        inertia = np.array([[m["inertia_xx_kg_m2"], -xy, -xz], [-xy, m["inertia_yy_kg_m2"], -yz], [-xz, -yz, m["inertia_zz_kg_m2"]]])
        return 1e-3 * m["mass_g"], place(m["balance"]), inertia, [], {}
    pieces, vertices, centroids = [], [], {}
    for part in entry["parts"]:
        spread, corners = part_spread(part)
        centroids[part["name"]] = sum(mass * c for mass, c, _ in spread) / sum(mass for mass, _, _ in spread)
        if part["form"] != "point":
            glued = 1 + entry.get("glue_fraction", 0.0)
            spread = [(glued * mass, c, glued * second) for mass, c, second in spread]
        pieces += spread
        vertices += list(corners)
        if part.get("mirrored", False):
            pieces += [(mass, MIRROR @ c, MIRROR @ second @ MIRROR) for mass, c, second in spread]
            vertices += [MIRROR @ corner for corner in corners]
    total = sum(mass for mass, _, _ in pieces)
    balance = sum(mass * c for mass, c, _ in pieces) / total
    second = sum(s + mass * np.outer(c - balance, c - balance) for mass, c, s in pieces)
    return total, balance, inertia_of(BUILDER_TO_BODY @ second @ BUILDER_TO_BODY), vertices, centroids


# ------------------------------------------------------------------------------------------------ section 5.3: the plates
class Plate:
    """One mean plate: area, chord, quarter-chord station and height, weighted by area."""

    def __init__(self):
        self.area = self.chord = self.station = self.up = 0.0

    def gather(self, area, chord, station, up):
        self.area += area
        self.chord += area * chord
        self.station += area * station
        self.up += area * up

    def finish(self):
        if self.area > 0.0:
            self.chord, self.station, self.up = self.chord / self.area, self.station / self.area, self.up / self.area


# A trapezoidal panel: root leading edge, chords, length along the surface, tangent of the sweep, dihedral (m, rad)
Panel = namedtuple("Panel", "station right up root_chord tip_chord length tan_sweep dihedral")


def panels_of(surface):
    """The panels of a surface as the file describes it, not yet mirrored: one of a trapezoid, the strips of an outline."""
    if "outline" not in surface:
        dihedral = radians(90.0 - surface["cant_deg"] if "cant_deg" in surface else surface["dihedral_deg"])
        chords_and_length = (1e-3 * surface[k] for k in ("root_chord_mm", "tip_chord_mm", "half_span_mm"))
        return [Panel(*place(surface["root_leading_edge"]), *chords_and_length, tan(radians(surface["leading_edge_sweep_deg"])), dihedral)]
    upright = surface["plane"] == "upright"
    corners = [(1e-3 * c["station_mm"], 1e-3 * c["up_mm" if upright else "right_mm"]) for c in surface["outline"]]
    side = 1.0
    if not upright and min(y for _, y in corners) < 0.0:
        if max(y for _, y in corners) > 0.0:
            raise SystemExit(f"{surface['name']}: the outline lies on both sides of the centre line; section 12 says no root for it")
        side, corners = -1.0, [(x, -y) for x, y in corners]
    levels = sorted({y for _, y in corners})
    dihedral = radians(90.0 - surface.get("cant_deg", 0.0) if upright else surface.get("dihedral_deg", 0.0))

    def edges(low, high, y):
        """Foremost and hindmost station at y of the sides that run from low to high."""
        sides = [sorted((a, b), key=lambda c: c[1]) for a, b in zip(corners, corners[1:] + corners[:1])]
        met = [a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]) for a, b in sides if a[1] <= low and high <= b[1]]
        if len(met) != 2:
            raise SystemExit(f"{surface['name']}: a line of constant y meets the outline in more than one piece")
        return min(met), max(met)

    panels = []
    for low, high in zip(levels, levels[1:]):
        (fore, aft), (tip_fore, tip_aft) = edges(low, high, low), edges(low, high, high)
        out, rise = (low - levels[0]) * cos(dihedral), (low - levels[0]) * sin(dihedral)
        right, up = (1e-3 * surface["right_mm"] + out, levels[0] + rise) if upright else (levels[0] + out, 1e-3 * surface["up_mm"] + rise)
        panels.append(Panel(fore, right, up, aft - fore, tip_aft - tip_fore, high - low, (tip_fore - fore) / (high - low), dihedral))
    return panels if side > 0.0 else [panel._replace(right=-panel.right, dihedral=pi - panel.dihedral) for panel in panels]


class Plates:
    """The level and the upright plate, the integrals of rotation damping and the panels' corners."""

    def __init__(self, surfaces, balance):
        self.level, self.upright = Plate(), Plate()
        self.j2_xh = self.j2_xv = self.j2_y = self.j2_z = self.j3_x = self.j3_y = self.j3_z = 0.0
        self.corners = []
        for surface in surfaces:
            for panel in panels_of(surface):
                for side in (1.0, -1.0) if surface.get("mirrored", False) else (1.0,):
                    self.add_panel(panel, side, balance)
        self.level.finish()
        self.upright.finish()

    def add_panel(self, panel, side, balance):
        c_r, c_t, length, dihedral = panel.root_chord, panel.tip_chord, panel.length, panel.dihedral
        h, v = cos(dihedral) ** 2, sin(dihedral) ** 2

        def point(eta, zeta):
            chord = c_r + (c_t - c_r) * eta / length
            return (panel.station + eta * panel.tan_sweep + zeta * chord, side * (panel.right + eta * cos(dihedral)),
                    panel.up + eta * sin(dihedral))

        self.corners += [np.array(point(eta, zeta)) for eta in (0.0, length) for zeta in (0.0, 1.0)]
        nodes, weights = np.polynomial.legendre.leggauss(16)
        unit, share = 0.5 * (nodes + 1), 0.5 * weights
        eta, zeta = np.meshgrid(length * unit, unit, indexing="ij")
        chord = c_r + (c_t - c_r) * eta / length
        d_s = np.outer(length * share, share) * chord
        area = d_s.sum()
        means = [(d_s * value).sum() / area for value in (chord, point(eta, 0.25)[0], point(eta, 0.25)[2])]
        self.level.gather(area * h, *means)
        self.upright.gather(area * v, *means)
        station, right, up = point(eta, zeta)
        x, y, z = (np.abs(value) for value in (balance[0] - station, right - balance[1], balance[2] - up))
        self.j2_xh += h * (d_s * y**2).sum()
        self.j2_xv += v * (d_s * z**2).sum()
        self.j2_y += h * (d_s * x**2).sum()
        self.j2_z += v * (d_s * x**2).sum()
        self.j3_x += h * (d_s * y**3).sum() + v * (d_s * z**3).sum()
        self.j3_y += h * (d_s * x**3).sum()
        self.j3_z += v * (d_s * x**3).sum()


# ------------------------------------------------------------------------------------------------- sections 6.2 and 6.3
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


# ----------------------------------------------------------------------------------------------------------- the airframe
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
        points = np.array(vertices + self.plates.corners).reshape(-1, 3)
        self.points = (points - self.balance) @ BUILDER_TO_BODY  # body coordinates, one row per vertex

    def reach(self, direction):
        """How far the outermost point lies beyond the balance point along a unit vector in body axes (section 9)."""
        rims = [dot(m.r, direction) + m.diameter / 2 * sqrt(max(0.0, 1 - dot(m.axis, direction) ** 2)) for m in self.motors]
        return max([*rims, float((self.points @ direction).max()) if len(self.points) else -inf])

    def aerodynamics(self, density, air_velocity, air_rates, tab_angles):
        """Section 5: force and moment about the balance point without alpha rate, and both per unit sigma from alpha rate."""
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
        return force, moment, rate_force, rate_moment, ca, sa

    def damping_slope(self, s):
        """kappa of section 5.3."""
        bottom = 0.56 + 0.44 * abs(s)
        return 2 * s * self.c_90 * s / bottom + (1 - s * s) * 0.56 * self.c_90 / bottom**2


# ------------------------------------------------------------------------------------------------------------ section 4.3
class Gust:
    """One 1-cosine pulse, by place or by time. A gust by place keeps its zone: -1 not yet in it, 0 in it, +1 past it."""

    def __init__(self, entry, launch_heading_deg):
        self.velocity = wind_vector(entry)
        self.by_place = "gust_start_m" in entry
        if self.by_place:
            heading = radians(entry.get("along_heading_deg", launch_heading_deg))
            self.along = [cos(heading), sin(heading), 0.0]
            self.start, self.length = entry["gust_start_m"], entry["gust_length_m"]
        else:
            self.start, self.length = entry["gust_start_s"], entry["gust_duration_s"]
        self.zone = -1

    def pulse(self, s):
        """The pulse and its derivative at s, taken as inside whatever s is: the segment says whether the gust is on."""
        phase = 2 * pi * (s - self.start) / self.length
        return 0.5 * (1 - cos(phase)), pi / self.length * sin(phase)


def wind_vector(entry):
    speed, direction = entry.get("speed_m_s", 0.0), radians(entry.get("from_deg", 0.0))
    return [-speed * cos(direction), -speed * sin(direction), -entry.get("up_m_s", 0.0)]


# -------------------------------------------------------------------------------------------------------------- section 7
class Programme:
    """Piecewise linear in time, steps allowed: pieces (start, value there, slope), the last one started is the one in force."""

    def __init__(self, start, changes, value_name, unit=1.0):
        self.pieces = [(-inf, start, 0.0)]
        for change in changes:
            time, value, ramp = change["time_s"], unit * change[value_name], change.get("ramp_s", 0.0)
            before = self.at(time)
            self.pieces = [piece for piece in self.pieces if piece[0] <= time]
            if ramp > 0.0:
                self.pieces.append((time, before, (value - before) / ramp))
            self.pieces.append((time + ramp, value, 0.0))

    def piece(self, time):
        """(time, value, slope) of the straight line in force at a time."""
        return [piece for piece in self.pieces if piece[0] <= time][-1]

    def line(self, time):
        """Value at t = 0 and slope of that line; kept apart from `at` for use inside a segment."""
        start, value, slope = self.piece(time)
        return (value, 0.0) if slope == 0.0 else (value - slope * start, slope)

    def at(self, time):
        value, slope = self.line(time)
        return value + slope * time

    def knots(self):
        return [start for start, _, _ in self.pieces if isfinite(start)]


# -------------------------------------------------------------------------------------------------------------- the flight
class Flight:
    """One scenario: launch state, right-hand side, segments, events."""

    def __init__(self, path, tables):
        scenario = json.loads(Path(path).read_text(encoding="utf-8"))
        airframe_file = Path(path).parent / scenario["airframe"]
        data = json.loads(airframe_file.read_text(encoding="utf-8"))
        apply_overrides(data, scenario.get("overrides", {}))
        read_drawings(data, airframe_file.parent)
        self.name = scenario["name"]
        if self.name not in tables:
            raise SystemExit(f"{path}: no coefficients for {self.name!r} in the tables")
        self.airframe = airframe = Airframe(data, tables[self.name])
        self.launch = scenario["launch"]
        air = scenario.get("air", {})
        self.temperature = air.get("temperature_C", 15.0) + 273.15
        self.pressure = 100.0 * air.get("pressure_hPa", 1013.25)
        self.mean_wind = wind_vector(air.get("wind", {}))
        self.gusts = [Gust(entry, self.launch.get("heading_deg", 0.0)) for entry in air.get("gusts", [])]
        pilot = scenario.get("pilot", {})
        self.throttle, self.difference = (Programme(entry.get("at_release_fraction", 0.0), entry.get("changes", []), "to_fraction")
                                          for entry in (pilot.get("throttle", {}), pilot.get("left_minus_right", {})))
        changes = {entry["tab"]: entry["changes"] for entry in pilot.get("tabs", [])}
        self.tab_programmes = [Programme(setting, changes.get(name, []), "to_deg", radians(1.0)) for name, setting, _ in airframe.tabs]
        rights = [motor.right for motor in airframe.motors]
        left_and_right = len(rights) == 2 and min(rights) < 0.0 < max(rights)
        # share of the left-minus-right difference each motor gets
        self.shares = [0.0 if not left_and_right else 0.5 if right < 0.0 else -0.5 for right in rights]
        self.walls = [([cos(radians(w["heading_deg"])), sin(radians(w["heading_deg"])), 0.0], w["distance_m"])
                      for w in scenario.get("site", {}).get("walls", [])]
        self.time_limit = scenario["end"]["time_limit_s"]
        self.active_gusts, self.duty_lines, self.tab_lines = [], [], []

    # --- section 4
    def density(self, height):
        geopotential = EARTH_RADIUS * height / (EARTH_RADIUS + height)
        kappa = -G0 / (LAPSE * GAS_CONSTANT)
        ratio = 1 + LAPSE * geopotential / self.temperature
        return self.pressure / (GAS_CONSTANT * self.temperature) * ratio ** (kappa - 1)

    def gust_place(self, gust, t, reference):
        """xi of section 4.3 at the reference point (earth axes)."""
        return dot(gust.along, reference) - dot(gust.along, self.mean_wind) * t

    def reference_point(self, y):
        return add(y[0:3], times(rotation(y[3:7]), self.airframe.r_ref))

    def wind(self, t, reference):
        """Wind, its time derivative and its gradient (rows dW_i/dx_j, or None where uniform), earth axes."""
        wind, change, gradient = list(self.mean_wind), [0.0, 0.0, 0.0], None
        for gust in self.active_gusts:
            g = gust.velocity
            if not gust.by_place:
                size, slope = gust.pulse(t)
                wind, change = add(wind, scale(size, g)), add(change, scale(slope, g))
                continue
            size, slope = gust.pulse(self.gust_place(gust, t, reference))
            wind = add(wind, scale(size, g))
            change = add(change, scale(-slope * dot(gust.along, self.mean_wind), g))
            rows = [scale(slope * g[i], gust.along) for i in range(3)]
            gradient = rows if gradient is None else [add(gradient[i], rows[i]) for i in range(3)]
        return wind, change, gradient

    def duties(self, t):
        return [start + slope * t for start, slope in self.duty_lines]

    # --- section 3
    def rates(self, t, y):
        """Time derivative of the 16 states."""
        airframe = self.airframe
        y = y.tolist() if isinstance(y, np.ndarray) else list(y)
        position, attitude, v, omega, rotors, charge = y[0:3], y[3:7], y[7:10], y[10:13], y[13:15], y[15]
        rows = rotation(attitude)
        density = self.density(-position[2])
        # section 4.4
        r_ref = airframe.r_ref
        wind, wind_change, gradient = self.wind(t, add(position, times(rows, r_ref)))
        wind_body = transposed_times(rows, wind)
        at_reference = add(v, cross(omega, r_ref))
        air_velocity = [at_reference[i] - wind_body[i] for i in range(3)]
        carried = wind_change
        air_rates = omega
        if gradient is not None:
            columns = list(zip(*rows))  # earth components of the body axes
            x_axis, y_axis, z_axis = columns
            along_x, along_y = times(gradient, x_axis), times(gradient, y_axis)
            air_rates = add(omega, [-dot(z_axis, along_y), dot(z_axis, along_x), -dot(y_axis, along_x)])
            carried = add(wind_change, times(gradient, times(rows, at_reference)))
        tabs = [start + slope * t for start, slope in self.tab_lines]
        force, moment, rate_force, rate_moment, ca, sa = airframe.aerodynamics(density, air_velocity, air_rates, tabs)
        # section 6
        rotor_rates, current = [0.0, 0.0], 0.0
        spin_momentum = [0.0, 0.0, 0.0]
        if airframe.motors:
            motors, duties = airframe.motors, self.duties(t)
            _, currents, current = airframe.cell.solve(charge, motors, duties, rotors)
            for i, motor in enumerate(motors):
                disc = add(v, cross(omega, motor.r), scale(-1.0, wind_body))
                thrust, air_torque = motor.propeller(density, dot(motor.axis, disc), rotors[i])
                rotor_rates[i] = (motor.torque(currents[i], rotors[i]) - air_torque) / motor.inertia
                push = scale(thrust, motor.axis)
                force = add(force, push)
                # air torque on the propeller, and the rotor's own acceleration (section 3)
                twist = -motor.spin * (air_torque + motor.inertia * rotor_rates[i])
                moment = add(moment, cross(motor.r, push), scale(twist, motor.axis))
                spin_momentum = add(spin_momentum, scale(motor.spin * motor.inertia * rotors[i], motor.axis))
        # section 3
        m = airframe.mass
        v_dot = add(scale(1 / m, force), scale(G0, rows[2]), cross(v, omega))
        momentum = add(times(airframe.inertia, omega), spin_momentum)
        omega_dot = times(airframe.inverse_inertia, add(moment, cross(momentum, omega)))
        # section 5.2
        if airframe.lift_alpha_rate_per_rad or airframe.pitch_alpha_rate_per_rad:
            known = add(scale(-1.0, transposed_times(rows, carried)), cross(omega, wind_body))

            def across(a):
                return ca * a[2] - sa * a[0]

            e_v, e_omega = scale(1 / m, rate_force), times(airframe.inverse_inertia, rate_moment)
            sigma = across(add(known, v_dot, cross(omega_dot, r_ref))) / (1 - across(add(e_v, cross(e_omega, r_ref))))
            v_dot, omega_dot = add(v_dot, scale(sigma, e_v)), add(omega_dot, scale(sigma, e_omega))
        q_dot = [0.5 * part for part in quaternion_product(attitude, [0.0, *omega])]
        return [*times(rows, v), *q_dot, *v_dot, *omega_dot, *rotor_rates, current]

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
        self.begin_segment(0.0)
        given = launch.get("rotor_speed_rpm")
        rotors = [speed * 2 * pi / 60 for speed in given] if given is not None else self.steady_rotors(y)
        y[13:13 + len(rotors)] = rotors
        return y

    def steady_rotors(self, y):
        """Rotor speeds with no acceleration at release: rotors by bisection at given voltage, the voltage by an outer one."""
        airframe = self.airframe
        motors, cell, duties = airframe.motors, airframe.cell, self.duties(0.0)
        if not motors:
            return []
        rows, v, omega, charge = rotation(y[3:7]), y[7:10], y[10:13], y[15]
        wind_body = transposed_times(rows, self.wind(0.0, self.reference_point(y))[0])
        density = self.density(-y[2])
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
    def break_times(self):
        """All times at which a segment must end, with the sample times, up to the time limit."""
        times_ = {0.0, self.time_limit}
        for programme in (self.throttle, self.difference, *self.tab_programmes):
            times_.update(programme.knots())
        for gust in self.gusts:
            if not gust.by_place:
                times_.update((gust.start, gust.start + gust.length))
        times_.update(SAMPLE_INTERVAL_S * i for i in range(int(self.time_limit / SAMPLE_INTERVAL_S) + 1))
        ordered = tidy(times_, self.time_limit)
        for a, b in zip(ordered, ordered[1:]):
            for share in self.shares:  # where a duty meets 0 or 1
                start, slope = self.free_duty(share, 0.5 * (a + b))
                if slope != 0.0:
                    times_.update(t for t in ((limit - start) / slope for limit in (0.0, 1.0)) if a < t < b)
        return tidy(times_, self.time_limit)

    def free_duty(self, share, t):
        """Line (value at 0, slope) of a motor's duty before it is held to 0...1."""
        (f, f_slope), (d, d_slope) = self.throttle.line(t), self.difference.line(t)
        return f + share * d, f_slope + share * d_slope

    def begin_segment(self, middle):
        """Freeze the straight lines of the programmes and the gusts that are on, as they are at a time inside the segment."""
        self.duty_lines = []
        for share in self.shares:
            start, slope = self.free_duty(share, middle)
            value = start + slope * middle
            self.duty_lines.append((start, slope) if 0.0 <= value <= 1.0 else (0.0, 0.0) if value < 0.0 else (1.0, 0.0))
        self.tab_lines = [programme.line(middle) for programme in self.tab_programmes]
        self.active_gusts = [g for g in self.gusts
                             if (g.zone == 0 if g.by_place else g.start <= middle <= g.start + g.length)]

    def settle_zones(self, t, y, but=None):
        """Put each gust by place in the zone its xi says, except one whose edge was just crossed."""
        for gust in self.gusts:
            if gust.by_place and gust is not but:
                xi = self.gust_place(gust, t, self.reference_point(y))
                gust.zone = -1 if xi < gust.start else 0 if xi <= gust.start + gust.length else 1

    def events(self):
        """(kind, gust or None, zone after, function of (t, y), direction) for all that may end a segment inside."""
        airframe, found = self.airframe, []

        def clearance(direction, distance):
            def function(t, y):
                body = transposed_times(rotation(y[3:7]), direction)
                return distance - dot(direction, y[0:3]) - airframe.reach(body)
            return function

        found.append(("ground", None, 0, clearance([0.0, 0.0, 1.0], 0.0), -1))
        found += [("wall", None, 0, clearance(direction, distance), -1) for direction, distance in self.walls]
        if airframe.cell:
            found.append(("cell empty", None, 0, lambda t, y: 1 - y[15] / airframe.cell.capacity, -1))
        for gust in self.gusts:
            if gust.by_place:
                start, end = gust.start, gust.start + gust.length
                for zone, edge, after, direction in ((-1, start, 0, 1), (0, start, -1, -1), (0, end, 1, 1), (1, end, 0, -1)):
                    if zone == gust.zone:
                        found.append(("gust edge", gust, after,
                                      lambda t, y, g=gust, e=edge: self.gust_place(g, t, self.reference_point(y)) - e, direction))
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
        breaks = self.break_times()
        for a, b in zip(breaks, breaks[1:]):
            t = a
            while t < b:
                self.begin_segment(0.5 * (a + b))
                events = self.events()
                result = self.integrate(t, y, b, events)
                if result.status == 0:
                    t, y = b, result.y[:, -1].tolist()
                    break
                hit = next(i for i, found in enumerate(result.t_events) if len(found))
                kind, gust, after, function, _ = events[hit]
                before, state = result.t[-2], result.y[:, -2]
                t, y = self.refine(before, state, result.t[-1], function)
                if gust is None:
                    return kind, t, y, samples
                gust.zone = after
                self.settle_zones(t, y, but=gust)
            if abs(t / SAMPLE_INTERVAL_S - round(t / SAMPLE_INTERVAL_S)) < 1e-12:
                samples.append((t, list(y)))
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


def tidy(values, limit):
    """Sorted times within 0...limit, those closer together than 1e-12 s taken as one."""
    kept = []
    for value in sorted(v for v in values if 0.0 <= v <= limit):
        if not kept or value - kept[-1] > 1e-12:
            kept.append(value)
    return kept


# ------------------------------------------------------------------------------------------------------------------ output
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
