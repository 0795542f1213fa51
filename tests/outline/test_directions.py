"""The direction a drawing is laid out in: symmetry is seen though a stretch of the rim is disturbed.

An invented lug, three holes in a row, its edges tangent to round ears; no photograph.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from afterpart.model.edges import EdgeMap
from afterpart.outline.directions import mirrors
from afterpart.outline.part import moved
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from afterpart.outline.traced import trace_picture
from tests.outline.invented import circle, lug_plate, rims_of

LUG = [lug_plate(28.0, [(43.0, 0.0, 10.0), (-43.0, 0.0, 10.0)]), circle(43, 0, 11), circle(-43, 0, 11), circle(0, 0, 28)]


def _edges(bump: float) -> EdgeMap:
    """The lug, its large ear's rim pushed out by bump mm over some 6 mm."""
    made = rims_of(LUG, np.random.default_rng(8), rms=0.012, scale_u=0.0, relative_u=0.002, angle_rad=0.0, shift=(0.0, 0.0))
    outer = made.rims[0]
    away = outer.points - np.array([6.0, -27.4])
    push = bump * np.exp(-0.5 * (np.hypot(*away.T) / 2.5) ** 2)
    points = outer.points + push[:, None] * np.array([0.2, -0.98])
    return replace(made, rims=(replace(outer, points=points), *made.rims[1:]))


@pytest.mark.parametrize("bump", [0.0, 0.8])
def test_a_disturbed_stretch_hides_no_symmetry(bump: float) -> None:
    part = trace_picture(_edges(bump), OutlineSettings()).parts[0].part
    assert (part.chains[0].size > 8) == (bump > 0)  # the bump makes bits of its own
    assert mirrors(moved(part, (0.0, 0.0), 0.0), 0.0) == 2
    slanting = math.radians(24.8)  # along an edge that is tangent to two ears
    assert mirrors(moved(part, (0.0, 0.0), slanting), slanting) == 0


def test_a_disturbed_stretch_leaves_the_pitches_as_drawn() -> None:
    outline = recover_outline(_edges(0.8), OutlineSettings())
    pitches = sorted(round(d.design, 6) for d in outline.dimensions if d.kind == "distance")
    assert pitches == [43.0, 43.0, 86.0]


def test_a_part_with_an_odd_hole_has_no_mirror() -> None:
    made = rims_of([*LUG, circle(12, 18.5, 4)], np.random.default_rng(8), rms=0.012, scale_u=0.0, angle_rad=0.0, shift=(0.0, 0.0))
    part = trace_picture(made, OutlineSettings()).parts[0].part
    assert mirrors(moved(part, (0.0, 0.0), 0.0), 0.0) == 0
