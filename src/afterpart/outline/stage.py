"""Stage 3: the rims of a picture -> the drawing, measured and designed.

Two halves: `trace_picture` (slow, once a picture) and `solve_outline` (quick, again after every reading).
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import numpy as np

from afterpart.errors import UsageError
from afterpart.model.edges import EdgeMap, Note, Reference
from afterpart.model.job import Reading
from afterpart.model.outline import Outline
from afterpart.outline.assembled import Solved, assembled_outline
from afterpart.outline.channels import with_channels, without_channels
from afterpart.outline.consistency import far_scale
from afterpart.outline.contradictions import Setting, reference_conflict, scale_conflict
from afterpart.outline.design import Design, design_part, free_design
from afterpart.outline.part import touching
from afterpart.outline.readings import Taken, take_readings
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.traced import UNSCALED_RELATIVE_U, TracedPart, TracedPicture, grown, size_open, trace_picture

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
    designs = [_designed(item, settings) if sized else free_design(item.part) for item in traced]
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
    solved = Solved(traced, designs, reference, set(settled.used), notes, sized)
    return assembled_outline(picture, solved, settings.datum, 1.0 if sized else 1.0 / unit, unit * growth)


def _designed(item: TracedPart, settings: OutlineSettings) -> Design:
    """The design of one part: of its outline and openings, then of the channels beside them."""
    plain = without_channels(item.part)
    return with_channels(design_part(plain, item.points[: len(plain.chains)], settings), item.part, settings)


def _check_ids(picture: TracedPicture, settings: OutlineSettings) -> None:
    known = picture.names
    unknown = [reading.id for reading in settings.readings if reading.id not in known]
    if unknown:
        raise UsageError(
            f"reading {', '.join(unknown)}: found no such dimension in this outline, expected one of d1 to d{len(known)}; "
            "take the ids from outline.json."
        )


def _taken(traced: list[TracedPart], readings: tuple[Reading, ...]) -> list[Taken]:
    """The readings at their dimensions."""
    out = []
    for reading in readings:
        for k, item in enumerate(traced):
            if reading.id in item.names:
                at = item.names.index(reading.id)
                values = [(name, item.value(i, item.part.state)) for i, name in enumerate(item.names)
                          if i != at and item.items[i].kind == item.items[at].kind]
                out.append(Taken(reading, k, item.items[at], item.value(at, item.part.state), item.slopes[at], tuple(values)))
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
