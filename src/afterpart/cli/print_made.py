"""What `build`, `release` and `batch` print: the pieces made, the cuts to choose from, where to look and what to do next."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console
from rich.table import Table

if TYPE_CHECKING:
    from afterpart.model.assembly import Build
    from afterpart.model.feature import CutRow
    from afterpart.model.many import JobRow
    from afterpart.pipeline import Built, Release


def print_build(console: Console, built: Built, home: Path, out: Path) -> None:
    """The pieces as a table, the cuts, the notes; home: the job folder, out: where the files went."""
    table = Table(box=None, pad_edge=False)
    for heading in ("piece", "size mm", "mass g", "minutes", "material", "on the bed"):
        is_number = heading in ("mass g", "minutes")
        table.add_column(heading, justify="right" if is_number else "left", no_wrap=heading != "on the bed")
    for piece, name, body, mass in zip(built.build.pieces, built.names, built.bodies, built.masses_g, strict=True):
        size = " x ".join(f"{high - low:.1f}" for low, high in zip(body.low, body.high, strict=True))
        minutes = piece.print_time.minutes
        table.add_row(name, size, "" if mass is None else f"{mass:.1f}", f"{minutes:.0f}" if minutes else "",
                      piece.material, piece.orientation)
    console.print()
    console.print(table)
    if built.build.cuts:
        _print_cuts(console, built.build.cuts)
    notes = (*built.build.notes, *(note for piece in built.build.pieces for note in piece.notes))
    for text in dict.fromkeys(note.text for note in notes):
        console.print(f"Note: {text}")
    shown = (".step", ".dxf", ".pdf", "assembly.glb", "assembly.png", "exploded.png")
    names = ", ".join(sorted(name for name in built.files if name.endswith(shown)))
    console.print(f"\nWritten to {out}: {names}, with 3MF, STL, GLB and a picture of each; pieces.json can be changed by hand "
                  f"(then: afterpart build {out} --from-pieces)")
    _print_next(console, built.build, home)


def _print_cuts(console: Console, cuts: tuple[CutRow, ...]) -> None:
    console.print("\nStraight cuts of the filter element, beyond a rectangle's four:")
    table = Table(box=None, pad_edge=False)
    for heading in ("cuts", "area mm2", "over the rectangle", "of the seat left bare", "pressure drop", "face velocity m/s", ""):
        table.add_column(heading, justify="right" if heading else "left", no_wrap=True)
    for row in cuts:
        velocity = "" if row.face_velocity_m_per_s is None else f"{row.face_velocity_m_per_s:.3f}"
        table.add_row(str(row.cuts), f"{row.area:.0f}", f"{row.gain:+.1%}", f"{row.gap:.1%}", f"x {row.pressure_ratio:.3f}",
                      velocity, "chosen" if row.chosen else "")
    console.print(table)


def _print_next(console: Console, made: Build, home: Path) -> None:
    """What to do first: the cheap proofs before the large print."""
    kinds = {piece.kind for piece in made.pieces}
    console.print("What to do next:")
    if "hole_coupon" in kinds:
        console.print("  Print the hole coupon, drive a screw into each hole until it holds, snaps or strips, and write what "
                      "happened as [[trial]] into the job file; then build again.")
    console.print(f"  Print the check plate (afterpart plate {home}) and try it on the machine.")
    if kinds - {"hole_coupon"}:
        console.print("  Then print the pieces. They are not proven until they have been tried: hold to local codes, and leave "
                      "work on brakes, fuel, pressure and electricity to licensed practice.")


def print_release(console: Console, made: Release) -> None:
    """Where to look, after the verdict."""
    report = made.checked.report
    console.print(f"\n{report.headline}")
    for caution in report.cautions:
        if caution.declined:
            console.print(f"Declined, {caution.danger}: {caution.text}")
    size = sum(map(len, made.files.values())) / 1e6
    console.print(f"\nReleased: {made.folder} ({len(made.files)} files, {size:.1f} MB) and {made.folder.name}.zip beside it")
    if made.history is not None:
        newest = made.history.revisions[0]
        console.print(f"Since revision {newest.before}: {len(newest.of_group('size'))} sizes moved, "
                      f"{len(newest.of_group('piece'))} of pieces, {len(newest.of_group('key'))} keys; see history.pdf")
    console.print("Look first at README.md, then guide.pdf (or guide.html on a phone), drawing.pdf and findings.pdf.\n"
                  f"Before you give it away: afterpart verify {made.folder}")


def print_many(console: Console, rows: Sequence[JobRow], folder: Path) -> None:
    """All but what was up to date already; the rest stands in the files."""
    # lazy door: loaded already where jobs were run, and not for --help
    from afterpart import pipeline
    from afterpart.model.many import CURRENT

    table = Table(box=None, pad_edge=False)
    for heading in ("job", "result", "reached", "what was found, or why it failed", "s"):
        table.add_column(heading, justify="right" if heading == "s" else "left", overflow="fold")
    for row in pipeline.in_order(rows):
        if row.state != CURRENT:
            table.add_row(row.name, row.state, row.reached or "nothing", row.text, f"{row.seconds:.1f}")
    console.print()
    if table.row_count:
        console.print(table)
    console.print(f"\n{pipeline.tally(rows)}")
    console.print(f"Written to {folder}: {pipeline.SUMMARY_HTML} (look at it in a browser), {pipeline.SUMMARY_CSV}")
