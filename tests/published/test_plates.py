"""Plates of published sizes, photographed in the booth and measured: what the source prints must come out, to the digit.

Sources, all from memory unless said otherwise:
EN 1092-1, flanges PN 16: outer diameter D, pitch circle k, 4 holes d, bore B1 of type 01 (D, k, d and the number of holes agree
with a public table of pipe flanges); NEMA ICS 16, motor faces of size 17 and 23: square of holes, pilot, clearance (square and
pilot agree with a public library of motor models, which has 30.99 for 31.0 and prints 1.856 in as 47.14); axial fans and flat
display mounts: common practice, no standard held (fan squares agree with three public models of such fans).
The program has a table of such squares of its own (standards/hole_squares.py, also from memory), with which it prefers a shared
side where one is likely; flanges it takes from the photograph alone.
Drawings and shots: tests/truth/plates.py; `python -m tests.truth.plates` takes all of them, here is a sample that fits a test
run.  What does not come out exactly is marked as expected to fail, with what was measured.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
import tempfile
from functools import cache
from itertools import combinations
from pathlib import Path

import pytest

from tests.truth.plates import PLATES, Recovered, recover

FLANGES = {"dn15": (95, 65, 14, 22.0), "dn25": (115, 85, 14, 34.5), "dn40": (150, 110, 18, 49.5), "dn50": (165, 125, 18, 61.5)}
"""D, k, d and B1, mm."""

SQUARES = {"motor_17": (31.0, 3.4, 22.0), "motor_23": (1.856 * 25.4, 5.1, 1.5 * 25.4), "fan_40": (32.0, None, None),
           "fan_60": (50.0, None, None), "fan_80": (71.5, None, None), "fan_92": (82.5, None, None),
           "fan_120": (105.0, None, None), "display_75": (75.0, 4.5, None),
           "display_100": (100.0, 4.5, None)}
"""Side of the square of holes, their diameter and the pilot where the source tells them, mm.  M3 and M4 clear 3.4 and 4.5
(ISO 273, medium)."""

SAMPLE = (("flange_dn15", 0), ("flange_dn25", 1), ("flange_dn50", 1), ("motor_17", 0), ("motor_17", 2), ("motor_23", 1),
          ("motor_23", 2), ("fan_40", 0), ("fan_60", 1), ("fan_80", 0), ("fan_80", 1), ("fan_92", 0), ("fan_120", 1),
          ("display_75", 0), ("display_75", 1), ("display_100", 1))

NOT_EXACT: dict[tuple[str, int], str] = {}
"""Photographs whose sizes do not all come out, and what was measured instead."""

HOLES_WRONG: dict[tuple[str, int], str] = {}
"""Photographs with missed or invented holes or edges."""

SURE_AND_WRONG: dict[tuple[str, int], str] = {}
"""Photographs with a wrong design value given 0.95 or more."""


def cases(failing: dict[tuple[str, int], str]) -> list:
    """The sample, the failing ones marked."""
    return [pytest.param(*case, id=f"{case[0]}_shot{case[1] + 1}",
                         marks=[pytest.mark.xfail(strict=True, reason=failing[case])] if case in failing else [])
            for case in SAMPLE]


@cache
def result(name: str, shot: int) -> Recovered:
    with tempfile.TemporaryDirectory() as folder:
        return recover(PLATES[name], shot, Path(folder))


@pytest.mark.parametrize("size", FLANGES)
def test_flange_drawings_are_as_printed(size: str) -> None:
    outer, pitch_circle, hole, bore = FLANGES[size]
    circles = PLATES[f"flange_{size}"].circles
    assert [d for *_, d in circles] == [outer, bore, hole, hole, hole, hole]
    assert [2 * math.hypot(x, y) for x, y, _ in circles] == pytest.approx([0, 0] + 4 * [pitch_circle])
    # holes straddle both centre lines
    assert all(abs(abs(x) - abs(y)) < 1e-9 for x, y, _ in circles)


@pytest.mark.parametrize("name", SQUARES)
def test_square_drawings_are_as_printed(name: str) -> None:
    side, hole, pilot = SQUARES[name]
    *holes, middle = PLATES[name].circles
    sides = sorted(math.dist(a[:2], b[:2]) for a, b in combinations(holes, 2))
    assert sides == pytest.approx(4 * [side] + 2 * [side * math.sqrt(2)], abs=0.005)
    assert hole is None or all(d == hole for *_, d in holes)
    assert pilot is None or middle[2] == pytest.approx(pilot)


def test_every_plate_lies_within_the_sheet_or_beside_a_rule() -> None:
    """Nothing is left out because it is hard: all plates named in the sources above are drawn."""
    assert set(PLATES) == {f"flange_{size}" for size in FLANGES} | set(SQUARES)


@pytest.mark.parametrize("name, shot", cases(HOLES_WRONG))
def test_every_hole_and_edge_is_there_and_none_is_invented(name: str, shot: int) -> None:
    found = result(name, shot)
    assert not found.strange, str(found)


@pytest.mark.parametrize("name, shot", cases(NOT_EXACT))
def test_every_printed_size_comes_out_exactly(name: str, shot: int) -> None:
    """Hole diameters, all centre distances (and so pitch circles and squares), outer sizes: equal to 0.001 mm."""
    found = result(name, shot)
    assert found.exact, str(found)


@pytest.mark.parametrize("name, shot", cases(SURE_AND_WRONG))
def test_no_wrong_value_is_called_sure(name: str, shot: int) -> None:
    found = result(name, shot)
    assert found.sure_wrong == 0, str(found)
