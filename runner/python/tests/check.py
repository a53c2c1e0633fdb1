"""Builds the wheel, installs it in an empty virtual environment, flies, and runs the tests, the type checkers and the notebooks.

    python runner/python/tests/check.py

Everything it makes lies in the workspace's target folder; what cargo has built there is used again. `TOSSLINE_COMMAND` may name a
built command; else cargo builds it.
"""

import os
import pathlib
import re
import shutil
import subprocess
import sys
import venv
import zipfile

PACKAGE = pathlib.Path(__file__).resolve().parents[1]
CHECKOUT = PACKAGE.parents[1]
TARGET = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", CHECKOUT / "target"))
WORK = TARGET / "python-package"
REQUIREMENTS = PACKAGE / "tests/requirements.txt"

# What a flight needs: the wheel and NumPy, nothing else.
FIRST_FLIGHT = """
import sys, tossline
throw = tossline.load_scenario(sys.argv[1])
flight = throw.fly()
assert flight["height_m"].min() > 0 and flight.summary["ended_by"] == "time", flight
print(tossline.__version__, flight)
"""


def step(name: str) -> None:
    print(f"-- {name}", flush=True)


def run(*command: object, **more: object) -> None:
    subprocess.run([str(part) for part in command], check=True, **more)  # type: ignore[call-overload]


def python_of(folder: pathlib.Path, *, fresh: bool) -> pathlib.Path:
    """The interpreter of a virtual environment, made where it is missing, or anew."""
    python = folder / "bin/python"
    if fresh:
        shutil.rmtree(folder, ignore_errors=True)
    if not python.exists():
        venv.create(folder, with_pip=True)
    return python


def install(python: pathlib.Path, *what: object) -> None:
    run(python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", *what)


def build(tools: pathlib.Path) -> pathlib.Path:
    wheels = WORK / "wheels"
    shutil.rmtree(wheels, ignore_errors=True)
    # The developer's profile: what `cargo test` has built is built already. A release wheel is `pip install ./runner/python`.
    options = ["--profile", "dev", "--locked", "--out", wheels, "--interpreter", sys.executable]
    environment = dict(os.environ, CARGO_TARGET_DIR=str(TARGET))
    run(tools.parent / "maturin", "build", *options, cwd=PACKAGE, env=environment)
    (wheel,) = wheels.glob("*.whl")
    assert re.search(r"-cp310-abi3-", wheel.name), wheel.name
    names = zipfile.ZipFile(wheel).namelist()
    for needed in ["tossline/__init__.py", "tossline/_tossline.pyi", "tossline/py.typed"]:
        assert needed in names, f"the wheel lacks {needed}: {names}"
    return wheel


def command() -> str:
    given = os.environ.get("TOSSLINE_COMMAND")
    if given is None:
        run("cargo", "build", "--quiet", "--locked", "--workspace", "--bin", "tossline", cwd=CHECKOUT)
        given = str(TARGET / "debug/tossline")
    return given


def without_outputs() -> None:
    import json

    for file in sorted((PACKAGE / "notebooks").glob("*.ipynb")):
        for cell in json.loads(file.read_text())["cells"]:
            assert not cell.get("outputs"), f"{file.name} has outputs: clear them before committing"


def main() -> None:
    step("wheel")
    tools = python_of(WORK / "tools", fresh=False)
    (pin,) = re.findall(r"^maturin==.*$", REQUIREMENTS.read_text(), re.MULTILINE)
    install(tools, pin)
    wheel = build(tools)

    step("an empty virtual environment, and a flight")
    python = python_of(WORK / "empty", fresh=True)
    install(python, wheel)
    throw = CHECKOUT / "scenarios/ready/step-in-calm.json"
    run(python, "-c", FIRST_FLIGHT, throw, cwd=WORK)

    install(python, "--requirement", REQUIREMENTS)
    environment = dict(os.environ, TOSSLINE_COMMAND=command())

    step("tests")
    run(python, "-m", "pytest", "--quiet", PACKAGE / "tests", cwd=WORK, env=environment)

    step("types: the stubs against the module, the tests against the stubs")
    run(python, "-m", "mypy.stubtest", "tossline", "--concise", cwd=WORK)
    tests = sorted((PACKAGE / "tests").glob("test_*.py"))
    run(python, "-m", "mypy", "--strict", "--cache-dir", WORK / "mypy", *tests, cwd=WORK)

    step("notebooks, from their first cell to their last")
    without_outputs()
    notebooks = sorted((PACKAGE / "notebooks").glob("*.ipynb"))
    assert len(notebooks) == 4
    run(python, "-m", "pytest", "--quiet", "--nbmake", "--nbmake-timeout=120", *notebooks, cwd=WORK, env=environment)


if __name__ == "__main__":
    main()
