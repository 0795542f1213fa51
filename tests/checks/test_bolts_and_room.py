"""Bolts, room and driver on the lid of joint_cases.py, with right-hand sides by hand.

M6 x 20 under a washer of 1.6 mm on a lid 8 mm thick: grip 9.6, so 10.4 mm reach into the machine.  Least engagement 1.5 d in
aluminium and 1.0 d in steel; tip room one pitch of 1.0; hexagon key 5 for ISO 4762 asks for 11 mm (standards.fitting, memory).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from afterpart.checks.bolt_length import bolt_length
from afterpart.checks.bolt_room import bolt_room
from afterpart.checks.cover_bow import cover_bow
from afterpart.checks.cover_flange import flange_of
from afterpart.checks.driver_access import driver_access
from afterpart.formulas.gasket import pressure_ratio
from afterpart.model.assembly import Assembly, Item, Place
from afterpart.model.case import Case, PieceFacts
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED, PASSES
from afterpart.model.job import Height, Shot
from tests.checks.joint_cases import PLACES, cord_seal, lid, only, wished

OUT, IN = (0.0, 0.0, -1.0), (0.0, 0.0, 1.0)


def bolted(length: float = 20.0, places: tuple[tuple[float, float], ...] = PLACES, **bolts: object) -> Case:
    """The lid with its bolts in the assembly; further keys of [bolts]."""
    case = lid()
    at = tuple((x, y, -9.6) for x, y in places)
    item = Item("bolt", f"ISO 4762 M6 x {length:g} 8.8", at, IN, 6.0, length, 10.22, 6.0, OUT, ("cover",), 8)
    build = replace(case.build, assembly=Assembly((Place("cover", False, (0.0, 0.0, -8.0), OUT, 1),), (item,)))
    return wished(replace(case, build=build), bolts=bolts) if bolts else replace(case, build=build)


def test_thread_engaged_in_aluminium_and_steel() -> None:
    engaged = only(bolt_length(bolted(20.0)), "engaged")
    assert engaged.value == pytest.approx(10.4) and engaged.limit.low == pytest.approx(9.0) and engaged.verdict == ATTENTION
    short = only(bolt_length(bolted(16.0)), "engaged")
    assert short.value == pytest.approx(6.4) and short.verdict == FAILS
    assert [(s.key, s.to) for s in short.suggestions] == [("bolts.length", 20.0)]
    steel = wished(bolted(16.0), machine={"face_material": "steel"})
    assert only(bolt_length(steel), "engaged").limit.low == pytest.approx(6.0)
    plastic = only(bolt_length(wished(bolted(), machine={"face_material": "wood"})), "engaged")
    assert plastic.verdict == NOT_JUDGED and plastic.missing == ("machine.face_material",)


def test_a_shallow_thread_limits_what_holds() -> None:
    found = only(bolt_length(bolted(20.0, grip_in_machine=7.0)), "engaged")
    assert found.value == pytest.approx(7.0) and found.verdict == FAILS and found.suggestions == ()


def test_the_tip_and_the_bottom_of_its_hole() -> None:
    assert only(bolt_length(bolted()), "tip").missing == ("bolts.grip_in_machine",)
    free = only(bolt_length(bolted(grip_in_machine=12.0)), "tip")
    assert free.value == pytest.approx(10.4) and free.limit.high == pytest.approx(11.0) and free.verdict == ATTENTION
    bottoms = only(bolt_length(bolted(grip_in_machine=11.0)), "tip")
    assert bottoms.verdict == FAILS and [(s.key, s.to) for s in bottoms.suggestions] == [("bolts.length", 16.0)]


@given(st.floats(10.0, 60.0), st.floats(0.1, 20.0))
def test_a_longer_bolt_never_engages_less(length: float, more: float) -> None:
    one, other = (only(bolt_length(bolted(size)), "engaged").value for size in (length, length + more))
    assert other >= one


def with_heights(case: Case, **heights: float) -> Case:
    job = replace(case.job, heights=tuple(Height(k.replace("_", " "), v) for k, v in heights.items()), shots=(Shot("p.jpg"),))
    return replace(case, job=job)


def test_heads_against_the_room_outside() -> None:
    """Heads end 9.6 + 6 = 15.6 mm from the joint; the old part was 9 thick."""
    assert only(bolt_room(with_heights(bolted())), "outside").missing == ("height.room below", "photo.face_height")
    found = only(bolt_room(with_heights(bolted(), face=9.0, room_below=8.0)), "outside")
    assert found.value == pytest.approx(15.6) and found.limit.high == pytest.approx(17.0) and found.verdict == PASSES
    assert found.u == pytest.approx(math.hypot(0.03, 0.03))
    assert only(bolt_room(with_heights(bolted(), face=9.0, room_below=6.0)), "outside").verdict == FAILS


def test_pieces_against_the_room_inside() -> None:
    """A lip 3 mm high on the lid reaches 3 mm into the machine; a lid without reaches nowhere."""
    case = with_heights(bolted(), room_above=4.0)
    assert [f for f in bolt_room(case) if f.subject.startswith("inside")] == []
    tall = replace(case, facts=(PieceFacts("cover", 1.0, (0.0, 0.0, 0.0), (1.0, 1.0, 11.0), 1.0),))
    found = only(bolt_room(tall), "inside")
    assert found.value == pytest.approx(3.0) and found.limit.high == 4.0 and found.verdict == PASSES
    flipped = Place("cover", True, (0.0, 0.0, 5.0), OUT, 1)
    turned = replace(tall, build=replace(tall.build, assembly=replace(tall.build.assembly, places=(flipped,))))
    assert only(bolt_room(turned), "inside").value == pytest.approx(5.0), "its bed face looks into the machine"
    assert only(bolt_room(replace(tall, job=bolted().job)), "inside").missing == ("height.room above",)


def test_the_key_between_two_heads() -> None:
    """Heads 12 mm apart leave 2 (12 - 5.11) = 13.78 mm, 10 mm apart 9.78; the key asks for 11."""
    near = only(driver_access(bolted(places=((0.0, 0.0), (12.0, 0.0)))), "M6")
    assert near.value == pytest.approx(13.78) and near.limit.low == 11.0 and near.verdict == ATTENTION
    assert only(driver_access(bolted(places=((0.0, 0.0), (10.0, 0.0)))), "M6").verdict == FAILS
    assert driver_access(bolted(places=((0.0, 0.0),))) == (), "nothing stands near a single bolt"


def test_a_head_without_a_tool_in_the_table() -> None:
    found = only(driver_access(bolted(head="ISO 9999")), "M6")
    assert found.verdict == NOT_JUDGED and found.missing == ("bolts.head",)


def test_bow_by_the_formula_and_thickness_that_passes() -> None:
    """c (1 - R) with PETG's 1500 N/mm2 times 0.3 and half the seal's stiffness after creep, from the beam's own formula."""
    case = lid(cord_seal())
    (found,) = cover_bow(case)
    flange = flange_of(case)
    beta = flange.beta(flange.stiffness / 2, 1500.0 * 0.3, 8.0)
    ratio = pressure_ratio(beta * flange.pitch) if beta * flange.pitch < 4.73 else 0.0
    assert found.value == pytest.approx(flange.load.closing * (1 - ratio))
    assert found.limit.high == pytest.approx(flange.load.closing_least - 0.2 - 0.002 * flange.pitch)
    assert found.from_memory and found.verdict in (ATTENTION, FAILS)
    for change in found.suggestions:
        beta = flange.beta(flange.stiffness / 2, 450.0, change.to)
        assert flange.load.closing * (1 - pressure_ratio(beta * flange.pitch)) <= found.limit.high


def test_no_seal_no_bow() -> None:
    assert cover_bow(lid()) == ()
    (unknown,) = cover_bow(wished(lid(cord_seal()), printer={"material": "wood"}))
    assert unknown.verdict == NOT_JUDGED
