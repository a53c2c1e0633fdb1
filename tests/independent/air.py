"""Section 4: density, mean wind with its profile, gusts and turbulence, with the derivatives the flight needs."""

from math import cos, e, log, pi, radians, sin

import numpy as np

import turbulence
from vectors import add, dot, scale, times

G0 = 9.80665  # m/s^2, section 3
GAS_CONSTANT, LAPSE, EARTH_RADIUS = 287.05287, -0.0065, 6356766.0  # section 4.1
TWENTY_FEET = 6.096  # m


def wind_vector(entry):
    speed, direction = entry.get("speed_m_s", 0.0), radians(entry.get("from_deg", 0.0))
    return [-speed * cos(direction), -speed * sin(direction), -entry.get("up_m_s", 0.0)]


class Profile:
    """Share of the mean speed at a height, with its two derivatives (section 4.2)."""

    def __init__(self, entry):
        self.reference = entry["speed_height_m"]
        self.logarithmic = entry["form"] == "logarithmic"
        if self.logarithmic:
            self.roughness = entry["roughness_m"]
            self.foot, self.power = e * self.roughness, 1.0
        else:
            self.exponent = self.power = entry["exponent"]
            self.foot = 0.1
        self.at_foot = self.law(self.foot)[0]

    def law(self, h):
        if self.logarithmic:
            bottom = log(self.reference / self.roughness)
            return log(h / self.roughness) / bottom, 1 / (h * bottom), -1 / (h * h * bottom)
        f, n = (h / self.reference) ** self.exponent, self.exponent
        return f, n * f / h, n * (n - 1) * f / (h * h)

    def __call__(self, h):
        if h >= self.foot:
            return self.law(h)
        if h < 0.0:
            return 0.0, 0.0, 0.0
        s, m = h / self.foot, self.power
        return (self.at_foot * ((2 - m) * s - (1 - m) * s * s), self.at_foot * ((2 - m) - 2 * (1 - m) * s) / self.foot,
                -2 * self.at_foot * (1 - m) / self.foot**2)


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
        """The pulse, its first and second derivative at s, taken as inside whatever s is: the segment says whether the gust is on."""
        turn = 2 * pi / self.length
        phase = turn * (s - self.start)
        return 0.5 * (1 - cos(phase)), 0.5 * turn * sin(phase), 0.5 * turn * turn * cos(phase)


class Felt:
    """Wind at a place (earth axes): velocity, its time derivative, its gradient (rows dW_i/dx_j), and the gradients felt in roll and
    in pitch and yaw. `gradient` is None in a uniform wind."""

    def __init__(self, velocity):
        self.velocity, self.change, self.gradient = velocity, [0.0, 0.0, 0.0], None
        self.roll = self.turn = None


class Air:
    def __init__(self, entry, launch, reference_span):
        self.temperature = entry.get("temperature_C", 15.0) + 273.15
        self.pressure = 100.0 * entry.get("pressure_hPa", 1013.25)
        wind = entry.get("wind", {})
        self.full = wind_vector(wind)
        form = wind.get("profile", {"form": "uniform"})
        self.profile = None if form["form"] == "uniform" else Profile(form)
        release = float(launch["release_height_m"])
        self.carrier = self.mean(form.get("carried_at_height_m", release)) if self.profile else list(self.full)
        self.gusts = [Gust(gust, launch.get("heading_deg", 0.0)) for gust in entry.get("gusts", [])]
        self.active = []
        self.waves = self.make_waves(entry.get("turbulence"), wind, release, reference_span)

    def make_waves(self, entry, wind, release, span):
        if entry is None:
            return None
        share = self.profile(TWENTY_FEET)[0] if self.profile else 1.0
        w_20 = entry.get("wind_at_20_ft_m_s", wind.get("speed_m_s", 0.0) * share)
        l_u, l_w, s_u, s_w = turbulence.scales(entry.get("height_m", release), w_20)
        s_u, s_w = entry.get("horizontal_intensity_m_s", s_u), entry.get("vertical_intensity_m_s", s_w)
        if s_u == 0.0 and s_w == 0.0:
            return None
        return turbulence.field(entry["seed"], l_u, l_w, s_u, s_w, span)

    def density(self, height):
        geopotential = EARTH_RADIUS * height / (EARTH_RADIUS + height)
        kappa = -G0 / (LAPSE * GAS_CONSTANT)
        ratio = 1 + LAPSE * geopotential / self.temperature
        return self.pressure / (GAS_CONSTANT * self.temperature) * ratio ** (kappa - 1)

    def mean(self, height):
        share = self.profile(height)[0]
        return [self.full[0] * share, self.full[1] * share, self.full[2]]

    def gust_place(self, gust, t, place):
        """xi of section 4.3 at a place (earth axes)."""
        return dot(gust.along, place) - dot(gust.along, self.carrier) * t

    def at(self, t, place):
        """What is felt at a place (earth axes)."""
        felt = Felt(list(self.full) if self.profile is None else self.mean(-place[2]))
        rows = None
        if self.profile is not None:
            slope = self.profile(-place[2])[1]
            rows = [[0.0, 0.0, -self.full[0] * slope], [0.0, 0.0, -self.full[1] * slope], [0.0, 0.0, 0.0]]
        for gust in self.active:
            g = gust.velocity
            if not gust.by_place:
                size, slope, _ = gust.pulse(t)
                felt.velocity, felt.change = add(felt.velocity, scale(size, g)), add(felt.change, scale(slope, g))
                continue
            size, slope, _ = gust.pulse(self.gust_place(gust, t, place))
            felt.velocity = add(felt.velocity, scale(size, g))
            felt.change = add(felt.change, scale(-slope * dot(gust.along, self.carrier), g))
            more = [scale(slope * g[i], gust.along) for i in range(3)]
            rows = more if rows is None else [add(rows[i], more[i]) for i in range(3)]
        felt.gradient = felt.roll = felt.turn = rows
        if self.waves is not None:
            k, a, b, roll, turn = self.waves
            theta = k @ (np.array(place) - np.array(self.carrier) * t)
            c, s = np.cos(theta)[:, None], np.sin(theta)[:, None]
            slopes = b * c - a * s
            felt.velocity = add(felt.velocity, (a * c + b * s).sum(axis=0).tolist())
            full = (slopes.T @ k).tolist()
            felt.change = add(felt.change, scale(-1.0, times(full, self.carrier)))
            zero = [[0.0] * 3] * 3 if rows is None else rows
            felt.gradient, felt.roll, felt.turn = ([add(zero[i], m[i]) for i in range(3)] for m in (
                full, ((slopes * roll).T @ k).tolist(), ((slopes * turn).T @ k).tolist()))
        return felt

    def gradient_rate(self, t, place, velocity):
        """D(dW/dx) of section 5.4 along the path of a place that moves with a velocity: as felt in roll, and in pitch and yaw."""
        rows = [[0.0] * 3 for _ in range(3)]
        if self.profile is not None:
            curve = self.profile(-place[2])[2] * velocity[2]
            rows = [[0.0, 0.0, self.full[0] * curve], [0.0, 0.0, self.full[1] * curve], [0.0, 0.0, 0.0]]
        relative = [velocity[i] - self.carrier[i] for i in range(3)]
        for gust in self.active:
            if gust.by_place:
                bend = gust.pulse(self.gust_place(gust, t, place))[2] * dot(gust.along, relative)
                rows = [add(rows[i], scale(bend * gust.velocity[i], gust.along)) for i in range(3)]
        if self.waves is None:
            return rows, rows
        k, a, b, roll, turn = self.waves
        theta = k @ (np.array(place) - np.array(self.carrier) * t)
        moving = -(k @ np.array(relative))[:, None] * (a * np.cos(theta)[:, None] + b * np.sin(theta)[:, None])
        return tuple([add(rows[i], m[i]) for i in range(3)] for m in (((moving * roll).T @ k).tolist(), ((moving * turn).T @ k).tolist()))
