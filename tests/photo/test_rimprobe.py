"""Probes across a rim beside another one: what lies beyond a narrow web is not taken for the rim's own face.

Frames are invented and lit evenly (closed forms: which places lie in an opening, which brightness the face has).
Limits: no blur and no noise; the booth's frames with webs of 1 mm are in tests/published/test_plates.py.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
import pytest

from afterpart.model.camera import Camera
from afterpart.photo.profile import RimShape, Spread
from afterpart.photo.projection import project_plane
from afterpart.photo.rimchain import outward_normals, resample_closed
from afterpart.photo.rimprobe import FINE, Course, beyond_others, read_probes
from afterpart.photo.rims import fit_rims

PX = 0.1
HALF, OPENING = 20.0, 18.8
"""A square frame of 40 mm with a round opening of 37.6 mm: 1.2 mm, 12 px, of web where it is narrowest."""


def square() -> np.ndarray:
    corners = HALF * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    return resample_closed(corners, 2.0 * PX)


def opening() -> np.ndarray:
    """Clockwise: the material lies to its left."""
    turn = np.linspace(0.0, -2.0 * np.pi, 400, endpoint=False)
    return OPENING * np.column_stack((np.cos(turn), np.sin(turn)))


def camera() -> Camera:
    """Straight above the frame."""
    return Camera(600, 600, 6000.0, 0.0, 0.0, ((1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, -1.0)), (0.0, 0.0, 600.0))


def picture(face: float, floor: float, table: float) -> np.ndarray:
    """Brightness of a flat frame of these levels, (600, 600)."""
    rows, columns = np.mgrid[:600, :600] + 0.5
    x, y = PX * (columns - 300.0), -PX * (rows - 300.0)
    light = np.where(np.maximum(np.abs(x), np.abs(y)) < HALF, face, table)
    return np.where(np.hypot(x, y) < OPENING, floor, light).astype(np.float32)


def test_the_camera_of_these_tests_looks_straight_down() -> None:
    at = project_plane(camera(), np.array([[0.0, 0.0], [10.0, 0.0], [0.0, 10.0]]), 0.0)
    assert at == pytest.approx(np.array([[300.0, 300.0], [400.0, 300.0], [300.0, 200.0]]))


def test_places_in_an_opening_are_not_the_rims_own() -> None:
    chain, t = square(), np.arange(-30, 10) * PX
    normals = outward_normals(chain, 0.0)
    away = beyond_others(chain, normals, t, (opening(),), 0.2, PX)
    reach = np.hypot(*(chain[:, :, None] + normals[:, :, None] * t).transpose(1, 0, 2))
    inside = (reach < OPENING + 0.2 - PX) & (t < 0.0)
    clear = np.minimum.accumulate(reach, axis=1)[:, ::-1].min(axis=1) > OPENING + 0.2 + PX
    assert inside.any() and away[inside].all()
    assert clear.any() and not away[clear].any()


def test_what_lies_farther_in_than_an_opening_is_not_its_own_either() -> None:
    """A probe that crosses a slot of 1 mm and meets the face again behind it."""
    chain, t = square(), np.arange(-40, 1) * PX
    slot = np.array([[-10.0, -17.0], [-10.0, -18.0], [10.0, -18.0], [10.0, -17.0]])[::-1]
    away = beyond_others(chain, outward_normals(chain, 0.0), t, (slot,), 0.0, PX)
    row = int(np.argmin(np.hypot(*(chain - (0.0, -HALF)).T)))
    assert away[row, t < -2.1].all() and not away[row, t > -1.9].any()


def test_an_openings_probes_end_at_the_outside() -> None:
    chain, t = opening(), np.arange(-30, 5) * PX
    away = beyond_others(chain, outward_normals(chain, 0.0), t, (square(),), 0.1, PX)
    row = int(np.argmin(np.hypot(*(chain - (OPENING, 0.0)).T)))
    assert away[row, t < -(HALF - OPENING)].all() and not away[row, t > -(HALF - OPENING) + 0.25].any()


def test_the_face_of_a_web_is_that_of_the_frame() -> None:
    light = picture(face=20.0, floor=90.0, table=60.0)
    faces = []
    for beside in ((), (opening(),)):
        course = Course(square(), 9.0, 12.0, 0.0, 3.0, beside=beside)
        faces.append(read_probes(light, camera(), [course], RimShape(0.0, 0.0, 0.0, 600.0), PX, FINE).face)
    assert faces[0].max() > 30.0  # the floor of the opening, where nothing is known of it
    assert faces[1] == pytest.approx(np.full(len(faces[1]), 20.0), abs=0.1)


def test_a_rim_stays_on_its_side_of_a_web() -> None:
    """The outside is nearly as dark as the face, the opening's floor is bright: the stronger edge is the wrong one."""
    light = picture(face=20.0, floor=90.0, table=26.0)
    course = Course(square(), 9.0, 12.0, 1.5, 3.0, beside=(opening(),))
    rim, = fit_rims(light, camera(), [course], RimShape(0.0, 0.0, 0.0, 600.0), PX, Spread())
    middle = np.abs(rim.points).min(axis=1) < 0.8 * HALF
    assert np.abs(np.abs(rim.points).max(axis=1) - HALF)[middle].max() < PX


@pytest.mark.parametrize("chained", [False, True])
def test_rims_judged_together_stand_where_each_stands_alone(chained: bool) -> None:
    """The outside and the opening of the frame in one block, and each in one of its own: but for the patterns' single precision,
    which the length of a block's longest probe touches."""
    light, shape = picture(120.0, 30.0, 220.0), RimShape(2.0, 0.2, 0.0, 600.0)
    courses = [Course(square(), 4.0, 8.0), Course(opening(), 4.0, 8.0)]
    together = fit_rims(light, camera(), courses, shape, PX, Spread(), chained)
    assert len(together) == 2
    for rim, course in zip(together, courses, strict=True):
        alone, = fit_rims(light, camera(), [course], shape, PX, Spread(), chained)
        assert len(rim.points) == len(course.chain)
        for name in ("normals", "places", "base"):
            assert np.array_equal(getattr(rim, name), getattr(alone, name)), name
        assert np.abs(rim.points - alone.points).max() < 1e-5 * PX
        for name in ("u", "cost", "gain", "costs"):
            assert np.allclose(getattr(rim, name), getattr(alone, name), rtol=1e-4, atol=1e-6), name
        assert (rim.samples, rim.value_cost) == (alone.samples, alone.value_cost)
