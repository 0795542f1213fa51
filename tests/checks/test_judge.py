"""Verdicts, margins, sensitivities and solved changes, held against hand-worked cases."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from afterpart.checks.judge import judged, margin_of, not_judged, strongest, value_that_passes
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED, PASSES, Finding, Limit, Suggestion


def verdict(value: float, limit: Limit, **more: object) -> Finding:
    return judged("check", "subject", value, "mm", limit, source="s", formula="f", advice="a", **more)  # type: ignore[arg-type]


def test_verdicts_of_a_highest_value() -> None:
    limit = Limit(high=10.0)
    assert verdict(9.0, limit).verdict == PASSES
    assert verdict(11.0, limit).verdict == FAILS
    assert verdict(9.0, limit, u=0.4).verdict == PASSES
    assert verdict(9.0, limit, u=0.6).verdict == ATTENTION
    assert verdict(11.0, limit, u=5.0).verdict == FAILS


def test_what_rests_on_memory_never_passes_and_may_fail() -> None:
    limit = Limit(low=1.0)
    assert verdict(2.0, limit, from_memory=True).verdict == ATTENTION
    assert verdict(0.5, limit, from_memory=True).verdict == FAILS
    assert verdict(2.0, limit, doubt="Only from one trial.").verdict == ATTENTION


def test_suggestions_are_kept_for_what_does_not_pass() -> None:
    change = (Suggestion("seal.cord", 2.65, 3.55),)
    assert verdict(9.0, Limit(high=10.0), suggestions=change).suggestions == ()
    assert verdict(11.0, Limit(high=10.0), suggestions=change).suggestions == change


def test_margins() -> None:
    assert margin_of(9.5, Limit(high=15.0)) == pytest.approx((15 - 9.5) / 15)
    assert margin_of(0.2, Limit(low=0.15, high=0.30)) == pytest.approx(0.05 / 0.075)
    assert margin_of(1.0, Limit(high=0.0)) is None


def test_a_value_without_a_limit_is_a_bug() -> None:
    with pytest.raises(ValueError, match="Limit"):
        verdict(1.0, Limit())
    with pytest.raises(ValueError, match="nan"):
        verdict(math.nan, Limit(high=1.0))


def test_not_judged_names_what_is_missing() -> None:
    finding = not_judged("airflow", "inlet", "No flow is told.", missing=("machine.flow_m3_per_h",))
    assert (finding.verdict, finding.value, finding.missing) == (NOT_JUDGED, None, ("machine.flow_m3_per_h",))


def test_the_strongest_inputs_of_a_product_of_powers() -> None:
    found = strongest(lambda a, b, c: a ** 3 * b / math.sqrt(c), {"a": 2.0, "b": 3.0, "c": 4.0})
    assert [s.input for s in found] == ["a", "b"]
    assert found[0].value_per_percent == pytest.approx(0.03 * 12.0, rel=1e-3)


@given(st.floats(0.1, 50.0), st.floats(0.1, 50.0))
def test_the_solved_change_stands_at_the_limit(limit: float, now: float) -> None:
    value = value_that_passes(lambda x: x ** 2 - limit ** 2, now, 100.0)
    assert value is not None and value ** 2 >= limit ** 2 - 1e-6
    assert value == pytest.approx(max(now, limit), abs=1e-6)


def test_no_change_is_invented_where_none_passes() -> None:
    assert value_that_passes(lambda x: -1.0 - x, 1.0, 5.0) is None
