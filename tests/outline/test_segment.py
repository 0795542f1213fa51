"""Breakpoints of a rim: long rims are looked along only so far, and lose no corner by it.

Sources: the drawings themselves (corners and ends of arcs as drawn), and the search over all stretches of a rim against the one
that looks only so far ahead."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest

from afterpart.model.outline import Line
from afterpart.outline import segment
from afterpart.outline.segment import choose_nodes, segment_rim
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from tests.truth.drawings import Drawing, box, slot
from tests.truth.ideal import ideal_edges

NOISE, CORRELATION = 0.0142, 1.0
TURN_DEG, PLACE = 73.0, (11.0, -4.0)
"""How an ideal photograph's part lies (tests/truth/ideal.py)."""



def long_comb(steps: int) -> tuple[tuple[float, float], ...]:
    """Corners of a plate of 300 by 80 whose upper edge goes down by 8 and up again so many times."""
    width = 300.0 / steps
    upper = [(150.0 - width * (k + half), 40.0 - 8.0 * low) for k in range(steps) for half, low in
             ((0.0, 0), (0.5, 0), (0.5, 1), (1.0, 1))]
    return (-150.0, -40.0), (150.0, -40.0), *upper


def plate_of(corners: tuple[tuple[float, float], ...]) -> Drawing:
    """A plate with these corners."""
    return Drawing("plate", (tuple(("line", a, b) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True)),))


def rims_of(drawing: Drawing) -> list[np.ndarray]:
    """Rims of an ideal photograph of a drawing, with a hundredth of noise."""
    return [rim.points for rim in ideal_edges(drawing, np.random.default_rng(1), white=0.01, alike=0.01).rims]


@pytest.mark.parametrize("drawing", [Drawing("box", (box(60.0, 42.0, 5.0),)), Drawing("rounded", (box(50.0, 30.0, 14.0),)),
                                     Drawing("slot", (slot(-20.0, 0.0, 20.0, 0.0, 9.0),))],
                         ids=lambda drawing: drawing.name)
def test_looking_only_so_far_ahead_finds_the_same_pieces(drawing: Drawing, monkeypatch: pytest.MonkeyPatch) -> None:
    """None of these has a stretch of so many nodes."""
    settings = OutlineSettings()
    for points in rims_of(drawing):
        whole = segment_rim(points, NOISE, CORRELATION, settings.segment_price, settings.arc_price)
        with monkeypatch.context() as patch:
            patch.setattr(segment, "LARGEST_WHOLE", 0)
            ahead = segment_rim(points, NOISE, CORRELATION, settings.segment_price, settings.arc_price)
        assert whole.first.tolist() == ahead.first.tolist() and whole.is_arc.tolist() == ahead.is_arc.tolist()
        assert ahead.price == pytest.approx(whole.price, rel=1e-9)


def test_every_corner_of_a_long_rim_has_a_node_beside_it() -> None:
    """As near as the nodes stand there: without it a bit would be cut off the corner."""
    corners = long_comb(32)
    drawing = plate_of(corners)
    points, = rims_of(drawing)
    nodes = choose_nodes(points)
    assert 300 < len(nodes) < segment.MOST_OF_ALL
    turn = math.radians(TURN_DEG)
    laid = np.array(corners) @ np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]]) + PLACE
    off = [float(np.hypot(*(points[nodes] - corner).T).min()) for corner in laid]
    assert max(off) < 1.25 * segment.WIDEST_AT_BENDS


def test_a_rim_of_130_edges_comes_out_as_drawn() -> None:
    """No bit is left at any corner, none is taken for an arc."""
    corners = long_comb(32)
    outline = recover_outline(ideal_edges(plate_of(corners), np.random.default_rng(1), white=0.01, alike=0.01), OutlineSettings())
    seen, = outline.measured
    assert len(seen.segments) == len(corners) and all(isinstance(piece, Line) for piece in seen.segments)
    lengths = sorted(math.dist(a, b) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True))
    found = sorted(math.dist(piece.start, piece.end) for piece in seen.segments)
    assert np.abs(np.array(found) - lengths).max() < 0.1
