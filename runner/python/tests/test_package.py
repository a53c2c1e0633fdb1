"""What only the package has: overrides from Python, memory shared with NumPy and polars, threads, interrupts."""

import _thread
import pathlib
import signal
import threading
import time
from typing import Any

import numpy as np
import polars
import pytest
import tossline


def test_a_file_is_checked(checkout: pathlib.Path) -> None:
    assert tossline.check(checkout / "scenarios/ready/step-in-calm.json") == []
    airframe = tossline.load(checkout / "demo-airframes/dunlin.json")
    assert isinstance(airframe, tossline.Airframe) and airframe.name == "dunlin"
    schema = tossline.schema("airframe")
    assert "Aft of the nose datum, mm." in str(schema)


def elevation(throw: tossline.Scenario) -> Any:
    return throw.airframe.effective()["motors"][0]["thrust_elevation_deg"]


def test_fields_change_by_dictionary_and_keyword(step: tossline.Scenario) -> None:
    by_path = step.changed({"motors.*.thrust_elevation_deg": {"add": np.float64(-3)}})
    assert elevation(by_path) == -3.0
    assert elevation(by_path.changed({"motors.*.thrust_elevation_deg": {"multiply": 2}})) == -6.0
    assert elevation(step) == 0.0, "a throw does not change"
    by_name = step.changed(launch__release_speed_m_s=np.float32(5), end__time_limit_s=np.int64(2))
    assert by_name.effective()["launch"]["release_speed_m_s"] == 5.0
    assert by_name.fly().summary["flight_time_s"] == 2.0
    airframe = step.airframe.changed({"mass.parts.nose-clay.mass_g": 2.8})
    assert airframe.mass_g == pytest.approx(step.airframe.mass_g + 1.0)
    assert airframe.changed(tabs__elevon__setting_deg=-4).mass_g == airframe.mass_g


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"motors.*.thrust_elevaton_deg": 1}, 'did you mean "motors.\\*.thrust_elevation_deg"'),
        ({"launch.release_speed_m_s": -1}, "release_speed_m_s"),
        ({"launch.release_speed_m_s": float("nan")}, "found NaN, wanted a finite number"),
        ({"launch.release_speed_m_s": {"ad": 1}}, 'did you mean "add"'),
        ({"launch.release_speed_m_s": [1]}, "wanted a number, text"),
    ],
)
def test_wrong_changes_are_named(step: tossline.Scenario, change: dict[str, Any], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        step.changed(change)
    with pytest.raises(ValueError, match=said):
        step.fly_many([{}, change])


def test_numpy_and_polars_look_at_the_same_memory(step: tossline.Scenario) -> None:
    flight = step.fly()
    height = flight["height_m"]
    assert height.dtype == np.float64 and height.ndim == 1
    assert not height.flags.owndata and not height.flags.writeable
    assert height.ctypes.data == flight["height_m"].ctypes.data, "no copy is made"
    frame = flight.to_polars()
    assert frame["height_m"].to_numpy(allow_copy=False).ctypes.data == height.ctypes.data
    pandas = flight.to_pandas()
    assert np.shares_memory(pandas["height_m"].to_numpy(), height)
    # Absent is NaN to NumPy and pandas, null to polars: the advance ratio of a rotor at rest, the cell of a glider.
    assert frame.columns == flight.columns == list(pandas.columns)
    del flight
    assert height[0] == pytest.approx(4.0), "an array outlives its flight"


def test_absent_numbers_are_null_and_nan(checkout: pathlib.Path) -> None:
    glide = tossline.load_scenario(checkout / "scenarios/ready/gentle-test-glide.json")
    summaries = tossline.fly([glide]).summaries
    assert np.isnan(summaries["pitch_down_under_power_deg"][0])
    frame = polars.DataFrame(summaries)
    assert frame["pitch_down_under_power_deg"][0] is None
    assert frame["ended_by"][0] == "ground"
    with pytest.raises(KeyError, match="no column"):
        summaries["height"]


def test_every_text_column_is_known_as_one(checkout: pathlib.Path) -> None:
    # A word in a column taken for numbers would be lost: fly what ends in every way and flies over zones.
    ready = sorted((checkout / "scenarios/ready").glob("*.json"))
    flights = tossline.fly(map(tossline.load_scenario, ready), keep_trajectories=False)
    summaries = flights.summaries
    for i, flight in enumerate(flights):
        for name, value in flight.summary.items():
            cell = summaries[name][i]
            if isinstance(value, str):
                assert cell == value, (flight.name, name)
            elif isinstance(value, float):
                assert cell == value, (flight.name, name)
    with pytest.raises(ValueError, match="keep_trajectories=True"):
        flights[0]["height_m"]
    assert flights[0]._repr_svg_() is None


def test_many_flights_are_the_same_on_any_number_of_threads(step: tossline.Scenario) -> None:
    speeds = [3.8, 4.3, 5.0, 5.5]
    changes = [{"launch.release_speed_m_s": speed} for speed in speeds]
    one, three = (step.fly_many(changes, threads=n).summaries for n in (1, 3))
    for name in one.columns:
        assert np.array_equal(one[name], three[name], equal_nan=one[name].dtype != object), name
    alone = step.changed(launch__release_speed_m_s=5.0).fly()
    assert alone.record["inputs_sha256"] == one["inputs_sha256"][2]
    with pytest.raises(ValueError, match="threads: found 0, wanted 1 to 1024"):
        step.fly_many([{}], threads=0)


def test_other_threads_run_while_it_flies(step: tossline.Scenario) -> None:
    # With the interpreter held by the flights no other Python thread would get a turn until they are done.
    turns = 0
    done = threading.Event()

    def count() -> None:
        nonlocal turns
        while not done.is_set():
            turns += 1
            time.sleep(0.001)

    counter = threading.Thread(target=count)
    counter.start()
    before = turns
    step.fly_many([{}] * 40, keep_trajectories=False)
    during = turns - before
    done.set()
    counter.join()
    assert during > 3


def test_an_interrupt_stops_the_flights(step: tossline.Scenario) -> None:
    # So many would take an hour: coming back at all is the proof. Where tests run in the background interrupts are ignored until
    # somebody wants them.
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        threading.Timer(0.5, _thread.interrupt_main).start()
        with pytest.raises(KeyboardInterrupt):
            step.fly_many([{}] * 100_000, keep_trajectories=False)
    finally:
        signal.signal(signal.SIGINT, before)


def test_everything_public_says_what_it_is() -> None:
    for name in tossline.__all__:
        thing = getattr(tossline, name)
        if name not in ("CAUTION", "__version__"):
            assert thing.__doc__ and len(thing.__doc__) > 40, name
        if isinstance(thing, type) and thing.__module__ == "tossline":
            for method in vars(thing):
                if not method.startswith("_"):
                    assert getattr(thing, method).__doc__, f"{name}.{method}"
