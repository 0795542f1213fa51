"""Which numbers of a part may have a nominal: none where nobody drew one."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np

from afterpart.outline.relations import concentric_rows
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.settling import candidates_of
from afterpart.outline.traced import trace_picture
from tests.outline.invented import circle, lug_plate, polygon, rims_of


def kinds_of(loops: list) -> list[str]:
    edges = rims_of(loops, np.random.default_rng(11), angle_rad=0.0, rms=0.006)
    part = trace_picture(edges, OutlineSettings()).parts[0].part
    return [quantity.kind for quantity in candidates_of(part, set(), concentric_rows(part))]


def test_edges_of_an_ear_about_a_hole_have_no_corner() -> None:
    """A round body with two ears about holes: its four edges touch circles, and cross nowhere that was drawn."""
    kinds = kinds_of([lug_plate(26.0, [(40.0, 0.0, 10.0), (-40.0, 0.0, 10.0)]), circle(0, 0, 26), circle(40, 0, 9),
                      circle(-40, 0, 9)])
    assert "vertex_x" not in kinds and "vertex_y" not in kinds
    assert kinds.count("diameter") == 3


def test_a_rounded_corner_of_edges_has_one() -> None:
    kinds = kinds_of([polygon([(0, 0), (60, 0), (75, 40), (0, 40)], 5.0), circle(20, 20, 9)])
    assert kinds.count("vertex_x") == kinds.count("vertex_y") == 4
