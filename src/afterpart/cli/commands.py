"""The commands and their arguments.  Each opens its own stages through a lazy door, so that `--help` stays quick."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from afterpart import __version__
from afterpart.cli.print_judged import print_mate, print_report
from afterpart.cli.print_made import print_build, print_many, print_release
from afterpart.cli.print_measured import print_outline, print_plate
from afterpart.cli.progress import plain_console, progress_lines
from afterpart.errors import UsageError

FAILS_STATUS = 4

app = typer.Typer(add_completion=False, no_args_is_help=True, pretty_exceptions_enable=False, rich_markup_mode=None,
                  help="From one phone photograph of a flat part to a proven, printable replacement.")


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
    console = plain_console()
    with progress_lines(console) as say:
        result = pipeline.measure(job, folder, out, say)
        say("writing the files")
        pipeline.write_measurement(result, out)
    if result.edges_reused:
        console.print("The picture was measured before with the same options: its edges were used again.")
    print_outline(console, result.outline, out)
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
    console = plain_console()
    with progress_lines(console) as say:
        result = pipeline.make_plate_of(folder, out, say, size, thick, whole)
        say("writing the files")
        pipeline.write_plate(result, out)
    print_plate(console, result.pieces, tuple(result.files), out)


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

    console = plain_console()
    if from_pieces and not (folder / pipeline.PIECES_FILE).exists():
        folder = folder / "pieces"
    home = folder if folder.is_dir() else folder.parent
    out = folder if from_pieces else out or home / "pieces"
    with progress_lines(console) as say:
        built = pipeline.rebuild_of(folder, say) if from_pieces else pipeline.build_of(folder, out, say)
        say("writing the files")
        pipeline.write_build(built, out)
    print_build(console, built, home, out)


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
    console = plain_console()
    with progress_lines(console) as say:
        checked = pipeline.check_of(folder, pieces, say)
        say("writing the report")
        pipeline.write_check(checked, out, pieces)
    print_report(console, checked.report, out)
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
    console = plain_console()
    with progress_lines(console) as say:
        mated = pipeline.mate_of(folder, pieces or home / "pieces", say)
        say("writing the files")
        pipeline.write_mate(mated, home)
    print_mate(console, mated.match, home)


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

    console, checked = plain_console(), {}
    with progress_lines(console) as say:
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
    console = plain_console()
    with progress_lines(console) as say:
        made = pipeline.release_of(folder, pieces, out, say, since)
        say("writing the folder")
        pipeline.write_release(made, home, pieces)
    print_release(console, made)


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

    jobs, console = pipeline.shelf_jobs(folder, until, shot), plain_console()
    with pipeline.cluster(scheduler) if scheduler else pipeline.hands(min(workers, len(jobs)), 60.0 * minutes) as crew:
        rows = pipeline.work_through(jobs, crew, lambda row, count, total: console.print(
            f"- {count} of {total}: {row.name}: {row.state}"))
    pipeline.write_many(rows, folder, until)
    print_many(console, rows, folder)
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
