"""Plates with four holes in a square about a bore: their side or their pitch circle, whichever was drawn, and their width.

Invented plates; rims with correlated noise as in invented.py.  The shared squares are those of standards/hole_squares.py; plates
almost like them must not be taken for them.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest

from afterpart.model.outline import Circle, Outline
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from tests.outline.invented import circle, polygon, rims_of

SEEDS = range(4)


def plate(width: float, square: float, hole: float, bore: float, radius: float = 4.0) -> list:
    h, s = 0.5 * width, 0.5 * square
    return [polygon([(-h, -h), (h, -h), (h, h), (-h, h)], radius), circle(0, 0, bore),
            *(circle(x, y, hole) for x in (-s, s) for y in (-s, s))]


def outline_of(loops: list, seed: int, **options: float) -> Outline:
    rng = np.random.default_rng(7000 + seed)
    return recover_outline(rims_of(loops, rng, angle_rad=rng.uniform(0.0, 0.2), scale_u=0.0004, **options), OutlineSettings())


def designed(outline: Outline, kind: str) -> list[float]:
    return sorted(d.design for d in outline.dimensions if d.kind == kind)


def sides(outline: Outline) -> list[float]:
    """Distances of neighbouring small holes' centres in the design."""
    centers = sorted((s for loop in outline.design for s in loop.segments if isinstance(s, Circle)), key=lambda s: s.radius)[:4]
    reach = sorted(math.dist(a.center, b.center) for k, a in enumerate(centers) for b in centers[k + 1:])
    return reach[:4]


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("width, square, hole, bore", [(42.3, 31.0, 3.4, 22.0), (60.0, 47.14, 5.1, 38.1),
                                                       (92.0, 82.5, 4.5, 88.0)])
def test_shared_squares_come_out(width: float, square: float, hole: float, bore: float, seed: int) -> None:
    outline = outline_of(plate(width, square, hole, bore), seed, bias=0.015)
    assert sides(outline) == pytest.approx([square] * 4, abs=1e-6)
    assert designed(outline, "width") == pytest.approx([width] * 2, abs=1e-6)
    assert designed(outline, "diameter") == pytest.approx([hole] * 4 + [bore], abs=1e-6)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_plate_almost_like_a_shared_one_is_none(seed: int) -> None:
    """A square of 47.0, not 47.14, a bore of 38.0, holes of 5.0: nothing of the motor face is claimed."""
    outline = outline_of(plate(60.0, 47.0, 5.0, 38.0), seed)
    assert sides(outline) == pytest.approx([47.0] * 4, abs=1e-6)
    assert designed(outline, "diameter") == pytest.approx([5.0] * 4 + [38.0], abs=1e-6)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_shared_square_does_not_bring_its_width(seed: int) -> None:
    """A plate of 45 bolted to a face whose body is 42.3 wide, its bore 25: both stay what was measured."""
    outline = outline_of(plate(45.0, 31.0, 3.4, 25.0), seed)
    assert sides(outline) == pytest.approx([31.0] * 4, abs=1e-6)
    assert designed(outline, "width") == pytest.approx([45.0] * 2, abs=1e-6)
    assert designed(outline, "diameter")[-1] == pytest.approx(25.0, abs=1e-6)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_pitch_circle_stays_one(seed: int) -> None:
    """Four holes on 60 mm about a bore, straddling the axes: the circle is round, its square (42.426) is not."""
    at = [math.radians(45.0 + 90.0 * k) for k in range(4)]
    loops = [circle(0, 0, 80), circle(0, 0, 30), *(circle(30 * math.cos(a), 30 * math.sin(a), 6.6) for a in at)]
    outline = outline_of(loops, seed)
    assert any(relation.kind == "pitch_circle" for relation in outline.relations)
    assert sides(outline) == pytest.approx([60.0 / math.sqrt(2.0)] * 4, abs=1e-6)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_square_without_a_number_stays_free(seed: int) -> None:
    """A side of 33.35 belongs to no list and no likely lattice: no other is claimed for sure."""
    outline = outline_of(plate(50.0, 33.35, 4.5, 24.0), seed)
    wrong = [d for d in outline.dimensions if d.kind == "distance" and d.probability > 0.9 and abs(d.design - d.measured) > 0.06]
    assert not wrong
    assert all(abs(side - 33.35) < 0.06 for side in sides(outline))


@pytest.mark.parametrize("seed", SEEDS)
def test_a_width_of_odd_halves_is_held_about_the_bore(seed: int) -> None:
    """46.5 wide about its bore, so that each side lies at 23.25, and a square of 34.5."""
    outline = outline_of(plate(46.5, 34.5, 4.5, 24.0), seed)
    assert designed(outline, "width") == pytest.approx([46.5] * 2, abs=1e-6)
    assert sides(outline) == pytest.approx([34.5] * 4, abs=1e-6)
