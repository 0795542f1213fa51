"""General tolerances of ISO 2768-1 as several public pages print them.

Source: ISO 2768-1:1989, table 1 (linear dimensions), secondary prints.  One copy prints 0.15 and 0.2 for the first two steps of
class c; the others agree on 0.2 and 0.3, taken here.  Tolerance: none.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.standards.tolerances import GENERAL_RANGE, general_tolerance

LIMITS = (3, 6, 30, 120, 400, 1000)
PRINTED = {"f": (0.05, 0.05, 0.1, 0.15, 0.2, 0.3), "m": (0.1, 0.1, 0.2, 0.3, 0.5, 0.8), "c": (0.2, 0.3, 0.5, 0.8, 1.2, 2.0),
           "v": (None, 0.5, 1.0, 1.5, 2.5, 4.0)}


@pytest.mark.parametrize("name", PRINTED)
def test_class_as_printed(name: str) -> None:
    assert tuple(general_tolerance(limit, name) for limit in LIMITS) == PRINTED[name]
    assert tuple(general_tolerance(limit + 1e-6, name) for limit in LIMITS[:-1]) == PRINTED[name][1:]


def test_classes_widen() -> None:
    for limit in LIMITS[1:]:
        values = [general_tolerance(limit, name) for name in "fmcv"]
        assert values == sorted(values) and len(set(values)) == 4


@pytest.mark.parametrize("size", [0.4, 1001])
def test_outside_the_table_nothing_is_said(size: float) -> None:
    assert not GENERAL_RANGE.holds(size)
    with pytest.raises(ValueError, match="0.5 to 1000"):
        general_tolerance(size)
    with pytest.raises(KeyError):
        general_tolerance(10, "x")
