"""Three shared photographs of one cover, taken from three sides, measured together with no height told.

Pictures and truth lie beside the checkout (../shared/photos/several); where they are absent these tests skip.  Limits: the face's
height within 0.15 mm, the channel's depth within 0.3 mm, each within what is stated of it; every design dimension right; the
measured outline (rms, by score.py) and its dimensions (median) nearer to the truth, by 1.15 and more, than those of the best
single photograph, the one from nearly above, whose height is told.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import importlib.util
import json
from dataclasses import replace
from functools import cache
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from afterpart.job.options import parse_rule
from afterpart.model.job import Job, Shot
from afterpart.model.store import outline_json
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from afterpart.pipeline import edges_together, job_of_photo, measure
from afterpart.standards.paper import sheet_size
from tests.truth.shared_photos import FOLDER

SEVERAL = FOLDER / "several"
NAME = "dev_several_inlet_cover"
TOLD = Shot("", sheet=sheet_size("A4"), rule=parse_rule("mm"), reference_height=0.8)
pytestmark = pytest.mark.skipif(not (SEVERAL / f"{NAME}_1.jpg").exists(), reason="../shared/photos is not here")


@cache
def truth() -> dict[str, Any]:
    """What was photographed."""
    return dict(json.loads((SEVERAL / f"{NAME}_1.json").read_text()))


@cache
def score() -> ModuleType:
    """The comparison that lies beside the photographs."""
    spec = importlib.util.spec_from_file_location("score_several", FOLDER / "score.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@cache
def together() -> tuple[Any, dict[str, Any]]:
    """Edges of all three, and the outline's plain values."""
    shots = tuple(replace(TOLD, file=f"{NAME}_{k}.jpg") for k in (1, 2, 3))
    edges, records = edges_together(shots, SEVERAL, lambda words: None)
    assert [record.shot for record in records] == list(shots)
    return edges, json.loads(outline_json(recover_outline(edges, OutlineSettings())))


def compared(plain: dict[str, Any], of: str) -> dict[str, Any]:
    """score.py's comparison of the measured or the design loops with the truth."""
    true = [[tuple(tuple(v) if isinstance(v, list) else v for v in s) for s in loop] for loop in truth()["loops"]]
    return dict(score().compare(true, score().from_json(plain[of]["loops"])))


def dimension_error(found: dict[str, Any]) -> float:
    """Median error of the holes' diameters and distances, mm."""
    return float(np.median(np.abs([*found["dia_err"], *found["pitch_err"]])))


def test_the_face_height_is_told_without_a_calliper() -> None:
    level = next(level for level in together()[0].levels if level.level == "face")
    assert level.value == pytest.approx(truth()["height"], abs=0.15)
    assert abs(level.value - truth()["height"]) < 2.0 * level.u < 0.15


def test_the_channels_depth_is_told_without_a_depth_rod() -> None:
    level = next(level for level in together()[0].levels if level.level == "channel floor")
    assert level.value == pytest.approx(truth()["grooves"][0][2], abs=0.3)
    assert abs(level.value - truth()["grooves"][0][2]) < 2.5 * level.u


def test_the_photographs_are_listed_and_agree() -> None:
    photos = together()[0].photos
    assert [photo.file for photo in photos] == [f"{NAME}_{k}.jpg" for k in (1, 2, 3)]
    assert all(photo.contradicts == "" and photo.laying == 1 for photo in photos)
    assert sum(photo.share for photo in photos) == pytest.approx(1.0, abs=1e-3)
    tilts = [json.loads((SEVERAL / f"{NAME}_{k}.json").read_text())["camera"]["tilt_deg"] for k in (1, 2, 3)]
    assert [photo.tilt_deg for photo in photos] == pytest.approx(tilts, abs=0.1)


def test_the_outline_is_better_than_the_best_single_photographs(tmp_path: Any) -> None:
    single = measure(job_of_photo(replace(TOLD, file=str(SEVERAL / f"{NAME}_1.jpg"), face_height=9.0), ()), tmp_path, tmp_path,
                     lambda words: None)
    assert isinstance(single.job, Job)
    best, all_three = compared(json.loads(outline_json(single.outline)), "measured"), compared(together()[1], "measured")
    assert all_three["outline_rms"] < best["outline_rms"] / 1.15
    assert dimension_error(all_three) < dimension_error(best) / 1.15


def test_every_design_dimension_is_right() -> None:
    right, asked = score().hits(compared(together()[1], "design"))
    assert right == asked > 25
