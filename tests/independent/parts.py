"""Section 3.1: mass, balance point and inertia from parts. Builder's axes are arrays (station, right, up) in m."""

import numpy as np

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
