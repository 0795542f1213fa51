"""Roles and changes: what the job says wins, one pair locates, and every row must name something."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import dataclasses

import pytest

from afterpart.errors import JobError
from afterpart.model.outline import Outline
from afterpart.model.wishes import CLEARS, LOCATES, AddedHole, BoltWish, Change, CoverWish, LipWish, RoleChoice, Wishes
from afterpart.parts.roles import assign_roles, kept_outline, loop_key
from tests.parts import drawings

M6 = BoltWish(thread="M6")


def lid_with_channel() -> Outline:
    lid = drawings.gauge_lid()
    walls = [dataclasses.replace(drawings.rounded_rectangle(-x, -y, x, y, 4, "opening", first), role="channel", wall=wall)
             for x, y, first, wall in ((44, 24, 80, "outer"), (41, 21, 90, "inner"))]
    return dataclasses.replace(lid, design=(*lid.design, *walls))


def roles_of(outline: Outline, **wishes: object) -> dict[str, str]:
    return {f.of: f.role for f in assign_roles(outline, Wishes(**wishes)).features}


def codes(outline: Outline, **wishes: object) -> list[str]:
    return [n.code for n in assign_roles(outline, Wishes(**wishes)).notes]


def test_every_feature_has_one_role_and_the_two_holes_farthest_apart_locate() -> None:
    roles = assign_roles(lid_with_channel(), Wishes(cover=CoverWish(), bolts=M6, holes=(AddedHole("drain", (0, 20), 3.0),)))
    found = {f.of: (f.role, f.clearance) for f in roles.features}
    window = next(k for k in found if k.startswith("s"))
    assert found == {"outer": ("shows", 0.0), "c1": ("locates", LOCATES), "c2": ("clears", CLEARS), "c3": ("locates", LOCATES),
                     "c4": ("clears", CLEARS), window: ("clears", CLEARS), "channel": ("seals", 0.0), "drain": ("clears", CLEARS)}
    assert CLEARS == 0.5
    assert [f.of for f in roles.locating] == ["c1", "c3"]
    assert [n.code for n in roles.notes] == ["locating_pair"]


def test_a_lip_or_fitted_edge_locates_instead_of_holes() -> None:
    lid = drawings.gauge_lid()
    assert [k for k, r in roles_of(lid, cover=CoverWish(), bolts=M6, lip=LipWish()).items() if r == "locates"] == ["lip"]
    assert [k for k, r in roles_of(lid, cover=CoverWish(fit="inside"), bolts=M6).items() if r == "locates"] == ["outer"]


def test_a_round_lip_needs_a_hole_for_the_direction() -> None:
    flange = drawings.ring_flange()
    roles = roles_of(flange, cover=CoverWish(), bolts=BoltWish(thread="M8"), lip=LipWish(of="outer"))
    assert [k for k, r in roles.items() if r == "locates"] == ["c3", "lip"]


def test_the_jobs_rows_override_and_keep_their_clearance() -> None:
    lid = lid_with_channel()
    rows = (RoleChoice("c2", "locates"), RoleChoice("c4", "locates", 0.1), RoleChoice("s81", "clears"))
    roles = assign_roles(lid, Wishes(cover=CoverWish(), bolts=M6, roles=rows))
    assert [f.of for f in roles.locating] == ["c2", "c4"]
    assert (roles.of("c2").clearance, roles.of("c4").clearance, roles.of("c4").told_clearance) == (LOCATES, 0.1, 0.1)
    assert roles.of("channel").role == "clears", "any segment of a loop names the loop"
    assert not roles.notes


def test_one_locating_hole_is_completed_with_the_farthest() -> None:
    roles = roles_of(drawings.gauge_lid(), cover=CoverWish(), bolts=M6, roles=(RoleChoice("c2", "locates"),))
    assert [k for k, r in roles.items() if r == "locates"] == ["c2", "c4"]


def test_what_locates_twice_is_named() -> None:
    lid = drawings.gauge_lid()
    rows = tuple(RoleChoice(k, "locates") for k in ("c1", "c2", "c3"))
    notes = assign_roles(lid, Wishes(cover=CoverWish(), bolts=M6, roles=rows)).notes
    assert [n.code for n in notes] == ["locates_twice"] and "hole c3" in notes[0].text and "hole c1" in notes[0].text
    rows = (RoleChoice("lip", "locates"), RoleChoice("c1", "locates"))
    notes = assign_roles(lid, Wishes(cover=CoverWish(), bolts=M6, lip=LipWish(), roles=rows)).notes
    assert [n.code for n in notes] == ["locates_twice"] and notes[0].text.startswith("hole c1")


def test_hole_and_slot_are_a_pair() -> None:
    slotted = drawings.outline_of((drawings.rounded_rectangle(-50, -20, 50, 20, 4, "outer", 1), drawings.hole("c1", -30, 0, 6.6),
                                   drawings.slot((30, 0), 12, 6.6, 0, 20)))
    key = loop_key(slotted.design[2])
    rows = (RoleChoice("c1", "locates"), RoleChoice(key, "locates"))
    assert codes(slotted, cover=CoverWish(), roles=rows) == []


def test_nothing_to_locate_by_is_said() -> None:
    plain = drawings.outline_of((drawings.rounded_rectangle(-50, -20, 50, 20, 4, "outer", 1),))
    assert codes(plain, cover=CoverWish()) == ["nothing_locates"]


@pytest.mark.parametrize(("row", "words"), [
    (RoleChoice("c99", "clears"), "row 1 (of = 'c99').*known are outer"),
    (RoleChoice("lip", "locates"), "row 1 (of = 'lip')"),
    (RoleChoice("c1", "holds"), "expected one of locates, seals, clears, shows"),
    (RoleChoice("c1", "clears", -0.1), "0 or more"),
    (RoleChoice("c1", "clears", float("nan")), "0 or more")])
def test_role_rows_that_name_nothing_are_refused(row: RoleChoice, words: str) -> None:
    with pytest.raises(JobError, match=words.replace("(", r"\(").replace(")", r"\)")):
        assign_roles(drawings.gauge_lid(), Wishes(cover=CoverWish(), bolts=M6, roles=(row,)))


def test_rows_that_contradict_each_other_are_refused() -> None:
    lid = drawings.gauge_lid()
    with pytest.raises(JobError, match="keep one row"):
        assign_roles(lid, Wishes(roles=(RoleChoice("c1", "clears"), RoleChoice("c1", "locates"))))
    with pytest.raises(JobError, match="row 1 says 'keep'"):
        assign_roles(lid, Wishes(changes=(Change("c1", "keep", ""), Change("c1", "drop", ""))))
    with pytest.raises(JobError, match="is dropped"):
        assign_roles(lid, Wishes(changes=(Change("c1", "drop", ""),), roles=(RoleChoice("c1", "clears"),)))


def test_changes_are_resolved_and_dropped_loops_leave_the_outline() -> None:
    lid = lid_with_channel()
    rows = (Change("channel", "drop", "too narrow"), Change("c2", "drop", "stripped"), Change("lip", "add", "place it"),
            Change("c1", "keep", "fits"))
    roles = assign_roles(lid, Wishes(cover=CoverWish(), bolts=M6, changes=rows))
    assert set(roles.dropped) == {"channel", "c2"}
    assert [(c.key, c.do, c.reason) for c in roles.changes if c.told] == [
        ("channel", "drop", "too narrow"), ("c2", "drop", "stripped"), ("", "add", "place it"), ("c1", "keep", "fits")]
    assert {c.key for c in roles.changes if not c.told} == {"outer", "c3", "c4", loop_key(lid.design[5])}
    left = kept_outline(lid, roles)
    assert [loop_key(loop) for loop in left.design] == [k for k in map(loop_key, lid.design) if k not in ("channel", "c2")]
    with pytest.raises(KeyError):
        roles.of("c2")


@pytest.mark.parametrize("row", [Change("c99", "drop", ""), Change("spout", "keep", ""), Change("outer", "drop", ""),
                                 Change("c1", "move", "")])
def test_change_rows_that_cannot_be_are_refused(row: Change) -> None:
    with pytest.raises(JobError, match=r"\[\[change\]\] row 1"):
        assign_roles(drawings.gauge_lid(), Wishes(changes=(row,)))


def test_bolts_without_a_hole_say_which_there_are() -> None:
    with pytest.raises(JobError, match="bolts.thread: found M10.*c1 of 6.6 mm"):
        assign_roles(drawings.gauge_lid(), Wishes(bolts=BoltWish(thread="M10")))
    with pytest.raises(JobError, match="bolts.holes: found c9"):
        assign_roles(drawings.gauge_lid(), Wishes(bolts=BoltWish(thread="M6", holes=("c1", "c9"))))
    with pytest.raises(JobError, match="bolts.thread: found 'M7x'"):
        assign_roles(drawings.gauge_lid(), Wishes(bolts=BoltWish(thread="M7x")))
