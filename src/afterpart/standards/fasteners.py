"""Bolts, their strength, heads, washers, metal sleeves and heat-set inserts.

Words: *stress area* and *core diameter* belong to the thread; *proof* is the stress up to which a bolt springs back;
*bearing diameter* is what of a head's underside really presses, smaller than the head; a *sleeve* is the metal tube that
takes the clamp load instead of the plastic.
Conventions: a size is written "M5"; sizes in mm, stresses in N/mm2, torques in N m.
Limits: coarse threads M2 to M12, tolerance 6g.  Head and washer sizes are the greatest allowed except where a name says least.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeVar

from afterpart.sources import Source
from afterpart.standards.table import marked, number, rows
from afterpart.standards.threads import THREADS

Row = TypeVar("Row")

THREAD_SOURCE = Source("Handbook table of ISO 965-2 limits of size, coarse threads 6g", place="least pitch diameter")
PROFILE_SOURCE = Source("ISO 724 Metric threads, basic dimensions (d2 = d - 0.6495 P, d3 = d - 1.2269 P)", from_memory=True)
STRENGTH_SOURCE = Source("ISO 898-1 Mechanical properties of bolts, screws and studs of carbon steel", place="property classes",
                         from_memory=True)
STAINLESS_SOURCE = Source("ISO 3506-1 Mechanical properties of corrosion-resistant stainless steel fasteners",
                          place="property classes and least breaking torques", from_memory=True)
TORSION_SOURCE = Source("ISO 898-7 Torsional test and minimum torques for bolts and screws", "1992", "strength ratio X",
                        from_memory=True)
HEAD_SOURCE = Source("ISO 4762, ISO 7380-1, ISO 4017 and ISO 10642 head sizes, as printed in an open table of fasteners")
WASHER_SOURCE = Source("ISO 7089 and ISO 7093-1 plain washers, as printed in an open table of fasteners")
SLEEVE_SOURCE = Source("Suppliers' guides to compression limiters: wall and length; sizes by trade practice", from_memory=True)
INSERT_SOURCE = Source("Trade practice for heat-set inserts; the insert's own sheet rules", from_memory=True)


@dataclass(frozen=True)
class Bolt:
    """A coarse thread.  pitch_diameter: d2; core_diameter: d3; stress_area mm2; the *_least ones at the 6g lower limit."""

    thread: str
    nominal: float
    pitch: float
    pitch_diameter: float
    core_diameter: float
    stress_area: float
    pitch_diameter_least: float
    core_diameter_least: float
    source: Source


@dataclass(frozen=True)
class PropertyClass:
    """Strength of a bolt, N/mm2.  torsion_ratio: X of ISO 898-7, None where that standard gives none."""

    name: str
    proof: float
    yield_stress: float
    tensile: float
    torsion_ratio: float | None
    source: Source

    @property
    def is_stainless(self) -> bool:
        """Whether the class is one of stainless steel (A2-70)."""
        return self.name.startswith("A")


@dataclass(frozen=True)
class Head:
    """A bolt's head: greatest diameter (over corners for a hexagon) and height, diameter that presses, cone of a countersunk one
    (0: flat underside)."""

    standard: str
    thread: str
    diameter: float
    height: float
    bearing_diameter: float
    cone_angle_deg: float
    source: Source
    bearing_source: Source


@dataclass(frozen=True)
class Washer:
    """A plain washer: inside and outside diameter, nominal thickness; outside_least and thickness_greatest are limits."""

    standard: str
    thread: str
    inside: float
    outside: float
    thickness: float
    outside_least: float
    thickness_greatest: float
    source: Source


@dataclass(frozen=True)
class SleeveSize:
    """Inside and outside diameter of a metal sleeve for a bolt; yield_stress: of plain steel tube, N/mm2."""

    thread: str
    inside: float
    outside: float
    yield_stress: float
    source: Source


@dataclass(frozen=True)
class HeatSetInsert:
    """pocket: diameter of the hole to print; outside: over the knurl; length; least_wall: plastic round it."""

    thread: str
    pocket: float
    outside: float
    length: float
    least_wall: float
    source: Source


SLEEVE_YIELD = 235.0
"""Plain structural steel tube, N/mm2 (a sleeve of better steel holds more)."""

ROUNDED_ROOT = 0.6160
"""Pitches from the pitch diameter down to the core of a thread whose root is rounded with 0.125 P (ISO 898-7's core, 6g)."""

STEEL_MODULUS = 205_000.0
"""Of bolts and sleeves, N/mm2."""


_SIX_G = {row["size"]: row for row in rows("threads6g.csv")}


def _bolt(size: str, nominal: float, pitch: float) -> Bolt:
    row = _SIX_G[size]
    pitch_diameter = nominal - 3.0 * math.sqrt(3.0) / 8.0 * pitch
    core_diameter = nominal - 17.0 * math.sqrt(3.0) / 24.0 * pitch
    least = float(row["pitch_diameter_least"])
    stress_area = math.pi / 4.0 * (0.5 * (pitch_diameter + core_diameter)) ** 2
    return Bolt(size, nominal, pitch, pitch_diameter, core_diameter, stress_area, least, least - ROUNDED_ROOT * pitch,
                marked(THREAD_SOURCE, row["mark"]))


BOLTS: tuple[Bolt, ...] = tuple(_bolt(t.size, t.nominal, t.coarse_pitch) for t in THREADS if t.size in _SIX_G)

PROPERTY_CLASSES: tuple[PropertyClass, ...] = tuple(
    PropertyClass(row["class"], float(row["proof"]), float(row["yield"]), float(row["tensile"]), number(row["torsion_ratio"]),
                  STAINLESS_SOURCE if row["class"].startswith("A") else STRENGTH_SOURCE)
    for row in rows("property_classes.csv"))

HEADS: tuple[Head, ...] = tuple(
    Head(row["standard"], row["size"], float(row["diameter"]), float(row["height"]), float(row["bearing_diameter"]),
         float(row["cone_angle_deg"]), marked(HEAD_SOURCE, row["size_mark"]), marked(HEAD_SOURCE, row["bearing_mark"]))
    for row in rows("heads.csv"))

WASHERS: tuple[Washer, ...] = tuple(
    Washer(row["standard"], row["size"], float(row["inside"]), float(row["outside"]), float(row["thickness"]),
           float(row["outside_least"]), float(row["thickness_greatest"]), marked(WASHER_SOURCE, row["size_mark"]))
    for row in rows("washers.csv"))

SLEEVES: tuple[SleeveSize, ...] = tuple(
    SleeveSize(row["size"], float(row["inside"]), float(row["outside"]), SLEEVE_YIELD, marked(SLEEVE_SOURCE, row["mark"]))
    for row in rows("sleeves.csv"))

HEAT_SET_INSERTS: tuple[HeatSetInsert, ...] = tuple(
    HeatSetInsert(row["size"], float(row["pocket"]), float(row["outside"]), float(row["length"]), float(row["least_wall"]),
                  marked(INSERT_SOURCE, row["mark"]))
    for row in rows("heat_set_inserts.csv"))

_STAINLESS_TORQUES = {(row["size"], grade): number(cell) for row in rows("stainless_breaking_torque.csv")
                      for grade, cell in row.items() if grade != "size"}


def bolt(thread: str) -> Bolt:
    """The coarse thread "M5".  Raises KeyError, listing the known sizes."""
    return _found(((item.thread, item) for item in BOLTS), thread, "thread")


def property_class(name: str) -> PropertyClass:
    """The property class "8.8" or "A2-70".  Raises KeyError, listing the known ones."""
    return _found(((item.name, item) for item in PROPERTY_CLASSES), name, "property class")


def head(standard: str, thread: str) -> Head:
    """The head of a standard such as "ISO 4762" for a thread.  Raises KeyError, listing what is known."""
    return _found(((f"{item.standard} {item.thread}", item) for item in HEADS), f"{standard} {thread}", "head")


def washer(standard: str, thread: str) -> Washer:
    """The washer of a standard such as "ISO 7089" for a thread.  Raises KeyError, listing what is known."""
    return _found(((f"{item.standard} {item.thread}", item) for item in WASHERS), f"{standard} {thread}", "washer")


def sleeve(thread: str) -> SleeveSize:
    """The usual metal sleeve for a bolt.  Raises KeyError, listing the known sizes."""
    return _found(((item.thread, item) for item in SLEEVES), thread, "sleeve")


def heat_set_insert(thread: str) -> HeatSetInsert:
    """The usual heat-set insert with this inner thread.  Raises KeyError, listing the known sizes."""
    return _found(((item.thread, item) for item in HEAT_SET_INSERTS), thread, "heat-set insert")


def stainless_breaking_torque_n_m(thread: str, grade: PropertyClass) -> float | None:
    """Least breaking torque of a stainless screw (ISO 3506-1, from memory); None where the table has none."""
    if not grade.is_stainless:
        return None
    return _STAINLESS_TORQUES.get((thread, grade.name.rpartition("-")[2]))


def _found(known: Iterable[tuple[str, Row]], name: str, kind: str) -> Row:
    listed = dict(known)
    if name not in listed:
        raise KeyError(f"no {kind} {name!r}: known are {', '.join(listed)}")
    return listed[name]
