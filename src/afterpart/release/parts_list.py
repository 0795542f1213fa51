"""The parts list of a release: what is printed, cut, bought and used up, and the tools, each with its count.

Words: a *row* is one line of the list; its *numbers* are those of the pictures (order of assembly, as put_together.py counts), ()
for what is on no picture; a *printed aid* is a guide, coupon or check plate that stays on the bench.
Conventions: mm, or inches as lengths.py says, with the mm of metric hardware behind them; generic hardware by
standard or by size, no maker's name; CSV after RFC 4180, UTF-8.
Limits: masses are of solid prints; lengths of cord leave nothing for a slanting cut.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from afterpart.model.assembly import Build, Item, Place
from afterpart.model.feature import Boss, Groove, Hole, Opening, PrintedSeal, Seat
from afterpart.model.job import Job
from afterpart.model.piece import Piece
from afterpart.model.wishes import PIECE_KINDS, CoverWish
from afterpart.release.lengths import Length, in_inches
from afterpart.release.shown import spoken
from afterpart.release.words import word
from afterpart.solid.body import Mesh
from afterpart.standards.fitting import drive
from afterpart.standards.materials import material
from afterpart.words import translated

COLUMNS = ("group", "numbers", "count", "name", "size", "material", "purpose", "file")
"""Of the table, in order; each has its heading in the words."""
AIDS = ("cutting_guide", "hole_coupon", "check_plate")
CUT = ("filter_element",)
_SECTION = "parts_list"
_MM3_PER_CM3 = 1000.0
_STRIP, _CALLIPER, _RULE = 20.0, 0.05, 150.0
"""Width of the paper strips, what the calliper must tell, length of the rule."""
STRIP_LENGTH = 100.0
"""Of the paper strips: long enough to be gripped outside the part."""


@dataclass(frozen=True)
class PartRow:
    """One line.  group: printed | cut | aid | fastener | seal | stock | supply | tool; count: 0 where a count makes no sense;
    file: to print or cut from, "" for none; is_loose: a supply that is counted in and out at the machine."""

    group: str
    name: str
    numbers: tuple[int, ...] = ()
    count: int = 0
    size: str = ""
    material: str = ""
    purpose: str = ""
    file: str = ""
    is_loose: bool = False

    def cells(self) -> tuple[str, ...]:
        """The row as texts, in the order of COLUMNS."""
        return (_told(f"group_{self.group}"), _numbers(self.numbers), str(self.count) if self.count else "", self.name, self.size,
                self.material, self.purpose, self.file)


@dataclass(frozen=True)
class PlatePiece:
    """A piece of the check plate: volume mm3, size over all."""

    piece: Piece
    volume: float
    size: tuple[float, float, float]


def parts_list(build: Build, job: Job, meshes: Mapping[str, Mesh], volumes: Mapping[str, float],
               plate: tuple[PlatePiece, ...] = ()) -> tuple[PartRow, ...]:
    """Everything to make, to buy and to have at hand.  meshes, volumes (mm3): of the pieces, by file_stem; plate: the check
    plate's pieces, () where they are not at hand."""
    numbers = assembly_numbers(build)
    return (*_pieces(build, job, meshes, numbers, plate), *_fasteners(build, job, numbers), *_seals(build, job, numbers),
            *_stock(build, job, meshes, volumes, plate), *_supplies(build, job), *_tools(build, job))


def parts_csv(rows: tuple[PartRow, ...]) -> bytes:
    """The list as CSV with a line of headings."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(headings())
    writer.writerows(row.cells() for row in rows)
    return text.getvalue().encode("utf-8")


def headings() -> tuple[str, ...]:
    """The headings of the columns."""
    return tuple(_told("head_size_inch" if column == "size" and in_inches() else f"head_{column}") for column in COLUMNS)


def assembly_numbers(build: Build) -> dict[str, tuple[int, ...]]:
    """Numbers on the pictures, by a piece's file_stem or an item's name: order of assembly, foam sheets left out."""
    things = sorted((*build.assembly.places, *build.assembly.items), key=lambda thing: thing.order)
    shown = [thing for thing in things if isinstance(thing, Place) or thing.kind != "foam"]
    found: dict[str, tuple[int, ...]] = {}
    for number, thing in enumerate(shown, start=1):
        key = thing.piece if isinstance(thing, Place) else thing.name
        found[key] = (*found.get(key, ()), number)
    return found


def filament_of(piece: Piece, job: Job) -> str:
    """What a piece is printed from: its own, else the printer's."""
    return piece.material or job.wishes.printer.material


def printed_alternatives(build: Build) -> frozenset[str]:
    """file_stems of pieces of which only one is needed, drawn in several pilot sizes."""
    return frozenset(piece.file_stem for piece in build.pieces if "_pilot_" in piece.file_stem)


def in_sizes(build: Build) -> frozenset[str]:
    """file_stems of the pieces that are there in named sizes besides."""
    stems = {piece.file_stem for piece in build.pieces}
    return frozenset(stems & {stem.partition("_pilot_")[0] for stem in printed_alternatives(build)})


def bolts_of(build: Build) -> tuple[Item, ...]:
    """The items that are bolts of the cover."""
    return tuple(item for item in build.assembly.items if item.kind == "bolt")


def screws_in(build: Build) -> tuple[Item, ...]:
    """The items that are small thread-forming screws."""
    return tuple(item for item in build.assembly.items if item.kind == "screw")


def _told(key: str, **fields: object) -> str:
    return word(_SECTION, key, **fields)


def _metric_too(key: str, **sizes: float) -> str:
    """Sizes of what is sold by metric sizes: where the list is in inches, with the mm in brackets."""
    told = _told(key, **{name: Length(size) for name, size in sizes.items()})
    return _told("in_both", inches=told, metric=_told(key, **sizes)) if in_inches() else told


def _numbers(numbers: tuple[int, ...]) -> str:
    if len(numbers) < 3:
        return ", ".join(map(str, numbers))
    return f"{numbers[0]}-{numbers[-1]}" if numbers[-1] - numbers[0] == len(numbers) - 1 else ", ".join(map(str, numbers))


def _pieces(build: Build, job: Job, meshes: Mapping[str, Mesh], numbers: dict[str, tuple[int, ...]],
            plate: tuple[PlatePiece, ...]) -> list[PartRow]:
    rows, alternatives, sized = [], printed_alternatives(build), in_sizes(build)
    for piece in build.pieces:
        group = "aid" if piece.kind in AIDS else "cut" if piece.kind in CUT else "printed"
        x, y, z = (float(side) for side in np.ptp(meshes[piece.file_stem].vertices, axis=0))
        known = piece.kind in (*PIECE_KINDS, "check_plate")
        purpose = _told(f"for_{piece.kind}" if known else "for_other")
        is_other, in_others = piece.file_stem in alternatives, piece.file_stem in sized
        file = "" if in_others else f"{piece.file_stem}.dxf" if group == "cut" else f"{piece.file_stem}.3mf"
        rows.append(PartRow(group, spoken(piece), numbers.get(piece.file_stem, ()), 0 if is_other else 1,
                            _told("box", x=Length(x), y=Length(y), z=Length(z)),
                            "" if group == "cut" else filament_of(piece, job),
                            _told("for_clamp_frame_variant") if is_other else
                            _told("in_sizes", purpose=purpose) if in_others else purpose, file))
    order = ("printed", "cut", "aid")
    return sorted((*rows, *_plate_rows(job, plate)), key=lambda row: order.index(row.group))


def _plate_rows(job: Job, plate: tuple[PlatePiece, ...]) -> list[PartRow]:
    """The check plate, which lies in a folder of its own."""
    if not plate:
        return [PartRow("aid", _told("name_check_plate"), (), 1, _told("size_check_plate"), job.wishes.printer.material,
                        _told("for_check_plate"))]
    return [PartRow("aid", spoken(one.piece), (), 1, _told("box", **dict(zip("xyz", map(Length, one.size), strict=True))),
                    filament_of(one.piece, job), _told("for_check_plate"), f"plate/{one.piece.file_stem}.3mf") for one in plate]


def _fasteners(build: Build, job: Job, numbers: dict[str, tuple[int, ...]]) -> list[PartRow]:
    kinds: dict[str, list[Item]] = {}
    for item in build.assembly.items:
        if item.kind in ("bolt", "screw", "washer", "sleeve", "insert"):
            kinds.setdefault(item.name, []).append(item)
    rows = [_fastener(items, job, numbers[name]) for name, items in kinds.items()]
    holes = [f for piece in build.pieces for f in piece.features if isinstance(f, Hole) and f.purpose == "insert"]
    for screw, size in sorted({(hole.screw, hole.diameter) for hole in holes}):
        count = sum((hole.screw, hole.diameter) == (screw, size) for hole in holes)
        rows.append(PartRow("fastener", _told("name_insert", thread=screw), (), count, _metric_too("size_insert", hole=size),
                            _told("material_insert"), _told("for_insert")))
    return rows


def _fastener(items: list[Item], job: Job, numbers: tuple[int, ...]) -> PartRow:
    item, count = items[0], sum(len(one.at) for one in items)
    if item.kind in ("washer", "sleeve"):
        size = _metric_too("size_ring", inside=item.diameter, outside=item.head_diameter, height=item.head_height)
    elif item.kind == "screw" and job.wishes.screws is not None and job.wishes.screws.pitch and job.wishes.screws.core:
        screws = job.wishes.screws
        size = _metric_too("size_screw", diameter=item.diameter, length=item.length, core=screws.core, pitch=screws.pitch,
                           head=item.head_diameter, high=item.head_height)
    else:
        size = _metric_too("size_shank", diameter=item.diameter, length=item.length)
    wish = job.wishes.bolts
    metal = _told("material_bolt", grade=wish.property_class) if item.kind == "bolt" and wish else _told("material_steel")
    return PartRow("fastener", item.name, numbers, count, size, metal, _told(f"for_{item.kind}"))


def _seals(build: Build, job: Job, numbers: dict[str, tuple[int, ...]]) -> list[PartRow]:
    """The cord with its length along the groove's centre line; as a ring: d_inside = length / pi - cord."""
    seal = job.wishes.seal
    return [PartRow("seal", _told("name_cord"), numbers[item.name], len(item.at),
                    _metric_too("size_cord", cord=item.diameter, length=item.length,
                                inside=item.length / math.pi - item.diameter),
                    _told("material_cord", shore=seal.shore_a) if seal else "", _told("for_cord"))
            for item in build.assembly.items if item.kind == "cord"]


def _stock(build: Build, job: Job, meshes: Mapping[str, Mesh], volumes: Mapping[str, float],
           plate: tuple[PlatePiece, ...]) -> list[PartRow]:
    rows = []
    wish, seal = job.wishes.filter, job.wishes.seal
    for piece in build.pieces:
        if piece.kind in CUT and wish is not None:
            x, y, _ = (float(side) for side in np.ptp(meshes[piece.file_stem].vertices, axis=0))
            size = _told("size_foam", x=Length(math.ceil(x + 10)), y=Length(math.ceil(y + 10)), thickness=Length(wish.thickness),
                         pores=wish.pores_per_inch)
            rows.append(PartRow("stock", _told("name_foam"), (), 1, size, _told("material_foam"), _told("for_foam")))
    printed = [piece for piece in build.pieces if piece.kind not in CUT] + [one.piece for one in plate]
    volumes = {**volumes, **{one.piece.file_stem: one.volume for one in plate}}
    for filament in dict.fromkeys(filament_of(piece, job) for piece in printed):
        mine = [piece for piece in printed if filament_of(piece, job) == filament]
        is_flexible = seal is not None and any(isinstance(f, PrintedSeal) for piece in mine for f in piece.features)
        name = (_told("name_flexible", material=filament, shore=seal.shore_a) if is_flexible and seal
                else _told("name_filament", material=filament))
        rows.append(PartRow("stock", name, (), 0, _mass_words(mine, filament, volumes, build), filament,
                            _told("for_filament", pieces="; ".join(spoken(piece) for piece in mine
                                                                if piece.file_stem not in printed_alternatives(build)))))
    return rows


def _mass_words(pieces: list[Piece], filament: str, volumes: Mapping[str, float], build: Build) -> str:
    needed = [piece for piece in pieces if piece.file_stem not in printed_alternatives(build)]
    masses = [mass_g(volumes[piece.file_stem], filament) for piece in needed]
    known = [mass for mass in masses if mass is not None]
    return _told("size_filament", mass=sum(known)) if len(known) == len(masses) else _told("size_filament_unknown")


def mass_g(volume: float, filament: str) -> float | None:
    """Mass of a solid print of this volume (mm3); None for a filament without a density in the tables."""
    try:
        return volume / _MM3_PER_CM3 * material(filament).density.middle
    except KeyError:
        return None


def has_seal(build: Build) -> bool:
    """Is there a cord or a printed ring that can be tested?"""
    return any(isinstance(f, Groove | PrintedSeal) for piece in build.pieces for f in piece.features)


def has_filter(build: Build) -> bool:
    """Is there an element to cut?"""
    return any(piece.kind in CUT for piece in build.pieces)


def has_clean_side(build: Build, job: Job) -> bool:
    """Does the part close off a room of the machine, so that what falls in stays in?  A bracket does not."""
    return (has_seal(build) or any(isinstance(f, Seat) or (isinstance(f, Opening) and f.id == "inlet")
                                   for piece in build.pieces for f in piece.features)
            or job.wishes.machine.swallows is True)


def keeps_dust_out(build: Build, job: Job) -> bool:
    """Is there a clean side that a white cloth could show dust on?"""
    seal = job.wishes.seal
    return has_filter(build) or (has_seal(build) and seal is not None and seal.duty == "dust")


def _supplies(build: Build, job: Job) -> list[PartRow]:
    bolts = sum(len(item.at) for item in bolts_of(build))
    asked = (("tape", bolts > 0, 0), ("oil", has_filter(build), 0), ("marker", has_seal(build), 0),
             ("paper", has_seal(build), bolts if bolts > 2 else 1),
             ("cloths", has_filter(build), 0), ("cloth", keeps_dust_out(build, job), 1), ("plug", has_clean_side(build, job), 1))
    rows = [PartRow("supply", _told(f"name_{key}", wide=Length(_STRIP), long=Length(STRIP_LENGTH)), count=count,
                    purpose=_told(f"for_{key}"), is_loose=count > 0) for key, is_asked, count in asked if is_asked]
    coupons = [piece for piece in build.pieces
               if piece.kind == "hole_coupon" and any(isinstance(f, Boss) for f in piece.features)]
    if not screws_in(build) or not coupons:
        return rows
    item, cover = screws_in(build)[0], job.wishes.cover or CoverWish()
    passes = cover.floor if any(piece.kind == "clamp_frame" for piece in build.pieces) else cover.thickness
    scrap = PartRow("supply", _told("name_scrap", thick=Length(passes), hole=Length(math.ceil(item.diameter + 0.4))), count=1,
                    purpose=_told("for_scrap"))
    return [PartRow("supply", _told("name_spare", screw=item.name), count=len(coupon.labels), purpose=_told("for_spare"))
            for coupon in coupons] + [scrap, *rows]


def _tools(build: Build, job: Job) -> list[PartRow]:
    wish = job.wishes.bolts
    rows = [PartRow("tool", _told("tool_calliper", fine=Length(_CALLIPER)), purpose=_told("for_calliper")),
            PartRow("tool", _told("tool_rule", long=Length(_RULE)), purpose=_told("for_rule")),
            PartRow("tool", _told("tool_pencil"), purpose=_told("for_pencil")),
            PartRow("tool", _told("tool_knife"), purpose=_told("for_knife"))]
    holes = _bolt_hole_sizes(build)
    if holes:
        sizes = ", ".join(f"{Length(size):.2f}" if in_inches() else f"{size:g}" for size in holes)
        rows.append(PartRow("tool", _told("tool_drill", sizes=sizes), purpose=_told("for_drill")))
    if wish is not None and bolts_of(build):
        rows += _keys(wish.head, wish.thread)
        if wish.torque_n_m is not None:
            rows.append(PartRow("tool", _told("tool_torque", torque=wish.torque_n_m, bit=_bit(wish.head, wish.thread)),
                                purpose=_told("for_torque")))
    asked = (("wire", bool(screws_in(build))), ("brush", bool(screws_in(build))),
             ("driver", bool(screws_in(build))), ("blade", has_filter(build)), ("iron", wish is not None and wish.insert),
             ("tray", bool(screws_in(build)) or has_filter(build)), ("lamp", has_clean_side(build, job)),
             ("glasses", bool(screws_in(build)) or has_filter(build)))
    return [*rows, *(PartRow("tool", _told(f"tool_{key}"), purpose=_told(f"for_{key}")) for key, is_asked in asked if is_asked)]


def _bolt_hole_sizes(build: Build) -> tuple[float, ...]:
    """Diameters as drawn of the bolt holes in plastic; none where metal sleeves stand in them."""
    if any(item.kind == "sleeve" for item in build.assembly.items):
        return ()
    return tuple(sorted({feature.diameter for piece in build.pieces if piece.kind == "cover" for feature in piece.features
                         if isinstance(feature, Hole) and feature.purpose == "bolt"}))


def _bit(standard: str, thread: str) -> str:
    """The bit that turns the bolt's head, in words; what fits it where the table does not know the head."""
    try:
        found = drive(standard, thread)
    except KeyError:
        return _told("bit_unknown")
    return _told("tool_key_metric" if in_inches() else "tool_key", tool=translated(found.tool), size=found.tool_size)


def _keys(standard: str, thread: str) -> list[PartRow]:
    """The bolt's key by its standard; none for a head that the table does not know."""
    try:
        found = drive(standard, thread)
    except KeyError:
        return []
    key = "tool_key_metric" if in_inches() else "tool_key"
    return [PartRow("tool", _told(key, tool=translated(found.tool), size=found.tool_size), count=1, purpose=_told("for_key"))]
