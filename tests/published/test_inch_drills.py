"""Number and letter drills against an open table.

Second table: drill_sizes.csv of the library bd_warehouse 0.4.0 (Apache-2.0), 106 rows, read as a file without its program.  It
rounds five sizes to whole thousandths whose last digit is half a thousandth (#5 0.2055, #10 0.1935, #18 0.1695, #25 0.1495, #28
0.1405 in, from memory): those differences are asserted.  Samples: drills before tapping, from memory (a 1/4-20 thread #7, a
10-32 thread #21, a 1/4-28 thread #3) with the rule of the thread's height, 75 % engagement: d - 0.75 x 1.299 P (closed form).
Tolerance: none but that rounding.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import csv
from importlib.metadata import distribution
from pathlib import Path

import pytest

from afterpart.standards.inch_drills import DRILL_RANGE, INCH_DRILLS, MM_PER_INCH, inch_drill, nearest_inch_drill

ROUNDED_THERE = {"#5": (0.2055, 0.205), "#10": (0.1935, 0.193), "#18": (0.1695, 0.17), "#25": (0.1495, 0.15),
                 "#28": (0.1405, 0.14)}
"""size: ours, theirs, inches."""


def other_table() -> dict[str, float]:
    path = Path(str(distribution("bd_warehouse").locate_file("bd_warehouse/data/drill_sizes.csv")))
    lines = path.read_text(encoding="utf-8-sig").splitlines()
    return {row["Size"].strip(): float(row["Diameter"]) for row in csv.DictReader(lines)}


def test_every_row_stands_in_the_other_table_but_for_its_rounding() -> None:
    theirs = other_table()
    ours = {item.size: item.diameter / MM_PER_INCH for item in INCH_DRILLS}
    assert len(ours) == len(theirs) == 106 and set(ours) == set(theirs)
    different = {size: (pytest.approx(ours[size]), theirs[size]) for size in ours if abs(ours[size] - theirs[size]) > 1e-9}
    assert different == ROUNDED_THERE
    assert {item.size for item in INCH_DRILLS if item.source.from_memory} == set(ROUNDED_THERE)


def test_letters_widen_from_the_numbers_and_numbers_narrow() -> None:
    letters = [inch_drill(chr(code)).diameter for code in range(ord("A"), ord("Z") + 1)]
    numbers = [inch_drill(f"#{n}").diameter for n in range(1, 81)]
    assert all(a < b for a, b in zip(letters, letters[1:], strict=False))
    assert all(a > b for a, b in zip(numbers, numbers[1:], strict=False))
    assert letters[0] > numbers[0] and len(letters) + len(numbers) == len(INCH_DRILLS)
    assert (DRILL_RANGE.low, DRILL_RANGE.high) == (numbers[-1], letters[-1])


def test_the_letter_e_is_a_quarter_of_an_inch() -> None:
    assert inch_drill("e").diameter == pytest.approx(6.35)


@pytest.mark.parametrize("nominal, per_inch, drill", [(0.250, 20, "#7"), (0.190, 32, "#21"), (0.250, 28, "#3")])
def test_drill_before_tapping(nominal: float, per_inch: float, drill: str) -> None:
    """The nearest drill to 75 % of the thread's height is the one the trade takes."""
    assert nearest_inch_drill(MM_PER_INCH * (nominal - 0.75 * 1.299 / per_inch)).size == drill


def test_every_drill_is_the_nearest_to_itself_and_the_series_ends() -> None:
    assert all(nearest_inch_drill(item.diameter) is item for item in INCH_DRILLS)
    for diameter in (0.3, 11.0):
        with pytest.raises(ValueError, match="0.3429 to 10.4902"):
            nearest_inch_drill(diameter)
    with pytest.raises(KeyError, match="#80"):
        inch_drill("#81")
