"""Metric coarse threads: nominal diameter, pitch and tap drill."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import csv
from dataclasses import dataclass
from importlib import resources

from afterpart.sources import Source

SOURCE = Source("ISO 261 metric threads, coarse series; tap drills of ISO 2306", "1998 / 1972", "tables", from_memory=True)


@dataclass(frozen=True)
class Thread:
    """nominal diameter, coarse pitch and tap drill diameter, mm."""

    size: str
    nominal: float
    coarse_pitch: float
    tap_drill: float


def _load() -> tuple[Thread, ...]:
    text = resources.files("afterpart.standards").joinpath("threads.csv").read_text(encoding="utf-8")
    return tuple(
        Thread(row["size"], *(float(row[k]) for k in ("nominal", "coarse_pitch", "tap_drill")))
        for row in csv.DictReader(text.splitlines())
    )


THREADS = _load()
