"""How long the demo's whole set of pieces takes to build, cold and warm, in seconds and as multiples of loading the kernel.

Run: python benchmarks/build.py; prints one JSON line.  Layout: from outline and job to pieces as data.  Cold: two new kernel
processes and the whole set; warm: the set again in the same processes under other names, so that nothing is answered from memory;
again: the same set asked a second time, from memory.  The peak is that of the larger kernel process.
Aims on two cores: cold 8 s, warm 3 s, peak memory 700 MB.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import dataclasses
import json
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

from tests.parts.examples import example  # noqa: E402

RUNS = 3


def pieces() -> tuple[Piece, ...]:
    """The set that is built."""
    return make_pieces(*example("compressor_cover")).pieces


def seconds(work: Callable[[], object]) -> float:
    """Wall time of one call."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def load_kernel() -> None:
    """Load the kernel in a process of its own."""
    subprocess.run([sys.executable, "-c", "import afterpart.solid.kernel"], check=True)


def named(made: tuple[Piece, ...], run: int) -> tuple[Piece, ...]:
    """The same pieces under other file names."""
    return tuple(dataclasses.replace(piece, file_stem=f"{piece.file_stem}_{run}") for piece in made)


def main() -> None:
    """Measure in turn and print."""
    layout_s = statistics.median(seconds(pieces) for _ in range(RUNS))
    made = pieces()
    load_s = statistics.median(seconds(load_kernel) for _ in range(RUNS))
    bodies: tuple[Body, ...] = ()
    with Workshop() as workshop:
        cold_s = seconds(lambda: workshop.build_all(made))
        warm_s = statistics.median(seconds(lambda run=run: workshop.build_all(named(made, run))) for run in range(RUNS))
        again_s = seconds(lambda: workshop.build_all(made))
        bodies = workshop.build_all(made)
    print(json.dumps({
        "runs": RUNS, "pieces": len(made), "triangles": sum(len(body.mesh.triangles) for body in bodies),
        "layout_s": round(layout_s, 2), "load_kernel_s": round(load_s, 2), "cold_s": round(cold_s, 2),
        "warm_s": round(warm_s, 2), "again_s": round(again_s, 5),
        "cold_ratio": round(cold_s / load_s, 2), "warm_ratio": round(warm_s / load_s, 2),
        "peak_mb": round(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024), "aim_cold_s": 8, "aim_warm_s": 3,
        "aim_peak_mb": 700}))


if __name__ == "__main__":
    main()
