"""A row of many corners is made as simple as it was drawn, and not by fitting the whole row once for each of them."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest

from afterpart.model.outline import Line
from afterpart.outline import simplify
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from tests.truth.drawings import Drawing
from tests.truth.ideal import ideal_edges


def comb(steps: int) -> tuple[tuple[float, float], ...]:
    """Corners of a plate of 150 by 80 whose upper edge goes down by 8 and up again so many times."""
    upper = [(75.0 - 150.0 / steps * (k + half), 40.0 - 8.0 * low) for k in range(steps) for half, low in
             ((0.0, 0), (0.5, 0), (0.5, 1), (1.0, 1))]
    return (-75.0, -40.0), (75.0, -40.0), *upper


@pytest.mark.parametrize(("steps", "corners_a_fit"), [(8, 1), (16, 4)])
def test_many_corners_come_out_as_drawn_with_few_fits_of_the_whole_row(steps: int, corners_a_fit: int,
                                                                       monkeypatch: pytest.MonkeyPatch) -> None:
    """In a longer row many changes are made together, so that each costs the less."""
    sizes: list[int] = []
    fit = simplify.fit_chain
    monkeypatch.setattr(simplify, "fit_chain", lambda rope, pieces: sizes.append(len(pieces.first)) or fit(rope, pieces))
    corners = comb(steps)
    lines = tuple(("line", a, b) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True))
    edges = ideal_edges(Drawing("comb", (lines,)), np.random.default_rng(1), white=0.01, alike=0.01)
    outline = recover_outline(edges, OutlineSettings())
    (outer,), (seen,) = outline.design, outline.measured
    assert len(outer.segments) == len(corners) and all(isinstance(segment, Line) for segment in outer.segments)
    lengths = sorted(round(math.dist(a, b), 2) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True))
    found = sorted(math.dist(segment.start, segment.end) for segment in seen.segments)
    assert np.abs(np.array(found) - lengths).max() < 0.1, "the design may be of another scale: nothing holds it here"
    assert sum(size > simplify.LONG_ROW // 2 for size in sizes) < len(corners) / corners_a_fit, sizes
