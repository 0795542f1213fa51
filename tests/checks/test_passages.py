"""Ways followed on plain solids, whose lengths follow from where their faces lie."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import pytest

from afterpart.checks.passages import (
    BOSS_SCREWS,
    STEP,
    Passage,
    bars_of,
    boss_screws,
    passages_of,
    sealed_area,
    smallest_width,
    widest_gap,
)
from afterpart.geometry.chain import polygon_chain
from afterpart.model.assembly import Item
from afterpart.model.feature import Bar, Boss, Groove, Rib
from afterpart.model.outline import Circle
from afterpart.model.wishes import AddedBoss
from tests.checks.loose_cases import INLET, SCREW, block, job, lid, piece

OUT, IN = (0.0, 0.0, -1.0), (0.0, 0.0, 1.0)
NEEDED = -5.0 + 8.0 - 0.0
"""The screw's tip against the lowest face of the holder it is screwed into."""


def one(passages: tuple[Passage, ...], item: str, along: str) -> Passage:
    found = [way for way in passages if way.item == item and way.along == along]
    assert len(found) == 1, passages
    return found[0]


def groove(radius: float) -> Groove:
    ring = (Circle("", (0.0, 0.0), radius),)
    return Groove(ring, ring, ring, 3.6, 2.0, 0.3, 5.0, 0.0, 2.4, 5.0, (0, 0), 5.0, 5.0, "dust", "")


def test_a_screw_from_outside_backs_out_freely_and_ends_outside() -> None:
    way = one(passages_of(*_args(lid())), SCREW.name, "back")
    assert way.is_open and way.ends == "outside"
    assert way.room == pytest.approx(NEEDED) and way.size == pytest.approx(NEEDED)


@pytest.mark.parametrize("gap", [0.6, 1.0, 2.0, 2.9])
def test_a_guard_nearer_than_the_thread_is_long_keeps_the_screw(gap: float) -> None:
    """The head stands from -5 to -7.2; the guard's inner face lies `gap` beyond it."""
    top = -5.0 - 2.2 - gap
    guard = (piece("guard"), block(10, -10, top - 3, 30, 10, top), OUT)
    way = one(passages_of(*_args(lid(others=(guard,)))), SCREW.name, "back")
    assert not way.is_open and way.by == "guard"
    assert gap - STEP <= way.room <= gap


def test_a_guard_farther_than_the_thread_is_long_keeps_nothing() -> None:
    top = -5.0 - 2.2 - NEEDED - 0.1
    guard = (piece("guard"), block(10, -10, top - 3, 30, 10, top), OUT)
    assert one(passages_of(*_args(lid(others=(guard,)))), SCREW.name, "back").is_open


def test_a_soft_thing_keeps_nothing() -> None:
    foam = (piece("filter_element"), block(10, -10, -12, 30, 10, -7.2), OUT)
    assert one(passages_of(*_args(lid(others=(foam,)))), SCREW.name, "back").is_open


@pytest.mark.parametrize(("bore", "is_open"), [(3.4, False), (5.5, False), (5.7, True)])
def test_a_hole_wider_than_the_head_lets_the_screw_through(bore: float, is_open: bool) -> None:
    way = one(passages_of(*_args(lid(bore))), SCREW.name, "on")
    assert (way.is_open, way.room, way.size, way.ends) == (is_open, bore, 5.6, "clean side")


def test_outside_the_seal_the_machine_s_face_shuts_the_hole() -> None:
    for radius, by in ((15.0, "the machine's face"), (25.0, "its head")):
        build, meshes = lid(5.7, features=(groove(radius),))
        way = one(passages_of(build, job(), meshes), SCREW.name, "on")
        assert way.by == by and way.is_open == (radius > 20)


def test_a_screw_put_in_from_the_machine_s_side_comes_out_there() -> None:
    inside = replace(SCREW, at=((20.0, 0.0, 4.0),), axis=OUT, comes_from=IN, through=("holder", "cover"))
    way = one(passages_of(*_args(lid(screw=inside))), SCREW.name, "back")
    assert way.is_open and way.ends == "clean side"


def test_a_washer_is_kept_by_the_head_over_it() -> None:
    build, meshes = lid()
    bolt = replace(SCREW, kind="bolt", name="bolt", at=((20.0, 0.0, -6.0),), through=("cover",))
    washer = Item("washer", "washer", ((20.0, 0.0, -5.0),), IN, 3.2, 1.0, 7.0, 1.0, OUT, (), 4)
    build = replace(build, assembly=replace(build.assembly, items=(bolt, washer)))
    found = passages_of(build, job(), meshes)
    assert one(found, "washer", "back").by == "bolt" and not one(found, "washer", "back").is_open
    assert one(found, "bolt", "back").size == pytest.approx(-6.0 + 8.0), "the thread in the machine begins at the joint"


def test_the_room_above_keeps_what_is_too_deep_in_its_seat() -> None:
    """A block from 2 below the joint to 4 above it must rise by 2 to leave its seat."""
    sunk = (piece("insert block", stem="sunk"), block(-39, -39, -2, -35, -35, 4), IN)
    build, meshes = lid(others=(sunk,))
    meshes["cover"] = block(-30, -30, 0, 40, 40, 5)
    for above, free in ((9.0, 2.0), (5.0, 1.0)):
        way = one(passages_of(build, job(heights={"room above": above}), meshes), "sunk", "back")
        assert way.room == pytest.approx(free) and way.size == pytest.approx(2.0) and way.is_open == (free >= 2.0)


def test_nothing_falls_in_with_the_air_past_an_element() -> None:
    build, meshes = lid()
    way = one(passages_of(build, job(), meshes), SCREW.name, "air")
    assert way.is_open and way.room == pytest.approx(20.0, abs=0.1), "an opening of 20 against a head of 5.6"
    foam = (piece("filter_element", height=3.0), block(-12, -12, 0, 12, 12, 3), IN)
    way = one(passages_of(*_args(lid(others=(foam,)))), SCREW.name, "air")
    assert not way.is_open and way.by == "the filter element"


def test_the_largest_ball_past_bars() -> None:
    """40 x 20: a ball of 20; one bar of 2.4 across the middle leaves windows of 18.8 x 20, two leave (40 - 4.8) / 3."""
    opening = polygon_chain(((0.0, 0.0), (40.0, 0.0), (40.0, 20.0), (0.0, 20.0)))

    def bars(count: int) -> tuple[Bar, ...]:
        places = [(40.0 - 2.4 * count) / (count + 1) * (i + 1) + 2.4 * i + 1.2 for i in range(count)]
        return tuple(Bar((x, 0.0), (x, 20.0), 2.4, 0.0, 3.0) for x in places)

    for count, free in ((0, 20.0), (1, 18.8), (2, 35.2 / 3), (3, 32.8 / 4)):
        assert widest_gap(opening, bars(count)) == pytest.approx(free, abs=0.05)


def test_bars_are_found_with_the_opening_they_cross() -> None:
    build, _ = lid()
    bar, way = Bar((0.0, -5.0), (0.0, 5.0), 2.4, 0.0, 3.0), polygon_chain(((-9.0, -5.0), (9.0, -5.0), (9.0, 5.0), (-9.0, 5.0)))
    frame = piece("clamp_frame", (bar, Rib(way, way, 0.0, 3.0, 0.5)), stem="holder")
    assert bars_of(replace(build, pieces=(build.pieces[0], frame))) == ((bar,), way)
    assert bars_of(build) == ((), ()) and sealed_area(build) is None


@pytest.mark.parametrize(("above", "free"), [(None, 8.0), (20.0, 8.0), (15.0, 4.8), (3.0, 0.0)])
def test_a_screw_in_a_boss_on_the_machine_s_side_backs_out_as_far_as_the_room_above_lets_it(above: float | None,
                                                                                           free: float) -> None:
    """Boss to 11 in a cover of 5: its foot lies 6 above the joint; 2 of something and a head of 2.2 stand on it, 10.2 in all."""
    boss = Boss("post", (-20.0, 0.0), 7.5, 5.0, 11.0, 2.4, 9.0, 8.0, 1)
    build, meshes = lid(features=(INLET, boss))
    made = job(heights={"room above": above} if above else {}, bosses=(AddedBoss("post", (-20.0, 0.0), 6.0, 2.0),))
    way = one(passages_of(build, made, meshes), BOSS_SCREWS, "back")
    assert way.room == pytest.approx(free) and way.size == 8.0 and way.is_open == (free >= 8.0) and way.ends == "clean side"


def test_a_boss_that_an_item_s_screw_fills_is_no_boss_of_its_own() -> None:
    build, _ = lid(features=(INLET, Boss("taken", (20.0, 0.0), 7.5, 5.0, 11.0, 2.4, 9.0, 8.0, 1)))
    assert boss_screws(build) == ()


def test_the_smallest_width_is_that_of_no_worse_posture() -> None:
    washer = Item("washer", "w", ((0, 0, 0),), IN, 6.4, 1.6, 12.0, 1.6, OUT, (), 1)
    assert smallest_width(SCREW) == 5.6 and smallest_width(washer) == 1.6
    assert smallest_width(replace(washer, kind="cord", diameter=2.65)) == 2.65


def _args(made: tuple) -> tuple:
    return made[0], job(), made[1]


def test_rows_of_one_name_are_followed_each_in_its_own_place() -> None:
    """Two sleeves that stand as two rows of one name: each meets the guard over itself, not the one over the other."""
    sleeves = tuple(Item("sleeve", "sleeve", ((x, 0.0, -5.0),), IN, 6.6, 5.0, 9.0, 5.0, OUT, (), 4) for x in (-20.0, 20.0))
    guard = (piece("guard"), block(10, -10, -12, 30, 10, -6.0), OUT)
    build, meshes = lid(9.2, others=(guard,))
    build = replace(build, assembly=replace(build.assembly, items=sleeves))
    del meshes["holder"]
    meshes["cover"] = block(-40, 20, 0, 40, 40, 5)
    free, kept = (way for way in passages_of(build, job(), meshes) if way.along == "back")
    assert (free.at[0], free.is_open) == (-20.0, True)
    assert (kept.at[0], kept.is_open, kept.by) == (20.0, False, "guard")
