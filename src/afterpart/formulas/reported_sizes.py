"""Readings sharpened by what others measured on their machines or old parts.

Words: a *reported* size is one of a [[fit_report]]; it is of another moulding than the one photographed, so that its standard
uncertainty is that of its measuring and the scatter of mouldings together.
Formula: what is known of one dimension is pooled by the weighted mean, weights 1 / u^2, with u = 1 / sqrt(sum of weights).
Conventions: mm; ids are those of outline.json.
Limits: mouldings of one mould deviate alike, which is not taken into account; sizes beyond the tolerance table take its last row.
Source: weighted mean as in JCGM 100:2008, H.5 (clause from memory); scatter of mouldings as in standards/tolerances.py.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from afterpart.model.edges import Note
from afterpart.model.fit_report import FitReport
from afterpart.model.job import Reading
from afterpart.standards.tolerances import MOULDING_RANGE, moulding_scatter
from afterpart.words import paragraph, tell

DISAGREES = 3.5
"""A reported size this many standard uncertainties off the others is named and left out."""


@dataclass(frozen=True)
class Pooled:
    """readings: one for each dimension that was read or reported; notes: what reports did, or why one was left out."""

    readings: tuple[Reading, ...]
    notes: tuple[Note, ...]


@dataclass(frozen=True)
class _Told:
    """who: "" for the maker's own reading."""

    who: str
    value: float
    u: float


def pooled_readings(readings: tuple[Reading, ...], reports: tuple[FitReport, ...], tool_specific: bool = True) -> Pooled:
    """The maker's readings with every reported size pooled in; without reports the readings as they are.

    tool_specific: the size lies in one half of the mould."""
    told: dict[str, list[_Told]] = {reading.id: [_Told("", reading.value, reading.u)] for reading in readings}
    for report in reports:
        for size in report.sizes:
            scatter = moulding_scatter(min(size.value, MOULDING_RANGE.high), tool_specific)
            told.setdefault(size.id, []).append(_Told(report.machine, size.value, math.hypot(report.u, scatter)))
    found, notes = [], []
    for name, values in told.items():
        kept, left = _agreeing(values)
        notes += [Note("report_left_out", _left_out(name, one, _mean(kept).value if kept else None)) for one in left]
        if not kept:
            continue
        found.append(Reading(name, *_pooled(kept)))
        reported = [one for one in kept if one.who]
        if reported:
            notes.append(Note("report_used",
                              tell("{name}: {found:.3f} mm, known to {u:.3f} mm with {count} reported size{count_2}.", name=name,
                                   found=found[-1].value, u=found[-1].u, count=len(reported), count_2="s" * (len(reported) > 1))))
    return Pooled(tuple(found), tuple(notes))


def _pooled(values: list[_Told]) -> tuple[float, float]:
    """Value and standard uncertainty; a value that stands alone as it is."""
    mean = values[0] if len(values) == 1 else _mean(values)
    return mean.value, mean.u


def _mean(values: list[_Told]) -> _Told:
    weights = [1.0 / one.u ** 2 for one in values]
    return _Told("", math.fsum(w * one.value for w, one in zip(weights, values, strict=True)) / math.fsum(weights),
                 1.0 / math.sqrt(math.fsum(weights)))


def _agreeing(values: list[_Told]) -> tuple[list[_Told], list[_Told]]:
    """Those that agree, and the reports that do not: the worst is taken out until none is left.  The maker's own reading stays;
    of two reports alone that part, neither can be told wrong, and both stay out."""
    kept, left = list(values), []
    while len(kept) > 1:
        misses = {one: _miss(one, [other for other in kept if other is not one]) for one in kept}
        worst = max((one for one in kept if one.who), key=lambda one: misses[one])
        if misses[worst] <= DISAGREES:
            break
        out = kept if len(kept) == 2 and all(one.who for one in kept) else [worst]
        left += out
        kept = [one for one in kept if one not in out]
    return kept, left


def _miss(one: _Told, others: list[_Told]) -> float:
    """How far a value lies from the mean of the others, in standard uncertainties of the difference."""
    mean = _mean(others)
    return abs(one.value - mean.value) / math.hypot(one.u, mean.u)


def _left_out(name: str, one: _Told, others: float | None) -> str:
    """others: mean of what is known from elsewhere, None where that does not agree either."""
    if others is None:
        told = tell("{name}: {one:g} mm reported from {who!r} disagrees with what is known from elsewhere; it is left out.",
                    name=name, one=one.value, who=one.who)
    else:
        told = tell("{name}: {one:g} mm reported from {who!r} disagrees with what is known from elsewhere ({mean:.2f} mm); it is "
                    "left out.", name=name, one=one.value, who=one.who, mean=others)
    return paragraph(told, tell("Ask back: another part, or a slip of the hand?"))
