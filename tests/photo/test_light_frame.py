"""The outer barrier of a light frame on a light table, where the shade in its opening makes the stronger one.

Painted scenes: pixel frame, grey levels.  The steps are those of a light frame photographed on white paper (face 175, paper 220,
shade at the foot of the opening's wall down to 70); noise 1.5 levels, drawn with a fixed seed.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import cv2
import numpy as np
import pytest

from afterpart.photo.part import PartRegion, find_parts
from afterpart.photo.table import find_objects

TABLE, SHADE = 220.0, 70.0
OUTER, INNER = (250, 200, 550, 420), (310, 245, 490, 375)
"""Left, top, right, bottom, px."""


def _box(at: tuple[int, int, int, int]) -> np.ndarray:
    mask = np.zeros((640, 800), np.uint8)
    cv2.rectangle(mask, at[:2], at[2:], 1, -1)
    return mask


def _area(at: tuple[int, int, int, int]) -> float:
    return float((at[2] - at[0]) * (at[3] - at[1]))


def _regions(face: float, with_opening: bool, shadow_shift: int) -> tuple[PartRegion, ...]:
    """Parts found in a painted scene.  shadow_shift: how far the soft shadow reaches out at the lower right, px."""
    cast = np.roll(_box(OUTER), (shadow_shift, shadow_shift), (0, 1)).astype(np.float32)
    picture = TABLE - 45 * cv2.GaussianBlur(cast, (0, 0), 12)
    picture[_box(OUTER) > 0] = face
    if with_opening:
        opening = _box(INNER)
        # the wall's shade lies at the rim and fades towards the middle
        depth = cv2.distanceTransform(opening, cv2.DIST_L2, 5)
        picture = np.where(opening > 0, TABLE - (TABLE - SHADE) * np.exp(-depth / 5), picture)
        cv2.circle(picture, (280, 222), 7, SHADE, -1)
    picture = cv2.GaussianBlur(picture.astype(np.float32), (0, 0), 1.2)
    grey = np.clip(picture + np.random.default_rng(4).normal(0, 1.5, picture.shape), 0, 255).astype(np.float32)
    colour = cv2.merge([grey.astype(np.uint8)] * 3)
    return find_parts(grey, find_objects(colour, 1.0, None), 500.0)


@pytest.mark.parametrize("shadow_shift", [0, 8])
def test_the_frame_is_the_part_and_not_its_opening(shadow_shift: int) -> None:
    regions = _regions(175.0, True, shadow_shift)
    assert len(regions) == 1 and regions[0].face_seen
    assert regions[0].area_px == pytest.approx(_area(OUTER), rel=0.05)
    assert len(regions[0].openings) == 2
    largest = max(cv2.contourArea(o.astype(np.float32)) for o in regions[0].openings)
    assert largest == pytest.approx(_area(INNER), rel=0.08)


@pytest.mark.parametrize("with_opening", [False, True])
def test_a_shadow_beside_a_dark_part_is_no_frame(with_opening: bool) -> None:
    region = _regions(60.0, with_opening, 24)[0]
    assert region.area_px == pytest.approx(_area(OUTER), rel=0.03)
