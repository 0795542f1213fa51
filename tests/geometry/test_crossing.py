"""Crossings of two segments: every pair of kinds, touches, stretches, and ends; closed forms and a fine-chord check."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString

from afterpart.geometry.crossing import meeting
from afterpart.geometry.segments import segment_points
from afterpart.geometry.strand import distances, foot_shares, strands_of, tangents_at
from afterpart.model.outline import Arc, Circle, Line, Segment


def arc(x: float, y: float, radius: float, from_deg: float, turn_deg: float) -> Arc:
    ends = [(x + radius * math.cos(math.radians(a)), y + radius * math.sin(math.radians(a)))
            for a in (from_deg, from_deg + turn_deg)]
    return Arc("", ends[0], ends[1], (x, y), radius, turn_deg > 0)


def places(first: Segment, second: Segment) -> list[tuple[float, float]]:
    found = meeting(first, second)
    assert not found.stretches
    return sorted((round(c.at[0], 9), round(c.at[1], 9)) for c in found.crossings)


def test_two_lines() -> None:
    line = Line("", (0, 0), (10, 10))
    assert places(line, Line("", (0, 10), (10, 0))) == [(5, 5)]
    assert places(line, Line("", (0, 10), (4.9, 5.1))) == [], "it ends before"
    assert places(line, Line("", (0, 1), (10, 11))) == [], "parallel"
    assert places(line, Line("", (10, 10), (20, 3))) == [(10, 10)], "end to end"
    assert places(line, Line("", (3, 3), (5, 1))) == [(3, 3)], "it begins on the other"


def test_line_and_circle() -> None:
    """x = +-sqrt(25 - 9)."""
    circle = Circle("", (0, 0), 5)
    assert places(Line("", (-10, 3), (10, 3)), circle) == [(-4, 3), (4, 3)]
    assert places(Line("", (0, 3), (10, 3)), circle) == [(4, 3)]
    assert places(Line("", (-1, 3), (1, 3)), circle) == []
    touch = meeting(Line("", (-10, 5), (10, 5)), circle)
    assert [c.at for c in touch.crossings] == [pytest.approx((0, 5))] and touch.crossings[0].tangent
    assert not meeting(Line("", (-10, 3), (10, 3)), circle).crossings[0].tangent


def test_an_arc_is_a_circle_and_a_span() -> None:
    right = arc(0, 0, 5, -45, 90)
    assert places(Line("", (-10, 3), (10, 3)), right) == [(4, 3)]
    assert places(Line("", (-10, 4), (10, 4)), right) == []
    assert places(arc(0, 0, 5, -45, -270), Line("", (-10, 3), (10, 3))) == [(-4, 3)]
    assert places(right, Circle("", (8, 0), 5)) == [(4, -3), (4, 3)]
    assert places(right, arc(8, 0, 5, 90, 90)) == [(4, 3)]
    assert places(right, arc(8, 0, 5, 90, -90)) == []


def test_circles_that_touch() -> None:
    for other, at in ((Circle("", (8, 0), 3), (5, 0)), (Circle("", (2, 0), 3), (5, 0)), (Circle("", (-9, 0), 4), (-5, 0))):
        found = meeting(Circle("", (0, 0), 5), other)
        assert [c.at for c in found.crossings] == [pytest.approx(at)] and found.crossings[0].tangent
    assert places(Circle("", (0, 0), 5), Circle("", (8.001, 0), 3)) == []
    assert places(Circle("", (0, 0), 5), Circle("", (0, 0), 3)) == []


def test_stretches_of_lines_and_arcs() -> None:
    found = meeting(Line("", (0, 0), (10, 0)), Line("", (14, 0), (4, 0)))
    assert found.crossings == () and found.stretches == (((4.0, 0.0), (10.0, 0.0)),)
    found = meeting(Line("", (0, 0), (10, 0)), Line("", (2, 0), (5, 0)))
    assert found.stretches == (((2.0, 0.0), (5.0, 0.0)),)
    found = meeting(arc(0, 0, 5, 0, 90), arc(0, 0, 5, 120, -90))
    (start, end), = found.stretches
    assert start == pytest.approx((5 * math.cos(math.pi / 6), 2.5)) and end == pytest.approx((0, 5)) and not found.crossings
    assert meeting(arc(0, 0, 5, 0, 90), arc(0, 0, 5, 90, 90)).stretches == (), "end to end is a place, not a stretch"
    assert len(meeting(arc(0, 0, 5, 0, 90), arc(0, 0, 5, 90, 90)).crossings) == 1


def test_two_arcs_of_one_circle_may_share_two_stretches() -> None:
    found = meeting(arc(0, 0, 5, 0, 300), arc(0, 0, 5, 240, 180))
    assert len(found.stretches) == 2 and found.crossings == ()


def test_an_arc_on_a_whole_circle() -> None:
    (start, end), = meeting(Circle("", (0, 0), 5), arc(0, 0, 5, 300, 120)).stretches
    assert start == pytest.approx((2.5, -5 * math.sqrt(3) / 2)) and end == pytest.approx((2.5, 5 * math.sqrt(3) / 2))


coordinate = st.integers(-6, 6).map(float) | st.floats(-6, 6)
segments = st.one_of(
    st.builds(lambda x, y, a, d: Line("", (x, y), (x + d * math.cos(a), y + d * math.sin(a))), coordinate, coordinate,
              st.floats(-3, 3) | st.sampled_from([0.0, math.pi / 2]), st.floats(1, 10)),
    st.builds(arc, coordinate, coordinate, st.integers(1, 6).map(float), st.floats(0, 360) | st.sampled_from([0.0, 90.0]),
              st.floats(20, 340) | st.floats(-340, -20) | st.sampled_from([90.0, 180.0])),
    st.builds(lambda x, y, r: Circle("", (x, y), r), coordinate, coordinate, st.floats(1, 6)))


@given(segments, segments)
@settings(max_examples=200, deadline=None, derandomize=True)
def test_every_place_lies_on_both_and_none_is_missed(first: Segment, second: Segment) -> None:
    found = meeting(first, second)
    at = np.array([c.at for c in found.crossings] + [p for s in found.stretches for p in s]).reshape(-1, 2)
    for segment in (first, second):
        assert not len(at) or distances(at, strands_of([segment])).max() <= 1e-8
    chords = LineString(fine(first)).intersection(LineString(fine(second)))
    if not found.stretches:
        for piece in getattr(chords, "geoms", [chords] if not chords.is_empty else []):
            near = np.hypot(*(at - np.array(piece.coords[0])).T).min() if len(at) else math.inf
            assert near < 0.05 or is_unsure(np.array(piece.coords[:1]), first, second), f"{piece} is missed by {near}"
    swapped = meeting(second, first)
    assert len(swapped.crossings) == len(found.crossings) and len(swapped.stretches) == len(found.stretches)


def is_unsure(place: np.ndarray, first: Segment, second: Segment) -> bool:
    """Whether the chords' own error can make a crossing there: at an end, or where both run nearly the same way."""
    both, index = strands_of([first, second]), np.arange(2)
    ahead = tangents_at(both, index, foot_shares(both, index, place)[0])
    ends = np.vstack([both.start, both.end])
    return bool(np.hypot(*(ends - place).T).min() < 1e-3 or abs(ahead[0, 0] * ahead[1, 1] - ahead[0, 1] * ahead[1, 0]) < 0.02)


def fine(segment: Segment) -> np.ndarray:
    end = (segment.center[0] + segment.radius, segment.center[1]) if isinstance(segment, Circle) else segment.end
    return np.vstack([segment_points(segment, 1e-5), [end]])
