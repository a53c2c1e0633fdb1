"""Section 19: the apparent-mass matrix of an airframe's surfaces, for density 1, about the balance point."""

from math import cos, pi, sin, sqrt

import numpy as np

from surfaces import panels_of

ROWS = [(1, 0.579, 0.306, 0.817), (1.25, 0.642, 0.363, 0.853), (1.5, 0.690, 0.412, 0.877), (2, 0.757, 0.494, 0.907),
        (3, 0.832, 0.609, 0.938), (4, 0.872, 0.683, 0.953), (6, 0.913, 0.772, 0.969), (10, 0.947, 0.854, 0.981)]


def factor(column, ratio):
    """k (column 1), k_along (2) or k_about (3) at a ratio lambda."""
    if ratio < 1.0:
        if column == 1:
            return ratio * factor(1, 1 / ratio)
        return 3 / 8 * ratio * factor(3, 1 / ratio) if column == 2 else 8 / 3 * ratio * factor(2, 1 / ratio)
    inverse = [0.0] + [1 / row[0] for row in reversed(ROWS)]
    return float(np.interp(1 / ratio, inverse, [1.0] + [row[column] for row in reversed(ROWS)]))


class Strip:
    """A strip of a plate: width along the row, length, middle and normal in body axes about the balance point, row direction."""

    def __init__(self, width, length, middle, normal, row):
        self.width, self.length, self.middle, self.normal, self.row = width, length, middle, normal, row
        self.carried = pi / 4 * length * length * width


def breaks(panels):
    """Stations at which a crosswise slice of the panels may have a kink."""
    found = set()
    for p in panels:
        for eta, chord in ((0.0, p.root_chord), (p.length, p.tip_chord)):
            found.update((p.station + eta * p.tan_sweep, p.station + eta * p.tan_sweep + chord))
    return sorted(found)


def slice_of(panels, station):
    """(lowest, highest) distance along the surface that a line of one station meets, from its root on."""
    met = []
    start = 0.0
    for p in panels:
        ends = [0.0, p.length]
        # leading edge ahead of the station and trailing edge behind it: both linear in eta
        for value, slope in ((station - p.station, -p.tan_sweep),
                             (p.station + p.root_chord - station, p.tan_sweep + (p.tip_chord - p.root_chord) / p.length)):
            if abs(slope) < 1e-12:
                if value < 0.0:
                    ends = [1.0, 0.0]
            else:
                root = -value / slope
                ends = [max(ends[0], root), ends[1]] if slope > 0.0 else [ends[0], min(ends[1], root)]
        if ends[1] > ends[0]:
            met += [start + ends[0], start + ends[1]]
        start += p.length
    return (min(met), max(met)) if met else None


def gauss(low, high, points=8):
    nodes, weights = np.polynomial.legendre.leggauss(points)
    return low + (high - low) * 0.5 * (nodes + 1), (high - low) * 0.5 * weights


def surface_matrix(surface, balance):
    """6 x 6 sum over the plates of one surface."""
    panels = panels_of(surface)
    mirrored = surface.get("mirrored", False)
    first = panels[0]
    half = sum(p.length for p in panels)
    steep = min(abs(first.dihedral), abs(pi - first.dihedral))
    together = mirrored and abs(first.right) <= 0.1 * half and steep <= pi / 4 + 1e-12
    if together:
        return plate_matrix(panels, (1.0, -1.0), balance)
    return sum(plate_matrix(panels, (side,), balance) for side in ((1.0, -1.0) if mirrored else (1.0,)))


def plate_matrix(panels, sides, balance):
    half = sum(p.length for p in panels)
    span = half * len(sides)
    fore = min(min(p.station, p.station + p.length * p.tan_sweep) for p in panels)
    aft = max(max(p.station + p.root_chord, p.station + p.length * p.tan_sweep + p.tip_chord) for p in panels)
    area = len(sides) * sum(0.5 * (p.root_chord + p.tip_chord) * p.length for p in panels)
    dihedral = panels[0].dihedral
    chordwise = span >= aft - fore

    def body(station, along, side):
        """Body coordinates of a place given by station and distance along the surface from its root."""
        root = panels[0]
        return np.array([balance[0] - station, side * (root.right + along * cos(dihedral)) - balance[1],
                         balance[2] - (root.up + along * sin(dihedral))])

    def out(side):
        """Unit vector along the surface away from its root, in body directions."""
        return np.array([0.0, side * cos(dihedral), -sin(dihedral)])

    strips, longest = [], 0.0
    if chordwise:
        for side in sides:
            row = out(side)
            normal = np.cross(row, [1.0, 0.0, 0.0])
            start = 0.0
            for p in panels:
                longest = max(longest, p.root_chord, p.tip_chord)
                for eta, width in zip(*gauss(0.0, p.length)):
                    chord = p.root_chord + (p.tip_chord - p.root_chord) * eta / p.length
                    middle = body(p.station + eta * p.tan_sweep + 0.5 * chord, start + eta, side)
                    strips.append(Strip(width, chord, middle, normal, row))
                start += p.length
        e, strip_way = (np.array([0.0, 1.0, 0.0]) if len(sides) == 2 else out(sides[0])), np.array([1.0, 0.0, 0.0])
    else:
        e = np.array([1.0, 0.0, 0.0])
        strip_way = np.array([0.0, 1.0, 0.0]) if len(sides) == 2 else out(sides[0])
        normal = np.cross(strip_way, e)
        stations = breaks(panels)
        for low, high in zip(stations, stations[1:]):
            for station in (low, high):
                ends = slice_of(panels, station + 1e-9 * ((low + high) / 2 - station))
                if ends:
                    longest = max(longest, len(sides) * (ends[1] - ends[0]))
            for station, width in zip(*gauss(low, high)):
                ends = slice_of(panels, station)
                if ends:
                    along = 0.5 * (ends[0] + ends[1])
                    middle = body(station, along, sides[0])
                    if len(sides) == 2:
                        middle[1] = -balance[1]
                    strips.append(Strip(width, len(sides) * (ends[1] - ends[0]), middle, normal, e))
    extent = span if chordwise else aft - fore
    fullness = area / (extent * longest)
    ratio = extent**2 / area * min(1.0, max(0.5, 2 * fullness - 0.5))
    ratio_along = extent**2 / area * min(1.4, 1 + 1.5 * (1 - fullness))
    k, k_along, k_about = factor(1, ratio), factor(2, ratio_along), factor(3, ratio)
    centre = sum(s.carried * s.middle for s in strips) / sum(s.carried for s in strips)
    total = np.zeros((6, 6))
    for s in strips:
        g = np.concatenate([s.normal, np.cross(s.middle - centre, s.normal)])
        turn = np.concatenate([np.zeros(3), s.row])
        total += s.carried * np.outer(g, g) + pi / 128 * s.length**4 * s.width * np.outer(turn, turn)
    # axes of the plate: row, strip, normal
    axes = np.array([e, strip_way, np.cross(strip_way, e)])
    moments = axes.T @ np.diag([sqrt(k_about), sqrt(k_along), sqrt(k_along)]) @ axes
    roots = np.block([[sqrt(k) * np.eye(3), np.zeros((3, 3))], [np.zeros((3, 3)), moments]])
    total = roots @ total @ roots
    # from the centroid to the balance point: moment about it is that about the centroid plus centre x force
    x, y, z = centre
    lever = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    shift = np.block([[np.eye(3), np.zeros((3, 3))], [lever, np.eye(3)]])
    return shift @ total @ shift.T


def apparent_mass(surfaces, balance):
    return sum((surface_matrix(surface, balance) for surface in surfaces), np.zeros((6, 6)))
