"""The demo corrected by its job file: rows that survive measuring again, holes looked for once, files complete."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
import shutil
from pathlib import Path

import pytest

from afterpart.errors import JobError
from afterpart.model.outline import Circle, Outline
from afterpart.pipeline import Measurement, job_of_folder, measure, write_measurement

PIXEL = (1410.0, 586.0)
"""In the hole that the demo's outline calls c3, at (66, 24), in pixels of its photograph at 3 megapixels."""


@pytest.fixture(scope="module")
def measured(cover: Path, small_photo: bytes, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Measurement]:
    """A copy of the demo with its photograph at 3 megapixels, measured without corrections."""
    folder = tmp_path_factory.mktemp("corrections") / "job"
    shutil.copytree(cover, folder)
    (folder / "inlet_cover.jpg").write_bytes(small_photo)
    return folder, _measured(folder)


def _measured(folder: Path) -> Measurement:
    result = measure(job_of_folder(folder, ()), folder, folder, lambda _: None)
    write_measurement(result, folder)
    return result


def _told(folder: Path, cover: Path, rows: str) -> None:
    (folder / "job.toml").write_text((cover / "job.toml").read_text() + rows)


def _hole_at(outline: Outline, at: tuple[float, float]) -> Circle:
    circles = [s for loop in outline.design for s in loop.segments if isinstance(s, Circle)]
    return min(circles, key=lambda circle: math.dist(circle.center, at))


def test_rows_that_cancel_leave_the_outline_to_the_byte(cover: Path, measured: tuple[Path, Measurement]) -> None:
    folder, plain = measured
    edge = next(d.of[0] for d in plain.outline.dimensions if d.kind == "width")
    line = next(s for loop in plain.outline.design for s in loop.segments if s.id == edge)
    x, y = (0.5 * (a + b) for a, b in zip(line.start, line.end, strict=True))
    _told(folder, cover, f'\n[[edit]]\nwhat = "split"\nof = ["{edge}"]\nat = [{x}, {y}]\n'
                         f'[[edit]]\nwhat = "join"\nof = ["{edge}a", "{edge}b"]\n')
    again = _measured(folder)
    assert again.edges_reused and again.files["outline.json"] == plain.files["outline.json"]


def test_a_hole_pointed_at_survives_measuring_from_the_start(cover: Path, measured: tuple[Path, Measurement]) -> None:
    """Dropped and pointed at: the same circle within its u; the second time it is not looked for again; from the picture alone
    the outline is the same to the byte."""
    folder, plain = measured
    truth = min((s for loop in plain.outline.design for s in loop.segments if isinstance(s, Circle)),
                key=lambda circle: math.dist(circle.center, (66.0, 24.0)))
    rows = f'\n[[edit]]\nwhat = "drop"\nof = ["{truth.id}"]\n[[edit]]\nwhat = "hole"\nat_px = [{PIXEL[0]}, {PIXEL[1]}]\n' \
           '[[fixed]]\nid = "d22"\nvalue = 148.0\n'
    _told(folder, cover, rows)
    first = _measured(folder)
    before = next(d for d in plain.outline.dimensions if d.of == (truth.id,))
    after = next(d for d in first.outline.dimensions if d.of == ("h1",))
    assert after.measured == pytest.approx(before.measured, abs=before.u) and after.design == before.design
    assert math.dist(_hole_at(first.outline, truth.center).center, truth.center) < 0.02
    assert next(d for d in first.outline.dimensions if d.id == "d22").origin == "maker"
    again = _measured(folder)
    assert again.edges_reused and again.files["outline.json"] == first.files["outline.json"]
    (folder / "edges.json").unlink()
    assert _measured(folder).files["outline.json"] == first.files["outline.json"]


def test_a_pixel_with_no_hole_is_told_with_its_row(cover: Path, measured: tuple[Path, Measurement]) -> None:
    folder, _ = measured
    _told(folder, cover, '\n[[edit]]\nwhat = "hole"\nat_px = [500.0, 500.0]\n')
    with pytest.raises(JobError, match="edit.1.at_px: hole at pixel .500, 500.: found a place beside the part"):
        measure(job_of_folder(folder, ()), folder, folder, lambda _: None)
    _told(folder, cover, '\n[[edit]]\nwhat = "line"\nof = ["s99"]\n')
    with pytest.raises(JobError, match="edit.1.of: found 's99'"):
        measure(job_of_folder(folder, ()), folder, folder, lambda _: None)
