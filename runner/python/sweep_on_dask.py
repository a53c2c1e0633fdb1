"""Flies the parts of a study on a Dask cluster and gathers them.

    python sweep_on_dask.py STUDY --out DIR --parts 64 --scheduler tcp://HOST:8786

Every worker needs the command tossline, the study's files under the same paths, and the folder DIR: a shared file system. Without
--scheduler a cluster is made on this machine. What is in DIR when it ends has the same bytes as `tossline sweep STUDY --out DIR/whole` on one
machine: parts lie in DIR/part-0001 and so on, the joined result in DIR/whole.

Nothing is lost: a part that loses its worker goes on where it stopped, on another worker, and so does the whole when this program is
started again.
"""

import argparse
import subprocess
import sys
import time
from pathlib import Path

from distributed import Client, LocalCluster, as_completed

# Exit codes of tossline: done; done, but a flight failed or a condition that must hold does not; another command works in the folder.
DONE, DONE_WITH_FAULTS, CANNOT_WRITE = 0, 1, 3
BUSY = "another command works in this folder"
BUSY_WAIT_S = 1.0


def part_folder(out, number):
    """Where part `number` (from 1) lies."""
    return Path(out) / f"part-{number:04d}"


def fly_part(study, out, number, parts, tossline="tossline", threads=1, overrides=()):
    """Flies one part and returns its number. Raises RuntimeError with what tossline said where it could not be flown.

    A worker that was killed may have left its command alive in the folder; then this waits until that one is done or dead, and goes on.
    """
    command = [tossline, "sweep", str(study), "--out", str(part_folder(out, number))]
    command += ["--part", f"{number}/{parts}", "--threads", str(threads), "--json"]
    command += [word for override in overrides for word in ("--set", override)]
    while True:
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        if done.returncode in (DONE, DONE_WITH_FAULTS):
            return number
        if done.returncode == CANNOT_WRITE and BUSY in done.stderr:
            time.sleep(BUSY_WAIT_S)
            continue
        raise RuntimeError(f"part {number}/{parts}: exit code {done.returncode}: {done.stderr.strip()}")


def sweep(client, study, out, parts, tossline="tossline", threads=1, overrides=(), said=print):
    """Flies all parts on a cluster, gathers them, and returns the folder of the whole."""
    Path(out).mkdir(parents=True, exist_ok=True)
    futures = [
        # Not pure: what counts is what it leaves in its folder. Retries: for a worker whose disk or machine fails.
        client.submit(fly_part, str(study), str(out), number, parts, tossline, threads, tuple(overrides), pure=False, retries=2)
        for number in range(1, parts + 1)
    ]
    for count, future in enumerate(as_completed(futures), start=1):
        said(f"part {future.result()} is flown, {count} of {parts}")
    whole = Path(out) / "whole"
    folders = [str(part_folder(out, number)) for number in range(1, parts + 1)]
    done = subprocess.run([tossline, "gather", *folders, "--out", str(whole)], text=True, check=False, capture_output=True)
    if done.returncode not in (DONE, DONE_WITH_FAULTS):
        raise RuntimeError(done.stderr.strip())
    said(done.stdout)
    return whole


def main():
    """The command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("study", type=Path)
    parser.add_argument("--out", type=Path, required=True, help="folder all workers reach")
    parser.add_argument("--parts", type=int, required=True, help="how many; a few for each worker")
    parser.add_argument("--scheduler", help="address of the cluster's scheduler; a cluster on this machine without it")
    parser.add_argument("--threads", type=int, default=1, help="threads of each part")
    parser.add_argument("--tossline", default="tossline", help="the command on the workers")
    parser.add_argument("--set", action="append", default=[], metavar="PATH=VALUE", help="as of tossline sweep")
    asked = parser.parse_args()
    if asked.parts < 1:
        parser.error("--parts: found less than 1")
    study, out = asked.study.resolve(), asked.out.resolve()

    def run(client):
        sweep(client, study, out, asked.parts, asked.tossline, asked.threads, asked.set)

    try:
        if asked.scheduler:
            with Client(asked.scheduler) as client:
                run(client)
        else:
            with LocalCluster(threads_per_worker=1) as cluster, Client(cluster) as client:
                run(client)
    except RuntimeError as error:
        sys.exit(f"error: {error}")


if __name__ == "__main__":
    main()
