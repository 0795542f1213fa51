"""Grooves of round cords against the printed table and against a second, inch-based one.

Sources: a supplier's page "O-ring housing" (axial static seals; it does not cite ISO 3601-2), depth, width and bottom radius as
printed; squeeze and fill computed from them by hand calculator.  Second table: o-ring_static_gland_parameters.csv and
o-ring_parameters.csv of the library bd_warehouse 0.4.0 (Apache-2.0), AS568 cords, read as files without its program.
Cord tolerances: ISO 3601-1, from memory.  Tolerance: the last printed digit.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import csv
import math
from importlib.metadata import distribution
from pathlib import Path

import pytest

from afterpart.formulas.seal import groove_fill, least_corner_radius, preferred_corner_radius, squeeze, worst_cases
from afterpart.standards.orings import (
    CORDS,
    GREATEST_FILL,
    GREATEST_SQUEEZE,
    GREATEST_STRETCH_FITTING,
    GROOVES,
    LEAST_SQUEEZE,
    PREFERRED_CORNER_CORDS,
    WANTED_SQUEEZE,
    WANTED_STRETCH,
    cord,
    groove_for_cord,
)

PRINTED = {1.80: (1.30, 2.60, 0.3, 27.8, 75.3), 2.65: (2.00, 3.80, 0.3, 24.5, 72.6), 3.55: (2.70, 5.00, 0.6, 23.9, 73.3),
           5.30: (4.30, 7.30, 0.6, 18.9, 70.3), 7.00: (5.80, 9.70, 1.0, 17.1, 68.4), 2.00: (1.50, 2.80, 0.3, 25.0, 74.8),
           3.00: (2.30, 4.00, 0.6, 23.3, 76.8), 4.00: (3.10, 5.30, 0.6, 22.5, 76.5)}
"""cord: depth, width, bottom radius [mm]; squeeze, fill [%]."""

INCH_DEPTHS = {1.78: (1.24, 1.37), 2.62: (1.91, 2.06), 3.53: (2.54, 2.74), 5.33: (3.94, 4.19), 6.99: (5.21, 5.42)}
INCH_SQUEEZES = {1.78: (19, 33), 2.62: (19, 29), 3.53: (20, 30), 5.33: (20, 28), 6.99: (20, 27)}
INCH_TOLERANCES = {1.78: 0.08, 2.62: 0.08, 3.53: 0.10, 5.33: 0.13, 6.99: 0.15}
"""Of the cords, from memory (AS568); those of 2.62 and 3.53 stand in the library's table too."""


def other_table(name: str) -> list[dict[str, str]]:
    path = Path(str(distribution("bd_warehouse").locate_file(f"bd_warehouse/data/{name}")))
    return list(csv.DictReader(path.read_text(encoding="utf-8-sig").splitlines()))


@pytest.mark.parametrize("diameter", PRINTED)
def test_groove_as_printed(diameter: float) -> None:
    groove = groove_for_cord(diameter)
    assert (groove.depth, groove.width, groove.radius) == PRINTED[diameter][:3]
    assert (groove.depth_plus, groove.width_plus, groove.radius_plus_minus) == (0.1, 0.2, 0.2)
    assert not groove.source.from_memory


@pytest.mark.parametrize("diameter", PRINTED)
def test_squeeze_and_fill_of_the_printed_grooves(diameter: float) -> None:
    depth, width, _, share, fill = PRINTED[diameter]
    assert 100 * squeeze(diameter, depth) == pytest.approx(share, abs=0.051)
    assert 100 * groove_fill(diameter, width, depth) == pytest.approx(fill, abs=0.051)


def test_the_table_has_these_cords_and_no_others() -> None:
    assert {item.diameter for item in CORDS} == set(PRINTED)
    assert all(item.source.from_memory for item in CORDS)


@pytest.mark.parametrize("diameter, end, printed", [(5.30, "loose", 14.9), (7.00, "loose", 13.9), (1.80, "tight", 30.9)])
def test_the_tables_own_worst_cases_leave_the_wanted_squeeze(diameter: float, end: str, printed: float) -> None:
    """Not everywhere between 15 and 30 % after tolerances: the table is not to be called safe."""
    groove = groove_for_cord(diameter)
    band = worst_cases(cord(diameter), (groove.depth, groove.depth + groove.depth_plus),
                       (groove.width, groove.width + groove.width_plus))
    found = band.squeeze_loose if end == "loose" else band.squeeze_tight
    assert 100 * found == pytest.approx(printed, abs=0.051)
    assert found < LEAST_SQUEEZE if end == "loose" else found > GREATEST_SQUEEZE


@pytest.mark.parametrize("diameter", PRINTED)
def test_no_groove_of_the_table_is_overfilled(diameter: float) -> None:
    groove = groove_for_cord(diameter)
    band = worst_cases(cord(diameter), (groove.depth, groove.depth + groove.depth_plus),
                       (groove.width, groove.width + groove.width_plus))
    assert band.fill_least < groove_fill(diameter, groove.width, groove.depth) < band.fill_greatest < GREATEST_FILL


@pytest.mark.parametrize("row", other_table("o-ring_static_gland_parameters.csv"), ids=lambda row: row["w"])
def test_the_formula_gives_the_other_tables_squeeze(row: dict[str, str]) -> None:
    """Its axial squeeze in percent is that of its depths at the limits of its cords (rounded to whole percent)."""
    diameter = float(row["w"])
    if diameter not in INCH_DEPTHS:
        return
    assert (float(row["d_a_min"]), float(row["d_a_max"])) == INCH_DEPTHS[diameter]
    low, high = INCH_SQUEEZES[diameter]
    assert (float(row["sq_a_p_min"]), float(row["sq_a_p_max"])) == (low, high)
    slack = INCH_TOLERANCES[diameter]
    assert 100 * squeeze(diameter - slack, INCH_DEPTHS[diameter][1]) == pytest.approx(low, abs=1.0)
    assert 100 * squeeze(diameter + slack, INCH_DEPTHS[diameter][0]) == pytest.approx(high, abs=1.0)


def test_one_groove_of_the_other_table_fills_as_computed() -> None:
    """3.53 mm cord in its width of 4.57 at the middle depth 2.64: 81 %."""
    assert 100 * groove_fill(3.53, 4.57, 0.5 * (2.54 + 2.74)) == pytest.approx(81, abs=0.51)


@pytest.mark.parametrize("diameter, printed", INCH_TOLERANCES.items())
def test_cord_tolerances_stand_in_the_other_table(diameter: float, printed: float) -> None:
    """Its 349 sizes give each cord one tolerance; ours of the nearest ISO 3601 cords are no smaller than 0.01 mm apart."""
    table = other_table("o-ring_parameters.csv")
    assert len(table) == 349
    assert {float(row["iso3601:w_tol"]) for row in table if float(row["iso3601:w"]) == diameter} == {printed}
    nearest = min(CORDS, key=lambda item: abs(item.diameter - diameter))
    assert nearest.plus_minus == pytest.approx(printed, abs=0.0101)


@pytest.mark.parametrize("size, inside, inside_tolerance, section, tolerance", [
    ("214", 24.99, 0.25, 3.53, 0.10), ("110", 9.19, 0.13, 2.62, 0.08)])
def test_two_sizes_of_the_other_table_as_printed(size: str, inside: float, inside_tolerance: float, section: float,
                                                 tolerance: float) -> None:
    row = next(row for row in other_table("o-ring_parameters.csv") if row["Size"] == size)
    found = tuple(float(row[f"iso3601:{name}"]) for name in ("id", "id_tol", "w", "w_tol"))
    assert found == (inside, inside_tolerance, section, tolerance)


def test_corner_radius_is_three_cords() -> None:
    """Supplier's guide to grooves that are not circular: inner radius at least 3 d, 6 d preferred."""
    assert least_corner_radius(2.65) == pytest.approx(7.95)


def test_a_tenth_of_depth_on_a_thin_cord() -> None:
    """0.1 mm on 1.78 mm is 5.6 points of squeeze."""
    assert 100 * (squeeze(1.78, 1.30) - squeeze(1.78, 1.40)) == pytest.approx(5.6, abs=0.051)
    assert math.isclose(squeeze(1.78, 1.78), 0.0)


INCH_WIDTHS = {1.78: 2.41, 2.62: 3.56, 3.53: 4.57, 5.33: 7.11, 6.99: 9.40}
INCH_CORDS = (1.02, 1.27, 1.52, 1.78, 2.62, 3.53, 5.33, 6.99)
SHALLOW_THERE = {5.30: 5.33, 7.00: 6.99}
"""Our thick metric cords whose printed grooves are deeper than the inch table's for nearly the same cord."""


OWN_CONTRADICTION = {(6.99, "loose"): 0.05}
"""Where the other table's greatest depth (5.42) and least squeeze (1.37) do not belong together; 5.47 would."""


def inch_gland(diameter: float) -> dict[str, float]:
    row = next(r for r in other_table("o-ring_static_gland_parameters.csv") if float(r["w"]) == diameter)
    return {name: float(cell) for name, cell in row.items() if cell != "-"}


def test_the_other_table_has_inch_cords_only() -> None:
    """1.80, 2.65, 3.55, 5.30 and 7.00 mm are not among its cords: hence a table of our own."""
    glands = tuple(float(row["w"]) for row in other_table("o-ring_static_gland_parameters.csv"))
    rings = {float(row["iso3601:w"]) for row in other_table("o-ring_parameters.csv")}
    assert glands == INCH_CORDS and rings == set(INCH_CORDS)
    assert not rings & {item.diameter for item in CORDS}


@pytest.mark.parametrize("diameter, printed", INCH_WIDTHS.items())
def test_widths_of_the_other_table_as_printed(diameter: float, printed: float) -> None:
    assert inch_gland(diameter)["g_w_0"] == printed


@pytest.mark.parametrize("diameter", INCH_CORDS)
def test_squeeze_in_millimetres_of_every_inch_cord(diameter: float) -> None:
    """Its axial squeeze is that of cord and depth at their limits, to its own rounding from inches: 0.025 mm."""
    row = inch_gland(diameter)
    slack = next(float(r["iso3601:w_tol"]) for r in other_table("o-ring_parameters.csv") if float(r["iso3601:w"]) == diameter)
    ends = {"loose": (diameter - slack, row["d_a_max"], row["sq_a_mm_min"]),
            "tight": (diameter + slack, row["d_a_min"], row["sq_a_mm_max"])}
    for end, (thick, depth, printed) in ends.items():
        off = OWN_CONTRADICTION.get((diameter, end), 0.0)
        assert thick * squeeze(thick, depth) - off == pytest.approx(printed, abs=0.005 if off else 0.025)


@pytest.mark.parametrize("diameter", INCH_WIDTHS)
def test_the_inch_grooves_fill_more_than_ours(diameter: float) -> None:
    """One width for face and rod seals: at the middle depth fuller than ours of the nearest cord, but never full."""
    row = inch_gland(diameter)
    theirs = groove_fill(diameter, row["g_w_0"], 0.5 * (row["d_a_min"] + row["d_a_max"]))
    ours = min(GROOVES, key=lambda item: abs(item.cord - diameter))
    assert groove_fill(ours.cord, ours.width, ours.depth) < theirs < 1.0


@pytest.mark.parametrize("groove", [g for g in GROOVES if min(abs(g.cord - d) for d in INCH_WIDTHS) < 0.05], ids=lambda g: g.cord)
def test_our_grooves_beside_the_inch_grooves_of_nearly_the_same_cord(groove) -> None:
    """Bottom radius inside theirs; depth inside theirs, but for the two thick cords, where ours is deeper and squeezes less."""
    row = inch_gland(min(INCH_WIDTHS, key=lambda d: abs(d - groove.cord)))
    assert row["g_r_min"] <= groove.radius <= row["g_r_max"]
    if groove.cord in SHALLOW_THERE:
        assert groove.depth > row["d_a_max"] and 100 * squeeze(groove.cord, groove.depth) < row["sq_a_p_min"]
    else:
        assert row["d_a_min"] <= groove.depth <= row["d_a_max"]


def test_wanted_shares_as_printed() -> None:
    """A seal maker's guide to face seals: squeeze 20 to 25 %, fill at most 85 to 90 %, stretch 1 to 3 %, 50 % while fitting; a
    handbook: static squeeze at most 30 %; a guide to grooves that are not circular: 6 d preferred."""
    assert (WANTED_SQUEEZE.low, WANTED_SQUEEZE.high, GREATEST_SQUEEZE) == (0.20, 0.25, 0.30)
    assert (WANTED_STRETCH.low, WANTED_STRETCH.high, GREATEST_STRETCH_FITTING) == (0.01, 0.03, 0.50)
    assert GREATEST_FILL == 0.85 and PREFERRED_CORNER_CORDS == 6.0
    assert preferred_corner_radius(2.65) == pytest.approx(15.9)
