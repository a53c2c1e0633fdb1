"""Sweeps and thrust lines: the command's files, words and errors; stopping, and going on.

`TOSSLINE_COMMAND` is the built command; check.py sets it.
"""

import _thread
import csv
import json
import pathlib
import signal
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np
import polars
import pytest
import tossline
from test_as_the_command import command

# A few throws over two axes of speeds and winds, the hand scattered.
SPEEDS = {
    "tossline": 1,
    "kind": "study",
    "name": "speeds",
    "axes": [{"field": "launch.release_speed_m_s", "values": [4.0, 4.6, 5.2]}],
    "scatter": {
        "fields": [
            {"distribution": "normal", "field": "launch.path_angle_deg", "change": "add", "mean": 0, "standard_deviation": 3},
            {"distribution": "uniform", "field": "air.wind.speed_m_s", "least": 0, "most": 1.5},
        ]
    },
    "flights": 8,
    "conditions": [
        {"name": "high", "column": "minimum_altitude_m", "comparison": "at_least", "limit": 1.2, "least_share_fraction": 0.9},
        {"name": "in_the_air", "column": "ended_by", "comparison": "is", "word": "time"},
    ],
    "keep": {"trajectories": {"which": "worst", "count": 2, "column": "minimum_altitude_m", "end": "lowest"}},
}


def study(folder: pathlib.Path, checkout: pathlib.Path, **changes: object) -> pathlib.Path:
    file = folder / "study.json"
    base = checkout / "scenarios/ready/step-in-calm.json"
    file.write_text(json.dumps({**SPEEDS, "base": str(base), **changes}))
    return file


def files(folder: pathlib.Path) -> dict[str, bytes]:
    """What a folder holds, but for the lock."""
    found = (path for path in folder.rglob("*") if path.is_file() and path.name != ".tossline-lock")
    return {str(path.relative_to(folder)): path.read_bytes() for path in found}


def same_as_csv(frame: tossline.Frame, file: pathlib.Path) -> None:
    with open(file) as text:
        rows = list(csv.DictReader(text))
    assert frame.columns == list(rows[0]) and len(frame) == len(rows)
    for name in frame.columns:
        for row, value in zip(rows, frame[name].tolist(), strict=True):
            cell = row[name]
            if cell == "":
                assert value is None or np.isnan(value), name
            elif isinstance(value, bool):
                assert cell == str(value).lower(), name
            elif isinstance(value, str):
                assert cell == value, name
            else:
                # The shortest digits give the same number back: equal to the bit.
                assert float(cell) == value, name


@contextmanager
def interrupted(when: Callable[[], bool]) -> Iterator[None]:
    """Interrupts what is done inside as soon as something is so."""

    def watch() -> None:
        while not when():
            time.sleep(0.01)
        _thread.interrupt_main()

    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        threading.Thread(target=watch, daemon=True).start()
        with pytest.raises(KeyboardInterrupt):
            yield
    finally:
        signal.signal(signal.SIGINT, before)


@pytest.mark.parametrize("table", ["csv", "parquet"])
def test_a_sweep_is_the_command_s(checkout: pathlib.Path, tmp_path: pathlib.Path, table: str) -> None:
    file = study(tmp_path, checkout, keep={**SPEEDS["keep"], "format": table})  # type: ignore[dict-item]
    theirs, ours = tmp_path / "theirs", tmp_path / "ours"
    done = command("sweep", file, "--out", theirs, "--set", "end.time_limit_s=3.0")
    assert done.returncode == 0, done.stderr
    swept = tossline.sweep(file, end__time_limit_s=3.0, out=ours)
    assert files(ours) == files(theirs)
    # Before its answer the command says how long it will take.
    assert swept.text.replace(str(ours), str(theirs)) in done.stdout
    report = json.loads((theirs / "summary.json").read_text())
    assert swept.report == report and swept.words == report["paragraph"]
    assert len(swept) == len(swept.flights) == 24 and swept.name == "speeds"
    assert swept.sensitivities is None and swept.warnings == []
    assert swept.points is not None
    same_as_csv(swept.points, theirs / "points.csv")
    if table == "csv":
        same_as_csv(swept.flights, theirs / "flights.csv")
    else:
        by_polars = polars.read_parquet(theirs / "flights/*.parquet")
        assert polars.DataFrame(swept.flights).equals(by_polars)
    # In memory alone, and on one thread: the same.
    alone = tossline.sweep(file, {"end.time_limit_s": 3.0}, threads=1)
    assert alone.report == report and "Written to" not in alone.text
    assert polars.DataFrame(alone.flights).equals(polars.DataFrame(swept.flights))


def test_columns_of_a_sweep_have_their_kinds_and_are_not_copied(checkout: pathlib.Path, tmp_path: pathlib.Path) -> None:
    flights = tossline.sweep(study(tmp_path, checkout, flights=2)).flights
    number, met = flights["flight"], flights["meets high"]
    assert number.dtype == np.int64 and list(number) == list(range(6)) and not number.flags.owndata
    assert number.ctypes.data == flights["flight"].ctypes.data
    frame = flights.to_polars()
    assert frame["flight"].to_numpy(allow_copy=False).ctypes.data == number.ctypes.data
    assert met.dtype == bool and frame["meets high"].dtype == polars.Boolean
    assert frame["could_not_start"].null_count() == 6
    pandas = flights.to_pandas()
    assert np.shares_memory(pandas["minimum_altitude_m"].to_numpy(), flights["minimum_altitude_m"])
    assert pandas["meets high"].sum() == met.sum()


def test_what_decides_is_a_table_named_as_in_the_summary(checkout: pathlib.Path, tmp_path: pathlib.Path) -> None:
    for kind, first in [("sobol_indices", "first_order"), ("elementary_effects", "mean_size")]:
        asked = {"kind": kind, "columns": ["minimum_altitude_m", "flight_time_s"]}
        swept = tossline.sweep(study(tmp_path, checkout, axes=[], flights=8, sensitivity=asked))
        table = swept.sensitivities
        assert table is not None and swept.points is None
        rows = [(of["column"], one) for of in swept.report["sensitivities"] for one in of["fields"]]
        assert list(table["column"]) == [column for column, _ in rows]
        assert list(table["field"]) == [one["field"] for _, one in rows]
        assert list(table[first]) == [one[first]["estimate"] for _, one in rows]
        assert list(table[f"{first}_plus_minus"]) == [one[first]["plus_minus"] for _, one in rows]


def test_a_stopped_sweep_goes_on_and_ends_with_the_same_bytes(checkout: pathlib.Path, tmp_path: pathlib.Path) -> None:
    file = study(tmp_path, checkout, flights=40)
    out = tmp_path / "out"

    def some_saved() -> bool:
        ledger = out / "ledger.jsonl"
        return ledger.exists() and len(ledger.read_text().splitlines()) > 1

    with interrupted(some_saved):
        tossline.sweep(file, out=out)
    saved = len((out / "flights.csv").read_text().splitlines()) - 1
    assert 0 < saved < 120 and not (out / "summary.json").exists()
    whole = tossline.sweep(file, out=out)
    assert len(whole.flights) == 120
    tossline.sweep(file, out=tmp_path / "undisturbed")
    assert files(out) == files(tmp_path / "undisturbed")


def test_errors_of_a_sweep_are_the_command_s(checkout: pathlib.Path, tmp_path: pathlib.Path) -> None:
    wrong = study(tmp_path, checkout, fligts=3)
    done = command("sweep", wrong, "--out", tmp_path / "out")
    with pytest.raises(tossline.FileError) as caught:
        tossline.sweep(wrong)
    assert done.stderr == f"error: {caught.value}\n" and caught.value.nearest == "flights"
    # A folder in which something else was flown.
    out = tmp_path / "out"
    tossline.sweep(study(tmp_path, checkout, flights=1), out=out)
    other = study(tmp_path, checkout, flights=2)
    done = command("sweep", other, "--out", out)
    with pytest.raises(ValueError, match="its content has changed") as refused:
        tossline.sweep(other, out=out)
    assert done.returncode == 2 and done.stderr == f"error: {refused.value}\n"
    # A folder that cannot be one.
    blocked = tmp_path / "study.json" / "out"
    done = command("sweep", other, "--out", blocked)
    with pytest.raises(OSError) as unwritable:
        tossline.sweep(other, out=blocked)
    assert done.returncode == 3 and done.stderr == f"error: {unwritable.value}\n"
    with pytest.raises(ValueError, match="threads: found 0, wanted 1 to 1024"):
        tossline.sweep(other, threads=0)


@pytest.fixture(scope="module")
def few_angles(checkout: pathlib.Path, tmp_path_factory: pytest.TempPathFactory) -> pathlib.Path:
    """The dunlin's study of its thrust line with two angles, one circumstance and little scatter: seconds instead of a minute."""
    whole: dict[str, Any] = json.loads((checkout / "scenarios/studies/thrust-line-dunlin.json").read_text())
    angles, where = whole["axes"]
    angles.update({"from": -14, "to": -10, "count": 2})
    for one in [where, *where["along"]]:
        one["values"] = one["values"][2:3]
    where["names"] = where["names"][2:3]
    asked = ("over_heads", "nose_down", "climbs")
    whole["conditions"] = [one for one in whole["conditions"] if one["name"] in asked]
    for condition in whole["conditions"]:
        condition.pop("at", None)
    whole["scatter"].update(fields=whole["scatter"]["fields"][:3], correlations=[])
    whole["bands"].update(draws=2, flights=1, fields=whole["bands"]["fields"][:1])
    whole.update(flights=2, floor_fraction=0, base=str(checkout / "scenarios/studies" / whole["base"]))
    file = tmp_path_factory.mktemp("study") / "few-angles.json"
    file.write_text(json.dumps(whole))
    return file


def test_a_thrust_line_is_the_command_s(
    checkout: pathlib.Path, dunlin: tossline.Airframe, few_angles: pathlib.Path, tmp_path: pathlib.Path
) -> None:
    airframe = checkout / "demo-airframes/dunlin.json"
    theirs, ours = tmp_path / "theirs", tmp_path / "ours"
    asked = ["--study", few_angles, "--share-fraction", "0.5", "--height", "-10", "--as-built"]
    done = command("thrustline", airframe, "--out", theirs, *asked, "--set", "mass.parts.nose-clay.mass_g+=0.5")
    assert done.returncode == 0, done.stderr
    heavier = dunlin.changed({"mass.parts.nose-clay.mass_g": {"add": 0.5}})
    line = tossline.thrust_line(heavier, study=few_angles, share_fraction=0.5, height_mm=[-10], as_built=True, out=ours)
    assert files(ours) == files(theirs)
    assert line.text == done.stdout
    report = json.loads((theirs / "thrustline.json").read_text())
    assert line.report == report and line.words == report["in_plain_words"]
    answer = report["answers"][0]
    assert line.verdict == answer["verdict"] and line.best_deg == answer["best_deg"] and line.airframe == "dunlin"
    window = answer["window"]
    assert line.window_deg == (None if window is None else (window["low_deg"], window["high_deg"]))
    assert line._repr_svg_() == (theirs / "thrustline.svg").read_text()
    assert line._repr_svg_() in line._repr_html_()
    same_as_csv(line.flights, theirs / "thrustline.csv")
    rows = [(of["height_change_mm"], at) for of in report["answers"] for at in of["chosen"] + of["stated"]]
    assert list(line.angles["angle_deg"]) == [at["angle_deg"] for _, at in rows]
    assert list(line.angles["height_change_mm"]) == [height for height, _ in rows]
    assert list(line.angles["share_fraction"]) == [at["meets"]["share_fraction"] for _, at in rows]
    assert list(line.angles["meet_all"]) == [at["meets"]["count"] for _, at in rows]
    # From its file, in memory alone and on one thread: the same.
    alone = tossline.thrust_line(
        airframe,
        {"mass.parts.nose-clay.mass_g": {"add": 0.5}},
        study=few_angles,
        share_fraction=0.5,
        height_mm=[-10],
        as_built=True,
        threads=1,
    )
    assert alone.report == report and "Written" not in alone.text


def test_errors_of_a_thrust_line_are_the_command_s(
    checkout: pathlib.Path, dunlin: tossline.Airframe, tmp_path: pathlib.Path
) -> None:
    airframe = checkout / "demo-airframes/dunlin.json"
    out = tmp_path / "out"
    for flags, arguments, name in [
        (["--share-fraction", "1.5"], {"share_fraction": 1.5}, "share-fraction"),
        (["--height=900"], {"height_mm": [900.0]}, "height"),
    ]:
        done = command("thrustline", airframe, "--out", out, *flags)
        with pytest.raises(ValueError) as caught:
            tossline.thrust_line(dunlin, **arguments)  # type: ignore[arg-type]
        ours = str(caught.value).partition(": ")
        assert done.stderr == f"error: --{name}: {ours[2]}\n" and ours[0] in arguments
    done = command("thrustline", airframe, "--out", out, "--set", "motors.*.thrust_elevaton_deg=1")
    with pytest.raises(tossline.FileError) as wrong:
        tossline.thrust_line(airframe, {"motors.*.thrust_elevaton_deg": 1})
    assert done.stderr.replace("command line", "") == f"error: {wrong.value}\n".replace("command line", "")
    with pytest.raises(ValueError, match="flights: found 0, wanted 1 to 100000"):
        tossline.thrust_line(dunlin, flights=0)
    with pytest.raises(ValueError, match="flights: found beside a study"):
        tossline.thrust_line(dunlin, flights=8, study=airframe)
    assert not out.exists()


def test_an_interrupt_stops_a_thrust_line_and_nothing_is_written(dunlin: tossline.Airframe, tmp_path: pathlib.Path) -> None:
    # So many would take hours: coming back at all is the proof.
    out = tmp_path / "out"
    with interrupted(out.exists):
        tossline.thrust_line(dunlin, flights=10_000, out=out)
    assert files(out) == {}


def test_other_threads_run_while_many_throws_fly(checkout: pathlib.Path, tmp_path: pathlib.Path) -> None:
    turns = 0
    done = threading.Event()

    def count() -> None:
        nonlocal turns
        while not done.wait(0.001):
            turns += 1

    counter = threading.Thread(target=count)
    counter.start()
    tossline.sweep(study(tmp_path, checkout))
    done.set()
    counter.join()
    assert turns > 3
