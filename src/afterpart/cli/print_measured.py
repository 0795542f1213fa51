"""What `measure` and `plate` print: the drawing as a table, notes, and what to do next."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console
from rich.table import Table

if TYPE_CHECKING:
    from afterpart.model.outline import Dimension, Outline
    from afterpart.model.piece import Piece

MOST_CAUSES = 3
"""Largest causes of uncertainty that are named under the table."""


def print_outline(console: Console, outline: Outline, out: Path) -> None:
    """Scale, dimensions, notes, the next readings; out: where the files went."""
    unit = outline.unit
    reference = outline.reference
    found = reference.kind if unit == "mm" else "none found: size unknown, figures in pixels"
    console.print(f"\nScale from: {found}" + (
        f" ({reference.px_per_mm:.2f} px per mm, good to {reference.relative_u * 100:.2f} %)" if unit == "mm" else ""))
    for photo in outline.photos:
        console.print(f"Photograph {photo.file}: {photo.face} face, tilted {photo.tilt_deg:.0f} degrees, counts "
                      f"{100 * photo.share:.0f} %, edges within {photo.rms:.3f} mm (rms)"
                      + (f"; CONTRADICTS: {photo.contradicts}" if photo.contradicts else ""))
    console.print(f"Datum: {outline.datum.text}")
    table = Table(box=None, pad_edge=False)
    for heading in ("id", "what", "of", f"measured {unit}", "± 95 %", "design", "sure", "or", "from"):
        table.add_column(heading, justify="left" if heading in ("id", "what", "of", "from") else "right", no_wrap=True)
    for dimension in outline.dimensions:
        table.add_row(*_dimension_cells(dimension))
    console.print(table)
    if outline.free:
        console.print(f"Free, with their measured shape (no relation or number settles them): {' '.join(outline.free)}")
    causes = Counter(d.contributions[0].cause for d in outline.dimensions if d.contributions)
    if causes:
        console.print("Mostly off by: " + "; ".join(f"{cause} ({count} of {len(outline.dimensions)})"
                                                    for cause, count in causes.most_common(MOST_CAUSES)))
    for note in outline.notes:
        console.print(f"Note: {note.text}")
    if outline.next_readings:
        console.print("\nWhat to measure next, best first:")
        for reading in outline.next_readings[:3]:
            console.print(f"  {reading.id}: {reading.how} (then --reading {reading.id}=VALUE)")
    console.print(f"\nWritten to {out}: outline.json, outline.dxf, outline.svg, drawing.pdf, heights.pdf, overlay.png")
    if unit == "mm":
        console.print("The next cheap proof is paper: print drawing.pdf at 100 % (no fitting to the page), check its 100 mm bar, "
                      "lay it on the part.\n"
                      f"Then: afterpart plate {out}")
    else:
        console.print("Next: take one of the outside readings named above and measure again with --reading; "
                      "after that a true-scale paper can be printed.")


def _dimension_cells(d: Dimension) -> tuple[str, ...]:
    free = d.origin == "free"
    return (d.id, d.kind, " ".join(d.of), f"{d.measured:.3f}", f"{d.u95:.3f}", "free" if free else _shortest(d.design),
            "" if free else f"{d.probability * 100:.0f} %", "" if d.runner_up is None else _shortest(d.runner_up),
            f"{d.origin}, mate too" if d.rests_on_mate else d.origin)


def _shortest(value: float) -> str:
    """To the micrometre, without idle zeros."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


def print_plate(console: Console, pieces: tuple[Piece, ...], names: tuple[str, ...], out: Path) -> None:
    """One line a piece of the check plate, and in which order to try paper and plate."""
    for piece in pieces:
        console.print(f"{piece.name}: {piece.thickness:g} mm thick, {len(piece.labels)} openings, "
                      f"about {piece.print_time.minutes:.0f} minutes to print ({piece.print_time.how})")
        for note in piece.notes:
            console.print(f"Note: {note.text}")
    console.print(f"\nWritten to {out}: {', '.join(names)}")
    console.print("First print the PDF at 100 % and lay the part on it; then print the plate and try it on the machine.")
