"""Dryden turbulence written from sim-core/MODEL.md section 4.5 alone, in NumPy, and its spectra by scipy.signal.welch.

python3 tests/independent/turbulence.py OUT_DIR
writes turbulence_field.csv (winds and derivatives at places for a few seeds) and turbulence_welch.csv (mean spectra in bands along straight
tracks, over many seeds, beside the one-sided spectra of MIL-F-8785C).
"""

import sys
from pathlib import Path

import numpy as np
from scipy.signal import welch

MULTIPLIER = 0x2360ED051FC65DA44385DF649FCCF645
INCREMENT = 109
WAVES = 48
SHORTEST = 0.5
FOOT = 0.3048


def scales(height, wind_at_20_ft):
    height = max(height, 10 * FOOT)
    ratio = 0.177 + 0.000823 * height / FOOT
    s_w = 0.1 * wind_at_20_ft
    return height / ratio**1.2, height, s_w / ratio**0.4, s_w


def field(seed, l_u, l_w, s_u, s_w, span):
    generator = np.random.PCG64()
    state = generator.state
    state["state"] = {"state": ((seed + INCREMENT) * MULTIPLIER + INCREMENT) % 2**128, "inc": INCREMENT}
    generator.state = state
    u = (generator.random_raw(2 + 4 * WAVES) >> np.uint64(11)).astype(float) / 2.0**53
    v_1, v_2 = u[:2]
    u = u[2:].reshape(WAVES, 4)
    k_min, k_max = 0.4 / max(l_u, l_w), 2 * np.pi / SHORTEST
    delta = np.log(k_max / k_min) / WAVES
    n = np.arange(WAVES)
    p = 1.32471795724474602596
    k = k_min * np.exp((n + u[:, 0]) * delta)
    cos_t = 2 * np.mod(v_1 + n / p, 1) - 1
    sin_t = np.sqrt(1 - cos_t**2)
    psi = 2 * np.pi * np.mod(v_2 + n / p**2, 1)
    waves = k[:, None] * np.stack([sin_t * np.cos(psi), sin_t * np.sin(psi), cos_t], 1)

    def energy(length, sigma):
        x = k * length
        return sigma**2 * 8 * length / np.pi * x**4 / (1 + x**2) ** 3

    s_h, s_v = np.sqrt(2 * energy(l_u, s_u) * k * delta), np.sqrt(2 * energy(l_w, s_w) * k * delta)
    phi = 2 * np.pi * u[:, 1:]

    def amplitudes(f):
        return np.stack(
            [
                s_h * (-np.sin(psi) * f[0] + cos_t * np.cos(psi) * f[1]),
                s_h * (np.cos(psi) * f[0] + cos_t * np.sin(psi) * f[1]),
                s_v * sin_t * f[2],
            ],
            1,
        )

    a = amplitudes(np.cos(phi).T)
    b = amplitudes(-np.sin(phi).T)

    def share(c):
        return 1 / np.sqrt(1 + 5 / 9 * (c * k) ** 2)

    roll = np.repeat(share(2 * span / np.pi)[:, None], 3, 1)
    turn = np.stack([share(3 * span / np.pi)] * 2 + [share(4 * span / np.pi)], 1)
    return waves, a, b, roll, turn


def sample(field, places):
    """Velocity (n, 3), gradient, roll and turn gradient (n, 3, 3) at places (n, 3) in the carried air."""
    waves, a, b, roll, turn = field
    theta = places @ waves.T
    cos, sin = np.cos(theta), np.sin(theta)
    slope = cos[:, :, None] * b - sin[:, :, None] * a
    gradients = [np.einsum("pni,nj->pij", slope * share, waves) for share in (np.ones_like(roll), roll, turn)]
    return cos @ a + sin @ b, *gradients


def along(omega, length, sigma):
    return sigma**2 * 2 * length / np.pi / (1 + (length * omega) ** 2)


def across(omega, length, sigma):
    x = (length * omega) ** 2
    return sigma**2 * length / np.pi * (1 + 3 * x) / (1 + x) ** 2


def main(folder):
    with open(folder / "turbulence_field.csv", "w") as out:
        out.write("# Source: tests/independent/turbulence.py, written from sim-core/MODEL.md section 4.5 alone with NumPy's PCG64.\n")
        out.write("# Height 15.24 m, wind at 20 ft 7.71 m/s, span 0.5 m; velocity m/s, gradients row by row 1/s.\n")
        names = [f"{what}{i}{j}" for what in ("full", "roll", "turn") for i in "xyz" for j in "xyz"]
        out.write(",".join(["seed", "x_m", "y_m", "z_m", "u", "v", "w"] + names) + "\n")
        for seed in (0, 1, 2024, 4294967295):
            made = field(seed, *scales(15.24, 7.71), 0.5)
            places = np.array([[0.0, 0.0, -2.0], [31.0, -7.5, -4.25], [-120.0, 260.0, -18.0]])
            velocity, *gradients = sample(made, places)
            for i, place in enumerate(places):
                row = [*place, *velocity[i], *np.concatenate([g[i].ravel() for g in gradients])]
                out.write(",".join([str(seed)] + [repr(float(x)) for x in row]) + "\n")

    step, points, seeds = 0.2, 8192, 60
    l_u, l_w, s_u, s_w = scales(15.24, 7.71)
    edges = [0.05, 0.15, 0.5, 1.5, 3.0]
    with open(folder / "turbulence_welch.csv", "w") as out:
        out.write("# Source: tests/independent/turbulence.py with scipy.signal.welch (Hann, segments of 2048), mean over 60 seeds a heading.\n")
        out.write("# One-sided over angular wave number, m^3/s^2 per rad; part 0 along the track, 1 to its right, 2 down. MIL-F-8785C beside it.\n")
        out.write("heading_rad,part,from_rad_m,to_rad_m,found,standard\n")
        for heading in (0.0, 0.8, 2.2):
            e = np.array([np.cos(heading), np.sin(heading), 0.0])
            right = np.array([-e[1], e[0], 0.0])
            places = np.arange(points)[:, None] * step * e
            total = 0
            for seed in range(seeds):
                velocity = sample(field(seed + 1000 * int(10 * heading), l_u, l_w, s_u, s_w, 0.5), places)[0]
                parts = np.stack([velocity @ e, velocity @ right, velocity[:, 2]])
                f, psd = welch(parts, fs=1 / step, nperseg=2048, detrend=False)
                total = total + psd / (2 * np.pi)
            omega = 2 * np.pi * f
            standard = [along(omega, l_u, s_u), across(omega, l_u, s_u), across(omega, l_w, s_w)]
            for part in range(3):
                for low, high in zip(edges, edges[1:]):
                    inside = (omega >= low) & (omega < high)
                    found, wanted = (total[part] / seeds)[inside].mean(), standard[part][inside].mean()
                    out.write(f"{heading},{part},{low},{high},{found!r},{wanted!r}\n".replace("np.float64(", "").replace(")", ""))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
