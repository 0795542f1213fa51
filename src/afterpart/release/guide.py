"""The assembly guide as data: chapters of steps, each with its lines to tick, its pictures and what to mind.

guide_steps.py writes it, guide_pdf.py and guide_html.py show it; neither adds a word of its own.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.model.finding import Caution
from afterpart.model.outline import Point


@dataclass(frozen=True)
class Step:
    """title; actions: one line to tick each; pictures: names (step_pictures.py); warning: what to mind, "" for nothing."""

    title: str
    actions: tuple[str, ...]
    pictures: tuple[str, ...] = ()
    warning: str = ""


@dataclass(frozen=True)
class Table:
    """title; head: headings; rows: cells; shares: of the width, one a column."""

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    shares: tuple[float, ...]


@dataclass(frozen=True)
class Chapter:
    """title; intro; steps; tables; notes: sentences under the tables."""

    title: str
    intro: str = ""
    steps: tuple[Step, ...] = ()
    tables: tuple[Table, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Guide:
    """verdict: headline of the checks; cautions: declined uses first; orders: places in the order of tightening, "bolts" and
    "screws"; captions: of the pictures by name."""

    name: str
    verdict: str
    actions: tuple[str, ...]
    cautions: tuple[Caution, ...]
    chapters: tuple[Chapter, ...]
    orders: dict[str, tuple[Point, ...]]
    captions: dict[str, str]
