"""How long the demo's whole set of pieces takes to build, cold and warm, against its aims and as multiples of loading the kernel.

Run: python benchmarks/build.py; prints one JSON line.  Layout: from outline and job to pieces as data.  Cold: two new kernel
processes and the whole set; warm: the set again in the same processes under other names, so that nothing is answered from memory;
again: the same set asked a second time, from memory.  work: processor seconds of both kernel processes for one warm set, and of
loading the kernel: on a machine that does other things besides, their ratio says more than wall time.  The peak is that of the
larger kernel process.
Aims on two cores: cold 8 s, warm 3 s, peak memory 700 MB.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import dataclasses
import json
import os
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

from afterpart.model.piece import Piece
from afterpart.parts.stage import make_pieces
from afterpart.solid.body import Body
from afterpart.solid.worker import Workshop

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from benchmarks.cold import forget  # noqa: E402
from tests.parts.examples import example  # noqa: E402

RUNS = 3
AIMS = {"cold_s": 8.0, "warm_s": 3.0, "peak_mb": 700.0}


def pieces() -> tuple[Piece, ...]:
    """The set that is built."""
    forget()
    return make_pieces(*example("compressor_cover")).pieces


def seconds(work: Callable[[], object]) -> float:
    """Wall time of one call."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def load_kernel() -> None:
    """Load the kernel in a process of its own."""
    subprocess.run([sys.executable, "-c", "import afterpart.solid.kernel"], check=True)


def child_seconds(work: Callable[[], object]) -> float:
    """Processor seconds of the children that ended during one call."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    work()
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def named(made: tuple[Piece, ...], run: int) -> tuple[Piece, ...]:
    """The same pieces under other file names."""
    return tuple(dataclasses.replace(piece, file_stem=f"{piece.file_stem}_{run}") for piece in made)


def build(made: tuple[Piece, ...], sets: int) -> tuple[list[float], float, tuple[Body, ...]]:
    """Wall times of so many sets in one workshop, of the last once more from memory, and its bodies."""
    with Workshop() as workshop:
        times = [seconds(lambda run=run: workshop.build_all(named(made, run))) for run in range(sets)]
        again = seconds(lambda: workshop.build_all(named(made, sets - 1)))
        return times, again, workshop.build_all(named(made, sets - 1))


def main() -> None:
    """Measure in turn and print."""
    layout_s = statistics.median(seconds(pieces) for _ in range(RUNS))
    made = pieces()
    load_s = statistics.median(seconds(load_kernel) for _ in range(RUNS))
    load_work = statistics.median(child_seconds(load_kernel) for _ in range(RUNS))
    runs: list[tuple[list[float], float, tuple[Body, ...]]] = []
    one_work = child_seconds(lambda: runs.append(build(made, 1)))
    all_work = child_seconds(lambda: runs.append(build(made, 1 + RUNS)))
    times, again_s, bodies = runs[-1]
    work = (all_work - one_work) / RUNS
    found = {"cold_s": times[0], "warm_s": statistics.median(times[1:]),
             "peak_mb": resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024}
    print(json.dumps({
        "runs": RUNS, "pieces": len(made), "triangles": sum(len(body.mesh.triangles) for body in bodies),
        "layout_s": round(layout_s, 2), "load_kernel_s": round(load_s, 2),
        **{name: {"found": round(value, 2), "aim": AIMS[name], "is_met": value <= AIMS[name]} for name, value in found.items()},
        "cold_ratio": round(found["cold_s"] / load_s, 2), "warm_ratio": round(found["warm_s"] / load_s, 2),
        "again_s": round(again_s, 5), "warm_work_s": round(work, 2), "load_kernel_work_s": round(load_work, 2),
        "warm_work_ratio": round(work / load_work, 2), "load_average": round(os.getloadavg()[0], 1)}))


if __name__ == "__main__":
    main()
