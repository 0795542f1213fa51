"""Letters of the solids: every character drawn, told from every other, wide enough for a nozzle, and of few sides.

The nozzle of 0.4 mm and capitals of 2.5 mm are the least that a cover's texts are made for (parts/cover_text.py).
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from itertools import combinations

import pytest
import shapely
from shapely import MultiPolygon, Polygon

from afterpart.solid.alphabet import CAPITAL, GAP, STEM, advance, ink
from afterpart.solid.lettering import plain_text, text_outlines, text_width

PRINTABLE = tuple(map(chr, range(33, 127)))
SMALLEST, NOZZLE = 2.5, 0.4
MM = SMALLEST / CAPITAL
"""A grid unit in the smallest capitals, mm."""


def whole(letter: str) -> MultiPolygon:
    return MultiPolygon(ink(letter))


@pytest.mark.parametrize("letter", PRINTABLE)
def test_every_character_is_drawn_within_its_advance(letter: str) -> None:
    shape = whole(letter)
    assert shape.is_valid and shape.area > 0
    left, low, right, high = shape.bounds
    assert left == pytest.approx(0.0, abs=1e-9) and right == pytest.approx(advance(letter) - GAP, abs=1e-9)
    assert low >= -0.4 * CAPITAL and high <= CAPITAL + 1e-9
    assert all(part.exterior.is_ccw and not any(ring.is_ccw for ring in part.interiors) for part in ink(letter))


@pytest.mark.parametrize("letter", [c for c in PRINTABLE if c.isupper() or c.isdigit()])
def test_capitals_and_figures_fill_their_height(letter: str) -> None:
    _, low, _, high = whole(letter).bounds
    assert (0.0 if letter != "Q" else low) == pytest.approx(low, abs=1e-9) and high == pytest.approx(CAPITAL)


@pytest.mark.parametrize("letter", PRINTABLE)
def test_a_nozzle_prints_what_is_sunk_and_what_stands_between(letter: str) -> None:
    """A square as wide as the nozzle, moved about in the letter, covers nearly all of it (sharp ends of slopes are lost); moved
    about outside, it covers nearly all of what stands: islands, and the land between strokes."""
    shape, radius = whole(letter), NOZZLE / 2 / MM
    flat = {"join_style": "mitre", "cap_style": "flat"}
    opened = shape.buffer(-radius, **flat).buffer(radius, **flat)
    closed = shape.buffer(radius, **flat).buffer(-radius, **flat)
    assert opened.intersection(shape).area > 0.98 * shape.area
    assert closed.area - shape.area < 0.05 * shape.area
    assert STEM * MM >= NOZZLE and GAP * MM >= NOZZLE


def test_no_two_characters_look_alike() -> None:
    """Laid on each other, any two differ by more than four thirds of the nozzle's square, in the smallest capitals."""
    shapes = {letter: shapely.union_all(ink(letter)) for letter in PRINTABLE}
    least = min((shapes[a].symmetric_difference(shapes[b]).area * MM ** 2, a, b) for a, b in combinations(PRINTABLE, 2))
    assert least[0] > 4 / 3 * NOZZLE ** 2, least


def test_capitals_and_figures_have_few_sides() -> None:
    """Each side becomes a wall of the solid: that is what a text costs."""
    sides = [shapely.get_num_coordinates(part) - 1 - len(part.interiors) for c in PRINTABLE if c.isalnum() for part in ink(c)]
    assert sum(sides) / sum(1 for c in PRINTABLE if c.isalnum()) < 12


def test_text_lies_about_its_middle_and_its_letters_stand_apart() -> None:
    text, height = "IC-1 REV Aj", 4.0
    letters = text_outlines(text, height)
    left, low, right, high = shapely.total_bounds(list(letters))
    clear = GAP * height / CAPITAL
    assert right - left == pytest.approx(text_width(text, height) - clear) and left + right == pytest.approx(0.0, abs=1e-9)
    assert high == pytest.approx(height / 2) and low < -height / 2
    for a, b in combinations(letters, 2):
        is_j = text.endswith("j") and {a, b} == set(letters[-2:])
        assert a.distance(b) >= (0.1 if is_j else clear) - 1e-9
    assert all(isinstance(part, Polygon) for part in letters)


@pytest.mark.parametrize(("name", "plain"), [("Größe 5", "Gro?e 5"), ("a\n b", "a b"), ("蓋", "?"), ("é½", "e1?2"), ("", "")])
def test_plain_text(name: str, plain: str) -> None:
    assert plain_text(name) == plain
    assert text_width(plain_text(name), 3.0) >= 0.0


def test_width_of_other_letters_is_refused() -> None:
    with pytest.raises(ValueError, match="plain_text"):
        text_width("ß", 3.0)
