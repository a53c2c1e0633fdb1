"""Numba: explicit Runge-Kutta 5(4) pairs written out by hand and compiled, one throw after the other on one core.

Dormand & Prince (1980) and Tsitouras (2011) with the same driver: first-same-as-last, local extrapolation, root-mean-square error norm,
step control with the exponent 1/5 and a memory of the last error. A segment ends exactly at the throttle step and the gust's edges; the
step size is carried across and one derivative is evaluated anew. The right-hand side is MODEL.md's lean configuration as scalars.

Run:  python numba_dopri5.py            (best setting of a scan)
"""

from math import atan, cos, exp, pi, sqrt

import numpy as np
from numba import njit

import lean_model as lean
import measure

K = lean.constants()
M, IXX, IYY, IZZ, IXZ = K.mass, K.ixx, K.iyy, K.izz, K.ixz_product
DETERMINANT = IXX * IZZ - IXZ * IXZ
RX, RZ = K.ref_x, K.ref_z
S, C_90 = K.area, K.c_90
# rate parts: 1/4 S c^2 ... and the like, to be multiplied by density and speed
LIFT_Q = 0.25 * S * K.chord * K.lift_q
SIDE_P, SIDE_R = 0.25 * S * K.span * K.side_p, 0.25 * S * K.span * K.side_r
ROLL_P, ROLL_R = 0.25 * S * K.span**2 * K.roll_p, 0.25 * S * K.span**2 * K.roll_r
YAW_P, YAW_R = 0.25 * S * K.span**2 * K.yaw_p, 0.25 * S * K.span**2 * K.yaw_r
PITCH_Q = 0.25 * S * K.chord**2 * K.pitch_q
ROLL_BETA, YAW_BETA = K.span * K.roll_beta, K.span * K.yaw_beta
PITCH_0, PITCH_ALPHA = K.chord * K.pitch_zero, K.chord * K.pitch_alpha
LIFT_0, LIFT_ALPHA, LIFT_MIN_DRAG = K.lift_zero, K.lift_alpha, K.lift_at_min_drag
DRAG_0, DRAG_FACTOR, FRICTION, SIDE_BETA = K.drag_zero, K.drag_factor, S * K.drag_min, K.side_beta
ALPHA_RATE, ALPHA_0 = 2 / K.alpha_blend, 2 * K.alpha_stall / K.alpha_blend
BETA_RATE, BETA_0 = 2 / K.beta_blend, 2 * K.beta_stall / K.beta_blend
LEVEL, UPRIGHT = K.level_area * C_90, K.upright_area * C_90
LEVEL_X, LEVEL_C = K.level_x, K.level_chord
UPRIGHT_X, UPRIGHT_C, UPRIGHT_Z = K.upright_x, K.upright_chord, K.upright_z
J2_XH, J2_XV, J2_Y, J2_Z = K.j2_xh * C_90, K.j2_xv * C_90, K.j2_y * C_90, K.j2_z * C_90
J3_X, J3_Y, J3_Z = K.j3_x * C_90, K.j3_y * C_90, K.j3_z * C_90
MOTOR_K, MOTOR_R, NO_LOAD, ROTOR_J = K.motor_k, K.motor_resistance, K.no_load, K.rotor_inertia
CELL_R, ELECTRONICS, CAPACITY = K.cell_resistance, K.electronics, K.capacity
CELL_Z0, (U_3, U_2, U_1, U_0) = K.cell_z0, K.cell_cubic
AX, AZ, DX, DY, DZ, D = K.axis_x, K.axis_z, K.disc_x, K.disc_y, K.disc_z, K.diameter
PITCH_OF_THRUST = DZ * AX - DX * AZ
D_TURN, D2 = D / (2 * pi), D * D
KNOTS, THRUST, TORQUE = K.knots, K.thrust_pieces, K.torque_pieces
ROW_PER_J = 10.0  # the table's rows are 0.1 apart in J
DENSITY_0 = K.pressure / (lean.GAS_CONSTANT * K.temperature)
LAPSE_SHARE, DENSITY_EXPONENT = lean.LAPSE / K.temperature, lean.DENSITY_EXPONENT
EARTH, GRAVITY = lean.EARTH_RADIUS, lean.GRAVITY

FAST = {"contract", "nsz", "arcp", "afn"}  # fused multiply-add, reciprocals; NaN stays NaN


@njit(fastmath=FAST, error_model="numpy")
def propeller(density, u, rotor):
    """Thrust N and air torque N m (6.2) of a turning rotor."""
    nd = rotor * D_TURN
    j = u / nd
    chi = atan(j)
    i = 0 if j < -0.1 else min(int(ROW_PER_J * j + 1.0) + 1, 11)
    s = chi - KNOTS[i]
    pressure = density * D2 * (u * u + nd * nd)
    thrust = ((THRUST[i, 0] * s + THRUST[i, 1]) * s + THRUST[i, 2]) * s + THRUST[i, 3]
    torque = ((TORQUE[i, 0] * s + TORQUE[i, 1]) * s + TORQUE[i, 2]) * s + TORQUE[i, 3]
    return pressure * thrust, pressure * D * torque


@njit(fastmath=FAST, error_model="numpy")
def rates(t, y, duty, on, gust, out):
    """Rates of the 16 states. gust: velocity 3, start, 2 pi / duration."""
    q0, q1, q2, q3 = y[3], y[4], y[5], y[6]
    u, v, w = y[7], y[8], y[9]
    p, q, r = y[10], y[11], y[12]
    left, right = y[13], y[14]
    a00, a11, a22, a33 = q0 * q0, q1 * q1, q2 * q2, q3 * q3
    unit = 1.0 / (a00 + a11 + a22 + a33)
    twice = 2.0 * unit
    r11, r22, r33 = (a00 + a11 - a22 - a33) * unit, (a00 - a11 + a22 - a33) * unit, (a00 - a11 - a22 + a33) * unit
    r12, r21 = (q1 * q2 - q0 * q3) * twice, (q1 * q2 + q0 * q3) * twice
    r13, r31 = (q1 * q3 + q0 * q2) * twice, (q1 * q3 - q0 * q2) * twice
    r23, r32 = (q2 * q3 - q0 * q1) * twice, (q2 * q3 + q0 * q1) * twice
    out[0] = r11 * u + r12 * v + r13 * w
    out[1] = r21 * u + r22 * v + r23 * w
    out[2] = r31 * u + r32 * v + r33 * w
    out[3] = -0.5 * (q1 * p + q2 * q + q3 * r)
    out[4] = 0.5 * (q0 * p + q2 * r - q3 * q)
    out[5] = 0.5 * (q0 * q + q3 * p - q1 * r)
    out[6] = 0.5 * (q0 * r + q1 * q - q2 * p)
    # velocity through the air of the balance point, then of the reference point
    au, av, aw = u, v, w
    if on:
        size = 0.5 * (1.0 - cos(gust[4] * (t - gust[3])))
        wx, wy, wz = size * gust[0], size * gust[1], size * gust[2]
        au -= r11 * wx + r21 * wy + r31 * wz
        av -= r12 * wx + r22 * wy + r32 * wz
        aw -= r13 * wx + r23 * wy + r33 * wz
    vx, vy, vz = au + q * RZ, av + r * RX - p * RZ, aw - q * RX
    h = -y[2]
    density = DENSITY_0 * (1.0 + LAPSE_SHARE * (EARTH * h / (EARTH + h))) ** DENSITY_EXPONENT
    plane2 = vx * vx + vz * vz
    plane = sqrt(plane2)
    speed2 = plane2 + vy * vy
    speed = sqrt(speed2)
    by_plane, by_speed = 1.0 / plane, 1.0 / speed
    ca, sa = vx * by_plane, vz * by_plane
    sb, s_h = vy * by_speed, vz * by_speed
    alpha = atan(vz / vx) if vx > 0.0 else np.arctan2(vz, vx)
    beta = atan(vy * by_plane)
    # 5.1
    lift_c = LIFT_0 + LIFT_ALPHA * alpha
    over = lift_c - LIFT_MIN_DRAG
    n, quarter = 0.5 * density * S * speed2, density * speed
    lift = n * lift_c + quarter * LIFT_Q * q
    drag = n * (DRAG_0 + DRAG_FACTOR * over * over)
    fx, fz = lift * sa - drag * ca, -drag * sa - lift * ca
    fy = n * SIDE_BETA * beta + quarter * (SIDE_P * p + SIDE_R * r)
    mx = n * ROLL_BETA * beta + quarter * (ROLL_P * p + ROLL_R * r) - RZ * fy
    my = n * (PITCH_0 + PITCH_ALPHA * alpha) + quarter * PITCH_Q * q + RZ * fx - RX * fz
    mz = n * YAW_BETA * beta + quarter * (YAW_P * p + YAW_R * r) + RX * fy
    # 5.3
    weight = 1.0 / ((1.0 + exp(ALPHA_RATE * abs(alpha) - ALPHA_0)) * (1.0 + exp(BETA_RATE * abs(beta) - BETA_0)))
    rest = 1.0 - weight
    size_h, size_v = abs(s_h), abs(sb)
    by_h, by_v = 1.0 / (0.56 + 0.44 * size_h), 1.0 / (0.56 + 0.44 * size_v)
    half = 0.5 * density * speed * rest
    push_z = -half * speed * LEVEL * s_h * by_h
    push_y = -half * speed * UPRIGHT * sb * by_v
    shift = 0.25 - 0.25 * vx * by_speed
    level_arm, upright_arm = LEVEL_X - LEVEL_C * shift, UPRIGHT_X - UPRIGHT_C * shift
    k_h = 2.0 * s_h * s_h * by_h + 0.56 * (1.0 - s_h * s_h) * by_h * by_h
    k_v = 2.0 * sb * sb * by_v + 0.56 * (1.0 - sb * sb) * by_v * by_v
    spin = 0.5 * density
    fx = weight * fx - half * FRICTION * vx
    fy = weight * fy - half * FRICTION * vy + push_y
    fz = weight * fz + push_z
    mx = weight * mx - UPRIGHT_Z * push_y - (spin * J3_X * abs(p) + half * (J2_XH * k_h + J2_XV * k_v)) * p
    my = weight * my - level_arm * push_z - (spin * J3_Y * abs(q) + half * J2_Y * k_h) * q
    mz = weight * mz + upright_arm * push_y - (spin * J3_Z * abs(r) + half * J2_Z * k_v) * r
    # 6: both motors draw
    z = 1.0 - y[15] / CAPACITY - CELL_Z0
    back = duty * duty / MOTOR_R
    voltage = (((U_3 * z + U_2) * z + U_1) * z + U_0 - CELL_R * (ELECTRONICS - duty * MOTOR_K / MOTOR_R * (left + right))) / (1.0 + 2.0 * CELL_R * back)
    left_current, right_current = (duty * voltage - MOTOR_K * left) / MOTOR_R, (duty * voltage - MOTOR_K * right) / MOTOR_R
    left_torque, right_torque = MOTOR_K * (left_current - NO_LOAD), MOTOR_K * (right_current - NO_LOAD)
    axial = AX * (au + q * DZ) + AZ * (aw - q * DX)
    turning = DY * (AZ * p - AX * r)
    left_thrust, left_air = propeller(density, axial - turning, left)
    right_thrust, right_air = propeller(density, axial + turning, right)
    thrust, more = left_thrust + right_thrust, right_thrust - left_thrust
    twist = right_torque - left_torque
    mx += DY * AZ * more + AX * twist
    my += PITCH_OF_THRUST * thrust
    mz += AZ * twist - DY * AX * more
    # 3
    spin_momentum = ROTOR_J * (left - right)
    hx, hy, hz = IXX * p - IXZ * r + spin_momentum * AX, IYY * q, IZZ * r - IXZ * p + spin_momentum * AZ
    mx += r * hy - q * hz
    my += p * hz - r * hx
    mz += q * hx - p * hy
    out[7] = (fx + AX * thrust) / M + GRAVITY * r31 + r * v - q * w
    out[8] = fy / M + GRAVITY * r32 + p * w - r * u
    out[9] = (fz + AZ * thrust) / M + GRAVITY * r33 + q * u - p * v
    out[10] = (IZZ * mx + IXZ * mz) / DETERMINANT
    out[11] = my / IYY
    out[12] = (IXZ * mx + IXX * mz) / DETERMINANT
    out[13] = (left_torque - left_air) / ROTOR_J
    out[14] = (right_torque - right_air) / ROTOR_J
    out[15] = ELECTRONICS + duty * (left_current + right_current)


DOPRI5 = (
    np.array([0.0, 1 / 5, 3 / 10, 4 / 5, 8 / 9, 1.0, 1.0]),
    np.array([
        [0, 0, 0, 0, 0, 0],
        [1 / 5, 0, 0, 0, 0, 0],
        [3 / 40, 9 / 40, 0, 0, 0, 0],
        [44 / 45, -56 / 15, 32 / 9, 0, 0, 0],
        [19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729, 0, 0],
        [9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656, 0],
        [35 / 384, 0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84],
    ]),
    np.array([71 / 57600, 0, -71 / 16695, 71 / 1920, -17253 / 339200, 22 / 525, -1 / 40]),
)
# Tsitouras, Comput. Math. Appl. 62 (2011) 770, table 1; from memory, sums of rows checked below
TSIT5 = (
    np.array([0.0, 0.161, 0.327, 0.9, 0.9800255409045097, 1.0, 1.0]),
    np.array([
        [0, 0, 0, 0, 0, 0],
        [0.161, 0, 0, 0, 0, 0],
        [-0.008480655492356989, 0.335480655492357, 0, 0, 0, 0],
        [2.8971530571054935, -6.359448489975075, 4.3622954328695815, 0, 0, 0],
        [5.325864828439257, -11.748883564062828, 7.4955393428898365, -0.09249506636175525, 0, 0],
        [5.86145544294642, -12.92096931784711, 8.159367898576159, -0.071584973281401, -0.028269050394068383, 0],
        [0.09646076681806523, 0.01, 0.4798896504144996, 1.379008574103742, -3.290069515436081, 2.324710524099774],
    ]),
    np.array([-0.00178001105222577714, -0.0008164344596567469, 0.007880878010261995, -0.1447110071732629, 0.5823571654525552,
              -0.45808210592918697, 0.015151515151515152]),
)
PAIRS = {"Dormand-Prince 5(4)": DOPRI5, "Tsitouras 5(4)": TSIT5}
for nodes, matrix, error_weights in PAIRS.values():
    assert np.allclose(matrix.sum(axis=1), nodes, rtol=0, atol=1e-13) and abs(error_weights.sum()) < 1e-13


def make_flyer(tableau):
    """Compile the driver for one pair; its coefficients become constants of the compiled code."""
    nodes, a, e = tableau
    C2, C3, C4, C5 = nodes[1:5]
    (A21,), (A31, A32), (A41, A42, A43) = a[1][:1], a[2][:2], a[3][:3]
    (A51, A52, A53, A54), (A61, A62, A63, A64, A65) = a[4][:4], a[5][:5]
    B1, B2, B3, B4, B5, B6 = a[6]
    E1, E2, E3, E4, E5, E6, E7 = e
    N = lean.STATES

    @njit(fastmath=FAST, error_model="numpy")
    def fly(states, bounds, duties, gusts_on, gusts, relative, absolute, first_step, ends):
        k1, k2, k3, k4, k5, k6, k7 = (np.empty(N), np.empty(N), np.empty(N), np.empty(N), np.empty(N), np.empty(N), np.empty(N))
        y, new = np.empty(N), np.empty(N)
        steps = 0
        for throw in range(states.shape[0]):
            for i in range(N):
                y[i] = states[throw, i]
            gust = gusts[throw]
            h, last = first_step, 1e-4
            for segment in range(4):
                t, end = bounds[throw, segment], bounds[throw, segment + 1]
                duty, on = duties[throw, segment], gusts_on[throw, segment] > 0.5
                rates(t, y, duty, on, gust, k1)
                done, rejected = False, False
                while not done:
                    left = end - t
                    whole = h
                    if h * 1.001 >= left:
                        h, done = left, True
                    elif 2.0 * h > left:
                        h = 0.5 * left
                    for i in range(N):
                        new[i] = y[i] + h * (A21 * k1[i])
                    rates(t + C2 * h, new, duty, on, gust, k2)
                    for i in range(N):
                        new[i] = y[i] + h * (A31 * k1[i] + A32 * k2[i])
                    rates(t + C3 * h, new, duty, on, gust, k3)
                    for i in range(N):
                        new[i] = y[i] + h * (A41 * k1[i] + A42 * k2[i] + A43 * k3[i])
                    rates(t + C4 * h, new, duty, on, gust, k4)
                    for i in range(N):
                        new[i] = y[i] + h * (A51 * k1[i] + A52 * k2[i] + A53 * k3[i] + A54 * k4[i])
                    rates(t + C5 * h, new, duty, on, gust, k5)
                    for i in range(N):
                        new[i] = y[i] + h * (A61 * k1[i] + A62 * k2[i] + A63 * k3[i] + A64 * k4[i] + A65 * k5[i])
                    rates(t + h, new, duty, on, gust, k6)
                    for i in range(N):
                        new[i] = y[i] + h * (B1 * k1[i] + B2 * k2[i] + B3 * k3[i] + B4 * k4[i] + B5 * k5[i] + B6 * k6[i])
                    rates(t + h, new, duty, on, gust, k7)
                    total = 0.0
                    for i in range(N):
                        part = h * (E1 * k1[i] + E2 * k2[i] + E3 * k3[i] + E4 * k4[i] + E5 * k5[i] + E6 * k6[i] + E7 * k7[i])
                        part /= absolute + relative * max(abs(y[i]), abs(new[i]))
                        total += part * part
                    error = sqrt(total / N)
                    steps += 1
                    if error <= 1.0:
                        t += h
                        for i in range(N):
                            y[i] = new[i]
                            k1[i] = k7[i]
                        error = max(error, 1e-10)
                        factor = min(5.0, max(0.2, 0.9 * error ** -0.17 * last**0.04))
                        if rejected:
                            factor = min(factor, 1.0)
                        last, rejected = max(error, 1e-4), False
                        h = max(h * factor, whole) if done else h * factor
                    else:
                        done = False
                        h *= max(0.2, 0.9 * error**-0.2) if error < 1e30 else 0.2
                        rejected = True
                        if not h > 1e-9:
                            for i in range(N):
                                y[i] = np.nan
                            done = True
                if not h > 1e-9:
                    break
            for i in range(N):
                ends[throw, i] = y[i]
        return steps

    return fly


def solver(pair, relative, absolute, fly=None):
    """A function that flies all throws and returns the final states; `fly` is the pair's compiled driver, if it is there already."""
    columns = lean.throws()
    states, (bounds, duties, on) = lean.launch_states(columns), lean.segments(columns)
    gusts = np.column_stack([lean.gust_velocities(columns), columns["gust_start_s"], 2 * pi / columns["gust_duration_s"]])
    fly = fly or make_flyer(PAIRS[pair])
    ends = np.empty_like(states)

    def run():
        run.steps = fly(states, bounds, duties, on, gusts, relative, absolute, 0.01, ends)
        return ends

    return run


def tight():
    return solver("Dormand-Prince 5(4)", 1e-12, 1e-12)()


def main():
    import numba

    settings = []
    for pair in ("Dormand-Prince 5(4)", "Tsitouras 5(4)"):
        flyers = {}  # compiled once for each pair

        def make(relative, absolute, pair=pair, flyers=flyers):
            flyers.setdefault("fly", make_flyer(PAIRS[pair]))
            return solver(pair, relative, absolute, flyers["fly"])

        for tolerance in [10.0 ** (-n / 4) for n in range(12, 23)]:
            for share in (1.0, 0.1):
                settings.append((f"{pair}, rtol = {tolerance:.1e}, atol = {share * tolerance:.1e}",
                                 lambda make=make, tolerance=tolerance, share=share: make(tolerance, share * tolerance)))
    measure.report("Numba, 5(4) pair by hand", numba.__version__, settings)


if __name__ == "__main__":
    main()
