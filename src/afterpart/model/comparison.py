"""Variants of a job side by side: what `compare` says.

Words: a *variant* is a job with its pieces and findings; a *figure* one number by which variants are told apart; a *weight* how
much a figure counts for the maker.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class FigureRow:
    """One figure over all variants.  better: more | less; values: in the variants' order, None where not known; winners: who is
    best when this figure alone counts, () where it does not compare; weight: the maker's."""

    figure: str
    unit: str
    better: str
    values: tuple[float | None, ...]
    winners: tuple[str, ...]
    weight: float


@dataclass(frozen=True)
class Tipping:
    """Where the winner changes: at this weight of one figure, all others left alone, `winner` overtakes."""

    figure: str
    weight_now: float
    weight: float
    winner: str


@dataclass(frozen=True)
class Printability:
    """Can this printer make it.  printer: in words; obstacles: what stands against it; unknown: what was not measured."""

    variant: str
    printer: str
    obstacles: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()


@dataclass(frozen=True)
class Comparison:
    """scores: 0 to 1, in the order of names; winners: by the maker's weights, several when they are level; worst: each variant's
    worst finding in words."""

    names: tuple[str, ...]
    rows: tuple[FigureRow, ...]
    scores: tuple[float, ...]
    winners: tuple[str, ...]
    tippings: tuple[Tipping, ...]
    printability: tuple[Printability, ...]
    worst: tuple[str, ...]
