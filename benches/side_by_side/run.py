"""Run the whole comparison in one go, each solver as a process of its own on one core, and write table.md and the table of the project's README.md.

The project's own engines are run by the command lines of ours.json; they print the same JSON lines as the solvers (measure.py), where `accuracy_m`
may be left out: a line then stands for every accuracy that its 99 % meets. Of several lines of one name the fastest that meets the accuracy counts.

Run:  python run.py [--core N] [--rounds N]
"""

import argparse
import csv
import datetime
import json
import os
import platform
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent
README = HERE.parent.parent / "README.md"
PEERS = ["numba_dopri5.py", "heyoka_batch.py", "jax_diffrax.py", "scipy_solve_ivp.py"]
ACCURACIES_M = {1e-3: "1 mm", 1e-4: "0.1 mm"}
ONE_THREAD = {name: "1" for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS", "RAYON_NUM_THREADS")}


def lines_of(command, core):
    """JSON lines a process prints, run on one core; nothing and a word on standard error where it fails."""
    print("running", *command, file=sys.stderr, flush=True)
    try:
        done = subprocess.run(["taskset", "-c", str(core), *command], cwd=HERE, env=os.environ | ONE_THREAD, stdout=subprocess.PIPE, text=True)
    except OSError as problem:
        print(f"not run: {problem}", file=sys.stderr)
        return []
    if done.returncode != 0:
        print(f"failed with code {done.returncode}", file=sys.stderr)
        return []
    return [json.loads(line) for line in done.stdout.splitlines() if line.startswith("{")]


def better(best, line, ours):
    """Note a line where it is the fastest of its name that meets an accuracy."""
    for accuracy in ACCURACIES_M:
        if line.get("accuracy_m", accuracy) != accuracy or "flights_per_s" not in line or not line["p99_m"] <= accuracy:
            continue
        known = best.setdefault((accuracy, line["name"]), {**line, "ours": ours})
        if line["flights_per_s"] > known["flights_per_s"]:
            best[accuracy, line["name"]] = {**line, "ours": ours}


def processor():
    try:
        names = [line.split(":", 1)[1].strip() for line in Path("/proc/cpuinfo").read_text().splitlines() if line.startswith("model name")]
        return names[0]
    except (OSError, IndexError):
        return platform.processor() or "unknown processor"


def millimetres(value):
    return f"{1e3 * value:.2g}"


def table(best, accuracy):
    rows = sorted((line for (at, _), line in best.items() if at == accuracy), key=lambda line: line["flights_per_s"])
    fastest = max((line["flights_per_s"] for line in rows if not line["ours"]), default=None)
    text = ["| flown by | flights a second | to the fastest peer | error median, 99 %, worst (mm) | setting | compiled in (s) |", "| --- | ---: | ---: | --- | --- | ---: |"]
    for line in rows:
        name = line["name"] + (f" ({line['version']})" if line.get("version") else "")
        ratio = f"{line['flights_per_s'] / fastest:.3g}" if fastest else "–"
        errors = ", ".join(millimetres(line[key]) for key in ("median_m", "p99_m", "worst_m"))
        compiled = f"{line['compile_s']:.1f}" if line.get("compile_s") else "–"
        name = f"**{name}**" if line["ours"] else name
        text.append(f"| {name} | {line['flights_per_s']:,.0f} | {ratio} | {errors} | {line['setting']} | {compiled} |")
    return text


def short_table(best, accuracy):
    """Rows for somebody who has not asked: who flew it, how fast, how right."""
    rows = sorted((line for (at, _), line in best.items() if at == accuracy), key=lambda line: line["flights_per_s"])
    fastest = max((line["flights_per_s"] for line in rows if not line["ours"]), default=None)
    text = ["| flown by, on one core | flights a second | times the fastest peer | 99 % end within |", "| --- | ---: | ---: | ---: |"]
    for line in rows:
        name = f"**{line['name']}**" if line["ours"] else line["name"]
        ratio = f"{line['flights_per_s'] / fastest:.2g}" if fastest else "–"
        text.append(f"| {name} | {line['flights_per_s']:,.0f} | {ratio} | {millimetres(line['p99_m'])} mm |")
    return text


def put_between(path, begin, end, lines):
    """Put lines between two marker lines of a text file, whole or not at all."""
    text = path.read_text(encoding="utf-8")
    before, found, rest = text.partition(begin)
    _, closed, after = rest.partition(end)
    if not found or not closed:
        sys.exit(f"{path.name} has no lines {begin!r} and {end!r}; its table was not written")
    part = path.with_suffix(".part")
    part.write_text(before + begin + "\n" + "\n".join(lines) + "\n" + end + after, encoding="utf-8")
    part.replace(path)


def count_rows(name):
    with open(HERE / name, encoding="utf-8") as file:
        return sum(1 for _ in csv.DictReader(file))


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--core", type=int, default=0, help="the core everything runs on (default 0)")
    parser.add_argument("--rounds", type=int, default=1, help="run everything so many times and keep the best (default 1)")
    arguments = parser.parse_args()
    load = os.getloadavg()[0]
    commands = [([sys.executable, script], False) for script in PEERS]
    commands += [([part.replace("{core}", str(arguments.core)) for part in entry["command"]], True) for entry in json.loads((HERE / "ours.json").read_text())]
    best, missing = {}, []
    for _ in range(arguments.rounds):
        for command, ours in commands:
            lines = lines_of(command, arguments.core)
            if not lines:
                missing.append(Path(command[-1 if not ours else 0]).name)
            for line in lines:
                better(best, line, ours)
    text = []
    for accuracy, word in ACCURACIES_M.items():
        text += [f"At {word} (99 % of the throws end within it of the reference):", "", *table(best, accuracy), ""]
    if missing:
        text += [f"Not run: {', '.join(sorted(set(missing)))}.", ""]
    text += [
        f"{count_rows('throws.csv')} throws of 10 s, each with a throttle step and a gust; lean configuration, 16 states. One core of {processor()} ({os.cpu_count()} cores, "
        f"load {load:.1f} before the run), {datetime.date.today().isoformat()}, Python {platform.python_version()}. Best of several repeats; CPU time; compilation apart.",
        "", "Repeat: `pip install -r requirements.txt`, `python check.py`, `python run.py` in `benches/side_by_side`.",
    ]
    target = HERE / "table.md"
    part = target.with_suffix(".part")
    part.write_text("\n".join(text) + "\n", encoding="utf-8")
    part.replace(target)
    print(target.read_text())
    told = f"(benches/side_by_side, {processor()}, {os.cpu_count()} cores, load {load:.1f} before the run, {datetime.date.today().isoformat()})"
    put_between(README, "<!-- speed -->", "<!-- /speed -->", [*short_table(best, 1e-3), "", told])


if __name__ == "__main__":
    main()
