"""What is done on the bench, away from the machine: inserts, sleeves, foam, frame, small screws, and the look before it goes."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from afterpart.geometry.chain import chain_polygon
from afterpart.model.assembly import Build
from afterpart.model.feature import CutRow, Hole, Seat
from afterpart.model.finding import CheckReport
from afterpart.model.job import Job
from afterpart.model.piece import Add, Piece, Prism
from afterpart.model.wishes import FilterWish, HolderWish
from afterpart.release.guide import Chapter, Step
from afterpart.release.lengths import Length, unit_word
from afterpart.release.parts_list import CUT, screws_in
from afterpart.release.tightening_words import screw_tightening
from afterpart.release.words import word, words
from afterpart.solid.body import Mesh

_GAP = 3.0
"""From here on it is told that the element does not reach a wall of its pocket."""


def bench_chapter(build: Build, job: Job, report: CheckReport | None, meshes: Mapping[str, Mesh]) -> tuple[Chapter, ...]:
    """The chapter, or () where nothing is to be done on the bench."""
    steps = [*_metal(build), *_threads(build), *_filter(build, job, meshes), *_holder(build, job), *_screws(build, report)]
    if not steps:
        return ()
    close = words("guide", "close_bench_do", count=_count(build))
    close = close if _count(build) else close[1:]
    steps.append(Step(word("guide", "close_bench_step"), close))
    return (Chapter(word("guide", "chapter_bench"), word("guide", "intro_bench"), tuple(steps)),)


def picture_of(build: Build, *names: str) -> tuple[str, ...]:
    """Names of the step pictures that show these pieces (file_stem) or kinds of items, in order."""
    orders = {place.order for place in build.assembly.places if place.piece in names}
    orders |= {item.order for item in build.assembly.items if item.kind in names}
    first = min((thing.order for thing in (*build.assembly.places, *build.assembly.items)), default=0)
    return tuple(f"step {order}" for order in sorted(orders) if order != first)


def _count(build: Build) -> int:
    return sum(len(item.at) for item in screws_in(build))


def _metal(build: Build) -> list[Step]:
    """Inserts and sleeves."""
    inserts = sum(isinstance(f, Hole) and f.purpose == "insert" for piece in build.pieces for f in piece.features)
    sleeves = sum(len(item.at) for item in build.assembly.items if item.kind == "sleeve")
    steps = []
    if inserts:
        steps.append(Step(word("guide", "insert_step"), (word("guide", "insert_do", count=inserts),)))
    if sleeves:
        steps.append(Step(word("guide", "sleeve_step"), (word("guide", "sleeve_do", count=sleeves),),
                          picture_of(build, "sleeve")))
    return steps


def _filter(build: Build, job: Job, meshes: Mapping[str, Mesh]) -> list[Step]:
    """Cutting, oiling and laying in of the element."""
    element = next((piece for piece in build.pieces if piece.kind in CUT), None)
    if element is None:
        return []
    wish = job.wishes.filter or FilterWish()
    fields = {"thickness": Length(wish.thickness), "unit": unit_word(), "pores": wish.pores_per_inch, "sides": sides_of(element)}
    has_guide = any(piece.kind == "cutting_guide" for piece in build.pieces)
    cut = words("guide", "cut_guide_do", **fields) if has_guide else (word("guide", "cut_paper_do", **fields),)
    x, y, _ = (float(side) for side in np.ptp(meshes[element.file_stem].vertices, axis=0))
    chosen = next((row for row in build.cuts if row.chosen), None)
    is_plain = chosen is not None and chosen.cuts == 0
    slanted = sides_of(element) - 4
    way = word("guide", "element_way_any" if is_plain else "element_way_one" if slanted == 1 else "element_way_more",
               count=slanted)
    lay = [word("guide", "element_do", way=way), *_gaps(build, chosen)]
    if job.wishes.holder is not None and job.wishes.holder.kind == "pins":
        lay.append(word("guide", "element_pins"))
    check = word("guide", "cut_check", x=Length(x), y=Length(y), within=Length(1.0), unit=unit_word())
    return [Step(word("guide", "cut_step"), (*cut, check)),
            Step(word("guide", "oil_step"), words("guide", "oil_do")),
            Step(word("guide", "element_step"), tuple(lay), (*picture_of(build, element.file_stem), "laid"))]


def _gaps(build: Build, row: CutRow | None) -> list[str]:
    """How far the element stays off the walls of its pocket, where it does not fill it."""
    seat = next((f for piece in build.pieces for f in piece.features if isinstance(f, Seat)), None)
    if seat is None or row is None:
        return []
    corners, (left, low, right, high) = np.asarray(row.corners), chain_polygon(seat.pocket).bounds
    (x0, y0), (x1, y1) = corners.min(axis=0), corners.max(axis=0)
    gaps = {"left": float(x0) - left, "right": right - float(x1), "up": high - float(y1), "down": float(y0) - low}
    if max(gaps.values()) < _GAP:
        return []
    return [word("guide", "element_gap", unit=unit_word(), **{side: Length(gap) for side, gap in gaps.items()})]


def sides_of(element: Piece) -> int:
    """Straight sides of the element: segments of its outline."""
    return next((len(solid.outer) for step in element.steps if isinstance(step, Add) for solid in step.prisms
                 if isinstance(solid, Prism)), 0)


def _holder(build: Build, job: Job) -> list[Step]:
    frame = next((piece for piece in build.pieces if piece.kind == "clamp_frame"), None)
    if frame is None:
        return []
    is_latched = (job.wishes.holder or HolderWish()).kind == "latches"
    key = "latch_do" if is_latched else "frame_do"
    return [Step(word("guide", "frame_step"), words("guide", key), picture_of(build, frame.file_stem))]


def _threads(build: Build) -> list[Step]:
    """The screws form their threads once before anything that must stay clean is near."""
    has_frame = any(piece.kind == "clamp_frame" for piece in build.pieces)
    if not _count(build) or not has_frame:
        return []
    lines = words("guide", "thread_do", order=in_words(_count(build)), count=_count(build))
    return [Step(word("guide", "thread_step"), lines, ("screws",))]


def _screws(build: Build, report: CheckReport | None) -> list[Step]:
    """Screw by screw, in three rounds."""
    if not _count(build):
        return []
    order = in_words(_count(build))
    return [Step(word("guide", "screw_step"), (*words("guide", "screw_do", order=order), screw_tightening(report, order)),
                 (*picture_of(build, "screw"), "screws"), word("guide", "screw_warning"))]


def in_words(count: int) -> str:
    """1-2-3 ... as the pictures number them."""
    return "-".join(str(i) for i in range(1, count + 1))
