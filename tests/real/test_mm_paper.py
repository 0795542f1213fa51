"""Millimetre paper by phone: once camera and lens are accounted for, its ruling is even.

Picture: shared/real/mm_paper.jpg (licence and origin in its truth.json; stored turned, EXIF orientation 6, 25 mm equivalent).
Its ruling is printed paper, not a gauge: evenness is judged, not the scale.  About 57 px are one millimetre.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from afterpart.model.job import Shot
from afterpart.model.references import RuleTicks
from afterpart.photo.adjust import FocalPrior, Observations, adjust_camera, overhead_camera
from afterpart.photo.load import Picture, load_picture
from afterpart.photo.projection import to_plane
from afterpart.photo.rule import find_rules

PHOTO = Path(__file__).parents[3] / "shared" / "real" / "mm_paper.jpg"
EVEN = 0.05

pytestmark = pytest.mark.skipif(not PHOTO.exists(), reason="the real photographs (../shared/real) are not here")


@cache
def _ruling() -> tuple[Picture, RuleTicks]:
    """The picture and the family of lines across the strip, the longest row of lines found."""
    picture = load_picture(PHOTO, Shot(file=str(PHOTO)))
    rows = find_rules(picture.grey)
    assert rows, "no ruling found"
    return picture, rows[0]


@cache
def _corrected() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(line numbers, their places along the strip in mm after correction, the same straight from the pixels)."""
    picture, ruling = _ruling()
    px = np.concatenate([tick.points for tick in ruling.ticks])
    number = np.concatenate([np.full(len(tick.points), tick.index) for tick in ruling.ticks]).astype(float)
    u = np.concatenate([tick.u_px for tick in ruling.ticks]) / ruling.pitch_px
    focal_px = picture.width_ppmm * picture.focal_35mm
    start = overhead_camera(picture.grey.shape, focal_px, focal_px / ruling.pitch_px)
    first = float(np.median(to_plane(start, px, 0.0)[:, 0] - number))
    paper = Observations("paper", 0.0, px, (first,), (np.inf,), lambda xy, k: xy[:, 0] - number - k[0], u)
    camera = adjust_camera(start, [paper], FocalPrior(focal_px, 0.02)).camera
    index = np.array([tick.index for tick in ruling.ticks], float)
    place = np.array([np.median(to_plane(camera, tick.points, 0.0)[:, 0]) for tick in ruling.ticks])
    raw = np.array([np.median(tick.points[:, 0]) for tick in ruling.ticks])
    return index, place, raw / np.polyfit(index, raw, 1)[0]


def test_picture_is_turned_upright_and_tells_its_focal_length():
    picture, _ = _ruling()
    assert picture.grey.shape == (4608, 2112)
    assert picture.focal_35mm == 25


def test_lines_are_found_as_a_decimal_grid_across_the_whole_strip():
    _, ruling = _ruling()
    assert ruling.kind == "grid" and ruling.ladder == "decimal"
    assert len(ruling.ticks) >= 34
    assert ruling.pitch_px == pytest.approx(57.2, abs=1.0)


def test_lines_are_numbered_without_gap_or_repeat():
    index = _corrected()[0]
    assert np.array_equal(index, np.arange(index[0], index[0] + len(index)))


def test_pitch_is_even_after_correction():
    """No line is farther than 0.05 mm from its place on an even ladder, and no step is off by more than that."""
    index, place, raw = _corrected()
    off = place - index
    off -= np.median(off)
    assert np.abs(off).max() < EVEN
    assert np.abs(np.diff(place) / np.diff(index) - 1).max() < EVEN
    bent = raw - np.polyval(np.polyfit(index, raw, 1), index)
    assert np.abs(bent).max() > 2 * np.abs(off).max(), "without correction the ladder must be worse, or nothing is proved"
