"""Heads, washers, pitches and tap drills against an independent table.

Second table: CSV files of the library bd_warehouse 0.4.0 (Apache-2.0), read as files without its program: socket_head_cap,
button_head, hex_head and plain_washer parameters, tap_hole_sizes.  Its washer thickness is the greatest allowed, its ISO 4762
head the knurled greatest.  Washer nominals and bearing diameters are from memory.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import csv
import math
from importlib.metadata import distribution
from pathlib import Path

import pytest

from afterpart.standards.clearance_holes import clearance_hole
from afterpart.standards.fasteners import BOLTS, HEADS, SLEEVES, WASHERS, bolt, head, washer
from afterpart.standards.threads import THREADS

SIZES = ("M3", "M4", "M5", "M6", "M8")


def other_table(name: str) -> dict[str, dict[str, str]]:
    """Rows by size with the pitch cut off, columns stripped."""
    path = Path(str(distribution("bd_warehouse").locate_file(f"bd_warehouse/data/{name}_parameters.csv")))
    found: dict[str, dict[str, str]] = {}
    for row in csv.DictReader(path.read_text(encoding="utf-8-sig").splitlines()):
        size, _, pitch = row["Size"].partition("-")
        if not pitch or any(t.size == size and t.coarse_pitch == float(pitch) for t in THREADS):
            found[size] = {key.strip(): cell for key, cell in row.items()}
    return found


@pytest.mark.parametrize("size, printed", list(zip(SIZES, (5.68, 7.22, 8.72, 10.22, 13.27), strict=True)))
def test_socket_heads(size: str, printed: float) -> None:
    row = other_table("socket_head_cap")[size]
    item = head("ISO 4762", size)
    assert item.diameter == printed == float(row["iso4762:dk"]) and item.height == float(row["iso4762:k"])


@pytest.mark.parametrize("size, printed", list(zip(SIZES, (5.7, 7.6, 9.5, 10.5, 14), strict=True)))
def test_button_heads(size: str, printed: float) -> None:
    row = other_table("button_head")[size]
    item = head("ISO 7380-1", size)
    assert item.diameter == printed == float(row["iso7380_1:dk"]) and item.height == float(row["iso7380_1:k"])


@pytest.mark.parametrize("size", SIZES)
def test_hexagon_heads(size: str) -> None:
    """Over corners as computed from the widest across flats: s / cos 30."""
    row = other_table("hex_head")[size]
    item = head("ISO 4017", size)
    assert item.diameter == pytest.approx(float(row["iso4017:s"]) / math.cos(math.pi / 6), abs=0.0051)
    assert item.height == float(row["iso4017:k"])


@pytest.mark.parametrize("size, small, large", list(zip(SIZES, (
    (3.2, 7, 0.55), (4.3, 9, 0.9), (5.3, 10, 1.1), (6.4, 12, 1.8), (8.4, 16, 1.8)), (9, 12, 15, 18, 24), strict=True)))
def test_washers(size: str, small: tuple[float, float, float], large: float) -> None:
    row = other_table("plain_washer")[size]
    item, wide = washer("ISO 7089", size), washer("ISO 7093", size)
    assert (item.inside, item.outside, item.thickness_greatest) == small
    assert small == tuple(float(row[f"iso7089:{k}"]) for k in ("d1", "d2", "h"))
    assert wide.outside == large == float(row["iso7093:d2"]) and wide.thickness_greatest == float(row["iso7093:h"])


@pytest.mark.parametrize("size, pitch, drill", [
    ("M3", 0.5, 2.5), ("M4", 0.7, 3.3), ("M5", 0.8, 4.2), ("M6", 1.0, 5.0), ("M8", 1.25, 6.8)])
def test_pitches_and_tap_drills(size: str, pitch: float, drill: float) -> None:
    path = Path(str(distribution("bd_warehouse").locate_file("bd_warehouse/data/tap_hole_sizes.csv")))
    other = {row["Size"]: row["Soft"] for row in csv.DictReader(path.read_text(encoding="utf-8-sig").splitlines())}
    assert bolt(size).pitch == pitch
    assert float(other[f"{size}-{pitch:g}"]) == drill == next(t.tap_drill for t in THREADS if t.size == size)


def test_what_presses_is_smaller_than_the_head_and_larger_than_the_hole() -> None:
    for item in HEADS:
        assert item.bearing_diameter < item.diameter and item.bearing_source.from_memory
        assert item.bearing_diameter > clearance_hole(item.thread).medium


def test_washers_and_sleeves_are_rings_a_bolt_goes_through() -> None:
    for item in WASHERS:
        assert bolt(item.thread).nominal < item.inside < item.outside_least < item.outside
        assert item.thickness <= item.thickness_greatest
    for ring in SLEEVES:
        assert bolt(ring.thread).nominal < ring.inside < ring.outside


def test_a_socket_head_spans_the_usual_sleeve() -> None:
    """The head's flat overhangs the sleeve, so that the plastic is held too; M10's sleeve is a little under it as well."""
    for ring in SLEEVES:
        assert ring.outside < head("ISO 4762", ring.thread).bearing_diameter + 1e-9
    assert {item.thread for item in BOLTS} >= set(SIZES)
