"""What the maker says of the design: fixed values, relations, segments set free; contradictions told, nothing else bent."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest

from afterpart.errors import UsageError
from afterpart.model.edges import Reference
from afterpart.model.job import Correction, Fixed
from afterpart.model.outline import Circle, Line, Outline
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import solve_outline
from afterpart.outline.traced import TracedPicture, trace_picture
from tests.outline.invented import circle, polygon, rims_of
from tests.outline.test_edits import assert_closed, edge_at, edges, segments


@pytest.fixture(scope="module")
def picture() -> TracedPicture:
    return trace_picture(edges(), OutlineSettings())


@pytest.fixture(scope="module")
def plain(picture: TracedPicture) -> Outline:
    return solve_outline(picture, OutlineSettings())


def fixed(picture: TracedPicture, **values: float) -> Outline:
    return solve_outline(picture, OutlineSettings(fixed=tuple(Fixed(name, value) for name, value in values.items())))


def related(picture: TracedPicture, what: str, *of: str) -> Outline:
    return solve_outline(picture, OutlineSettings(corrections=(Correction(what, of),)))


def by_id(outline: Outline) -> dict[str, float]:
    return {d.id: d.design for d in outline.dimensions}


PLATE = [polygon([(0, 0), (90, 0), (90, 50), (0, 50)], [6.0, 8.0, 6.0, 8.0]), circle(10, 10, 5.5), circle(80, 10, 5.5),
         circle(10, 40, 5.5), circle(80, 40, 6.6), circle(45, 25, 22),
         polygon([(15, 20), (30, 20), (30, 32), (15, 32)], 2.0)]


@pytest.mark.parametrize("seed", [7, 12, 15, 16])
def test_a_right_value_never_makes_others_worse(seed: int) -> None:
    """A picture so noisy that some design values are wrong.  The true ones: the drawing's own, found by kind beside what was
    measured; each is fixed alone."""
    noisy = trace_picture(rims_of(PLATE, np.random.default_rng(seed), rms=0.06, scale_u=0.0, relative_u=0.003, angle_rad=0.4,
                                  shift=(3.0, 5.0)), OutlineSettings())
    known = {"diameter": (5.5, 6.6, 22.0), "width": (90.0, 50.0, 15.0, 12.0), "radius": (6.0, 8.0, 2.0),
             "distance": (70.0, 30.0, math.hypot(70, 30), math.hypot(35, 15)), "length": (76.0, 36.0, 11.0, 8.0)}
    before = solve_outline(noisy, OutlineSettings())
    truth = {d.id: near for d in before.dimensions if d.kind in known
             for near in known[d.kind] if abs(near - d.measured) < min(0.3, 4.0 * d.u)}
    right = {name for name, value in truth.items() if abs(by_id(before)[name] - value) < 5e-3}
    assert 0.4 * len(truth) < len(right) < len(truth), "the picture must be noisy enough to be mistaken somewhere"
    for name, value in truth.items():
        after = fixed(noisy, **{name: value})
        found = next(d for d in after.dimensions if d.id == name)
        assert (found.origin, found.probability) == ("maker", 1.0) and found.design == pytest.approx(value, abs=1e-6)
        assert not any(note.code.startswith("fixed_") for note in after.notes)
        worse = {other for other in right if abs(by_id(after)[other] - truth[other]) >= 5e-3}
        assert not worse, (name, found.kind, worse)


@pytest.mark.parametrize("kind", ["diameter", "distance", "width", "radius", "length", "angle"])
def test_a_fixed_value_of_every_kind_is_drawn_exactly(picture: TracedPicture, plain: Outline, kind: str) -> None:
    dimension = next(d for d in plain.dimensions if d.kind == kind and d.origin == "inferred")
    value = dimension.design + (0.4 if kind == "angle" else 0.15)
    after = fixed(picture, **{dimension.id: value})
    assert by_id(after)[dimension.id] == pytest.approx(value, abs=1e-6)
    assert next(d for d in after.dimensions if d.id == dimension.id).origin == "maker"
    assert_closed(after)


def test_a_wrong_value_is_drawn_and_told_and_bends_nothing_else(picture: TracedPicture, plain: Outline) -> None:
    width = next(d for d in plain.dimensions if d.kind == "width" and abs(d.measured - 90.0) < 1.0)
    after = fixed(picture, **{width.id: 92.0})
    assert by_id(after)[width.id] == pytest.approx(92.0, abs=1e-6)
    note = next(note for note in after.notes if note.code == "fixed_contradicts")
    figure = re.search(r"fixed is ([\d.]+) mm", note.text)
    assert width.id in note.text and figure and float(figure[1]) == pytest.approx(2.0, abs=0.05)
    before = segments(plain)
    for name, segment in segments(after).items():
        if isinstance(segment, Circle):
            assert segment.radius == before[name].radius
    outer = {segment.id for loop in plain.design if loop.role == "outer" for segment in loop.segments}
    others = {d.id: d.design for d in plain.dimensions if not outer & set(d.of)}
    assert {name: by_id(after)[name] for name in others} == pytest.approx(others, abs=2e-3)
    height = next(d for d in plain.dimensions if d.kind == "width" and abs(d.measured - 50.0) < 1.0)
    assert by_id(after)[height.id] == pytest.approx(height.design, abs=2e-3)
    measured = {d.id: d.measured for d in plain.dimensions}
    assert {d.id: d.measured for d in after.dimensions} == measured, "a designer's number is no reading"
    assert_closed(after)


def test_a_wrong_hole_leaves_its_equals_alone(picture: TracedPicture, plain: Outline) -> None:
    holes = [d for d in plain.dimensions if d.kind == "diameter" and abs(d.design - 5.5) < 1e-6]
    after = fixed(picture, **{holes[0].id: 6.0})
    assert by_id(after)[holes[0].id] == 6.0 and by_id(after)[holes[1].id] == 5.5
    assert any(note.code == "fixed_contradicts" for note in after.notes)
    assert after.datum.origin == pytest.approx(plain.datum.origin, abs=0.01)


def test_a_value_far_off_is_left_out_and_told(picture: TracedPicture, plain: Outline) -> None:
    width = next(d for d in plain.dimensions if d.kind == "width" and abs(d.measured - 90.0) < 1.0)
    after = fixed(picture, **{width.id: 9.0})
    assert by_id(after) == pytest.approx(by_id(plain), abs=2e-3)
    assert any(note.code == "fixed_contradicts" and "left out" in note.text for note in after.notes)


def test_what_excludes_itself_is_not_all_drawn(picture: TracedPicture, plain: Outline) -> None:
    """Two holes fixed at different diameters and told to be equal: the relation is left out, and that is said."""
    one, two = (d for d in plain.dimensions if d.kind == "diameter" and abs(d.design - 5.5) < 1e-6)
    after = solve_outline(picture, OutlineSettings(fixed=(Fixed(one.id, 5.5), Fixed(two.id, 5.8)),
                                                   corrections=(Correction("equal", (one.of[0], two.of[0])),)))
    assert (by_id(after)[one.id], by_id(after)[two.id]) == pytest.approx((5.5, 5.8), abs=1e-6)
    assert any(note.code == "fixed_not_drawn" and "edit 1 (equal)" in note.text for note in after.notes)


def test_an_unknown_dimension_is_refused(picture: TracedPicture) -> None:
    with pytest.raises(UsageError, match="fixed.1.id: found 'd999'"):
        fixed(picture, d999=3.0)


def test_fixed_values_wait_for_a_size() -> None:
    pixels = replace(edges(), unit="px", reference=Reference("none", 1.0, 1.0))
    outline = solve_outline(trace_picture(pixels, OutlineSettings()), OutlineSettings(fixed=(Fixed("d1", 5.5),)))
    assert any(note.code == "fixed_waits" for note in outline.notes)
    assert all(d.origin == "free" for d in outline.dimensions)


def test_what_is_set_free_keeps_its_measured_shape(picture: TracedPicture, plain: Outline) -> None:
    hole = edge_at(plain, 80.0, 40.0)
    after = related(picture, "free", hole)
    dimension = next(d for d in after.dimensions if d.of == (hole,))
    assert dimension.origin == "free" and dimension.probability == 0.0 and hole in after.free
    assert dimension.design == pytest.approx(dimension.measured, abs=0.01)
    others = {d.id for d in plain.dimensions if hole not in d.of}
    assert {name: by_id(after)[name] for name in others} == pytest.approx({name: by_id(plain)[name] for name in others}, abs=1e-6)


def test_equal_holes_are_equal_and_said_so(picture: TracedPicture, plain: Outline) -> None:
    """5.5 and 6.6 are not equal: drawn so, and told."""
    one, two = edge_at(plain, 80.0, 10.0), edge_at(plain, 80.0, 40.0)
    after = related(picture, "equal", one, two)
    a, b = segments(after)[one], segments(after)[two]
    assert isinstance(a, Circle) and isinstance(b, Circle) and a.radius == pytest.approx(b.radius, abs=1e-8)
    assert any(note.code == "edit_contradicts" and "equal" in note.text for note in after.notes)
    assert any(r.kind == "equal_radius" and set(r.of) == {one, two} for r in after.relations)


def _direction(line: object) -> float:
    assert isinstance(line, Line)
    return math.atan2(line.end[1] - line.start[1], line.end[0] - line.start[0])


def test_parallel_and_perpendicular_hold_exactly(picture: TracedPicture, plain: Outline) -> None:
    low, right, slope = edge_at(plain, 45.0, 0.0), edge_at(plain, 90.0, 25.0), edge_at(plain, 15.0, 45.0)
    assert abs(math.sin(_direction(segments(plain)[low]) - _direction(segments(plain)[slope]))) > 0.2
    both = related(picture, "parallel", low, slope)
    assert abs(math.sin(_direction(segments(both)[low]) - _direction(segments(both)[slope]))) < 1e-9
    assert any(note.code == "edit_contradicts" for note in both.notes)
    square = related(picture, "perpendicular", low, right)
    assert abs(math.cos(_direction(segments(square)[low]) - _direction(segments(square)[right]))) < 1e-9


def test_symmetric_holes_mirror_each_other_about_the_datums_axis() -> None:
    """Holes drawn at +-30 but for 0.1 mm: symmetric they mirror exactly, and the rest stays."""
    drawing = [_plate(), circle(-30, 0, 6), circle(30.1, 0.1, 6), circle(0, 15, 4)]
    traced = trace_picture(rims_of(drawing, np.random.default_rng(4), rms=0.01, scale_u=0.0, relative_u=2e-4, angle_rad=0.0,
                                   shift=(0.0, 0.0)), OutlineSettings())
    plain = solve_outline(traced, OutlineSettings())
    left, right = sorted((s for s in segments(plain).values() if isinstance(s, Circle) and s.radius > 2.5),
                         key=lambda hole: hole.center[0])
    after = related(traced, "symmetric", left.id, right.id)
    a, b = segments(after)[left.id], segments(after)[right.id]
    assert isinstance(a, Circle) and isinstance(b, Circle)
    mirrored = min(math.dist((-a.center[0], a.center[1]), b.center), math.dist((a.center[0], -a.center[1]), b.center))
    assert mirrored < 2e-3 and a.radius == pytest.approx(b.radius, abs=1e-8)
    assert any(r.kind == "symmetric" and set(r.of) == {left.id, right.id} for r in after.relations)


def _plate() -> list[tuple]:
    corners = [(-50.0, -25.0), (50.0, -25.0), (50.0, 25.0), (-50.0, 25.0)]
    return [("line", a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]
