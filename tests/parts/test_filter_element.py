"""The table of cuts on seats whose answers are known, which row is chosen, and the element made of it.

Areas by hand: a rectangle of 100 x 60 less what a cut takes; the regular octagon in a circle 2 sqrt(2) r^2 and the square 2 r^2.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import dataclasses
import math

import pytest
from shapely.geometry import Point, Polygon

from afterpart.errors import JobError
from afterpart.geometry.bar_layout import BarRule
from afterpart.model.feature import CutRow, Seat
from afterpart.model.piece import Add, Prism
from afterpart.model.wishes import FilterWish
from afterpart.parts.filter_element import blank_size, chosen_row, cut_table, make_element
from tests.parts.filter_seats import BOSS, CORNERS, box_with_bosses, box_with_slanted_corner, round_seat, seat_of

LEAST = 1e-3
PLAIN = FilterWish()


@pytest.fixture(scope="module")
def disc() -> Seat:
    return round_seat()


@pytest.fixture(scope="module")
def disc_rows(disc: Seat) -> tuple[CutRow, ...]:
    return cut_table(disc, PLAIN)


def row_of(rows: tuple[CutRow, ...], cuts: int, form: str) -> CutRow:
    row, = (r for r in rows if (r.cuts, r.form) == (cuts, form))
    return row


def assert_table_holds_together(rows: tuple[CutRow, ...], seat: Seat) -> None:
    region = Polygon(seat.region)
    rectangle = rows[0]
    assert (rectangle.cuts, rectangle.form, rectangle.gain, rectangle.pressure_ratio) == (0, "rectangle", 0.0, 1.0)
    assert sum(row.chosen for row in rows) == 1
    assert [row.cuts for row in rows] == sorted(row.cuts for row in rows)
    for row in rows:
        polygon = Polygon(row.corners)
        assert region.buffer(1e-6).covers(polygon)
        assert len(row.corners) == 4 + row.cuts, "every cut of the table leaves a side"
        assert row.area == pytest.approx(polygon.area, rel=1e-9)
        assert row.gain == pytest.approx(row.area / rectangle.area - 1, abs=1e-9)
        assert row.gap == pytest.approx(1 - polygon.area / region.area, abs=1e-9)
        assert row.open_area < row.area
        assert row.pressure_ratio == pytest.approx(rectangle.open_area / row.open_area, rel=1e-9)


def test_a_rectangular_seat_needs_no_cut() -> None:
    seat = box_with_bosses(0)
    row, = cut_table(seat, PLAIN)
    assert row.chosen and row.area == pytest.approx(6000.0, rel=LEAST)
    # corners of the air's way are rounded by 3 mm
    assert row.open_area == pytest.approx(90 * 50 - (4 - math.pi) * 3**2, rel=LEAST)
    assert row.gap == pytest.approx(0.0, abs=LEAST)


def test_a_slanted_corner_is_one_cut_and_fills_the_seat() -> None:
    seat = box_with_slanted_corner(20.0)
    rows = cut_table(seat, PLAIN)
    assert_table_holds_together(rows, seat)
    assert [(r.cuts, r.form) for r in rows] == [(0, "rectangle"), (1, "corners cut")], "no row that gains nothing"
    assert rows[1].area == pytest.approx(6000 - 200, rel=LEAST)
    assert rows[1].chosen


def test_four_round_bosses_cost_least_as_four_cuts() -> None:
    """Each cut is tangent to its boss at 45 degrees: legs 8 sqrt 2, area 64."""
    seat = box_with_bosses(4)
    rows = cut_table(seat, PLAIN)
    assert_table_holds_together(rows, seat)
    four = row_of(rows, 4, "corners cut")
    assert four.area == pytest.approx(6000 - 4 * 64, rel=LEAST)
    assert four.area <= 6000 - 4 * 64, "never larger than what the true, round bosses leave"
    for corner in CORNERS:
        assert Polygon(four.corners).distance(Point(corner)) >= BOSS


def test_round_seat_gives_the_regular_polygons(disc: Seat, disc_rows: tuple[CutRow, ...]) -> None:
    assert_table_holds_together(disc_rows, disc)
    for cuts in range(1, 5):
        k = 4 + cuts
        best = max((r for r in disc_rows if r.cuts == cuts), key=lambda r: r.area)
        truth = k / 2 * 40**2 * math.sin(2 * math.pi / k)
        assert truth * (1 - 2 * LEAST) <= best.area <= truth
    assert disc_rows[0].area == pytest.approx(2 * 40**2, rel=2 * LEAST)


def test_bars_come_off_the_open_area() -> None:
    """90 x 50 open, bars of 2.4 with at most 25 between: ceil((90 - 25) / 27.4) = 3, each 50 long."""
    seat = box_with_bosses(0)
    plain, = cut_table(seat, PLAIN)
    barred, = cut_table(seat, PLAIN, BarRule(25.0, 2.4, 3.0))
    assert plain.open_area - barred.open_area == pytest.approx(3 * 2.4 * 50, rel=1e-3)
    crossed, = cut_table(seat, PLAIN, BarRule(25.0, 2.4, 1.5))
    # bars 1.5 high may be 30 long: one crossing bar, 90 long, over the three
    assert barred.open_area - crossed.open_area == pytest.approx(2.4 * 90 - 3 * 2.4**2, rel=1e-3)


def test_velocity_is_flow_over_open_area(disc: Seat) -> None:
    """36 m3/h is 0.01 m3/s; a square of side 56.57 with 5 mm of rim is open over 46.57 mm square: 4.61 m/s."""
    rows = cut_table(disc, dataclasses.replace(PLAIN, flow_m3_per_h=36.0))
    side = 40 * math.sqrt(2) - 10
    assert rows[0].face_velocity_m_per_s == pytest.approx(0.01 / (side**2 * 1e-6), rel=5e-3)
    for row in rows:
        assert row.face_velocity_m_per_s == pytest.approx(0.01 / (row.open_area * 1e-6), rel=1e-9)


def test_one_cut_is_taken_only_from_three_percent() -> None:
    assert chosen_row(cut_table(box_with_slanted_corner(20.0), PLAIN)).cuts == 1
    small = cut_table(box_with_slanted_corner(2.0), PLAIN)
    assert max(r.gain for r in small) < 0.03 and chosen_row(small).cuts == 0


def test_the_limit_asks_for_the_fewest_further_cuts_that_meet_it(disc: Seat, disc_rows: tuple[CutRow, ...]) -> None:
    """Limits set between the open areas of the table itself."""
    flow = 36.0
    speeds = [0.01 / (r.open_area * 1e-6) for r in disc_rows]
    for i, row in enumerate(disc_rows):
        if row.cuts == 0 or speeds[i] >= min(speeds[:i]) - 1e-6:
            continue
        limit = (speeds[i] + min(speeds[:i])) / 2
        chosen = chosen_row(cut_table(disc, dataclasses.replace(PLAIN, flow_m3_per_h=flow, face_velocity_limit_m_per_s=limit)))
        assert chosen.face_velocity_m_per_s is not None and chosen.face_velocity_m_per_s <= limit
        assert chosen.cuts == min(r.cuts for r, v in zip(disc_rows, speeds, strict=True) if v <= limit)


def test_a_limit_that_nothing_meets_takes_the_largest_and_says_so(disc: Seat) -> None:
    wish = dataclasses.replace(PLAIN, flow_m3_per_h=36.0, face_velocity_limit_m_per_s=0.1)
    rows = cut_table(disc, wish)
    row = chosen_row(rows)
    assert row.open_area == max(r.open_area for r in rows)
    notes = {n.code: n.text for n in make_element(disc, row, wish, "lid", "A").notes}
    assert "0.1 m/s" in notes["face_velocity_above_limit"] and "largest" in notes["face_velocity_above_limit"]


def test_a_limit_without_a_flow_is_said(disc: Seat, disc_rows: tuple[CutRow, ...]) -> None:
    wish = dataclasses.replace(PLAIN, face_velocity_limit_m_per_s=1.0)
    assert "flow_not_told" in [n.code for n in make_element(disc, disc_rows[0], wish, "lid", "A").notes]


def test_the_makers_number_of_cuts_is_taken() -> None:
    seat = box_with_slanted_corner(20.0)
    assert chosen_row(cut_table(seat, dataclasses.replace(PLAIN, cuts=0))).cuts == 0
    with pytest.raises(JobError, match=r"filter\.cuts: found 3, expected one of 0, 1"):
        cut_table(seat, dataclasses.replace(PLAIN, cuts=3))


@pytest.mark.parametrize(("change", "words"), [
    ({"rim": 31.0}, r"filter\.rim: found 31"), ({"rim": -1.0}, r"filter\.rim: found -1"),
    ({"thickness": 0.0}, r"filter\.thickness: found 0"), ({"flow_m3_per_h": 0.0}, r"filter\.flow_m3_per_h: found 0"),
    ({"face_velocity_limit_m_per_s": -2.0}, r"filter\.face_velocity_limit_m_per_s: found -2")])
def test_impossible_wishes_name_their_key(change: dict[str, float], words: str) -> None:
    with pytest.raises(JobError, match=words):
        cut_table(box_with_bosses(0), dataclasses.replace(PLAIN, **change))


def test_a_seat_too_small_for_its_chords_is_refused() -> None:
    with pytest.raises(JobError, match="no element with straight sides"):
        cut_table(seat_of(Polygon([(0, 0), (10, 0), (10, 0.015), (0, 0.015)])), PLAIN)


def test_the_element_is_the_polygon_as_thick_as_the_foam(disc: Seat, disc_rows: tuple[CutRow, ...]) -> None:
    row = chosen_row(disc_rows)
    element = make_element(disc, row, dataclasses.replace(PLAIN, thickness=12.0), "lid", "C")
    step, = element.steps
    assert isinstance(step, Add)
    prism, = step.prisms
    assert isinstance(prism, Prism) and (prism.bottom, prism.top, prism.openings) == (0.0, 12.0, ())
    assert tuple(s.start for s in prism.outer) == row.corners  # type: ignore[union-attr]
    assert (element.kind, element.material, element.print_time.minutes, element.through_holes) == (
        "filter_element", "foam", 0.0, 0)
    assert element.print_time.how == "cut, not printed"
    assert "oil" in {n.code: n.text for n in element.notes}["element_foam"]


def test_an_element_of_another_seat_is_refused(disc_rows: tuple[CutRow, ...]) -> None:
    with pytest.raises(JobError, match="leaves the seat"):
        make_element(box_with_bosses(0), disc_rows[0], PLAIN, "lid", "A")


def test_blank_size_of_a_turned_rectangle() -> None:
    c, s = math.cos(0.3), math.sin(0.3)
    corners = tuple((c * x - s * y, s * x + c * y) for x, y in ((0, 0), (70, 0), (70, 40), (0, 40)))
    assert blank_size(corners) == pytest.approx((70.0, 40.0), abs=1e-9)
