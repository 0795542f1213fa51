"""The washer's overhang on its bed, against finite differences and at its limits."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.formulas.washer import overhang_mean, washer_lambda, washer_peak


def by_differences(lambda_c: float, cells: int = 400) -> float:
    """Mean of w over its value at the level end, from w'''' + 4 w = 0: level end w = 1, w' = 0; free end w'' = w''' = 0."""
    step, n = lambda_c / cells, cells + 5
    matrix, right = np.zeros((n, n)), np.zeros(n)
    for row, i in enumerate(range(2, n - 2)):
        matrix[row, i - 2:i + 3] = np.array([1.0, -4.0, 6.0, -4.0, 1.0]) / step**4
        matrix[row, i] += 4.0
    first, last = 2, n - 3
    matrix[n - 4, first], right[n - 4] = 1.0, 1.0
    matrix[n - 3, first - 1:first + 2] = [-1.0, 0.0, 1.0]
    matrix[n - 2, last - 1:last + 2] = [1.0, -2.0, 1.0]
    matrix[n - 1, last - 2:last + 3] = [-1.0, 2.0, 0.0, -2.0, 1.0]
    w = np.linalg.solve(matrix, right)[first:last + 1]
    return float(np.trapezoid(w, dx=step) / lambda_c)


@pytest.mark.parametrize("lambda_c", [0.3, 0.8, 1.2, 1.5, 2.0])
def test_closed_form_solves_the_strip_on_its_bed(lambda_c: float) -> None:
    assert overhang_mean(lambda_c) == pytest.approx(by_differences(lambda_c), abs=1e-4)


def test_a_stiff_washer_spreads_evenly_and_a_long_one_does_not() -> None:
    assert overhang_mean(0.0) == 1.0 and overhang_mean(0.2) == pytest.approx(1.0, abs=1e-3)
    assert overhang_mean(6.0) == pytest.approx(0.5 * 2.0 / 6.0, rel=0.02)  # beta times the effective length of a long strip is 1
    means = [overhang_mean(x) for x in np.linspace(0.01, 6.0, 120)]
    assert all(a > b for a, b in zip(means, means[1:], strict=False))


@settings(deadline=None, derandomize=True)
@given(st.floats(0.3, 3.0), st.floats(500, 6000), st.floats(1.0, 20.0), st.floats(9.4, 30.0))
def test_peak_lies_between_even_and_bare(thickness: float, modulus: float, layer: float, outside: float) -> None:
    """Never below the even stress, never above that of the bare head."""
    peak = washer_peak(9.38, outside, 6.6, washer_lambda(thickness, modulus, layer))
    assert 1.0 <= peak < (outside**2 - 6.6**2) / (9.38**2 - 6.6**2)


def test_a_thicker_washer_never_raises_the_peak() -> None:
    peaks = [washer_peak(9.38, 18.0, 6.6, washer_lambda(h, 2000.0, 6.0)) for h in (0.5, 0.8, 1.2, 1.6, 2.5)]
    assert peaks == sorted(peaks, reverse=True) and peaks[3] < 1.1


def test_no_overhang_no_peak() -> None:
    assert washer_peak(9.38, 9.0, 6.6, 0.2) == 1.0
    with pytest.raises(ValueError, match="wider"):
        washer_peak(6.0, 18.0, 6.6, 0.2)


def test_wide_washer_of_an_m6_by_hand() -> None:
    """ISO 7093 M6, 1.6 thick, on 6 mm of E 2000: D = 205000 x 1.6^3 / (12 x 0.91) = 76 894 N mm, k 333.3 N/mm3, 4.31 over."""
    stiff = washer_lambda(1.6, 2000.0, 6.0)
    assert stiff == pytest.approx((2000 / 6 / (4 * 76_894)) ** 0.25, rel=1e-4)
    under, whole = 9.38**2 - 6.6**2, 18.0**2 - 6.6**2
    even = whole / (under + by_differences(stiff * 4.31) * (whole - under))
    assert washer_peak(9.38, 18.0, 6.6, stiff) == pytest.approx(even, rel=1e-4)
