"""What the package says against what the command writes: the same numbers, names and words.

`TOSSLINE_COMMAND` is the built command; check.py sets it.
"""

import csv
import json
import os
import pathlib
import subprocess

import numpy as np
import pytest
import tossline


def command(*arguments: object) -> subprocess.CompletedProcess[str]:
    path = os.environ["TOSSLINE_COMMAND"]
    return subprocess.run([path, *map(str, arguments)], capture_output=True, text=True)


@pytest.fixture(scope="module")
def written(checkout: pathlib.Path, tmp_path_factory: pytest.TempPathFactory) -> pathlib.Path:
    out = tmp_path_factory.mktemp("out")
    step = checkout / "scenarios/ready/step-in-calm.json"
    done = command("fly", step, "--out", out, "--set", "launch.release_speed_m_s=5.0")
    assert done.returncode == 0, done.stderr
    return out


def test_trajectory_and_summary_are_the_command_s(
    step: tossline.Scenario, written: pathlib.Path
) -> None:
    flights = tossline.fly([step.changed(launch__release_speed_m_s=5.0)])
    flight = flights[0]
    with open(written / "step-in-calm/trajectory.csv") as file:
        rows = list(csv.DictReader(file))
    assert flight.columns == list(rows[0])
    for name in flight.columns:
        cells = [float(row[name]) if row[name] else np.nan for row in rows]
        # The shortest digits give the same number back: equal to the bit.
        assert np.array_equal(flight[name], cells, equal_nan=True), name
    record = json.loads((written / "step-in-calm/summary.json").read_text())
    assert flight.record == record
    with open(written / "summary.csv") as file:
        row = next(csv.DictReader(file))
    summaries = flights.summaries
    assert summaries.columns == list(row)
    for name in summaries.columns:
        cell, value = row[name], summaries[name][0]
        if cell == "":
            assert value is None or np.isnan(value), name
        elif isinstance(value, str):
            assert value == cell, name
        else:
            assert value == float(cell), name


def test_errors_are_the_command_s(checkout: pathlib.Path, tmp_path: pathlib.Path) -> None:
    wrong = tmp_path / "throw.json"
    text = (checkout / "scenarios/ready/step-in-calm.json").read_text()
    wrong.write_text(text.replace('"release_speed_m_s"', '"release_sped_m_s"'))
    done = command("fly", wrong, "--out", tmp_path / "out")
    assert done.returncode == 2
    with pytest.raises(tossline.FileError) as caught:
        tossline.load(wrong)
    assert done.stderr == f"error: {caught.value}\n"
    assert caught.value.file == str(wrong)
    assert caught.value.line is not None and caught.value.line > 1
    assert caught.value.nearest == "release_speed_m_s"
    with pytest.raises(tossline.FileError, match="no such file"):
        tossline.load(tmp_path / "none.json")
    with pytest.raises(ValueError, match='wanted an airframe or a scenario'):
        tossline.load(checkout / "scenarios/studies/footprint-from-the-dyke.json")


def test_balance_trim_and_modes_are_the_command_s(
    checkout: pathlib.Path, dunlin: tossline.Airframe
) -> None:
    file = checkout / "demo-airframes/dunlin.json"
    said = json.loads(command("balance", file, "--json").stdout)
    ours = dunlin.balance()
    for name in ["balance", "one_sigma", "mark", "trailing_edges", "caution", "validity"]:
        assert ours[name] == said[name], name
    said = json.loads(command("trim", file, "--throttle", "0.3,0.6", "--json").stdout)
    steady = dunlin.trim([0.3, 0.6])
    for name in ["throttle_fraction", "airspeed_m_s", "thrust_N", "climb_m_s"]:
        cells = [np.nan if row[name] is None else row[name] for row in said["steady"]]
        assert np.array_equal(steady[name], cells, equal_nan=True), name
    assert list(steady["flight"]) == [row["flight"] for row in said["steady"]]
    modes = dunlin.modes()
    assert list(modes["name"]) == [row["name"] for row in said["modes"]]
    wrong = command("trim", file, "--throttle", "2")
    with pytest.raises(ValueError) as caught:
        dunlin.trim([2.0])
    assert wrong.stderr == f"error: --{caught.value}\n"


def test_pictures_are_the_command_s(
    step: tossline.Scenario,
    dunlin: tossline.Airframe,
    checkout: pathlib.Path,
    written: pathlib.Path,
    tmp_path: pathlib.Path,
) -> None:
    flight = step.changed(launch__release_speed_m_s=5.0).fly()
    assert flight._repr_svg_() == (written / "picture.svg").read_text()
    command("balance", checkout / "demo-airframes/dunlin.json", "--out", tmp_path)
    assert dunlin._repr_svg_() == (tmp_path / "dunlin-balance.svg").read_text()
