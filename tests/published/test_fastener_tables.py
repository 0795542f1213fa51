"""Heads, washers, pitches and tap drills against an independent table.

Second table: CSV files of the library bd_warehouse 0.4.0 (Apache-2.0), read as files without its program: socket_head_cap,
button_head, hex_head, countersunk_head and plain_washer parameters, tap_hole_sizes.  Its washer thickness is the greatest
allowed, its ISO 4762 head the knurled greatest, its ISO 10642 head twice the nominal where ours runs out to the sharp edge;
its drills for M12 and M14 are a tenth larger.  Washer nominals and bearing diameters are from memory.
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


OTHER_HEADS = {"ISO 4762": ("socket_head_cap", "iso4762"), "ISO 7380-1": ("button_head", "iso7380_1"),
               "ISO 4017": ("hex_head", "iso4017"), "ISO 10642": ("countersunk_head", "iso10642")}


@pytest.mark.parametrize("item", [h for h in HEADS if h.standard != "ISO 10642"], ids=lambda h: f"{h.standard} {h.thread}")
def test_every_head_stands_in_the_other_table(item) -> None:
    name, prefix = OTHER_HEADS[item.standard]
    row = other_table(name)[item.thread]
    wide = float(row[f"{prefix}:s"]) / math.cos(math.pi / 6) if prefix == "iso4017" else float(row[f"{prefix}:dk"])
    assert item.diameter == pytest.approx(wide, abs=0.0051 if prefix == "iso4017" else 1e-9)
    assert item.height == float(row[f"{prefix}:k"])


@pytest.mark.parametrize("item", [h for h in HEADS if h.standard == "ISO 10642"], ids=lambda h: h.thread)
def test_countersunk_heads_are_larger_than_the_other_table_has_them(item) -> None:
    """Theirs 2 d, the head as it is; ours 2.24 d, the cone of 90 degrees run out to a sharp edge (greatest; from memory)."""
    row, nominal = other_table("countersunk_head")[item.thread], bolt(item.thread).nominal
    assert float(row["iso10642:dk"]) == 2.0 * nominal and item.diameter == pytest.approx(2.24 * nominal)
    assert item.cone_angle_deg == float(row["iso10642:a"]) == 90.0
    assert item.height == pytest.approx(0.5 * (item.diameter - nominal)) and item.height > float(row["iso10642:k"])


@pytest.mark.parametrize("item", WASHERS, ids=lambda w: f"{w.standard} {w.thread}")
def test_every_washer_stands_in_the_other_table(item) -> None:
    prefix = item.standard.lower().replace(" ", "")
    row = other_table("plain_washer")[item.thread]
    assert (item.inside, item.outside, item.thickness_greatest) == tuple(float(row[f"{prefix}:{k}"]) for k in ("d1", "d2", "h"))


LARGER_THERE = {"M12": 10.3, "M14": 12.1}
"""Tap drills that differ."""


def test_every_tap_drill_stands_in_the_other_table_but_two() -> None:
    """The other table ends before M24."""
    path = Path(str(distribution("bd_warehouse").locate_file("bd_warehouse/data/tap_hole_sizes.csv")))
    lines = path.read_text(encoding="utf-8-sig").splitlines()
    other = {row["Size"]: float(row["Soft"]) for row in csv.DictReader(lines) if row["Size"].startswith("M")}
    theirs = {t.size: other.get(f"{t.size}-{t.coarse_pitch:g}") for t in THREADS}
    assert [size for size, drill in theirs.items() if drill is None] == ["M24"]
    assert {t.size: theirs[t.size] for t in THREADS if theirs[t.size] not in (None, t.tap_drill)} == LARGER_THERE


def test_first_choice_sizes_of_iso_262() -> None:
    """1, 1.2, 1.6, 2, 2.5, 3, 4, 5, 6, 8, 10, 12 (partly a fastener handbook, page 711): each has its clearance hole, and the
    bolts we offer are all among them."""
    first = (1, 1.2, 1.6, 2, 2.5, 3, 4, 5, 6, 8, 10, 12)
    assert all(clearance_hole(f"M{size:g}").nominal == size for size in first)
    assert {item.nominal for item in BOLTS} <= set(first)
