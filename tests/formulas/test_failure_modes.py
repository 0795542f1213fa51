"""Severity first: no grave failure is ever read as low, and the product alone never ranks."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from itertools import product

import pytest

from afterpart.formulas.failure_modes import priority_number, ranking, reading

MARKS = range(1, 11)
ORDER = {"low": 0, "medium": 1, "high": 2}


def test_priority_number_runs_from_one_to_a_thousand() -> None:
    numbers = [priority_number(*marks) for marks in product(MARKS, repeat=3)]
    assert (min(numbers), max(numbers)) == (1, 1000)


def test_a_grave_failure_never_reads_low() -> None:
    assert all(reading(s, o, d) != "low" for s in (9, 10) for o, d in product(MARKS, repeat=2))


def test_a_worse_mark_never_reads_better() -> None:
    for s, o, d in product(range(1, 10), repeat=3):
        here = ORDER[reading(s, o, d)]
        assert all(ORDER[reading(*worse)] >= here for worse in ((s + 1, o, d), (s, o + 1, d), (s, o, d + 1)))


def test_severity_ranks_before_the_product() -> None:
    deadly, nuisance = (10, 1, 1), (3, 10, 10)
    assert priority_number(*deadly) < priority_number(*nuisance) and ranking(*deadly) > ranking(*nuisance)


@pytest.mark.parametrize("marks", [(0, 1, 1), (1, 11, 1), (1, 1, -3)])
def test_marks_outside_their_scale_are_refused(marks: tuple[int, int, int]) -> None:
    with pytest.raises(ValueError, match="1 to 10"):
        priority_number(*marks)
