"""Arguments and printing, nothing else: the command line of afterpart.

Exit status: 0 done; 2 usage (judged from the command line alone); 3 a file or the picture cannot be used; 4 `check`: some
finding fails, `verify`: the folder is not as its manifest says, `batch`: some job failed; 1 a bug.
Results and progress go to stdout, the one message of a failure to stderr.  Each command opens its own stages through a lazy
door, so that `--help` stays quick.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import os
import sys
import traceback
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console
from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn
from rich.table import Table

from afterpart import __version__
from afterpart.errors import AfterpartError, UsageError

if TYPE_CHECKING:
    from afterpart.model.assembly import Build
    from afterpart.model.feature import CutRow
    from afterpart.model.finding import CheckReport, Finding
    from afterpart.model.many import JobRow
    from afterpart.model.mate import MateMatch
    from afterpart.model.outline import Dimension, Outline
    from afterpart.model.piece import Piece
    from afterpart.pipeline import Built, Release

BUG_STATUS = 1
FAILS_STATUS = 4
ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS")
"""Set before numpy is loaded, unless the maker has: our matrices are small, and threads that wait for one another cost more than
they save (a typed reading at the page three times as much)."""
MOST_CAUSES = 3
"""Largest causes of uncertainty that are named under the table."""

PLAIN_WIDTH = 130
"""Columns of the printed tables where stdout is no terminal."""

app = typer.Typer(add_completion=False, no_args_is_help=True, pretty_exceptions_enable=False, rich_markup_mode=None,
                  help="From one phone photograph of a flat part to a proven, printable replacement.")


def main() -> None:
    """Run the command line and leave with its exit status."""
    for name in ONE_THREAD:
        os.environ.setdefault(name, "1")
    try:
        app(prog_name="afterpart")
    except AfterpartError as error:
        print(f"afterpart: {error}", file=sys.stderr)
        sys.exit(error.exit_status)
    except Exception:  # the one broad handler of the command line: a bug ends with status 1 and all there is to report it
        traceback.print_exc()
        print("afterpart: this is a bug in afterpart, not in your input. Please report the lines above.", file=sys.stderr)
        sys.exit(BUG_STATUS)


def _print_version(wanted: bool) -> None:
    if wanted:
        print(f"afterpart {__version__}")
        raise typer.Exit


@app.callback()
def _common(version: Annotated[bool, typer.Option("--version", callback=_print_version, is_eager=True,
                                                  help="Print the version and leave.")] = False) -> None:
    """Options of every command."""


@app.command()
def measure(
    photo: Annotated[Path, typer.Argument(metavar="PHOTO|JOBDIR", help="The photograph, or a job folder.")],
    out: Annotated[Path | None, typer.Option(metavar="DIR", help="Folder for the results (a job: its own folder).")] = None,
    sheet: Annotated[str | None, typer.Option(metavar="SIZE", help="Sheet under the part: A4, letter, ..., WxH in mm.")] = None,
    rule: Annotated[str | None, typer.Option(metavar="PITCH", help="Rule beside the part: mm, or inch:N parts per inch.")] = None,
    target: Annotated[float | None, typer.Option(metavar="MM", help="Printed target: measured length of its 100 mm bar.")] = None,
    calliper: Annotated[float | None, typer.Option(metavar="READING", help="Open calliper beside the part: its reading.")] = None,
    span: Annotated[str | None, typer.Option(metavar="x1,y1,x2,y2,MM", help="Two picked pixels and the mm between.")] = None,
    sheet_corners: Annotated[str | None, typer.Option(metavar="x1,y1,...,x4,y4", help="The sheet's corners in pixels, where it "
                                                      "is not found by itself.")] = None,
    reference_height: Annotated[float | None, typer.Option(metavar="MM", help="Height of the reference's marked face.")] = None,
    focal_35mm: Annotated[float | None, typer.Option("--focal-35mm", metavar="MM", help="35 mm-equivalent focal length.")] = None,
    scan: Annotated[float | None, typer.Option(metavar="DPI", help="A flatbed scan of this resolution.")] = None,
    face_height: Annotated[float | None, typer.Option(metavar="MM", help="Height of the traced face above the table.")] = None,
    edge_radius: Annotated[float | None, typer.Option(metavar="MM", help="Rounding of the face's edge.")] = None,
    channel_depth: Annotated[float | None, typer.Option(metavar="MM", help="Depth of a channel in the face.")] = None,
    part: Annotated[int | None, typer.Option(metavar="N", help="Keep one of several parts; 1 is the largest.")] = None,
    damage: Annotated[list[str] | None, typer.Option(metavar="x,y,r[,mirror]", help="Damaged place, a circle in pixels: drawn "
                                                     "from its neighbours, or from the mirror side; repeatable.")] = None,
    reading: Annotated[list[str] | None, typer.Option(metavar="ID=VALUE[+-U]", help="Hand measurement; repeatable.")] = None,
    next_photo: Annotated[bool, typer.Option("--next-photo", help="Say from where the next photograph would tell most.")] = False,
) -> None:
    """Turn a photograph into an outline with dimensions and a true-scale drawing."""
    # lazy door: the job stage's wording of options is not needed for --help
    from afterpart.job.options import parse_reading, shot_from_options

    readings = tuple(parse_reading(text) for text in reading or ())
    shot = shot_from_options(photo.name, sheet=sheet, rule=rule, target=target, calliper=calliper, span=span,
                             reference_height=reference_height, focal_35mm=focal_35mm, scan=scan, face_height=face_height,
                             edge_radius=edge_radius, part=part, channel_depth=channel_depth, damage=tuple(damage or ()),
                             sheet_corners=sheet_corners)
    is_job = photo.is_dir()
    if not is_job and out is None:
        raise UsageError("--out: found nothing, expected a folder for the results. Give for example --out results.")
    if is_job and shot.is_told:
        raise UsageError("options about the photo found together with a job folder, expected them in its job.toml. "
                         "Write them there; only --out and --reading may be given here.")
    # lazy door: the measuring stages load only when something is measured
    from afterpart import pipeline

    job = pipeline.job_of_folder(photo, readings) if is_job else pipeline.job_of_photo(shot, readings)
    folder, out = (photo if is_job else photo.parent), out or photo
    console = _console()
    with _progress(console) as say:
        result = pipeline.measure(job, folder, out, say)
        say("writing the files")
        pipeline.write_measurement(result, out)
    if result.edges_reused:
        console.print("The picture was measured before with the same options: its edges were used again.")
    _print_outline(console, result.outline, out)
    if next_photo:
        advice = pipeline.second_shot_advice(result.job, folder, out)
        console.print("\nNext photograph: " + (advice.words() if advice else "none would tell the height: that takes a whole "
                                               "sheet or the printed target under or beside the part."))


@app.command()
def new(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="The job folder to make.")],
    photo: Annotated[Path, typer.Option(metavar="PHOTO", help="The photograph; a copy goes into the folder.")],
) -> None:
    """Make a job folder: the photograph and a job file whose comments say what to fill in."""
    # lazy door: only this command writes job files
    from afterpart.job.template import write_job_template

    job_file = write_job_template(folder, photo)
    print(f"{job_file} is ready. Open it, fill in what you know, then: afterpart measure {folder}")


@app.command()
def target(out: Annotated[Path, typer.Option(metavar="FILE", help="The PDF to write.")] = Path("target.pdf")) -> None:
    """Write the printed target, a reference sheet to lay beside the part, as a true-scale PDF."""
    # lazy door: as above
    from afterpart import pipeline

    pipeline.write_target(out)
    print(f"{out} is written. Print it at 100 % (no fitting to the page), measure its 100 mm bar with a calliper,\n"
          "and give what you found: afterpart measure PHOTO --target 99.8 ...")


@app.command()
def plate(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Where measure put outline.json.")],
    out: Annotated[Path | None, typer.Option(metavar="DIR", help="Folder for the plate's files (DIR/plate).")] = None,
    bed: Annotated[str | None, typer.Option(metavar="WxD", help="Width and depth of the printer's bed in mm.")] = None,
    thickness: Annotated[float | None, typer.Option(metavar="MM", help="1 to 2 mm.")] = None,
    whole: Annotated[bool, typer.Option("--whole", help="The whole face instead of a frame with islands.")] = False,
) -> None:
    """Make a thin check plate of the outline, to print and try on the machine."""
    # lazy door: as above
    from afterpart.job.options import parse_bed, within_limits

    size = parse_bed(bed) if bed is not None else None
    thick = within_limits("thickness", thickness) if thickness is not None else None
    # lazy door: as above
    from afterpart import pipeline

    out = out or folder / "plate"
    console = _console()
    with _progress(console) as say:
        result = pipeline.make_plate_of(folder, out, say, size, thick, whole)
        say("writing the files")
        pipeline.write_plate(result, out)
    _print_plate(console, result.pieces, tuple(result.files), out)


@app.command()
def build(
    folder: Annotated[Path, typer.Argument(metavar="JOB", help="The job folder, or where measure put its results.")],
    out: Annotated[Path | None, typer.Option(metavar="DIR", help="Folder for the pieces (JOB/pieces).")] = None,
    from_pieces: Annotated[bool, typer.Option("--from-pieces", help="JOB holds a pieces.json, perhaps changed by hand: make its "
                                              "files anew, and nothing else.")] = False,
) -> None:
    """Make the pieces of the replacement that the job asks for."""
    if from_pieces and out is not None:
        raise UsageError("--out: found together with --from-pieces, expected one of them. The files go beside pieces.json.")
    # lazy door: as above
    from afterpart import pipeline

    console = _console()
    if from_pieces and not (folder / pipeline.PIECES_FILE).exists():
        folder = folder / "pieces"
    home = folder if folder.is_dir() else folder.parent
    out = folder if from_pieces else out or home / "pieces"
    with _progress(console) as say:
        built = pipeline.rebuild_of(folder, say) if from_pieces else pipeline.build_of(folder, out, say)
        say("writing the files")
        pipeline.write_build(built, out)
    _print_build(console, built, home, out)


@app.command()
def check(
    folder: Annotated[Path, typer.Argument(metavar="JOB", help="The job folder.")],
    pieces: Annotated[Path | None, typer.Option(metavar="DIR", help="Where build puts the pieces (JOB/pieces).")] = None,
    out: Annotated[Path | None, typer.Option(metavar="DIR", help="Folder for the report (the job folder).")] = None,
) -> None:
    """Judge the pieces: do they seal, hold, fit, breathe, print and last?  Builds them first where needed."""
    # lazy door: as above
    from afterpart import pipeline

    home = folder if folder.is_dir() else folder.parent
    pieces, out = pieces or home / "pieces", out or home
    console = _console()
    with _progress(console) as say:
        checked = pipeline.check_of(folder, pieces, say)
        say("writing the report")
        pipeline.write_check(checked, out, pieces)
    _print_report(console, checked.report, out)
    if any(finding.verdict == "fails" for finding in checked.report.findings):
        raise typer.Exit(FAILS_STATUS)


@app.command()
def mate(
    folder: Annotated[Path, typer.Argument(metavar="JOB", help="The job folder; one of its photographs shows the mate.")],
    pieces: Annotated[Path | None, typer.Option(metavar="DIR", help="Where build puts the pieces (JOB/pieces).")] = None,
) -> None:
    """Lay the machine's own face, photographed, on the cover: which hole is off, what room is left, what clashes."""
    # lazy door: as above
    from afterpart import pipeline

    home = folder if folder.is_dir() else folder.parent
    console = _console()
    with _progress(console) as say:
        mated = pipeline.mate_of(folder, pieces or home / "pieces", say)
        say("writing the files")
        pipeline.write_mate(mated, home)
    _print_mate(console, mated.match, home)


@app.command()
def compare(
    folders: Annotated[list[Path], typer.Argument(metavar="JOB JOB ...", help="Two or more job folders: variants of one part.")],
    weight: Annotated[list[str] | None, typer.Option(metavar="FIGURE=W", help="What counts for you, and how much; repeatable. "
                                                     "Left out: all figures alike.")] = None,
) -> None:
    """Set variants of a job side by side: what each costs and gains, and which wins under which weight."""
    # lazy door: as above
    from afterpart.job.options import parse_weight

    weights = dict(parse_weight(text) for text in weight) if weight else None
    if len({folder.resolve() for folder in folders}) < max(2, len(folders)):
        raise UsageError("compare: found fewer than two different job folders, expected two or more. Name each variant once.")
    # lazy door: as above
    from afterpart import pipeline
    from afterpart.checks.variant_table import comparison_lines

    console, checked = _console(), {}
    with _progress(console) as say:
        for folder in folders:
            say(f"judging {folder.name}")
            one = pipeline.check_of(folder, folder / "pieces", say)
            pipeline.write_check(one, folder, folder / "pieces")
            checked[folder.name] = one
    console.print()
    for line in comparison_lines(pipeline.compare_of(checked, weights)):
        console.print(line)


@app.command()
def release(
    folder: Annotated[Path, typer.Argument(metavar="JOB", help="The job folder.")],
    out: Annotated[Path | None, typer.Option(metavar="DIR", help="Where the new folder NAME_REVISION and its zip go "
                                             "(JOB/release).")] = None,
    pieces: Annotated[Path | None, typer.Option(metavar="DIR", help="Where build puts the pieces (JOB/pieces).")] = None,
    since: Annotated[Path | None, typer.Option(metavar="FOLDER", help="Released folder that the history compares with (the "
                                               "newest earlier revision in DIR).")] = None,
) -> None:
    """Make the folder that somebody else can print, build and trust.  Measures, builds and checks first where needed."""
    # lazy door: as above
    from afterpart import pipeline

    home = folder if folder.is_dir() else folder.parent
    pieces, out = pieces or home / "pieces", out or home / "release"
    console = _console()
    with _progress(console) as say:
        made = pipeline.release_of(folder, pieces, out, say, since)
        say("writing the folder")
        pipeline.write_release(made, home, pieces)
    _print_release(console, made)


@app.command()
def verify(folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="A released folder, unpacked.")]) -> None:
    """Hold a released folder against its manifest: is every file there, unchanged, and none besides?"""
    # lazy door: as above
    from afterpart import pipeline

    verified = pipeline.verify_of(folder)
    for difference in verified.differences:
        print(difference.text)
    if verified.differences:
        print(f"{folder}: not as released, {len(verified.differences)} differences. Fetch it again.")
        raise typer.Exit(FAILS_STATUS)
    print(f"{folder}: all {verified.count} files are as released. SHA-256 of manifest.json, to compare with what the maker "
          f"says: {verified.sha256}")


@app.command()
def batch(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="A folder with job folders, or bare photographs, below it.")],
    workers: Annotated[int, typer.Option(metavar="N", min=1, max=256, help="Jobs at a time on this machine, a core each.")] = 1,
    scheduler: Annotated[str | None, typer.Option(metavar="ADDRESS", help="Do them on the workers of this dask scheduler, which "
                                                  "see the same folders.")] = None,
    minutes: Annotated[float, typer.Option(metavar="M", min=0.01, help="Longest one job may take on this machine; then it is "
                                           "ended, counts as failed, and the rest goes on.")] = 30.0,
    until: Annotated[str, typer.Option(metavar="STRETCH", help="How far to take each job: measure, build, check or release.")] = (
        "measure"),
    sheet: Annotated[str | None, typer.Option(metavar="SIZE", help="Bare photographs: sheet under the part.")] = None,
    rule: Annotated[str | None, typer.Option(metavar="PITCH", help="Bare photographs: rule beside the part.")] = None,
    target: Annotated[float | None, typer.Option(metavar="MM", help="Bare photographs: bar of the printed target.")] = None,
    face_height: Annotated[float | None, typer.Option(metavar="MM", help="Bare photographs: height of the traced face.")] = None,
) -> None:
    """Work through many jobs; bare photographs are measured.  What is up to date is not done again; a failure stops no other job.

    A table and a page of all of them, many.csv and many.html, are written into FOLDER."""
    # lazy door: as above
    from afterpart.job.options import shot_from_options
    from afterpart.model.many import FAILED, STRETCHES

    if until not in STRETCHES:
        raise UsageError(f"--until: found {until!r}, expected {', '.join(STRETCHES[:-1])} or {STRETCHES[-1]}. Choose one.")
    shot = shot_from_options("photo", sheet=sheet, rule=rule, target=target, face_height=face_height)
    # lazy door: as above
    from afterpart import pipeline

    jobs, console = pipeline.shelf_jobs(folder, until, shot), _console()
    with pipeline.cluster(scheduler) if scheduler else pipeline.hands(min(workers, len(jobs)), 60.0 * minutes) as crew:
        rows = pipeline.work_through(jobs, crew, lambda row, count, total: console.print(
            f"- {count} of {total}: {row.name}: {row.state}"))
    pipeline.write_many(rows, folder, until)
    _print_many(console, rows, folder)
    if any(row.state == FAILED for row in rows):
        raise typer.Exit(FAILS_STATUS)


@app.command("open")
def open_(
    folder: Annotated[Path | None, typer.Argument(metavar="[JOB]", help="The job folder; left out: the page asks for a "
                                                  "photograph.")] = None,
    port: Annotated[int, typer.Option(metavar="N", min=0, max=65535, help="Port on this machine; 0: any free one.")] = 0,
    lan: Annotated[bool, typer.Option("--lan", help="Also let a phone on the local network send one photograph, by a code that "
                                      "holds for 15 minutes.")] = False,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Print the address only.")] = False,
) -> None:
    """Open the job sheet, the whole job in the browser, on this machine alone.  Ends with Ctrl+C."""
    # lazy door: the server loads only when the page is opened
    from afterpart.web.serve import Opened, serve

    def tell(opened: Opened) -> None:
        print(f"The job sheet: {opened.address}\nKeep the address to yourself: whoever has it can work on the job. "
              "Ctrl+C ends it.", flush=True)
        if opened.phone is not None:
            print(f"\nFor one photograph from a phone, within 15 minutes:\n{opened.code}\n{opened.phone}", flush=True)

    serve(folder, port, lan, tell, not no_browser)


def _console() -> Console:
    console = Console(highlight=False, markup=False, emoji=False)
    if not console.is_terminal:
        console.width = PLAIN_WIDTH
    return console


@contextmanager
def _progress(console: Console) -> Iterator[Callable[[str], None]]:
    """Say what is being done: a moving line on a terminal, plain lines elsewhere."""
    if not console.is_terminal:
        yield lambda text: console.print(f"- {text}")
        return
    columns = (SpinnerColumn(), TextColumn("{task.description}", markup=False), TimeElapsedColumn())
    with Progress(*columns, console=console) as progress:
        task = None

        def say(text: str) -> None:
            nonlocal task
            if task is not None:
                progress.update(task, total=1, completed=1)
            task = progress.add_task(text, total=None)

        yield say
        if task is not None:
            progress.update(task, total=1, completed=1)


def _print_outline(console: Console, outline: Outline, out: Path) -> None:
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
            "" if free else f"{d.probability * 100:.0f} %", "" if d.runner_up is None else _shortest(d.runner_up), d.origin)


def _shortest(value: float) -> str:
    """To the micrometre, without idle zeros."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _print_plate(console: Console, pieces: tuple[Piece, ...], names: tuple[str, ...], out: Path) -> None:
    for piece in pieces:
        console.print(f"{piece.name}: {piece.thickness:g} mm thick, {len(piece.labels)} openings, "
                      f"about {piece.print_time.minutes:.0f} minutes to print ({piece.print_time.how})")
        for note in piece.notes:
            console.print(f"Note: {note.text}")
    console.print(f"\nWritten to {out}: {', '.join(names)}")
    console.print("First print the PDF at 100 % and lay the part on it; then print the plate and try it on the machine.")


def _print_build(console: Console, built: Built, home: Path, out: Path) -> None:
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


def _print_mate(console: Console, match: MateMatch, home: Path) -> None:
    """Worst place first."""
    laid = "the cover as built" if match.of == "cover" else "the drawing (no cover is built yet)"
    console.print(f"\nThe mate, shown {match.way}, laid on {laid}; x and y of the drawing, mm.")
    table = Table(box=None, pad_edge=False)
    for heading in ("hole", "mate's", "off by x", "y", "away", "± 95 %", "bolt", "room", "left", ""):
        table.add_column(heading, justify="left" if heading in ("hole", "mate's", "") else "right", no_wrap=True)
    for hole in match.holes:
        verdict = [word for word, holds in (("MOVED", hole.moved), ("BLOCKED", hole.room is not None and hole.room < 0)) if holds]
        table.add_row(hole.cover, hole.mate, f"{hole.offset[0]:+.3f}", f"{hole.offset[1]:+.3f}", f"{hole.away:.3f}",
                      f"{2 * hole.away_u:.3f}", *("" if v is None else f"{v:.2f}" for v in (hole.bolt, hole.gap, hole.room)),
                      " ".join(verdict))
    console.print(table)
    table = Table(box=None, pad_edge=False)
    for heading in ("edge", "least", "± 95 %", "at", "most"):
        table.add_column(heading, justify="left" if heading in ("edge", "at") else "right", no_wrap=True)
    for edge in match.edges:
        table.add_row(edge.what, f"{edge.least:.2f}", f"{2 * edge.u:.2f}", f"({edge.at[0]:.1f}, {edge.at[1]:.1f})",
                      f"{edge.most:.2f}")
    console.print()
    console.print(table)
    for clash in match.clashes:
        console.print(f"Clash: {clash.text}, by {clash.by:.2f} mm at ({clash.at[0]:.1f}, {clash.at[1]:.1f}).")
    if match.pitches:
        surer = sum(pitch.probability >= pitch.alone for pitch in match.pitches)
        least = match.pitches[0]
        console.print(f"Design pitches by both pictures: {surer} of {len(match.pitches)} are surer than by the cover's alone; "
                      f"least sure is {least.id} ({' '.join(least.of)}), {least.design:.3f} mm, {least.probability:.0%} "
                      f"(alone {least.alone:.0%}).")
    for whose, ids in (("the cover", match.lone_cover), ("the mate", match.lone_mate)):
        if ids:
            console.print(f"Without a partner, on {whose}: {' '.join(ids)}")
    for note in match.notes:
        console.print(f"Note: {note.text}")
    console.print(f"\nWritten to {home}: mate.json, mate.svg, mate.png; the mate's own outline in {home / 'mate'}")
    console.print("The offsets are told where the holes that agree have it; the room where the tightest place has most. Try the "
                  "check plate on the machine before you trust either.")


def _print_report(console: Console, report: CheckReport, out: Path) -> None:
    console.print(f"\n{report.headline}")
    for caution in sorted(report.cautions, key=lambda one: not one.declined):
        console.print(f"Caution, {caution.danger}: {caution.text}")
    for heading, texts in (("What to do", report.actions), ("What to find out", report.questions)):
        if texts:
            console.print(f"\n{heading}:")
        for number, text in enumerate(texts, start=1):
            console.print(f"  {number}. {text}")
    table = Table(box=None, pad_edge=False)
    for heading in ("verdict", "severity", "check", "of", "value", "limit", "left"):
        is_number = heading in ("severity", "value", "limit", "left")
        table.add_column(heading, justify="right" if is_number else "left", no_wrap=heading != "of")
    for finding in report.findings:
        table.add_row(*_finding_cells(finding))
    console.print()
    console.print(table)
    counts = Counter(finding.verdict for finding in report.findings)
    console.print("\n" + ", ".join(f"{count} {verdict}" for verdict, count in counts.items()))
    console.print(f"Written to {out}: findings.pdf (what to change and why, with formulas and sources), findings.json, "
                  "report.json")


def _print_many(console: Console, rows: Sequence[JobRow], folder: Path) -> None:
    """All but what was up to date already; the rest stands in the files."""
    # lazy door: as above
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
    console.print(f"\n{pipeline.counted(rows)}")
    console.print(f"Written to {folder}: {pipeline.SUMMARY_HTML} (look at it in a browser), {pipeline.SUMMARY_CSV}")


def _print_release(console: Console, made: Release) -> None:
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


def _finding_cells(finding: Finding) -> tuple[str, ...]:
    low, high = finding.limit.low, finding.limit.high
    limit = f"{_figures(low)} to {_figures(high)}" if low is not None and high is not None else (
        f">= {_figures(low)}" if low is not None else f"<= {_figures(high)}" if high is not None else "")
    value = "" if finding.value is None else f"{_figures(finding.value)} {finding.unit}".rstrip("- ")
    left = "" if finding.margin is None else f"{finding.margin:+.0%}"
    return (finding.verdict, str(finding.severity), finding.check.replace("_", " "), finding.subject, value, limit, left)


def _figures(value: float | None) -> str:
    """Four figures, large numbers whole."""
    return "" if value is None else f"{value:.0f}" if abs(value) >= 1000 else f"{value:.4g}"


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
