"""Readings with reported sizes pooled in, by hand: TG6 tool bound gives 0.57 mm over 100 mm, read as three deviations."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import pytest

from afterpart.formulas.reported_sizes import pooled_readings
from afterpart.model.fit_report import FitReport, ReportedSize
from afterpart.model.job import Reading

SCATTER = 0.57 / 3
"""Of 100 mm, DIN 16742 TG6 (supplier's sheet)."""


def report(value: float, u: float = 0.05, machine: str = "a pump", name: str = "d1") -> FitReport:
    return FitReport(machine, "fits", sizes=(ReportedSize(name, value),), u=u)


def test_without_reports_the_readings_stay_as_they_are() -> None:
    readings = (Reading("d1", 100.02, 0.02), Reading("d2", 5.0, 0.1))
    found = pooled_readings(readings, ())
    assert found.readings == readings and found.notes == ()


def test_a_report_alone_is_a_reading_with_the_scatter_of_mouldings() -> None:
    found = pooled_readings((), (report(100.1),))
    assert found.readings == (Reading("d1", 100.1, math.hypot(0.05, SCATTER)),)
    assert [note.code for note in found.notes] == ["report_used"]


def test_the_pool_is_the_weighted_mean() -> None:
    """Two reports of 100.1 and 100.3 of equal weight: 100.2 known to u / sqrt(2); beside the maker's own 100.0 +- 0.1."""
    u = math.hypot(0.05, SCATTER)
    assert pooled_readings((), (report(100.1), report(100.3))).readings[0] == Reading(
        "d1", pytest.approx(100.2), pytest.approx(u / math.sqrt(2)))
    own, others = 1 / 0.1 ** 2, 2 / u ** 2
    pooled = pooled_readings((Reading("d1", 100.0, 0.1),), (report(100.1), report(100.3))).readings[0]
    assert pooled.value == pytest.approx((own * 100.0 + others * 100.2) / (own + others))
    assert pooled.u == pytest.approx(1 / math.sqrt(own + others))


def test_what_disagrees_is_named_and_left_out_but_never_the_makers_own() -> None:
    found = pooled_readings((Reading("d1", 100.0, 0.02),), (report(100.1), report(110.1, machine="a slip")))
    assert found.readings[0].value == pytest.approx(100.0, abs=0.01)
    left = [note.text for note in found.notes if note.code == "report_left_out"]
    assert len(left) == 1 and "'a slip'" in left[0] and "110.1" in left[0]


def test_two_reports_that_part_are_both_left_out() -> None:
    found = pooled_readings((), (report(100.0), report(110.0, machine="another")))
    assert found.readings == () and [note.code for note in found.notes] == ["report_left_out"] * 2


def test_each_report_more_sharpens_the_size_and_other_dimensions_are_untouched() -> None:
    us = [pooled_readings((), tuple(report(100.0 + 0.01 * i) for i in range(n))).readings[0].u for n in range(1, 6)]
    assert us == sorted(us, reverse=True) and us[3] == pytest.approx(us[0] / 2)
    both = pooled_readings((Reading("d9", 3.0, 0.02),), (report(100.0),)).readings
    assert both == (Reading("d9", 3.0, 0.02), Reading("d1", 100.0, math.hypot(0.05, SCATTER)))
