"""Which segments are called free: those nothing settles, and no others."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import numpy as np

from afterpart.model.outline import Line, Outline
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from tests.outline.invented import circle, polygon, rims_of

HOLES = [circle(x, y, 6.6) for x, y in ((-40.0, -20.0), (40.0, -20.0), (-40.0, 20.0), (40.0, 20.0))]


def recovered(corner: tuple[float, float]) -> Outline:
    """A plate on whole millimetres but for one corner of it."""
    outer = polygon([(-50.0, -30.0), (50.0, -30.0), corner, (20.0, 30.0), (-50.0, 30.0)], 0.0)
    return recover_outline(rims_of([outer, *HOLES], np.random.default_rng(3), angle_rad=0.1), OutlineSettings())


def _free_lines(outline: Outline) -> list[Line]:
    segments = {s.id: s for loop in outline.design for s in loop.segments}
    assert all(isinstance(segments[name], Line) for name in outline.free)
    return [segments[name] for name in outline.free]  # type: ignore[misc]


def test_a_part_on_its_lattice_has_nothing_free() -> None:
    assert recovered((50.0, 10.0)).free == ()


def test_an_edge_to_a_corner_that_no_number_settles_is_free() -> None:
    """The slanting edge alone: everything else of the plate, its neighbours too, has its numbers."""
    slanting, = _free_lines(recovered((50.0, 10.37)))
    assert abs(slanting.end[0] - slanting.start[0]) > 20.0 and abs(slanting.end[1] - slanting.start[1]) > 15.0


def test_without_a_size_nothing_is_called_free() -> None:
    outer = polygon([(-50.0, -30.0), (50.0, -30.0), (50.0, 30.0), (-50.0, 30.0)], 4.0)
    edges = rims_of([outer, *HOLES], np.random.default_rng(3))
    assert recover_outline(replace(edges, unit="px"), OutlineSettings()).free == ()
