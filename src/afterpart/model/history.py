"""What changed from one released revision to the next, as rows that read alike on paper, in a table and by a program.

Words: a *change* is one thing that was so before and is so now; its *group* says of what kind it is.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

GROUPS = ("size", "place", "piece", "key", "printer", "judgement")
"""A dimension of the outline; the place of a round feature; a size of a piece; a key of the job; the printer's figures; what the
checks say."""


@dataclass(frozen=True)
class Change:
    """what: in words; before, now: as texts, "" where there was or is none; by: now less before, None where they are no numbers;
    unit: of the numbers; cause: the trial, reading, report or key it comes from, "" where it follows from others."""

    group: str
    what: str
    before: str
    now: str
    by: float | None = None
    unit: str = ""
    cause: str = ""


@dataclass(frozen=True)
class RevisionChanges:
    """One revision against the one before.  trials: what was tried or reported since, and what it led to, one sentence each;
    sharper: how many dimensions are known better without having moved."""

    revision: str
    date: str
    before: str
    before_date: str
    changes: tuple[Change, ...]
    trials: tuple[tuple[str, str], ...] = ()
    sharper: int = 0

    def of_group(self, group: str) -> tuple[Change, ...]:
        """The changes of one group."""
        return tuple(change for change in self.changes if change.group == group)


@dataclass(frozen=True)
class History:
    """The newest revision first."""

    revisions: tuple[RevisionChanges, ...]
