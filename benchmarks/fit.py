"""A million draws of the demo's whole fit, in seconds of processor time, and as a multiple of merely drawing the random numbers.

The demo's cover is measured and built once; then its six bolts' fit is drawn, and the same with a lip round the whole outline
(thirty-odd walls more).  Run with OMP_NUM_THREADS=1: python benchmarks/fit.py; prints one JSON line.  Aim: 2 s on one core.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import statistics
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from afterpart.checks.fit_contacts import cover_of, spots
from afterpart.checks.fit_spread import contacts, figures
from afterpart.formulas.fit_montecarlo import fit_share, opening_for
from afterpart.geometry.offset import offset_chain
from afterpart.job.read import read_job
from afterpart.model.case import Case
from afterpart.model.feature import Lip
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import solve_outline
from afterpart.outline.traced import trace_picture
from afterpart.parts.stage import make_pieces
from afterpart.photo.load import load_picture
from afterpart.pipeline import edges_of

DEMO = Path(__file__).resolve().parents[1] / "examples" / "compressor_cover"
DRAWS = 1_000_000
RUNS = 3
LIP_CLEARANCE = 0.6


def demo() -> Case:
    """The demo as measured and built."""
    job = read_job(DEMO)
    shot = job.shots[0]
    picture = trace_picture(edges_of(load_picture(DEMO / shot.file, shot), shot, lambda words: None), OutlineSettings())
    outline = solve_outline(picture, OutlineSettings())
    return Case(job, outline, make_pieces(outline, job))


def with_lip(case: Case) -> Case:
    """The same cover with a lip round its outline."""
    cover = cover_of(case)
    assert cover is not None
    outer = next(loop.segments for loop in case.outline.design if loop.role == "outer")
    inner, far = (offset_chain(outer, LIP_CLEARANCE + wide)[0] for wide in (0.0, 1.6))
    lip = Lip("outer", far, inner, cover.thickness, cover.thickness + 1.0, 1.6, LIP_CLEARANCE)
    pieces = tuple(replace(p, features=(*p.features, lip)) if p is cover else p for p in case.build.pieces)
    return replace(case, build=replace(case.build, pieces=pieces))


def seconds(work: Callable[[], object]) -> float:
    """Median processor time."""
    times = []
    for _ in range(RUNS):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return statistics.median(times)


def main() -> None:
    """Measure and print."""
    case = demo()
    bare, lipped = (contacts(spots(c), figures(c)) for c in (case, with_lip(case)))
    numbers = 2 * len(bare[0]) + 3 + len(bare[0])
    rng = np.random.default_rng(1)
    drawing = seconds(lambda: [rng.standard_normal((numbers, 4096), np.float32) for _ in range(DRAWS // 4096)])
    whole = seconds(lambda: fit_share(*bare, DRAWS, 1))
    print(json.dumps({
        "draws": DRAWS, "contacts": len(bare[0]), "share": fit_share(*bare, DRAWS, 1).share, "whole_s": round(whole, 2),
        "aim_s": 2.0, "over_drawing_alone": round(whole / drawing, 1), "contacts_with_lip": len(lipped[0]),
        "with_lip_s": round(seconds(lambda: fit_share(*lipped, DRAWS, 1)), 2),
        "opening_for_99_percent_s": round(seconds(lambda: opening_for(*bare, 0.99, 200_000, 1)), 2)}))


if __name__ == "__main__":
    main()
