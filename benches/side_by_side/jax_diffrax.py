"""JAX with diffrax: all throws (or blocks of them) under vmap, each with its own adaptive step, in double precision on the CPU.

The cuts (throttle step, gust's edges) are the controller's jump times, a vector for each throw: steps end exactly there. Of the solvers Tsit5,
Dopri5 and Dopri8 the best at each accuracy is taken, with the best block size. Compile time is counted apart.

Run:  python jax_diffrax.py             (best setting of a scan)
"""

import os

os.environ.setdefault("JAX_PLATFORMS", "cpu")
os.environ.setdefault("XLA_FLAGS", "--xla_cpu_multi_thread_eigen=false intra_op_parallelism_threads=1")
os.environ.setdefault("EQX_ON_ERROR", "nan")

import diffrax
import jax
import jax.numpy as jnp
import numpy as np

import lean_model as lean
import measure

jax.config.update("jax_enable_x64", True)
K = lean.constants()
PIECES = np.concatenate([K.thrust_pieces, K.torque_pieces, K.knots[:-1, None]], axis=1)  # (12, 9)


def propellers(density, u, rotor):
    """Thrust and air torque of a rotor that turns (6.2)."""
    nd = rotor * (K.diameter / (2 * np.pi))
    j = u / nd
    i = jnp.clip(jnp.floor(10.0 * j + 1.0).astype(jnp.int32) + 1, 0, 11)  # the table's rows are 0.1 apart in J
    t3, t2, t1, t0, q3, q2, q1, q0, knot = (jnp.asarray(PIECES[:, n])[i] for n in range(9))
    s = jnp.arctan(j) - knot
    pressure = density * K.diameter**2 * (u * u + nd * nd)
    return pressure * (((t3 * s + t2) * s + t1) * s + t0), pressure * K.diameter * (((q3 * s + q2) * s + q1) * s + q0)


def rates(t, y, args):
    """Rates of the 16 states of one throw."""
    k = K
    _, _, x_d, q0, q1, q2, q3, u, v, w, p, q, r, left, right, charge = y
    low, high, step, gx, gy, gz, start, stop, turn = args
    duty = jnp.where(t > step, high, low)
    a00, a11, a22, a33 = q0 * q0, q1 * q1, q2 * q2, q3 * q3
    unit = 1.0 / (a00 + a11 + a22 + a33)
    twice = 2.0 * unit
    r11, r22, r33 = (a00 + a11 - a22 - a33) * unit, (a00 - a11 + a22 - a33) * unit, (a00 - a11 - a22 + a33) * unit
    r12, r21 = (q1 * q2 - q0 * q3) * twice, (q1 * q2 + q0 * q3) * twice
    r13, r31 = (q1 * q3 + q0 * q2) * twice, (q1 * q3 - q0 * q2) * twice
    r23, r32 = (q2 * q3 - q0 * q1) * twice, (q2 * q3 + q0 * q1) * twice
    size = jnp.where((t > start) & (t < stop), 0.5 - 0.5 * jnp.cos(turn * (t - start)), 0.0)
    wx, wy, wz = size * gx, size * gy, size * gz
    au = u - (r11 * wx + r21 * wy + r31 * wz)
    av = v - (r12 * wx + r22 * wy + r32 * wz)
    aw = w - (r13 * wx + r23 * wy + r33 * wz)
    vx, vy, vz = au + q * k.ref_z, av + r * k.ref_x - p * k.ref_z, aw - q * k.ref_x
    h = -x_d
    ratio = 1.0 + (lean.LAPSE / k.temperature) * (lean.EARTH_RADIUS * h / (lean.EARTH_RADIUS + h))
    density = (k.pressure / (lean.GAS_CONSTANT * k.temperature)) * jnp.exp(lean.DENSITY_EXPONENT * jnp.log(ratio))
    plane2 = vx * vx + vz * vz
    speed2 = plane2 + vy * vy
    plane, speed = jnp.sqrt(plane2), jnp.sqrt(speed2)
    by_plane, by_speed = 1.0 / plane, 1.0 / speed
    ca, sa, sb, s_h = vx * by_plane, vz * by_plane, vy * by_speed, vz * by_speed
    alpha, beta = jnp.arctan2(vz, vx), jnp.arctan(vy * by_plane)
    # 5.1
    s, b, c = k.area, k.span, k.chord
    lift_c = k.lift_zero + k.lift_alpha * alpha
    over = lift_c - k.lift_at_min_drag
    n, quarter = 0.5 * s * density * speed2, 0.25 * s * density * speed
    lift = n * lift_c + quarter * (c * k.lift_q) * q
    drag = n * (k.drag_zero + k.drag_factor * over * over)
    fx, fz = lift * sa - drag * ca, -drag * sa - lift * ca
    n_beta, quarter_b = n * beta, quarter * b
    fy = k.side_beta * n_beta + quarter_b * (k.side_p * p + k.side_r * r)
    mx = b * k.roll_beta * n_beta + quarter_b * (b * k.roll_p * p + b * k.roll_r * r) - k.ref_z * fy
    my = n * (c * k.pitch_zero + c * k.pitch_alpha * alpha) + quarter * (c * c * k.pitch_q) * q + k.ref_z * fx - k.ref_x * fz
    mz = b * k.yaw_beta * n_beta + quarter_b * (b * k.yaw_p * p + b * k.yaw_r * r) + k.ref_x * fy
    # 5.3
    weight = 1.0 / ((1.0 + jnp.exp((2 / k.alpha_blend) * (jnp.abs(alpha) - k.alpha_stall)))
                    * (1.0 + jnp.exp((2 / k.beta_blend) * (jnp.abs(beta) - k.beta_stall))))
    by_h, by_v = 1.0 / (0.56 + 0.44 * jnp.abs(s_h)), 1.0 / (0.56 + 0.44 * jnp.abs(sb))
    spin = 0.5 * density
    half = spin * speed * (1.0 - weight)
    over_h, over_v = s_h * by_h, sb * by_v
    push_z, push_y = (-k.c_90 * k.level_area) * half * speed * over_h, (-k.c_90 * k.upright_area) * half * speed * over_v
    shift = 0.25 - 0.25 * vx * by_speed
    k_h = 2.0 * s_h * over_h + 0.56 * (by_h * by_h - over_h * over_h)
    k_v = 2.0 * sb * over_v + 0.56 * (by_v * by_v - over_v * over_v)
    friction = (s * k.drag_min) * half
    fx = weight * fx - friction * vx
    fy = weight * fy - friction * vy + push_y
    fz = weight * fz + push_z
    c_90 = k.c_90
    mx = weight * mx - k.upright_z * push_y - ((c_90 * k.j3_x) * spin * jnp.abs(p) + half * (c_90 * k.j2_xh * k_h + c_90 * k.j2_xv * k_v)) * p
    my = (weight * my - (k.level_x - k.level_chord * shift) * push_z
          - ((c_90 * k.j3_y) * spin * jnp.abs(q) + half * (c_90 * k.j2_y) * k_h) * q)
    mz = (weight * mz + (k.upright_x - k.upright_chord * shift) * push_y
          - ((c_90 * k.j3_z) * spin * jnp.abs(r) + half * (c_90 * k.j2_z) * k_v) * r)
    # 6: both motors draw
    z = (1.0 - k.cell_z0) - charge / k.capacity
    c3, c2, c1, c0 = k.cell_cubic
    resistance = k.motor_resistance
    voltage = ((((c3 * z + c2) * z + c1) * z + c0 - k.cell_resistance * k.electronics
                + (k.cell_resistance * k.motor_k / resistance) * duty * (left + right))
               / (1.0 + (2.0 * k.cell_resistance / resistance) * duty * duty))
    left_current, right_current = ((duty * voltage - k.motor_k * rotor) / resistance for rotor in (left, right))
    axial = k.axis_x * (au + q * k.disc_z) + k.axis_z * (aw - q * k.disc_x)
    turning = k.disc_y * (k.axis_z * p - k.axis_x * r)
    left_thrust, left_air = propellers(density, axial - turning, left)
    right_thrust, right_air = propellers(density, axial + turning, right)
    thrust, more = left_thrust + right_thrust, right_thrust - left_thrust
    twist = k.motor_k * (right_current - left_current)
    mx = mx + (k.disc_y * k.axis_z) * more + k.axis_x * twist
    my = my + (k.disc_z * k.axis_x - k.disc_x * k.axis_z) * thrust
    mz = mz + k.axis_z * twist - (k.disc_y * k.axis_x) * more
    # 3
    momentum = k.rotor_inertia * (left - right)
    hx, hy, hz = k.ixx * p - k.ixz_product * r + k.axis_x * momentum, k.iyy * q, k.izz * r - k.ixz_product * p + k.axis_z * momentum
    mx, my, mz = mx + r * hy - q * hz, my + p * hz - r * hx, mz + q * hx - p * hy
    determinant = k.ixx * k.izz - k.ixz_product**2
    g = lean.GRAVITY
    return jnp.stack([
        r11 * u + r12 * v + r13 * w, r21 * u + r22 * v + r23 * w, r31 * u + r32 * v + r33 * w,
        -0.5 * (q1 * p + q2 * q + q3 * r), 0.5 * (q0 * p + q2 * r - q3 * q), 0.5 * (q0 * q + q3 * p - q1 * r), 0.5 * (q0 * r + q1 * q - q2 * p),
        (fx + k.axis_x * thrust) / k.mass + g * r31 + r * v - q * w,
        fy / k.mass + g * r32 + p * w - r * u,
        (fz + k.axis_z * thrust) / k.mass + g * r33 + q * u - p * v,
        (k.izz * mx + k.ixz_product * mz) / determinant, my / k.iyy, (k.ixz_product * mx + k.ixx * mz) / determinant,
        (k.motor_k * (left_current - k.no_load) - left_air) / k.rotor_inertia,
        (k.motor_k * (right_current - k.no_load) - right_air) / k.rotor_inertia,
        k.electronics + duty * (left_current + right_current),
    ])


SOLVERS = {"Tsit5": diffrax.Tsit5, "Dopri5": diffrax.Dopri5, "Dopri8": diffrax.Dopri8}


BLOCKS = (32, 1000)


def compiled(name):
    """One throw by a solver, mapped over a block and compiled."""
    term = diffrax.ODETerm(rates)

    def one(y, args, jumps, relative, absolute):
        controller = diffrax.ClipStepSizeController(diffrax.PIDController(rtol=relative, atol=absolute), jump_ts=jumps)
        solution = diffrax.diffeqsolve(term, SOLVERS[name](), 0.0, lean.END_S, 0.01, y, args, stepsize_controller=controller,
                                       saveat=diffrax.SaveAt(t1=True), max_steps=100_000, throw=False, adjoint=diffrax.ForwardMode())
        return solution.ys[0], solution.stats["num_steps"]

    return jax.jit(jax.vmap(one, in_axes=(0, 0, 0, None, None)))


def solver(name, relative, absolute, block, flown=None):
    """A function that flies all throws and returns the final states."""
    flown = flown or compiled(name)
    columns = lean.throws()
    states, gusts = lean.launch_states(columns), lean.gust_velocities(columns)
    step, start = columns["step_time_s"], columns["gust_start_s"]
    stop = start + columns["gust_duration_s"]
    count = len(states)
    low, turn = np.full(count, K.throttle_at_release), 2 * np.pi / columns["gust_duration_s"]
    args = (low, columns["step_to_fraction"], step, *gusts.T, start, stop, turn)
    jumps = np.sort(np.stack([step, start, stop], axis=1), axis=1)
    order = np.concatenate([np.arange(count), np.full(-count % block, count - 1)]).reshape(-1, block)
    blocks = [(group, jnp.asarray(states[group]), tuple(jnp.asarray(a[group]) for a in args), jnp.asarray(jumps[group])) for group in order]
    ends = np.empty_like(states)

    def run():
        run.steps = 0
        for group, y, given, cuts in blocks:
            ys, steps = flown(y, given, cuts, relative, absolute)
            ends[group] = np.asarray(ys)
            run.steps += int(steps.sum())
        return ends

    return run


def tight():
    return solver("Dopri8", 1e-12, 1e-12, 1000)()


def main():
    settings = []
    for name, tolerances in (("Tsit5", range(14, 23)), ("Dopri5", range(14, 23, 2)), ("Dopri8", range(12, 23, 2))):
        for block in BLOCKS:
            flown = compiled(name)  # compiled once for each solver and block, tolerances are arguments
            for tolerance in [10.0 ** (-n / 4) for n in tolerances]:
                settings.append((f"{name}, rtol = atol = {tolerance:.1e}, blocks of {block}",
                                 lambda given=(name, tolerance, tolerance, block, flown): solver(*given)))
    measure.report("JAX, diffrax", f"{jax.__version__}, {diffrax.__version__}", settings, repeats=min(4, measure.REPEATS))


if __name__ == "__main__":
    main()
