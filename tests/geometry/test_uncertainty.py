"""Coverage factors against SciPy, propagation against closed forms, coverage intervals against known quantiles."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from afterpart.errors import UsageError
from afterpart.geometry.uncertainty import (
    Contribution,
    combine,
    coverage_factor,
    dof_of_doubt,
    expanded,
    propagate,
    propagate_samples,
    slopes,
)


@pytest.mark.parametrize("probability", [0.5, 0.6827, 0.9, 0.95, 0.99, 0.9973])
@pytest.mark.parametrize("dof", [1.0, 1.5, 2.0, 2.7, 3.0, 5.0, 7.25, 10.0, 16.7, 29.3, 50.0, 100.0, 333.3, 1000.0, 1e5, 1e9])
def test_coverage_factor_is_students_quantile(dof: float, probability: float) -> None:
    assert coverage_factor(dof, probability) == pytest.approx(stats.t.ppf(0.5 + 0.5 * probability, dof), rel=1e-6)


@settings(max_examples=60, deadline=None)
@given(st.floats(1.0, 1000.0), st.floats(0.05, 0.999))
def test_coverage_factor_anywhere(dof: float, probability: float) -> None:
    assert coverage_factor(dof, probability) == pytest.approx(stats.t.ppf(0.5 + 0.5 * probability, dof), rel=1e-6)


def test_coverage_factor_of_infinite_dof_is_the_normal_one() -> None:
    assert coverage_factor(math.inf) == pytest.approx(stats.norm.ppf(0.975), rel=1e-12)
    assert coverage_factor(2e7) == pytest.approx(coverage_factor(5e6), rel=1e-6)


def test_coverage_factor_of_one_degree_is_a_tangent() -> None:
    """Student's t of one degree of freedom is Cauchy's distribution: quantile tan(pi p / 2)."""
    for probability in (0.01, 0.5, 0.95, 0.9999):
        assert coverage_factor(1.0, probability) == pytest.approx(math.tan(0.5 * math.pi * probability), rel=1e-9)


@pytest.mark.parametrize("dof, probability", [(0.0, 0.95), (-2.0, 0.95), (math.nan, 0.95), (5.0, 0.0), (5.0, 1.0)])
def test_coverage_factor_refuses_what_it_cannot_mean(dof: float, probability: float) -> None:
    with pytest.raises(UsageError, match="expected more than 0"):
        coverage_factor(dof, probability)


def test_no_scipy_is_opened() -> None:
    """The command line's start must not pay for it."""
    code = "import sys, afterpart.geometry.uncertainty; sys.exit(any(name.startswith('scipy') for name in sys.modules))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_combine_adds_squares_and_weighs_dof() -> None:
    u, dof = combine([Contribution("a", 3.0, 4.0), Contribution("b", 4.0, 9.0)])
    assert u == pytest.approx(5.0)
    assert dof == pytest.approx(625.0 / (81.0 / 4.0 + 256.0 / 9.0))


def test_combine_of_well_known_contributions_is_well_known() -> None:
    assert combine([Contribution("a", 3.0), Contribution("b", 4.0)]) == (pytest.approx(5.0), math.inf)
    assert combine([]) == (0.0, math.inf) and combine([Contribution("a", 0.0, 3.0)]) == (0.0, math.inf)


@settings(max_examples=100, deadline=None)
@given(st.lists(st.tuples(st.floats(0.001, 1e3), st.floats(1.0, 1e4)), min_size=1, max_size=8))
def test_effective_dof_lies_between_the_least_and_the_sum(parts: list[tuple[float, float]]) -> None:
    """JCGM 100 G.4.1: not above the sum of the dof; and never under the least."""
    _, dof = combine([Contribution("x", u, d) for u, d in parts])
    assert min(d for _, d in parts) * (1 - 1e-9) <= dof <= sum(d for _, d in parts) * (1 + 1e-9)


def test_one_contribution_keeps_its_own() -> None:
    assert combine([Contribution("a", 0.02, 7.0)]) == (pytest.approx(0.02), pytest.approx(7.0))
    assert expanded([Contribution("a", 0.02, 7.0)]) == pytest.approx(0.02 * stats.t.ppf(0.975, 7))


@pytest.mark.parametrize("line", [Contribution("a", -1.0), Contribution("a", math.nan), Contribution("a", 1.0, 0.0)])
def test_combine_refuses_by_name(line: Contribution) -> None:
    with pytest.raises(UsageError, match="^a: found"):
        combine([line])


def test_expanded_covers_as_often_as_it_says() -> None:
    """Mean of 4 draws plus an exactly known part: the interval of the effective dof holds 95 % of the time, within a point."""
    rng = np.random.default_rng(40)
    draws = rng.normal(0.0, 2.0, (8000, 4))
    error = draws.mean(1) + rng.normal(0.0, 1.0, 8000)
    u = draws.std(1, ddof=1) / 2.0
    inside = [abs(e) < expanded([Contribution("mean", float(s), 3.0), Contribution("known", 1.0)])
              for e, s in zip(error, u, strict=True)]
    assert np.mean(inside) == pytest.approx(0.95, abs=0.01)


def test_dof_of_doubt() -> None:
    assert dof_of_doubt(0.25) == 8.0 and dof_of_doubt(0.0) == math.inf
    with pytest.raises(UsageError):
        dof_of_doubt(-0.1)


def test_slopes_are_the_derivatives() -> None:
    at, u = np.array([1.2, -3.0, 0.0]), np.array([1e-3, 0.01, 0.0])
    found = slopes(lambda x: np.array([x[0] * x[1], math.sin(x[0]), x[2]]), at, u)
    assert found == pytest.approx(np.array([[-3.0, 1.2, 0.0], [math.cos(1.2), 0.0, 0.0], [0.0, 0.0, 1.0]]), abs=1e-8)


def test_linear_model_is_exact_with_correlations() -> None:
    matrix = np.array([[1.0, -2.0, 0.5], [0.0, 3.0, 1.0]])
    root = np.array([[0.2, 0.0, 0.0], [0.1, 0.3, 0.0], [-0.2, 0.1, 0.05]])
    values, covariance = propagate(lambda x: matrix @ x, np.array([1.0, 2.0, 3.0]), root @ root.T)
    assert values == pytest.approx(matrix @ [1.0, 2.0, 3.0])
    assert covariance == pytest.approx(matrix @ root @ root.T @ matrix.T, rel=1e-9)


def test_second_order_of_a_cube() -> None:
    """Normal x: var(x^3) = 9 x^4 u^2 + 36 x^2 u^4 + 15 u^6; the first two terms are those of JCGM 100 5.1.2."""
    x, u = 2.0, 0.3
    _, first = propagate(lambda v: v[0] ** 3, np.array([x]), np.array([[u * u]]))
    _, second = propagate(lambda v: v[0] ** 3, np.array([x]), np.array([[u * u]]), second_order=True)
    assert first[0, 0] == pytest.approx(9 * x**4 * u**2, rel=1e-5)
    assert second[0, 0] - first[0, 0] == pytest.approx(36 * x**2 * u**4, rel=1e-4)


def test_second_order_of_a_product_of_correlated_inputs() -> None:
    """Joint normal: var(xy) = y^2 sx^2 + x^2 sy^2 + 2 x y c + sx^2 sy^2 + c^2, exactly."""
    x, y, sx, sy, c = 1.0, 0.4, 0.5, 0.8, 0.25
    _, found = propagate(lambda v: v[0] * v[1], np.array([x, y]), np.array([[sx**2, c], [c, sy**2]]), second_order=True)
    assert found[0, 0] == pytest.approx(y * y * sx**2 + x * x * sy**2 + 2 * x * y * c + sx**2 * sy**2 + c * c, rel=1e-9)


def test_second_order_of_two_outputs_keeps_their_correlation() -> None:
    """x and x^2 about zero are uncorrelated, and x^2 has the variance 2 u^4 that no slope shows."""
    _, found = propagate(lambda v: np.array([v[0], v[0] ** 2]), np.array([0.0]), np.array([[0.09]]), second_order=True)
    assert found == pytest.approx(np.array([[0.09, 0.0], [0.0, 2 * 0.09**2]]), abs=1e-12)


def test_exact_inputs_add_nothing() -> None:
    _, covariance = propagate(lambda x: x[0] * x[1], np.array([3.0, 5.0]), np.diag([0.01, 0.0]), second_order=True)
    assert covariance[0, 0] == pytest.approx(0.25)


@pytest.mark.parametrize("covariance", [np.eye(3), np.array([[1.0, 0.5], [0.4, 1.0]]), np.diag([1.0, -1.0]),
                                        np.full((2, 2), np.nan)])
def test_what_is_no_covariance_is_refused(covariance: np.ndarray) -> None:
    with pytest.raises(UsageError, match="covariance"):
        propagate(lambda x: x[0], np.array([1.0, 2.0]), covariance)


def test_propagation_agrees_with_samples_where_the_model_is_smooth() -> None:
    rng = np.random.default_rng(11)
    centre, covariance = np.array([20.0, 0.5]), np.array([[0.01, 0.001], [0.001, 0.0004]])

    def polar(x: np.ndarray) -> np.ndarray:
        return np.array([x[0] * np.cos(x[1]), x[0] * np.sin(x[1])])
    values, law = propagate(polar, centre, covariance)
    spread = propagate_samples(polar, rng.multivariate_normal(centre, covariance, 200_000))
    assert spread.mean == pytest.approx(values, abs=0.01)
    assert spread.u == pytest.approx(np.sqrt(np.diag(law)), rel=0.01)
    assert (spread.high - spread.low) == pytest.approx(2 * 1.96 * spread.u, rel=0.01)


def test_intervals_of_an_exponential() -> None:
    """Symmetric: -ln 0.975 to -ln 0.025; shortest: 0 to -ln 0.05.  By quantiles instead of dice, so to three digits."""
    count = 200_001
    samples = -np.log((np.arange(count) + 0.5) / count)[:, None]
    both = propagate_samples(lambda x: x[0], samples)
    short = propagate_samples(lambda x: x[0], samples, shortest=True)
    assert (both.low, both.high) == (pytest.approx(-math.log(0.975), abs=1e-3), pytest.approx(-math.log(0.025), abs=1e-3))
    assert (short.low, short.high) == (pytest.approx(0.0, abs=1e-3), pytest.approx(-math.log(0.05), abs=1e-3))
    assert both.mean == pytest.approx(1.0, abs=1e-3) and both.u == pytest.approx(1.0, abs=1e-3)


def test_interval_holds_the_share_it_says() -> None:
    """To two trials: both ends are trials themselves."""
    for count in (21, 100, 999):
        samples = np.random.default_rng(count).normal(size=(count, 1))
        for shortest in (False, True):
            found = propagate_samples(lambda x: x[0], samples, shortest=shortest)
            assert np.mean((samples >= found.low) & (samples <= found.high)) == pytest.approx(0.95, abs=2.0 / count)


def test_too_few_trials_are_refused() -> None:
    with pytest.raises(UsageError, match="trials"):
        propagate_samples(lambda x: x[0], np.zeros((10, 1)))
