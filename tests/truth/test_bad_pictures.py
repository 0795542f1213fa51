"""Pictures that cannot be measured are refused in plain words; pictures without a size are measured all the same.

The first photo must not end in refusal: a missing reference or height is no reason.  A part cut off, no part at all, a blurred
picture or an impossible height are.  Photographs come from the booth, at 3 megapixels; at 6 where every small dark
hole must be found, which 3 megapixels do not always allow, and at 12 where that is so from farther away.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from afterpart.errors import PhotoError
from afterpart.model.edges import EdgeMap
from afterpart.model.job import Shot
from afterpart.photo.load import load_picture
from afterpart.photo.stage import recover_edges
from tests.truth.bodies import Body
from tests.truth.booth import Develop, Scene, photograph, project, save_jpeg, stand_camera
from tests.truth.compare import compare_edges
from tests.truth.drawings import drawing
from tests.truth.scenery import Sheet
from tests.truth.scenes import PEEKS, Shoot, make_shoot, take

SMALL, LARGE, WHOLE = (2000, 1500), (2816, 2112), (4032, 3024)
A4 = (210.0, 297.0)


def _measure(shoot: Shoot, folder: Path, **told: object) -> EdgeMap:
    _, shot = take(shoot, folder, 5)
    shot = replace(shot, **told)
    return recover_edges(load_picture(Path(shot.file), shot), shot)


def test_part_cut_off_by_the_border_is_refused(tmp_path):
    shoot = make_shoot(drawing("pump_cover"), "none", size=SMALL, desk="plain")
    body = shoot.scene.parts[0]
    cut = replace(shoot, scene=replace(shoot.scene, parts=(replace(body, x=body.x + 50.0),)))
    with pytest.raises(PhotoError, match="(?i)border|cut|edge of the picture"):
        _measure(cut, tmp_path)


def test_empty_sheet_is_refused(tmp_path):
    """Nothing lies on the paper: there is no part."""
    speck = Body(((("circle", (0.0, 0.0), 0.4),),), 0.2, 0.0)
    scene = Scene(stand_camera(SMALL, 77.0, 760.0), (speck,), Sheet())
    save_jpeg(photograph(scene, 1), tmp_path / "photo.jpg")
    shot = Shot(file=str(tmp_path / "photo.jpg"), sheet=A4, face_height=8.0)
    with pytest.raises(PhotoError, match="(?i)part"):
        recover_edges(load_picture(Path(shot.file), shot), shot)


def test_blurred_picture_is_refused_with_the_width_found(tmp_path):
    shoot = make_shoot(drawing("pump_cover"), "sheet", size=SMALL, develop=Develop(blur_px=14.0))
    with pytest.raises(PhotoError, match=r"(?i)blur|sharp") as refusal:
        _measure(shoot, tmp_path)
    assert any(letter.isdigit() for letter in str(refusal.value)), "the edge width found must be named"


def test_height_that_puts_the_face_behind_the_camera_is_refused(tmp_path):
    shoot = make_shoot(drawing("pump_cover"), "sheet", size=SMALL)
    with pytest.raises(PhotoError, match="(?i)height|camera"):
        _measure(shoot, tmp_path, face_height=5000.0)


def test_no_reference_gives_the_shape_in_pixels(tmp_path):
    shoot = make_shoot(drawing("pump_cover"), "none", size=SMALL, desk="plain", tilt_deg=1.0)
    edges = _measure(shoot, tmp_path)
    assert edges.unit == "px" and edges.reference.kind == "none"
    assert edges.notes, "the readings that would settle the size must be asked for"
    outer = next(rim for rim in edges.rims if rim.role == "outer").points
    area = 0.5 * abs(np.sum(outer[:, 0] * np.roll(outer[:, 1], -1) - np.roll(outer[:, 0], -1) * outer[:, 1]))
    scale = math.sqrt(_true_area(shoot) / area)
    sized = replace(edges, unit="mm", rims=tuple(replace(rim, points=rim.points * scale) for rim in edges.rims))
    score = compare_edges(sized, shoot.drawing)
    assert (score.openings_missed, score.openings_extra) == (0, 0)
    assert score.rms < 0.35


def _true_area(shoot: Shoot) -> float:
    field = shoot.scene.parts[0].outer_depths
    x, y = np.meshgrid(*(np.arange(field.low[k], field.high[k], 0.1) for k in (0, 1)))
    return float((field.depth(x.ravel(), y.ravel())[0] > 0).sum()) * 0.01


def test_untold_references_are_looked_for(tmp_path):
    """Sheet and rule lie in the picture and nothing is told but the height."""
    shoot = make_shoot(drawing("pump_cover"), "sheet+rule", size=LARGE)
    edges = _measure(shoot, tmp_path, sheet=None, rule=None, reference_height=0.8)
    assert edges.unit == "mm"
    assert "sheet" in edges.reference.kind or "rule" in edges.reference.kind
    score = compare_edges(edges, shoot.drawing)
    assert (score.openings_missed, score.openings_extra) == (0, 0)
    assert abs(score.scale_error) < 0.002


def test_a_missing_height_is_no_reason_to_refuse(tmp_path):
    """The part is then seen 8/(D - 8) too large, and no more than that; the note says what each millimetre changes."""
    shoot = make_shoot(drawing("pump_cover"), "sheet", size=SMALL)
    edges = _measure(shoot, tmp_path, face_height=None)
    assert edges.unit == "mm"
    assert any("height" in note.text.lower() for note in edges.notes)
    score = compare_edges(edges, shoot.drawing)
    assert score.openings_missed == 0
    assert abs(score.scale_error) < 8.0 / (shoot.scene.camera.position[2] - 8.0) + 0.003


@pytest.mark.parametrize("tilt_deg,limit", [(3.0, 0.02), (16.0, 0.005)])
def test_a_missing_focal_length_is_no_reason_to_refuse(tmp_path, tilt_deg, limit):
    """Seen from straight above a sheet cannot tell it (a phone's usual one is assumed and said); seen aslant, it can."""
    shoot = make_shoot(drawing("pump_cover"), "sheet", size=LARGE, say_f35=False, tilt_deg=tilt_deg, fill=0.8)
    edges = _measure(shoot, tmp_path)
    assert edges.unit == "mm"
    assert any("focal" in note.text.lower() for note in edges.notes)
    score = compare_edges(edges, shoot.drawing)
    assert score.openings_missed == 0
    assert abs(score.scale_error) < limit


@pytest.mark.parametrize("roll_deg,aim,share", PEEKS, ids=["all_sides_seen", "three_sides_seen"])
def test_sheet_with_corners_outside_the_picture(tmp_path, roll_deg, aim, share):
    shoot = make_shoot(drawing("pump_cover"), "sheet", size=WHOLE, roll_deg=roll_deg, aim=aim, fill=0.86 * share)
    outside, sides_seen = _of_the_sheet(shoot)
    assert outside == 2 and sides_seen == (4 if roll_deg else 3), "the scene must be what its name says"
    edges = _measure(shoot, tmp_path)
    score = compare_edges(edges, shoot.drawing)
    assert (score.openings_missed, score.openings_extra) == (0, 0)
    assert abs(score.scale_error) < 0.003


def _of_the_sheet(shoot: Shoot) -> tuple[int, int]:
    """(corners of the sheet outside the picture, sides of which at least a fifth is inside)."""
    corners, camera = shoot.scene.sheet.corners(), shoot.scene.camera
    share = np.linspace(0, 1, 101)[:, None]

    def inside(table: np.ndarray) -> np.ndarray:
        px = project(camera, np.column_stack([table, np.zeros(len(table))]))
        return ((px > 0) & (px < (camera.width_px, camera.height_px))).all(1)

    sides = [inside(a + share * (b - a)).mean() for a, b in zip(corners, np.roll(corners, -1, 0), strict=True)]
    return int((~inside(corners)).sum()), sum(seen > 0.2 for seen in sides)


def test_turned_files_measure_the_same(tmp_path):
    shoot = make_shoot(drawing("square_flange"), "sheet", size=SMALL)
    scores = []
    for turn in (1, 6, 3):
        _, shot = take(shoot, tmp_path, 5, turn)
        scores.append(compare_edges(recover_edges(load_picture(Path(shot.file), shot), shot), shoot.drawing))
    for turned in scores[1:]:
        assert abs(scores[0].scale_error - turned.scale_error) < 3e-4
        assert abs(scores[0].bias_outer - turned.bias_outer) < 0.02


def test_a_rule_that_lies_upside_down_holds_the_same_scale(tmp_path):
    """Graduation away from the part, numbers on their heads: the maker laid it as it came to hand."""
    shoot = make_shoot(drawing("square_flange"), "rule", size=LARGE, desk="plain")
    rule = shoot.scene.rule
    assert rule is not None
    c, s = math.cos(math.radians(rule.angle_deg)), math.sin(math.radians(rule.angle_deg))
    turned = replace(rule, x=rule.x + c * rule.length - s * rule.width, y=rule.y + s * rule.length + c * rule.width,
                     angle_deg=rule.angle_deg + 180.0)
    headlong = replace(shoot, scene=replace(shoot.scene, rule=turned))
    score = compare_edges(_measure(headlong, tmp_path), shoot.drawing)
    assert abs(score.scale_error) < 1e-3 and abs(score.bias_outer) < 0.03


def test_two_parts_in_one_picture_are_both_measured(tmp_path):
    shoot = make_shoot(drawing("pump_cover"), "sheet", size=LARGE)
    second = make_shoot(drawing("square_flange"), "sheet").scene.parts[0]
    first = replace(shoot.scene.parts[0], x=-65.0, y=20.0)
    second = replace(second, x=70.0, y=-20.0, angle_deg=20.0)
    both = replace(shoot, scene=replace(shoot.scene, parts=(first, second)))
    edges = _measure(both, tmp_path)
    assert {rim.part for rim in edges.rims} == {1, 2}
    assert sum(rim.role == "outer" for rim in edges.rims) == 2
    assert sum(rim.role == "opening" and rim.part == 1 for rim in edges.rims) == 6
    assert sum(rim.role == "opening" and rim.part == 2 for rim in edges.rims) == 5
    kept = _measure(both, tmp_path, part=2)
    assert {rim.part for rim in kept.rims} in ({2}, {1})
    assert sum(rim.role == "opening" for rim in kept.rims) == 5
