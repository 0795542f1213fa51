"""How long a set of pieces takes to build, cold and warm, in seconds and as multiples of loading the kernel, and the memory.

Run: python benchmarks/build.py; prints one JSON line.  Cold: a new kernel process and the whole set; warm: the set again in the
same process under other names, so that nothing is answered from memory; again: the same set asked a second time, from memory.
Aims on two cores: cold 8 s, warm 3 s, peak memory of the kernel's process 700 MB.
The set is an invented cover, 150 x 100 x 6: twelve holes, a seal groove with a rounded floor, a bevelled window, a chamfered
first layer, and text.
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

from afterpart.model.outline import Arc, Circle, Line, Segment
from afterpart.model.piece import Add, ChamferFirstLayer, Cut, Deboss, Lettering, Piece, PrintTime, Prism, TreatLoop
from afterpart.solid.body import Body
from afterpart.solid.worker import Workshop

RUNS = 3


def rounded(half_width: float, half_height: float, r: float) -> tuple[Segment, ...]:
    """A rectangle about the origin with corner radius r, counter-clockwise."""
    x, y = half_width, half_height
    turns = (((x - r, -y), (x, r - y), (x - r, r - y)), ((x, y - r), (x - r, y), (x - r, y - r)),
             ((r - x, y), (-x, y - r), (r - x, y - r)), ((-x, r - y), (r - x, -y), (r - x, r - y)))
    chain: list[Segment] = []
    for k, (start, end, center) in enumerate(turns):
        chain += [Line(f"s{2 * k}", turns[k - 1][1], start), Arc(f"s{2 * k + 1}", start, end, center, r, True)]
    return tuple(chain)


def pieces() -> tuple[Piece, ...]:
    """The set that is built."""
    places = [(x, y) for x in (-70.0, -35.0, 0.0, 35.0, 70.0) for y in (-45.0, 45.0)] + [(-70.0, 0.0), (70.0, 0.0)]
    window = rounded(38, 21, 6)
    steps = (
        Add((Prism(rounded(75, 50, 8), (), 0.0, 6.0),)),
        Cut(tuple(Prism((Circle(f"c{i}", at, 2.75),), (), -1.0, 7.0) for i, at in enumerate(places))),
        Cut((Prism(window, (), -1.0, 7.0), Prism(rounded(64, 38, 8), (rounded(60.4, 34.4, 4.4),), 4.0, 7.0, bottom_round=0.6))),
        TreatLoop(window, 0.0, "bevel", 2.0),
        ChamferFirstLayer(0.4),
        Deboss((Lettering("COVER 150", (0.0, 28.0), 4.0, 0.0),), 6.0, 0.4),
    )
    return (Piece("cover", "bench cover", "bench_cover", "A", steps, 6.0, (), PrintTime(0.0, 0.0, "")),)


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
        "load_kernel_s": round(load_s, 2), "cold_s": round(cold_s, 2), "warm_s": round(warm_s, 2), "again_s": round(again_s, 5),
        "cold_ratio": round(cold_s / load_s, 2), "warm_ratio": round(warm_s / load_s, 2),
        "peak_mb": round(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024), "aim_cold_s": 8, "aim_warm_s": 3,
        "aim_peak_mb": 700}))


if __name__ == "__main__":
    main()
