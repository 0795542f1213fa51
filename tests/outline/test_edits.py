"""Corrections of rims: segments changed, parted, joined, dropped and added; ids that stay; what cannot be is refused."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from afterpart.errors import UsageError
from afterpart.model.edges import AskedRim, EdgeMap
from afterpart.model.job import Correction
from afterpart.model.outline import Arc, Circle, Line, Loop, Outline, Segment
from afterpart.model.store import outline_json
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import solve_outline
from afterpart.outline.traced import TracedPicture, trace_picture
from tests.outline.invented import circle, polygon, rims_of

DRAWING = [
    polygon([(0, 0), (90, 0), (90, 50), (30, 50), (0, 40)], [6, 6, 6, 20, 6]),
    circle(10, 10, 5.5),
    circle(80, 10, 5.5),
    circle(80, 40, 6.6),
    polygon([(30, 15), (60, 15), (60, 35), (30, 35)], 3.0),
]
PIXEL = (100.0, 200.0)


def edges(rms: float = 0.01) -> EdgeMap:
    return rims_of(DRAWING, np.random.default_rng(7), rms=rms, scale_u=0.0, relative_u=0.0005, angle_rad=0.2, shift=(9.0, 4.0))


@pytest.fixture(scope="module")
def picture() -> TracedPicture:
    return trace_picture(edges(), OutlineSettings())


@pytest.fixture(scope="module")
def plain(picture: TracedPicture) -> Outline:
    return solve_outline(picture, OutlineSettings())


def corrected(picture: TracedPicture, *rows: Correction) -> Outline:
    return solve_outline(picture, OutlineSettings(corrections=rows))


def segments(outline: Outline) -> dict[str, Segment]:
    return {segment.id: segment for loop in outline.design for segment in loop.segments}


def edge_at(outline: Outline, x: float, y: float) -> str:
    """Id of the design's segment whose middle lies nearest to a place of the drawing's own frame (corner at 0, 0)."""
    def off(segment: Segment) -> float:
        at = (segment.center if isinstance(segment, Circle)
              else tuple(0.5 * (a + b) for a, b in zip(segment.start, segment.end, strict=True)))
        return math.dist(at, (x - centre[0], y - centre[1]))
    centre = _datum(outline)
    return min(segments(outline).values(), key=off).id


def _datum(outline: Outline) -> tuple[float, float]:
    """Where the datum's origin lies in the drawing's own frame: by the hole drawn at (10, 10)."""
    holes = [s for s in segments(outline).values() if isinstance(s, Circle)]
    low = min(holes, key=lambda hole: hole.center[0] + hole.center[1])
    return 10.0 - low.center[0], 10.0 - low.center[1]


def assert_closed(outline: Outline) -> None:
    """Every loop's segments meet end to start, and arcs pass through their ends, to a hair."""
    for loop in (*outline.measured, *outline.design):
        _assert_closed(loop)


def _assert_closed(loop: Loop) -> None:
    if isinstance(loop.segments[0], Circle):
        assert len(loop.segments) == 1
        return
    for one, two in zip(loop.segments, (*loop.segments[1:], loop.segments[0]), strict=True):
        assert math.dist(one.end, two.start) < 1e-6, (one, two)
        if isinstance(one, Arc):
            for end in (one.start, one.end):
                assert math.dist(end, one.center) == pytest.approx(one.radius, abs=2e-3)


def names(outline: Outline) -> dict[str, tuple[str, tuple[str, ...]]]:
    return {d.id: (d.kind, d.of) for d in outline.dimensions}


def test_parted_and_joined_again_is_as_before_to_the_last_byte(picture: TracedPicture, plain: Outline) -> None:
    edge = edge_at(plain, 45.0, 0.0)
    line = segments(plain)[edge]
    place = tuple(0.3 * a + 0.7 * b for a, b in zip(line.start, line.end, strict=True))
    again = corrected(picture, Correction("split", (edge,), at=place), Correction("join", (edge + "a", edge + "b")))
    assert outline_json(again) == outline_json(plain)


def test_halves_of_an_edge_stay_on_one_line_and_sum_to_it(picture: TracedPicture, plain: Outline) -> None:
    edge = edge_at(plain, 45.0, 0.0)
    line = segments(plain)[edge]
    place = tuple(0.4 * a + 0.6 * b for a, b in zip(line.start, line.end, strict=True))
    parted = corrected(picture, Correction("split", (edge,), at=place))
    one, two = segments(parted)[edge + "a"], segments(parted)[edge + "b"]
    assert isinstance(one, Line) and isinstance(two, Line)
    assert math.dist(one.end, place) < 0.3 and one.end == two.start
    both = math.dist(one.start, one.end) + math.dist(two.start, two.end)
    assert both == pytest.approx(math.dist(line.start, line.end), abs=1e-6)
    assert both == pytest.approx(math.dist(one.start, two.end), abs=1e-6)
    assert_closed(parted)
    kept = {name: of for name, of in names(plain).items() if edge not in of[1]}
    assert kept.items() <= names(parted).items()
    widths = {d.id: d.design for d in plain.dimensions if d.kind == "width"}
    assert {d.id: d.design for d in parted.dimensions if d.kind == "width"} == pytest.approx(widths)


def test_a_fillet_made_a_line_is_a_chamfer(picture: TracedPicture, plain: Outline) -> None:
    fillet = edge_at(plain, 88.0, 48.0)
    assert isinstance(segments(plain)[fillet], Arc)
    cut = corrected(picture, Correction("line", (fillet,)))
    chamfer = segments(cut)[fillet]
    assert isinstance(chamfer, Line)
    # the chord that best fits a quarter of R 6 stands within the arc's own rise, 6 (1 - cos 45), of it
    assert 3.0 < math.dist(chamfer.start, chamfer.end) < 8.5
    assert_closed(cut)
    assert any(note.code == "edit_misfit" and fillet in note.text and "mm" in note.text for note in cut.notes)


def test_a_bent_edge_made_a_line_says_by_how_much_it_leaves_the_rim() -> None:
    """A flat arc R 400 over 80 mm rises 2 mm: as a line it leaves its rim by one, and that is said."""
    rise = 400.0 - math.sqrt(400.0**2 - 40.0**2)
    bent = [("line", (0.0, 0.0), (80.0, 0.0)), ("line", (80.0, 0.0), (80.0, 40.0)),
            ("arc", (80.0, 40.0), (0.0, 40.0), (40.0, 40.0 - 400.0 + rise), True), ("line", (0.0, 40.0), (0.0, 0.0))]
    made = rims_of([bent, circle(20, 20, 8), circle(60, 20, 8)], np.random.default_rng(3), rms=0.01, scale_u=0.0, angle_rad=0.1)
    traced = trace_picture(made, OutlineSettings())
    arc = next(s for s in segments(solve_outline(traced, OutlineSettings())).values() if isinstance(s, Arc))
    straight = corrected(traced, Correction("line", (arc.id,)))
    assert isinstance(segments(straight)[arc.id], Line)
    said = next(note.text for note in straight.notes if note.code == "edit_misfit")
    figure = float(said.split("up to ")[1].split(" mm")[0])
    assert 0.3 * rise < figure < 0.8 * rise


def test_a_straight_edge_is_no_arc(picture: TracedPicture, plain: Outline) -> None:
    with pytest.raises(UsageError, match="it is straight"):
        corrected(picture, Correction("arc", (edge_at(plain, 45.0, 0.0),)))


def test_a_loop_made_a_circle_keeps_its_id(picture: TracedPicture, plain: Outline) -> None:
    side = edge_at(plain, 45.0, 15.0)
    made = corrected(picture, Correction("circle", (side,)))
    assert isinstance(segments(made)[side], Circle)
    found = next(d for d in made.dimensions if d.of == (side,))
    assert found.kind == "diameter" and 20.0 < found.measured < 36.0
    assert found.id not in names(plain)
    assert any(note.code == "edit_misfit" for note in made.notes)


def test_two_neighbours_joined_are_one_segment(picture: TracedPicture, plain: Outline) -> None:
    fillet, edge = edge_at(plain, 30.0, 49.0), edge_at(plain, 57.0, 50.0)
    joined = corrected(picture, Correction("join", (edge, fillet)))
    whole = segments(joined)
    assert edge not in whole and fillet not in whole
    assert whole[{f"{edge}_{fillet}", f"{fillet}_{edge}"}.intersection(whole).pop()]
    assert_closed(joined)


def test_a_dropped_opening_is_gone_and_the_rest_stays(picture: TracedPicture, plain: Outline) -> None:
    hole = edge_at(plain, 80.0, 40.0)
    dropped = corrected(picture, Correction("drop", (hole,)))
    assert set(segments(plain)) - set(segments(dropped)) == {hole}
    assert names(dropped).items() <= names(plain).items()
    for name, segment in segments(dropped).items():
        if isinstance(segment, Circle):
            assert segment.radius == pytest.approx(segments(plain)[name].radius, abs=1e-6)


def test_a_hole_dropped_and_added_again_is_the_same_circle() -> None:
    whole = edges()
    asked = replace(whole, asked=(AskedRim(PIXEL, whole.rims[3]),))
    traced = trace_picture(asked, OutlineSettings())
    plain = solve_outline(traced, OutlineSettings())
    hole = edge_at(plain, 80.0, 40.0)
    again = corrected(traced, Correction("drop", (hole,)), Correction("hole", at_px=PIXEL))
    before = next(d for d in plain.dimensions if d.of == (hole,))
    after = next(d for d in again.dimensions if d.of == ("h1",))
    assert after.measured == pytest.approx(before.measured, abs=before.u) and after.design == before.design
    old, new = segments(plain)[hole], segments(again)["h1"]
    assert isinstance(old, Circle) and isinstance(new, Circle)
    assert math.dist(old.center, new.center) < 0.02
    with pytest.raises(UsageError, match=f"drawn as {hole} already"):
        corrected(traced, Correction("hole", at_px=PIXEL))
    with pytest.raises(UsageError, match="edit.1.at_px"):
        corrected(traced, Correction("hole", at_px=(1.0, 2.0)))


def test_later_rows_do_not_renumber_what_earlier_ones_made(picture: TracedPicture, plain: Outline) -> None:
    edge, other = edge_at(plain, 45.0, 0.0), edge_at(plain, 90.0, 25.0)
    rows = []
    for name in (edge, other):
        line = segments(plain)[name]
        rows.append(Correction("split", (name,), at=tuple(0.5 * (a + b) for a, b in zip(line.start, line.end, strict=True))))
    first, both = names(corrected(picture, rows[0])), names(corrected(picture, *rows))
    assert {name: of for name, of in first.items() if other not in of[1]}.items() <= both.items()


def test_a_tangent_junction_is_held(picture: TracedPicture, plain: Outline) -> None:
    fillet, edge = edge_at(plain, 88.0, 48.0), edge_at(plain, 57.0, 50.0)
    made = corrected(picture, Correction("tangent", (fillet, edge)))
    arc, line = segments(made)[fillet], segments(made)[edge]
    assert isinstance(arc, Arc) and isinstance(line, Line)
    along = np.subtract(line.end, line.start) / math.dist(line.start, line.end)
    reach = abs(along[0] * (arc.center[1] - line.start[1]) - along[1] * (arc.center[0] - line.start[0]))
    assert reach == pytest.approx(arc.radius, abs=1e-6)


@pytest.mark.parametrize(("what", "places", "words"), [
    ("drop", [(45.0, 0.0)], "the part's outline"),
    ("line", [(10.0, 10.0)], "a whole circle"),
    ("join", [(45.0, 0.0), (57.0, 50.0)], "two neighbours"),
    ("tangent", [(45.0, 0.0), (45.0, 15.0)], "two neighbours"),
])
def test_what_cannot_be_is_refused_with_its_row(picture: TracedPicture, plain: Outline, what: str,
                                                places: list[tuple[float, float]], words: str) -> None:
    with pytest.raises(UsageError, match=f"edit.1.of: .*{words}"):
        corrected(picture, Correction(what, tuple(edge_at(plain, *place) for place in places)))


def test_an_id_that_is_not_there_is_named_with_those_that_are(picture: TracedPicture, plain: Outline) -> None:
    with pytest.raises(UsageError, match="edit.2.of: found 's99'") as raised:
        corrected(picture, Correction("free", ("c1",)), Correction("line", ("s99",)))
    assert all(name in str(raised.value) for name in segments(plain))


def test_a_split_at_an_end_is_refused(picture: TracedPicture, plain: Outline) -> None:
    line = segments(plain)[edge_at(plain, 45.0, 0.0)]
    with pytest.raises(UsageError, match="edit.1.at"):
        corrected(picture, Correction("split", (line.id,), at=line.start))
