"""What is done on the machine: seal, which way round, seal tests, bolts; the first run and what comes after."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.model.assembly import Build, Item
from afterpart.model.feature import Hole, PrintedSeal
from afterpart.model.finding import CheckReport
from afterpart.model.job import Job
from afterpart.model.outline import Point
from afterpart.model.piece import Deboss, Piece
from afterpart.release.bench_steps import in_words, picture_of
from afterpart.release.guide import Chapter, Step
from afterpart.release.lengths import Length, unit_word
from afterpart.release.parts_list import (
    STRIP_LENGTH,
    bolts_of,
    has_clean_side,
    has_filter,
    has_seal,
    keeps_dust_out,
    screws_in,
)
from afterpart.release.reach import over_edge, seal_proud
from afterpart.release.step_pictures import letters
from afterpart.release.tightening import mid_spans
from afterpart.release.tightening_words import bolt_tightening
from afterpart.release.words import word, words
from afterpart.words import paragraph, tell


def machine_chapter(build: Build, job: Job, report: CheckReport | None, bolts: tuple[Point, ...]) -> Chapter:
    """Seal, way round, tests, last look, tightening.  bolts: places in the order of tightening."""
    steps = [*_seal(build), *_which(build, job, bolts), *_tests(build, bolts)]
    if has_clean_side(build, job):
        steps.append(Step(word("guide", "last_look_step"), (*words("guide", "last_look_do"), word("guide", "last_look_plug"))))
    steps.append(_tighten(build, job, report, bolts))
    return Chapter(word("guide", "chapter_machine"), "", tuple(steps))


def run_chapter(build: Build, job: Job, report: CheckReport | None) -> Chapter:
    """First run, first heat, and from then on."""
    tightening = bolt_tightening(report, in_words(len(bolts_of(build))))
    is_closed = has_clean_side(build, job)
    run = [*words("guide", "run_do")] if is_closed else [word("guide", "run_static_do")]
    if keeps_dust_out(build, job):
        run += [word("guide", "run_cloth"), word("guide", "run_refit"), *[word("guide", "run_refit_foam")] * has_filter(build)]
    if job.wishes.seal is not None and has_seal(build) and job.wishes.seal.duty != "dust":
        run.append(word("guide", "run_leak"))
    retighten = (word("guide", "heat_plain") if tightening.torque_n_m is None
                 else word("guide", "heat_torque", torque=tightening.torque_n_m))
    heat = [*words("guide", "heat_do", retighten=retighten)] + [word("guide", "heat_screws")] * bool(screws_in(build))
    after = [*words("guide", "after_do")] + [word("guide", "after_foam")] * has_filter(build) + [word("guide", "after_report")]
    return Chapter(word("guide", "chapter_run"), "", (Step(word("guide", "run_step"), tuple(run)),
                                                      Step(word("guide", "heat_step"), tuple(heat)),
                                                      Step(word("guide", "after_step"), tuple(after))))


def cover_of(build: Build) -> Piece | None:
    """The piece that goes on the machine."""
    return next((piece for piece in build.pieces if piece.kind == "cover"), None)


def _seal(build: Build) -> list[Step]:
    """Cord, ring or flat seal, as there is one."""
    cord = next((item for item in build.assembly.items if item.kind == "cord"), None)
    if cord is not None:
        lines = words("guide", "seal_cord_do", length=Length(cord.length), unit=unit_word())
        return [Step(word("guide", "seal_step"), lines, picture_of(build, "cord"))]
    for piece in build.pieces:
        for seal in piece.features:
            if isinstance(seal, PrintedSeal):
                is_flat = seal.section in ("flat", "beaded")
                lines = ((word("guide", "seal_flat_do"),) if is_flat else
                         words("guide", "seal_ring_do", proud=Length(seal_proud(build)), unit=unit_word()))
                return [Step(word("guide", "seal_step"), lines, picture_of(build, piece.file_stem))]
    return []


def _which(build: Build, job: Job, bolts: tuple[Point, ...]) -> list[Step]:
    cover = cover_of(build)
    if cover is None:
        return []
    is_marked = any(isinstance(step, Deboss) and step.from_below for step in cover.steps)
    lines = [word("guide", "which_text" if is_marked else "which_plain")]
    if job.wishes.cover is not None and job.wishes.cover.arrow:
        lines.append(word("guide", "which_arrow"))
    located = [hole for hole in cover.features if isinstance(hole, Hole) and hole.role == "locates"]
    numbers = [(bolts.index(hole.center) + 1, hole.id) for hole in located if hole.center in bolts]
    if len(numbers) > 1:
        told = (word("guide", "which_number", name=name, number=number) for number, name in sorted(numbers))
        others = [hole.diameter for hole in cover.features if isinstance(hole, Hole) and hole.purpose == "bolt"
                  and hole not in located]
        is_narrow = bool(others) and max(hole.diameter for hole in located) < min(others)
        key = "which_locates" if is_narrow else "which_locates_alike"
        lines.append(word("guide", key, count=len(numbers), numbers=", ".join(told)))
    wrong = [note.text for note in cover.notes if note.code == "fits_wrongly"]
    lines += [word("guide", "which_wrong", text=text) for text in wrong]
    return [Step(word("guide", "which_step"), tuple(lines), ("bolts",) if bolts else ())]


def _tests(build: Build, bolts: tuple[Point, ...]) -> list[Step]:
    """Witness and paper strips, where there is a seal."""
    if not has_seal(build):
        return []
    steps = [Step(word("guide", "witness_step"), words("guide", "witness_do"))]
    marks = letters(len(mid_spans(bolts)))
    if marks:
        told = tell("{first} to {last}", first=marks[0], last=marks[-1]) if len(marks) > 1 else marks[0]
        steps.append(Step(word("guide", "paper_step"), (word(
            "guide", "paper_do", count=len(marks), letters=told, long=Length(STRIP_LENGTH), unit=unit_word()),)))
    return steps


def _tighten(build: Build, job: Job, report: CheckReport | None, bolts: tuple[Point, ...]) -> Step:
    if not bolts:
        has_inserts = job.wishes.bolts is not None and job.wishes.bolts.insert and cover_of(build) is not None
        return Step(word("guide", "fit_step"), (word("guide", "fit_inserts" if has_inserts else "fit_plain"),))
    items: tuple[Item, ...] = build.assembly.items
    in_by_hand = word("guide", "fit_set_washers" if any(item.kind == "washer" for item in items) else "fit_set", count=len(bolts))
    tightening, proud = bolt_tightening(report, in_words(len(bolts))), seal_proud(build)
    now = word("guide", "fit_proud", proud=Length(proud), unit=unit_word()) if proud > 0.0 else word("guide", "fit_flat")
    over = over_edge(build)
    closed = [word("guide", "fit_closed")] * (proud > 0.0)
    if over is not None:
        closed.append(word("guide", "fit_over_edge", holes=", ".join(over.holes), over=Length(over.over), wide=Length(over.wide),
                           unit=unit_word()))
    return Step(word("guide", "fit_step"),
                (in_by_hand, paragraph(word("guide", "fit_turn"), now), *tightening.lines, *closed),
                picture_of(build, "washer", "bolt"), word("guide", "torque_warning"))
