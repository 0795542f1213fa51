"""What is told of each photograph: only while its file is the measured one, by its own view, and why one was left out.

Views are cameras straight above (closed form): a point at (x, y) of a face h high is seen f / (z - h) px per mm from the middle.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from afterpart.model.camera import Camera
from afterpart.model.edges import EdgeMap, PhotoUsed, PhotoView, Reference, Rim, SeenReference
from afterpart.model.job import Job, Shot
from afterpart.model.outline import Circle, Datum, Loop, Outline
from afterpart.model.store import EdgeRecord, PhotoRecord
from afterpart.pipeline.seen import can_be_laid, laid_box, look_at_photo, seen_in

FILES = ("a.jpg", "b.jpg", "c.jpg")
FOCAL, HIGH, FACE = 3000.0, 600.0, 9.0
DOWN = ((1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, -1.0))


def above(x: float, y: float) -> Camera:
    """A camera HIGH above (x, y), its picture's right along x."""
    return Camera(2000, 1500, FOCAL, 0.0, 0.0, DOWN, (x, y, HIGH))


def drawing(reference: Reference) -> Outline:
    """A disc of 20 mm about zero, its drawing's origin where the map has (10, 5)."""
    loops = (Loop("outer", 1, (Circle("s1", (0.0, 0.0), 10.0),)),)
    return Outline("mm", reference, Datum("as found", (10.0, 5.0), 0.0), loops, loops, (), ())


def three_looks() -> tuple[EdgeRecord, Outline]:
    """a from above zero, b from above (30, -12), c left out."""
    reference = Reference("sheet+rule", FOCAL / (HIGH - FACE), 0.001)
    turn = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    rim = Rim("outer", 1, np.stack([10 + 10 * np.cos(turn), 5 + 10 * np.sin(turn)], axis=1), np.full(60, 0.01))
    views = (PhotoView("a.jpg", above(0.0, 0.0), FACE, seen=(SeenReference("sheet", ((1.0, 1.0), (9.0, 1.0), (5.0, 7.0))),)),
             PhotoView("b.jpg", above(30.0, -12.0), FACE))
    photos = tuple(PhotoUsed(file, "mating", 1, 0.0, HIGH, 0.01, share, why) for file, share, why in
                   (("a.jpg", 0.6, ""), ("b.jpg", 0.4, ""), ("c.jpg", 0.0, "its outline is another")))
    edges = EdgeMap("mm", (rim,), reference, above(0.0, 0.0), FACE, 0.4, "a.jpg", photos=photos, views=views)
    records = tuple(PhotoRecord(f"sha of {file}", Shot(file)) for file in FILES)
    return EdgeRecord("sha of a.jpg", Shot("a.jpg"), "0", edges, records), drawing(reference)


def digest(path: Path) -> str:
    """Every file as it was measured."""
    return f"sha of {path.name}"


JOB = Job("lid", tuple(Shot(file) for file in FILES))


@pytest.mark.parametrize(("number", "middle"), [(1, (0.0, 0.0)), (2, (30.0, -12.0))])
def test_each_photograph_is_told_by_its_own_camera(tmp_path: Path, number: int, middle: tuple[float, float]) -> None:
    record, outline = three_looks()
    look = look_at_photo(tmp_path, JOB, number, record, outline, digest)
    assert look is not None and not look.why and can_be_laid(tmp_path, look, outline)
    seen = seen_in(look)
    px = FOCAL / (HIGH - FACE)
    expected = (1000 + px * (10.0 - middle[0]), 750 - px * (5.0 - middle[1]))
    for chain in (seen.segments[0].line, seen.rims[0]):
        points = np.array(chain)
        assert np.allclose(points.min(0) + points.max(0), 2 * np.array(expected), atol=0.3)
        assert np.ptp(points, axis=0) == pytest.approx([20 * px, 20 * px], abs=0.3)
    assert seen.camera is not None and seen.camera.distance == pytest.approx(HIGH - FACE)
    assert [one.kind for one in seen.references] == (["sheet"] if number == 1 else []), "what was seen in this one alone"


def test_one_that_was_left_out_says_why_and_shows_nothing(tmp_path: Path) -> None:
    record, outline = three_looks()
    look = look_at_photo(tmp_path, JOB, 3, record, outline, digest)
    assert look is not None and look.why == "its outline is another" and not can_be_laid(tmp_path, look, outline)
    assert not seen_in(look).segments and seen_in(look).camera is None


def test_nothing_is_told_of_another_file_or_of_one_that_was_not_measured(tmp_path: Path) -> None:
    record, outline = three_looks()
    assert look_at_photo(tmp_path, JOB, 2, record, outline, lambda path: "another") is None
    more = replace(JOB, shots=(*JOB.shots, Shot("d.jpg"), Shot("box.jpg", shows="mate")))
    assert look_at_photo(tmp_path, more, 4, record, outline, digest) is None
    assert look_at_photo(tmp_path, more, 5, record, outline, digest) is None, "the mate was not measured"
    assert look_at_photo(tmp_path, JOB, 1, None, None, digest) is None


def test_the_order_of_the_photographs_does_not_matter(tmp_path: Path) -> None:
    record, outline = three_looks()
    turned = replace(JOB, shots=JOB.shots[::-1])
    first, last = (look_at_photo(tmp_path, turned, number, record, outline, digest) for number in (3, 2))
    assert first is not None and first.view is not None and first.view.file == "a.jpg"
    assert last is not None and last.view is not None and last.view.file == "b.jpg"


def test_the_box_of_laid_pictures_holds_the_drawing_with_room_all_round() -> None:
    _, outline = three_looks()
    left, bottom, right, top = laid_box(outline)
    assert left == bottom < -10.0 and right == top > 10.0 and right - left == pytest.approx(24.0)
