"""Paper sizes against the rules that define them and against another program's table.

Sources: ISO 216:2007, clause on the main series, from memory: the A series starts at 1 m2 with sides 1 : sqrt 2, each format is
half of the one before, rounded down to whole millimetres; printed sizes A3 297 x 420, A4 210 x 297, A5 148 x 210.
Tolerances, from memory and as quoted by secondary pages on the standard: 1.5 mm to 150 mm, 2 mm to 600 mm, 3 mm above.
Second table: `reportlab.lib.pagesizes` (in points of 1/72 inch), written by others.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import pytest
from reportlab.lib import pagesizes

from afterpart.standards.paper import SHEETS, find_sheet, sheet_size, sheet_tolerance

POINT = 25.4 / 72


@pytest.mark.parametrize("name,printed", [("A3", (297, 420)), ("A4", (210, 297)), ("A5", (148, 210))])
def test_sizes_are_those_printed_in_the_standard(name, printed):
    assert sheet_size(name) == printed


@pytest.mark.parametrize("number", [3, 4, 5])
def test_a_series_follows_from_one_square_metre_halved(number):
    """Exact sides 2^(1/4 - n/2) and 2^(-1/4 - n/2) m; whole millimetres lie less than 0.7 mm away."""
    long_side, short_side = 1000 * 2 ** (0.25 - number / 2), 1000 * 2 ** (-0.25 - number / 2)
    width, height = sheet_size(f"A{number}")
    assert abs(width - short_side) < 0.7 and abs(height - long_side) < 0.7
    assert abs(width * height - 1e6 / 2 ** number) < 0.7 * (width + height)


def test_each_format_is_the_one_before_cut_in_half():
    for bigger, smaller in (("A3", "A4"), ("A4", "A5")):
        width, height = sheet_size(bigger)
        assert sheet_size(smaller) == (math.floor(height / 2), width)


def test_sides_stand_as_one_to_root_two():
    for name in ("A3", "A4", "A5"):
        width, height = sheet_size(name)
        assert abs(height / width - math.sqrt(2)) < 0.5 / width * (1 + math.sqrt(2))


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda s: s.name)
def test_sizes_agree_with_another_programs_table(sheet):
    width, height = (side * POINT for side in getattr(pagesizes, sheet.name.upper()))
    assert (sheet.width, sheet.height) == pytest.approx((width, height), abs=1e-6)


@pytest.mark.parametrize("side,printed", [(148, 1.5), (150, 1.5), (150.5, 2), (210, 2), (297, 2), (420, 2), (600, 2), (841, 3)])
def test_tolerance_steps_of_iso_216(side, printed):
    assert sheet_tolerance(side) == printed


def test_unknown_sheet_is_a_key_error_that_names_the_known_ones():
    with pytest.raises(KeyError, match="letter"):
        sheet_size("B9")
    assert find_sheet("a4") is find_sheet("A4")


def test_a_side_of_no_length_has_no_tolerance():
    with pytest.raises(ValueError):
        sheet_tolerance(0.0)


def test_every_sheet_names_its_source():
    assert all(sheet.source.title for sheet in SHEETS)
