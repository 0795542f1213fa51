"""How a published table is kept and what stands in it: rows from a data file, figures with their source, ranges of validity.

Words: a *figure* is a value or a band of values of one quantity with the source that vouches for it; a *range* says between
which values a formula or table was published, so that a check can say *not judged* outside; a *mark* in a data file is
published, measured or memory.
Limits: nothing here knows what the figures mean.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import csv
from dataclasses import dataclass, replace
from importlib import resources

from afterpart.sources import Source
from afterpart.words import tell, translated

MARKS = ("published", "measured", "memory")


@dataclass(frozen=True)
class Range:
    """Between which values (ends included) something was published.  unit: "" for a plain number."""

    low: float
    high: float
    unit: str = ""

    def holds(self, value: float) -> bool:
        """Whether the value lies inside, ends included."""
        return self.low <= value <= self.high

    def __str__(self) -> str:
        told = tell("{low:g} to {high:g}", low=self.low, high=self.high)
        return f"{told} {translated(self.unit)}" if self.unit else told


@dataclass(frozen=True)
class Figure:
    """A quantity as a band from low to high (equal for one value), its unit and its source."""

    low: float
    high: float
    unit: str
    source: Source

    @property
    def middle(self) -> float:
        """Middle of the band: a working value where neither end is the safe one."""
        return 0.5 * (self.low + self.high)

    @property
    def from_memory(self) -> bool:
        """True when nobody has yet held it against its document."""
        return self.source.from_memory


def rows(name: str) -> list[dict[str, str]]:
    """Rows of the data file `name` in this folder, by column heading."""
    text = resources.files("afterpart.standards").joinpath(name).read_text(encoding="utf-8")
    return list(csv.DictReader(line for line in text.splitlines() if line.strip()))


def number(text: str) -> float | None:
    """The number in a cell, None for an empty one."""
    return float(text) if text.strip() else None


def marked(source: Source, mark: str) -> Source:
    """The source with a row's mark: a row from memory makes its source one from memory.  ValueError for an unknown mark."""
    if mark not in MARKS:
        raise ValueError(f"unknown mark {mark!r}: expected one of {', '.join(MARKS)}")
    return replace(source, from_memory=source.from_memory or mark == "memory")
