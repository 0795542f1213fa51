"""Sheets with sides out of the picture, references nobody spoke of, and references that contradict one another.

Pictures are painted through a known camera: a sheet on a dark desk, a millimetre rule on it where asked for.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from afterpart.model.camera import Camera
from afterpart.model.job import Rule, Shot, Span
from afterpart.photo.load import Picture
from afterpart.photo.pose import Pose, solve_pose
from afterpart.photo.projection import project_plane
from afterpart.photo.reference import look_for_references
from afterpart.photo.sheet import find_sheet
from afterpart.photo.table import reduced
from afterpart.standards.paper import sheet_size

WIDTH, HEIGHT, FOCAL_35MM = 2600, 1950, 52.0
FINE = 16
A4 = (210.0, 297.0)
MM = Rule(1.0, "mm")
INCH = Rule(25.4 / 16, "inch:16")


def camera(x: float = 0.0, y: float = 0.0, distance: float = 520.0, tilt_deg: float = 4.0, roll_deg: float = 0.0) -> Camera:
    """A camera `distance` above the sheet's plane that looks at (x, y), tilted about the picture's horizontal."""
    a, r = np.radians(180 - tilt_deg), np.radians(roll_deg)
    lean = np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
    turn = np.array([[np.cos(r), -np.sin(r), 0], [np.sin(r), np.cos(r), 0], [0, 0, 1]])
    rotation = turn @ lean
    forward = rotation[2]
    position = np.array([x, y, 0.0]) + forward * distance / forward[2]
    return Camera(WIDTH, HEIGHT, FOCAL_35MM / 36 * WIDTH, 0.0, 0.0, tuple(map(tuple, rotation.tolist())),
                  tuple(position.tolist()))  # type: ignore[arg-type]


def pictured(seen_by: Camera, rule: bool = False, size: tuple[float, float] = (297.0, 210.0)) -> Picture:
    """A sheet of `size` (as it lies) about the world's zero, and a rule of 150 mm across its lower part."""
    light = np.full((HEIGHT, WIDTH), 25.0)

    def fill(x0: float, y0: float, x1: float, y1: float, value: float) -> None:
        px = project_plane(seen_by, np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]), 0.0)
        cv2.fillPoly(light, [np.round((px - 0.5) * FINE).astype(np.int32)], value, cv2.LINE_8, 4)

    w, h = size
    fill(-w / 2, -h / 2, w / 2, h / 2, 200.0)
    if rule:
        for k in range(151):
            length = 8.0 if k % 10 == 0 else 6.0 if k % 5 == 0 else 4.0
            fill(k - 75.1, -70, k - 74.9, -70 + length, 20.0)
    light = cv2.GaussianBlur(light, (0, 0), 0.9) + np.random.default_rng(3).normal(0, 1.0, light.shape)
    grey = np.clip(np.where(light < 0, 0, 255 * (np.clip(light, 0, 255) / 255) ** (1 / 2.2)), 0, 255).astype(np.uint8)
    return Picture("photo.png", "", grey.astype(np.float32), cv2.merge([grey] * 3), FOCAL_35MM)


def solved(picture: Picture, **told: object) -> Pose:
    shot = Shot("photo.png", **told)  # type: ignore[arg-type]
    small, scale = reduced(picture.colour)
    sighted = look_for_references(picture.grey, picture.light, small, scale, shot)
    pose = solve_pose(picture, sighted, shot)
    return replace(pose, notes=(*sighted.notes, *pose.notes))


def codes(pose: Pose) -> set[str]:
    return {note.code for note in pose.notes}


@pytest.mark.parametrize("x,y,distance,roll_deg,seen",
                         [(0, 0, 520, 3, 4), (0, 0, 450, 10, 4), (75, 0, 480, 1, 3), (0, 60, 480, 2, 3), (0, 0, 425, 0, 2)])
def test_sides_out_of_the_picture(x: float, y: float, distance: float, roll_deg: float, seen: int) -> None:
    true = camera(x, y, distance, roll_deg=roll_deg)
    picture = pictured(true)
    small, scale = reduced(picture.colour)
    sheet = find_sheet(picture.light, small, scale)
    assert sheet is not None and len(sheet.seen) == seen
    pose = solved(picture, sheet=A4)
    assert pose.kind == "sheet" and pose.strong == (seen == 4)
    # two parallel lines know the tilt about themselves only by how cameras are held
    limit = {4: 0.003, 3: 0.006, 2: 0.012}[seen]
    assert pose.camera.position[2] == pytest.approx(distance, rel=limit)


def test_no_sheet_where_a_dark_plate_cuts_into_a_bright_table() -> None:
    picture = np.full((1200, 1600, 3), 200, np.uint8)
    picture[300:900, 900:] = 60
    light = picture[..., 0].astype(np.float32)
    assert find_sheet(light, *reduced(picture)) is None


def test_sheet_and_rule_are_found_untold() -> None:
    pose = solved(pictured(camera(), rule=True))
    assert pose.kind == "sheet+rule" and {"sheet_assumed", "rule_assumed"} <= codes(pose)
    assert pose.camera.position[2] == pytest.approx(520, rel=0.002)


def test_references_that_agree_raise_no_note() -> None:
    assert not codes(solved(pictured(camera(), rule=True), sheet=A4, rule=MM))


def test_a_wrong_sheet_is_named_by_the_rule_and_the_rule_followed() -> None:
    pose = solved(pictured(camera(), rule=True), sheet=sheet_size("A5"), rule=MM)
    assert pose.kind == "rule"
    assert any(n.code == "references_disagree" and "A4" in n.text for n in pose.notes)
    assert pose.camera.position[2] == pytest.approx(520, rel=0.003)


def test_a_wrong_sheet_is_doubted_by_a_rule_nobody_spoke_of() -> None:
    pose = solved(pictured(camera(), rule=True), sheet=sheet_size("A5"))
    assert any(n.code == "sheet_doubtful" and "A4" in n.text for n in pose.notes)


def test_wrong_proportions_are_named() -> None:
    pose = solved(pictured(camera()), sheet=sheet_size("letter"))
    assert any(n.code == "sheet_proportion" and "A4" in n.text for n in pose.notes)
    assert pose.camera.position[2] == pytest.approx(520, rel=0.003)


def test_an_inch_rule_that_is_a_millimetre_rule_is_named() -> None:
    pose = solved(pictured(camera(), rule=True), sheet=A4, rule=INCH)
    assert {"rule_ladder", "references_disagree"} <= codes(pose)
    assert pose.camera.position[2] == pytest.approx(520, rel=0.003)


def test_a_wrong_height_of_the_rule_is_named_and_widens_the_scale() -> None:
    right, wrong = (solved(pictured(camera(), rule=True), sheet=A4, rule=MM, reference_height=z) for z in (0.01, 9.0))
    assert "references_disagree" in codes(wrong) and "references_disagree" not in codes(right)
    assert wrong.relative_u > 0.005 > right.relative_u


def test_two_picked_points_beside_a_sheet() -> None:
    true = camera()
    ends = project_plane(true, np.array([[-50.0, 20.0], [50.0, 20.0]]), 0.0)
    told = {length: solved(pictured(true), sheet=A4, span=Span(*ends[0], *ends[1], length)) for length in (100.0, 80.0)}
    assert told[100.0].kind == "sheet+span" and not codes(told[100.0])
    assert "references_disagree" in codes(told[80.0])


def test_a_told_reference_that_is_not_there_is_said_and_the_rest_used() -> None:
    pose = solved(pictured(camera(), rule=True), calliper=50.0)
    assert {"calliper_missing", "sheet_assumed"} <= codes(pose) and pose.unit == "mm"


def test_nothing_at_all_gives_pixels() -> None:
    grey = np.random.default_rng(1).normal(150, 2, (HEIGHT, WIDTH)).astype(np.uint8)
    pose = solved(Picture("photo.png", "", grey.astype(np.float32), cv2.merge([grey] * 3), None))
    assert pose.unit == "px" and {"size_unknown", "focal_unknown"} <= codes(pose)
