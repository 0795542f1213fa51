"""What the guide says of tightening: the bolts' torque and the small screws' turn after snug, from the findings of the checks.

A torque is told only where the job states one and the checks bear it out; else what the checks say of it stands there.  A torque
of the machine's own book is never carried over.
Limits: the findings' wording is the checks'; nothing is reckoned anew here.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from afterpart.model.finding import ATTENTION, FAILS, PASSES, CheckReport, Finding, Limit
from afterpart.release.lengths import Length, unit_word
from afterpart.release.words import word
from afterpart.words import translated

MOST_OFF = 25.0
"""A tool worse than this, in percent, is none (judgement)."""
HANDLE = 30.0
"""Thickness of a usual driver's handle, mm, on which a turn is measured."""
SMALL_N_M = 1.5
"""Up to here the first round is by hand: hardly a torque tool reads a third of it (judgement)."""


@dataclass(frozen=True)
class Tightening:
    """lines: to tick; torque_n_m: to tighten to, None where none is released."""

    lines: tuple[str, ...]
    torque_n_m: float | None = None


def bolt_tightening(report: CheckReport | None, order: str) -> Tightening:
    """How far the bolts are tightened.  order: their numbers as words."""
    found = _first(report, "torque_stated")
    if found is None:
        return Tightening((_told("torque_no_checks", order=order),))
    if found.value is None:
        return Tightening((_told("torque_unknown", order=order, advice=found.advice),))
    if found.verdict not in (PASSES, ATTENTION):
        return Tightening((_told("torque_bad", torque=found.value, advice=found.advice),))
    lines = [_told("torque_told_small" if found.value < SMALL_N_M else "torque_told", torque=found.value, order=order)]
    if found.limit.low is not None and found.limit.high is not None:
        lines.append(_told("torque_band", torque=found.value, low=_into(found.limit.low, math.ceil),
                           high=_into(found.limit.high, math.floor), off=_most_off(found.value, found.limit)))
    return Tightening(tuple(lines), found.value)


def screw_tightening(report: CheckReport | None, order: str) -> str:
    """How far the small screws are turned on after snug; a turn is told only where thread and plastic both bear it."""
    found = [one for one in (report.findings if report else ()) if one.check == "screw_extra_turn"]
    angle = next((given.value for one in found for given in one.inputs if given.name == translated("angle")), None)
    bad = [one for one in found if one.verdict == FAILS]
    if bad:
        return _told("screw_stop", advice=bad[0].advice)
    if angle is None or any(one.value is None for one in found):
        return _told("screw_unknown", advice=found[0].advice if found else word("guide", "no_checks"))
    force = next((one.value for one in found if one.unit == "N"), None)
    if force is None:
        return _told("screw_angle_plain", order=order, angle=angle)
    arc = math.radians(angle) * HANDLE / 2
    return _told("screw_angle", order=order, angle=angle, handle=Length(HANDLE), arc=Length(arc), unit=unit_word(), force=force)


def _most_off(torque: float, limit: Limit) -> float:
    """By how many percent, whole and rounded down, a tool may be off and stay inside the band; no more is told than MOST_OFF."""
    low, high = (end if end is not None else torque for end in (limit.low, limit.high))
    return min(MOST_OFF, max(0.0, math.floor(100.0 * min(torque - low, high - torque) / torque + 1e-9)))


def _into(value: float, whole: Callable[[float], int]) -> str:
    """An end of a band with two figures, rounded into the band (ceil for its low end, floor for its high one)."""
    if value <= 0.0:
        return "0"
    digits = 1 - math.floor(math.log10(value))
    return f"{whole(round(value * 10.0**digits, 6)) / 10.0**digits:.{max(digits, 0)}f}"


def _first(report: CheckReport | None, check: str) -> Finding | None:
    return next((one for one in (report.findings if report else ()) if one.check == check), None)


def _told(key: str, **fields: object) -> str:
    return word("guide", key, **fields)
