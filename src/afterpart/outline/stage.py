"""Stage 3: the rims of a picture -> the drawing, measured and designed.

Two halves: `trace_picture` (slow, once a picture) and `solve_outline` (quick, again after every reading).
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from afterpart.errors import UsageError
from afterpart.model.edges import EdgeMap, Note, Reference
from afterpart.model.job import Reading
from afterpart.model.outline import Outline
from afterpart.outline.assembled import Solved, assembled_outline, datum_in_photo, datum_of
from afterpart.outline.channels import with_channels, without_channels
from afterpart.outline.consistency import far_scale
from afterpart.outline.contradictions import Setting, reference_conflict, scale_conflict
from afterpart.outline.design import Design, design_part, free_design
from afterpart.outline.edits import corrected_picture
from afterpart.outline.maker import FixedSize, Orders
from afterpart.outline.part import touching
from afterpart.outline.readings import Taken, take_readings
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.traced import UNSCALED_RELATIVE_U, TracedPart, TracedPicture, grown, size_open, trace_picture
from afterpart.outline.witness import hear

SCALE_CONFLICT_U = 3.0
"""A scale of whole numbers so many standard uncertainties from the reference's is named."""


def recover_outline(edges: EdgeMap, settings: OutlineSettings) -> Outline:
    """The outline of all parts in the picture.

    Raises FitError when a rim cannot be drawn, UsageError for a datum or reading that names nothing in the outline.
    """
    return solve_outline(trace_picture(edges, settings), settings)


def solve_outline(picture: TracedPicture, settings: OutlineSettings) -> Outline:
    """The outline of a traced picture with the readings and the datum that the settings hold.

    Raises UsageError for a datum or reading that names nothing in the outline.
    """
    picture = _corrected(picture, settings)
    solved, unit = _solved(picture, settings)
    return assembled_outline(picture, solved, settings.datum, 1.0 if solved.sized else 1.0 / picture.unit, unit)


def _solved(picture: TracedPicture, settings: OutlineSettings) -> tuple[Solved, float]:
    """The parts with readings taken in and designs drawn, and house units per unit of the edge map then."""
    edges, traced, unit = picture.edges, list(picture.parts), picture.unit
    sized = edges.unit == "mm"
    _check_ids(picture, settings)
    reference, notes, growth = edges.reference, [*edges.notes, *picture.notes], 1.0
    if not sized and settings.readings:
        growth = _settled_size(traced, settings.readings)
        traced = [size_open(grown(item, growth)) for item in traced]
        reference, sized = Reference("readings", edges.reference.px_per_mm, UNSCALED_RELATIVE_U), True
    settled = take_readings([item.part for item in traced], _taken(traced, settings.readings))
    notes += settled.notes
    traced = [replace(item, part=touching(part)) for item, part in zip(traced, settled.parts, strict=True)]
    if settled.against_reference is not None:
        notes.append(reference_conflict(settled.against_reference, reference.relative_u, settled.used, _setting(edges)))
    if settled.used:
        kind = reference.kind if "readings" in reference.kind else f"{reference.kind}+readings"
        reference = replace(reference, relative_u=traced[0].part.scale_u, kind=kind)
    heard = hear(traced[0], edges.witness, picture.middle) if edges.witness is not None and edges.unit == "mm" else None
    alone = _designed(traced[0], settings, True) if heard is not None else None
    told = [replace(traced[0], part=heard.part), *traced[1:]] if heard is not None else traced
    designs = [_designed(item, settings, k == 0) if sized else free_design(item.part) for k, item in enumerate(told)]
    if settings.fixed and not sized:
        notes.append(Note("fixed_waits", "The size of the part is not known yet, so the design values you fixed are not used. "
                          "Take one of the readings named as next."))
    if edges.unit != "mm" and sized:
        reference = replace(reference, px_per_mm=1.0 / (unit * growth))
    if not sized:
        notes.append(
            Note(
                "size_unknown",
                "Nothing in the picture told the size: all lengths are in pixels. "
                "Enter the readings named as next and measure again.",
            )
        )
    setting = replace(_setting(edges), kind=reference.kind)
    notes += _scale_notes(designs[0], traced[0].part.scale_u, setting)
    far = far_scale(designs[0], settings) if sized else None
    if far is not None and abs(far - 1.0) > SCALE_CONFLICT_U * traced[0].part.scale_u + 0.001:
        notes.append(scale_conflict(far, traced[0].part.scale_u, setting))
    return Solved(traced, designs, reference, set(settled.used), notes, sized, heard, alone), unit * growth


def _designed(item: TracedPart, settings: OutlineSettings, is_main: bool) -> Design:
    """The design of one part: of its outline and openings, then of the channels beside them."""
    plain = without_channels(item.part)
    orders = Orders(item.told, _fixed_sizes(item, settings))
    points = item.points[: len(plain.chains)]
    mirrored = [relation for relation in item.told.relations if relation.what == "symmetric"]
    if mirrored:
        if not is_main:
            raise UsageError(f"edit.{mirrored[0].number}.of: found segments of a smaller part, expected the largest one's for "
                             "'symmetric': the datum is its. Take this row out.")
        # the datum's axis is that of the drawing without these relations
        others = tuple(relation for relation in item.told.relations if relation.what != "symmetric")
        bare = design_part(plain, points, settings, replace(orders, told=replace(item.told, relations=others)))
        place = datum_of(item, with_channels(bare, item.part, settings), settings.datum)
        orders = replace(orders, axis=(place.angle_rad, *place.origin))
        return with_channels(design_part(plain, points, settings, orders, bare), item.part, settings, orders.fixed)
    return with_channels(design_part(plain, points, settings, orders), item.part, settings, orders.fixed)


def _fixed_sizes(item: TracedPart, settings: OutlineSettings) -> tuple[FixedSize, ...]:
    """The maker's fixed values of this part's dimensions, beside what was measured."""
    out = []
    for told in settings.fixed:
        if told.id in item.names:
            at = item.names.index(told.id)
            slope = item.slopes[at]
            u = math.sqrt(max(float(slope @ item.part.covariance @ slope), 0.0))
            out.append(FixedSize(told.id, item.items[at], told.value, item.value(at), u))
    return tuple(out)


def _corrected(picture: TracedPicture, settings: OutlineSettings) -> TracedPicture:
    """The picture with the maker's corrections.  A place of the drawing is counted from the datum that the drawing has without
    the splits, with only those openings that are meant."""
    if not settings.corrections:
        return picture
    rows = list(enumerate(settings.corrections, start=1))
    places: dict[int, np.ndarray] = {}
    if any(row.what == "split" for _, row in rows):
        first = {name for part in picture.parts for name in part.layout.ids.values()}
        openings = [(n, row) for n, row in rows if row.what == "hole" or (row.what == "drop" and row.of[0] in first)]
        plain = corrected_picture(picture, openings, {}, settings)
        solved, unit = _solved(plain, replace(settings, readings=(), fixed=()))
        origin, angle = datum_in_photo(solved.designs[0], datum_of(solved.traced[0], solved.designs[0], settings.datum))
        turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
        out = 1.0 if solved.sized else 1.0 / picture.unit
        places |= {n: np.array(origin) + turn @ np.array(row.at) / out for n, row in rows if row.what == "split" and row.at}
    return corrected_picture(picture, rows, places, settings)


def _check_ids(picture: TracedPicture, settings: OutlineSettings) -> None:
    known = picture.names
    unknown = [reading.id for reading in settings.readings if reading.id not in known]
    if unknown:
        raise UsageError(
            f"reading {', '.join(unknown)}: found no such dimension in this outline, expected {_ids(known)}; "
            "take the ids from outline.json."
        )
    for n, fixed in enumerate(settings.fixed, start=1):
        if fixed.id not in known:
            raise UsageError(f"fixed.{n}.id: found {fixed.id!r}, expected a dimension of this outline, {_ids(known)}; "
                             "take the ids from outline.json.")


def _ids(known: set[str]) -> str:
    """The ids of dimensions there are, in short."""
    numbers = sorted(int(name[1:]) for name in known)
    if numbers == list(range(1, len(numbers) + 1)):
        return f"one of d1 to d{len(known)}"
    return f"one of {', '.join(f'd{number}' for number in numbers)}"


def _taken(traced: list[TracedPart], readings: tuple[Reading, ...]) -> list[Taken]:
    """The readings at their dimensions."""
    out = []
    for reading in readings:
        for k, item in enumerate(traced):
            if reading.id in item.names:
                at = item.names.index(reading.id)
                values = [(name, item.value(i)) for i, name in enumerate(item.names)
                          if i != at and item.items[i].kind == item.items[at].kind]
                out.append(Taken(reading, k, item.items[at], item.value(at), item.slopes[at], tuple(values)))
    return out


def _settled_size(traced: list[TracedPart], readings: tuple[Reading, ...]) -> float:
    """Middle ratio of reading over measured, over all length readings."""
    ratios = [taken.reading.value / taken.value for taken in _taken(traced, readings) if taken.item.kind != "angle"]
    if not ratios:
        raise UsageError("Found only angle readings, expected at least one length to settle the size of the part.")
    return float(np.median(ratios))


def _setting(edges: EdgeMap) -> Setting:
    """What the picture's lengths hang on."""
    camera_height = edges.camera.position[2] if edges.camera is not None and edges.unit == "mm" else None
    return Setting(edges.reference.kind, camera_height, edges.face_height)


def _scale_notes(design: Design, relative_u: float, setting: Setting) -> list[Note]:
    if design.lattice is None or design.lattice.margin < 3.0:
        return []
    off = design.scale - 1.0
    notes = [
        Note(
            "lattice",
            f"The part's dimensions lie on {design.lattice.profile.name} steps; its true size is taken as "
            f"{100.0 * off:+.3f} % of the photo's.",
        )
    ]
    if abs(off) > SCALE_CONFLICT_U * relative_u + 0.001:
        notes.append(scale_conflict(design.scale, relative_u, setting))
    return notes
