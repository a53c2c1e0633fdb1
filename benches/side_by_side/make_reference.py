"""Fly the thousand throws with the independent scripts (tests/independent) at 1e-12 and write reference.csv.

The scripts were written from MODEL.md alone and share no right-hand side with the solvers of the comparison. Beside the final states it
notes what the lean right-hand sides lean on, and refuses throws in which it does not hold: both motors draw current all the time, rotors turn so
fast that tanh(rotor speed / 20 rad/s) is 1, the cell keeps over nine tenths of its charge, and nobody comes near the ground.

Run:  python make_reference.py          (some ten minutes on one core)
"""

import csv
import json
import sys
from pathlib import Path

import lean_model as lean

from fly import Flight  # noqa: E402  (found by lean_model)

LEAST_CURRENT_A, LEAST_ROTOR_RAD_S, LEAST_CHARGE_FRACTION, LEAST_HEIGHT_M = 1e-3, 400.0, 0.9, 5.0
NAMES = ["position_north_m", "position_east_m", "position_down_m", "quaternion_0", "quaternion_1", "quaternion_2", "quaternion_3",
         "velocity_u_m_s", "velocity_v_m_s", "velocity_w_m_s", "rate_p_rad_s", "rate_q_rad_s", "rate_r_rad_s",
         "left_rotor_speed_rad_s", "right_rotor_speed_rad_s", "charge_C"]


def scenario_of(row):
    """The scenario file of one row of throws.csv, as a dictionary."""
    number = {name: float(text) for name, text in row.items()}
    scenario = lean.read("lean.json")
    scenario["name"] = f"lean-{int(number['throw'])}"
    scenario["airframe"] = str(lean.HERE / "lean-airframe.json")
    scenario["launch"] |= {name: number[name] for name in ("release_speed_m_s", "path_angle_deg", "heading_deg", "bank_deg")}
    scenario["launch"]["rotor_speed_rpm"] = [number["left_rotor_speed_rpm"], number["right_rotor_speed_rpm"]]
    scenario["pilot"]["throttle"]["changes"] = [{"time_s": number["step_time_s"], "to_fraction": number["step_to_fraction"]}]
    scenario["air"]["gusts"] = [{"speed_m_s": number["gust_speed_m_s"], "from_deg": number["gust_from_deg"],
                                 "up_m_s": number["gust_up_m_s"], "gust_start_s": number["gust_start_s"],
                                 "gust_duration_s": number["gust_duration_s"]}]
    return scenario


class Watched(Flight):
    """A flight that notes the extremes of what the lean right-hand sides lean on."""

    def rates(self, t, y):
        rotors, charge = (float(y[13]), float(y[14])), float(y[15])
        cell, motors = self.airframe.cell, self.airframe.motors
        currents = cell.solve(charge, motors, self.controls.duties(t), rotors)[1]
        now = min(currents), min(rotors), 1 - charge / cell.capacity, -float(y[2])
        self.least = [min(a, b) for a, b in zip(getattr(self, "least", now), now)]
        return super().rates(t, y)


def fly_row(row, folder):
    path = Path(folder) / f"throw-{row['throw']}.json"
    path.write_text(json.dumps(scenario_of(row)), encoding="utf-8")
    table = lean.table_of(lean.read("lean-airframe.json"))
    flight = Watched(path, {f"lean-{row['throw']}": table})
    kind, t, y, _ = flight.fly()
    path.unlink()
    if kind != "time limit" or any(a < b for a, b in zip(flight.least, (LEAST_CURRENT_A, LEAST_ROTOR_RAD_S, LEAST_CHARGE_FRACTION, LEAST_HEIGHT_M))):
        raise SystemExit(f"throw {row['throw']}: {kind} at {t} s, least current A, rotor rad/s, charge, height m: {flight.least}")
    return y, flight.least


def main():
    import tempfile
    from multiprocessing import Pool

    with open(lean.HERE / "throws.csv", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    processes = int(sys.argv[1]) if len(sys.argv) > 1 else 1
    with tempfile.TemporaryDirectory() as folder, Pool(processes) as pool:
        results = pool.starmap(fly_row, [(row, folder) for row in rows], chunksize=5)
    least = [min(column) for column in zip(*(found for _, found in results))]
    with open(lean.HERE / "reference.csv", "w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["throw", *NAMES])
        writer.writerows([row["throw"], *(repr(float(x)) for x in y)] for row, (y, _) in zip(rows, results))
    print("least current A, rotor speed rad/s, charge fraction, height m:", *(f"{x:.4g}" for x in least))


if __name__ == "__main__":
    main()
