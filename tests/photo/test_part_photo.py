"""The released photograph: balloons' places found again in its pixels, and nothing of the camera's tags left in it.

The camera stands straight above the table, so that places follow from similar triangles: column = W/2 + f x / (D - h).
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import dataclasses
import math

import cv2
import numpy as np
import pytest

from afterpart.model.camera import Camera
from afterpart.model.edges import EdgeMap
from afterpart.model.outline import Datum, Outline, Point
from afterpart.photo.load import Picture
from afterpart.photo.part_photo import LONGEST_PX, part_photo
from tests.parts import drawings

WIDTH, HEIGHT, FOCAL, DISTANCE, FACE = 3000, 2400, 4000.0, 420.0, 20.0
CAMERA = Camera(WIDTH, HEIGHT, FOCAL, 0.0, 0.0, ((1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, -1.0)), (0.0, 0.0, DISTANCE))
DATUM = Datum("turned", (4.0, -3.0), 20.0)
PLACES: dict[str, Point] = {"d1": (-40.0, 20.0), "d2": (35.0, -15.0), "d2 end": (10.0, 30.0)}


def seen_at(place: Point) -> Point:
    """Column and row by similar triangles."""
    turn = math.radians(DATUM.angle_deg)
    x = DATUM.origin[0] + math.cos(turn) * place[0] - math.sin(turn) * place[1]
    y = DATUM.origin[1] + math.sin(turn) * place[0] + math.cos(turn) * place[1]
    return WIDTH / 2 + FOCAL * x / (DISTANCE - FACE), HEIGHT / 2 - FOCAL * y / (DISTANCE - FACE)


def scene() -> tuple[Picture, EdgeMap, Outline]:
    """Black, with a white dot wherever a balloon should point."""
    colour = np.zeros((HEIGHT, WIDTH, 3), np.uint8)
    for place in PLACES.values():
        column, row = seen_at(place)
        cv2.circle(colour, (round((column - 0.5) * 16), round((row - 0.5) * 16)), 12 * 16, (255, 255, 255), -1, cv2.LINE_AA, 4)
    outline = dataclasses.replace(drawings.gauge_lid(), datum=DATUM)
    edges = EdgeMap("mm", (), outline.reference, CAMERA, FACE, 0.0)
    return Picture("p.jpg", "", colour[..., 0].astype(np.float32), colour, None), edges, outline


def test_every_place_lies_on_its_dot_in_the_smaller_picture() -> None:
    photo = part_photo(*scene(), PLACES)
    picture = cv2.imdecode(np.frombuffer(photo.jpeg, np.uint8), cv2.IMREAD_GRAYSCALE)
    assert picture.shape == (photo.height_px, photo.width_px) and max(picture.shape) <= LONGEST_PX
    count, _, _, middles = cv2.connectedComponentsWithStats((picture > 127).astype(np.uint8))
    assert count == len(PLACES) + 1
    assert [name for name, _, _ in photo.spots] == list(PLACES)
    for _, column, row in photo.spots:
        assert np.hypot(middles[1:, 0] + 0.5 - column, middles[1:, 1] + 0.5 - row).min() < 0.3


def test_nothing_but_pixels_is_in_the_file_and_the_same_gives_the_same() -> None:
    """Tags of camera and place would stand in an APP1 segment (marker FF E1, "Exif"), a comment in FF FE."""
    photo = part_photo(*scene(), PLACES)
    head = photo.jpeg[: photo.jpeg.index(b"\xff\xda")]
    assert b"Exif" not in head and b"\xff\xe1" not in head and b"\xff\xfe" not in head
    assert part_photo(*scene(), PLACES) == photo


def test_without_a_camera_nothing_can_be_placed() -> None:
    picture, edges, outline = scene()
    with pytest.raises(ValueError, match="camera"):
        part_photo(picture, dataclasses.replace(edges, camera=None), outline, PLACES)
