"""Usual ways in which a cover, its seal, its filter and its fasteners fail, with starting marks.

Words: *about* names what fails (screw, seal, bars ...); *swallowed*: the effect and its severity where the machine draws in
what comes loose behind the cover.
Limits: the list and its marks are judgement, a start for the maker to edit; no statistics stand behind them.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.sources import Source
from afterpart.standards.table import rows

SOURCE = Source("Usual failures of covers and inlets, with starting marks for the maker to edit", from_memory=True)


@dataclass(frozen=True)
class UsualFailure:
    """One row.  severity, occurrence, detection: marks 1 to 10; swallowed: for a machine that draws in what comes loose."""

    about: str
    mode: str
    effect: str
    effect_swallowed: str
    cause: str
    severity: int
    severity_swallowed: int
    occurrence: int
    detection: int


USUAL_FAILURES: tuple[UsualFailure, ...] = tuple(
    UsualFailure(row["about"], row["mode"], row["effect"], row["effect_swallowed"], row["cause"], int(row["severity"]),
                 int(row["severity_swallowed"]), int(row["occurrence"]), int(row["detection"]))
    for row in rows("failure_modes.csv"))


def usual_failures(about: str) -> tuple[UsualFailure, ...]:
    """The rows about one thing.  Raises KeyError, listing what there is, for a thing without rows."""
    found = tuple(row for row in USUAL_FAILURES if row.about == about)
    if not found:
        raise KeyError(f"no usual failures of {about!r}: known are {', '.join(dict.fromkeys(r.about for r in USUAL_FAILURES))}")
    return found
