"""From a value and its limit to a finding: the one place where verdicts are given.

Rules: beyond the limit it fails; within it, it gets attention where the limit lies closer than 2 u, where anything it rests on
comes from memory, or where the caller says why; otherwise it passes.  What cannot be judged says which key is missing, or
which range was left.  No check types these rules again.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from afterpart.model.finding import (
    ATTENTION,
    FAILS,
    NOT_JUDGED,
    PASSES,
    Finding,
    Input,
    KeyChange,
    Limit,
    Sensitivity,
    Suggestion,
)
from afterpart.words import entry, paragraph, translated

MEASURED = entry("The value is itself measured on the body: one percent of it is one percent, and no other input moves it.")
COUNTED = entry("A count moves by whole ones, not by percents.")
ALONE = entry("No other input moves it by a percent.")
"""Why some findings tell no sensitivity, or one alone."""

COVERAGE = 2.0
"""Standard uncertainties between value and limit below which a verdict is not plain."""

_STEP = 0.01
_HALVINGS = 60


def judged(check: str, subject: str, value: float, unit: str, limit: Limit, *, source: str, formula: str, advice: str,
           inputs: tuple[Input, ...] = (), u: float | None = None, from_memory: bool = False, doubt: str = "",
           sensitivity: tuple[Sensitivity, ...] = (), suggestions: tuple[Suggestion, ...] = (), severity: int = 5,
           picture: str = "", change: tuple[KeyChange, ...] = (), insensitive: str = "") -> Finding:
    """The finding of a value held against its limit.  doubt: why it can get attention at best, empty when plain; change: where
    the first suggestion is more than one key (checks/changes.py says the others); insensitive: why no sensitivity is given.

    ValueError: the value is not finite, or the limit is open on both sides."""
    if not math.isfinite(value) or (limit.low is None and limit.high is None):
        raise ValueError(f"{check} of {subject}: value {value} against {limit}")
    room = _room(value, limit)
    close = u is not None and 0 <= room < COVERAGE * u
    verdict = FAILS if room < 0 else ATTENTION if close or from_memory or doubt else PASSES
    return Finding(check, subject, verdict, value, unit, limit, margin_of(value, limit), source, paragraph(advice, doubt), inputs,
                   u, translated(formula), from_memory, (), sensitivity, suggestions if verdict != PASSES else (), severity,
                   picture, change if verdict != PASSES else (),
                   ("" if sensitivity[1:] else translated(ALONE)) if sensitivity else insensitive)


def not_judged(check: str, subject: str, reason: str, *, source: str = "", formula: str = "", missing: tuple[str, ...] = (),
               inputs: tuple[Input, ...] = (), severity: int = 5) -> Finding:
    """The finding that says why there is no verdict: a key of the job that is missing, or a range of validity that was left."""
    return Finding(check, subject, NOT_JUDGED, None, "", Limit(), None, source, reason, inputs, None, translated(formula), False,
                   missing, (), (), severity)


def margin_of(value: float, limit: Limit) -> float | None:
    """Share of the limit that is left; in a band, share of its half width.  None where the limit is zero."""
    if limit.low is not None and limit.high is not None:
        half = (limit.high - limit.low) / 2
        return _room(value, limit) / half if half > 0 else None
    edge = limit.high if limit.high is not None else limit.low
    assert edge is not None
    return _room(value, limit) / abs(edge) if edge else None


def _room(value: float, limit: Limit) -> float:
    """Distance to the nearer edge of the limit, negative beyond it."""
    rooms = []
    if limit.low is not None:
        rooms.append(value - limit.low)
    if limit.high is not None:
        rooms.append(limit.high - value)
    return min(rooms)


def strongest(formula: Callable[..., float], inputs: Mapping[str, float], count: int = 2) -> tuple[Sensitivity, ...]:
    """The inputs the value depends on most: its change for one percent more of each, by central differences."""
    found = []
    for name, now in inputs.items():
        step = abs(now) * _STEP
        if step > 0:
            above, below = formula(**{**inputs, name: now + step}), formula(**{**inputs, name: now - step})
            if math.isfinite(above) and math.isfinite(below):
                found.append(Sensitivity(name, (above - below) / 2))
    return tuple(sorted(found, key=lambda s: -abs(s.value_per_percent))[:count])


def value_that_passes(room: Callable[[float], float], now: float, reach: float) -> float | None:
    """The value between `now` and `reach`, nearest to now, at which room(value) >= 0; None when `reach` does not pass either.

    room: distance to the limit, negative beyond it; it must change sign only once on the way."""
    if room(now) >= 0:
        return now
    if room(reach) < 0:
        return None
    bad, good = now, reach
    for _ in range(_HALVINGS):
        middle = (bad + good) / 2
        bad, good = (bad, middle) if room(middle) >= 0 else (middle, good)
    return good
