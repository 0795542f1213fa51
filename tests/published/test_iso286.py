"""Tolerance grades of ISO 286: our table, the formula, and another program's table.

Sources: standard tolerances IT6 to IT14 as printed on a public page (2007); i = 0.45 D^(1/3) + 0.001 D and the multiples as
printed on two public pages.  Second table: the library pressfit 0.1.0 (MIT), IT5 to IT11, and its fits of an H hole with shafts
c to u.  Tolerance: none (whole micrometres); for the formula the standard's own rounding.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pressfit
import pytest

from afterpart.formulas.fits import GRADE_UNITS, grade_by_formula, tolerance_unit
from afterpart.standards.tolerances import GRADES, SIZE_RANGE, it_tolerance

LIMITS = (3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315)
PRINTED = {
    "IT6": (6, 8, 9, 11, 13, 16, 19, 22, 25, 29, 32), "IT7": (10, 12, 15, 18, 21, 25, 30, 35, 40, 46, 52),
    "IT8": (14, 18, 22, 27, 33, 39, 46, 54, 63, 72, 81), "IT9": (25, 30, 36, 43, 52, 62, 74, 87, 100, 115, 130),
    "IT10": (40, 48, 58, 70, 84, 100, 120, 140, 160, 185, 210), "IT11": (60, 75, 90, 110, 130, 160, 190, 220, 250, 290, 320),
    "IT12": (100, 120, 150, 180, 210, 250, 300, 350, 400, 460, 520),
    "IT13": (140, 180, 220, 270, 330, 390, 460, 540, 630, 720, 810),
    "IT14": (250, 300, 360, 430, 520, 620, 740, 870, 1000, 1150, 1300)}


@pytest.mark.parametrize("grade", PRINTED)
def test_grade_as_printed(grade: str) -> None:
    found = [1000 * it_tolerance(limit, grade) for limit in LIMITS]
    assert found == pytest.approx(PRINTED[grade])
    just_above = [1000 * it_tolerance(limit + 1e-6, grade) for limit in LIMITS[:-1]]
    assert just_above == pytest.approx(PRINTED[grade][1:])


@pytest.mark.parametrize("grade", [g for g in GRADES if int(g[2:]) <= 11])
def test_the_other_program_has_the_same_table(grade: str) -> None:
    for size in (1, 2.9, 3, 4, 6, 8, 10, 15, 18, 25, 30, 42, 50, 64, 80, 100, 120, 150, 180, 210, 250, 300, 315):
        assert 1000 * it_tolerance(size, grade) == pytest.approx(pressfit.it_value(size, int(grade[2:])))


@pytest.mark.parametrize("fit, hole, shaft", [
    ("25 H7/g6", (21, 0), (-7, -20)), ("20 H7/k6", (21, 0), (15, 2)), ("40 H7/p6", (25, 0), (42, 26)),
    ("100 H11/c11", (220, 0), (-170, -390)), ("50 H9/d9", (62, 0), (-80, -142)), ("25 H8/f7", (33, 0), (-20, -41))])
def test_fits_as_printed_have_the_width_of_our_grades(fit: str, hole: tuple[int, int], shaft: tuple[int, int]) -> None:
    found = pressfit.fit(fit)
    assert (found.hole_es_um, found.hole_ei_um) == hole and (found.shaft_es_um, found.shaft_ei_um) == shaft
    size, letters = fit.split()
    grades = [f"IT{part.lstrip('Hcdfgkp')}" for part in letters.split("/")]
    assert 1000 * it_tolerance(float(size), grades[0]) == pytest.approx(hole[0] - hole[1])
    assert 1000 * it_tolerance(float(size), grades[1]) == pytest.approx(shaft[0] - shaft[1])


def test_formula_as_computed() -> None:
    """18 to 30 mm: i = 1.3074 um; IT7 20.9, printed 21; IT12 209, printed 210."""
    assert tolerance_unit(18, 30) == pytest.approx(1.3074, abs=0.000051)
    assert grade_by_formula(18, 30, "IT7") == pytest.approx(20.9, abs=0.051)
    assert grade_by_formula(18, 30, "IT12") == pytest.approx(209, abs=0.51)


@pytest.mark.parametrize("low, high", list(zip(LIMITS[2:], LIMITS[3:], strict=False)))
def test_formula_agrees_with_the_table_within_its_rounding(low: float, high: float) -> None:
    """From 10 mm on the table lies within 4 % or half a micrometre of the formula: the standard rounds that much."""
    for grade in GRADES:
        assert grade_by_formula(low, high, grade) == pytest.approx(1000 * it_tolerance(high, grade), rel=0.04, abs=0.51)


def test_grades_and_sizes_widen() -> None:
    for grade, coarser in zip(GRADES, GRADES[1:], strict=False):
        assert all(it_tolerance(limit, grade) < it_tolerance(limit, coarser) for limit in LIMITS)
    for grade in GRADES:
        widths = [it_tolerance(limit, grade) for limit in LIMITS]
        assert widths == sorted(widths)


def test_outside_the_table_nothing_is_said() -> None:
    assert not SIZE_RANGE.holds(316)
    with pytest.raises(ValueError, match="315"):
        it_tolerance(316, "IT12")
    with pytest.raises(KeyError, match="IT6"):
        it_tolerance(20, "IT18")


def test_multiples_of_the_unit_as_printed() -> None:
    """IT6 to IT16: 10, 16, 25, 40, 64, 100, 160, 250, 400, 640, 1000 i; every fifth grade is ten times as wide."""
    printed = (10, 16, 25, 40, 64, 100, 160, 250, 400, 640, 1000)
    assert GRADE_UNITS == {f"IT{6 + k}": units for k, units in enumerate(printed)}
    for grade in range(6, 12):
        assert grade_by_formula(18, 30, f"IT{grade + 5}") == pytest.approx(10 * grade_by_formula(18, 30, f"IT{grade}"))


def test_clearance_of_a_sliding_fit_as_printed() -> None:
    """25 H7/g6: 7 to 41 um: the other program's gap of 7 and both our grades on top of it."""
    found = pressfit.fit("25 H7/g6")
    least = found.hole_ei_um - found.shaft_es_um
    assert least == 7 and found.kind == "clearance"
    assert least + 1000 * (it_tolerance(25, "IT7") + it_tolerance(25, "IT6")) == pytest.approx(41)
