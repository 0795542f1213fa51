"""Lengths as the papers say them: mm, or inches where the release is asked for in inches.

Words: an *inch* is 25.4 mm exactly (international yard and pound agreement, 1959; ISO 80000-3).
Conventions: values stay mm in the program; only what is printed turns.  The unit holds for everything made inside
`with measured_in(unit):` and for nothing outside it.  In mm a text is what its own format says; in inches it has three decimals,
four where the mm text has three.  Limits of size are rounded inward, to three decimals where that costs less than a tenth of
their room, else to four: what inches allow, the mm limits allow too, exact and as printed to a hundredth.
Limits: a pair of limits closer than 0.0001 inch comes out as its middle on both sides.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from afterpart.release.words import word
from afterpart.units import MM_PER_INCH

_UNIT: ContextVar[str] = ContextVar("unit", default="mm")
_COARSE, _FINE = 3, 4
"""Decimals of an inch: 0.0254 and 0.00254 mm."""
_MOST_LOST = 0.1
_DUST = 1e-9
"""Kept off the edge of a last decimal, so that an exact inch is not rounded past itself."""


class Length(float):
    """mm that a text's own format prints: "{length:.0f}" as it stands, in inches with three decimals, four for ".3f"."""

    def __format__(self, spec: str) -> str:
        if not in_inches():
            return format(float(self), spec)
        return f"{self / MM_PER_INCH:.{_FINE if spec.startswith('.3') else _COARSE}f}"


@contextmanager
def measured_in(unit: str) -> Iterator[None]:
    """Print the lengths of what is made inside in this unit, "mm" or "inch".  ValueError: another one."""
    if unit not in ("mm", "inch"):
        raise ValueError(f"papers have mm or inch, found {unit!r}")
    before = _UNIT.set(unit)
    try:
        yield
    finally:
        _UNIT.reset(before)


def in_inches() -> bool:
    """Are lengths printed in inches here?"""
    return _UNIT.get() == "inch"


def unit_word() -> str:
    """The unit as it stands behind a length."""
    return word("drawing", "unit_inch" if in_inches() else "unit_mm")


def note_unit() -> str:
    """The note that names the unit of a drawing."""
    return word("drawing", "note_unit_inch" if in_inches() else "note_unit")


def bar_word() -> str:
    """The length of the 100 mm bar, and how much that is in inches where these are told."""
    return word("outline", "bar_length_inch" if in_inches() else "bar_length")


def number_text(value: float) -> str:
    """A length to a hundredth, without idle noughts; in inches to a thousandth, with them (a drawing's decimals say how fine)."""
    return f"{Length(value):.2f}" if in_inches() else plain_number(value)


def plain_number(value: float) -> str:
    """A number that is no length, as an angle, to a hundredth without idle noughts."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def inward_inches(low: float, high: float) -> tuple[float, float, int]:
    """Limits in mm as inches that allow nothing more, and their decimals."""
    least, most = max(low, round(low, 2)) / MM_PER_INCH, min(high, round(high, 2)) / MM_PER_INCH
    if least > most:
        least, most = low / MM_PER_INCH, high / MM_PER_INCH
    for decimals in (_COARSE, _FINE):
        step = 10.0 ** -decimals
        up, down = math.ceil(least / step - _DUST) * step, math.floor(most / step + _DUST) * step
        if down - up >= (1.0 - _MOST_LOST) * (most - least) or (decimals == _FINE and down >= up):
            return round(up, decimals), round(down, decimals), decimals
    middle = round((least + most) / 2, _FINE)
    return middle, middle, _FINE


def inch_size(nominal: float, low: float, high: float) -> str:
    """A size in inches with its limits beside it: "0.2600 ±0.0044", "0.106 +0.009 / 0"."""
    least, most, decimals = inward_inches(low, high)
    size = round(nominal / MM_PER_INCH, decimals)
    up, down = round(most - size, decimals), round(least - size, decimals)
    if up == -down:
        return f"{size:.{decimals}f} ±{up:.{decimals}f}"
    return f"{size:.{decimals}f} {_signed(up, decimals)} / {_signed(down, decimals)}"


def inch_most(value: float) -> str:
    """A largest value, as of a position zone, in inches and rounded down."""
    step = 10.0 ** -_FINE
    return f"{math.floor(min(value, round(value, 2)) / MM_PER_INCH / step + _DUST) * step:.{_FINE}f}"


def _signed(value: float, decimals: int) -> str:
    return f"{value:+.{decimals}f}" if value else "0"
