"""Cases for the airflow checks: a rectangular seat of round figures, so that areas can be worked by hand.

The pocket is 80 x 60 and free for the element; the element 70 x 50 with a rim of 5, so the opening is 60 x 40 = 2400 mm2; two
bars of 3 mm across leave 60 - 6 of 60.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from afterpart.geometry.chain import polygon_chain
from afterpart.model.assembly import Build
from afterpart.model.case import Case
from afterpart.model.feature import Bar, CutRow, Feature, Opening, Rib, Seat
from afterpart.model.finding import Finding
from afterpart.model.job import Job, Shot
from afterpart.model.outline import Point
from afterpart.model.piece import Piece, PrintTime
from afterpart.model.store import parse_outline
from afterpart.model.wishes import FilterWish, HolderWish, InletWish, MachineFacts, ServiceFacts, Wishes

BRACKET = Path(__file__).parents[1] / "parts" / "outlines" / "bracket.json"
"""Any outline: airflow does not look at it."""

OPEN_AREA = 54.0 * 40.0


def rectangle(width: float, depth: float) -> tuple[Point, ...]:
    """Corners of a rectangle about the origin."""
    x, y = width / 2, depth / 2
    return ((-x, -y), (x, -y), (x, y), (-x, y))


def piece(kind: str, *features: Feature) -> Piece:
    """A piece of which only the features matter."""
    return Piece(kind, kind, kind, "A", (), 9.0, (), PrintTime(60.0, 60.0, "invented"), features=features, material="PETG")


def row(cuts: int, width: float, depth: float, rim: float = 5.0, chosen: bool = False) -> CutRow:
    """A row of the table of cuts with a rectangular element."""
    return CutRow(cuts, rectangle(width, depth), width * depth, 0.0, 0.0, 1.0, None, chosen, "rectangle",
                  (width - 2 * rim) * (depth - 2 * rim))


def frame(bars: int, squeeze: float = 0.5) -> Piece:
    """A clamp frame with a squeezing rib and bars across, 3 mm wide."""
    chain = polygon_chain(rectangle(60, 40))
    places = [-20.0 + 40.0 * i for i in range(bars)]
    return piece("clamp_frame", Rib(polygon_chain(rectangle(70, 50)), chain, 3.0, 8.0, squeeze),
                 *(Bar((x, -25.0), (x, 25.0), 3.0, 0.0, 3.0) for x in places))


def air_case(machine: dict[str, Any] | None = None, *, bars: int = 2, squeeze: float | None = 0.5, bellmouth: float = 0.0,
             exposed: tuple[str, ...] = (), **wish: Any) -> Case:
    """A case of a filtered inlet; machine: its facts; further arguments: fields of the filter's wish."""
    outline = parse_outline(BRACKET.read_bytes())
    opening = polygon_chain(rectangle(60, 40))
    seat = Seat(polygon_chain(rectangle(80, 60)), 3.0, opening, rectangle(80, 60), (), 0.0, 5.0, 6.0)
    cover = piece("cover", Opening("inlet", opening, 0.0, 3.0, bellmouth), seat)
    wishes = Wishes(filter=FilterWish(**wish), holder=HolderWish(free_span=22.0, bar_width=3.0),
                    inlet=InletWish("seat", "", bellmouth), machine=MachineFacts(**(machine or {})),
                    service=ServiceFacts(exposed=exposed))
    holder = (frame(bars, squeeze),) if squeeze is not None else ()
    cuts = (row(0, 70, 50, chosen=True), row(2, 75, 50), row(4, 80, 60))
    return Case(Job("invented", (Shot(file="a.jpg"),), wishes=wishes), outline, Build((cover, *holder), cuts=cuts))


def without_filter(case: Case) -> Case:
    """The same job without its filter."""
    return replace(case, job=replace(case.job, wishes=replace(case.job.wishes, filter=None)))


def only(findings: tuple[Finding, ...]) -> Finding:
    """The one finding there is."""
    finding, = findings
    return finding
