"""Which failure comes first: severity before all else.

Words: *severity*, *occurrence* and *detection* are marks from 1 to 10 (10 worst); the *priority number* is their product.
Limits: the product alone misleads (a deadly fault that is rare and easily seen gets a low number), so that ranking goes by
severity first; the published table of action priorities was not verified and is not used.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.sources import Source
from afterpart.words import entry

PRIORITY_SOURCE = Source("IEC 60812 Failure modes and effects analysis", "2018",
                         "priority number; it advises against cut-offs by it", from_memory=True)

GRAVE = 9
"""From this severity on a failure is never read as low."""

HIGH_NUMBER, MEDIUM_NUMBER = 120, 40
"""Priority numbers from which a failure is read as high or medium (judgement)."""


def priority_number(severity: int, occurrence: int, detection: int) -> int:
    """Severity times occurrence times detection, 1 to 1000.  Raises ValueError for a mark outside 1 to 10."""
    for name, mark in (("severity", severity), ("occurrence", occurrence), ("detection", detection)):
        if not 1 <= mark <= 10:
            raise ValueError(f"{name} is a mark from 1 to 10, found {mark!r}")
    return severity * occurrence * detection


def ranking(severity: int, occurrence: int, detection: int) -> tuple[int, int, int]:
    """What to sort by, largest first: severity, then severity times occurrence, then the priority number."""
    return severity, severity * occurrence, priority_number(severity, occurrence, detection)


def reading(severity: int, occurrence: int, detection: int) -> str:
    """high | medium | low.  Severity 9 or 10 is high, or medium where it can hardly happen (occurrence 1 or 2); never low."""
    number = priority_number(severity, occurrence, detection)
    if severity >= GRAVE:
        return entry("medium") if occurrence <= 2 and number < HIGH_NUMBER else entry("high")
    return entry("high") if number >= HIGH_NUMBER else entry("medium") if number >= MEDIUM_NUMBER else entry("low")
