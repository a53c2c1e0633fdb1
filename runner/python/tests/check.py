"""Builds the wheel, installs it in an empty virtual environment, flies, and runs the tests, the type checkers and the notebooks.

    python runner/python/tests/check.py

Everything it makes lies in the workspace's target folder; what `cargo test --workspace` has built there is used again. `TOSSLINE_COMMAND`
may name a built command; else cargo builds it.
"""

import os
import pathlib
import re
import shutil
import subprocess
import sys
import time
import venv
import zipfile

PACKAGE = pathlib.Path(__file__).resolve().parents[1]
CHECKOUT = PACKAGE.parents[1]
TARGET = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", CHECKOUT / "target"))
WORK = TARGET / "python-package"
REQUIREMENTS = PACKAGE / "tests/requirements.txt"
TOOLS = WORK / "tools/bin/python"

# What a flight needs: the wheel and NumPy, nothing else.
FIRST_FLIGHT = """
import sys, tossline
throw = tossline.load_scenario(sys.argv[1])
flight = throw.fly()
assert flight["height_m"].min() > 0 and flight.summary["ended_by"] == "time", flight
print(tossline.__version__, flight)
"""

_begun = time.monotonic()


def step(name: str) -> None:
    print(f"-- {time.monotonic() - _begun:3.0f} s: {name}", flush=True)


def run(*command: object, **more: object) -> None:
    subprocess.run([str(part) for part in command], check=True, **more)  # type: ignore[call-overload]


def begin(*command: object, **more: object) -> "subprocess.Popen[str]":
    """Lets a command run beside what comes next; `end` waits for it and shows what it said."""
    parts = [str(part) for part in command]
    return subprocess.Popen(  # type: ignore[call-overload, no-any-return]
        parts, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, **more
    )


def end(process: "subprocess.Popen[str]") -> None:
    said, _ = process.communicate()
    print(said, end="", flush=True)
    if process.returncode != 0:
        raise subprocess.CalledProcessError(process.returncode, process.args)


PIP = ["-m", "pip", "--disable-pip-version-check", "--quiet"]


def features(*of: str) -> set[str]:
    """Libraries and their features, a text each."""
    tree = ["cargo", "tree", "--locked", "--edges", "normal,build", "--prefix", "none", "--format", "{p} [{f}]"]
    said = subprocess.run([*tree, *of], cwd=CHECKOUT, check=True, capture_output=True, text=True).stdout
    lines = (line.removesuffix(" (*)") for line in said.splitlines())
    return {line for line in lines if not line.startswith("tossline")}


def build() -> pathlib.Path:
    here = features("--package", "tossline-python", "--features", "as-the-workspace")
    more = here - features("--workspace")
    assert not more, f"cargo would build these anew, with other features than the workspace: {sorted(more)}"
    wheels = WORK / "wheels"
    shutil.rmtree(wheels, ignore_errors=True)
    # The developer's profile: what `cargo test` has built is built already. A release wheel is `pip install ./runner/python`.
    options = ["--profile", "dev", "--locked", "--features", "as-the-workspace", "--out", wheels, "--interpreter", sys.executable]
    environment = dict(os.environ, CARGO_TARGET_DIR=str(TARGET))
    run(TOOLS.parent / "maturin", "build", *options, cwd=PACKAGE, env=environment)
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
    step("tools")
    if not TOOLS.exists():
        venv.create(TOOLS.parents[1], with_pip=True)
    (pin,) = re.findall(r"^maturin==.*$", REQUIREMENTS.read_text(), re.MULTILINE)
    run(TOOLS, *PIP, "install", pin)
    others = begin(TOOLS, *PIP, "install", "--no-compile", "--requirement", REQUIREMENTS)

    step("wheel")
    wheel = build()
    environment = dict(os.environ, TOSSLINE_COMMAND=command())

    step("an empty virtual environment, and a flight")
    empty = WORK / "empty"
    shutil.rmtree(empty, ignore_errors=True)
    venv.create(empty, with_pip=False)
    python = empty / "bin/python"
    end(others)
    run(TOOLS, *PIP, "--python", python, "install", "--no-compile", wheel)
    throw = CHECKOUT / "scenarios/ready/step-in-calm.json"
    run(python, "-c", FIRST_FLIGHT, throw, cwd=WORK)

    run(TOOLS, *PIP, "install", "--force-reinstall", "--no-deps", wheel)
    tests = sorted((PACKAGE / "tests").glob("test_*.py"))
    notebooks = sorted((PACKAGE / "notebooks").glob("*.ipynb"))
    assert len(notebooks) == 4
    without_outputs()
    # Types while it flies.
    stubs = begin(TOOLS, "-m", "mypy.stubtest", "tossline", "--concise", cwd=WORK)

    step("tests")
    run(TOOLS, "-m", "pytest", "--quiet", "--durations=5", PACKAGE / "tests", cwd=WORK, env=environment)

    step("types: the stubs against the module, the tests against the stubs")
    end(stubs)
    types = begin(TOOLS, "-m", "mypy", "--strict", "--cache-dir", WORK / "mypy", *tests, cwd=WORK)

    step("notebooks, from their first cell to their last")
    nbmake = ["--quiet", "--durations=5", "--nbmake", "--nbmake-timeout=120"]
    run(TOOLS, "-m", "pytest", *nbmake, *notebooks, cwd=WORK, env=environment)
    end(types)
    step("done")


if __name__ == "__main__":
    main()
