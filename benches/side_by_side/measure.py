"""How every solver of the comparison is timed and judged: the same scan, the same repeats, the same errors.

A solver's script gives its settings in an order from loose to tight within each family. Every setting is flown once for its errors and once more
for its time; for each accuracy the fastest few that meet it are then timed in turns, the best of all repeats counts. What meets an
accuracy: 99 % of the throws end within it of the reference. Time is the process's own CPU time over all its threads, so that other work on the
machine counts as little as possible; on an idle machine and one core it is the time on the clock. `compile_s` is the longest compilation of any
setting tried. Prints one JSON line for each accuracy:

    {"name", "version", "accuracy_m", "flights_per_s", "median_m", "p99_m", "worst_m", "setting", "compile_s"}

Environment: SIDE_BY_SIDE_REPEATS (default 7), SIDE_BY_SIDE_VERBOSE=1 tells every setting on standard error.
"""

import json
import os
import sys
import time

import lean_model as lean

ACCURACIES_M = (1e-3, 1e-4)
REPEATS = int(os.environ.get("SIDE_BY_SIDE_REPEATS", "7"))
FINALISTS = 3


def seconds(run):
    """CPU seconds and result of a call."""
    start = time.process_time()
    result = run()
    return time.process_time() - start, result


class Candidate:
    """One setting: its compiled flyer, errors and best time."""

    def __init__(self, setting, run, compile_s, twice=True):
        self.setting, self.run = setting, run
        first_s, ends = seconds(run)
        self.errors = lean.errors_m(ends[:, :3])
        self.count = len(ends)
        self.best_s = seconds(run)[0] if twice else first_s
        # what the first run took longer than the next one was compilation or warming up
        self.compile_s = compile_s + max(0.0, first_s - self.best_s)

    def again(self):
        self.best_s = min(self.best_s, seconds(self.run)[0])

    def line(self, name, version, accuracy):
        median, p99, worst = self.errors
        return {"name": name, "version": version, "accuracy_m": accuracy, "flights_per_s": self.count / self.best_s, "median_m": median,
                "p99_m": p99, "worst_m": worst, "setting": self.setting, "compile_s": self.compile_s}


def report(name, version, settings, repeats=REPEATS, finalists=FINALISTS):
    """Scan settings, a list of (text, function that compiles and returns the flyer), and print the best for each accuracy."""
    candidates = []
    for setting, make in settings:
        compile_s, run = seconds(make)
        candidate = Candidate(setting, run, compile_s)
        candidates.append(candidate)
        if os.environ.get("SIDE_BY_SIDE_VERBOSE"):
            print(json.dumps(candidate.line(name, version, None)), file=sys.stderr, flush=True)
    # what several settings share is compiled with the first of them
    longest = max(candidate.compile_s for candidate in candidates)
    for candidate in candidates:
        candidate.compile_s = longest
    chosen = {}
    for accuracy in ACCURACIES_M:
        good = sorted((c for c in candidates if c.errors[1] <= accuracy), key=lambda c: c.best_s)
        chosen[accuracy] = good[:finalists]
    for _ in range(repeats):
        for candidate in {id(c): c for found in chosen.values() for c in found}.values():
            candidate.again()
    for accuracy, found in chosen.items():
        if found:
            print(json.dumps(min(found, key=lambda c: c.best_s).line(name, version, accuracy)), flush=True)
        else:
            print(json.dumps({"name": name, "version": version, "accuracy_m": accuracy, "setting": "none of the settings tried"}), flush=True)
