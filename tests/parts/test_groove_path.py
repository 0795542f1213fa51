"""Where a groove runs: exact parallels, corners eased, round the bolts or inside them, lands measured with their places."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from afterpart.errors import JobError
from afterpart.geometry.chain import (
    chain_area,
    chain_length,
    chain_points,
    contains,
    distance_to_chain,
    is_inside,
    require_closed,
)
from afterpart.model.feature import Chain, Hole
from afterpart.model.outline import Circle, Line
from afterpart.model.wishes import AddedHole, Change, CoverWish, RoleChoice, SealWish, Wishes
from afterpart.parts.groove import lay_groove
from afterpart.parts.groove_land import Obstacle, edge_of_cover, lands, obstacles_of
from afterpart.parts.groove_path import (
    KEPT_LAND,
    around_bolts,
    bends,
    centre_line,
    channel_path,
    departure,
    eased,
    least_inset,
    rim_of,
    walls_of,
)
from tests.parts.drawings import gauge_lid, hole, outline_of, rounded_rectangle
from tests.parts.lids import bolts_of, inlet_cover, plain_lid, pump_lid, with_channel


def square(half: float) -> Chain:
    corners = ((-half, -half), (half, -half), (half, half), (-half, half))
    return tuple(Line(f"s{k}", a, corners[(k + 1) % 4]) for k, a in enumerate(corners))


def test_the_middle_of_a_recovered_channel_lies_half_way_between_its_walls() -> None:
    lid = pump_lid()
    path = channel_path(lid)
    outer, inner = (next(loop.segments for loop in lid.design if loop.wall == w) for w in ("outer", "inner"))
    points = chain_points(path.centre)
    assert path.width == pytest.approx(3.8, abs=1e-3) and path.depth == 2.0
    assert np.allclose(distance_to_chain(points, outer), 1.9, atol=1e-3)
    assert np.allclose(distance_to_chain(points, inner), 1.9, atol=1e-3)


@pytest.mark.parametrize("offset", [6.0, 11.25, 19.0])
def test_a_path_inside_the_outer_edge_is_its_exact_parallel(offset: float) -> None:
    lid = gauge_lid()
    path = centre_line(lid, SealWish(path="outline", offset=offset), 3.0, 1.0, ())
    rim = rim_of(lid).segments
    require_closed(path.centre)
    assert np.allclose(distance_to_chain(chain_points(path.centre), rim), offset, atol=2e-9)
    assert contains(rim, path.centre)


def test_a_path_round_an_opening_is_its_exact_parallel_and_surrounds_it() -> None:
    window = rounded_rectangle(-20, -12, 20, 12, 4, "opening", 30)
    lid = outline_of((rounded_rectangle(-60, -40, 60, 40, 8, "outer", 1), window))
    path = centre_line(lid, SealWish(path="s33", offset=7.5), 3.0, 1.0, ())
    assert np.allclose(distance_to_chain(chain_points(path.centre), window.segments), 7.5, atol=2e-9)
    assert chain_length(path.centre) == pytest.approx(2 * (32 + 16) + math.tau * 11.5, abs=1e-9)
    assert contains(path.centre, window.segments)


def test_the_least_inset_keeps_exactly_the_wanted_land_to_the_farthest_bolt() -> None:
    lid = plain_lid(holes=((0.0, 41.0), (30.0, 43.0), (-60.0, 0.0)))
    bolts, width = bolts_of(lid, "M5", 5.5), 3.8
    inset = least_inset(rim_of(lid).segments, width, bolts)
    assert inset == pytest.approx(10 + 2.75 + KEPT_LAND + width / 2)
    outer, inner = walls_of(centre_line(lid, SealWish(path="outline"), width, 1.0, bolts).centre, width, "seal.path")
    found = lands(outer, inner, obstacles_of(lid, Wishes(), bolts))
    assert found.outside is not None and found.outside.width == pytest.approx(KEPT_LAND, abs=1e-9)
    assert found.outside.beside == "bolt hole c3" and found.hits == () and found.inside is None
    assert found.outside.at == pytest.approx((-60 + 2.75 + KEPT_LAND, 0.0), abs=1e-9)


def test_walls_stand_half_a_width_from_the_centre_line() -> None:
    centre = channel_path(pump_lid()).centre
    outer, inner = walls_of(centre, 5.0, "seal.path")
    for wall in (outer, inner):
        assert np.allclose(distance_to_chain(chain_points(wall), centre), 2.5, atol=1e-9)
    assert contains(outer, centre) and contains(centre, inner)
    assert chain_area(outer) - chain_area(inner) == pytest.approx(5.0 * chain_length(centre), rel=1e-12)


def test_easing_a_square_cuts_four_corners_and_nothing_else() -> None:
    """Area (2a)^2 - (4 - pi) r^2; the corner itself moves by (sqrt 2 - 1) r."""
    made = eased(square(30), 8.0, "seal.cord")
    require_closed(made)
    assert chain_area(made) == pytest.approx(3600 - (4 - math.pi) * 64, abs=1e-9)
    assert departure(made, square(30)) == pytest.approx((math.sqrt(2) - 1) * 8, abs=1e-6)
    assert min(bend.radius for bend in bends(made, 0.0)) == pytest.approx(8.0, abs=1e-9)


def test_easing_rounds_hollow_corners_too() -> None:
    """An L of three squares of 40: each of five outward corners loses (1 - pi/4) r^2, the hollow one gains as much."""
    points = ((0, 0), (80, 0), (80, 40), (40, 40), (40, 80), (0, 80))
    chain = tuple(Line("", points[k], points[(k + 1) % 6]) for k in range(6))
    made = eased(chain, 6.0, "seal.cord")
    assert chain_area(made) == pytest.approx(4800 - 4 * (1 - math.pi / 4) * 36, abs=1e-8)
    assert min(bend.radius for bend in bends(made, 0.0)) == pytest.approx(6.0, abs=1e-9)


def test_a_path_that_is_round_enough_stays_as_it_is() -> None:
    centre = channel_path(pump_lid()).centre
    assert departure(eased(centre, 9.0, "seal.cord"), centre) < 1e-9
    assert eased((Circle("c", (1.0, 2.0), 9.0),), 9.0, "seal.cord") == (Circle("c", (1.0, 2.0), 9.0),)


@pytest.mark.parametrize(("chain", "word"), [(square(5), "vanishes"), ((Circle("c", (0.0, 0.0), 4.0),), "vanishes")])
def test_a_ring_too_small_for_its_corners_is_refused_with_key_and_place(chain: Chain, word: str) -> None:
    with pytest.raises(JobError, match=rf"^seal\.cord: .*{word}; the tightest corner is at \("):
        eased(chain, 8.0, "seal.cord")


def test_a_dumbbell_falls_apart_when_its_waist_is_narrower_than_the_bends() -> None:
    points = ((-40, -20), (-10, -20), (-10, -3), (10, -3), (10, -20), (40, -20),
              (40, 20), (10, 20), (10, 3), (-10, 3), (-10, 20), (-40, 20))
    chain = tuple(Line("", points[k], points[(k + 1) % 12]) for k in range(12))
    with pytest.raises(JobError, match="falls apart"):
        eased(chain, 5.0, "seal.cord")


@pytest.mark.parametrize("corner", [2.5, 9.85])
@pytest.mark.parametrize("place", [(0.0, 31.0), (0.0, 28.0), (0.0, 30.0), (33.0, 29.5)])
def test_round_a_bolt_the_path_keeps_its_reach_and_its_least_bend(place: tuple[float, float], corner: float) -> None:
    base, bolt = eased(square(30), 10.0, "seal.cord") if place[0] == 0 else square(30), Hole("b", place, 5.5, 0, 6, "bolt")
    path = eased(around_bolts(base, (bolt,), 4.0, corner + 0.05), corner, "seal.cord")
    middle = np.array([place])
    assert is_inside(middle, path)[0]
    assert distance_to_chain(middle, path)[0] >= 2.75 + 4.0 - 1e-6
    assert min(bend.radius for bend in bends(path, 0.0)) >= corner - 1e-6
    assert contains(path, eased(base, 10.0, "seal.cord"))


def test_a_bolt_the_path_does_not_meet_changes_nothing() -> None:
    base, bolts = square(30), tuple(Hole(id, (0.0, y), 5.5, 0, 6, "bolt") for id, y in (("inside", 0.0), ("outside", 55.0)))
    assert around_bolts(base, bolts, 4.0, 5.0) == base


def test_bends_name_the_wall_on_their_inner_side() -> None:
    found = bends(channel_path(pump_lid()).centre, 3.8)
    assert [bend.radius for bend in found] == pytest.approx([10.2] * 4, abs=1e-3)
    assert {(round(abs(x), 2), round(abs(y), 2)) for x, y in (b.at for b in found)} == {
        (round(35 + 10.2 / math.sqrt(2), 2), round(19 + 10.2 / math.sqrt(2), 2))}
    assert bends(square(10), 2.0)[0].radius == 0.0


def test_the_sharp_inner_corners_of_a_recovered_channel_have_no_radius(cover: Path) -> None:
    path = channel_path(inlet_cover(cover))
    sharp = [bend for bend in bends(path.centre, path.width or 0.0) if bend.radius < 1e-3]
    assert len(sharp) == 4, "where the plate's own corners are R 14, less than the channel's inset"


def test_lands_are_told_on_their_side_with_their_place() -> None:
    outer, inner = square(20), square(16)
    things = (Obstacle("the outer edge", square(27), True), Obstacle("opening a", (Circle("a", (0.0, 0.0), 3.0),)),
              Obstacle("opening b", (Circle("b", (10.0, 0.0), 4.0),)), Obstacle("bolt hole c", (Circle("c", (0.0, 24.0), 2.5),)))
    found = lands(outer, inner, things)
    assert found.inside is not None and found.outside is not None and found.hits == ()
    assert (found.inside.width, found.inside.beside) == (pytest.approx(2.0), "opening b")
    assert found.inside.at == pytest.approx((16.0, 0.0))
    assert (found.outside.width, found.outside.beside) == (pytest.approx(1.5), "bolt hole c")
    assert found.outside.at == pytest.approx((0.0, 20.0))


@pytest.mark.parametrize("thing", [
    Obstacle("bolt hole c", (Circle("c", (0.0, 18.0), 1.0),)), Obstacle("bolt hole c", (Circle("c", (0.0, 21.0), 2.5),)),
    Obstacle("bolt hole c", (Circle("c", (0.0, 15.0), 2.5),)), Obstacle("bolt hole c", (Circle("c", (0.0, 0.0), 40.0),))])
def test_whatever_the_groove_cuts_is_a_hit_and_no_land(thing: Obstacle) -> None:
    found = lands(square(20), square(16), (thing,))
    assert found.outside is None and found.inside is None
    assert len(found.hits) == 1 and found.hits[0].startswith("runs into bolt hole c near (")


def test_a_groove_over_the_edge_leaves_the_piece() -> None:
    found = lands(square(20), square(16), (Obstacle("the outer edge", square(19), True),))
    assert len(found.hits) == 1 and found.hits[0].startswith("leaves the piece near (")


def test_what_is_dropped_or_drilled_anew_is_no_obstacle_twice() -> None:
    lid = plain_lid(holes=((0.0, 41.0), (30.0, 43.0)))
    wishes = Wishes(changes=(Change("c2", "drop", "unused"),), holes=(AddedHole("vent", (5.0, 5.0), 3.0),))
    found = obstacles_of(lid, wishes, bolts_of(lid, "M5", 5.8)[:1])
    assert [thing.name for thing in found] == ["the outer edge", "bolt hole c1", "added hole vent"]
    assert found[1].chain == (Circle("c1", (0.0, 41.0), 2.9),)


@pytest.mark.parametrize(("cover", "roles", "inset"), [
    (CoverWish(fit="flush"), (), 0.0), (CoverWish(fit="over", clearance=0.4), (), 0.0),
    (CoverWish(fit="inside", clearance=0.3), (), 0.3),
    (CoverWish(fit="inside"), (RoleChoice("outer", "locates", 0.15),), 0.15), (CoverWish(fit="inside"), (), 0.5)])
def test_land_is_counted_to_the_edge_the_cover_will_have(cover: CoverWish, roles: tuple[RoleChoice, ...], inset: float) -> None:
    edge = edge_of_cover(plain_lid(), Wishes(cover=cover, roles=roles))
    assert np.allclose(distance_to_chain(chain_points(edge), rim_of(plain_lid()).segments), inset, atol=1e-9)


def test_of_two_channels_the_larger_is_followed() -> None:
    lid = with_channel(pump_lid(), 20.0, 2.6, 1.3)
    assert channel_path(lid).width == pytest.approx(3.8, abs=1e-3)
    swapped = replace(lid, design=tuple(reversed(lid.design)))
    assert channel_path(swapped).width == pytest.approx(3.8, abs=1e-3)
    assert "one_channel" in {note.code for note in lay_groove(lid, Wishes(seal=SealWish(kind="ring")), (), 6.0)[1]}


@pytest.mark.parametrize(("seal", "message"), [
    (SealWish(path="channel"), r'seal\.path = "channel": the drawing has no channel'),
    (SealWish(path="s99"), r'seal\.path = "s99": no opening .* begin at c1;'),
    (SealWish(path="outline", offset=60.0), r"seal\.offset: .* 60\.00 mm inside the outer edge vanishes")])
def test_a_path_that_does_not_exist_is_refused_by_its_key(seal: SealWish, message: str) -> None:
    lid = outline_of((rounded_rectangle(-60, -40, 60, 40, 8, "outer", 1), hole("c1", 0, 0, 20)))
    with pytest.raises(JobError, match=message):
        centre_line(lid, seal, 3.0, 1.0, ())


def test_a_groove_wider_than_its_path_is_refused() -> None:
    with pytest.raises(JobError, match=r"seal\.path: a groove 30\.00 mm wide vanishes"):
        walls_of(square(10), 30.0, "seal.path")
