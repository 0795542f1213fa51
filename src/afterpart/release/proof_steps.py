"""Step 0 of the guide: the paper, the check plate and the hole coupon, for somebody who has only the folder."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.model.assembly import Build
from afterpart.model.feature import Boss, Hole
from afterpart.model.job import Job
from afterpart.model.piece import Piece
from afterpart.model.wishes import CoverWish
from afterpart.release.guide import Chapter, Step, Table
from afterpart.release.lengths import Length, in_inches, unit_word
from afterpart.release.parts_list import has_clean_side
from afterpart.release.words import word, words

_SAME = 1e-6
_SHARES = (0.12, 0.22, 0.36, 0.3)


def proof_chapter(build: Build, job: Job) -> Chapter:
    """Paper, check plate, and the coupon where there is one, with the table of what each of its marks stands for."""
    steps = [Step(word("guide", "zero_paper"), words("guide", "zero_paper_do", good=_good_bar())),
             Step(word("guide", "zero_plate"), words("guide", "zero_plate_do"),
                  warning=word("guide", "zero_plate_warning") if has_clean_side(build, job) else "")]
    coupon = next((piece for piece in build.pieces if piece.kind == "hole_coupon"), None)
    tables: tuple[Table, ...] = ()
    if coupon is not None:
        steps.append(_pilot_step(build, job, coupon) if _is_pilot(coupon) else _clearance_step(build, job))
        tables = (coupon_table(build, coupon),)
    return Chapter(word("guide", "chapter_zero"), word("guide", "intro_zero"), tuple(steps), tables)


def coupon_sizes(coupon: Piece) -> dict[int, float]:
    """Diameter as drawn of the hole at each mark, mm."""
    sizes = {f.center: f.pilot if isinstance(f, Boss) else f.diameter for f in coupon.features if isinstance(f, Boss | Hole)}
    return {label.number: sizes[label.center] for label in coupon.labels if label.center in sizes}


def coupon_table(build: Build, coupon: Piece) -> Table:
    """Mark, hole as drawn, the piece with that pilot hole, and a column to write in."""
    rows = []
    for mark, size in coupon_sizes(coupon).items():
        files = [f"{piece.file_stem}.3mf" for piece in build.pieces if piece is not coupon and _has_pilot(piece, size)]
        told = (files[0] if files else word("guide", "coupon_none"),) if _is_pilot(coupon) else ()
        rows.append((f"{mark}", _drawn(size), *told, ""))
    yours = word("guide", "coupon_yours" if _is_pilot(coupon) else "coupon_clear_yours")
    head = (word("guide", "coupon_mark"), word("guide", "coupon_hole_inch" if in_inches() else "coupon_hole"),
            *((word("guide", "coupon_print"),) if _is_pilot(coupon) else ()), yours)
    return Table(word("guide", "coupon_table"), head, tuple(rows), _SHARES if _is_pilot(coupon) else (0.15, 0.25, 0.6))


def _good_bar() -> str:
    """What the paper's bars may measure: 100 mm within 0.2 %."""
    return word("guide", "zero_good_inch" if in_inches() else "zero_good")


def _drawn(size: float) -> str:
    """A hole of the coupon as drawn; the job file asks for it in mm, so that they stand beside the inches."""
    return f"{Length(size):.2f} ({size:.2f})" if in_inches() else f"{size:.2f}"


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
    is_short = any(row[2] == word("guide", "coupon_none") for row in table.rows)
    return Step(word("guide", "zero_pilot"), words("guide", "zero_pilot_do", plate=Length(plate), unit=unit_word()),
                warning=word("guide", "zero_pilot_missing") if is_short else "")


def _clearance_step(build: Build, job: Job) -> Step:
    holes = sorted({f.diameter for piece in build.pieces if piece.kind == "cover" for f in piece.features
                    if isinstance(f, Hole) and f.purpose == "bolt"})
    bolt = job.wishes.bolts.thread if job.wishes.bolts else ""
    sizes = ", ".join(f"{Length(size):.2f}" for size in holes)
    return Step(word("guide", "zero_clearance"), words("guide", "zero_clearance_do", bolt=bolt, holes=sizes, unit=unit_word()))
