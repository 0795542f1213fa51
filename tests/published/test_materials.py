"""Heat figures of filaments as their sheets print them.

Sources (HDT at 0.45 N/mm2 / glass transition, degC): a public data base of filament sheets (PLA 58.8 / 59.1, PETG 76.2 / 77.4); a
print service's table (ABS 90, PC 138, PC-ABS 110, PA12 of a powder bed 175, 95 at high load); a polyamide maker's guide (PA6 160,
60 at high load); a compounder's sheet (PA6 with 30 % glass 215, 200 at high load, 1.35 g/cm3); a plastics supplier (ABS Tg 90 to
102); an encyclopaedia of plastics, page 459 (PA66: 1.14 g/cm3, at high load 77, with 30 % glass 249).
Metals' limiting pressures: test_face_pressures.py.  Tolerance: none.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.standards.materials import MATERIALS, material

HEAT = {"PLA": (58.8, 59.1), "PETG": (76.2, 77.4), "ABS": (90, None), "PC": (138, None), "PA12": (175, None), "PA6": (160, None),
        "PA6-GF": (215, None), "PC-ABS": (110, None)}
HIGH_LOAD = {"PA12": 95, "PA6": 60, "PA6-GF": 200, "PA66": 77, "PA66-GF": 249}


@pytest.mark.parametrize("name", HEAT)
def test_heat_as_printed(name: str) -> None:
    item, (hdt, transition) = material(name), HEAT[name]
    assert item.hdt_c is not None and (item.hdt_c.low, item.hdt_c.high) == (hdt, hdt) and not item.hdt_c.from_memory
    if transition is not None:
        assert item.glass_transition_c is not None and item.glass_transition_c.low == transition


@pytest.mark.parametrize("name", HIGH_LOAD)
def test_heat_at_high_load_as_printed(name: str) -> None:
    figure = material(name).hdt_high_load_c
    assert figure is not None and (figure.low, figure.high) == (HIGH_LOAD[name], HIGH_LOAD[name]) and not figure.from_memory


def test_others_as_printed() -> None:
    transition = material("ABS").glass_transition_c
    assert transition is not None and (transition.low, transition.high) == (90, 102) and not transition.from_memory
    assert material("PA6-GF").density.middle == 1.35 and not material("PA6-GF").density.from_memory
    assert material("PA66").density.middle == 1.14 and not material("PA66").density.from_memory
    assert material("PA6").density.middle == 1.14, "its neighbour's, from memory"


def test_pla_is_unfit_near_any_engine() -> None:
    """Softens at 58.8, less 20 K: 38.8 degC free, 28.8 clamped."""
    assert material("PLA").service_limit_c() == pytest.approx(38.8)
    assert material("PLA").service_limit_c(clamped=True) == pytest.approx(28.8)
    assert material("PLA").bearing_limit(60.0) == 0.0


@pytest.mark.parametrize("item", MATERIALS, ids=lambda m: m.name)
def test_bearing_limits_are_from_memory_and_fall_with_heat(item) -> None:
    if item.kind == "elastomer":
        assert item.bearing_limit() is None and item.softens_c is None
        return
    assert item.bearing_long.from_memory and item.creep_retention.from_memory
    limits = [item.bearing_limit(t) for t in range(-20, 200)]
    assert all(a >= b for a, b in zip(limits, limits[1:], strict=False)) and limits[0] == item.bearing_long.low
    assert item.bearing_limit(long_term=False) > item.bearing_limit()
    assert item.bearing_limit(60.0) in (pytest.approx(0.5 * item.bearing_long.low), 0.0)


@pytest.mark.parametrize("names, low, high", [(("ABS", "ASA", "PETG", "PLA"), 10, 15), (("PA6", "PA12"), 15, 20),
                                              (("PA6-GF", "PA-CF"), 25, 40)])
def test_bearing_limits_as_set_down(names: tuple[str, ...], low: float, high: float) -> None:
    for name in names:
        assert (material(name).bearing_long.low, material(name).bearing_long.high) == (low, high)
