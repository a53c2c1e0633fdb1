"""Draw the thousand throws of the comparison: throws.csv, made once from a seed and committed.

Each row varies lean.json smoothly: the throw itself, one throttle step upwards, one 1-cosine gust in time. Values are rounded, so
that the file says exactly what is flown. Cuts of one throw (step, gust's start and end) lie at least 0.01 s apart.

Run:  python make_throws.py
"""

import csv
from pathlib import Path

import numpy as np

SEED, COUNT = 20261125, 1000
# column, least, greatest, decimals; even draws
COLUMNS = [
    ("release_speed_m_s", 4.0, 5.4, 3),
    ("path_angle_deg", -10.0, 4.0, 2),
    ("heading_deg", 0.0, 360.0, 2),
    ("bank_deg", -15.0, 15.0, 2),
    ("left_rotor_speed_rpm", 8500.0, 10000.0, 0),
    ("right_rotor_speed_rpm", 8500.0, 10000.0, 0),
    ("step_time_s", 0.5, 4.0, 3),
    ("step_to_fraction", 0.4, 0.9, 3),
    ("gust_start_s", 1.0, 7.0, 3),
    ("gust_duration_s", 0.4, 2.0, 3),
    ("gust_speed_m_s", 0.2, 1.5, 3),
    ("gust_from_deg", 0.0, 360.0, 2),
    ("gust_up_m_s", -0.7, 0.7, 3),
]
LEAST_GAP_S = 0.01


def main():
    random = np.random.default_rng(SEED)
    rows = []
    while len(rows) < COUNT:
        row = {name: round(float(random.uniform(low, high)), digits) for name, low, high, digits in COLUMNS}
        step, start = row["step_time_s"], row["gust_start_s"]
        if min(abs(step - start), abs(step - start - row["gust_duration_s"])) >= LEAST_GAP_S:
            rows.append({"throw": len(rows) + 1, **row})
    with open(Path(__file__).with_name("throws.csv"), "w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, ["throw", *(column[0] for column in COLUMNS)], lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


if __name__ == "__main__":
    main()
