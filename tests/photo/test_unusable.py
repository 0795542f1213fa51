"""Pictures that cannot be measured are refused with one message each; what only looks like one of them is measured."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import cv2
import numpy as np
import pytest

from afterpart.errors import PhotoError
from afterpart.model.job import Shot, Span
from afterpart.photo.load import Picture, check_whole
from afterpart.photo.sharpness import GAUSS_10_90, edge_width_px
from afterpart.photo.stage import recover_edges

WIDTH, HEIGHT = 1600, 1200
TABLE, PLATE = 200.0, 60.0


def pictured(*plates: tuple[int, int, int, int], blur: float = 1.0, size: tuple[int, int] = (WIDTH, HEIGHT),
             table: float = TABLE) -> Picture:
    """A table with dark plates (left, top, right, bottom) on it, blurred by a Gaussian, with a little noise."""
    light = np.full((size[1], size[0]), table)
    for left, top, right, bottom in plates:
        light[top:bottom, left:right] = PLATE
    light = cv2.GaussianBlur(light, (0, 0), blur) + np.random.default_rng(1).normal(0, 2, light.shape)
    grey = np.clip(light, 0, 255).astype(np.uint8)
    return Picture("photo.png", "", grey.astype(np.float32), cv2.merge([grey] * 3), 27.0)


def on_a_sheet(*plates: tuple[int, int, int, int]) -> Picture:
    """An upright A4 sheet of 1000 x 1414 px on a dark desk, the plates placed in picture px."""
    light = np.full((1700, 1300), 90.0)
    light[140:1554, 150:1150] = 230
    for left, top, right, bottom in plates:
        light[top:bottom, left:right] = PLATE
    light = cv2.GaussianBlur(light, (0, 0), 1.0) + np.random.default_rng(1).normal(0, 2, light.shape)
    grey = np.clip(light, 0, 255).astype(np.uint8)
    return Picture("photo.png", "", grey.astype(np.float32), cv2.merge([grey] * 3), 27.0)


@pytest.mark.parametrize("plate", [(900, 300, WIDTH, 900), (0, 300, 700, 900), (400, 0, 1200, 500), (400, 700, 1200, HEIGHT),
                                   (800, 600, WIDTH, HEIGHT)])
def test_cut_off_by_the_border(plate: tuple[int, int, int, int]) -> None:
    with pytest.raises(PhotoError, match="cut off by the picture's border"):
        recover_edges(pictured(plate), Shot("photo.png"))


@pytest.mark.parametrize("plate", [(400, 80, 900, 600), (900, 500, 1200, 1100), (60, 500, 500, 1100)])
def test_cut_off_by_the_edge_of_the_sheet(plate: tuple[int, int, int, int]) -> None:
    with pytest.raises(PhotoError, match="cut off by the sheet's edge"):
        recover_edges(on_a_sheet(plate), Shot("photo.png", sheet=(210.0, 297.0)))


def test_a_plate_close_to_the_border_is_whole() -> None:
    edges = recover_edges(pictured((400, 14, 1100, 600)), Shot("photo.png"))
    assert [rim.role for rim in edges.rims] == ["outer"]


def test_a_whole_plate_beside_one_that_is_cut_is_measured() -> None:
    edges = recover_edges(pictured((300, 300, 800, 900), (1100, 300, WIDTH, 900)), Shot("photo.png"))
    assert {rim.part for rim in edges.rims} == {1}


def test_a_whole_crumb_beside_a_plate_that_is_cut_is_not_the_part() -> None:
    with pytest.raises(PhotoError, match="cut off"):
        recover_edges(pictured((100, 500, 200, 600), (500, 200, WIDTH, 1000)), Shot("photo.png"))


def test_an_empty_table_and_a_blank_sheet() -> None:
    for picture in (pictured(), on_a_sheet()):
        with pytest.raises(PhotoError, match="no part was found"):
            recover_edges(picture, Shot("photo.png"))


@pytest.mark.parametrize("blur", [8.0, 15.0, 25.0, 40.0])
def test_blurred_and_how_wide_the_edge_is(blur: float) -> None:
    with pytest.raises(PhotoError, match="too blurred") as refusal:
        recover_edges(pictured((500, 400, 1100, 800), blur=blur), Shot("photo.png"))
    said = int(str(refusal.value).split(" px")[0].split()[-1])
    assert said == pytest.approx(GAUSS_10_90 * blur, rel=0.05)


@pytest.mark.parametrize("blur,limit", [(1.0, 1.0), (2.0, 1.0), (4.0, 1.0), (8.0, 1.0)])
def test_width_of_a_blurred_edge(blur: float, limit: float) -> None:
    contour = np.array([[500 + 600 * k / 60, 400.0] for k in range(60)] + [[1100, 400 + 400 * k / 40] for k in range(40)]
                       + [[1100 - 600 * k / 60, 800.0] for k in range(60)] + [[500, 800 - 400 * k / 40] for k in range(40)])
    assert edge_width_px(pictured((500, 400, 1100, 800), blur=blur).grey, contour) == pytest.approx(GAUSS_10_90 * blur, abs=limit)


def test_a_part_of_too_few_pixels() -> None:
    with pytest.raises(PhotoError, match="pixels per mm"):
        recover_edges(pictured((500, 400, 1100, 800)), Shot("photo.png", span=Span(500, 600, 1100, 600, 900.0)))


def test_a_face_behind_the_camera() -> None:
    # 600 px for 60 mm at a focal length of 1200 px: the camera stood 120 mm above the table
    shot = Shot("photo.png", span=Span(500, 600, 1100, 600, 60.0), face_height=130.0)
    with pytest.raises(PhotoError, match="camera stood only 12. mm"):
        recover_edges(pictured((500, 400, 1100, 800)), shot)


def test_a_span_outside_the_picture() -> None:
    with pytest.raises(PhotoError, match="outside the picture"):
        recover_edges(pictured((500, 400, 1100, 800)), Shot("photo.png", span=Span(500, 600, 5000, 600, 60.0)))


def test_a_part_number_that_is_not_there() -> None:
    with pytest.raises(PhotoError, match="1 part"):
        recover_edges(pictured((500, 400, 1100, 800)), Shot("photo.png", part=2))


@pytest.mark.parametrize("ending", [".jpg", ".png", ".tif"])
def test_a_file_cut_short_anywhere_in_its_pixels_is_told_without_measuring(ending: str) -> None:
    scene = np.random.default_rng(3).integers(0, 255, (600, 800, 3), dtype=np.uint8)
    whole = cv2.imencode(ending, cv2.GaussianBlur(scene, (0, 0), 2.0))[1].tobytes()
    check_whole("photo", whole)
    for share in (0.3, 0.6, 0.95):
        with pytest.raises(PhotoError):
            check_whole("photo", whole[:int(share * len(whole))])
