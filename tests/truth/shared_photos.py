"""The seven shared photographs measured with what a maker may say, and scored by the score that lies beside them.

Words: a *way* is one photograph with one way of telling its reference; the calliper's photograph is measured twice, by two picked
points and by its jaws found in the picture.  A *dimension* is a hole's diameter or the distance between two holes; a *hit* a
design diameter, distance or arc radius that is the drawing's own.  Pictures, truth and score.py lie beside the checkout
(../shared/photos); `is_here` says whether they do.  Used by tests and by docs/make_accuracy.py.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import importlib.util
import json
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from types import ModuleType

import numpy as np

from afterpart.job.options import parse_rule
from afterpart.model.edges import EdgeMap
from afterpart.model.job import Reading, Shot, Span
from afterpart.model.outline import Outline
from afterpart.model.store import outline_json
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from afterpart.photo.load import load_picture
from afterpart.pipeline import edges_of, job_of_photo
from afterpart.pipeline.measuring import complete, outline_of
from afterpart.standards.paper import sheet_size
from tests.truth.drawings import Drawing
from tests.truth.matching import Matched, match_dimensions

FOLDER = Path(__file__).parents[3] / "shared" / "photos"
A4 = sheet_size("A4")
SHEET_OR_RULE = {
    "dev_cover_b_sheet": Shot("", sheet=A4, face_height=8.0),
    "dev_flange_dn25_rule": Shot("", rule=parse_rule("mm"), reference_height=0.8, face_height=6.0),
    "dev_bracket_sheet_main": Shot("", sheet=A4, face_height=5.0),
    "dev_tall_sheet": Shot("", sheet=A4, face_height=22.0),
    "dev_tri_sheet_light": Shot("", sheet=A4, face_height=6.0),
    "dev_inlet_cover_sheet": Shot("", sheet=A4, face_height=9.0),
}
JAWS = Shot("", reference_height=3.5, face_height=8.0)
CALLIPER = ("dev_cover_b_jaws picked", "dev_cover_b_jaws found")
WAYS = (*SHEET_OR_RULE, *CALLIPER)
READING_SD = 0.015


def is_here() -> bool:
    """Do the shared photographs lie beside this checkout?"""
    return (FOLDER / "score.py").exists()


@dataclass(frozen=True)
class Score:
    """errors: of dimensions, measured minus true, mm; hits of asked design values."""

    holes: int
    found: int
    invented: int
    errors: tuple[float, ...]
    hits: int
    asked: int


@cache
def _score() -> ModuleType:
    spec = importlib.util.spec_from_file_location("score", FOLDER / "score.py")
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def shot_of(way: str) -> Shot:
    """What a maker would say about the photograph."""
    name, _, how = way.partition(" ")
    shot = SHEET_OR_RULE.get(name, JAWS)
    if how:
        jaws = json.loads((FOLDER / f"{name}.json").read_text())["reference"]["jaws"]
        (x1, y1), (x2, y2) = jaws["px"]
        opening = jaws["opening_mm"]
        shot = replace(shot, span=Span(x1, y1, x2, y2, opening)) if how == "picked" else replace(shot, calliper=opening)
    return replace(shot, file=f"{name}.jpg")


@cache
def _true(way: str) -> Drawing:
    name = way.partition(" ")[0]
    loops = json.loads((FOLDER / f"{name}.json").read_text())["loops"]
    return Drawing(name, tuple(tuple(tuple(tuple(v) if isinstance(v, list) else v for v in s) for s in loop) for loop in loops))


@cache
def measured_as_told(way: str) -> tuple[EdgeMap, Outline]:
    """What measuring the photograph finds; no paper is drawn."""
    shot = shot_of(way)
    job = job_of_photo(shot, ())
    edges = edges_of(load_picture(FOLDER / shot.file, shot), shot, lambda words: None)
    return edges, complete(outline_of(edges, job), edges, job)


def score_of(way: str, outline: Outline) -> Score:
    """The outline against the photograph's true drawing."""
    loops = json.loads(outline_json(outline))
    true = [list(loop) for loop in _true(way).loops]
    score = _score()
    measured, design = (score.compare(true, score.from_json(loops[key]["loops"])) for key in ("measured", "design"))
    return Score(measured["circles"], measured["circles_found"], measured["circles_invented"] + design["circles_invented"],
                 (*measured["dia_err"], *measured["pitch_err"]), *score.hits(design))


@cache
def result(way: str) -> Score:
    """The score with no reading."""
    return score_of(way, measured_as_told(way)[1])


@cache
def matched(way: str) -> tuple[Matched, ...]:
    """Every dimension of the outline beside its true value."""
    return tuple(match_dimensions(measured_as_told(way)[1], _true(way), _true(way)))


@cache
def result_after_readings(way: str, count: int = 3) -> Score:
    """The score after the first readings asked for, each the true value with an error of READING_SD."""
    edges, outline = measured_as_told(way)
    true = {m.dimension.id: m.true for m in matched(way) if m.true is not None}
    errors = np.random.default_rng([31, WAYS.index(way)]).normal(0, READING_SD, count)
    asked = zip(outline.next_readings[:count], errors, strict=False)
    readings = tuple(Reading(r.id, round(float(true[r.id] + e), 3)) for r, e in asked if r.id in true)
    return score_of(way, recover_outline(edges, OutlineSettings(readings=readings)))
