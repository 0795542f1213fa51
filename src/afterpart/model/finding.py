"""What a check says: one finding each, in the form that findings.json shows to other tools.

Words: the *verdict* is passes, attention, fails or not judged.  *margin* is the share of the limit that is left (negative
beyond
it).  A value that rests on anything from memory can give attention at best, and is still free to fail.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.words import entry

PASSES, ATTENTION, FAILS, NOT_JUDGED = entry("passes"), entry("attention"), entry("fails"), entry("not judged")
VERDICTS = (FAILS, NOT_JUDGED, ATTENTION, PASSES)
"""Worst first."""
NUISANCE = 3
"""Up to this severity a failure costs time, looks or a print that does not fit, and only conditions the print (judgement)."""


@dataclass(frozen=True)
class Limit:
    """A band the value must keep to; None: open on that side."""

    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Input:
    """A figure that went in.  source: the job's key, the outline's id or a table's name, in words; u: standard uncertainty."""

    name: str
    value: float
    unit: str
    source: str
    u: float = 0.0


@dataclass(frozen=True)
class Sensitivity:
    """value_per_percent: change of the value when the input grows by one percent, in the finding's unit."""

    input: str
    value_per_percent: float


@dataclass(frozen=True)
class Suggestion:
    """What to change to pass: a key of the job, its value now and the value that passes, solved from the check's own
    formula."""

    key: str
    now: float | str | None
    to: float | str
    why: str = ""


@dataclass(frozen=True)
class KeyChange:
    """One key of the job file and what shall stand there.  at: table and key, "filter.cuts"; value: as it stands in the file
    (numbers, true, quoted text and lists of them, which TOML and JSON write alike).

    Of a table that stands once per row, row says which: a key and its value, ("of", "c1"); also: (key, value as it stands in the
    file) of what such a row needs besides, where the job has none yet."""

    at: str
    value: str
    row: tuple[str, ...] = ()
    also: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Finding:
    """check: name in the catalogue; subject: what was judged; u: standard uncertainty of the value (same unit); source: of
    the limit and
    formula; missing: job keys without which it could not be judged; severity: 1 to 10, what it costs when this goes wrong;
    picture: name of a picture that shows it, or empty; change: the first suggestion as changes of the job file that together mend
    it, () where no key of the file can."""

    check: str
    subject: str
    verdict: str
    value: float | None
    unit: str
    limit: Limit
    margin: float | None
    source: str
    advice: str
    inputs: tuple[Input, ...] = ()
    u: float | None = None
    formula: str = ""
    from_memory: bool = False
    missing: tuple[str, ...] = ()
    sensitivity: tuple[Sensitivity, ...] = ()
    suggestions: tuple[Suggestion, ...] = ()
    severity: int = 5
    picture: str = ""
    change: tuple[KeyChange, ...] = ()
    insensitive: str = ""
    """Why no sensitivity is told, or one alone; "" where two are."""


@dataclass(frozen=True)
class FailureMode:
    """One row of the failure-mode table.  severity, occurrence, detection: 1 to 10; today: what holds it now."""

    item: str
    mode: str
    effect: str
    cause: str
    today: str
    severity: int
    occurrence: int
    detection: int


@dataclass(frozen=True)
class Caution:
    """danger: pressure, heat, fuel, food, electricity, brakes and steering, loose items ...; text in plain words; declined:
    this use
    is refused."""

    danger: str
    text: str
    declined: bool = False


@dataclass(frozen=True)
class CheckReport:
    """findings: worst first; headline: print it | print it if ... | do not; actions: at most three; questions: the few whose
    answers
    would settle most of what could not be judged."""

    headline: str
    actions: tuple[str, ...]
    questions: tuple[str, ...]
    findings: tuple[Finding, ...]
    failure_modes: tuple[FailureMode, ...] = ()
    cautions: tuple[Caution, ...] = ()
    judged_sha256: str = ""
    """Of the job and the pieces that were judged; "" where nothing told it."""
