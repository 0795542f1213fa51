"""What contradicts, in words: a reading against the picture, readings or whole numbers together against the reference.

A contradiction is named with its evidence (by how many standard uncertainties, what was expected) and the single changes that
would each explain it; it is never averaged in.  Which side is wrong cannot always be told: then both are named.
Word: a *slip* is a mistake of the hand that writes a number down (point, digits, unit, radius for diameter).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from afterpart.model.edges import Note
from afterpart.units import MM_PER_INCH

NEAR = 0.02
"""A ratio this near to a slip's explains it."""

UNIT_SLIPS = (
    (10.0, "the decimal point may have slipped ({value:g} for {meant:g})"),
    (0.1, "the decimal point may have slipped ({value:g} for {meant:g})"),
    (100.0, "it may have been typed in hundredths ({value:g} for {meant:g})"),
    (1.0 / MM_PER_INCH, "it may have been read in inches ({meant:.2f} mm)"),
    (MM_PER_INCH, "it may have been turned from inches to mm twice"),
)
"""Ratio of what was typed to what was expected, and the slip that makes it: unit or point."""

SIZE_SLIPS = (
    (0.5, "half of it may have been read: a radius for a diameter"),
    (2.0, "twice of it may have been read: a diameter for a radius"),
)

OTHER_FEATURE, OTHER_FEATURE_U = 0.06, 3.0
"""A reading this near, in mm or in standard uncertainties, to another dimension may have been taken there."""

MOST_OTHERS = 2
ASLANT = 0.03
"""A gap under this share of the value may come from how the jaws stood; larger ones do not."""

HIGHEST = 60.0
"""A height above the table that nobody would call a flat part's, mm."""

MOST_SHRINKAGE = 0.025
"""Mouldings of unfilled plastic shrink by up to about this share (measurement.md: 0.2 to 2 %)."""

SHEET_PLAY = 2.0
"""ISO 216 lets a side up to 600 mm be off by this, mm (from memory)."""


@dataclass(frozen=True)
class Setting:
    """What a length in the picture hangs on: kind of reference, camera's height above the table (None: not known) and height
    told of the face, mm."""

    kind: str
    camera_height: float | None = None
    face_height: float = 0.0


def reading_conflict(name: str, value: float, expected: float, u: float, z: float, kind: str,
                     others: Sequence[tuple[str, float]] = ()) -> Note:
    """A reading that does not fit the picture and the other readings.  u: standard uncertainty of the gap; z: gap in u; others:
    name and value of the part's other dimensions of this kind."""
    return Note(
        "reading_conflict",
        f"Reading {name} = {value:g} does not agree with the photo and the other readings, which expect {expected:.3f} "
        f"({z:.1f} standard uncertainties of {u:.3f}); it is not used. Likely: {_slip(value, expected, u, kind, others)}. "
        "Measure it again; if it stands, check the reference, its height and the face height.",
    )


def is_slip_of_hand(ratio: float, kinds: Sequence[str]) -> bool:
    """Whether a ratio of readings to picture, common to all, is a mistake of the hand and not of the reference: another unit,
    a moved point, radii for diameters.  kinds: of the dimensions read."""
    slips = UNIT_SLIPS + (SIZE_SLIPS if set(kinds) <= {"diameter", "radius"} else ())
    return any(abs(ratio / slip - 1.0) < NEAR for slip, _ in slips)


def _slip(value: float, expected: float, u: float, kind: str, others: Sequence[tuple[str, float]]) -> str:
    """All slips that would explain it, the likeliest first."""
    if kind == "angle":
        return "the angle of another pair of edges, or its supplement"
    ratio = value / expected if expected else 0.0
    found = [words.format(value=value, meant=value / slip) for slip, words in (*UNIT_SLIPS, *SIZE_SLIPS)
             if abs(ratio / slip - 1.0) < NEAR]
    if swapped := _swapped(value, expected, u):
        found.append(f"two digits may have changed places ({value:g} for {swapped:g})")
    near = sorted((abs(value - size), other) for other, size in others
                  if other and abs(value - size) < max(OTHER_FEATURE, OTHER_FEATURE_U * u))
    if near and abs(value - expected) > ASLANT:
        found.append(f"it was taken at another feature: it fits {' or '.join(other for _, other in near[:MOST_OTHERS])}")
    if found:
        return "; or ".join(found)
    if abs(value - expected) < ASLANT * expected:
        return "the jaws stood aslant or on a burr, or the reference or a height is a little off"
    if abs(round(value - expected) - (value - expected)) < 0.15 and abs(value - expected) < 11.0:
        return "whole millimetres may have been misread"
    return "another feature was measured, or the value was mistyped"


def _swapped(value: float, expected: float, u: float) -> float | None:
    """What was meant, if swapping two neighbouring digits of what was typed gives what was expected."""
    text = f"{value:g}"
    places = [k for k in range(len(text)) if text[k].isdigit()]
    close = max(0.15, OTHER_FEATURE_U * u)
    for a, b in zip(places, places[1:], strict=False):
        digits = list(text)
        digits[a], digits[b] = digits[b], digits[a]
        other = float("".join(digits))
        if abs(other - expected) < close and abs(other - value) > 2.0 * close:
            return other
    return None


def reference_conflict(ratio: float, u: float, names: tuple[str, ...], setting: Setting) -> Note:
    """Readings agree with each other and not with the reference.  ratio: true size over what the photo said; u: of the photo's
    scale."""
    return Note(
        "reference_conflict",
        f"The readings {', '.join(names)} agree with each other and make the part {_by(ratio)} than the {setting.kind} says "
        f"({abs(ratio - 1.0) / max(u, 1e-9):.0f} standard uncertainties of {100.0 * u:.2f} %); the readings were followed. "
        f"Any one of these would explain it: {'; '.join(single_changes(ratio, setting))}.",
    )


def scale_conflict(ratio: float, u: float, setting: Setting) -> Note:
    """Whole numbers do not agree with the reference.  ratio, u: as in `reference_conflict`."""
    changes = single_changes(ratio, setting)
    shrinkage = ratio - 1.0
    if 0.0 < shrinkage < MOST_SHRINKAGE:
        changes.append(f"a moulding that shrank by {100.0 * shrinkage:.2f} %")
    return Note(
        "scale_conflict",
        f"Whole dimensions want the part {_by(ratio)} than the {setting.kind} says ({abs(ratio - 1.0) / max(u, 1e-9):.1f} "
        f"standard uncertainties of {100.0 * u:.2f} %). Any one of these would explain it: {'; '.join(changes)}. "
        "One outside reading settles it.",
    )


def rocking_conflict(rise: float, u: float, z: float, towards: str, evidence: int) -> Note:
    """A face that is not parallel to the table.  rise: from side to side, mm, with standard uncertainty u; z: standard
    uncertainties from zero; towards: the higher side; evidence: relations that say so."""
    return Note(
        "face_not_level",
        f"The part's {towards} side stands {rise:.1f} mm higher than the other (standard uncertainty {u:.1f} mm): parallel edges "
        f"converge, equal holes and steps shrink towards one side ({evidence} relations, {z:.1f} standard uncertainties). "
        "Likely: it rocks on a burr or on something under it; or the sheet is bent, or the part tapers. Take the burr off or "
        "press the part down flat, and photograph it again.",
    )


def _by(ratio: float) -> str:
    return f"{100.0 * abs(ratio - 1.0):.2f} % {'larger' if ratio > 1.0 else 'smaller'}"


def single_changes(ratio: float, setting: Setting) -> list[str]:
    """Each single change of what was told that would make lengths `ratio` times as long.

    A face at height h seen from height D over a flat reference looks D / (D - h) too large; one raised by r looks as if the
    camera stood r lower."""
    kinds = setting.kind.split("+")
    out: list[str] = []
    if setting.camera_height is not None and kinds[0] not in ("scan", "none", "readings"):
        reach = setting.camera_height - setting.face_height
        face = setting.face_height + (1.0 - ratio) * reach
        if 0.0 <= face <= HIGHEST:
            out.append(f"the face is {face:.1f} mm above the table, not {setting.face_height:g} mm")
        raised = (ratio - 1.0) * reach
        if any(kind in ("rule", "calliper", "span", "target") for kind in kinds) and abs(raised) <= HIGHEST:
            out.append(f"the reference lay {abs(raised):.1f} mm {'higher' if raised > 0.0 else 'lower'} than was said")
        if kinds[0] == "sheet" and abs(raised) <= HIGHEST:
            if raised < 0.0:
                out.append(f"the part lay {-raised:.1f} mm above the sheet's plane (on something, or the sheet is bent)")
    if "sheet" in kinds:
        off = (ratio - 1.0) * 297.0
        if abs(off) <= 1.5 * SHEET_PLAY:
            out.append(f"the sheet's sides are {abs(off):.1f} mm in 297 mm {'longer' if off > 0.0 else 'shorter'} than standard")
        else:
            out.append(f"the sheet is not the size that was said, but {ratio:.3f} times as large")
    if "rule" in kinds:
        out.append(f"the rule's graduation is {ratio:.4g} times what was said{_graduation(ratio)}")
    if "target" in kinds:
        out.append(f"the target was printed at {100.0 * ratio:.1f} % of what was said: measure its 100 mm bar")
    if "calliper" in kinds or "span" in kinds:
        out.append(f"the calliper's reading is {ratio:.4g} times what was said")
    if not out:
        out.append(f"the {kinds[0]} is not what was said")
    return out


def _graduation(ratio: float) -> str:
    """The usual pair of graduations that makes this ratio."""
    usual = ((0.5, "half millimetres"), (MM_PER_INCH / 16.0, "sixteenths of an inch for mm"),
             (MM_PER_INCH / 32.0, "thirty-seconds of an inch for mm"), (2.0, "whole mm for halves"),
             (16.0 / MM_PER_INCH, "mm for sixteenths of an inch"), (32.0 / MM_PER_INCH, "mm for thirty-seconds of an inch"))
    word = next((words for value, words in usual if math.isclose(ratio, value, rel_tol=NEAR)), None)
    return f" ({word})" if word else ""
