"""Sobol indices of the Ishigami function by SALib (PyPI): writes sensitivity_groups.csv and sensitivity_indices.csv beside itself.

The groups are the function's values at SALib's own samples; the indices are what SALib makes of them. Its intervals are by bootstrap.
"""

from importlib.metadata import version
from pathlib import Path

import numpy as np
from SALib.analyze import sobol as analyze
from SALib.sample import sobol as sample
from SALib.test_functions import Ishigami

HERE = Path(__file__).parent
PROBLEM = {"num_vars": 3, "names": ["x1", "x2", "x3"], "bounds": [[-np.pi, np.pi]] * 3}
SOURCE = f"# Source: SALib {version('SALib')}, sensitivity.py beside this file: Ishigami function with a = 7, b = 0.1 at its own Sobol samples"

points = sample.sample(PROBLEM, 256, calc_second_order=False, scramble=True, seed=5)
values = Ishigami.evaluate(points)
found = analyze.analyze(PROBLEM, values, calc_second_order=False, num_resamples=2000, conf_level=0.95, seed=5)

rows = [f"{g[0]!r}, {g[4]!r}, {g[1]!r}, {g[2]!r}, {g[3]!r}" for g in values.reshape(-1, 5).tolist()]
(HERE / "sensitivity_groups.csv").write_text("\n".join([SOURCE, "a, b, ab1, ab2, ab3", *rows]) + "\n")
rows = [f"{i + 1}, " + ", ".join(repr(float(found[key][i])) for key in ("S1", "S1_conf", "ST", "ST_conf")) for i in range(3)]
(HERE / "sensitivity_indices.csv").write_text(
    "\n".join([SOURCE + "; 95 % half widths from 2000 resamples", "field, first, first_half_width, total, total_half_width", *rows]) + "\n"
)
