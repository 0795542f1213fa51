"""Where loose things are cut: through their axis, towards the clean side, the cut as large as the bodies say."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from afterpart.checks.passage_views import ITEM, views_of
from afterpart.checks.passages import passages_of, picture_name
from afterpart.geometry.chain import polygon_chain
from afterpart.model.assembly import Build, Item
from afterpart.model.case import WayView
from afterpart.model.feature import Bar, Boss, Groove, Rib
from afterpart.model.outline import Circle, Point
from afterpart.model.wishes import AddedBoss
from afterpart.solid.body import Mesh
from tests.checks.loose_cases import INLET, SCREW, block, job, lid, piece

IN = (0.0, 0.0, 1.0)


def seen(build: Build, meshes: dict[str, Mesh], item: str, **tables: object) -> WayView:
    made = job(**tables)
    (view,) = (one for one in views_of(build, made, meshes, passages_of(build, made, meshes)) if one.item == item)
    return view


def area(rings: tuple[tuple[Point, ...], ...]) -> float:
    total = 0.0
    for ring in rings:
        x, y = np.array(ring).T
        total += 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))
    return total


def ring_groove(radius: float) -> Groove:
    chain = (Circle("", (0.0, 0.0), radius),)
    return Groove(chain, chain, chain, 3.6, 2.0, 0.3, 5.0, 2.4, 2.4, 5.0, (0, 0), 5.0, 5.0, "dust", "")


def test_a_screw_is_cut_through_its_axis_towards_the_opening_for_air() -> None:
    """The screw stands at (20, 0), the opening's edge at (10, 0): to the right is towards the opening."""
    view = seen(*lid(), SCREW.name)
    assert view.point == (20.0, 0.0) and view.direction_deg % 360.0 == pytest.approx(180.0)
    assert abs(area(view.thing.rings)) == pytest.approx(3.0 * 8.0 + 5.6 * 2.2, rel=1e-3)
    assert view.width == 5.6 and view.thing.kind == ITEM
    (cover,) = (body for body in view.others if body.name == "cover")
    gaps = sorted(x for ring in cover.rings for x, _ in ring)
    assert np.abs(np.abs(gaps) - 1.7).min() < 2e-3, "the walls of its hole of 3.4"
    assert {body.name for body in view.others} == {"cover", "holder"}


def test_the_frame_holds_the_thing_where_it_comes_to() -> None:
    """Head from -5 down to -7.2, and free for 3: the picture reaches below -10.2."""
    view = seen(*lid(), SCREW.name)
    assert view.low[1] < -7.2 - 3.0 and view.high[1] > 4.0
    assert all(view.low[0] <= s <= view.high[0] and view.low[1] <= z <= view.high[1]
               for body in (view.thing, *view.others) for ring in body.rings for s, z in ring)


def test_outside_the_seal_the_cut_runs_to_the_seal_and_tells_where_the_clean_side_begins() -> None:
    build, meshes = lid(features=(INLET, ring_groove(15.0)))
    view = seen(build, meshes, SCREW.name)
    assert view.direction_deg % 360.0 == pytest.approx(180.0)
    assert view.sealed[0][0] == pytest.approx(5.0, abs=0.05), "the seal lies 5 mm from the axis"


def test_the_opening_is_told_from_above_with_the_largest_ball() -> None:
    view = seen(*lid(), SCREW.name)
    assert view.ball == (pytest.approx(0.0, abs=0.05), pytest.approx(0.0, abs=0.05), pytest.approx(20.0, abs=0.1))
    assert abs(area(view.opening)) == pytest.approx(np.pi * 100.0, rel=4 / 3 * 0.02 / 10), "short by what chords of 0.02 cut off"


def test_a_cord_is_cut_as_the_round_it_is() -> None:
    build, meshes = lid(features=(INLET, ring_groove(15.0)))
    cord = Item("cord", "cord", ((15.0, 0.0, -0.8),), IN, 2.4, 94.2, 2.4, 2.4, IN, ("cover",), 5)
    build = replace(build, assembly=replace(build.assembly, items=(cord,)))
    view = seen(build, meshes, "cord")
    assert view.point == (15.0, 0.0) and abs(area(view.thing.rings)) == pytest.approx(np.pi * 1.2 ** 2, rel=0.02)


def test_bars_lie_where_the_frame_has_them() -> None:
    """One bar of 2.4 across the middle of 40 x 20 leaves windows of 18.8 x 20."""
    way = polygon_chain(((-20.0, -10.0), (20.0, -10.0), (20.0, 10.0), (-20.0, 10.0)))
    frame = piece("clamp_frame", (Bar((0.0, -10.0), (0.0, 10.0), 2.4, 0.0, 3.0), Rib(way, way, 0.0, 3.0, 0.5)), stem="holder")
    foam = (piece("filter_element", height=3.0), block(-25, -15, 0, 25, 15, 3), IN)
    build, meshes = lid(others=(foam,))
    view = seen(replace(build, pieces=(build.pieces[0], frame, *build.pieces[2:])), meshes, "filter_element")
    assert len(view.bars) == 1 and abs(area(view.bars)) == pytest.approx(48.0)
    assert view.ball is not None and view.ball[2] == pytest.approx(18.8, abs=0.05) and abs(view.ball[0]) > 9.0


def test_the_maker_s_own_screw_in_a_boss_is_drawn_by_the_job_s_figures() -> None:
    boss = Boss("post", (-20.0, 0.0), 7.5, 5.0, 11.0, 2.4, 9.0, 8.0, 1)
    build, meshes = lid(features=(INLET, boss))
    view = seen(build, meshes, "screws in bosses on the machine's side", bosses=(AddedBoss("post", (-20.0, 0.0), 6.0, 2.0),))
    assert view.point == (-20.0, 0.0)
    assert abs(area(view.thing.rings)) == pytest.approx(3.0 * 10.0 + 5.6 * 2.2, rel=1e-3)


def test_what_has_no_mesh_has_no_view_and_the_same_case_gives_the_same_views() -> None:
    build, meshes = lid()
    assert views_of(build, job(), {}, ()) == ()
    again, other = lid()
    made = job()
    assert views_of(build, made, meshes, passages_of(build, made, meshes)) == views_of(again, made, other,
                                                                                      passages_of(again, made, other))


def test_a_picture_is_named_by_number_and_thing_in_letters_that_every_system_takes() -> None:
    assert picture_name(3, "ISO 7380-1 M6 x 25 8.8") == "passage_3_iso_7380_1_m6_x_25_8_8.png"
    assert re.fullmatch(r"passage_1_[a-z0-9_]{1,40}\.png", picture_name(1, "../Ä «" + "x" * 300))
    ways = passages_of(lid()[0], job(), lid()[1])
    assert {way.picture for way in ways if way.item == SCREW.name} == {"passage_2_screw_3_x_8.png"}, "after the holder"
