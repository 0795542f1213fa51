"""Points and boxes of segments against closed formulas."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest

from afterpart.geometry.segments import segment_middle, segment_points, segments_box
from afterpart.model.outline import Arc, Circle, Line


def arc(start_deg: float, turn_deg: float, radius: float = 10.0) -> Arc:
    ends = [
        (3 + radius * math.cos(math.radians(a)), -2 + radius * math.sin(math.radians(a)))
        for a in (start_deg, start_deg + turn_deg)
    ]
    return Arc("s", ends[0], ends[1], (3.0, -2.0), radius, turn_deg > 0)


@pytest.mark.parametrize("turn_deg", [30.0, 90.0, 180.0, 270.0, 350.0, -30.0, -90.0, -180.0, -350.0])
@pytest.mark.parametrize("start_deg", [0.0, 45.0, 100.0, 260.0])
def test_box_of_an_arc_holds_all_its_points_and_no_more(start_deg: float, turn_deg: float) -> None:
    curve = arc(start_deg, turn_deg)
    angles = np.radians(start_deg + turn_deg * np.linspace(0, 1, 20001))
    x, y = 3 + 10 * np.cos(angles), -2 + 10 * np.sin(angles)
    assert np.allclose(segments_box([curve]), (x.min(), y.min(), x.max(), y.max()), atol=1e-6)
    middle = math.radians(start_deg + turn_deg / 2)
    assert np.allclose(segment_middle(curve), (3 + 10 * math.cos(middle), -2 + 10 * math.sin(middle)))


@pytest.mark.parametrize("chord", [1.0, 0.01, 1e-4])
def test_points_keep_the_chord_error(chord: float) -> None:
    for curve in (arc(20.0, -250.0), Circle("c", (3.0, -2.0), 10.0)):
        points = segment_points(curve, chord)
        closed = np.vstack([points, points[:1] if isinstance(curve, Circle) else np.array([curve.end])])
        middles = (closed[1:] + closed[:-1]) / 2
        assert np.allclose(np.hypot(*(points - (3, -2)).T), 10.0)
        assert (10.0 - np.hypot(*(middles - (3, -2)).T)).max() <= chord * (1 + 1e-9)


def test_line_and_circle() -> None:
    assert segments_box([Line("a", (1, 2), (-3, 5)), Circle("b", (0, 0), 2)]) == (-3, -2, 2, 5)
    assert segment_middle(Line("a", (0, 0), (2, 4))) == (1, 2)
    with pytest.raises(ValueError, match="no segment"):
        segments_box([])
