"""All right-hand sides fly the same model: at tight tolerance every solver ends within 1e-6 m of the reference. Exit code 1 otherwise.

Run:  python check.py [--command PATH]     with PATH the project's command `tossline`, some throws are flown by it too, at 1e-12

Environment: SIDE_BY_SIDE_THROWS limits the check to the first throws.
"""

import argparse
import csv
import json
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

import lean_model as lean

LARGEST_M = 1e-6
FLOWN_ONE_AT_A_TIME = 10
FLOWN_BY_COMMAND = range(0, 1000, 50)


def solvers():
    """(name, final states or positions, throws flown), made one after the other."""
    import heyoka_batch
    import jax_diffrax
    import numba_dopri5
    import scipy_solve_ivp

    count = len(lean.throws()["throw"])
    few = min(FLOWN_ONE_AT_A_TIME, count)
    yield "SciPy, one throw at a time", scipy_solve_ivp.tight(slice(0, few)), range(few)
    yield "SciPy, all throws as one system", scipy_solve_ivp.tight_as_one(), range(count)
    for pair in numba_dopri5.PAIRS:
        yield f"Numba, {pair}", numba_dopri5.solver(pair, 1e-12, 1e-12)(), range(count)
    yield "JAX, diffrax", jax_diffrax.tight(), range(count)
    yield "heyoka, kinks as events", heyoka_batch.tight(), range(count)
    yield "heyoka, short steps", heyoka_batch.tight(events=()), range(count)


def by_command(command):
    """Final positions of some throws by the project's own command, at the scenario's tolerance of 1e-12."""
    from make_reference import scenario_of

    with open(lean.HERE / "throws.csv", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    chosen = [i for i in FLOWN_BY_COMMAND if i < len(lean.throws()["throw"])]
    with tempfile.TemporaryDirectory() as folder:
        files = []
        for i in chosen:
            files.append(Path(folder) / f"throw-{i}.json")
            files[-1].write_text(json.dumps(scenario_of(rows[i])), encoding="utf-8")
        subprocess.run([command, "fly", "--out", f"{folder}/out", *map(str, files)], check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        ends = []
        for i in chosen:
            with open(f"{folder}/out/lean-{rows[i]['throw']}/trajectory.csv", encoding="utf-8") as file:
                last = list(csv.DictReader(file))[-1]
            ends.append([float(last[name]) for name in ("north_m", "east_m", "height_m")])
    return np.array(ends) * [1.0, 1.0, -1.0], chosen


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--command", help="the project's command, to fly some throws too")
    arguments = parser.parse_args()
    reference, worst = lean.reference(), 0.0
    found = solvers()
    for name, ends, throws in found:
        worst = max(worst, tell(name, ends, reference[list(throws)]))
    if arguments.command:
        ends, chosen = by_command(arguments.command)
        worst = max(worst, tell("tossline fly, Dopri5 at 1e-12", ends, reference[chosen]))
    if not worst <= LARGEST_M:
        sys.exit(f"the solvers do not fly the same model: {worst:.1e} m apart, {LARGEST_M:.0e} m allowed")


def tell(name, ends, reference):
    distance = np.linalg.norm(np.asarray(ends)[:, :3] - reference, axis=1)
    # a number that is none must not pass
    worst = float(distance.max()) if np.isfinite(distance).all() else float("inf")
    print(f"{name:40} {len(distance):5} throws, worst {worst:.1e} m", flush=True)
    return worst


if __name__ == "__main__":
    main()
