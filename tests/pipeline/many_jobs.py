"""A whole shelf by two processes, one of which is killed at work: how long, and that nothing is lost.

    python -m tests.pipeline.many_jobs [--jobs 200] [--workers 2] [--kill 40] [--scheduler]

--kill: after so many jobs a process that does them is killed; --scheduler: by a cluster on this machine instead.
Prints figures and asserts: every job is done, the run is taken up again in no time, a spoilt job fails alone.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import argparse
import csv
import os
import re
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from tests.pipeline.shelf import make_shelf

ONE_THREAD = {**os.environ, "OMP_NUM_THREADS": "1"}


def processes() -> Iterator[tuple[int, int, str]]:
    """(id, parent's id, command line) of every process; Linux."""
    for place in Path("/proc").glob("[0-9]*"):
        try:
            parent = int((place / "stat").read_text().rpartition(")")[2].split()[1])
            yield int(place.name), parent, (place / "cmdline").read_bytes().replace(b"\0", b" ").decode()
        except (OSError, ValueError):
            continue


def hands_of(parent: int) -> list[int]:
    """The processes that do the work of a `batch`, oldest first."""
    return sorted(number for number, above, command in processes() if above == parent and "spawn_main" in command)


def below(parent: int, words: str) -> list[int]:
    """Processes below this one, however deep, whose command holds these words."""
    all_of_them = list(processes())
    found, ring = [], {parent}
    while ring:
        children = [(number, command) for number, above, command in all_of_them if above in ring]
        found += [number for number, command in children if words in command]
        ring = {number for number, _ in children}
    return sorted(found)


@contextmanager
def cluster_here(workers: int) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """A scheduler and workers started as a maker would, on loopback; its address, and the scheduler's process."""
    with ExitStack() as stack:
        scheduler = stack.enter_context(_running("scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard"))
        address = _said(scheduler, r"Scheduler at:\s+(tcp://\S+)")
        for _ in range(workers):
            worker = stack.enter_context(_running("worker", address, "--nthreads", "1", "--no-dashboard", "--host", "127.0.0.1",
                                                  "--local-directory", stack.enter_context(tempfile.TemporaryDirectory())))
            _said(worker, r"(Registered to)")
        yield address, scheduler


@contextmanager
def _running(*arguments: str) -> Iterator[subprocess.Popen[str]]:
    with subprocess.Popen([sys.executable, "-m", "dask", *arguments], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
                          encoding="utf-8", env=ONE_THREAD) as running:
        try:
            yield running
        finally:
            running.terminate()
            try:
                running.wait(10)
            except subprocess.TimeoutExpired:
                running.kill()
            assert running.stderr is not None
            running.stderr.close()


def _said(running: subprocess.Popen[str], pattern: str) -> str:
    assert running.stderr is not None
    for line in running.stderr:
        found = re.search(pattern, line)
        if found:
            return found.group(1)
    raise AssertionError(f"it ended before it said {pattern}")


def batch(shelf: Path, *options: str, kill_after: int | None = None, kill_below: int | None = None) -> tuple[int, str, float]:
    """`afterpart batch`: its status, what it printed, and how long; a process that does the jobs is killed after so many."""
    begun, lines = time.monotonic(), []
    with subprocess.Popen([sys.executable, "-m", "afterpart", "batch", str(shelf), *options], stdout=subprocess.PIPE,
                          stderr=subprocess.STDOUT, encoding="utf-8", env={**ONE_THREAD, "PYTHONUNBUFFERED": "1"}) as running:
        assert running.stdout is not None
        for line in running.stdout:
            lines.append(line)
            if kill_after is not None and line.startswith(f"- {kill_after} of"):
                victims = hands_of(running.pid) if kill_below is None else below(kill_below, "dask worker")
                os.kill(victims[0], signal.SIGKILL)
    return running.returncode, "".join(lines), time.monotonic() - begun


def table_of(shelf: Path) -> list[dict[str, str]]:
    """The rows of the summary."""
    with (shelf / "many.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def main() -> None:
    """The study."""
    given = argparse.ArgumentParser()
    given.add_argument("--jobs", type=int, default=200)
    given.add_argument("--workers", type=int, default=2)
    given.add_argument("--kill", type=int, default=40)
    given.add_argument("--scheduler", action="store_true")
    asked = given.parse_args()
    with ExitStack() as stack:
        shelf = Path(stack.enter_context(tempfile.TemporaryDirectory())) / "shelf"
        make_shelf(shelf, asked.jobs)
        spoilt = shelf / "box_0" / "disc_003" / "disc.jpg"
        spoilt.write_bytes(spoilt.read_bytes()[:4000])
        how = ["--workers", str(asked.workers)]
        victims = None
        if asked.scheduler:
            address, _ = stack.enter_context(cluster_here(asked.workers))
            how, victims = ["--scheduler", address], os.getpid()
        status, said, took = batch(shelf, *how, kill_after=asked.kill, kill_below=victims)
        rows = table_of(shelf)
        failed = [row["job"] for row in rows if row["result"] == "failed"]
        spent = sum(float(row["seconds"]) for row in rows)
        print(f"{len(rows)} jobs, {asked.workers} workers, one killed after {asked.kill}: status {status}, {took:.0f} s, "
              f"{took / len(rows):.2f} s a job by the clock, {spent / len(rows):.2f} s in its worker; failed: {failed}")
        assert status == 4 and failed == ["box_0/disc_003"] and len(rows) == asked.jobs, said
        status, said, took = batch(shelf, *how)
        states = [row["result"] for row in table_of(shelf)]
        print(f"once more: {states.count('up to date')} up to date, {states.count('failed')} failed, {took:.0f} s")
        assert states.count("up to date") == asked.jobs - 1 and states.count("failed") == 1


if __name__ == "__main__":
    main()
