"""The steps of the assembly guide, from the build, the job and what the checks found.

What does not apply is left out: no seal, no filter, no small screws, no coupon, no word of them.  Step 0, for somebody who has
only the folder, comes first: paper, check plate, coupon.
Frame of places: the drawing's.  All words stand in words/guide.toml.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from afterpart.model.assembly import Build, Item
from afterpart.model.feature import Boss, Hole
from afterpart.model.finding import Caution, CheckReport
from afterpart.model.job import Job
from afterpart.model.outline import Outline, Point
from afterpart.release.bed_files import beds_of
from afterpart.release.bench_steps import bench_chapter
from afterpart.release.characteristics import TABLE, characteristics
from afterpart.release.guide import Chapter, Guide, Step, Table
from afterpart.release.hole_names import hole_names
from afterpart.release.lengths import Length, in_inches, unit_word
from afterpart.release.machine_steps import machine_chapter, run_chapter
from afterpart.release.parts_list import (
    AIDS,
    COLUMNS,
    CUT,
    PartRow,
    PlatePiece,
    bolts_of,
    filament_of,
    has_clean_side,
    has_filter,
    has_seal,
    headings,
    parts_list,
    printed_alternatives,
    screws_in,
)
from afterpart.release.print_settings import print_settings, setting_advice, setting_headings
from afterpart.release.proof_steps import proof_chapter
from afterpart.release.reach import Reach, reach_of
from afterpart.release.shown import spoken
from afterpart.release.tightening import crosswise
from afterpart.release.words import word, words
from afterpart.solid.body import Mesh

_SECTION = "guide"
_WITHIN = 0.5
"""How far over all a piece without a drawing may be off, mm (judgement)."""
_PART_TABLES = (
    ("table_made", ("printed", "cut", "aid"), ("numbers", "count", "name", "size", "material", "purpose", "file"),
     (0.09, 0.07, 0.2, 0.19, 0.1, 0.19, 0.16)),
    ("table_bought", ("fastener", "seal"), ("numbers", "count", "name", "size", "material", "purpose"),
     (0.09, 0.07, 0.24, 0.23, 0.15, 0.22)),
    ("table_stock", ("stock",), ("name", "size", "purpose"), (0.3, 0.32, 0.38)),
    ("table_supply", ("supply",), ("count", "name", "purpose"), (0.08, 0.46, 0.46)),
    ("table_tool", ("tool",), ("name", "purpose"), (0.5, 0.5)))
"""Of the parts list in the guide: title, groups, columns and their shares of the width."""


def guide_of(build: Build, job: Job, report: CheckReport | None, meshes: Mapping[str, Mesh],
             volumes: Mapping[str, float], outline: Outline | None = None, plate: tuple[PlatePiece, ...] = ()) -> Guide:
    """The whole guide.  report: None where the checks have not run; meshes, volumes (mm3): of the pieces by file_stem; outline:
    of the old part, None leaves out what rests on it; plate: the check plate's pieces, () where they are not at hand."""
    rows = parts_list(build, job, meshes, volumes, plate)
    bolts, screws = bolt_order(build), _in_order(screws_in(build), ())
    name = f"{job.name} {job.revision}".strip()
    reach, orders = reach_of(build, meshes), {"bolts": bolts, "screws": screws}
    steps = (proof_chapter(build, job, reach, outline), _print_chapter(build, job, meshes, volumes, outline, plate),
             _ready_chapter(build, job, rows, reach), *bench_chapter(build, job, report, meshes),
             _with_names(machine_chapter(build, job, report, bolts), hole_names(build, orders, outline)),
             run_chapter(build, job, report))
    numbered = (replace(chapter, title=_told("chapter_number", number=number, title=chapter.title))
                for number, chapter in enumerate(steps))
    chapters = (*numbered, _parts_chapter(rows), _trouble_chapter(build, job), _words_chapter(build, job))
    return Guide(name, report.headline if report else _told("no_checks"), (*_to_know(job, report), *_for_maker(report)),
                 _cautions(report), chapters, orders, _captions(build, reach))


def _with_names(chapter: Chapter, names: Table | None) -> Chapter:
    return chapter if names is None else replace(chapter, tables=(*chapter.tables, names))


def bolt_order(build: Build) -> tuple[Point, ...]:
    """The places of the bolts in the order of tightening, the locating holes' first."""
    cover = next((piece for piece in build.pieces if piece.kind == "cover"), None)
    located = {hole.center for hole in (cover.features if cover else ())
               if isinstance(hole, Hole) and hole.purpose == "bolt" and hole.role == "locates"}
    return _in_order(bolts_of(build), tuple(located))


def _in_order(items: tuple[Item, ...], located: tuple[Point, ...]) -> tuple[Point, ...]:
    places = tuple(sorted((at[0], at[1]) for item in items for at in item.at))
    first = tuple(i for i, place in enumerate(places) if place in located)
    return tuple(places[i] for i in crosswise(places, first))


def _told(key: str, **fields: object) -> str:
    return word(_SECTION, key, **fields)


def _lines(key: str, **fields: object) -> tuple[str, ...]:
    return words(_SECTION, key, **fields)


def _to_know(job: Job, report: CheckReport | None) -> tuple[str, ...]:
    """How likely it fits, and who is meant by the maker."""
    findings = report.findings if report else ()
    shares = [found.value for found in findings if found.check == "fit_share" and found.value is not None]
    likely = (_told("verdict_share", share=math.floor(min(shares))),) if shares else ()
    return (*likely, _told("verdict_maker", reports=job.release.reports or _told("verdict_maker_nobody")))


def _for_maker(report: CheckReport | None) -> tuple[str, ...]:
    """The checks' actions, and that they are not the reader's."""
    return (_told("verdict_for_maker"), *report.actions) if report and report.actions else ()


def _cautions(report: CheckReport | None) -> tuple[Caution, ...]:
    found = sorted(report.cautions if report else (), key=lambda one: not one.declined)
    return (*(one for one in found if one.declined), Caution("", _told("caution_always")),
            *(one for one in found if not one.declined))


def _print_chapter(build: Build, job: Job, meshes: Mapping[str, Mesh], volumes: Mapping[str, float], outline: Outline | None,
                   plate: tuple[PlatePiece, ...]) -> Chapter:
    alternatives = printed_alternatives(build)
    chosen = tuple(dict.fromkeys(stem.partition("_pilot_")[0] for stem in sorted(alternatives)))
    printed = [piece for piece in build.pieces if piece.kind not in CUT]
    actions = [_told("print_do", count=1, piece=spoken(piece), file=f"{piece.file_stem}.3mf", material=filament_of(piece, job))
               for piece in printed if piece.file_stem not in {*alternatives, *chosen}
               and piece.kind not in ("hole_coupon", "check_plate")]
    actions += [_told("print_variant", stem=stem.replace("_", " ")) for stem in chosen]
    actions += _bed_actions(build, job, meshes)
    clean = list(_lines("clean_do"))
    frames = [piece for piece in build.pieces if piece.kind == "clamp_frame"]
    depths = [f.pilot_depth for piece in frames for f in piece.features if isinstance(f, Boss)]
    clean += [_told("clean_screw_holes", depth=Length(min(depths)), unit=unit_word())] if depths and screws_in(build) else []
    clean += [_told("clean_seal")] * has_seal(build)
    settings = Table(word("print_settings", "title"), setting_headings(),
                     tuple(row.cells() for row in print_settings(build, job, volumes, plate)),
                     (0.16, 0.09, 0.1, 0.07, 0.13, 0.24, 0.1, 0.11))
    return Chapter(_told("chapter_print"), word("print_settings", "about"),
                   (Step(_told("print_step"), (*actions, _told("print_settings_do"))), Step(_told("clean_step"), tuple(clean)),
                    *_measure(build, job, outline)), (settings,), setting_advice(build, job, plate))


def _measure(build: Build, job: Job, outline: Outline | None) -> list[Step]:
    """What of the print is measured before it is used: the rows of the inspection table that have limits of their own."""
    cover = next((piece for piece in build.pieces if piece.kind == "cover"), None)
    if cover is None:
        return []
    rows = _told("measure_rows")
    if outline is not None:
        # a distance between holes is no size a calliper reads off, and the check plate has proven it
        found = [c.number for c in characteristics(cover, outline, job) if c.limits is not None and c.view != TABLE]
        rows = ", ".join(map(str, found)) or rows
    has_others = any(piece is not cover and piece.kind not in (*AIDS, *CUT) for piece in build.pieces)
    others = [_told("measure_others", within=Length(_WITHIN), unit=unit_word())] * has_others
    return [Step(_told("measure_step"), (*_lines("measure_do", piece=spoken(cover), rows=rows), *others))]


def _bed_actions(build: Build, job: Job, meshes: Mapping[str, Mesh]) -> list[str]:
    """One line a bed that holds more than one piece."""
    names = {piece.file_stem: spoken(piece) for piece in build.pieces}
    width, depth = job.wishes.printer.bed
    return [_told("print_bed", file=bed.file, pieces=", ".join(names[one.name] for one in bed.laid), width=Length(width),
                  depth=Length(depth), unit=unit_word())
            for bed in beds_of(build, meshes, job.wishes.printer) if len(bed.laid) > 1]


def _ready_chapter(build: Build, job: Job, rows: tuple[PartRow, ...], reach: Reach | None) -> Chapter:
    machine = [*_lines("ready_machine_do"), *(_told("ready_old_seal"),) * has_seal(build)]
    machine += _plug(job, reach) if has_clean_side(build, job) else []
    depth = max((item.length + at[2] for item in bolts_of(build) for at in item.at), default=0.0)
    machine += [_told("ready_bolts", depth=Length(math.ceil(depth) + 1), engaged=Length(depth), unit=unit_word())] * (depth > 0)
    loose = [row for row in rows if (row.group in ("printed", "cut", "fastener", "seal") or row.is_loose) and row.count]
    counts = Table(_told("ready_count"), tuple(_told(key) for key in ("count_item", "count_must", "count_in", "count_fitted",
                                                                      "count_over")),
                   tuple((row.name, str(row.count), "", "", "") for row in loose), (0.44, 0.14, 0.14, 0.14, 0.14))
    return Chapter(_told("chapter_ready"), "", (Step(_told("ready_machine"), tuple(machine)),
                                                Step(_told("ready_count"), (_told("ready_count_do"),))), (counts,))


def _plug(job: Job, reach: Reach | None) -> list[str]:
    """How the opening is closed: the same way from the first trial to the last look."""
    inside = reach.inside if reach is not None else 0.0
    level = (_told("ready_plug_deep", below=Length(math.ceil(inside + 1.0)), unit=unit_word()) if inside > 0.0
             else _told("ready_plug_flat"))
    port = job.wishes.machine.clean_port
    return [_told("ready_plug", level=level)] + ([_told("ready_plug_port", port=Length(port), unit=unit_word())] if port else [])


def _words_chapter(build: Build, job: Job) -> Chapter:
    """The guide's own short list of words, of those that it uses."""
    frame = any(piece.kind == "clamp_frame" for piece in build.pieces)
    asked = (("words_clean", has_clean_side(build, job)), ("words_frame", frame), ("words_screw", bool(screws_in(build))),
             ("words_seal", has_seal(build)), ("words_always", True))
    rows = tuple(tuple(part.strip() for part in line.split("|")) for key, is_asked in asked if is_asked for line in _lines(key))
    return Chapter(_told("words_title"), "", (), (Table("", (_told("words_word"), _told("words_means")), rows, (0.25, 0.75)),))


def _parts_chapter(rows: tuple[PartRow, ...]) -> Chapter:
    """One table a kind of thing, with the columns that say something there, under the picture that shows the numbers."""
    tables = []
    for key, groups, columns, shares in _PART_TABLES:
        places = [COLUMNS.index(column) for column in columns]
        cells = tuple(tuple(row.cells()[place] for place in places) for row in rows if row.group in groups)
        if cells:
            head = tuple(headings()[place] for place in places)
            tables.append(Table(word("parts_list", key), head, cells, shares))
    about = word("parts_list", "about", unit=word("parts_list", "unit_inch" if in_inches() else "unit_mm"))
    return Chapter(_told("chapter_parts"), about, (Step(_told("parts_step"), (), ("all",)),), tuple(tables))


def _trouble_chapter(build: Build, job: Job) -> Chapter:
    wish = job.wishes.bolts
    has_torque = wish is not None and wish.torque_n_m is not None and bool(bolts_of(build))
    asked = (("trouble_rows", True), ("trouble_torque_rows", has_torque), ("trouble_screw_rows", bool(screws_in(build))),
             ("trouble_seal_rows", has_seal(build)), ("trouble_filter_rows", has_filter(build)))
    rows = [tuple(part.strip() for part in line.split("|")) for key, is_asked in asked if is_asked for line in _lines(key)]
    return Chapter(_told("chapter_trouble"), "", (), (Table("", (_told("trouble_see"), _told("trouble_do")), tuple(rows),
                                                             (0.3, 0.7)),))


def _captions(build: Build, reach: Reach | None) -> dict[str, str]:
    """What each picture shows, by its name."""
    pieces = {piece.file_stem: spoken(piece) for piece in build.pieces if piece.kind not in AIDS}
    element = next((spoken(piece) for piece in build.pieces if piece.kind in CUT), "")
    captions = {"all": _told("picture_all"), "screws": _told("picture_screws"), "laid": _told("picture_laid", what=element),
                "bolts": _told("picture_order_strips" if has_seal(build) else "picture_order")}
    if reach is not None and reach.inside > 0.0:
        captions["room"] = _told("picture_room", what=reach.what, inside=Length(reach.inside), unit=unit_word())
    for thing in (*build.assembly.places, *build.assembly.items):
        what = thing.name if isinstance(thing, Item) else pieces.get(thing.piece, thing.piece)
        key = f"step {thing.order}"
        if what not in captions.get(key, ""):
            captions[key] = ", ".join(filter(None, (captions.get(key, ""), _told("picture_step", what=what))))
    return captions
