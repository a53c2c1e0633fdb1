"""Vectors as lists of three floats, rotations as three rows (section 1)."""

from math import atan2, hypot, pi


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
