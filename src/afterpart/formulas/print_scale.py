"""What a printer makes of drawn sizes: its scale, and how much narrower holes and wider outsides come out, from measured prints.

Words: the *side* of a size says how it follows the growth of an edge: 1 for a width between outsides, -1 for one between insides
(a hole), half of that for a radius, 0 for a distance of centres; the *undersize* is what every hole lacks, the *oversize* what
every outside has too much, whatever its size; the *scatter* is the spread of one printed size about all that.
Model, for the rows of one material and one print profile, by least squares with equal weights:
    printed = scale x drawn + side x oversize    (side > 0)
    printed = scale x drawn + side x undersize   (side < 0)
Printed sizes are held against what was drawn, never against a machine, so that the drawing's own error has no part in it.
Conventions: mm; a scale is a share (1 for true).
Limits: one scale for both directions of the bed; a size in z tells nothing; the hand's own error is part of the scatter.
Sources: least squares as in JCGM 100:2008, H.3; the factor sqrt(n / (n - 2)) for few rows JCGM 101:2008, 6.4.9 (clauses from
memory).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

SCALE_U = 0.005
"""How well a printer's scale is known before anything is measured, as a share (judgement: half a percent)."""

USUAL_SCATTER = 0.1
"""Scatter of a printed size where too few rows tell it, mm (judgement: the usual 0.1 of a plain printer)."""

CALLIPER_U = 0.02
"""No scatter below the calliper's own uncertainty is believed, mm."""

LEAST_DOF = 3
"""Rows beyond the unknowns below which the rows tell no scatter: below it the factor for few rows has no value."""


@dataclass(frozen=True)
class PrintedSize:
    """One measured size of a print.  name: what was measured, in words; side: see above."""

    name: str
    drawn: float
    printed: float
    side: float


@dataclass(frozen=True)
class Solved:
    """A least squares solution.  values (p,); unit_covariance (p, p): of the values for a scatter of 1; residuals (n,); dof:
    rows beyond the unknowns; scatter: sqrt(sum of squared residuals / dof), 0 where dof is 0."""

    values: np.ndarray
    unit_covariance: np.ndarray
    residuals: np.ndarray
    dof: int
    scatter: float

    def value_at(self, row: np.ndarray) -> tuple[float, float]:
        """What the model says of a row (p,), and its standard uncertainty by the solution's own scatter."""
        return float(row @ self.values), self.scatter * math.sqrt(float(row @ self.unit_covariance @ row))


@dataclass(frozen=True)
class PrintFigures:
    """What the rows tell of a printer.

    scale with scale_u, is_scale_told False where the sizes are too much alike to tell it (then 1 with SCALE_U); undersize and
    oversize with their standard uncertainties, None without a row of that side; scatter: standard deviation of one printed
    size; dof: rows beyond the unknowns, with fewer than LEAST_DOF the scatter is the one given; count: of rows.
    """

    scale: float
    scale_u: float
    is_scale_told: bool
    undersize: float | None
    undersize_u: float
    oversize: float | None
    oversize_u: float
    scatter: float
    dof: int
    count: int

    @property
    def is_scatter_told(self) -> bool:
        """Do the rows tell the scatter themselves?"""
        return self.dof >= LEAST_DOF


def least_squares(design: np.ndarray, seen: np.ndarray) -> Solved:
    """The values that come nearest to what was seen (n,) in design (n, p) x values.

    ValueError: fewer rows than unknowns, or unknowns that the rows cannot tell apart.
    """
    rows, unknowns = design.shape
    if rows < unknowns or np.linalg.matrix_rank(design) < unknowns:
        raise ValueError(f"{rows} rows do not tell {unknowns} unknowns apart")
    q, r = np.linalg.qr(design)
    values = np.linalg.solve(r, q.T @ seen)
    inverse = np.linalg.inv(r)
    residuals = seen - design @ values
    dof = rows - unknowns
    scatter = math.sqrt(float(residuals @ residuals) / dof) if dof else 0.0
    return Solved(values, inverse @ inverse.T, residuals, dof, scatter)


def few_rows_factor(dof: int) -> float:
    """By how much a standard deviation told by so many rows beyond the unknowns counts more: sqrt(n / (n - 2)), the standard
    deviation of Student's distribution.  ValueError: 2 or fewer, where it has none."""
    if dof < LEAST_DOF:
        raise ValueError(f"Student's distribution has a standard deviation from {LEAST_DOF} on, found {dof}")
    return math.sqrt(dof / (dof - 2))


def print_figures(rows: tuple[PrintedSize, ...], usual_scatter: float = USUAL_SCATTER) -> PrintFigures | None:
    """Scale, undersize and oversize that the rows tell; None without rows.

    usual_scatter: taken where too few rows tell it, mm.  The scale is fitted only where the drawn sizes lie so far apart that
    it comes out better than it is known without them; else it is 1, and what it may be off goes into the others' uncertainty.
    """
    if not rows:
        return None
    drawn, printed, sides = (np.array([getattr(row, name) for row in rows]) for name in ("drawn", "printed", "side"))
    offsets = [np.minimum(sides, 0.0), np.maximum(sides, 0.0)]
    told = [column for column in offsets if np.any(column)]
    fitted = _with_scale(drawn, printed, told, usual_scatter)
    is_scale_told = fitted is not None
    if fitted is not None:
        values, unit, dof, residuals = fitted.values[1:], fitted.unit_covariance, fitted.dof, fitted.residuals
    else:
        values, unit, dof, residuals = _without_scale(drawn, printed, told)
    scatter = _scatter(residuals, dof, usual_scatter)
    u = scatter * np.sqrt(np.diag(unit)) if unit.size else np.zeros(0)
    scale, scale_u = (float(fitted.values[0]), float(u[0])) if fitted is not None else (1.0, SCALE_U)
    offset_u = u[1:] if fitted is not None else np.hypot(u, [SCALE_U * _middle(drawn, column) for column in told])
    found = iter(zip(values, offset_u, strict=True))
    pairs = [next(found) if np.any(column) else None for column in offsets]
    (under, under_u), (over, over_u) = ((None, 0.0) if pair is None else (float(pair[0]), float(pair[1])) for pair in pairs)
    return PrintFigures(scale, scale_u, is_scale_told, under, under_u, over, over_u, scatter, dof, len(rows))


def _with_scale(drawn: np.ndarray, printed: np.ndarray, offsets: list[np.ndarray], usual: float) -> Solved | None:
    """The fit with the scale among its unknowns; None where the rows do not tell it better than SCALE_U."""
    try:
        solved = least_squares(np.column_stack([drawn, *offsets]), printed)
    except ValueError:
        return None
    return solved if usual * math.sqrt(float(solved.unit_covariance[0, 0])) < SCALE_U else None


def _without_scale(drawn: np.ndarray, printed: np.ndarray, offsets: list[np.ndarray]
                   ) -> tuple[np.ndarray, np.ndarray, int, np.ndarray]:
    """Values, unit covariance, dof and residuals of the offsets alone, the scale taken as 1."""
    if not offsets:  # distances of centres alone, too short to tell the scale
        return np.zeros(0), np.zeros((0, 0)), len(drawn), printed - drawn
    solved = least_squares(np.column_stack(offsets), printed - drawn)
    return solved.values, solved.unit_covariance, solved.dof, solved.residuals


def _middle(drawn: np.ndarray, column: np.ndarray) -> float:
    """Mean drawn size of the rows that tell an offset, mm: a scale that is off acts on it as on the offset."""
    return float(np.abs(column) @ drawn / (np.abs(column) @ np.abs(column)))


def _scatter(residuals: np.ndarray, dof: int, usual: float) -> float:
    if dof < LEAST_DOF:
        return usual
    return max(few_rows_factor(dof) * math.sqrt(float(residuals @ residuals) / dof), CALLIPER_U)
