"""A child that runs the command line many times in one warm process, and says of each run how it ended and what it cost.

Run as a program it reads one JSON list of arguments a line and answers with one JSON object a line: status, stdout, stderr,
seconds, cpu_s (processor time), peak_mb (largest resident memory of that run, where the kernel lets it be reset; else of the
process so far).  `WarmChild` is its other end.  Address space and processor time of the child are limited, so that a runaway
ends as a failure here and not as a machine that swaps.  Limits: Linux; elsewhere the tests that use it are skipped.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import contextlib
import io
import json
import os
import resource
import subprocess
import sys
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from afterpart.cli import main

ROOT = Path(__file__).resolve().parents[2]
MOST_ADDRESS_SPACE = 6 * 1024**3
"""Bytes a child may map: libraries and their threads' stacks map far more than they use."""
LONGEST_RUN_S = 120.0
"""A run that is silent for so long is ended."""


@dataclass(frozen=True)
class Run:
    """How one command ended."""

    status: int
    stdout: str
    stderr: str
    seconds: float
    peak_mb: float
    cpu_s: float


class WarmChild:
    """One running child; a context manager."""

    def __init__(self) -> None:
        # memory is measured as a maker has it: `make test` has the allocator keep what is freed
        plain = {name: value for name, value in os.environ.items() if not name.startswith("MALLOC_")}
        self.process = subprocess.Popen([sys.executable, "-m", "tests.hostile.warm_child"], cwd=ROOT, text=True, env=plain,
                                        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)

    def __enter__(self) -> WarmChild:
        return self

    def __exit__(self, *_: object) -> None:
        self.process.kill()
        self.process.wait()
        for pipe in (self.process.stdin, self.process.stdout):
            assert pipe is not None
            with contextlib.suppress(OSError):
                pipe.close()

    def run(self, *arguments: str | Path) -> Run:
        """`afterpart ARGUMENTS...`.  AssertionError where the child died or was ended for taking too long."""
        assert self.process.stdin is not None and self.process.stdout is not None
        timer = threading.Timer(LONGEST_RUN_S, self.process.kill)
        timer.start()
        try:
            self.process.stdin.write(json.dumps([str(one) for one in arguments]) + "\n")
            self.process.stdin.flush()
            answer = self.process.stdout.readline()
        finally:
            timer.cancel()
        assert answer, f"the child died, or was ended after {LONGEST_RUN_S:g} s, on {arguments}"
        return Run(**json.loads(answer))


def _run(arguments: Sequence[str]) -> Run:
    stdout, stderr, status = io.StringIO(), io.StringIO(), 0
    _forget_peak()
    start, cpu = time.monotonic(), time.process_time()
    sys.argv = ["afterpart", *arguments]
    with contextlib.redirect_stdout(stdout), contextlib.redirect_stderr(stderr):
        try:
            main()
        except SystemExit as end:
            status = end.code if isinstance(end.code, int) else int(end.code is not None)
    return Run(status, stdout.getvalue(), stderr.getvalue(), time.monotonic() - start, _peak_mb(),
               time.process_time() - cpu)


def _forget_peak() -> None:
    """Begin a new high-water mark (proc(5): 5 in clear_refs)."""
    with contextlib.suppress(OSError):
        Path("/proc/self/clear_refs").write_text("5")


def _peak_mb() -> float:
    with contextlib.suppress(OSError):
        for line in Path("/proc/self/status").read_text().splitlines():
            if line.startswith("VmHWM:"):
                return int(line.split()[1]) / 1024.0
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def _serve() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MOST_ADDRESS_SPACE, MOST_ADDRESS_SPACE))
    for line in sys.stdin:
        sys.__stdout__.write(json.dumps(vars(_run(json.loads(line)))) + "\n")
        sys.__stdout__.flush()


if __name__ == "__main__":
    _serve()
