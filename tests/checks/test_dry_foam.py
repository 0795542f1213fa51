"""Foam that needs oil: always said, and how much the machine has room for."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.checks.dry_foam import dry_foam
from afterpart.checks.inlet_pressure_drop import inlet_pressure_drop
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED
from tests.checks.air_cases import air_case, only, without_filter


def test_room_by_hand() -> None:
    case = air_case({"restriction_limit_pa": 60.0}, flow_m3_per_h=12.0)
    drop, finding = only(inlet_pressure_drop(case)), only(dry_foam(case))
    fittings = next(i.value for i in drop.inputs if i.name == "entry, bars and exit")
    assert drop.value is not None
    assert finding.value == pytest.approx((60.0 - fittings) / (drop.value - fittings))
    assert finding.verdict == ATTENTION and "filters only when oiled" in finding.advice


def test_no_room_even_dry_fails_as_the_pressure_drop_does() -> None:
    case = air_case({"restriction_limit_pa": 10.0}, flow_m3_per_h=12.0)
    assert only(dry_foam(case)).verdict == only(inlet_pressure_drop(case)).verdict == FAILS


def test_it_is_said_without_any_figure_too() -> None:
    finding = only(dry_foam(air_case(exposed=("spray", "uv"))))
    assert finding.verdict == NOT_JUDGED
    assert finding.missing == ("filter.flow_m3_per_h", "machine.restriction_limit_pa")
    assert "filters only when oiled" in finding.advice and "spray will wet it" in finding.advice
    assert dry_foam(without_filter(air_case())) == ()
