"""What the design says of its dimensions: settled ones, free ones, the next best value, and questions to the maker."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from afterpart.model.job import Reading
from afterpart.model.outline import Dimension, Line, Outline
from afterpart.outline.assembled import far_from_measured
from afterpart.outline.frame import Values, find_lattice
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from afterpart.outline.verdicts import SHARPER, sharpened
from tests.outline.invented import circle, polygon, rims_of

SQUARE = [polygon([(0, 0), (90, 0), (90, 50), (0, 50)], 6.0), circle(10, 10, 5.5), circle(80, 10, 5.5), circle(45, 25, 22)]


def outline_of(loops: list, seed: int = 5) -> Outline:
    made = rims_of(loops, np.random.default_rng(seed), rms=0.012, scale_u=0.0, relative_u=0.002)
    return recover_outline(made, OutlineSettings())


def only(outline: Outline, kind: str, near: float) -> Dimension:
    return min((d for d in outline.dimensions if d.kind == kind), key=lambda d: abs(d.measured - near))


def test_a_settled_dimension_is_sure_and_names_the_next_best() -> None:
    width = only(outline_of(SQUARE), "width", 90.0)
    assert width.origin == "inferred" and width.probability > 0.9
    assert width.design == pytest.approx(90.0, abs=1e-6)
    assert width.runner_up is None or abs(width.runner_up - 90.0) > 0.002


def test_what_is_stated_is_sharper_above_one_half_and_never_crosses_it() -> None:
    """Odds of 9 to 1 become 9^1.5 = 27 to 1; certain, even and improbable ones stay; the order of any two stays."""
    assert SHARPER == 1.5 and sharpened(0.9) == pytest.approx(27.0 / 28.0, rel=1e-12)
    assert [sharpened(p) for p in (0.0, 0.2, 0.5, 1.0)] == [0.0, 0.2, 0.5, 1.0]
    stated = [sharpened(p) for p in np.linspace(0.0, 1.0, 101)]
    assert stated == sorted(stated) and len(set(stated)) == 101
    assert all(s >= p for p, s in zip(np.linspace(0.0, 1.0, 101), stated, strict=True))


def test_a_dimension_with_room_left_is_free() -> None:
    """One edge at an odd place: what ends at it is free, though its other end is settled; the opposite width is not."""
    loops = [polygon([(0, 0), (90.373, 0), (90.373, 50), (0, 50)], 6.0), *SQUARE[1:]]
    outline = outline_of(loops)
    assert only(outline, "width", 90.373).origin == "free" and only(outline, "width", 90.373).probability == 0.0
    assert only(outline, "width", 50.0).origin == "inferred"


def test_contributions_make_up_the_uncertainty() -> None:
    """The listed causes, root sum of squares, give u but for what is too small to list; the expanded one is about twice it."""
    for d in outline_of(SQUARE).dimensions:
        listed = sum(share.u**2 for share in d.contributions) ** 0.5
        assert 0.95 * d.u <= listed <= 1.001 * d.u
        assert 1.9 * d.u < d.u95 < 2.6 * d.u
        assert list(d.contributions) == sorted(d.contributions, key=lambda share: -share.u)


def test_scale_of_the_reference_leads_for_long_dimensions_only() -> None:
    outline = outline_of(SQUARE)
    assert only(outline, "width", 90.0).contributions[0].cause == "scale of the reference"
    assert only(outline, "diameter", 5.5).contributions[0].cause != "scale of the reference"


def test_lines_in_line_and_square_are_relations() -> None:
    """A notch in the lower edge leaves two stretches of one line."""
    loops = [polygon([(0, 0), (30, 0), (30, 10), (60, 10), (60, 0), (90, 0), (90, 50), (0, 50)], 0.0), circle(45, 30, 12)]
    outline = outline_of(loops)
    lines = {s.id: s for loop in outline.design for s in loop.segments if isinstance(s, Line)}
    collinear = [r for r in outline.relations if r.kind == "collinear"]
    assert collinear
    for relation in collinear:
        a, b = (np.array([*lines[name].start, *lines[name].end]).reshape(2, 2) for name in relation.of)
        direction = (a[1] - a[0]) / np.hypot(*(a[1] - a[0]))
        assert np.abs((b - a[0]) @ np.array([-direction[1], direction[0]])).max() < 1e-6
    for relation in (r for r in outline.relations if r.kind == "perpendicular"):
        a, b = (np.subtract(lines[name].end, lines[name].start) for name in relation.of)
        assert abs(float(a @ b)) < 1e-6 * np.hypot(*a) * np.hypot(*b)


@pytest.mark.parametrize(("kind", "measured", "design", "asked"), [
    ("diameter", 6.45, 6.6, False), ("diameter", 6.44, 6.6, True),  # M6 medium: play 0.6, a quarter of it 0.15
    ("diameter", 21.85, 22.0, False), ("distance", 50.21, 50.0, True), ("distance", 50.19, 50.0, False),
    ("angle", 50.3, 50.0, False),
])
def test_the_part_is_asked_about_where_the_design_leaves_it(kind: str, measured: float, design: float, asked: bool) -> None:
    notes = far_from_measured("d3", kind, measured, design)
    assert [note.code for note in notes] == (["design_far"] if asked else [])
    assert all("d3" in note.text and "--reading d3=" in note.text for note in notes)


def test_two_parts_share_the_pictures_errors() -> None:
    """A reading of the first part sharpens the second."""
    made = rims_of(SQUARE, np.random.default_rng(5), rms=0.012, scale_u=0.0, relative_u=0.002)
    away = tuple(replace(rim, points=rim.points + np.array([150.0, 0.0]), part=2) for rim in made.rims)
    both = replace(made, rims=(*made.rims, *away))
    from_picture = recover_outline(both, OutlineSettings())
    first = only(from_picture, "width", 90.0)
    second = [d for d in from_picture.dimensions if d.kind == "width" and abs(d.measured - 90.0) < 0.5 and d.id != first.id][0]
    after = recover_outline(both, OutlineSettings(readings=(reading_of(first),)))
    assert next(d for d in after.dimensions if d.id == second.id).u < 0.5 * second.u


def reading_of(d: Dimension) -> Reading:
    return Reading(d.id, round(d.measured, 2), 0.02)


def test_the_year_tips_the_unit_system_only_where_the_part_leaves_it_open() -> None:
    """One size of 12.7 mm (half an inch) with 0.1 mm of doubt: an old part makes the inch likelier; a part full of whole
    millimetres stays metric whatever its year."""
    few = Values(*(np.zeros(0),) * 4, np.array([12.66, 25.44]), np.array([0.1, 0.1]))

    def inches(values: Values, year: int | None) -> bool:
        return find_lattice(values, 0.001, 0.06, "unknown", year).profile.system == "inch"

    many = Values(np.array([0.0, 31.0, 47.0, 80.0]), np.full(4, 0.02), np.array([0.0, 17.0, 43.0]), np.full(3, 0.02),
                  np.array([7.0, 11.0]), np.full(2, 0.02))
    assert not inches(many, None) and not inches(many, 1950)
    old, new = (find_lattice(few, 0.001, 0.06, "unknown", year).evidence for year in (1950, 1990))
    assert old >= new and find_lattice(few, 0.001, 0.06, "unknown", None).evidence == new
