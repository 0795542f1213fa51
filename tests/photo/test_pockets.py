"""Pockets and pads with a single wall, on booth scenes: which it is, where its wall stands, and no opening invented beside it.

Limit: a whole wall within 0.03 mm, its points within 0.1 mm; the picture (9 px per mm) rounds sharp corners and hides a wall that
is as bright as the face.  Shade is calculated by tests/truth/pockets.py: the sky that a wall hides, its shadow under the lamp.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

from afterpart.model.edges import EdgeMap
from afterpart.photo.channelwall import ChannelView, stands
from afterpart.photo.load import load_picture
from afterpart.photo.profile import Spread
from afterpart.photo.stage import recover_edges
from afterpart.photo.wallrings import joined_rings
from tests.truth.drawings import Drawing, box, circle, corner_holes
from tests.truth.light import Light
from tests.truth.scenes import make_shoot, take
from tests.truth.steps_study import off_wall

PLATE = (box(120, 80, 12), *corner_holes(104, 64, 5.5))
SIZE = (3264, 2448)


def _photographed(loop: tuple, deep: float, folder: Path, paint: str = "dark", tilt: float = 3.0, lamp: float = 150.0,
                  is_told: bool = True) -> tuple[EdgeMap, Drawing]:
    drawing = Drawing("stepped", PLATE, pockets=((loop, deep),))
    shoot = make_shoot(drawing, "sheet", paint=paint, tilt_deg=tilt, azimuth_deg=lamp, size=SIZE,
                       light=Light(azimuth_deg=lamp, elevation_deg=50.0))
    _, shot = take(shoot, folder, 5)
    if is_told:
        shot = replace(shot, channel_depth=deep if deep > 0 else None, pad_height=-deep if deep < 0 else None)
    return recover_edges(load_picture(Path(shot.file), shot), shot), drawing


@pytest.mark.parametrize(("loop", "deep", "paint", "tilt", "lamp"), [
    (box(44, 36, 4, -22, 4), 1.5, "grey", 8.0, 150.0),
    (box(90, 50, 6), 1.0, "dark", 3.0, 150.0),  # its shade comes in pieces
    (circle(0, 0, 40), 3.0, "dark", 6.0, 40.0),  # the wide shadow is no opening
    (box(70, 46, 6), -1.0, "dark", 3.0, 150.0),
    (circle(8, 0, 30), -2.0, "grey", 8.0, 60.0),
])
def test_the_wall_of_a_pocket_or_a_pad(loop: tuple, deep: float, paint: str, tilt: float, lamp: float, tmp_path: Path) -> None:
    edges, drawing = _photographed(loop, deep, tmp_path, paint, tilt, lamp)
    assert [rim.wall for rim in edges.rims if rim.role == "channel"] == ["pocket" if deep > 0 else "pad"]
    assert sum(rim.role == "opening" for rim in edges.rims) == 4
    off = off_wall(edges, drawing)
    assert abs(np.median(off)) < 0.03
    assert np.quantile(np.abs(off), 0.95) < 0.1
    wall, = (rim for rim in edges.rims if rim.role == "channel")
    assert wall.depth == deep
    assert [note.code for note in edges.notes if note.code in ("channel", "channel_seen", "pocket", "pad")] == \
        ["pocket" if deep > 0 else "pad"]


def test_a_pad_of_unknown_height_is_drawn_and_the_note_says_what_it_costs(tmp_path: Path) -> None:
    """A pad 2 mm high lies nearer to the camera, which stands 8 degrees aslant: larger by 2 / 720 and 2 tan 8 degrees aside."""
    edges, drawing = _photographed(circle(0, 0, 36), -2.0, tmp_path, "grey", 8.0, is_told=False)
    wall, = (rim for rim in edges.rims if rim.role == "channel")
    assert wall.wall == "pad" and wall.depth is None and edges.camera is not None
    size = float(np.ptp(wall.points, axis=0).mean())
    away = edges.camera.position[2] - edges.face_height
    assert size == pytest.approx(36.0 * (1.0 + 2.0 / (away - 2.0)), abs=0.06)
    assert np.abs(off_wall(edges, drawing)).max() == pytest.approx(2.0 * np.tan(np.radians(8.0)), abs=0.15)
    text, = (note.text for note in edges.notes if note.code == "pad")
    assert f"{size / away:.2f} mm larger" in text and "boss" in text


def test_scraps_of_a_strip_close_round_an_island_of_face_and_others_do_not() -> None:
    """A painted frame with gaps of 12 px is one ring; the same with a side missing, and a plain line, are none."""
    inside = np.zeros((400, 600), np.uint8)
    inside[20:380, 20:580] = 1
    edge = inside & ~cv2.erode(inside, np.ones((5, 5), np.uint8))

    def rings(paint: np.ndarray) -> int:
        found, belongs = joined_rings(inside, inside & ~paint & 1, edge, np.zeros_like(inside))
        assert bool(belongs.any()) == bool(found)
        return len(found)

    frame = np.zeros_like(inside)
    cv2.rectangle(frame, (120, 100), (460, 300), 1, 5)
    frame[:, 200:212] = frame[:, 330:342] = frame[180:192, :] = 0
    assert rings(frame) == 1
    three_sides = frame.copy()
    three_sides[280:320, :] = 0
    assert rings(three_sides) == 0
    hole = np.zeros_like(inside)
    cv2.circle(hole, (300, 200), 40, 1, 7)  # of a hole whose floor is as bright as the face only the wall shows
    assert rings(hole) == 0
    line = np.zeros_like(inside)
    cv2.line(line, (100, 200), (500, 210), 1, 5)
    assert rings(line) == 0


def test_a_step_stands_and_fading_shade_does_not(tmp_path: Path) -> None:
    """The wall of a pocket stands; a chain 1 mm farther in, where the shade at its foot fades, does not."""
    drawing = Drawing("stepped", PLATE, pockets=((circle(0, 0, 40), 1.5),))
    shoot = make_shoot(drawing, "sheet", tilt_deg=3.0, size=SIZE, light=Light(azimuth_deg=150.0, elevation_deg=50.0))
    _, shot = take(shoot, tmp_path, 5)
    picture = load_picture(Path(shot.file), shot)
    edges = recover_edges(picture, shot)
    wall, = (rim for rim in edges.rims if rim.role == "channel")
    assert edges.camera is not None
    view = ChannelView(picture.light, edges.camera, edges.face_height, Spread(edges.blur_px, edges.sharpening),
                       1.0 / edges.reference.px_per_mm, edges.edge_radius, (), None, True)
    centre = wall.points.mean(axis=0)
    assert stands(view, wall.points)
    assert not stands(view, centre + (wall.points - centre) * (19.0 / 20.0))
