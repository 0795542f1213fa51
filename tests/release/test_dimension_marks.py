"""Dimension lines run between the right points; balloons lie on the page, clear of each other, numbered like their ids."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import pytest

from afterpart.model.outline import Dimension, Outline
from afterpart.release.dimension_marks import DimensionMark, balloon_label, box_of_mark, place_marks, value_text
from afterpart.release.paper import Placement
from tests.parts import drawings

AREA = (8.0, 40.0, 202.0, 289.0)
PLACE = Placement((105.0, 165.0))


def marks_of(outline: Outline) -> dict[str, DimensionMark]:
    return dict(zip((d.id for d in outline.dimensions), place_marks(outline, PLACE, AREA), strict=True))


def dimension(kind: str, of: tuple[str, ...], design: float = 1.0, origin: str = "inferred", id: str = "d1") -> Dimension:
    return Dimension(id, kind, of, design, 0.02, design, 0.9, None, origin)


def test_spans_are_as_long_as_their_dimensions() -> None:
    lid = drawings.gauge_lid()
    marks = marks_of(lid)
    for d in lid.dimensions:
        if d.kind in ("length", "width", "distance"):
            spans = marks[d.id].spans
            assert spans is not None and math.dist(*spans) == pytest.approx(d.design)


def test_leaders_end_on_their_curve() -> None:
    marks = marks_of(drawings.gauge_lid())
    (x, y) = marks["d3"].pointed
    assert math.dist((x, y), PLACE.at((-50, -30))) == pytest.approx(3.3)
    assert math.dist(marks["d7"].pointed, PLACE.at((0, 40))) == pytest.approx(12.0)


def test_overall_lines_stand_outside_the_part() -> None:
    marks = marks_of(drawings.gauge_lid())
    assert max(p[0] for p in marks["d1"].spans) == 165.0 and marks["d1"].spans[0][1] < PLACE.at((0, -40))[1]
    assert marks["d2"].spans[0][0] < PLACE.at((-60, 0))[0] and marks["d2"].is_text_left


@pytest.mark.parametrize("count", [10, 40])
def test_balloons_stay_on_the_page_and_apart(count: int) -> None:
    ring = drawings.ring_flange()
    many = tuple(dimension("diameter", (f"c{3 + i % 8}",), 9.0, id=f"d{i + 1}") for i in range(count))
    outline = drawings.outline_of(ring.design, many)
    boxes = [box_of_mark(m.text, m.balloon, m.is_text_left) for m in marks_of(outline).values()]
    for i, a in enumerate(boxes):
        assert a[0] >= AREA[0] and a[1] >= AREA[1] and a[2] <= AREA[2] and a[3] <= AREA[3]
        assert all(a[0] >= b[2] or b[0] >= a[2] or a[1] >= b[3] or b[1] >= a[3] for b in boxes[:i])


def test_gap_and_over_run_between_the_near_and_the_far_sides() -> None:
    ring = drawings.ring_flange()
    outline = drawings.outline_of(
        ring.design, (dimension("gap", ("c3", "c7"), id="d1"), dimension("over", ("c3", "c7"), id="d2"))
    )
    marks = marks_of(outline)
    assert math.dist(*marks["d1"].spans) == pytest.approx(76.0) and math.dist(*marks["d2"].spans) == pytest.approx(94.0)


def test_distances_are_drawn_as_the_shortest_net_and_as_read() -> None:
    """Eight holes on a circle: 28 distances; drawn are the seven of neighbours that tie all holes together, and the one read."""
    ring = drawings.ring_flange()
    holes = [f"c{k}" for k in range(3, 11)]
    pairs = [(a, b) for i, a in enumerate(holes) for b in holes[i + 1:]]
    many = tuple(dimension("distance", pair, origin="reading" if pair == ("c3", "c7") else "inferred", id=f"d{i + 1}")
                 for i, pair in enumerate(pairs))
    marks = place_marks(drawings.outline_of(ring.design, many), PLACE, AREA)
    spans = sorted(math.dist(*m.spans) for m in marks)
    assert len(marks) == 7 and spans[-1] == pytest.approx(85.0)
    assert all(span == pytest.approx(85.0 * math.sin(math.pi / 8)) for span in spans[:-1])
    assert str(pairs.index(("c3", "c7")) + 1) in {m.label for m in marks}


def test_a_circle_is_drawn_by_the_name_the_table_uses() -> None:
    marks = marks_of(drawings.gauge_lid())
    assert marks["d3"].text == "c1 Ø6.6"


def test_dimension_of_unknown_segments_gets_no_mark() -> None:
    assert place_marks(drawings.outline_of(drawings.gauge_lid().design, (dimension("length", ("s99",)),)), PLACE, AREA) == ()


@pytest.mark.parametrize(
    ("made", "text"),
    [
        (dimension("diameter", ("c1",), 6.6), "Ø6.6"),
        (dimension("radius", ("s2",), 8.0), "R8"),
        (dimension("angle", ("s1",), 20.0), "20°"),
        (dimension("length", ("s1",), 3.175), "3.175"),
        (dimension("radius", ("s2",), 8.0512, "free"), "(R8.051)"),
    ],
)
def test_value_text(made: Dimension, text: str) -> None:
    assert value_text(made) == text


def test_labels_follow_the_ids() -> None:
    assert (
        balloon_label(dimension("length", (), id="d17"), 3) == "17"
        and balloon_label(dimension("length", (), id="pitch"), 3) == "3"
    )
