"""Parts in place and moved out: numbers in order of assembly, nothing overlapping along the way it comes from."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import cv2
import numpy as np

from afterpart.model.piece import Piece, PrintTime
from afterpart.release.build_pictures import closed_picture, exploded_picture
from afterpart.release.picture import View, draw_solids
from afterpart.release.put_together import Part, moved_out
from afterpart.release.shown import METAL, STIFF, Shown
from tests.release.test_png_picture import box

UP, DOWN = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)


def thing(name: str) -> Piece:
    return Piece("cover", name, name, "A", (), 1.0, (), PrintTime(0.0, 0.0, ""))


PARTS = (
    Part(1, thing("cover"), (box(0, 0, -6, 120, 80, 0),), UP, 1, STIFF[0]),
    Part(2, thing("frame"), (box(20, 20, -3, 100, 60, 3),), UP, 2, STIFF[1]),
    Part(3, thing("screw"), tuple(box(x, 30, -8, x + 6, 36, 2) for x in (25, 90)), DOWN, 3, METAL[0]),
    Part(4, thing("bolt"), tuple(box(x, 5, -12, x + 6, 11, 10) for x in (5, 105)), DOWN, 4, METAL[1]),
)


def ends(part: Part, shift: np.ndarray) -> tuple[float, float]:
    z = np.concatenate([mesh.vertices[:, 2] for mesh in part.meshes]) + shift[2]
    return float(z.min()), float(z.max())


def test_what_was_fitted_first_stays_and_the_others_clear_each_other() -> None:
    shifts = moved_out(PARTS, gap=5.0)
    assert (shifts[0] == 0).all()
    spans = [ends(part, shift) for part, shift in zip(PARTS, shifts, strict=True)]
    assert spans[1][0] == spans[0][1] + 5.0, "the frame comes from above"
    assert spans[2][1] == spans[0][0] - 5.0 and spans[3][1] == spans[2][0] - 5.0, "screws and bolts from below, in order"
    assert all((shift[:2] == 0).all() for shift in shifts)


def test_parts_of_one_order_move_together() -> None:
    one = (PARTS[0], Part(2, thing("a"), (box(0, 0, 0, 10, 10, 4),), UP, 2, STIFF[0]),
           Part(3, thing("b"), (box(50, 0, -2, 60, 10, 9),), UP, 2, STIFF[1]))
    shifts = moved_out(one, gap=1.0)
    assert (shifts[1] == shifts[2]).all() and shifts[1][2] == 3.0


def test_apart_every_part_is_seen_and_has_its_number() -> None:
    picture = cv2.imdecode(np.frombuffer(exploded_picture(PARTS, "lid A"), np.uint8), cv2.IMREAD_COLOR)[:, :, ::-1]
    for part in PARTS:
        legend = (np.abs(picture.astype(int) - part.tint) <= 1).all(axis=2)
        assert legend.sum() >= 26 * 15, part.label
    right = picture[:, -90:]
    sizes = cv2.connectedComponentsWithStats((right.min(axis=2) < 128).astype(np.uint8))[2][1:]
    rings = sizes[(sizes[:, cv2.CC_STAT_HEIGHT] >= 30) & (sizes[:, cv2.CC_STAT_HEIGHT] <= 45)]
    assert len(rings) == len(PARTS), "a ring with its leader for each"


def test_closed_shows_both_sides_and_is_the_same_twice() -> None:
    first = closed_picture(PARTS, "lid A")
    assert first == closed_picture(PARTS, "lid A")
    assert cv2.imdecode(np.frombuffer(first, np.uint8), cv2.IMREAD_COLOR).shape[1] == 1400


def test_each_body_keeps_its_colour_and_owns_its_pixels() -> None:
    red, blue = (220, 40, 40), (40, 40, 220)
    drawn = draw_solids((Shown("a", box(0, 0, 0, 10, 10, 5), red), Shown("b", box(20, 0, 0, 30, 10, 5), blue)), View(90, 0), 320)
    for index, tint in enumerate((red, blue)):
        pixels = drawn.pixels[drawn.owner == index].astype(float)
        inside = pixels[np.abs(pixels / pixels.max(axis=1, keepdims=True) - np.array(tint) / max(tint)).max(axis=1) < 0.05]
        assert len(inside) > 0.9 * len(pixels)
        column, row = drawn.at(np.array([[5.0 + 20 * index, 5.0, 5.0]]))[0]
        assert drawn.owner[int(row), int(column)] == index, "a point in mm is where the picture says"


def test_from_below_the_underside_is_seen_and_lit() -> None:
    plate = (Shown("plate", box(0, 0, 0, 60, 40, 4)), Shown("mark", box(25, 15, -0.5, 35, 25, 0), (255, 0, 0)))
    above, below = (draw_solids(plate, View(elevation, 0.0), 300) for elevation in (60.0, -60.0))
    assert (above.owner == 1).sum() == 0 and (below.owner == 1).sum() > 200
    assert below.pixels[below.owner == 0].mean() > 100
