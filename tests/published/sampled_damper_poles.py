"""Closed-loop poles of a sampled rate damper on a first-order roll mode, by SciPy: writes sampled_damper_poles.csv beside itself.

Plant dp/dt = -a p + b u, u = -gain * p(sample k) held from the sample's time plus a delay until the next one. The delay is whole samples and
a part of one. State between samples: p, then the commands under way. The plant is discretised by scipy.signal.cont2discrete over both
parts of a sample, the poles are numpy.linalg.eigvals of the closed loop.
"""

from pathlib import Path

import numpy as np
import scipy
from scipy.signal import cont2discrete

A, B = 4.0, 60.0


def held(duration):
    """Discrete plant over a time with the input held."""
    if duration == 0.0:
        return 1.0, 0.0
    phi, gamma, *_ = cont2discrete((np.array([[-A]]), np.array([[B]]), np.eye(1), np.zeros((1, 1))), duration)
    return phi[0, 0], gamma[0, 0]


def poles(sample, whole, part, gain):
    """Poles in z with a delay of (whole + part) samples, 0 <= part < 1."""
    early_phi, early_gamma = held(part * sample)
    late_phi, late_gamma = held((1.0 - part) * sample)
    # u_{k-whole-1} acts for the first part of the sample, u_{k-whole} for the rest.
    size = whole + 2
    loop = np.zeros((size, size))
    now = np.zeros(size)
    now[0] = -gain
    command = lambda back: now if back == 0 else np.eye(size)[back]
    loop[0, 0] = late_phi * early_phi
    loop[0] += late_gamma * command(whole) + late_phi * early_gamma * command(whole + 1)
    for back in range(1, size):
        loop[back] = command(back - 1)
    return np.linalg.eigvals(loop)


def main():
    lines = [
        f"# Source: sampled_damper_poles.py beside this file, SciPy {scipy.__version__}, NumPy {np.__version__}: poles in z of a sampled damper on dp/dt = -a p + b u,",
        f"# a {A} 1/s, b {B} 1/s2 per unit of difference; delay in samples. Up to four poles; those not there are 0 (a pole at 0 changes nothing).",
        "sample_s, delay_samples, gain_s, real_1, imaginary_1, real_2, imaginary_2, real_3, imaginary_3, real_4, imaginary_4",
    ]
    for sample, whole, part, gain in [
        (0.01, 0, 0.0, 0.2),
        (0.01, 1, 0.0, 0.2),
        (0.01, 2, 0.0, 0.2),
        (0.02, 0, 0.5, 0.3),
        (0.02, 1, 0.25, 0.3),
        (0.05, 0, 0.0, 0.5),
        (0.05, 1, 0.0, 0.5),
    ]:
        found = sorted(poles(sample, whole, part, gain), key=lambda z: (-abs(z), -z.imag))
        found = [z if abs(z) > 1e-12 else 0.0 for z in found] + [0.0] * (4 - len(found))
        numbers = [sample, whole + part, gain] + [x for z in found for x in (complex(z).real, complex(z).imag)]
        lines.append(", ".join(repr(float(x)) for x in numbers))
    Path(__file__).with_suffix(".csv").write_text("\n".join(lines) + "\n")


main()
