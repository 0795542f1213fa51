"""Stage 4: from the outline and the job's wishes to the pieces, their places, and the table of filter cuts.

What depends on what is decided here, in one order: roles, bolts, the groove between them, the filter's seat inside the groove,
the element in the seat, the opening under the element; then each piece is drawn by its own file.
A job asks for pieces by name (make = [...]), or by the tables it gives.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass, replace

from afterpart.errors import JobError
from afterpart.geometry.bar_layout import BarRule
from afterpart.model.assembly import Assembly, Build
from afterpart.model.edges import Note
from afterpart.model.feature import CutRow, Groove, Seat
from afterpart.model.job import Job
from afterpart.model.outline import Outline, Point
from afterpart.model.piece import Piece
from afterpart.model.wishes import PIECE_KINDS, CoverWish, FilterWish, HolderWish, Wishes
from afterpart.parts.assembly import Laid, assemble
from afterpart.parts.bolt_holes import Bolts, place_bolts
from afterpart.parts.clamp_frame import make_frame
from afterpart.parts.coupon import make_coupon, pilot_variants
from afterpart.parts.cover import Extras, make_cover
from afterpart.parts.cutting_guide import make_cutting_guide
from afterpart.parts.filter_element import chosen_row, cut_table, make_element, with_flow
from afterpart.parts.gasket import make_gasket
from afterpart.parts.groove import lay_groove
from afterpart.parts.latches import lay_latches, make_latched_frame
from afterpart.parts.pins import lay_pins
from afterpart.parts.print_correction import correction_notes, print_correction
from afterpart.parts.roles import assign_roles, kept_outline
from afterpart.parts.seat import air_opening, lay_seat
from afterpart.parts.seat_key import Keyed, lay_seat_key
from afterpart.words import tell

_NEEDS = {"gasket": "seal", "clamp_frame": "filter", "filter_element": "filter", "cutting_guide": "filter"}
"""The table of the job without which a piece cannot be made."""


@dataclass(frozen=True)
class _Filter:
    """The seat with its opening, the table of cuts, the chosen polygon, and what the holder adds to the cover."""

    seat: Seat
    rows: tuple[CutRow, ...]
    row: CutRow
    corners: tuple[Point, ...]
    extras: Extras


def make_pieces(outline: Outline, job: Job) -> Build:
    """Everything the job asks for.

    JobError: the size is unknown, nothing is asked for, a table a piece needs is missing, or sizes that cannot work.
    """
    wishes = job.wishes
    kinds = kinds_wanted(wishes)
    _refuse(outline, kinds, wishes)
    roles = assign_roles(outline, wishes)
    kept = kept_outline(outline, roles)
    thickness = (wishes.cover or CoverWish()).thickness
    bolts = place_bolts(outline, wishes, roles, thickness)
    groove, notes = _groove(outline, job, bolts, thickness, kinds)
    laid = _lay_filter(kept, job, groove, kinds) if wishes.filter is not None else None
    pieces = tuple(_pieces(kinds, outline, kept, job, bolts, groove, laid))
    by_kind = {piece.kind: piece for piece in reversed(pieces)}
    seat = laid.seat if laid else None
    assembly = assemble(job, Laid(by_kind, thickness, groove, seat, bolts)) if "cover" in by_kind else Assembly()
    correction = print_correction(job, outline)
    told = (*(() if "cover" in by_kind else roles.notes), *notes, *correction_notes(correction, wishes))
    return Build(pieces, assembly, laid.rows if laid else (), told, correction)


def kinds_wanted(wishes: Wishes) -> tuple[str, ...]:
    """The pieces asked for: by name, else by the tables given, in the order of PIECE_KINDS."""
    if wishes.make:
        return tuple(kind for kind in PIECE_KINDS if kind in wishes.make)
    framed = wishes.filter is not None and (wishes.holder or HolderWish()).kind != "pins"
    told = {
        "cover": any((wishes.cover, wishes.bolts, wishes.lip, wishes.inlet, wishes.filter)),
        "gasket": wishes.seal is not None and wishes.seal.kind in ("ring", "flat"),
        "clamp_frame": framed,
        "filter_element": wishes.filter is not None,
        "cutting_guide": wishes.filter is not None,
        "hole_coupon": wishes.coupon is not None or wishes.screws is not None or framed,
    }
    return tuple(kind for kind in PIECE_KINDS if told[kind])


def _refuse(outline: Outline, kinds: tuple[str, ...], wishes: Wishes) -> None:
    if outline.unit != "mm":
        raise JobError(tell("the size of the part is unknown (the outline is in {unit}), so nothing can be made true to scale; "
                            "take the readings the outline asks for (next_readings) and measure again with --reading",
                            unit=outline.unit))
    if not kinds:
        raise JobError(tell("the job asks for no piece: found no make = [...] and no [cover], [seal] or [filter] table, expected "
                            "at least one. A bracket or an adapter plate needs only [cover] with its thickness"))
    for kind in kinds:
        table = _NEEDS.get(kind)
        if table is not None and getattr(wishes, table) is None:
            raise JobError(tell("make: found {kind!r}, which needs the table [{table}]; add it, or take the piece out of the "
                                "list", kind=kind, table=table))
    if "clamp_frame" in kinds and (wishes.holder or HolderWish()).kind == "pins":
        raise JobError(tell("make: found 'clamp_frame' with holder.kind = 'pins', which needs no frame; take one of the two out"))


def _groove(outline: Outline, job: Job, bolts: Bolts, thickness: float,
            kinds: tuple[str, ...]) -> tuple[Groove | None, tuple[Note, ...]]:
    """The groove where a cover or a ring wants one; its floor's depth from the drawing, else from the heights card."""
    if job.wishes.seal is None or not {"cover", "gasket"} & set(kinds):
        return None, ()
    depth = next((h.value for h in job.heights if h.level == "channel floor"), None)
    return lay_groove(outline, job.wishes, bolts.holes, thickness, depth)


def _lay_filter(outline: Outline, job: Job, groove: Groove | None, kinds: tuple[str, ...]) -> _Filter:
    wish, holder = job.wishes.filter or FilterWish(), job.wishes.holder or HolderWish()
    seat = lay_seat(outline, job, groove)
    barred = holder.kind != "pins" and "clamp_frame" in kinds
    rule = BarRule(holder.free_span, holder.bar_width, holder.thickness) if barred else None
    rows = cut_table(seat, with_flow(wish, job.wishes.machine), rule)
    row = chosen_row(rows)
    seat = replace(seat, opening=air_opening(seat, row.corners, wish.rim))
    keyed = lay_seat_key(seat, row.corners, job)
    if holder.kind == "pins":
        pins = lay_pins(seat, row.corners, job)
        return _Filter(seat, rows, row, pins.cut_corners, _with_key(Extras(pins.steps, (), pins.notes), keyed))
    if holder.kind == "latches":
        latches = lay_latches(seat, job)
        return _Filter(seat, rows, row, row.corners,
                       _with_key(Extras(latches.steps, latches.features, latches.notes), keyed))
    return _Filter(seat, rows, row, row.corners, _with_key(Extras(), keyed))


def _with_key(extras: Extras, keyed: Keyed) -> Extras:
    return replace(extras, key=keyed.key, notes=(*extras.notes, *keyed.notes))


def _pieces(kinds: tuple[str, ...], outline: Outline, kept: Outline, job: Job, bolts: Bolts, groove: Groove | None,
            laid: _Filter | None) -> list[Piece]:
    made: list[Piece] = []
    wishes, name, revision = job.wishes, job.name, job.revision
    holder = wishes.holder or HolderWish()
    for kind in kinds:
        match kind:
            case "cover":
                piece = make_cover(outline, job, groove, laid.seat if laid else None, laid.extras if laid else Extras())
                made.append(replace(piece, file_stem=(wishes.cover or CoverWish()).called.strip().replace(" ", "_")))
            case "gasket" if groove is None or not groove.cord:
                passages = (laid.seat.pocket,) if laid is not None and groove is None else ()
                made.append(make_gasket(groove if groove is not None else kept, wishes, name, revision, bolts.holes, passages))
            case "clamp_frame" if laid is not None:
                frame = make_latched_frame if holder.kind == "latches" else make_frame
                whole = frame(laid.seat, laid.corners, job, laid.extras.key)
                made += [whole, *(pilot_variants(whole) if holder.four_pilots else ())]
            case "filter_element" if laid is not None and wishes.filter is not None:
                wish = with_flow(wishes.filter, wishes.machine)
                made.append(make_element(laid.seat, replace(laid.row, corners=laid.corners), wish, name, revision))
            case "cutting_guide" if laid is not None and wishes.filter is not None:
                made.append(make_cutting_guide(replace(laid.row, corners=laid.corners), wishes.filter, name, revision))
            case "hole_coupon":
                made.append(make_coupon(job))
    return made
