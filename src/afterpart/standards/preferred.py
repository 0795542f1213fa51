"""Preferred numbers (ISO 3): the series designers pick sizes from.

Words: the *series* Rn has n steps to a decade, 10^(k/n), rounded by the standard and not by rule: 3.162 is 3.15.
Limits: R5, R10 and R20.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.sources import Source
from afterpart.standards.table import rows

SOURCE = Source("ISO 3 Preferred numbers - Series of preferred numbers", "1973", "R5, R10, R20", from_memory=True)

SERIES: dict[str, tuple[float, ...]] = {row["series"]: tuple(map(float, row["values"].split())) for row in rows("renard.csv")}


def exact_number(steps: int, k: int) -> float:
    """The unrounded k-th number of a series with this many steps to a decade: 10^(k / steps)."""
    return 10.0 ** (k / steps)


def nearest_preferred(value: float, series: str = "R10") -> float:
    """The number of the series nearest to a positive value by ratio.  KeyError for another series, ValueError for value <= 0."""
    if not value > 0.0:
        raise ValueError(f"preferred numbers are more than 0, found {value!r}")
    decade = math.floor(math.log10(value))
    listed = [step * 10.0**d for d in (decade - 1, decade, decade + 1) for step in SERIES[series]]
    return min(listed, key=lambda number: abs(math.log(number / value)))
