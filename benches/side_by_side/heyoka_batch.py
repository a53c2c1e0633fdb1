"""heyoka: Taylor's method, compiled for a batch of throws in SIMD lanes (or one at a time), each lane with its own step and times.

A batch is carried to its own cuts (throttle step, gust's edges) by `propagate_until` with a time for each lane; between them the throttle and
the gust are changed as parameters. Pieces of the propeller's curves and absolute values are `select` expressions: a Taylor step keeps
the piece it started on, so its error at a knot is held by the largest step alone, which is scanned beside the tolerance.
Throws are sorted by their cuts, so that the lanes of a batch wait little for each other.

Run:  python heyoka_batch.py            (best setting of a scan)
"""

import heyoka as hy
import numpy as np

import lean_model as lean
import measure

CENTRE = float(np.arctan(0.6))  # the cubics of all pieces are rewritten about this chi
J_LEAST, J_GREATEST = 0.0, 1.2  # pieces outside are never flown on; check.py would show it


ALL = ("knots", "vz", "vy", "p", "q", "r")


def about_centre(piece, knot):
    """Coefficients, highest power first, of a cubic in chi - knot rewritten in chi - CENTRE."""
    return np.poly1d(piece)(np.poly1d([1.0, CENTRE - knot])).coefficients


def selected_spline(pieces, knots, ratio, chi):
    """Piecewise cubic with its coefficients chosen by the advance ratio at the start of a step."""
    used = [i for i in range(len(pieces)) if np.tan(knots[i + 1]) > J_LEAST and (i == 0 or np.tan(knots[i]) < J_GREATEST)]
    chosen = []
    for power in range(4):
        value = hy.expression(float(about_centre(pieces[used[-1]], knots[used[-1]])[power]))
        for i in reversed(used[:-1]):
            value = hy.select(hy.lt(ratio, float(np.tan(knots[i + 1]))), hy.expression(float(about_centre(pieces[i], knots[i])[power])), value)
        chosen.append(value)
    s = chi - CENTRE
    return ((chosen[0] * s + chosen[1]) * s + chosen[2]) * s + chosen[3]


def parameter_spline(first, chi):
    """One piece, its coefficients in the parameters from `first` on, highest power first."""
    s = chi - CENTRE
    return ((hy.par[first] * s + hy.par[first + 1]) * s + hy.par[first + 2]) * s + hy.par[first + 3]


def absolute_value(x):
    return hy.select(hy.gt(x, 0.0), x, -x)


FIRST_PIECE, FIRST_SIGN = (6, 16), 26
SIGNS = ("vz", "vy", "p", "q", "r")


def system(events):
    """The 16 equations, and the expressions whose zeros are kinks met as events; `events` holds "knots" and names of SIGNS.

    Parameters: duty, gust velocity 3 (zero while it is off), gust start, 2 pi / duration; for each motor 10 more (both cubics of its piece,
    lower and upper end), and five signs. Expressions: chi over the lower and over the upper end for each motor; those whose signs they are.
    """
    piece_ends, signed = [], []
    k = lean.constants()
    names = "x_n x_e x_d q0 q1 q2 q3 u v w p q r left right charge".split()
    variables = dict(zip(names, hy.make_vars(*names)))
    q0, q1, q2, q3, u, v, w, p, q, r, left, right = (variables[name] for name in names[3:15])
    duty, gx, gy, gz, start, turn = (hy.par[i] for i in range(6))
    a00, a11, a22, a33 = q0 * q0, q1 * q1, q2 * q2, q3 * q3
    unit = 1.0 / (a00 + a11 + a22 + a33)
    twice = 2.0 * unit
    r11, r22, r33 = (a00 + a11 - a22 - a33) * unit, (a00 - a11 + a22 - a33) * unit, (a00 - a11 - a22 + a33) * unit
    r12, r21 = (q1 * q2 - q0 * q3) * twice, (q1 * q2 + q0 * q3) * twice
    r13, r31 = (q1 * q3 + q0 * q2) * twice, (q1 * q3 - q0 * q2) * twice
    r23, r32 = (q2 * q3 - q0 * q1) * twice, (q2 * q3 + q0 * q1) * twice
    # air
    size = 0.5 - 0.5 * hy.cos(turn * (hy.time - start))
    wx, wy, wz = size * gx, size * gy, size * gz
    au = u - (r11 * wx + r21 * wy + r31 * wz)
    av = v - (r12 * wx + r22 * wy + r32 * wz)
    aw = w - (r13 * wx + r23 * wy + r33 * wz)
    vx, vy, vz = au + q * k.ref_z, av + r * k.ref_x - p * k.ref_z, aw - q * k.ref_x
    h = -variables["x_d"]
    earth = lean.EARTH_RADIUS
    lapse = lean.LAPSE / k.temperature
    density = (k.pressure / (lean.GAS_CONSTANT * k.temperature)) * (1.0 + lapse * earth * h / (earth + h)) ** lean.DENSITY_EXPONENT
    plane2 = vx * vx + vz * vz
    speed2 = plane2 + vy * vy
    plane, speed = hy.sqrt(plane2), hy.sqrt(speed2)
    by_plane, by_speed = 1.0 / plane, 1.0 / speed
    ca, sa, sb, s_h = vx * by_plane, vz * by_plane, vy * by_speed, vz * by_speed
    alpha, beta = hy.atan2(vz, vx), hy.atan2(vy, plane)
    def size(name, like, value):
        """Absolute value of `value`, which has the sign of `like`."""
        if name not in events:
            return absolute_value(value)
        if all(like is not known for _, known in signed):
            signed.append((name, like))
        return value * hy.par[FIRST_SIGN + SIGNS.index(name)]

    size_alpha, size_h = size("vz", vz, alpha), size("vz", vz, s_h)
    size_beta, size_v = size("vy", vy, beta), size("vy", vy, sb)
    size_p, size_q, size_r = size("p", p, p), size("q", q, q), size("r", r, r)
    # 5.1
    s, b, c = k.area, k.span, k.chord
    lift_c = k.lift_zero + k.lift_alpha * alpha
    over = lift_c - k.lift_at_min_drag if k.lift_at_min_drag else lift_c
    half_density = 0.5 * density
    n, quarter = half_density * speed2, density * speed
    lift = n * (s * lift_c) + quarter * (0.25 * s * c * k.lift_q * q)
    drag = n * (s * k.drag_zero + s * k.drag_factor * over * over)
    fx, fz = lift * sa - drag * ca, -drag * sa - lift * ca
    n_beta = n * beta
    fy = s * k.side_beta * n_beta + quarter * (0.25 * s * b * (k.side_p * p + k.side_r * r))
    mx = s * b * k.roll_beta * n_beta + quarter * (0.25 * s * b * b * (k.roll_p * p + k.roll_r * r)) - k.ref_z * fy
    my = n * (s * c * k.pitch_zero + s * c * k.pitch_alpha * alpha) + quarter * (0.25 * s * c * c * k.pitch_q * q) + k.ref_z * fx - k.ref_x * fz
    mz = s * b * k.yaw_beta * n_beta + quarter * (0.25 * s * b * b * (k.yaw_p * p + k.yaw_r * r)) + k.ref_x * fy
    # 5.3; 1/(1 + exp(x)) is the sigmoid of -x
    weight = (hy.sigmoid((2 / k.alpha_blend) * (k.alpha_stall - size_alpha))
              * hy.sigmoid((2 / k.beta_blend) * (k.beta_stall - size_beta)))
    rest = 1.0 - weight
    by_h, by_v = 1.0 / (0.56 + 0.44 * size_h), 1.0 / (0.56 + 0.44 * size_v)
    half = half_density * speed * rest
    half_speed = half * speed
    over_h, over_v = s_h * by_h, sb * by_v
    push_z, push_y = -k.c_90 * k.level_area * half_speed * over_h, -k.c_90 * k.upright_area * half_speed * over_v
    shift = 0.25 - 0.25 * vx * by_speed
    k_h = 2.0 * s_h * over_h + 0.56 * (by_h * by_h - over_h * over_h)
    k_v = 2.0 * sb * over_v + 0.56 * (by_v * by_v - over_v * over_v)
    friction = s * k.drag_min * half
    fx = weight * fx - friction * vx
    fy = weight * fy - friction * vy + push_y
    fz = weight * fz + push_z
    c90 = k.c_90
    mx = weight * mx - k.upright_z * push_y - (half_density * c90 * k.j3_x * size_p + half * c90 * (k.j2_xh * k_h + k.j2_xv * k_v)) * p
    my = (weight * my - (k.level_x - k.level_chord * shift) * push_z
          - (half_density * c90 * k.j3_y * size_q + half * c90 * k.j2_y * k_h) * q)
    mz = (weight * mz + (k.upright_x - k.upright_chord * shift) * push_y
          - (half_density * c90 * k.j3_z * size_r + half * c90 * k.j2_z * k_v) * r)
    # 6: both motors draw
    z = (1.0 - k.cell_z0) - variables["charge"] / k.capacity
    if max(map(abs, k.cell_cubic[:2])) > 1e-9:
        raise SystemExit("the cell's voltage is no straight line above nine tenths of charge")
    open_circuit = k.cell_cubic[3] + k.cell_cubic[2] * z
    rotors = left + right
    voltage = ((open_circuit - k.cell_resistance * k.electronics + (k.cell_resistance * k.motor_k / k.motor_resistance) * duty * rotors)
               / (1.0 + (2.0 * k.cell_resistance / k.motor_resistance) * duty * duty))
    supply = duty * voltage
    left_current, right_current = (supply - k.motor_k * left) / k.motor_resistance, (supply - k.motor_k * right) / k.motor_resistance
    axial = k.axis_x * (au + q * k.disc_z) + k.axis_z * (aw - q * k.disc_x)
    turning = k.disc_y * (k.axis_z * p - k.axis_x * r)
    found = []
    for first, axial_speed, rotor in zip(FIRST_PIECE, (axial - turning, axial + turning), (left, right)):
        nd = (k.diameter / (2 * np.pi)) * rotor
        ratio = axial_speed / nd
        chi = hy.atan(ratio)
        pressure = density * (axial_speed * axial_speed + nd * nd)
        if "knots" in events:
            thrust, torque = parameter_spline(first, chi), parameter_spline(first + 4, chi)
            piece_ends += [chi - hy.par[first + 8], chi - hy.par[first + 9]]
        else:
            thrust, torque = (selected_spline(pieces, k.knots, ratio, chi) for pieces in (k.thrust_pieces, k.torque_pieces))
        found.append((k.diameter**2 * pressure * thrust, k.diameter**3 * pressure * torque))
    (left_thrust, left_air), (right_thrust, right_air) = found
    thrust, more = left_thrust + right_thrust, right_thrust - left_thrust
    twist = k.motor_k * (right_current - left_current)
    mx = mx + k.disc_y * k.axis_z * more + k.axis_x * twist
    my = my + (k.disc_z * k.axis_x - k.disc_x * k.axis_z) * thrust
    mz = mz + k.axis_z * twist - k.disc_y * k.axis_x * more
    # 3
    spin = k.rotor_inertia * (left - right)
    hx, hy_, hz = k.ixx * p - k.ixz_product * r + k.axis_x * spin, k.iyy * q, k.izz * r - k.ixz_product * p + k.axis_z * spin
    mx, my, mz = mx + r * hy_ - q * hz, my + p * hz - r * hx, mz + q * hx - p * hy_
    determinant = k.ixx * k.izz - k.ixz_product**2
    g = lean.GRAVITY
    rates = [
        r11 * u + r12 * v + r13 * w, r21 * u + r22 * v + r23 * w, r31 * u + r32 * v + r33 * w,
        -0.5 * (q1 * p + q2 * q + q3 * r), 0.5 * (q0 * p + q2 * r - q3 * q), 0.5 * (q0 * q + q3 * p - q1 * r), 0.5 * (q0 * r + q1 * q - q2 * p),
        (fx + k.axis_x * thrust) / k.mass + g * r31 + r * v - q * w,
        fy / k.mass + g * r32 + p * w - r * u,
        (fz + k.axis_z * thrust) / k.mass + g * r33 + q * u - p * v,
        (k.izz / determinant) * mx + (k.ixz_product / determinant) * mz, my / k.iyy,
        (k.ixz_product / determinant) * mx + (k.ixx / determinant) * mz,
        (k.motor_k * (left_current - k.no_load) - left_air) / k.rotor_inertia,
        (k.motor_k * (right_current - k.no_load) - right_air) / k.rotor_inertia,
        k.electronics + duty * (left_current + right_current),
    ]
    return [(variables[name], rate) for name, rate in zip(names, rates)], piece_ends, signed


def piece_table(beyond):
    """Parameters of each piece: both cubics about CENTRE, lower and upper end in chi, each a little beyond its knot.

    The curves are smooth to the first derivative, so a piece may be kept that little too long; without it a state a rounding
    short of the knot could turn back unseen.
    """
    k = lean.constants()
    return np.array([[*about_centre(k.thrust_pieces[i], k.knots[i]), *about_centre(k.torque_pieces[i], k.knots[i]),
                      k.knots[i] - beyond, k.knots[i + 1] + beyond] for i in range(len(k.thrust_pieces))])


def parameter_count(expressions):
    """One more than the highest parameter in them."""
    return 1 + max(int(str(parameter).strip("p[]ar")) for expression in expressions for parameter in hy.get_params(expression))


def kinks_at_launch(states, equations, table):
    """Parameters from 6 on at launch, (n, 25), and the pieces, (2, n): no gust is on and all rates are zero but about to change."""
    k = lean.constants()
    u = k.axis_x * states[:, 7] + k.axis_z * states[:, 9]
    pieces = np.stack([np.searchsorted(k.knots, np.arctan2(u, states[:, i] * k.diameter / (2 * np.pi))) - 1 for i in (13, 14)])
    turning = [equations[i][1] for i in (10, 11, 12)]
    accelerations = hy.cfunc(turning, [variable for variable, _ in equations])
    signs = np.sign([states[:, 9], states[:, 8], *np.zeros((3, len(states)))])
    parameters = np.concatenate([np.zeros((6, len(states))), table[pieces[0]].T, table[pieces[1]].T, signs])
    parameters[0] = k.throttle_at_release
    signs[2:] = np.sign(accelerations(np.ascontiguousarray(states.T), pars=parameters[:parameter_count(turning)], time=np.zeros(len(states))))
    parameters[FIRST_SIGN + 2:] = signs[2:]
    return parameters[6:], pieces


def solver(batch, tolerance, largest_step_s=None, events=(), **options):
    """A function that flies all throws and returns the final states. Compiles the integrator.

    With events every kink is met exactly; else a step keeps the pieces and signs it started with.
    """
    columns = lean.throws()
    states, (bounds, duties, on), gusts = lean.launch_states(columns), lean.segments(columns), lean.gust_velocities(columns)
    count, one = len(states), batch == 1
    order = np.lexsort((bounds[:, 2], bounds[:, 1].round(0)))
    groups = np.concatenate([order, np.repeat(order[-1:], -count % batch)]).reshape(-1, batch)
    starts, turns = columns["gust_start_s"], 2 * np.pi / columns["gust_duration_s"]
    parameters = np.stack([np.stack([duties[:, i], *(gusts * on[:, i, None]).T, starts, turns]) for i in range(4)])  # segment, parameter, throw

    def lanes(array):
        return np.ascontiguousarray(array[..., 0] if one else array)

    launch = [lanes(states[group].T) for group in groups]
    given = [[lanes(parameters[i][:, group]) for i in range(4)] for group in groups]
    times = [[float(bounds[group[0], i + 1]) if one else bounds[group, i + 1].copy() for i in range(4)] for group in groups]
    options = {"compact_mode": False, "fast_math": True, **options}
    (equations, piece_ends, signed), table = system(events), piece_table(min(1e-4, max(1e-9, 10 * tolerance)))
    used = parameter_count([rate for _, rate in equations] + piece_ends)
    now = np.zeros((2, batch), dtype=int)  # pieces
    if events:
        at_launch, pieces = kinks_at_launch(states, equations, table)
        first_parameters, first_pieces = [lanes(at_launch[:used - 6, group]) for group in groups], [pieces[:, group] for group in groups]

        def passing(motor, way):
            first = FIRST_PIECE[motor]

            def callback(integrator, _, lane=0):
                now[motor, lane] += way
                integrator.pars.reshape(-1, batch)[first:first + 10, lane] = table[now[motor, lane]]
                return True

            return callback

        def turning(which):
            def callback(integrator, sign, lane=0):
                integrator.pars.reshape(-1, batch)[FIRST_SIGN + which, lane] = sign
                return True

            return callback

        kind = hy.t_event if one else hy.t_event_batch
        up, down = hy.event_direction.positive, hy.event_direction.negative
        # the cooldown would hide the next knot; a root cannot come back at once, as the parameters have moved on
        options["t_events"] = [kind(piece_ends[2 * motor + i], callback=passing(motor, way), direction=direction, cooldown=1e-9)
                               for motor in (0, 1) for i, way, direction in ((0, -1, down), (1, 1, up)) if piece_ends]
        options["t_events"] += [kind(like, callback=turning(SIGNS.index(name)), cooldown=1e-9) for name, like in signed]
    make = hy.taylor_adaptive if one else hy.taylor_adaptive_batch
    integrator = make(equations, launch[0], pars=lanes(np.zeros((used, batch))), tol=tolerance, **options)
    step = {} if largest_step_s is None else {"max_delta_t": largest_step_s if one else [largest_step_s] * batch}
    ends = np.empty_like(states)

    def run():
        # the integrator copies its callbacks, which share `now`
        state, pars, propagate = integrator.state, integrator.pars, integrator.propagate_until
        for index, (group, values, until) in enumerate(zip(groups, given, times)):
            state[:] = launch[index]
            if one:
                integrator.time = 0.0
            else:
                integrator.set_time(0.0)
            if events:
                now[:] = first_pieces[index]
                pars[6:] = first_parameters[index]
                integrator.reset_cooldowns()
            for i in range(4):
                pars[:6] = values[i]
                propagate(until[i], **step)
            ends[group] = state.T
        return ends

    run.order = integrator.order
    return run


def tight(events=ALL):
    """Kinks as events; without them steps so short that the kinks hardly count."""
    return solver(hy.recommended_simd_size(), 1e-12 if events else 1e-6, 0.02 if events else 2.5e-4, events)()


def main():
    hy.set_logger_level_error()
    wide = hy.recommended_simd_size()
    steps = {1e-1: (0.0125, 0.0115, 0.01, 0.007, 0.005), 1e-2: (0.02, 0.0175, 0.015, 0.0125, 0.01, 0.007, 0.005), 1e-3: (0.02, 0.015, 0.01)}
    tried = [(wide, tolerance, step, ()) for tolerance, found in steps.items() for step in found]
    tried += [(wide, tolerance, None, ALL) for tolerance in (1e-5, 1e-6, 3e-7, 1e-7, 3e-8)]
    tried += [(batch, *rest) for batch in (1, 2 * wide) for rest in ((1e-2, 0.015, ()), (3e-7, None, ALL))]
    settings = []
    for batch, tolerance, step, events in tried:
        text = f"batch {batch}, tolerance {tolerance:.0e}" + (f", steps up to {step} s" if step else "") + (", kinks as events" if events else "")
        settings.append((text, lambda given=(batch, tolerance, step, events): solver(*given)))
    measure.report("heyoka, Taylor", hy.__version__, settings)


if __name__ == "__main__":
    main()
