"""The seven shared photographs, with nothing said but what their README lets a maker say, held against their true drawings.

Pictures, truth and comparison lie beside the checkout (../shared/photos, score.py); where they are absent these tests skip.
A *dimension* is a hole's diameter or the distance between two holes; a *hit* a design diameter, distance or arc radius that is
the drawing's own.  Limits, pooled over the photographs: with sheet or rule, error median 0.03 mm, 95th percentile 0.12 mm, hits
0.90; with two points or a calliper alone 0.10 and 0.35 mm.  Every hole found, no circle invented.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import importlib.util
import json
import tempfile
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from afterpart.job.options import parse_rule
from afterpart.model.job import Shot, Span
from afterpart.model.store import outline_json
from afterpart.pipeline import job_of_photo, measure
from afterpart.standards.paper import sheet_size

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
WAYS = (*SHEET_OR_RULE, "dev_cover_b_jaws picked", "dev_cover_b_jaws found")
"""The calliper's photograph is measured twice: by two picked points, and by its jaws found in the picture."""

pytestmark = pytest.mark.skipif(not (FOLDER / "score.py").exists(), reason="../shared/photos is not here")


@dataclass(frozen=True)
class Result:
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


def _shot(way: str) -> Shot:
    name, _, how = way.partition(" ")
    shot = SHEET_OR_RULE.get(name, JAWS)
    if how:
        jaws = json.loads((FOLDER / f"{name}.json").read_text())["reference"]["jaws"]
        (x1, y1), (x2, y2) = jaws["px"]
        opening = jaws["opening_mm"]
        shot = replace(shot, span=Span(x1, y1, x2, y2, opening)) if how == "picked" else replace(shot, calliper=opening)
    return replace(shot, file=f"{name}.jpg")


@cache
def _result(way: str) -> Result:
    shot = _shot(way)
    with tempfile.TemporaryDirectory() as nothing_earlier:
        outline = measure(job_of_photo(shot, ()), FOLDER, Path(nothing_earlier), lambda words: None).outline
    loops = json.loads(outline_json(outline))
    true = json.loads((FOLDER / f"{Path(shot.file).stem}.json").read_text())["loops"]
    true = [[tuple(tuple(v) if isinstance(v, list) else v for v in segment) for segment in loop] for loop in true]
    score = _score()
    measured, design = (score.compare(true, score.from_json(loops[key]["loops"])) for key in ("measured", "design"))
    return Result(measured["circles"], measured["circles_found"], measured["circles_invented"] + design["circles_invented"],
                  (*measured["dia_err"], *measured["pitch_err"]), *score.hits(design))


@pytest.mark.parametrize("way", WAYS)
def test_every_hole_is_found_and_no_circle_invented(way: str) -> None:
    result = _result(way)
    assert result.found == result.holes > 0
    assert result.invented == 0


def test_dimensions_by_sheet_or_rule() -> None:
    errors = np.abs(np.concatenate([_result(way).errors for way in SHEET_OR_RULE]))
    assert len(errors) > 100
    assert np.median(errors) <= 0.03
    assert np.quantile(errors, 0.95) <= 0.12


@pytest.mark.parametrize("way", WAYS[-2:])
def test_dimensions_by_a_calliper_alone(way: str) -> None:
    errors = np.abs(_result(way).errors)
    assert len(errors) > 15
    assert np.median(errors) <= 0.10
    assert np.quantile(errors, 0.95) <= 0.35


def test_design_dimensions_are_the_drawings_own() -> None:
    assert sum(_result(way).hits for way in SHEET_OR_RULE) >= 0.90 * sum(_result(way).asked for way in SHEET_OR_RULE)
