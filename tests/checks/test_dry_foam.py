"""Foam that needs oil: always said, and how much the machine has room for."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.checks.dry_foam import dry_foam
from afterpart.checks.inlet_pressure_drop import inlet_pressure_drop
from afterpart.model.case import Case
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


def test_oiled_foam_asks_for_more_room_and_costs_more() -> None:
    """The middle of 1.5 to 3 times the dry drop, 2.25; fittings as before.  Room is told in dry drops, at least 1.5 of them."""
    def case(oiled: bool | None) -> Case:
        return air_case({"restriction_limit_pa": 60.0}, flow_m3_per_h=12.0, oiled=oiled)

    dry, wet = (only(inlet_pressure_drop(case(oiled))) for oiled in (False, True))
    fittings = next(i.value for i in dry.inputs if i.name == "entry, bars and exit")
    assert dry.value is not None and wet.value is not None
    assert wet.value - fittings == pytest.approx(2.25 * (dry.value - fittings))
    assert "Clean and oiled" in wet.advice and "Clean and dry" in dry.advice
    rooms = [only(dry_foam(case(oiled))) for oiled in (None, False, True)]
    assert rooms[0].value == rooms[1].value == rooms[2].value
    assert [room.limit.low for room in rooms] == [1.0, 1.0, 1.5]
    assert "only when oiled" in rooms[2].advice and "only when oiled" not in rooms[1].advice
    assert "made to stay dry" in rooms[1].advice


def test_no_room_for_oil_fails_only_where_the_foam_is_oiled() -> None:
    """A limit 1.2 dry drops away: enough for dry foam, too little for oiled."""
    dry = only(inlet_pressure_drop(air_case({"restriction_limit_pa": 60.0}, flow_m3_per_h=12.0)))
    fittings = next(i.value for i in dry.inputs if i.name == "entry, bars and exit")
    assert dry.value is not None
    limit = fittings + 1.2 * (dry.value - fittings)
    verdicts = [only(dry_foam(air_case({"restriction_limit_pa": limit}, flow_m3_per_h=12.0, oiled=oiled))).verdict
                for oiled in (False, True)]
    assert verdicts == [ATTENTION, FAILS]
