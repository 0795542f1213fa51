"""Print settings in words, one row a piece, for any slicer: material, layer, walls, infill, how it lies, no supports.

Words: a piece is *solid* where the checks reckon with its plastic (cover, frame, seal, coupon, check plate), *light* where it is
only a guide.  Walls: as many lines as make the structural wall of standards/printing.py.
Limits: heat and speed are the filament's and the printer's own; times are the pieces' estimates, masses those of solid prints.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from afterpart.model.assembly import Build
from afterpart.model.job import Job
from afterpart.model.piece import Piece
from afterpart.release.parts_list import CUT, PlatePiece, filament_of, in_sizes, mass_g, printed_alternatives
from afterpart.release.shown import spoken
from afterpart.release.words import word
from afterpart.standards.printing import rule

LIGHT = ("cutting_guide",)
_SECTION = "print_settings"
_MINUTES_PER_HOUR = 60
COLUMNS = ("piece", "material", "layer", "walls", "infill", "lies", "supports", "takes")


@dataclass(frozen=True)
class PrintSetting:
    """One piece's settings as words, in the order of COLUMNS; file: what to load; minutes, grams: None where not known."""

    piece: str
    material: str
    layer: str
    walls: str
    infill: str
    lies: str
    supports: str
    takes: str
    file: str
    minutes: float
    grams: float | None

    def cells(self) -> tuple[str, ...]:
        """The row in the order of COLUMNS."""
        return (self.piece, self.material, self.layer, self.walls, self.infill, self.lies, self.supports, self.takes)


def print_settings(build: Build, job: Job, volumes: Mapping[str, float],
                   plate: tuple[PlatePiece, ...] = ()) -> tuple[PrintSetting, ...]:
    """One row for each printed piece, one for all sizes of a piece that comes in several, and the check plate's.  volumes: mm3 by
    file_stem."""
    others, sized = printed_alternatives(build), in_sizes(build)
    printed = [piece for piece in build.pieces if piece.kind not in CUT and piece.file_stem not in others]
    rows = [_setting(piece, job, volumes[piece.file_stem]) for piece in printed]
    rows = [replace(row, file=_sizes(piece.file_stem, others)) if piece.file_stem in sized else row
            for piece, row in zip(printed, rows, strict=True)]
    return (*rows, *(replace(_setting(one.piece, job, one.volume), file=f"plate/{one.piece.file_stem}.3mf",
                             lies=one.piece.orientation or _told("lies_plate")) for one in plate))


def _sizes(stem: str, others: frozenset[str]) -> str:
    return _told("in_sizes", files=", ".join(f"{other}.3mf" for other in sorted(others) if other.startswith(f"{stem}_pilot_")))


def setting_headings() -> tuple[str, ...]:
    """The headings of the columns."""
    return tuple(_told(f"head_{column}") for column in COLUMNS)


def setting_advice(build: Build, job: Job, plate: tuple[PlatePiece, ...] = ()) -> tuple[str, ...]:
    """What holds for all pieces, in sentences."""
    filaments = {filament_of(piece, job).upper() for piece in build.pieces if piece.kind not in CUT}
    keys = ["other", "dry", "air"]
    if any(name.startswith(("TPU", "TPE")) for name in filaments):
        keys.append("flexible")
    if any(name.endswith(("-GF", "-CF")) for name in filaments):
        keys.append("glass")
    minutes = sum(piece.print_time.minutes for piece in (*build.pieces, *(one.piece for one in plate)) if piece.kind not in CUT
                  and piece.file_stem not in printed_alternatives(build))
    times = [piece.print_time.how for piece in build.pieces if piece.kind not in CUT][:1]
    seal = job.wishes.seal
    hard = [_told("flexible_shore", shore=seal.shore_a)] if "flexible" in keys and seal is not None else []
    total = _told("total_sizes" if in_sizes(build) else "total", time=time_words(minutes))
    general = (total, *(_told(key) for key in keys), *hard, _told("look"), _told("cool"))
    return (*general, *(_told("time_about", how=how) for how in times))


def settings_text(build: Build, job: Job, volumes: Mapping[str, float], plate: tuple[PlatePiece, ...] = ()) -> bytes:
    """The settings as plain text, UTF-8, one block a piece."""
    blocks = [f"{_told('title')}\n\n{_told('about')}"]
    for row in print_settings(build, job, volumes, plate):
        lines = [f"  {heading}: {cell}" for heading, cell in zip(setting_headings()[1:], row.cells()[1:], strict=True)]
        blocks.append("\n".join((f"{row.piece} ({row.file})", *lines)))
    return ("\n\n".join((*blocks, *setting_advice(build, job, plate))) + "\n").encode("utf-8")


def wall_lines(nozzle: float) -> int:
    """Lines that make the structural wall: ceil(wall / (line width x nozzle)), the narrow line taken."""
    return math.ceil(rule("wall_structural").low / (rule("line_width").low * nozzle) - 1e-9)


def _told(key: str, **fields: object) -> str:
    return word(_SECTION, key, **fields)


def _setting(piece: Piece, job: Job, volume: float) -> PrintSetting:
    printer, filament = job.wishes.printer, filament_of(piece, job)
    is_light = piece.kind in LIGHT
    grams = mass_g(volume, filament)
    mass = _told("mass_unknown") if grams is None else _told("mass_light" if is_light else "mass", grams=grams)
    return PrintSetting(
        spoken(piece), filament, _told("layer", layer=printer.layer, nozzle=printer.nozzle),
        _told("walls", count=wall_lines(printer.nozzle)), _told("infill_light" if is_light else "infill_solid"),
        piece.orientation or _told("lies_unknown"), _told("supports"),
        _told("takes", time=time_words(piece.print_time.minutes), mass=mass), f"{piece.file_stem}.3mf",
        piece.print_time.minutes, grams)


def time_words(minutes: float) -> str:
    """Hours and minutes, or minutes alone below an hour."""
    hours, rest = divmod(round(minutes), _MINUTES_PER_HOUR)
    return _told("takes_time", hours=hours, minutes=rest) if hours else _told("takes_minutes", minutes=rest)
