"""Pictures of what could come loose: the sizes written on them, things to one scale, openings true, the same bytes again."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import struct

import numpy as np
import pytest

from afterpart.checks.passage_views import views_of
from afterpart.checks.passages import passages_of
from afterpart.release.canvas import Canvas
from afterpart.release.marks import PX_PER_MM, Area, Drawing, Stroke, Words, dashes, drawing_png
from afterpart.release.passage_openings import THING, wrapped
from afterpart.release.passage_picture import WIDTH, passage_drawings
from afterpart.release.strokes import text_length
from tests.checks.loose_cases import SCREW, block, job, lid, piece

OUT = (0.0, 0.0, -1.0)


def drawn(guard_at: float | None = None, bore: float = 3.4, port: float | None = None) -> Drawing:
    """The screw's picture; guard_at: gap between its head and a guard outside."""
    guard = () if guard_at is None else ((piece("guard"), block(10, -10, -10.2 - guard_at, 30, 10, -7.2 - guard_at), OUT),)
    build, meshes = lid(bore, others=guard)
    ways = passages_of(build, job(), meshes)
    pictures = passage_drawings(views_of(build, job(), meshes, ways), ways, port)
    (name,) = {way.picture for way in ways if way.item == SCREW.name}
    return pictures[name]


def things(drawing: Drawing) -> list[np.ndarray]:
    return [np.array(mark.rings[0]) for mark in drawing.marks if isinstance(mark, Area) and mark.ink == THING]


def said(drawing: Drawing) -> str:
    return " ".join(drawing.texts)


def test_every_way_is_told_with_its_sizes_and_what_stops_it() -> None:
    text = said(drawn())
    assert "free for 3.0 mm of 3.0 mm. So it comes to the outside." in text
    assert "a way of 3.4 mm for 5.6 mm. Held by its head." in text
    assert "its hole: 3.4 mm, dashed" in text and "the thing: 5.6 mm" in text and "opening: 20.0 mm" in text


def test_what_is_stopped_shows_where_and_by_what() -> None:
    drawing = drawn(guard_at=1.0)
    assert "stopped after" in said(drawing) and "Held by guard." in said(drawing)
    assert any(name.endswith("guard") for text in drawing.texts for name in text.rstrip(".").split(", ")), "it has a letter"


def test_the_thing_and_its_hole_are_drawn_to_one_scale() -> None:
    """Beside the cut: the head's circle against the dashed one of the hole, 5.6 to 3.4."""
    drawing = drawn()
    circles = [ring for ring in things(drawing) if ring[:, 0].min() > WIDTH * 0.6]
    head = np.ptp(circles[0], axis=0).max()
    middle = (circles[0].max(axis=0) + circles[0].min(axis=0)) / 2
    white = [np.array(mark.points) for mark in drawing.marks if isinstance(mark, Stroke) and mark.ink == (255, 255, 255)]
    radii = np.hypot(*(np.vstack(white) - middle).T)
    assert 2 * radii.max() / head == pytest.approx(3.4 / 5.6, rel=5e-3)


def test_the_cut_is_drawn_at_one_scale_both_ways() -> None:
    """Head 5.6 wide, screw 10.2 long from head to tip."""
    size = np.ptp(things(drawn())[0], axis=0)
    assert size[0] / size[1] == pytest.approx(5.6 / 10.2, rel=1e-3)


def test_the_way_into_the_machine_is_shown_only_for_what_gets_behind_the_cover() -> None:
    assert "moving parts" not in said(drawn(guard_at=1.0, port=4.0))
    gets_in = said(drawn(bore=5.7, port=4.0))
    assert "way into the moving parts: 4.0 mm" in gets_in and "HELD" in gets_in
    assert "way into the moving parts: 9.0 mm" in said(drawn(bore=5.7, port=9.0))


def test_nothing_is_drawn_beyond_the_picture() -> None:
    for drawing in (drawn(), drawn(guard_at=1.0), drawn(bore=5.7, port=4.0)):
        for mark in drawing.marks:
            points = [p for ring in mark.rings for p in ring] if isinstance(mark, Area) else (
                mark.points if isinstance(mark, Stroke) else ())
            assert all(-0.5 <= x <= drawing.width + 0.5 and -0.5 <= y <= drawing.height + 0.5 for x, y in points)
            if isinstance(mark, Words) and mark.align == "left":
                assert mark.at[0] + text_length(mark.text, mark.height) <= WIDTH + 0.01, mark.text


def test_the_same_case_gives_the_same_bytes_and_the_told_size() -> None:
    one, other = drawing_png(drawn()), drawing_png(drawn())
    assert one == other
    columns, rows = struct.unpack(">II", one[16:24])
    drawing = drawn()
    assert (columns, rows) == (pytest.approx(drawing.width * PX_PER_MM, abs=1), pytest.approx(drawing.height * PX_PER_MM, abs=1))


def test_dashes_lie_on_their_line_and_lines_of_text_keep_their_width() -> None:
    run = dashes(((0.0, 0.0), (10.0, 0.0), (10.0, 10.0)))
    assert len(run) == 8 and run[0] == ((0.0, 0.0), (1.6, 0.0))
    assert all(y == 0.0 or x == 10.0 for dash in run for x, y in dash)
    lines = wrapped("a way of 3.4 mm for 5.6 mm, held by its head and by a word " + "long" * 30, 60.0)
    assert all(text_length(line, 2.1) <= 60.0 or " " not in line for line in lines) and len(lines) > 2


def test_an_area_fills_as_many_pixels_as_it_is_large_and_leaves_its_hole() -> None:
    """A circle of 30 with a square hole of 20, and a part beyond the canvas: pixels to within its rim's length."""
    turn = np.arange(720) * 2 * np.pi / 720
    ring = np.column_stack((50 + 30 * np.cos(turn), 40 + 30 * np.sin(turn)))
    square = np.array([(40.0, 30.0), (60.0, 30.0), (60.0, 50.0), (40.0, 50.0)])
    canvas = Canvas(90, 100)
    canvas.area([ring, square], THING)
    filled = (canvas.pixels == THING).all(axis=2)
    assert filled.sum() == pytest.approx(np.pi * 900 - 400, abs=12)
    assert not filled[31:49, 41:59].any() and filled[12:28, 50].all()
    beyond = Canvas(20, 20)
    beyond.area([square - 45.0], THING)
    assert (beyond.pixels == THING).all(axis=2).sum() == 15 * 5
