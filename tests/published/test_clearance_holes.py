"""Clearance holes of ISO 273 against an independent table.

Printed values: the table clearance_hole_sizes.csv of the library bd_warehouse 0.4.0 (Apache-2.0), columns Close, Normal, Loose.
Its rows M12, M14 and M16 are rounded to whole millimetres (13, 14, 15 ...), where ISO 273:1979 has 13, 13.5, 14.5 (from memory);
that difference is asserted, so that neither table changes unseen.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import csv
from importlib.metadata import distribution
from pathlib import Path

import pytest

from afterpart.standards.clearance_holes import CLEARANCE_HOLES, LISTED_DIAMETERS, SOURCE, clearance_hole, likely_screws

PRINTED = {
    "M1.6": (1.7, 1.8, 2),
    "M2": (2.2, 2.4, 2.6),
    "M2.5": (2.7, 2.9, 3.1),
    "M3": (3.2, 3.4, 3.6),
    "M4": (4.3, 4.5, 4.8),
    "M5": (5.3, 5.5, 5.8),
    "M6": (6.4, 6.6, 7),
    "M8": (8.4, 9, 10),
    "M10": (10.5, 11, 12),
    "M18": (19, 20, 21),
    "M20": (21, 22, 24),
    "M22": (23, 24, 26),
    "M24": (25, 26, 28),
    "M27": (28, 30, 32),
    "M30": (31, 33, 35),
    "M33": (34, 36, 38),
    "M36": (37, 39, 42),
    "M39": (40, 42, 45),
    "M42": (43, 45, 48),
    "M45": (46, 48, 52),
    "M48": (50, 52, 56),
}

ROUNDED_THERE = {"M12": (13, 14, 15), "M14": (15, 16, 17), "M16": (17, 18, 19)}


@pytest.mark.parametrize("size", PRINTED)
def test_rows_as_printed(size: str) -> None:
    hole = clearance_hole(size)
    assert (hole.fine, hole.medium, hole.coarse) == PRINTED[size]


@pytest.mark.parametrize("size", ROUNDED_THERE)
def test_rows_rounded_in_the_other_table(size: str) -> None:
    hole = clearance_hole(size)
    close, normal, loose = ROUNDED_THERE[size]
    assert (hole.fine, hole.medium, hole.coarse) == (close, normal - 0.5, loose - 0.5)


def test_series_widen_and_hold_the_screw() -> None:
    for hole in CLEARANCE_HOLES:
        assert hole.nominal < hole.fine < hole.medium < hole.coarse


def test_source_says_it_is_from_memory() -> None:
    assert SOURCE.from_memory and "from memory" in str(SOURCE)


def test_screws_of_a_hole() -> None:
    assert "M6 medium" in likely_screws(6.6)
    assert "M5 medium" in likely_screws(5.5) and "M3 medium" in likely_screws(3.4)
    assert likely_screws(6.2) == ()
    assert 5.5 in LISTED_DIAMETERS and 6.8 in LISTED_DIAMETERS


def test_the_whole_table_stands_in_the_other_one_but_three_rows() -> None:
    path = Path(str(distribution("bd_warehouse").locate_file("bd_warehouse/data/clearance_hole_sizes.csv")))
    other = {row["Size"]: tuple(float(row[k]) for k in ("Close", "Normal", "Loose"))
             for row in csv.DictReader(path.read_text(encoding="utf-8-sig").splitlines()) if row["Size"].startswith("M")}
    different = {h.size: other[h.size] for h in CLEARANCE_HOLES if other[h.size] != (h.fine, h.medium, h.coarse)}
    assert different == ROUNDED_THERE
