"""The torque window and what stands behind it: properties that must hold whatever the figures."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.formulas.bolted import (
    METAL_RETENTION,
    PROOF_SHARE,
    bearing_area,
    bearing_stress,
    k_band,
    load_of_torque,
    preload_band,
    proof_load,
    remaining_share,
    sleeve_stress,
    torque_limits,
    torque_window,
)
from afterpart.formulas.screws import breaking_torque
from afterpart.standards.fasteners import BOLTS, SleeveSize, bolt, head, property_class, sleeve, washer
from afterpart.standards.friction import FRICTIONS, friction
from afterpart.standards.materials import MATERIALS, material

HOLES = {"M3": 3.4, "M4": 4.5, "M5": 5.5, "M6": 6.6, "M8": 9.0}
PLASTICS = [m.name for m in MATERIALS if m.kind != "elastomer"]


def window(size: str = "M6", plastic: str = "PETG", temperature: float = 23.0, needed: float = 100.0,
           outside: float | None = None, **more):
    outside = washer("ISO 7093", size).outside if outside is None else outside
    return torque_window(bolt(size), property_class("8.8"), outside, HOLES[size], material(plastic), temperature, needed, **more)


@settings(deadline=None, derandomize=True)
@given(st.floats(0.1, 50), st.floats(0.1, 50), st.sampled_from(sorted(HOLES)))
def test_more_torque_never_lowers_bearing_stress(a: float, b: float, size: str) -> None:
    low, high = sorted((a, b))
    outside = head("ISO 4762", size).bearing_diameter
    for k in k_band(friction()):
        first, second = (bearing_stress(load_of_torque(t, bolt(size).nominal, k), outside, HOLES[size]) for t in (low, high))
        assert first <= second


@settings(deadline=None, derandomize=True)
@given(st.floats(0.1, 20), st.sampled_from(FRICTIONS))
def test_load_band_holds_the_expected_load(torque: float, state) -> None:
    band = preload_band(torque, 5.0, state)
    assert 0.0 < band.least_n < band.expected_n < band.greatest_n
    assert band.least_n <= 0.7001 * band.expected_n and band.greatest_n >= 1.2999 * band.expected_n
    assert band.greatest_n == pytest.approx(load_of_torque(torque, 5.0, k_band(state)[0]))


@pytest.mark.parametrize("plastic", PLASTICS)
@pytest.mark.parametrize("size", sorted(HOLES))
def test_nothing_suffers_at_the_windows_upper_end_and_the_seal_is_served_at_its_lower(plastic: str, size: str) -> None:
    needed = 50.0
    found = window(size, plastic, 23.0, needed)
    if found is None:
        limits = torque_limits(bolt(size), property_class("8.8"), washer("ISO 7093", size).outside, HOLES[size],
                               material(plastic), 23.0, needed)
        assert limits.low_n_m > limits.high_n_m
        return
    greatest = preload_band(found.high_n_m, bolt(size).nominal).greatest_n
    least = preload_band(found.low_n_m, bolt(size).nominal).least_n
    stress = bearing_stress(greatest, washer("ISO 7093", size).outside, HOLES[size])
    assert stress <= material(plastic).bearing_limit(23.0) * (1 + 1e-9)
    assert greatest <= PROOF_SHARE * proof_load(bolt(size), property_class("8.8")) * (1 + 1e-9)
    assert least * material(plastic).creep_retention.low >= needed * (1 - 1e-9)
    assert found.high_n_m < breaking_torque(bolt(size), property_class("8.8"))
    assert found.from_memory and "N m" in found.why


@settings(deadline=None, derandomize=True)
@given(st.floats(0, 2000), st.floats(0, 2000))
def test_needing_more_never_lowers_the_lower_end(a: float, b: float) -> None:
    low, high = sorted((a, b))
    args = (bolt("M6"), property_class("8.8"), 18.0, 6.6, material("PA6-GF"), 23.0)
    assert torque_limits(*args, low).low_n_m <= torque_limits(*args, high).low_n_m
    assert torque_limits(*args, low).high_n_m == torque_limits(*args, high).high_n_m


@settings(deadline=None, derandomize=True)
@given(st.floats(-20, 150), st.floats(-20, 150), st.sampled_from(PLASTICS))
def test_heat_never_raises_the_upper_end(a: float, b: float, plastic: str) -> None:
    cold, hot = sorted((a, b))
    args = (bolt("M6"), property_class("8.8"), 18.0, 6.6, material(plastic))
    assert torque_limits(*args, hot, 10.0).high_n_m <= torque_limits(*args, cold, 10.0).high_n_m


def test_a_wider_washer_never_narrows_the_window() -> None:
    ends = [torque_limits(bolt("M6"), property_class("8.8"), outside, 6.6, material("PETG"), 23.0, 10.0).high_n_m
            for outside in (9.38, 12, 18)]
    assert ends == sorted(ends)


def test_two_and_a_half_newton_metres_without_a_sleeve() -> None:
    """M4 and M5 crush PETG at that torque under any washer; no plain filament takes it under a bare head."""
    for size in ("M4", "M5"):
        for standard in ("ISO 7089", "ISO 7093"):
            found = window(size, outside=washer(standard, size).outside, needed=1.0)
            assert found is None or found.high_n_m < 2.5
    for plastic in ("PLA", "PETG", "ABS", "ASA", "PC", "PA6", "PA12"):
        found = window("M6", plastic, outside=head("ISO 4762", "M6").bearing_diameter, needed=1.0)
        assert found is None or found.high_n_m < 2.5


def test_glass_filled_nylon_is_not_petg() -> None:
    assert window("M6", "PA6-GF").high_n_m > 2.0 * window("M6", "PETG").high_n_m


def test_no_window_when_hot_and_a_sleeve_opens_it() -> None:
    assert window("M5", "PLA", temperature=60.0) is None
    found = window("M5", "PLA", temperature=60.0, needed=300.0, sleeve=sleeve("M5"))
    assert found is not None and found.high_n_m > 2.5
    greatest = preload_band(found.high_n_m, 5.0).greatest_n
    assert sleeve_stress(greatest, sleeve("M5")) <= sleeve("M5").yield_stress * (1 + 1e-9)
    least = preload_band(found.low_n_m, 5.0).least_n
    assert least * METAL_RETENTION == pytest.approx(300.0)


def test_a_soft_mating_part_limits_the_sleeve() -> None:
    soft, hard = (window("M5", needed=10.0, sleeve=sleeve("M5"), mating_yield=y) for y in (60.0, 500.0))
    assert soft.high_n_m < hard.high_n_m and "sleeve" in soft.why
    thin = SleeveSize("M5", 5.5, 5.7, 235.0, sleeve("M5").source)
    assert window("M5", needed=10.0, sleeve=thin).high_n_m < soft.high_n_m


def test_an_m3_never_sees_two_and_a_half_newton_metres() -> None:
    """Refused whatever lies under it: even with a sleeve the breaking torque of 1.55 N m caps it."""
    for name in ("8.8", "10.9", "12.9", "A2-70"):
        limits = torque_limits(bolt("M3"), property_class(name), 9.0, 3.4, material("PA6-GF"), 23.0, 10.0, sleeve=sleeve("M3"))
        assert limits.high_n_m < min(2.5, breaking_torque(bolt("M3"), property_class(name)))


def test_lubricant_lowers_the_torque_for_the_same_load() -> None:
    ends = [window("M6", needed=100.0, state=friction(state)).high_n_m for state in ("waxed", "lubricated", "as received")]
    assert ends == sorted(ends) and len(set(ends)) == 3


def test_retention_can_be_told() -> None:
    assert window(needed=100.0, retention=0.6).low_n_m == pytest.approx(0.5 * window(needed=100.0, retention=0.3).low_n_m)


@settings(deadline=None, derandomize=True)
@given(st.floats(1e3, 1e6), st.floats(1e3, 1e6), st.floats(0.05, 1.0))
def test_a_bolts_spring_keeps_more_than_the_plastic_alone(k_bolt: float, k_part: float, retention: float) -> None:
    left = remaining_share(k_bolt, k_part, retention)
    assert retention * (1 - 1e-12) <= left <= 1.0 + 1e-12


@pytest.mark.parametrize("outside, hole", [(5.5, 5.5), (5.0, 5.5), (5.0, -1.0)])
def test_a_head_no_wider_than_its_hole_is_refused(outside: float, hole: float) -> None:
    with pytest.raises(ValueError, match="wider than the hole"):
        bearing_area(outside, hole)


def test_impossible_figures_are_refused() -> None:
    with pytest.raises(ValueError, match="0 N or more"):
        window(needed=-1.0)
    with pytest.raises(ValueError, match="retention"):
        remaining_share(1e5, 1e4, 0.0)


def test_an_elastomer_has_no_window() -> None:
    assert window("M5", "TPU") is None


def test_every_bolt_of_every_class_has_a_proof_below_its_breaking_load() -> None:
    for item in BOLTS:
        for name in ("8.8", "10.9", "A2-70"):
            grade = property_class(name)
            assert proof_load(item, grade) < grade.tensile * item.stress_area
