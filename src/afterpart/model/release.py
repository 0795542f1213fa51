"""What is written on every paper that leaves the house, and how the folder for others is wished."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class PartPhoto:
    """The photograph of the old part, cut to its surroundings and encoded anew, so that nothing the camera wrote is in it.

    jpeg: its bytes; width_px, height_px: its size; spots: (name, column, row) of what balloons mean in it: a dimension's id, and
    for one drawn as a line also its two ends, "d7 start" and "d7 end"."""

    jpeg: bytes
    width_px: int
    height_px: int
    spots: tuple[tuple[str, float, float], ...]


@dataclass(frozen=True)
class TitleBlock:
    """name of the part; revision; date as the job gives it (never the clock); made_with: program and version."""

    name: str
    revision: str = "A"
    date: str = ""
    made_with: str = "afterpart"


@dataclass(frozen=True)
class ReleaseWish:
    """How the folder for others is made.  licence: chosen by the maker, "" for none yet; author: named on the papers; page: "A4",
    "A3" or "letter"; reports: where others send what they found, an address in words; units: of lengths on the papers, "mm" or
    "inch"; language: of the papers, "en" or the name of a folder of word files."""

    licence: str = ""
    author: str = ""
    page: str = "A4"
    reports: str = ""
    units: str = "mm"
    language: str = "en"
