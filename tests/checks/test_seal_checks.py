"""Closing force, pressure between bolts and leak gap, on a round lid worked by hand."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import pytest

from afterpart.checks.closing_force import closing_force
from afterpart.checks.leak_gap import leak_gap
from afterpart.checks.pressure_between_bolts import pressure_between_bolts
from afterpart.checks.seal_load import SealLoad, seal_load_of
from afterpart.formulas.gasket import gent_modulus
from afterpart.geometry.spacing import spacings
from afterpart.model.case import Case
from afterpart.model.finding import FAILS, NOT_JUDGED
from tests.checks.joint_cases import LENGTH, PLACES, QUARTER, RADIUS, cord_seal, figure, groove, lid, only, printed, wished

ALL = (closing_force, pressure_between_bolts, leak_gap)


def ring_lid(section: str = "bead", **changes: object) -> Case:
    """The lid with a printed ring."""
    ring = printed(section, **changes)
    return lid(cord_seal(kind="ring", shore_a=ring.shore_a), groove(cord=0.0, width=3.6, height=2.4), ring)


def load_of(case: Case) -> SealLoad:
    """The seal's spring, which must be known."""
    load = seal_load_of(case)
    assert isinstance(load, SealLoad)
    return load


@pytest.mark.parametrize("check", ALL)
def test_a_lid_without_a_seal_is_not_spoken_of(check) -> None:
    assert check(lid()) == ()


def test_a_cord_closes_with_lindleys_force_at_its_tightest() -> None:
    """f = d E (1.25 C^1.5 + 50 C^6), d 2.74, C 0.74 / 2.74, E 5.521 at 70 Shore A (Gent), written out; twice it at most."""
    c = 0.74 / 2.74
    hand = 2.74 * 5.521 * (1.25 * c**1.5 + 50 * c**6)
    load = load_of(lid(cord_seal()))
    assert load.expected == pytest.approx(hand, rel=2e-4) and load.greatest == pytest.approx(2 * hand, rel=2e-4)
    assert load.length == pytest.approx(LENGTH) and load.closing == pytest.approx(0.74)


def test_a_bead_closes_as_half_a_cord() -> None:
    """Crown R 1.3, closed by 0.4: d = 2.6, C = 0.4 / 1.3, written out."""
    c = 0.4 / 1.3
    assert load_of(ring_lid()).expected == pytest.approx(2.6 * 5.521 * (1.25 * c**1.5 + 50 * c**6), rel=2e-4)


def test_a_hollow_ring_closes_as_an_arch() -> None:
    """R = (3.0 - 0.8) / 2 = 1.1, t 0.8, I = 0.8^3 / 12, closed by 0.2 (channel 2.2 deep): 2 x 0.2 E I / (0.1488 x 1.331)."""
    hand = 2 * 0.2 * gent_modulus(70.0) * 0.8**3 / 12 / (0.1488 * 1.1**3)
    load = load_of(ring_lid("hollow", wall=0.8, channel_depth=2.2))
    assert load.expected == pytest.approx(hand, rel=1e-3)
    assert load.stiffness == pytest.approx(2 * hand / 0.2, rel=1e-3), "an arch is a straight spring"


def test_a_flat_strip_closes_as_a_bonded_one() -> None:
    """engineering sheet: 6 x 2 mm, 85 Shore A, 15 %: S_f 1.5, E_c 57.1, f 51.4 N/mm; here the upper end, 1.6 times it."""
    case = lid(cord_seal(kind="flat", shore_a=85.0), None, printed("flat", width=6.0, height=2.0, squeeze=0.15, shore_a=85.0))
    assert load_of(case).expected == pytest.approx(51.4, abs=0.05)
    assert load_of(case).greatest == pytest.approx(1.6 * 51.4, abs=0.08)


@pytest.mark.parametrize(("case", "key"), [
    (ring_lid("beaded"), "seal.squeeze"), (ring_lid("flat", squeeze=0.2), "seal.squeeze"), (ring_lid(width=0.0), "seal.width"),
    (ring_lid("bead", height=2.6), "seal.squeeze"), (ring_lid(shore_a=86.0), "seal.shore_a"),
    (ring_lid(shore_a=19.0), "seal.shore_a"),
    (lid(cord_seal(), groove(cord=2.5)), "seal.cord"), (lid(cord_seal(kind="flat")), "make")])
def test_outside_the_ranges_nothing_is_judged_and_the_key_is_named(case: Case, key: str) -> None:
    for check in ALL:
        found = only(check(case))
        assert found.verdict == NOT_JUDGED and found.missing == (key,) and found.value is None


def test_between_80_and_85_shore_the_modulus_is_doubted() -> None:
    assert "order of magnitude" in load_of(ring_lid(shore_a=85.0)).doubt and not load_of(ring_lid(shore_a=80.0)).doubt


def test_spacings_follow_the_seal() -> None:
    assert spacings(load_of(lid(cord_seal())).path, PLACES) == pytest.approx([QUARTER] * 4, rel=1e-3)
    assert sum(spacings(load_of(lid(cord_seal())).path, PLACES[:3])) == pytest.approx(LENGTH, rel=1e-3)
    assert max(spacings(load_of(lid(cord_seal())).path, PLACES[:3])) == pytest.approx(2 * QUARTER, rel=1e-3)


def test_the_closing_force_is_held_against_what_the_plastic_keeps() -> None:
    """M6 under 17.57 on a 6.6 hole: 208.24 mm2; PETG at 23 degC bears 10 N/mm2 and keeps 0.3: 2082.4 x 0.3 / 62.83 N/mm."""
    found = only(closing_force(lid(cord_seal())))
    area = math.pi / 4 * (17.57**2 - 6.6**2)
    assert found.limit.high == pytest.approx(10 * area * 0.3 / QUARTER, rel=1e-3)
    assert found.value == pytest.approx(load_of(lid(cord_seal())).greatest)


def test_the_softer_cord_suggested_is_borne() -> None:
    case = lid(cord_seal(shore_a=85.0))
    found = only(closing_force(case))
    assert found.verdict == FAILS
    softer = only(closing_force(wished(case, seal={"shore_a": found.suggestions[0].to})))
    assert softer.verdict != FAILS and softer.value / softer.limit.high > 0.9, "no softer than needed"


def test_pressure_inside_adds_to_what_a_bolt_holds() -> None:
    """5 kPa on pi 40^2 mm2: 25.13 N, a quarter on each bolt."""
    case = wished(lid(cord_seal()), machine={"gauge_pressure_kpa": 5.0})
    assert figure(only(closing_force(case)), "lift by pressure") == pytest.approx(5e-3 * math.pi * RADIUS**2, rel=1e-3)


def test_without_a_temperature_the_keys_that_tell_it_are_named() -> None:
    found = only(closing_force(wished(lid(cord_seal()), service={"temperature_c": None})))
    assert found.verdict == NOT_JUDGED and found.missing == ("service.temperature_c", "service.place")


def test_pressure_between_bolts_is_the_beams_ratio() -> None:
    """Hand: lands of an eighth of the pitch (7.854 each) beside a groove 3.8 x 2.0 in 8 mm; E 1500; k the cord's tangent."""
    pitch, c, e = QUARTER, 0.74 / 2.74, gent_modulus(70.0)
    stiffness = 2.0 * e * (1.875 * math.sqrt(c) + 300 * c**5)
    lands, floor = 2 * pitch / 8 * 8.0, 3.8 * 6.0
    middle = (lands * 4.0 + floor * 3.0) / (lands + floor)
    moment = pitch / 4 * 8.0**3 / 12 + lands * (4 - middle) ** 2 + 3.8 * 6.0**3 / 12 + floor * (3 - middle) ** 2
    half = 0.5 * pitch * (stiffness / (4 * 1500.0 * moment)) ** 0.25
    hand = 2 * (math.cosh(half) * math.sin(half) + math.sinh(half) * math.cos(half)) / (math.sinh(2 * half) + math.sin(2 * half))
    found = only(pressure_between_bolts(lid(cord_seal())))
    assert found.value == pytest.approx(hand, rel=0.02), "the tangent is taken over one percent of the closing"
    assert found.u is not None and 0 < found.u < 1e-3


def test_a_thicker_cover_never_lowers_the_pressure_between_bolts() -> None:
    values = []
    for thickness in (5.0, 6.0, 8.0, 12.0, 20.0):
        case = lid(cord_seal())
        cover = replace(case.build.pieces[0], thickness=thickness)
        values.append(only(pressure_between_bolts(replace(case, build=replace(case.build, pieces=(cover,))))).value)
    assert values == sorted(values) and values[0] < values[-1] <= 1.0


def test_the_thickness_suggested_reaches_the_wanted_ratio() -> None:
    found = only(pressure_between_bolts(lid(cord_seal())))
    assert found.verdict == FAILS
    thickness = next(s.to for s in found.suggestions if s.key == "cover.thickness")
    case = lid(cord_seal())
    cover = replace(case.build.pieces[0], thickness=thickness)
    assert only(pressure_between_bolts(replace(case, build=replace(case.build, pieces=(cover,))))).verdict != FAILS


def test_a_cover_that_lifts_off_keeps_nothing_and_leaves_the_whole_unevenness_open() -> None:
    case = lid(cord_seal(shore_a=85.0))
    cover = replace(case.build.pieces[0], thickness=2.5)
    case = replace(case, build=replace(case.build, pieces=(cover,)))
    assert only(pressure_between_bolts(case)).value == 0.0
    found = only(leak_gap(case))
    assert found.value == 0.0 and found.verdict == FAILS and f"{found.limit.low:.2f} mm stays open" in found.advice


@pytest.mark.parametrize("check", [pressure_between_bolts, leak_gap])
def test_each_way_out_alone_closes_what_was_open(check) -> None:
    case = lid(cord_seal(shore_a=80.0))
    found = only(check(case))
    ways = {s.key: s.to for s in found.suggestions}
    assert found.verdict == FAILS and set(ways) == {"cover.thickness", "seal.shore_a"}
    cover = replace(case.build.pieces[0], thickness=ways["cover.thickness"])
    assert only(check(replace(case, build=replace(case.build, pieces=(cover,))))).verdict != FAILS
    assert only(check(wished(case, seal={"shore_a": ways["seal.shore_a"]}))).verdict != FAILS


def test_leak_gap_is_the_least_closing_times_the_ratio() -> None:
    """Least closing 2.56 - 2.1 = 0.46; unevenness 0.2 + 0.002 x 62.83."""
    case = lid(cord_seal())
    found = only(leak_gap(case))
    assert found.value == pytest.approx(0.46 * only(pressure_between_bolts(case)).value)
    assert found.limit.low == pytest.approx(0.2 + 0.002 * QUARTER, rel=1e-3)
