"""Section 7: programmes, slew limits, the holding pilot, the rate damper and what takes the power away.

The commands the motors and tabs get are straight lines in time between cuts. `Controls` holds the lines in force and finds the next cut.
"""

from math import atan2, cos, inf, isfinite, log, pi, radians, sin, sqrt

from vectors import rotation, times

SAME_CUT_S = 1e-9


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

    def line(self, time):
        """(time it starts, value there, slope) of the straight line in force at a time."""
        return [piece for piece in self.pieces if piece[0] <= time][-1]

    def at(self, time):
        start, value, slope = self.line(time)
        return value if slope == 0.0 else value + slope * (time - start)

    def slope(self, time):
        return self.line(time)[2]

    def knots(self):
        return [start for start, _, _ in self.pieces if isfinite(start)]


def limited(value, limit):
    return min(limit, max(-limit, value))


class Sampled:
    """A controller that looks at k times its sample time; a command made of a look is in force from a delay later on."""

    def __init__(self, sample_time, delay):
        self.sample_time, self.delay = sample_time, delay
        self.next_look = 0
        self.under_way = []  # (time it comes into force, command)
        self.command = (0.0, 0.0)  # throttle, left-minus-right

    def look_time(self):
        return self.next_look * self.sample_time

    def next_time(self):
        return min([self.look_time(), *(time for time, _ in self.under_way)])

    def act(self, t, y):
        """Look if it is time, and put into force what is due, at a cut."""
        if self.look_time() <= t + SAME_CUT_S:
            self.under_way.append((self.look_time() + self.delay, self.look(self.next_look, self.look_time(), y)))
            self.next_look += 1
        while self.under_way and self.under_way[0][0] <= t + SAME_CUT_S:
            self.command = self.under_way.pop(0)[1]


class Holder(Sampled):
    """Section 7.3."""

    def __init__(self, entry):
        super().__init__(entry.get("sample_time_s", 0.15), entry.get("delay_s", 0.25))
        self.heading, self.height, self.climb = entry.get("heading"), entry.get("height"), entry.get("climb")
        plans = ((self.heading, "deg", radians(1.0)), (self.height, "m", 1.0), (self.climb, "m_s", 1.0))
        self.plans = [plan and Programme(unit * plan[f"at_release_{name}"], plan.get("changes", []), f"to_{name}", unit)
                      for plan, name, unit in plans]

    def look(self, _, t, y):
        rows = rotation(y[3:7])
        throttle = difference = 0.0
        if self.heading:
            missing = self.plans[0].at(t) - atan2(rows[1][0], rows[0][0])
            missing -= 2 * pi * round(missing / (2 * pi))
            bank = limited(self.heading["bank_per_heading"] * missing, radians(self.heading["largest_bank_deg"]))
            gain = self.heading["gain_fraction_deg"] * 180 / pi
            difference = limited(gain * (bank - atan2(rows[2][1], rows[2][2])), self.heading["largest_fraction"])
        down = times(rows, y[7:10])[2]
        if self.height:
            climb = limited(self.height["climb_per_height_1_s"] * (self.plans[1].at(t) + y[2]), self.height["largest_climb_m_s"])
            throttle = limited(self.height["gain_fraction_s_m"] * (climb + down), self.height["largest_fraction"])
        elif self.climb:
            throttle = limited(self.climb["gain_fraction_s_m"] * (self.plans[2].at(t) + down), self.climb["largest_fraction"])
        return throttle, difference


class Damper(Sampled):
    """Section 7.4."""

    def __init__(self, entry, seed):
        super().__init__(entry.get("sample_time_s", 0.01), entry.get("delay_s", 0.01))
        self.gains = [entry.get(f"{axis}_gain_s", 0.0) for axis in ("roll", "pitch", "yaw")]
        self.biases = [radians(entry.get(f"{axis}_bias_deg_s", 0.0)) for axis in ("roll", "pitch", "yaw")]
        self.noise, self.largest = radians(entry.get("noise_deg_s", 0.0)), entry.get("saturation_fraction", 0.2)
        self.seed = seed

    def look(self, number, _, y):
        noise = normal_numbers(self.seed, number) if self.noise else (0.0, 0.0, 0.0)
        p, q, r = (rate + bias + self.noise * n for rate, bias, n in zip(y[10:13], self.biases, noise))
        roll, pitch, yaw = self.gains
        return limited(pitch * q, self.largest), limited(-roll * p - yaw * r, self.largest)


def chacha20_block(key, nonce):
    """First block (counter 0) of the key stream, as 16 32-bit words; key of 8 words, nonce of 64 bits."""
    start = [0x61707865, 0x3320646E, 0x79622D32, 0x6B206574, *key, 0, 0, nonce & 0xFFFFFFFF, nonce >> 32]
    x = list(start)

    def turn(word, bits):
        return (word << bits | word >> (32 - bits)) & 0xFFFFFFFF

    def quarter(a, b, c, d):
        for p, q, r, bits in ((a, b, d, 16), (c, d, b, 12), (a, b, d, 8), (c, d, b, 7)):
            x[p] = (x[p] + x[q]) & 0xFFFFFFFF
            x[r] = turn(x[r] ^ x[p], bits)

    for _ in range(10):
        for column in range(4):
            quarter(column, column + 4, column + 8, column + 12)
        for column in range(4):
            quarter(column, 4 + (column + 1) % 4, 8 + (column + 2) % 4, 12 + (column + 3) % 4)
    return [(a + b) & 0xFFFFFFFF for a, b in zip(x, start)]


def normal_numbers(seed, number):
    words = chacha20_block([seed & 0xFFFFFFFF, seed >> 32, 0, 0, 0, 0, 0, 0], number)
    a = [(words[2 * j] | words[2 * j + 1] << 32) >> 11 for j in range(4)]
    first, second = (sqrt(-2 * log((a[j] + 1) * 2.0**-53)) for j in (0, 2))
    turn_1, turn_2 = (2 * pi * a[j] * 2.0**-53 for j in (1, 3))
    return first * cos(turn_1), first * sin(turn_1), second * cos(turn_2)


class Followed:
    """A duty or a tab: its value as a straight line in time since the last cut, after a target no faster than a limit."""

    def __init__(self, limit):
        self.limit = limit
        self.time, self.value, self.slope = 0.0, None, 0.0
        self.meets = inf

    def at(self, t):
        return self.value + self.slope * (t - self.time)

    def follow(self, t, target, slope):
        """From a cut on, after a target's value and slope there."""
        now = target if self.value is None or self.limit is None else self.at(t)
        if abs(self.meets - t) <= SAME_CUT_S or abs(now - target) < 1e-13:
            now = target
        self.time, self.value, self.meets = t, now, inf
        if self.limit is None or (now == target and abs(slope) <= self.limit):
            self.slope = slope
            return
        self.slope = self.limit if (target > now or (now == target and slope > 0.0)) else -self.limit
        if self.slope != slope and now != target:
            meets = t + (target - now) / (self.slope - slope)
            self.meets = meets if meets > t else inf


class Controls:
    """All commands of a flight. `cut` puts the lines in force from a time on; `next_cut` says how far they hold."""

    def __init__(self, pilot, damper, tabs, motor_rights):
        self.throttle, self.difference = (Programme(entry.get("at_release_fraction", 0.0), entry.get("changes", []), "to_fraction")
                                          for entry in (pilot.get("throttle", {}), pilot.get("left_minus_right", {})))
        changes = {entry["tab"]: entry["changes"] for entry in pilot.get("tabs", [])}
        self.tab_programmes = [Programme(setting, changes.get(name, []), "to_deg", radians(1.0)) for name, setting, _ in tabs]
        left_and_right = len(motor_rights) == 2 and min(motor_rights) < 0.0 < max(motor_rights)
        # share of the left-minus-right difference each motor gets
        self.shares = [0.0 if not left_and_right else 0.5 if right < 0.0 else -0.5 for right in motor_rights]
        slew = pilot.get("slew", {})
        tab_limit = slew.get("tabs_largest_rate_deg_s")
        self.duty = [Followed(slew.get("throttle_largest_rate_fraction_s")) for _ in self.shares]
        self.tab = [Followed(None if tab_limit is None else radians(tab_limit)) for _ in tabs]
        self.sampled = [Holder(pilot["hold"])] if "hold" in pilot else []
        if any(damper.get(f"{axis}_gain_s", 0.0) for axis in ("roll", "pitch", "yaw")):
            self.sampled.append(Damper(damper, pilot.get("gyro_seed", 0)))
        self.cut_time = pilot["power_cut"]["at_s"] if "power_cut" in pilot else inf
        self.power = True
        self.knots = sorted({knot for programme in (self.throttle, self.difference, *self.tab_programmes) for knot in programme.knots()})
        self.crossing = inf

    def take_power(self):
        self.power = False
        self.sampled = []

    def cut(self, t, y):
        """Everything that changes at a cut, with the state at it."""
        if self.power and self.cut_time <= t + SAME_CUT_S:
            self.take_power()
        for controller in self.sampled:
            controller.act(t, y)
        self.lines(t)

    def lines(self, t):
        # a knot within the width of a cut has been reached: look a little ahead for the line in force
        ahead = t + SAME_CUT_S
        self.crossing = inf
        for followed, share in zip(self.duty, self.shares):
            if not self.power:
                followed.time, followed.value, followed.slope, followed.meets = t, 0.0, 0.0, inf
                continue
            asked, slope = self.asked(t, ahead, share)
            # d_i meets 0 or 1
            for limit in (0.0, 1.0):
                if slope != 0.0 and (limit - asked) / slope > SAME_CUT_S:
                    self.crossing = min(self.crossing, t + (limit - asked) / slope)
            inside = 0.0 <= asked + slope * SAME_CUT_S <= 1.0
            followed.follow(t, min(1.0, max(0.0, asked)), slope if inside else 0.0)
        for followed, programme in zip(self.tab, self.tab_programmes):
            followed.follow(t, value_at(programme, t, ahead), programme.slope(ahead))

    def asked(self, t, ahead, share):
        """D_i of section 7.1 and its slope."""
        throttle = sum(controller.command[0] for controller in self.sampled)
        difference = sum(controller.command[1] for controller in self.sampled)
        return (value_at(self.throttle, t, ahead) + throttle + share * (value_at(self.difference, t, ahead) + difference),
                self.throttle.slope(ahead) + share * self.difference.slope(ahead))

    def next_cut(self, t):
        """First time after t at which the lines may change."""
        times_ = [knot for knot in self.knots if knot > t + SAME_CUT_S]
        times_ += [controller.next_time() for controller in self.sampled]
        times_ += [followed.meets for followed in (*self.duty, *self.tab)]
        times_ += [self.crossing, self.cut_time if self.power else inf]
        return min(time for time in [*times_, inf] if time > t + SAME_CUT_S)

    def duties(self, t):
        return [followed.at(t) for followed in self.duty]

    def tabs(self, t):
        return [followed.at(t) for followed in self.tab]


def value_at(programme, t, ahead):
    """Value at t of the line in force just after it."""
    start, value, slope = programme.line(ahead)
    return value if slope == 0.0 else value + slope * (t - start)
