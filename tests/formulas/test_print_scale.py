"""Scale, undersize and oversize of a printer: made-up printers found again, and what few rows may not claim."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest

from afterpart.formulas.print_scale import (
    CALLIPER_U,
    SCALE_U,
    USUAL_SCATTER,
    PrintedSize,
    few_rows_factor,
    least_squares,
    print_figures,
)

PLATE = ((148.0, 1.0), (96.0, 1.0), (30.0, 1.0), (128.0, 0.0), (74.0, 0.0), (6.5, -1.0), (6.5, -1.0), (40.0, -1.0), (5.0, 0.5))
"""Drawn sizes of a plate and their sides."""


def printed_by(scale: float, undersize: float, oversize: float, sizes: tuple[tuple[float, float], ...] = PLATE,
               noise: np.ndarray | None = None) -> tuple[PrintedSize, ...]:
    """What a printer with these figures makes of the sizes."""
    errors = np.zeros(len(sizes)) if noise is None else noise
    return tuple(PrintedSize(f"size {n}", drawn, scale * drawn + min(side, 0.0) * undersize + max(side, 0.0) * oversize + error,
                             side) for n, ((drawn, side), error) in enumerate(zip(sizes, errors, strict=True)))


@pytest.mark.parametrize(("scale", "undersize", "oversize"), [(1.0, 0.0, 0.0), (0.996, 0.18, 0.05), (1.003, -0.04, 0.12)])
def test_a_printer_without_scatter_is_found_exactly(scale: float, undersize: float, oversize: float) -> None:
    found = print_figures(printed_by(scale, undersize, oversize))
    assert found is not None and found.is_scale_told and found.is_scatter_told
    assert (found.scale, found.undersize, found.oversize) == pytest.approx((scale, undersize, oversize), abs=1e-9)
    assert found.scatter == CALLIPER_U
    for drawn, side in PLATE:
        off = (scale - 1.0) * drawn + min(side, 0.0) * undersize + max(side, 0.0) * oversize
        assert found.off_at(drawn, side)[0] == pytest.approx(off, abs=1e-9)


def test_figures_lie_within_their_stated_uncertainty_as_often_as_a_normal_law_says() -> None:
    """400 printers of scatter 0.06 mm; 6 rows beyond 3 unknowns, so that 2 u (with its factor 1.22 for few rows) holds about as
    often as Student's law has it at 2.45: 95 %."""
    rng = np.random.default_rng(7)
    misses = []
    for _ in range(400):
        found = print_figures(printed_by(0.997, 0.15, 0.04, noise=rng.normal(0.0, 0.06, len(PLATE))))
        assert found is not None and found.undersize is not None and found.oversize is not None
        misses.append(((found.scale - 0.997) / found.scale_u, (found.undersize - 0.15) / found.undersize_u,
                       (found.oversize - 0.04) / found.oversize_u))
    inside = np.mean(np.abs(np.array(misses)) < 2.0, axis=0)
    assert np.all(inside > 0.93), inside
    assert np.all(inside < 1.0)


def test_the_solution_is_the_least_of_all_sums_of_squares() -> None:
    rng = np.random.default_rng(3)
    design, seen = rng.normal(size=(12, 3)), rng.normal(size=12)
    solved = least_squares(design, seen)
    least = float(np.sum((seen - design @ solved.values) ** 2))
    for _ in range(50):
        assert float(np.sum((seen - design @ (solved.values + rng.normal(scale=1e-3, size=3))) ** 2)) > least
    assert solved.unit_covariance == pytest.approx(np.linalg.inv(design.T @ design))


def test_a_coupon_alone_tells_no_scale_but_knows_its_own_holes() -> None:
    """Six holes 0.1 narrow about 2.4 mm: at their own size known to scatter / sqrt(6), 100 mm away to SCALE_U of the distance."""
    coupon = tuple((2.3 + 0.05 * i, -1.0) for i in range(6))
    found = print_figures(printed_by(1.0, 0.1, 0.0, coupon))
    assert found is not None and not found.is_scale_told and found.oversize is None
    assert found.scale == 1.0 and found.scale_u == pytest.approx(SCALE_U)
    at_home, u_home = found.off_at(2.425, -1.0)
    assert (at_home, u_home) == pytest.approx((-0.1, CALLIPER_U / math.sqrt(6)))
    _, u_far = found.off_at(102.425, -1.0)
    assert u_far == pytest.approx(math.hypot(CALLIPER_U / math.sqrt(6), 100.0 * SCALE_U))


def test_one_row_claims_no_more_than_the_usual_scatter_allows() -> None:
    found = print_figures(printed_by(1.0, 0.05, 0.0, ((6.4, -1.0),)))
    assert found is not None and not found.is_scatter_told and found.scatter == USUAL_SCATTER
    assert found.off_at(6.4, -1.0) == pytest.approx((-0.05, USUAL_SCATTER))
    assert print_figures(printed_by(1.0, 0.05, 0.0, ((6.4, -1.0),)), 0.03).off_at(6.4, -1.0)[1] == pytest.approx(0.03)


def test_centres_alone_tell_the_scale_and_nothing_else() -> None:
    found = print_figures(printed_by(0.995, 0.2, 0.2, ((128.0, 0.0), (74.0, 0.0), (90.0, 0.0))))
    assert found is not None and found.is_scale_told and found.scale == pytest.approx(0.995)
    assert found.undersize is None and found.oversize is None and found.undersize_u == 0.0
    short = print_figures(printed_by(0.995, 0.2, 0.2, ((10.0, 0.0),)))
    assert short is not None and not short.is_scale_told and short.scale == 1.0


def test_no_rows_tell_nothing_and_few_rows_have_no_factor() -> None:
    assert print_figures(()) is None
    assert few_rows_factor(3) == pytest.approx(math.sqrt(3.0)) and few_rows_factor(1000) == pytest.approx(1.0, abs=2e-3)
    with pytest.raises(ValueError, match="from 3 on"):
        few_rows_factor(2)
    with pytest.raises(ValueError, match="do not tell"):
        least_squares(np.ones((4, 2)), np.ones(4))


def test_more_rows_never_make_the_scatter_of_a_quiet_printer_worse() -> None:
    """dof 3, 4, 6, 10: the factor falls."""
    factors = [few_rows_factor(dof) for dof in (3, 4, 6, 10)]
    assert factors == sorted(factors, reverse=True)
