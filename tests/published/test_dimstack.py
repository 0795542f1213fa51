"""Stacks of tolerances against the library dimstack, called: worst case, by chance, and the share within a limit.

Reference library: dimstack 0.9.0 (MIT): calc.WC, calc.RSS, dist.Normal through a reviewed stack.  It draws in pandas and plotly,
which nothing else here needs, so that it comes with the test extra alone; where it is not installed this file is skipped, and
test_tolerance_stacks.py still holds its printed figures.
Tolerance: 1e-9, both sides reckon the same sums.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from afterpart.formulas.fits import fitting_share, root_sum_square, worst_case

dimstack = pytest.importorskip("dimstack", reason="dimstack (test extra) is not installed")

LENGTHS = st.floats(0.5, 300.0)
HALVES = st.floats(1e-3, 0.9)
"""Of both sides of a dimension, mm: shorter than the shortest length, so that no part vanishes."""

Rows = list[tuple[float, float, int]]


def stack_of(rows: Rows) -> object:
    """length, half tolerance, +1 or -1 as it adds or takes away."""
    return dimstack.Stack([dimstack.Dim(turn * length, half) for length, half, turn in rows])


@given(st.lists(st.tuples(LENGTHS, HALVES, st.sampled_from((1, -1))), min_size=1, max_size=9))
def test_worst_case_and_chance_of_any_stack_as_the_library(rows: Rows) -> None:
    stack, halves = stack_of(rows), [half for _, half, _ in rows]
    middle = sum(turn * length for length, _, turn in rows)
    worst, chance = dimstack.calc.WC(stack), dimstack.calc.RSS(stack)
    assert worst.abs_upper - worst.abs_lower == pytest.approx(2.0 * worst_case(halves), abs=1e-9)
    assert chance.abs_upper - chance.abs_lower == pytest.approx(2.0 * root_sum_square(halves), abs=1e-9)
    assert 0.5 * (worst.abs_upper + worst.abs_lower) == pytest.approx(middle, abs=1e-9)


def test_the_two_part_stack_as_the_library() -> None:
    """8 +- 0.1 less 7.9 +- 0.05: 0.1 +- 0.15 at worst, +- 0.1118 by chance."""
    stack = stack_of([(8.0, 0.1, 1), (7.9, 0.05, -1)])
    assert dimstack.calc.WC(stack).tolerance.upper == pytest.approx(worst_case((0.1, 0.05))) == pytest.approx(0.15)
    assert dimstack.calc.RSS(stack).tolerance.upper == pytest.approx(root_sum_square((0.1, 0.05))) == pytest.approx(
        0.1118, abs=0.000051)


@given(st.floats(-0.5, 1.5), st.floats(0.01, 0.5))
def test_the_share_within_a_limit_as_the_library(gap: float, sigma: float) -> None:
    """Share of gaps above nothing: 1 - the library's cumulative share below it."""
    theirs = 1.0 - dimstack.Normal(gap, sigma).cdf(0.0)
    assert fitting_share(gap, sigma) == pytest.approx(theirs, abs=1e-9)
    assert math.isclose(fitting_share(gap, sigma) + fitting_share(-gap, sigma), 1.0, abs_tol=1e-12)
