"""Power and delivery lost to the inlet: by hand, for the machines that fill by suction only."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.checks.inlet_pressure_drop import inlet_pressure_drop
from afterpart.checks.power_loss import power_loss
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED
from tests.checks.air_cases import OPEN_AREA, air_case, only, without_filter

FAST = 3.9 * 3.6e-3 * OPEN_AREA


def test_the_drop_over_the_pressure_outside() -> None:
    case = air_case({"kind": "compressor", "restriction_limit_pa": 1000.0}, flow_m3_per_h=15.0)
    drop, lost = only(inlet_pressure_drop(case)).value, only(power_loss(case))
    assert drop is not None
    assert lost.value == pytest.approx(100.0 * drop / 101325.0)
    assert lost.verdict == ATTENTION and "delivery" in lost.advice


def test_fine_thick_foam_at_speed_is_noticed() -> None:
    """100 pores per inch, 40 mm, 3.9 m/s: 249 Pa (1964) x 40 / 12.7 x (3.9 / 1.778)^1.6 = 2760 Pa, above 2 % of 101 325 Pa."""
    case = air_case({"kind": "engine four-stroke"}, flow_m3_per_h=FAST, pores_per_inch=100.0, thickness=40.0)
    finding = only(power_loss(case))
    assert finding.verdict == FAILS and finding.value is not None
    assert finding.value * 1013.25 == pytest.approx(249.089 * 40 / 12.7 * (3.9 / 1.778) ** 1.6, rel=0.02)


def test_missing_kind_and_other_machines() -> None:
    finding = only(power_loss(air_case(flow_m3_per_h=15.0)))
    assert finding.verdict == NOT_JUDGED and finding.missing == ("machine.kind",)
    assert power_loss(air_case({"kind": "vacuum"}, flow_m3_per_h=15.0)) == ()
    assert power_loss(without_filter(air_case(flow_m3_per_h=15.0))) == ()
    assert only(power_loss(air_case({"kind": "compressor"}))).missing == ("filter.flow_m3_per_h",)
    out = only(power_loss(air_case({"kind": "compressor"}, flow_m3_per_h=15.0, pores_per_inch=10.0)))
    assert out.verdict == NOT_JUDGED and out.missing == ()
