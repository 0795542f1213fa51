"""Step 0 of the guide: the paper, the check plate and the hole coupon, for somebody who has only the folder."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.model.assembly import Build
from afterpart.model.feature import Boss, Hole
from afterpart.model.job import Job
from afterpart.model.outline import Circle, Outline
from afterpart.model.piece import Piece
from afterpart.model.wishes import CoverWish
from afterpart.release.guide import Chapter, Step, Table
from afterpart.release.hole_names import clear_width, plate_sizes
from afterpart.release.lengths import Length, in_inches, number_text, unit_word
from afterpart.release.parts_list import has_clean_side, has_seal
from afterpart.release.reach import Reach
from afterpart.release.template import opening_marks
from afterpart.release.words import word, words

_SAME = 1e-6
_WIDER = 0.05
"""By so much a hole of the part is wider than the plate's, to be told as wider."""
_FREE = 1.5
"""What must be free behind that which stands into the machine, beyond what it stands in, mm (judgement)."""


def proof_chapter(build: Build, job: Job, reach: Reach | None = None, outline: Outline | None = None) -> Chapter:
    """Paper, room, check plate, and the coupon where there is one, with the table of what each of its marks stands for.
    reach: what stands out of the joint; outline: of the old part, for the plate's holes."""
    steps = [Step(word("guide", "zero_paper"), words("guide", "zero_paper_do", good=_good_bar(), page=page_words(job))),
             *_room(build, job, reach),
             Step(word("guide", "zero_plate"), words("guide", "zero_plate_do", side=_plate_side(job), rubs=_rubs(build, outline)),
                  warning=word("guide", "zero_plate_warning") if has_clean_side(build, job) else "")]
    coupon = next((piece for piece in build.pieces if piece.kind == "hole_coupon"), None)
    tables: tuple[Table, ...] = ()
    if coupon is not None:
        steps.append(_pilot_step(build, job, coupon) if _is_pilot(coupon) else _clearance_step(build, job))
        tables = (coupon_table(build, coupon),)
    return Chapter(word("guide", "chapter_zero"), word("guide", "intro_zero"), tuple(steps), tables)


def page_words(job: Job) -> str:
    """The paper that the true-scale papers are made for, as it is sold."""
    return word("guide", "paper_letter") if job.release.page == "letter" else job.release.page


def coupon_sizes(coupon: Piece) -> dict[int, float]:
    """Diameter as drawn of the hole at each mark, mm."""
    sizes = {f.center: f.pilot if isinstance(f, Boss) else f.diameter for f in coupon.features if isinstance(f, Boss | Hole)}
    return {label.number: sizes[label.center] for label in coupon.labels if label.center in sizes}


def coupon_table(build: Build, coupon: Piece) -> Table:
    """Mark, hole as drawn, the piece with that pilot hole, and a column to write in."""
    rows = []
    for size in coupon_sizes(coupon).values():
        # a piece that comes in sizes is released under the name that says its size
        files = sorted((f"{piece.file_stem}.3mf" for piece in build.pieces if piece is not coupon and _has_pilot(piece, size)),
                       key=lambda file: "_pilot_" not in file)
        told = (files[0] if files else word("guide", "coupon_none"),) if _is_pilot(coupon) else ()
        rows.append((f"{size:.2f}", *((f"{Length(size):.2f}",) if in_inches() else ()), *told, ""))
    yours = word("guide", "coupon_yours" if _is_pilot(coupon) else "coupon_clear_yours")
    head = (word("guide", "coupon_mark"), *((word("guide", "coupon_hole_inch"),) if in_inches() else ()),
            *((word("guide", "coupon_print"),) if _is_pilot(coupon) else ()), yours)
    narrow = 0.2 if len(head) > 2 else 0.4
    shares = (*(narrow,) * (len(head) - 1 - _is_pilot(coupon)), *((0.36,) if _is_pilot(coupon) else ()))
    return Table(word("guide", "coupon_table"), head, tuple(rows), (*shares, 1.0 - sum(shares)))


def _good_bar() -> str:
    """What the paper's bars may measure: 100 mm within 0.2 %."""
    return word("guide", "zero_good_inch" if in_inches() else "zero_good")


def _room(build: Build, job: Job, reach: Reach | None) -> list[Step]:
    """What must be free on the machine, measured before anything is printed."""
    lines = []
    if reach is not None and reach.inside > 0.0:
        lines.append(word("guide", "zero_room_inside", what=reach.what, inside=Length(reach.inside),
                          x=Length(reach.across[0]), y=Length(reach.across[1]), behind=Length(math.ceil(reach.inside + _FREE)),
                          unit=unit_word()))
    if reach is not None:
        old = job.shots[0].face_height if job.shots else None
        outside = Length(math.ceil(reach.outside))
        lines.append(word("guide", "zero_room_outside_old", outside=outside, height=Length(old), unit=unit_word()) if old
                     else word("guide", "zero_room_outside", outside=outside, unit=unit_word()))
    lines += [word("guide", "zero_room_seal")] * has_seal(build)
    shown = ("room",) if reach is not None and reach.inside > 0.0 else ()
    return [Step(word("guide", "zero_room"), tuple(lines), shown)] if lines else []


def _plate_side(job: Job) -> str:
    """Which side of the plate lies on the machine: it shows the face of the first photograph."""
    return word("guide", "zero_plate_up" if job.shots and job.shots[0].face == "other" else "zero_plate_down")


def _rubs(build: Build, outline: Outline | None) -> str:
    """What rubbing means: no harm at a hole that the part has wider than the plate."""
    if outline is None:
        return word("guide", "zero_plate_rubs_all")
    sizes, places = plate_sizes(outline), {mark.number: mark.center for mark in opening_marks(outline)}
    found = [(sizes[number], number_text(clear_width(build, hole)), hole.id)
             for piece in build.pieces if piece.kind == "cover" for hole in piece.features
             if isinstance(hole, Hole) and hole.purpose == "bolt" for number in sizes
             if math.dist(places[number], hole.center) < _WIDER
             and clear_width(build, hole) > _drawn_at(outline, number) + _WIDER]
    wider = [word("guide", "zero_plate_wider", names=", ".join(name for *both, name in found if tuple(both) == alike),
                  plate=alike[0], part=alike[1]) for alike in dict.fromkeys(one[:2] for one in found)]
    return word("guide", "zero_plate_rubs", wider="; ".join(wider)) if wider else word("guide", "zero_plate_rubs_all")


def _drawn_at(outline: Outline, number: int) -> float:
    """Diameter of the plate's opening of this number, mm."""
    first = [loop.segments[0] for loop in outline.design if loop.role == "opening"][number - 1]
    return 2 * first.radius if isinstance(first, Circle) else math.inf


def _is_pilot(coupon: Piece) -> bool:
    return any(isinstance(f, Boss) for f in coupon.features)


def _has_pilot(piece: Piece, size: float) -> bool:
    """Are all its pilot holes drawn with this diameter?"""
    pilots = [f.pilot for f in piece.features if isinstance(f, Boss)]
    return bool(pilots) and all(math.isclose(pilot, size, abs_tol=_SAME) for pilot in pilots)


def _pilot_step(build: Build, job: Job, coupon: Piece) -> Step:
    cover = job.wishes.cover or CoverWish()
    plate = cover.floor if any(piece.kind == "clamp_frame" for piece in build.pieces) else cover.thickness
    table = coupon_table(build, coupon)
    is_short = any(row[-2] == word("guide", "coupon_none") for row in table.rows)
    return Step(word("guide", "zero_pilot"), words("guide", "zero_pilot_do", plate=Length(plate), unit=unit_word()),
                warning=word("guide", "zero_pilot_missing") if is_short else "")


def _clearance_step(build: Build, job: Job) -> Step:
    holes = sorted({f.diameter for piece in build.pieces if piece.kind == "cover" for f in piece.features
                    if isinstance(f, Hole) and f.purpose == "bolt"})
    bolt = job.wishes.bolts.thread if job.wishes.bolts else ""
    sizes = ", ".join(f"{Length(size):.2f}" for size in holes)
    return Step(word("guide", "zero_clearance"), words("guide", "zero_clearance_do", bolt=bolt, holes=sizes, unit=unit_word()))
