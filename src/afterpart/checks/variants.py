"""Variants side by side: which wins under which weight.

Words: a *score* is 1 for the best and 0 for the worst of the compared variants, straight between; variants are scored figure by
figure, and the maker's weights add the scores up.
Conventions: a figure that is unknown for one variant does not compare, and counts for none; where all are level each scores 1.
Limits: scores say who is better among these, not who is good: what fails in the report still fails.  A small difference in a
figure counts as much as a large one, so a figure that hardly differs deserves no weight; pressure drop, power and open area say
nearly the same thing three times.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from afterpart.checks.printable_by import printable_by
from afterpart.checks.variant_figures import FIGURES, FigureKind, Variant, worst_in_words
from afterpart.errors import UsageError
from afterpart.model.comparison import Comparison, FigureRow, Printability, Tipping
from afterpart.standards.plain_printer import PLAIN_PRINTER
from afterpart.words import tell

LEVEL = 1e-9
"""Scores closer than this are level."""

EQUAL_WEIGHTS: dict[str, float] = {kind.name: 1.0 for kind in FIGURES}


def compare(variants: tuple[Variant, ...], weights: Mapping[str, float] | None = None) -> Comparison:
    """The table of all figures, the scores, who wins, and at which weight that changes.

        score = sum w s / sum w      s from 0 (worst) to 1 (best) in each figure that compares

    weights: by the figures' names, figures left out count 0; None: all alike.
    UsageError: fewer than two variants, a name twice, a weight that is no number of 0 or more or names no figure, no weight at
    all.
    """
    used = dict(EQUAL_WEIGHTS if weights is None else weights)
    names = tuple(variant.name for variant in variants)
    if len(names) < 2 or len(set(names)) < len(names):
        raise UsageError(f"compare: found {', '.join(names) or 'nothing'}, expected two or more variants with different names. "
                         "Name each once.")
    rows = tuple(_row(kind, variants, 0.0) for kind in FIGURES)
    printable = tuple(one for variant in variants for one in _printability(variant))
    worst = tuple(worst_in_words(variant) for variant in variants)
    return weighed(Comparison(names, rows, (), (), (), printable, worst), used)


def weighed(found: Comparison, weights: Mapping[str, float]) -> Comparison:
    """The same comparison under other weights, by the figures' names; figures left out count 0.

    Raises UsageError for a weight that is no number of 0 or more or names no figure, and when there is no weight at all."""
    _refuse(found, weights)
    rows = tuple(replace(row, weight=float(weights.get(row.figure, 0.0))) for row in found.rows)
    parts = [(row, _scores(row)) for row in rows if row.winners]
    scores = _totals(parts, len(found.names))
    is_weighed = any(row.weight for row, _ in parts)
    winners = tuple(name for name, score in zip(found.names, scores, strict=True)
                    if is_weighed and score >= max(scores) - LEVEL)
    return replace(found, rows=rows, scores=scores, winners=winners, tippings=_tippings(found.names, parts, scores))


def _refuse(found: Comparison, weights: Mapping[str, float]) -> None:
    known = [row.figure for row in found.rows]
    for name, weight in weights.items():
        if name not in known:
            raise UsageError(f"weight: found {name!r}, expected one of {', '.join(known)}. Correct the name.")
        if not (math.isfinite(weight) and weight >= 0.0):
            raise UsageError(f"weight of {name}: found {weight!r}, expected a number of 0 or more. Correct it.")
    if not any(weights.values()):
        raise UsageError("weight: found none above 0, expected at least one. Give one figure a weight.")


def _row(kind: FigureKind, variants: tuple[Variant, ...], weight: float) -> FigureRow:
    values = tuple(kind.value_of(variant) for variant in variants)
    known = [value for value in values if value is not None]
    winners: tuple[str, ...] = ()
    if len(known) == len(values):
        best = max(known) if kind.better == "more" else min(known)
        winners = tuple(variant.name for variant, value in zip(variants, values, strict=True) if value == best)
    return FigureRow(kind.name, kind.unit, kind.better, values, winners, weight)


def _scores(row: FigureRow) -> tuple[float, ...]:
    """1 for the best, 0 for the worst, straight between."""
    known = [value for value in row.values if value is not None]
    best, worst = (max(known), min(known)) if row.better == "more" else (min(known), max(known))
    return tuple((value - worst) / (best - worst) if best != worst else 1.0 for value in known)


def _totals(parts: list[tuple[FigureRow, tuple[float, ...]]], count: int) -> tuple[float, ...]:
    whole = sum(row.weight for row, _ in parts)
    if not whole:
        return (0.0,) * count
    return tuple(sum(row.weight * scores[i] for row, scores in parts) / whole for i in range(count))


def _tippings(names: tuple[str, ...], parts: list[tuple[FigureRow, tuple[float, ...]]], totals: tuple[float, ...]
              ) -> tuple[Tipping, ...]:
    """For each figure the weight nearest to now at which another variant draws level with the single winner.

    With sum w s the lead of A over B is D + (w' - w)(sA - sB) for a weight moved from w to w': zero at w' = w - D / (sA - sB)."""
    leaders = [i for i, total in enumerate(totals) if total >= max(totals) - LEVEL]
    whole = sum(row.weight for row, _ in parts)
    if len(leaders) != 1 or not whole:
        return ()
    first, found = leaders[0], []
    for row, scores in parts:
        at = [(row.weight - (totals[first] - totals[i]) * whole / (scores[first] - scores[i]), names[i])
              for i in range(len(names)) if i != first and scores[first] != scores[i]]
        reachable = [(weight, name) for weight, name in at if weight >= 0.0]
        if reachable:
            weight, name = min(reachable, key=lambda one: abs(one[0] - row.weight))
            found.append(Tipping(row.figure, row.weight, weight, name))
    return tuple(found)


def _printability(variant: Variant) -> tuple[Printability, Printability]:
    """By the maker's own printer, and by a plain one that strangers have."""
    own = variant.case.job.wishes.printer
    return (printable_by(variant.name, variant.case, own, tell("your printer"), is_plain=False),
            printable_by(variant.name, variant.case, PLAIN_PRINTER, tell("a plain printer"), is_plain=True))
