"""Tossline: flies small hand-launched foam aircraft on the computer, between the real throws.

Load a throw, change a dimension, fly both, look at them::

    import tossline

    throw = tossline.load_scenario("scenarios/ready/step-in-calm.json")
    cured = throw.changed({"motors.*.thrust_elevation_deg": -10})
    flights = tossline.fly([throw, cured])

    flights                                             # shows itself in a notebook
    flights.summaries["pitch_down_under_power_deg"]     # array([17.2, 5.9])
    flights[0]["height_m"]                              # NumPy array, one value a row of the trajectory
    flights[0].to_polars()                              # or to_pandas(), or polars.DataFrame(flights[0])

Ask what the command answers with many throws, with hands and builds that scatter::

    answer = tossline.thrust_line("demo-airframes/dunlin.json")     # a minute: which angle, how exactly, or what else
    answer.words, answer.window_deg
    study = tossline.sweep("scenarios/studies/what-decides-the-step.json")
    study.words, study.flights, study.sensitivities

Everything is named as by the command `tossline` and in its files: the unit ends the name (`height_m`, `alpha_deg`, `thrust_N`), and
positions are in builder's axes. Any field can be changed by its path, as in a scenario file: with a dictionary, where a value sets the
field and ``{"add": x}`` or ``{"multiply": x}`` change the number that is there, or with keyword arguments, two underscores for each
dot (``launch__release_speed_m_s=5``). What a file cannot mean is a :class:`FileError` with the command's own text.

Flights are flown on all cores with the interpreter free, and an interrupt stops them after the throws in the air. Tables
(:class:`Frame`) lie once in memory; NumPy, polars and pandas look at them there.

A computed flight is no clearance to fly: propellers cut, lithium cells burn when hurt, and your site's rules and club come first.
Nobody has yet measured a glider of this size against the model.
"""

from ._tossline import (
    CAUTION,
    Airframe,
    Column,
    FileError,
    Flight,
    Flights,
    Frame,
    Scenario,
    Sweep,
    ThrustLine,
    __version__,
    check,
    fly,
    load,
    load_airframe,
    load_scenario,
    schema,
    sweep,
    thrust_line,
)

__all__ = [
    "CAUTION",
    "Airframe",
    "Column",
    "FileError",
    "Flight",
    "Flights",
    "Frame",
    "Scenario",
    "Sweep",
    "ThrustLine",
    "__version__",
    "check",
    "fly",
    "load",
    "load_airframe",
    "load_scenario",
    "schema",
    "sweep",
    "thrust_line",
]
