"""Bolt holes, seats, sleeves and inserts: sizes from the tables, roofs that print, and what cannot work refused.

Sizes: ISO 273 holes, ISO 4762, ISO 7380-1 and ISO 10642 heads, ISO 7089 washers as in standards/ (checked in tests/published).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import pytest

from afterpart.errors import JobError
from afterpart.model.outline import Outline
from afterpart.model.wishes import BoltWish, Change, CoverWish, RoleChoice, Trial, Wishes
from afterpart.parts.bolt_holes import HEAD_ROOM, LEAST_UNDER_HEAD, SLEEVE_FIT, SLEEVE_SHORT, SUNK, Bolts, place_bolts
from afterpart.parts.roles import assign_roles
from afterpart.standards.clearance_holes import clearance_hole
from afterpart.standards.fasteners import head, heat_set_insert, sleeve, washer
from tests.parts import drawings

T = 12.0


def bolts(outline: Outline | None = None, thickness: float = T, roles: tuple[RoleChoice, ...] = (),
          changes: tuple[Change, ...] = (), **wish: object) -> Bolts:
    outline = outline or drawings.gauge_lid()
    wanted = BoltWish(**{"thread": "M6", **wish})
    wishes = Wishes(cover=CoverWish(thickness=thickness), bolts=wanted, roles=roles, changes=changes)
    return place_bolts(outline, wishes, assign_roles(outline, wishes), thickness)


def test_no_table_no_bolts() -> None:
    lid = drawings.gauge_lid()
    assert place_bolts(lid, Wishes(), assign_roles(lid, Wishes()), T) == Bolts()


@pytest.mark.parametrize("series", ["fine", "medium", "coarse"])
def test_holes_stand_where_they_were_with_the_series_diameter(series: str) -> None:
    lid = drawings.gauge_lid()
    clears = tuple(RoleChoice(f"c{i}", "clears") for i in range(1, 5))
    made = bolts(lid, series=series, roles=clears)
    assert [h.center for h in made.holes] == [loop.segments[0].center for loop in lid.design[1:5]]
    assert {h.diameter for h in made.holes} == {getattr(clearance_hole("M6"), series)}
    assert all((h.bottom, h.top, h.through, h.purpose, h.screw) == (0.0, T, True, "bolt", "M6") for h in made.holes)


def test_a_hole_that_locates_takes_the_fine_series_and_says_so() -> None:
    made = bolts()
    sizes = {h.id: (h.role, h.diameter) for h in made.holes}
    assert sizes == {"c1": ("locates", 6.4), "c2": ("clears", 6.6), "c3": ("locates", 6.4), "c4": ("clears", 6.6)}
    assert [n.code for n in made.notes].count("locating_hole") == 2 and "fine series" in made.notes[0].text


def test_a_locating_hole_keeps_an_old_diameter_tighter_than_the_series() -> None:
    lid = drawings.outline_of((drawings.rounded_rectangle(-50, -20, 50, 20, 4, "outer", 1), drawings.hole("c1", -30, 0, 6.2),
                               drawings.hole("c2", 30, 0, 6.6)))
    made = bolts(lid)
    assert [h.diameter for h in made.holes] == [6.2, 6.4] and "the old hole" in made.notes[0].text


def test_a_role_rows_clearance_opens_the_hole_by_it_all_round() -> None:
    made = bolts(roles=(RoleChoice("c2", "clears", 0.8), RoleChoice("c1", "locates", 0.15)))
    assert {h.id: h.diameter for h in made.holes}["c2"] == pytest.approx(6.0 + 1.6)
    assert {h.id: h.diameter for h in made.holes}["c1"] == pytest.approx(6.3)
    with pytest.raises(JobError, match=r"\[\[role\]\] of = 'c2'.*no play"):
        bolts(roles=(RoleChoice("c2", "clears", 0.01),))


def test_a_plain_seat_bears_on_the_outside_with_the_tables_diameters() -> None:
    bare, with_washer = bolts(head="ISO 7380-1"), bolts(head="ISO 7380-1", washer="ISO 7089")
    assert bare.cuts == with_washer.cuts == ()
    assert {f.outer for f in bare.bearing} == {head("ISO 7380-1", "M6").bearing_diameter}
    assert {f.outer for f in with_washer.bearing} == {washer("ISO 7089", "M6").outside_least}
    for face, hole in zip(bare.bearing, bare.holes, strict=True):
        assert (face.of, face.center, face.inner, face.z, face.facing) == (hole.id, hole.center, hole.diameter, 0.0, -1)


def test_a_counterbore_hides_the_head_and_its_roof_leans_45_degrees() -> None:
    made = bolts(seat="counterbore", head="ISO 4762", thickness=14.0)
    size = head("ISO 4762", "M6")
    bores, roofs = made.cuts[0::2], made.cuts[1::2]
    for hole, face, bore, roof, taken in zip(made.holes, made.bearing, bores, roofs, made.heads, strict=True):
        assert bore.bottom < 0 and bore.bottom_radius == bore.top_radius == pytest.approx(size.diameter / 2 + HEAD_ROOM)
        assert taken == 2 * bore.top_radius
        assert roof.bottom == bore.top and (roof.bottom_radius, roof.top_radius) == (bore.top_radius, hole.diameter / 2)
        assert roof.top - roof.bottom == pytest.approx(roof.bottom_radius - roof.top_radius), "45 degrees"
        at_rim = roof.bottom_radius - (face.z - roof.bottom)
        assert at_rim == pytest.approx(size.diameter / 2), "the head's rim touches the roof where the bearing face is said to be"
        assert face.z - size.height == pytest.approx(SUNK)
        assert hole.diameter <= face.inner < face.outer == size.bearing_diameter
    assert "leaning_roof" in [n.code for n in made.notes]


def test_a_countersink_is_a_right_angled_cone_as_wide_as_the_head() -> None:
    made = bolts(seat="countersink")
    size = head("ISO 10642", "M6")
    for hole, cone in zip(made.holes, made.cuts, strict=True):
        slope = (cone.bottom_radius - cone.top_radius) / (cone.top - cone.bottom)
        assert 2 * math.degrees(math.atan(slope)) == pytest.approx(size.cone_angle_deg)
        assert cone.bottom_radius + slope * cone.bottom == pytest.approx(size.diameter / 2 + SUNK), "at the outside face"
        assert cone.top_radius == hole.diameter / 2


@pytest.mark.parametrize(("seat", "wish"), [("counterbore", {"head": "ISO 4762"}), ("countersink", {})])
def test_a_seat_deeper_than_the_cover_names_key_place_and_thickness(seat: str, wish: dict[str, object]) -> None:
    with pytest.raises(JobError, match=rf"bolts.seat = .{seat}.: .*c1 \(-50.0, -30.0\).*cover.thickness at least"):
        bolts(thickness=5.0, seat=seat, **wish)
    deepest = max(c.top for c in bolts(thickness=20.0, seat=seat, **wish).cuts)
    assert bolts(thickness=deepest + LEAST_UNDER_HEAD + 1e-6, seat=seat, **wish)


def test_a_sleeve_is_a_little_shorter_than_the_plastic_beside_it() -> None:
    made = bolts(sleeve=True, washer="ISO 7089")
    size = sleeve("M6")
    assert {h.diameter for h in made.holes} == {size.outside + SLEEVE_FIT}
    for tube in made.sleeves:
        assert (tube.inside, tube.outside, tube.plastic) == (size.inside, size.outside, T)
        assert 0 < tube.plastic - tube.length == pytest.approx(SLEEVE_SHORT)
    sunk = bolts(sleeve=True, seat="counterbore", head="ISO 4762", washer="ISO 7089", thickness=16.0)
    for tube, face in zip(sunk.sleeves, sunk.bearing, strict=True):
        assert tube.plastic == pytest.approx(16.0 - face.z)


def test_a_head_that_hardly_overhangs_its_sleeve_is_told_and_one_that_does_not_is_refused() -> None:
    assert "sleeve_overhang" in [n.code for n in bolts(sleeve=True, head="ISO 4762").notes]
    with pytest.raises(JobError, match="bolts.sleeve: what presses at c1"):
        bolts(sleeve=True, sleeve_outside=10.0, head="ISO 4762")
    with pytest.raises(JobError, match="bolts.sleeve_outside: found 7 mm"):
        bolts(sleeve=True, sleeve_outside=7.0)


def test_an_inserts_pocket_is_blind_and_opens_at_the_mating_face() -> None:
    made = bolts(thread="M4", holes=("c1", "c2"), insert=True)
    size = heat_set_insert("M4")
    for hole in made.holes:
        assert (hole.diameter, hole.top, hole.purpose, hole.through) == (size.pocket, T, "insert", False)
        assert hole.top - hole.bottom > size.length and hole.bottom >= 1.0
    assert not made.bearing
    through = bolts(thread="M4", holes=("c1",), insert=True, thickness=size.length + 0.5)
    assert through.holes[0].through and through.holes[0].bottom == 0.0
    with pytest.raises(JobError, match="bolts.insert.*cover.thickness at least 8.1 mm"):
        bolts(thread="M4", holes=("c1",), insert=True, thickness=6.0)


@pytest.mark.parametrize(("wish", "words"), [
    ({"seat": "dovetail"}, "bolts.seat"), ({"series": "snug", "holes": ("c2",)}, "bolts.series"),
    ({"head": "ISO 1"}, "bolts.head"), ({"washer": "ISO 1"}, "bolts.washer"),
    ({"insert": True, "sleeve": True}, "bolts.insert"), ({"seat": "countersink", "washer": "ISO 7089"}, "bolts.seat"),
    ({"holes": ("c9",)}, "bolts.holes")])
def test_what_the_tables_do_not_know_is_refused_with_its_key(wish: dict[str, object], words: str) -> None:
    roles = tuple(RoleChoice(f"c{i}", "clears") for i in range(1, 5))
    with pytest.raises(JobError, match=words):
        bolts(roles=roles, **wish)


def test_a_dropped_hole_takes_no_bolt() -> None:
    drop = (Change("c2", "drop", "torn out"),)
    assert [h.id for h in bolts(changes=drop).holes] == ["c1", "c3", "c4"]
    with pytest.raises(JobError, match="bolts.holes: c2 is dropped"):
        bolts(changes=drop, holes=("c1", "c2"))


def test_what_fitted_on_the_machine_settles_its_own_hole_before_the_coupon() -> None:
    """M6 with 0.35 all round at c1 is 6.7; c3 takes the coupon's 6.5; trials of another filament settle nothing."""
    lid = drawings.gauge_lid()
    trials = (Trial("fit", 0.2, "rubs", of="c1"), Trial("fit", 0.35, "fits", of="c1"), Trial("clearance", 6.5, "fits"))
    wishes = Wishes(cover=CoverWish(thickness=T), bolts=BoltWish(thread="M6"), trials=trials)
    made = place_bolts(lid, wishes, assign_roles(lid, wishes), T)
    sizes = {h.id: h.diameter for h in made.holes}
    assert sizes["c1"] == pytest.approx(6.7) and sizes["c3"] == 6.5
    assert sum("as the trial print settled" in note.text for note in made.notes) == 2
    other = replace(wishes, trials=tuple(replace(trial, material="ASA") for trial in trials))
    assert {h.diameter for h in place_bolts(lid, other, assign_roles(lid, other), T).holes} == {6.4, 6.6}
