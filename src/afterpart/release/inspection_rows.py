"""The rows of the inspection table, and the table as CSV.

One row a balloon number: what the photograph and the readings say of the old part (measured, expanded uncertainty at 95 %, the
design value and how it was settled), and what the new part must hold (size and limits).  A number that only one of the two has
leaves the other's cells empty.
Conventions: mm, angles in degrees, which the unit column says; CSV with commas, a point for decimals, UTF-8, lines ended by CR LF
(RFC 4180).  The file is for whoever writes readings into it: its first line and its kinds are told in the job's language, as the
other papers are.  A program counts on the order of the columns, which is that of `csv_head` in any language, or reads
data/outline.json, whose keys never change.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import csv
import io
from dataclasses import dataclass

from afterpart.model.outline import Dimension, Outline
from afterpart.release.characteristics import Characteristic, number_of
from afterpart.release.words import word, words

COVERAGE = 2.0
"""U = k u where the outline gives no expanded uncertainty of its own (JCGM 100, clause 6.3)."""


@dataclass(frozen=True)
class InspectionRow:
    """number: of the balloon; what: in words; old: the outline's dimension, new: the new part's characteristic, or None."""

    number: int
    what: str
    old: Dimension | None
    new: Characteristic | None

    @property
    def unit(self) -> str:
        """mm or deg."""
        return "deg" if self.old is not None and self.old.kind == "angle" else "mm"


def inspection_rows(outline: Outline, found: tuple[Characteristic, ...]) -> tuple[InspectionRow, ...]:
    """All rows by number.  found: characteristics of the new part, () without one."""
    new = {number: c for c in found for number in (c.number, *c.also)}
    old = {number_of(d, i): d for i, d in enumerate(outline.dimensions, 1)}
    return tuple(InspectionRow(n, _what(old.get(n), new.get(n)), old.get(n), new.get(n)) for n in sorted(old.keys() | new.keys()))


def expanded_u(dimension: Dimension) -> float:
    """Expanded uncertainty at 95 %."""
    return dimension.u95 or COVERAGE * dimension.u


def how_settled(dimension: Dimension) -> str:
    """In words: free, inferred (by the mate's picture too), measured by hand, fixed by you."""
    return word("drawing", "how_pair" if dimension.rests_on_mate else f"how_{dimension.origin}")


def _what(old: Dimension | None, new: Characteristic | None) -> str:
    if old is None:
        assert new is not None
        return new.name
    said = f"{_kind(old)} {', '.join(old.of)}"
    return f"{said} ({new.name})" if new is not None and old.kind in ("diameter", "width") else said


def _kind(dimension: Dimension) -> str:
    return word("drawing", f"kind_{dimension.kind}")


def inspection_csv(outline: Outline, found: tuple[Characteristic, ...]) -> bytes:
    """The table as CSV."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(words("drawing", "csv_head"))
    writer.writerows(_cells(row) for row in inspection_rows(outline, found))
    return stream.getvalue().encode("utf-8")


def _cells(row: InspectionRow) -> tuple[str, ...]:
    old, new = row.old, row.new
    seen = ("",) * 5 if old is None else (f"{old.measured:.4f}", f"{expanded_u(old):.4f}", f"{old.design:.4f}", how_settled(old),
                                          "" if old.origin == "free" else f"{old.probability:.3f}")
    allowed = None if new is None else new.allowed
    made = ("",) * 4 if new is None else (
        f"{new.nominal:.4f}", *(("", "", "") if allowed is None else (f"{allowed.low:.3f}", f"{allowed.high:.3f}", allowed.why)))
    return (str(row.number), old.id if old else "", _kind(old) if old else row.what, " ".join(old.of) if old else "", row.unit,
            *seen, *made, "", "")
