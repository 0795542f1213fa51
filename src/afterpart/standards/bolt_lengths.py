"""Lengths in which bolts and screws are sold."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import csv
from importlib import resources

from afterpart.sources import Source

SOURCE = Source("ISO 888 Fasteners - Bolts, screws and studs - Nominal lengths", "2012", "table", from_memory=True)


def _load() -> tuple[float, ...]:
    text = resources.files("afterpart.standards").joinpath("bolt_lengths.csv").read_text(encoding="utf-8")
    return tuple(float(row["length"]) for row in csv.DictReader(text.splitlines()))


BOLT_LENGTHS = _load()
"""Nominal lengths in mm, under the head."""


def bolt_length(least: float) -> float | None:
    """The shortest length sold that is at least this long; None: longer than the table goes."""
    return next((length for length in BOLT_LENGTHS if length >= least - 1e-9), None)
