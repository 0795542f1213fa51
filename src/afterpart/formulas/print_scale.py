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

    scale; is_scale_told: False where the sizes are too much alike to tell it (then it is 1, known to SCALE_U); undersize and
    oversize, None without a row of that side; covariance: of scale, undersize and oversize, in this order, 0 where None;
    scatter: standard deviation of one printed size; dof: rows beyond the unknowns, with fewer than LEAST_DOF the scatter is the
    one given; count: of rows.
    """

    scale: float
    is_scale_told: bool
    undersize: float | None
    oversize: float | None
    covariance: tuple[tuple[float, float, float], ...]
    scatter: float
    dof: int
    count: int

    @property
    def is_scatter_told(self) -> bool:
        """Do the rows tell the scatter themselves?"""
        return self.dof >= LEAST_DOF

    @property
    def scale_u(self) -> float:
        """Standard uncertainty of the scale, as a share."""
        return math.sqrt(self.covariance[0][0])

    @property
    def undersize_u(self) -> float:
        """Standard uncertainty of the undersize, mm."""
        return math.sqrt(self.covariance[1][1])

    @property
    def oversize_u(self) -> float:
        """Standard uncertainty of the oversize, mm."""
        return math.sqrt(self.covariance[2][2])

    def off_at(self, drawn: float, side: float) -> tuple[float, float]:
        """By how much such a size prints too large on average (negative: too small), mm, with its standard uncertainty; without a
        row of its side, by the scale alone."""
        row = np.array([drawn, min(side, 0.0) if self.undersize is not None else 0.0,
                        max(side, 0.0) if self.oversize is not None else 0.0])
        value = (self.scale - 1.0) * drawn + row[1] * (self.undersize or 0.0) + row[2] * (self.oversize or 0.0)
        return float(value), math.sqrt(max(float(row @ np.array(self.covariance) @ row), 0.0))


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
    it comes out better than it is known without them; else it is 1, and what it may be off goes into the covariance.
    """
    if not rows:
        return None
    drawn, printed, sides = (np.array([getattr(row, name) for row in rows]) for name in ("drawn", "printed", "side"))
    offsets = np.column_stack([np.minimum(sides, 0.0), np.maximum(sides, 0.0)])
    told = offsets.any(axis=0)
    solved = _with_scale(drawn, printed, offsets[:, told], usual_scatter)
    if solved is not None:
        scatter = _scatter(solved.residuals, solved.dof, usual_scatter)
        scale, values, covariance = float(solved.values[0]), solved.values[1:], scatter ** 2 * solved.unit_covariance
        residuals, dof = solved.residuals, solved.dof
    else:
        scale = 1.0
        values, covariance, residuals, dof = _without_scale(drawn, printed - drawn, offsets[:, told], usual_scatter)
        scatter = _scatter(residuals, dof, usual_scatter)
    whole = np.zeros((3, 3))
    at = np.flatnonzero([True, *told])
    whole[np.ix_(at, at)] = covariance
    found = dict(zip(at[1:].tolist(), values.tolist(), strict=True))
    return PrintFigures(scale, solved is not None, found.get(1), found.get(2), tuple(map(tuple, whole.tolist())), scatter, dof,
                        len(rows))


def _with_scale(drawn: np.ndarray, printed: np.ndarray, offsets: np.ndarray, usual: float) -> Solved | None:
    """The fit with the scale among its unknowns; None where the rows do not tell it better than SCALE_U."""
    try:
        solved = least_squares(np.column_stack([drawn, offsets]), printed)
    except ValueError:
        return None
    return solved if usual * math.sqrt(float(solved.unit_covariance[0, 0])) < SCALE_U else None


def _without_scale(drawn: np.ndarray, off: np.ndarray, offsets: np.ndarray, usual: float
                   ) -> tuple[np.ndarray, np.ndarray, np.ndarray, int]:
    """Offsets alone, the scale taken as 1: values, covariance with the scale first, residuals, dof.

    What the scale may be off moves each offset by the mean drawn size of its rows, so that sizes like these stay well known."""
    if not offsets.size:  # distances of centres alone, too short to tell the scale
        return np.zeros(0), np.array([[SCALE_U ** 2]]), off, len(off)
    solved = least_squares(offsets, off)
    slope = -solved.unit_covariance @ offsets.T @ drawn
    jacobian = np.vstack([[1.0, *np.zeros(len(slope))], np.column_stack([slope, np.eye(len(slope))])])
    spread = np.zeros((len(slope) + 1, len(slope) + 1))
    spread[0, 0] = SCALE_U ** 2
    spread[1:, 1:] = _scatter(solved.residuals, solved.dof, usual) ** 2 * solved.unit_covariance
    return solved.values, jacobian @ spread @ jacobian.T, solved.residuals, solved.dof


def _scatter(residuals: np.ndarray, dof: int, usual: float) -> float:
    if dof < LEAST_DOF:
        return usual
    return max(few_rows_factor(dof) * math.sqrt(float(residuals @ residuals) / dof), CALLIPER_U)
