"""Nouns as the JSON of the page, stations photo and dimensions, and the head of the sheet.

All lengths in mm, pixels where a name says so; keys are named as the nouns' fields.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
from dataclasses import asdict
from functools import lru_cache
from typing import Any

from afterpart import __version__, pipeline
from afterpart.errors import AfterpartError
from afterpart.model.outline import Outline
from afterpart.web.desk import Desk, Solved
from afterpart.web.wording import refusals
from afterpart.web.work import Running

NAMES = ("photo", "outline", "pieces", "findings", "release")
"""The stations, in order."""


def sheet_view(desk: Desk, running: Running | None) -> dict[str, Any]:
    """The head of the sheet: what job it is, what has been made, what is being done."""
    undo, redo = desk.steps
    job, problems = desk.job, desk.problems
    stations, late, is_settled = dict.fromkeys(NAMES), (), True
    try:
        stations, late, is_settled = _stations(desk), _outdated(desk), desk.is_settled()
    except AfterpartError as error:  # a file of the job was damaged: told, and what does not need it goes on
        problems = (*problems, *refusals(error))
    return {
        "version": desk.version, "program": __version__, "folder": desk.folder.name if desk.folder else "",
        "has_job": desk.folder is not None, "name": job.name if job else "", "revision": job.revision if job else "",
        "date": job.date if job else "", "photos": len(job.shots) if job else 0, "stamp": desk.stamp,
        "stations": stations, "outdated": list(late), "settled": is_settled,
        "work": None if running is None else running.plain(), "undo": undo, "redo": redo,
        "problems": [problem.plain() for problem in problems], "siblings": _siblings(desk),
    }


def _stations(desk: Desk) -> dict[str, str | None]:
    names: dict[str, str | None] = dict.fromkeys(NAMES)
    if desk.folder is None:
        return names
    for name, paths in pipeline.shown_files(desk.folder, desk.job).items():
        names[name] = desk.digests.of_all(paths)
    if names["outline"] is not None:
        names["outline"] = desk.outline_stamp()
    return names


def _outdated(desk: Desk) -> tuple[str, ...]:
    if desk.folder is None or desk.job is None:
        return ()
    late = pipeline.outdated(desk.folder, desk.job, desk.record(), desk.photo_sha256())
    shown = desk.solved()
    is_ahead = shown is not None and pipeline.is_same_question(shown.job, desk.job) and not desk.is_settled()
    return tuple(name for name in late if not (name == "outline" and is_ahead))


def _siblings(desk: Desk) -> list[str]:
    """Other job folders beside this one, by name: variants to compare with."""
    if desk.folder is None:
        return []
    beside = desk.folder.resolve().parent
    try:
        return sorted(path.name for path in beside.iterdir() if path.name != desk.folder.resolve().name
                      and not path.name.startswith(".") and (path / "job.toml").is_file())
    except OSError:
        return []


def photo_view(desk: Desk, number: int) -> dict[str, Any]:
    """One photograph: its file, what the file says, and, once it was measured, what was found in it.

    laid: the box (left, bottom, right, top, mm) of the drawing it can be laid flat on, or None; why: it was left out."""
    folder, job = desk.opened()
    shot = job.shots[number - 1]
    look = pipeline.photo_look(folder, shot)
    plain: dict[str, Any] = {"number": number, "file": shot.file, "shows": shot.shows, "width": look.width,
                             "height": look.height, "exif": list(look.taken), "focal_35mm": look.focal_35mm,
                             "references": [], "camera": None, "rims": [], "segments": [], "balloons": [], "fresh": False,
                             "laid": None, "why": ""}
    found, drawing = look_of(desk, number)
    if found is None or drawing is None:
        return plain
    seen = pipeline.seen_in(found)
    plain["references"] = [{"kind": one.kind, "polyline_px": one.line, "text": one.text} for one in seen.references]
    plain["camera"] = asdict(seen.camera) if seen.camera else None
    plain["rims"] = seen.rims
    plain["segments"] = [{"id": one.segment, "loop": one.loop, "part": one.part, "role": one.role, "wall": one.wall,
                          "free": one.free, "px": one.line} for one in seen.segments]
    plain["balloons"] = [{"id": spot.id, "number": spot.number, "px": spot.at} for spot in seen.balloons]
    plain["fresh"], plain["why"] = True, found.why
    plain["laid"] = pipeline.laid_box(drawing) if pipeline.can_be_laid(folder, found, drawing) else None
    return plain


def look_of(desk: Desk, number: int) -> tuple[pipeline.Look | None, Outline | None]:
    """The photograph as measured, and the part's drawing as it is shown; None for what there is not."""
    folder, job = desk.opened()
    shown = desk.solved()
    drawing = None if shown is None else shown.outline
    return pipeline.look_at_photo(folder, job, number, desk.record(), drawing, desk.digests.of), drawing


def outline_view(desk: Desk, shown: Solved | None) -> dict[str, Any] | None:
    """The drawing and the inspection table; None where nothing was measured yet."""
    if shown is None:
        return None
    outline, job = shown.outline, desk.job or shown.job
    numbers = {d.id: row.number for d, row in zip(outline.dimensions, pipeline.rows_of(outline, job), strict=True)}
    return {
        "outline": json.loads(shown.data),
        "paths": [{"segment": one.segment, "loop": one.loop, "part": one.part, "role": one.role, "wall": one.wall,
                   "free": one.free, "d": one.line} for one in pipeline.drawing_paths(outline)],
        "balloons": [{"id": spot.id, "number": spot.number, "at": spot.at} for spot in pipeline.balloons(outline)],
        "rows": [_row(row) for row in pipeline.rows_of(outline, job)],
        "next": [{"id": one.id, "number": numbers.get(one.id), "gain_bits": one.gain_bits, "how": one.how}
                 for one in outline.next_readings],
        "notes": [{"code": note.code, "text": note.text} for note in outline.notes],
        "heights": [{"level": one.level, "from": one.measured_from, "value": one.value, "u": one.u}
                    for one in pipeline.levels_of(job)],
        "moved": None if shown.moves is None else [{"id": one.id, "number": one.number, "from": one.before, "to": one.after}
                                                   for one in shown.moves],
    }


def _row(row: pipeline.Row) -> dict[str, Any]:
    d = row.dimension
    return {"number": row.number, "id": d.id, "kind": d.kind, "of": d.of, "measured": d.measured, "u": d.u, "u95": d.u95,
            "design": d.design, "probability": d.probability, "runner_up": d.runner_up,
            "reading": None if row.reading is None else {"value": row.reading[0], "u": row.reading[1]}, "fixed": row.fixed,
            "state": row.state, "causes": row.causes,
            "mate": None if d.mate is None else {"measured": d.mate.measured, "u95": 2 * d.mate.u, "moved": d.mate.moved,
                                                 "used": d.rests_on_mate}}


def advice_view(advice: pipeline.Advice) -> dict[str, Any]:
    """How to photograph the part; errors at 95 % (twice the standard uncertainty)."""
    lenses = [{"lens_35mm": one.lens_35mm, "name": one.name, "distance": one.distance, "px_per_mm": one.px_per_mm,
               "u95": 2 * one.u, "u95_on_table": 2 * one.u_on_table, "u95_untold": 2 * one.u_untold,
               "causes": [{"cause": share.cause, "u": share.u} for share in one.shares]} for one in advice.lenses]
    return {"length": advice.length, "lenses": lenses, "scan_u95": None if advice.scan_u is None else 2 * advice.scan_u,
            "words": advice.words}


@lru_cache(maxsize=1)
def schema_view() -> bytes:
    """Every table and key of a job file, as JSON; it does not change while the program runs."""
    return json.dumps([asdict(table) for table in pipeline.schema()], ensure_ascii=False, separators=(",", ":")).encode()

