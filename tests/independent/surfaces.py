"""Surfaces as panels (sections 5.3 and 12), and the two plates beyond stall with their damping (section 5.3)."""

from collections import namedtuple
from math import cos, pi, radians, sin, tan

import numpy as np

from parts import place


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
    side, keel = 1.0, upright and sum(y for _, y in corners) < 0.0
    if keel:
        corners = [(x, -y) for x, y in corners]  # depths
    if not upright and min(y for _, y in corners) < 0.0:
        if max(y for _, y in corners) > 0.0:
            raise SystemExit(f"{surface['name']}: the outline lies on both sides of the centre line; section 12 says no root for it")
        side, corners = -1.0, [(x, -y) for x, y in corners]
    levels = sorted({y for _, y in corners})
    dihedral = radians(90.0 - surface.get("cant_deg", 0.0) if upright else surface.get("dihedral_deg", 0.0))
    dihedral = -dihedral if keel else dihedral
    root_up = -levels[0] if keel else levels[0]

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
        right, up = (1e-3 * surface["right_mm"] + out, root_up + rise) if upright else (levels[0] + out, 1e-3 * surface["up_mm"] + rise)
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
