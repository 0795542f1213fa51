"""The measuring code on photographs of known parts: nothing missed, nothing invented, sizes right, design numbers right.

Photographs come from the booth (booth.py), made for these tests; what a maker would say goes in with them: the kind of reference,
the face height, in some the rounding.  Limits are those set for sheet and rule photographs (error median 0.03 mm, 95th percentile
0.12 mm, design dimensions right 0.90) and for two points or a calliper alone (0.10 and 0.35 mm), pooled over the cases as there.
Limit: ten scenes at 4 megapixels, less than phones take (test_shared_photos.py has 12), but for a light part on a light sheet,
whose outer rim needs 6 to come out as close; survey.py goes wider.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from afterpart.model.edges import EdgeMap
from afterpart.model.outline import Outline
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from afterpart.photo.load import load_picture
from afterpart.pipeline import edges_of
from tests.truth.compare import EdgeScore, OutlineScore, compare_edges, compare_outline
from tests.truth.drawings import INCH, drawing
from tests.truth.scenes import Shoot, make_shoot, take

FOUR_MEGAPIXELS, SIX_MEGAPIXELS = (2304, 1728), (2816, 2112)

STRONG: dict[str, Shoot] = {
    "cover_on_sheet": make_shoot(drawing("pump_cover"), "sheet", edge_radius=0.5, tilt_deg=2.5, tell_radius=True,
                                 size=FOUR_MEGAPIXELS),
    "light_arm_on_sheet": make_shoot(drawing("three_arm"), "sheet", height=6, paint="light", f35=48, tilt_deg=5, azimuth_deg=110,
                                     size=SIX_MEGAPIXELS),
    "bracket_by_main_camera": make_shoot(drawing("angle_bracket"), "sheet", height=5, f35=26, tilt_deg=8, azimuth_deg=250,
                                          turn_deg=-7, size=FOUR_MEGAPIXELS),
    "flange_by_rule": make_shoot(drawing("round_flange"), "rule", height=6, edge_radius=0.3, tilt_deg=1.5, desk="plain",
                                 size=FOUR_MEGAPIXELS),
    "frame_on_sheet_by_rule": make_shoot(drawing("filter_frame"), "sheet+rule", height=9, paint="grey", azimuth_deg=200,
                                         size=FOUR_MEGAPIXELS),
    "inch_cover_by_inch_rule": make_shoot(drawing("inch_cover"), "rule", height=6, paint="blue", desk="plain",
                                           rule_pitch=INCH / 16, size=FOUR_MEGAPIXELS),
    "grooved_cover_on_sheet": make_shoot(drawing("valve_cover"), "sheet", height=9, edge_radius=0.5, azimuth_deg=310,
                                          size=FOUR_MEGAPIXELS),
    "sharp_plate_by_rule": make_shoot(drawing("sharp_plate"), "rule", height=4, edge_radius=0.3, paint="black", desk="plain",
                                      turn_deg=-4, size=FOUR_MEGAPIXELS),
}
WEAK: dict[str, Shoot] = {
    "cover_by_two_points": make_shoot(drawing("pump_cover"), "span", f35=52, tilt_deg=4, desk="plain", tell_radius=True,
                                      size=FOUR_MEGAPIXELS),
    "slotted_plate_by_calliper": make_shoot(drawing("slotted_plate"), "calliper", height=6, f35=52, tilt_deg=3, desk="plain",
                                            size=FOUR_MEGAPIXELS),
}
CASES = STRONG | WEAK


@dataclass(frozen=True)
class Result:
    edges: EdgeMap
    outline: Outline
    rims: EdgeScore
    score: OutlineScore


@cache
def _result(name: str) -> Result:
    shoot = CASES[name]
    with tempfile.TemporaryDirectory() as folder:
        _, shot = take(shoot, Path(folder), seed=sorted(CASES).index(name))
        edges = edges_of(load_picture(Path(shot.file), shot), shot, lambda words: None)
    outline = recover_outline(edges, OutlineSettings())
    return Result(edges, outline, compare_edges(edges, shoot.drawing), compare_outline(outline, shoot.drawing))


def _errors(cases: dict[str, Shoot]) -> np.ndarray:
    return np.abs(np.concatenate([_result(name).score.dimensions for name in cases]))


@pytest.mark.parametrize("name", CASES)
def test_every_opening_is_found_and_none_is_invented(name):
    result = _result(name)
    assert (result.rims.openings_missed, result.rims.openings_extra) == (0, 0)
    assert result.score.found == result.score.circles
    assert result.score.invented == 0


@pytest.mark.parametrize("name", CASES)
def test_only_the_part_is_taken_for_a_part(name):
    """The sheet, the rule and the calliper lie in the picture too."""
    result = _result(name)
    assert result.edges.unit == "mm"
    assert {rim.part for rim in result.edges.rims} == {1}


@pytest.mark.parametrize("name", STRONG)
def test_rims_lie_on_the_material_edge(name):
    """Neither the shadow (outwards) nor the start of the rounding (inwards): mean offset under 0.05 mm, scatter under 0.08 mm."""
    rims = _result(name).rims
    assert abs(rims.bias_outer) < 0.05
    assert abs(rims.bias_openings) < 0.05
    assert rims.rms < 0.08


@pytest.mark.parametrize("name", STRONG)
def test_camera_height_is_right_to_half_a_percent(name):
    camera = _result(name).edges.camera
    assert camera is not None
    true = CASES[name].scene.camera
    ours, theirs = camera.position[2] / camera.focal_px, true.position[2] / true.focal_px
    assert ours == pytest.approx(theirs, rel=0.005)
    assert camera.position[2] == pytest.approx(true.position[2], rel=0.03)


def test_sheet_and_rule_dimensions():
    errors = _errors(STRONG)
    assert len(errors) > 60
    assert np.median(errors) <= 0.03
    assert np.quantile(errors, 0.95) <= 0.12


def test_two_points_and_calliper_dimensions():
    errors = _errors(WEAK)
    assert len(errors) > 15
    assert np.median(errors) <= 0.10
    assert np.quantile(errors, 0.95) <= 0.35


def test_design_dimensions_are_the_drawings_own():
    scores = [_result(name).score for name in STRONG]
    assert sum(s.hits for s in scores) >= 0.90 * sum(s.asked for s in scores)


@pytest.mark.parametrize("name", CASES)
def test_no_more_segments_than_the_drawing_has_within_two(name):
    assert _result(name).score.extra_segments <= 2


def test_fillets_keep_their_radius():
    """Quarter arcs must not shrink: mean error of radius under 0.05 mm, relative to none of them being large."""
    radii = np.concatenate([np.array(_result(name).score.radii) for name in STRONG])
    assert len(radii) > 25
    assert abs(np.median(radii)) < 0.05
    assert np.quantile(np.abs(radii), 0.9) < 0.3


def test_what_is_called_sure_is_right():
    """Of the inferred design dimensions given 0.95 or more, nine in ten are right."""
    claims = [right for name in STRONG for p, right in _result(name).score.claims if p >= 0.95]
    assert len(claims) > 20
    assert np.mean(claims) >= 0.9


def test_uncertainties_are_not_wishful():
    """95 % intervals hold at least 85 % of the true values (u is approximate in this edition)."""
    z = np.abs(np.concatenate([np.array(_result(name).score.z) for name in CASES]))
    assert len(z) > 40
    assert np.mean(z < 1.96) >= 0.85
