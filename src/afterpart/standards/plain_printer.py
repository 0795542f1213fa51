"""The printer that most strangers own, and which filaments it can print.

Words: an *open frame* has no closed chamber, so that what shrinks much while it cools warps; a *plain nozzle* is of brass and is
worn out by filled filaments.
Limits: from memory, editable; a patient maker prints more than this says.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.model.wishes import PrinterWish
from afterpart.sources import Source
from afterpart.standards.table import marked, rows

SOURCE = Source("Filaments that print without a closed chamber or a hardened nozzle", from_memory=True)

PLAIN_PRINTER = PrinterWish(bed=(220.0, 220.0), nozzle=0.4, layer=0.2)
"""A plain consumer printer: open frame, 0.4 mm nozzle, bed of 220 mm."""

LINES_IN_A_WALL = 2
"""Least printed lines side by side in a wall (as the rule wall_least with a nozzle of 0.4 mm)."""


@dataclass(frozen=True)
class Ease:
    """Whether a filament prints on an open frame, and with a plain nozzle."""

    material: str
    open_frame: bool
    plain_nozzle: bool
    source: Source


EASE: tuple[Ease, ...] = tuple(
    Ease(row["material"], row["open_frame"] == "yes", row["plain_nozzle"] == "yes", marked(SOURCE, row["mark"]))
    for row in rows("open_frame.csv"))


def ease(name: str) -> Ease:
    """How easily the filament of this name prints.  Raises KeyError, listing the known ones."""
    for item in EASE:
        if item.material.lower() == name.strip().lower():
            return item
    raise KeyError(f"unknown material {name!r}: known are {', '.join(one.material for one in EASE)}")
