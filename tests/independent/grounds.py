"""Sections 9 and 9.1: ground, walls and hall, as clearances that end a flight where they reach 0."""

from math import cos, hypot, inf, radians, sin

from vectors import dot, rotation, transposed_times


class Grounds:
    def __init__(self, site, launch, airframe):
        self.airframe = airframe
        self.ground_height = site.get("ground_height_m", 0.0)
        self.ground_effect = site.get("ground_effect", True)
        self.walls = [([cos(radians(w["heading_deg"])), sin(radians(w["heading_deg"])), 0.0], w["distance_m"]) for w in site.get("walls", [])]
        hall = site.get("hall")
        self.ceiling = hall["ceiling_height_m"] if hall else None
        self.hall = Hall(hall_corners(hall, launch.get("heading_deg", 0.0))) if hall else None

    def reach(self, y, direction):
        """How far the outermost point lies beyond the balance point along an earth direction."""
        return self.airframe.reach(transposed_times(rotation(y[3:7]), direction))

    def events(self):
        """(kind, function of (t, y)) of everything that ends a flight where it falls to 0."""
        found = [("ground", lambda t, y: -y[2] - self.ground_height - self.reach(y, [0.0, 0.0, 1.0]))]
        found += [("wall", lambda t, y, d=direction, far=distance: far - dot(d, y[0:3]) - self.reach(y, d))
                  for direction, distance in self.walls]
        if self.hall:
            found.append(("ceiling", lambda t, y: self.ceiling + y[2] - self.reach(y, [0.0, 0.0, -1.0])))
            found.append(("wall", lambda t, y: self.hall.clearance(y, self.reach)))
        return found


def hall_corners(hall, launch_heading_deg):
    """Corners (north, east) in order."""
    if "corners" in hall:
        return [(corner["north_m"], corner["east_m"]) for corner in hall["corners"]]
    r = hall["rectangle"]
    heading = radians(r.get("heading_deg", launch_heading_deg))
    ways = ((r["ahead_m"], -r["left_m"]), (r["ahead_m"], r["right_m"]), (-r["behind_m"], r["right_m"]), (-r["behind_m"], -r["left_m"]))
    return [(x * cos(heading) - y * sin(heading), x * sin(heading) + y * cos(heading)) for x, y in ways]


class Hall:
    def __init__(self, corners):
        self.corners = corners
        pairs = list(zip(corners, corners[1:] + corners[:1]))
        turned = sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs)
        sign = 1.0 if turned > 0.0 else -1.0
        self.walls = []  # outward normal, direction, distance, stretch along the direction
        for a, b in pairs:
            length = hypot(b[0] - a[0], b[1] - a[1])
            t = ((b[0] - a[0]) / length, (b[1] - a[1]) / length)
            n = (sign * t[1], -sign * t[0])
            along = sorted(t[0] * c[0] + t[1] * c[1] for c in (a, b))
            self.walls.append(([*n, 0.0], [*t, 0.0], n[0] * a[0] + n[1] * a[1], along))
        self.convex = all(n[0] * c[0] + n[1] * c[1] <= distance + 1e-9 for n, _, distance, _ in self.walls for c in corners)

    def clearance(self, y, reach):
        least = inf
        for n, t, distance, (low, high) in self.walls:
            across, along = dot(n, y[0:3]), dot(t, y[0:3])
            s = distance - across - reach(y, n)
            if not self.convex:
                back_n, back_t = ([-part for part in way] for way in (n, t))
                s = max(s, across - reach(y, back_n) - distance, low - along - reach(y, t), along - reach(y, back_t) - high)
            least = min(least, s)
        return least if self.inside(y) else min(least, -self.away(y))

    def inside(self, y):
        crossed = False
        for a, b in zip(self.corners, self.corners[1:] + self.corners[:1]):
            if (a[1] > y[1]) != (b[1] > y[1]) and y[0] < a[0] + (b[0] - a[0]) * (y[1] - a[1]) / (b[1] - a[1]):
                crossed = not crossed
        return crossed

    def away(self, y):
        """Distance in plan from the polygon's edge."""
        return min(hypot(dot(n, y[0:3]) - distance, max(0.0, low - dot(t, y[0:3]), dot(t, y[0:3]) - high))
                   for n, t, distance, (low, high) in self.walls)
