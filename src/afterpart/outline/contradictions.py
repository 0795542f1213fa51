"""What contradicts, in words: a reading against the picture, readings together against the reference.

A contradiction is named with its evidence (by how many standard uncertainties, what was expected) and the likely cause; it is
never averaged in.  Which side is wrong cannot always be told: then both are named.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.model.edges import Note
from afterpart.units import MM_PER_INCH

NEAR = 0.02
"""A ratio this near to a slip's explains it."""

SLIPS = (
    (10.0, "the decimal point may have slipped ({value:g} for {meant:g})"),
    (0.1, "the decimal point may have slipped ({value:g} for {meant:g})"),
    (100.0, "it may have been typed in hundredths"),
    (1.0 / MM_PER_INCH, "it may have been read in inches ({meant:.2f} mm)"),
    (MM_PER_INCH, "it may have been turned from inches to mm twice"),
    (0.5, "half of it may have been read: a radius for a diameter"),
    (2.0, "twice of it may have been read: a diameter for a radius"),
)
"""Ratio of what was typed to what was expected, and the slip that makes it."""


def reading_conflict(name: str, value: float, expected: float, u: float, z: float, kind: str) -> Note:
    """A reading that does not fit the picture and the other readings.  u: standard uncertainty of the gap; z: gap in u."""
    return Note(
        "reading_conflict",
        f"Reading {name} = {value:g} does not agree with the photo and the other readings, which expect {expected:.3f} "
        f"({z:.1f} standard uncertainties of {u:.3f}); it is not used. Likely: {_slip(value, expected, kind)}. "
        "Measure it again; if it stands, check the reference, its height and the face height.",
    )


def _slip(value: float, expected: float, kind: str) -> str:
    if kind == "angle":
        return "the angle of another pair of edges, or its supplement"
    ratio = value / expected if expected else 0.0
    for slip, words in SLIPS:
        if abs(ratio / slip - 1.0) < NEAR:
            return words.format(value=value, meant=value / slip)
    if _swapped(value, expected):
        return "two digits may have changed places"
    if abs(value - expected) < 0.03 * expected:
        return "the jaws stood aslant or on a burr, or the reference or a height is a little off"
    if abs(round(value - expected) - (value - expected)) < 0.15 and abs(value - expected) < 11.0:
        return "whole millimetres may have been misread"
    return "another feature was measured, or the value was mistyped"


def _swapped(value: float, expected: float) -> bool:
    """Would swapping two neighbouring digits of what was typed give what was expected?"""
    text = f"{value:g}"
    for k in range(len(text) - 1):
        if text[k].isdigit() and text[k + 1].isdigit():
            other = float(text[:k] + text[k + 1] + text[k] + text[k + 2 :])
            if abs(other - expected) < NEAR * abs(expected) and abs(other - value) > 2.0 * NEAR * abs(expected):
                return True
    return False


def reference_conflict(kind: str, ratio: float, u: float, names: tuple[str, ...], camera_height: float | None) -> Note:
    """Readings agree with each other and not with the reference.  ratio: true size over what the photo said; u: of the photo's
    scale; camera_height: above the table, mm, or None."""
    likely = [f"the {kind.split('+')[0]} is not what was said"]
    if camera_height is not None and 0.0 < abs(1.0 - ratio) * camera_height < 40.0:
        off = (1.0 - ratio) * camera_height
        likely += [
            f"the face is {abs(off):.1f} mm {'higher' if off > 0 else 'lower'} than was said",
            f"the reference lay {abs(off):.1f} mm {'lower' if off > 0 else 'higher'} than was said",
        ]
    return Note(
        "reference_conflict",
        f"The readings {', '.join(names)} agree with each other and say the part is {100.0 * (ratio - 1.0):+.2f} % of what the "
        f"{kind} says (standard uncertainty {100.0 * u:.2f} %); they were followed. Likely: {', or '.join(likely)}.",
    )
