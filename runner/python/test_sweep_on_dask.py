"""The driver on a real cluster of this machine, with a worker killed on the way.

    TOSSLINE=target/debug/tossline python -m unittest runner/python/test_sweep_on_dask.py
"""

import json
import os
import shutil
import signal
import subprocess
import tempfile
import threading
import time
import unittest
from pathlib import Path

from distributed import Client, LocalCluster

from sweep_on_dask import part_folder, sweep

HERE = Path(__file__).resolve().parent
DATA = HERE.parent.parent / "scenarios" / "test-data"
TOSSLINE = str(Path(os.environ.get("TOSSLINE", shutil.which("tossline") or "tossline")).resolve())
FLIGHTS, PARTS = 800, 4


def write_study(folder):
    """A cheap study: throws of a tenth of a second."""
    shutil.copy(DATA / "knot.json", folder)
    scenario = json.loads((DATA / "step.json").read_text())
    scenario.update(end={"time_limit_s": 0.1}, pilot={})
    del scenario["summary"], scenario["air"]["gusts"]
    (folder / "short.json").write_text(json.dumps(scenario))
    study = {
        "tossline": 1, "kind": "study", "name": "short", "base": "short.json", "flights": FLIGHTS, "seed": 3,
        "scatter": {"fields": [{"distribution": "normal", "field": "launch.release_speed_m_s", "mean": 6, "standard_deviation": 0.5}]},
        "conditions": [{"name": "fast", "column": "airspeed_min_m_s", "comparison": "at_least", "limit": 7, "least_share_fraction": 0.1}],
    }
    path = folder / "study.json"
    path.write_text(json.dumps(study))
    return path


def content(folder):
    """Every file of a folder by its path in it."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


class OnACluster(unittest.TestCase):
    def test_a_worker_killed_on_the_way_changes_no_byte(self):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            study = write_study(folder)
            with LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as cluster, Client(cluster) as client:
                killed = []

                def kill_one():
                    # The worker that flies a part which has begun and is not finished.
                    while not any((part_folder(folder / "out", k) / "ledger.jsonl").exists() for k in range(1, PARTS + 1)):
                        time.sleep(0.002)
                    for address, keys in client.processing().items():
                        if keys:
                            pid = client.run(os.getpid, workers=[address])[address]
                            os.kill(pid, signal.SIGKILL)
                            killed.append(pid)
                            return

                killer = threading.Thread(target=kill_one, daemon=True)
                killer.start()
                whole = sweep(client, study, folder / "out", PARTS, TOSSLINE, said=lambda text: None)
                killer.join(10)
            self.assertEqual(len(killed), 1, "a worker was killed")
            subprocess.run([TOSSLINE, "sweep", str(study), "--out", str(folder / "one")], check=True, capture_output=True)
            found, expected = content(whole), content(folder / "one")
            self.assertEqual(list(found), list(expected))
            for file, data in expected.items():
                self.assertEqual(found[file] == data, True, file)

    def test_what_tossline_refuses_is_said(self):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            study = write_study(folder)
            study.write_text(study.read_text().replace("short.json", "shrt.json"))
            with LocalCluster(n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None) as cluster, Client(cluster) as client:
                with self.assertRaisesRegex(RuntimeError, "did you mean \"short.json\""):
                    sweep(client, study, folder / "out", 1, TOSSLINE, said=lambda text: None)


if __name__ == "__main__":
    unittest.main()
