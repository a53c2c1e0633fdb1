"""SciPy: solve_ivp with a right-hand side in Python, in two ways.

One throw at a time: the right-hand side in scalars with the math module, which for 16 states is faster than small NumPy arrays. All as one
system: the states of all throws in one NumPy vector, one step for all; each segment between two cuts is flown in its own share of time,
0 to 1, so that all throws meet their cuts together. Both end each segment exactly at the throttle step and the gust's edges.

Run:  python scipy_solve_ivp.py [one]   (best setting of a scan; with `one` the throws one at a time only)
"""

import json
import math
import sys
from math import pi

import numpy as np
import scipy
from scipy.integrate import solve_ivp

import lean_model as lean
import measure

K = lean.constants()
PIECES = np.concatenate([K.thrust_pieces, K.torque_pieces, K.knots[:-1, None]], axis=1)  # (12, 9)
PIECE_ROWS = PIECES.tolist()


def piece(j):
    """Cubics and knot at an advance ratio; the table's rows are 0.1 apart in J."""
    return PIECE_ROWS[min(max(math.floor(10.0 * j + 1.0) + 1, 0), 11)]


def pieces(j):
    return PIECES[np.clip(np.floor(10.0 * j + 1.0).astype(int) + 1, 0, 11)].T


# folded constants
S, B, C, C90 = K.area, K.span, K.chord, K.c_90
LIFT_Q, PITCH_Q = C * K.lift_q, C * C * K.pitch_q
ROLL_BETA, ROLL_P, ROLL_R = B * K.roll_beta, B * B * K.roll_p, B * B * K.roll_r
YAW_BETA, YAW_P, YAW_R = B * K.yaw_beta, B * B * K.yaw_p, B * B * K.yaw_r
SIDE_BETA, SIDE_P, SIDE_R = K.side_beta, B * K.side_p, B * K.side_r
PITCH_0, PITCH_ALPHA = C * K.pitch_zero, C * K.pitch_alpha
ALPHA_RATE, BETA_RATE = 2 / K.alpha_blend, 2 / K.beta_blend
LEVEL, UPRIGHT, FRICTION = C90 * K.level_area, C90 * K.upright_area, S * K.drag_min
J2_XH, J2_XV, J2_Y, J2_Z = C90 * K.j2_xh, C90 * K.j2_xv, C90 * K.j2_y, C90 * K.j2_z
J3_X, J3_Y, J3_Z = 0.5 * C90 * K.j3_x, 0.5 * C90 * K.j3_y, 0.5 * C90 * K.j3_z
DENSITY_0, LAPSE = K.pressure / (lean.GAS_CONSTANT * K.temperature), lean.LAPSE / K.temperature
D_TURN, D2, D3 = K.diameter / (2 * pi), K.diameter**2, K.diameter**3
RX, RZ, AX, AZ, DX, DY, DZ = K.ref_x, K.ref_z, K.axis_x, K.axis_z, K.disc_x, K.disc_y, K.disc_z
DETERMINANT = K.ixx * K.izz - K.ixz_product**2
INVERSE_XX, INVERSE_XZ, INVERSE_ZZ = K.izz / DETERMINANT, K.ixz_product / DETERMINANT, K.ixx / DETERMINANT


def rates(y, duty, wx, wy, wz, xp, find):
    """Rates of the 16 states at a wind W; scalars with xp = math and find = piece, arrays with xp = numpy and find = pieces."""
    _, _, x_d, q0, q1, q2, q3, u, v, w, p, q, r, left, right, charge = y
    a00, a11, a22, a33 = q0 * q0, q1 * q1, q2 * q2, q3 * q3
    unit = 1.0 / (a00 + a11 + a22 + a33)
    twice = 2.0 * unit
    r11, r22, r33 = (a00 + a11 - a22 - a33) * unit, (a00 - a11 + a22 - a33) * unit, (a00 - a11 - a22 + a33) * unit
    r12, r21 = (q1 * q2 - q0 * q3) * twice, (q1 * q2 + q0 * q3) * twice
    r13, r31 = (q1 * q3 + q0 * q2) * twice, (q1 * q3 - q0 * q2) * twice
    r23, r32 = (q2 * q3 - q0 * q1) * twice, (q2 * q3 + q0 * q1) * twice
    au = u - (r11 * wx + r21 * wy + r31 * wz)
    av = v - (r12 * wx + r22 * wy + r32 * wz)
    aw = w - (r13 * wx + r23 * wy + r33 * wz)
    vx, vy, vz = au + q * RZ, av + r * RX - p * RZ, aw - q * RX
    density = DENSITY_0 * (1.0 - LAPSE * (lean.EARTH_RADIUS * x_d / (lean.EARTH_RADIUS - x_d))) ** lean.DENSITY_EXPONENT
    plane2 = vx * vx + vz * vz
    speed2 = plane2 + vy * vy
    plane, speed = xp.sqrt(plane2), xp.sqrt(speed2)
    by_plane, by_speed = 1.0 / plane, 1.0 / speed
    ca, sa, sb, s_h = vx * by_plane, vz * by_plane, vy * by_speed, vz * by_speed
    alpha, beta = xp.atan2(vz, vx), xp.atan(vy * by_plane)
    # 5.1
    lift_c = K.lift_zero + K.lift_alpha * alpha
    over = lift_c - K.lift_at_min_drag
    n, quarter = 0.5 * S * density * speed2, 0.25 * S * density * speed
    lift = n * lift_c + quarter * LIFT_Q * q
    drag = n * (K.drag_zero + K.drag_factor * over * over)
    fx, fz = lift * sa - drag * ca, -drag * sa - lift * ca
    n_beta = n * beta
    fy = SIDE_BETA * n_beta + quarter * (SIDE_P * p + SIDE_R * r)
    mx = ROLL_BETA * n_beta + quarter * (ROLL_P * p + ROLL_R * r) - RZ * fy
    my = n * (PITCH_0 + PITCH_ALPHA * alpha) + quarter * PITCH_Q * q + RZ * fx - RX * fz
    mz = YAW_BETA * n_beta + quarter * (YAW_P * p + YAW_R * r) + RX * fy
    # 5.3
    weight = 1.0 / ((1.0 + xp.exp(ALPHA_RATE * (abs(alpha) - K.alpha_stall))) * (1.0 + xp.exp(BETA_RATE * (abs(beta) - K.beta_stall))))
    by_h, by_v = 1.0 / (0.56 + 0.44 * abs(s_h)), 1.0 / (0.56 + 0.44 * abs(sb))
    half = 0.5 * density * speed * (1.0 - weight)
    over_h, over_v = s_h * by_h, sb * by_v
    half_speed = half * speed
    push_z, push_y = -LEVEL * half_speed * over_h, -UPRIGHT * half_speed * over_v
    shift = 0.25 - 0.25 * vx * by_speed
    k_h = 2.0 * s_h * over_h + 0.56 * (by_h * by_h - over_h * over_h)
    k_v = 2.0 * sb * over_v + 0.56 * (by_v * by_v - over_v * over_v)
    friction = FRICTION * half
    fx = weight * fx - friction * vx
    fy = weight * fy - friction * vy + push_y
    fz = weight * fz + push_z
    mx = weight * mx - K.upright_z * push_y - (J3_X * density * abs(p) + half * (J2_XH * k_h + J2_XV * k_v)) * p
    my = weight * my - (K.level_x - K.level_chord * shift) * push_z - (J3_Y * density * abs(q) + half * J2_Y * k_h) * q
    mz = weight * mz + (K.upright_x - K.upright_chord * shift) * push_y - (J3_Z * density * abs(r) + half * J2_Z * k_v) * r
    # 6: both motors draw
    z = (1.0 - K.cell_z0) - charge / K.capacity
    c3, c2, c1, c0 = K.cell_cubic
    resistance = K.motor_resistance
    voltage = ((((c3 * z + c2) * z + c1) * z + c0 - K.cell_resistance * (K.electronics - duty * K.motor_k / resistance * (left + right)))
               / (1.0 + 2.0 * K.cell_resistance * duty * duty / resistance))
    supply = duty * voltage
    left_current, right_current = (supply - K.motor_k * left) / resistance, (supply - K.motor_k * right) / resistance
    axial = AX * (au + q * DZ) + AZ * (aw - q * DX)
    turning = DY * (AZ * p - AX * r)
    blown = []
    for axial_speed, rotor in ((axial - turning, left), (axial + turning, right)):
        nd = rotor * D_TURN
        j = axial_speed / nd
        t3, t2, t1, t0, q_3, q_2, q_1, q_0, knot = find(j)
        s = xp.atan(j) - knot
        pressure = density * (axial_speed * axial_speed + nd * nd)
        blown.append((D2 * pressure * (((t3 * s + t2) * s + t1) * s + t0), D3 * pressure * (((q_3 * s + q_2) * s + q_1) * s + q_0)))
    (left_thrust, left_air), (right_thrust, right_air) = blown
    thrust, more = left_thrust + right_thrust, right_thrust - left_thrust
    twist = K.motor_k * (right_current - left_current)
    mx += DY * AZ * more + AX * twist
    my += (DZ * AX - DX * AZ) * thrust
    mz += AZ * twist - DY * AX * more
    # 3
    momentum = K.rotor_inertia * (left - right)
    hx, hy, hz = K.ixx * p - K.ixz_product * r + AX * momentum, K.iyy * q, K.izz * r - K.ixz_product * p + AZ * momentum
    mx += r * hy - q * hz
    my += p * hz - r * hx
    mz += q * hx - p * hy
    g = lean.GRAVITY
    return (
        r11 * u + r12 * v + r13 * w, r21 * u + r22 * v + r23 * w, r31 * u + r32 * v + r33 * w,
        -0.5 * (q1 * p + q2 * q + q3 * r), 0.5 * (q0 * p + q2 * r - q3 * q), 0.5 * (q0 * q + q3 * p - q1 * r), 0.5 * (q0 * r + q1 * q - q2 * p),
        (fx + AX * thrust) / K.mass + g * r31 + r * v - q * w,
        fy / K.mass + g * r32 + p * w - r * u,
        (fz + AZ * thrust) / K.mass + g * r33 + q * u - p * v,
        INVERSE_XX * mx + INVERSE_XZ * mz, my / K.iyy, INVERSE_XZ * mx + INVERSE_ZZ * mz,
        (K.motor_k * (left_current - K.no_load) - left_air) / K.rotor_inertia,
        (K.motor_k * (right_current - K.no_load) - right_air) / K.rotor_inertia,
        K.electronics + duty * (left_current + right_current),
    )


def one_at_a_time(method, relative, absolute, only=None):
    """A function that flies all throws (or those of a slice) one after the other and returns the final states."""
    columns = lean.throws()
    states, (bounds, duties, on), gusts = lean.launch_states(columns), lean.segments(columns), lean.gust_velocities(columns).tolist()
    starts, turns = columns["gust_start_s"].tolist(), (2 * pi / columns["gust_duration_s"]).tolist()
    bounds, duties, on = bounds.tolist(), duties.tolist(), (on > 0.5).tolist()
    chosen = range(len(states))[only or slice(None)]

    def run():
        ends = np.empty((len(chosen), lean.STATES))
        for place, i in enumerate(chosen):
            y, step = states[i], None
            (gx, gy, gz), start, turn = gusts[i], starts[i], turns[i]
            for segment in range(4):
                duty = duties[i][segment]
                if on[i][segment]:
                    def function(t, y):
                        size = 0.5 - 0.5 * math.cos(turn * (t - start))
                        return rates(y.tolist(), duty, size * gx, size * gy, size * gz, math, piece)
                else:
                    def function(t, y):
                        return rates(y.tolist(), duty, 0.0, 0.0, 0.0, math, piece)
                begin, end = bounds[i][segment], bounds[i][segment + 1]
                result = solve_ivp(function, (begin, end), y, method=method, rtol=relative, atol=absolute,
                                   first_step=None if step is None else min(step, end - begin))
                y = result.y[:, -1]
                if len(result.t) > 2:
                    step = result.t[-2] - result.t[-3]
            ends[place] = y
        return ends

    return run


def all_as_one(method, relative, absolute):
    """A function that flies all throws as one system and returns the final states."""
    columns = lean.throws()
    states, (bounds, duties, on), gusts = lean.launch_states(columns), lean.segments(columns), lean.gust_velocities(columns)
    starts, turns = columns["gust_start_s"], 2 * pi / columns["gust_duration_s"]
    count = len(states)

    def run():
        y = states.T.ravel()
        for segment in range(4):
            begin, length, duty = bounds[:, segment], np.diff(bounds, axis=1)[:, segment], duties[:, segment]
            gx, gy, gz = gusts.T * on[:, segment]

            def function(share, y):
                size = 0.5 - 0.5 * np.cos(turns * (begin + share * length - starts))
                rows = rates(y.reshape(lean.STATES, count), duty, size * gx, size * gy, size * gz, np, pieces)
                return (np.stack(rows) * length).ravel()

            y = solve_ivp(function, (0.0, 1.0), y, method=method, rtol=relative, atol=absolute, first_step=0.005).y[:, -1]
        return y.reshape(lean.STATES, count).T

    return run


def tight(only=None):
    return one_at_a_time("DOP853", 1e-12, 1e-12, only)()


def tight_as_one():
    return all_as_one("DOP853", 1e-12, 1e-12)()


class Subset:
    """Errors and time of a setting on the first throws only, to find the settings worth flying in full."""

    def __init__(self, method, tolerance, count=20):
        self.method, self.tolerance = method, tolerance
        self.seconds, ends = measure.seconds(one_at_a_time(method, tolerance, tolerance, slice(0, count)))
        self.worst = float(np.linalg.norm(ends[:, :3] - lean.reference()[:count], axis=1).max())


def report_one_at_a_time():
    """One throw takes long: the fastest method is found on the first throws, then flown in full, tighter until 99 % are near enough."""
    tolerances = [10.0 ** (-n / 2) for n in range(6, 14)]
    trials = [Subset(method, tolerance) for method in ("RK45", "DOP853", "LSODA") for tolerance in tolerances]
    flown = {}
    for accuracy in measure.ACCURACIES_M:
        # the worst of a few, halved, stands for 99 % of all; one setting looser is tried too
        fastest = min((trial for trial in trials if trial.worst <= 0.5 * accuracy), key=lambda trial: trial.seconds)
        for tolerance in tolerances[max(0, tolerances.index(fastest.tolerance) - 1):]:
            setting = f"{fastest.method}, rtol = atol = {tolerance:.1e}"
            if setting not in flown:
                flown[setting] = measure.Candidate(setting, one_at_a_time(fastest.method, tolerance, tolerance), 0.0, twice=False)
            if flown[setting].errors[1] <= accuracy:
                print(json.dumps(flown[setting].line("SciPy solve_ivp, Python, one throw at a time", scipy.__version__, accuracy)), flush=True)
                break


def main():
    report_one_at_a_time()
    if sys.argv[1:] != ["one"]:
        measure.report("SciPy solve_ivp, NumPy, all throws as one system", scipy.__version__,
                       [(f"{method}, rtol = atol = {tolerance:.1e}", lambda m=method, tol=tolerance: all_as_one(m, tol, tol))
                        for method in ("RK45", "DOP853") for tolerance in [10.0 ** (-n / 2) for n in range(6, 13)]], repeats=3)


if __name__ == "__main__":
    main()
