"""Solving, laying out, judging and drawing of the demo, and its million draws of the fit; each beside decoding its photograph.

Run: pytest benchmarks --benchmark-json=FILE (see `make bench`).  Processor time of one thread.  What needs the kernel's processes
or a server (build, release, page) has a script of its own beside this file.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import cv2
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from afterpart.checks.fit_contacts import spots
from afterpart.checks.fit_spread import contacts, figures
from afterpart.checks.stage import run_checks
from afterpart.formulas.fit_montecarlo import fit_share
from afterpart.job.read import read_job
from afterpart.model.case import Case
from afterpart.model.job import Reading
from afterpart.model.release import TitleBlock
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import solve_outline
from afterpart.outline.traced import trace_picture
from afterpart.parts.stage import make_pieces
from afterpart.photo.load import load_picture
from afterpart.pipeline import edges_of
from afterpart.release.drawing import drawing_pdf
from benchmarks.cold import forget

DEMO = Path(__file__).resolve().parents[1] / "examples" / "compressor_cover"
ROUNDS = 5
DRAWS = 1_000_000


@pytest.fixture(scope="session")
def works() -> dict[str, Callable[[], object]]:
    """Each stage of the demo, ready to run."""
    cv2.setNumThreads(1)
    job = read_job(DEMO)
    shot = job.shots[0]
    picture = load_picture(DEMO / shot.file, shot)
    edges = edges_of(picture, shot, lambda words: None)
    traced = trace_picture(edges, OutlineSettings())
    outline = solve_outline(traced, OutlineSettings())
    asked = next(d for d in outline.dimensions if d.id == outline.next_readings[0].id)
    read = OutlineSettings(readings=(Reading(asked.id, round(asked.measured, 2), 0.02),))
    case = Case(job, outline, make_pieces(outline, job))
    drawn = contacts(spots(case), figures(case))
    title = TitleBlock(job.name, job.revision, job.date, "afterpart")
    return {"decode to grey": lambda: cv2.imread(str(DEMO / shot.file), cv2.IMREAD_GRAYSCALE),
            "edges and camera": lambda: edges_of(picture, shot, lambda words: None),
            "trace": lambda: trace_picture(edges, OutlineSettings()),
            "solve with one more reading": lambda: solve_outline(traced, read),
            "true-scale drawing": lambda: drawing_pdf(outline, title),
            "lay out the pieces": lambda: make_pieces(outline, job),
            "judge (nothing measured of solids)": lambda: run_checks(case),
            "a million draws of the fit": lambda: fit_share(*drawn, DRAWS, 1)}


@pytest.mark.parametrize("stage", ["decode to grey", "edges and camera", "trace", "solve with one more reading",
                                   "true-scale drawing", "lay out the pieces", "judge (nothing measured of solids)",
                                   "a million draws of the fit"])
def test_stage(benchmark: BenchmarkFixture, works: dict[str, Callable[[], object]], stage: str) -> None:
    benchmark.extra_info.update(table="stages", way=stage, size=0)
    assert benchmark.pedantic(works[stage], setup=forget, rounds=ROUNDS, warmup_rounds=1) is not None
