"""What was made, as the JSON of the page: stations pieces, findings and release."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from afterpart import pipeline
from afterpart.model.case import Passage
from afterpart.model.feature import Seat
from afterpart.model.finding import KeyChange
from afterpart.web.desk import Desk


def pieces_view(desk: Desk) -> dict[str, Any] | None:
    """Every piece of the last build with its figures and files, the filter cuts, what is bought; None before there is a build."""
    folder, job = desk.opened()
    place = folder / "pieces"
    found = pipeline.built_in(place, job)
    if found is None:
        return None
    names = sorted(path.name for path in place.iterdir() if path.is_file() and not path.name.startswith("."))
    seat = next((feature for piece in found.build.pieces for feature in piece.features if isinstance(feature, Seat)), None)
    return {
        "pieces": [_piece(figures, names) for figures in found.pieces],
        "places": [{"piece": one.piece, "flipped": one.flipped, "shift": one.shift, "comes_from": one.comes_from,
                    "order": one.order} for one in found.build.assembly.places],
        "cuts": [{"cuts": row.cuts, "area": row.area, "gain": row.gain, "gap": row.gap, "drop_ratio": row.pressure_ratio,
                  "face_velocity_m_per_s": row.face_velocity_m_per_s, "form": row.form, "chosen": row.chosen,
                  "path": pipeline.polygon_path(row.corners)} for row in found.build.cuts],
        "seat_path": None if seat is None else pipeline.polygon_path(seat.region),
        "notes": [note.text for note in found.build.notes],
        "bought": [{"name": item.name, "kind": item.kind, "count": len(item.at)} for item in found.build.assembly.items],
        "files": names, "plate": _names_in(folder / "plate"),
    }


def _piece(figures: pipeline.PieceFigures, names: list[str]) -> dict[str, Any]:
    piece = figures.piece
    stem = piece.file_stem
    return {"stem": stem, "kind": piece.kind, "name": piece.name, "spoken": figures.name, "material": piece.material,
            "mass_g": figures.mass_g, "print_time_h": piece.print_time.minutes / 60.0, "print_time_how": piece.print_time.how,
            "size": figures.size, "volume": figures.volume, "thickness": piece.thickness, "orientation": piece.orientation,
            "notes": [note.text for note in piece.notes],
            "files": [name for name in names if re.fullmatch(re.escape(stem) + r"(_mm)?\.[a-z0-9]+", name)]}


def _names_in(place: Path) -> list[str]:
    found = place.iterdir() if place.is_dir() else ()
    return sorted(path.name for path in found if path.is_file() and not path.name.startswith("."))


def findings_view(desk: Desk) -> dict[str, Any] | None:
    """The report in its order, with the change of the job that each finding suggests; None before there is one."""
    folder, _ = desk.opened()
    report, told = folder / "report.json", folder / "findings.json"
    if not report.is_file() or not told.is_file():
        return None
    found = pipeline.report_in(folder)
    job = pipeline.plain_of(pipeline.job_text(folder))
    return {
        "headline": found.headline, "actions": found.actions,
        "questions": [{"key": next(iter(pipeline.question_keys(question)), ""), "keys": pipeline.question_keys(question),
                       "text": question} for question in found.questions],
        "findings": [{**plain, "change": _change(finding.change, job),
                      "changes": [_change(one, job) for one in pipeline.changes_by_suggestion(finding)]}
                     for plain, finding in zip(json.loads(told.read_bytes()), found.findings, strict=True)],
        "failure_modes": [{"item": row.item, "mode": row.mode, "effect": row.effect, "cause": row.cause, "today": row.today,
                           "severity": row.severity, "occurrence": row.occurrence, "detection": row.detection,
                           "number": row.severity * row.occurrence * row.detection} for row in found.failure_modes],
        "cautions": [{"danger": one.danger, "text": one.text, "declined": one.declined} for one in found.cautions],
        "passages": [{"item": one.item, "through": one.through, "is_open": one.is_open, "room": one.room, "size": one.size,
                      "along": one.along, "by": one.by, "ends": one.ends, "text": _passage_text(one),
                      "picture": one.picture if one.picture and (folder / one.picture).is_file() else None}
                     for one in pipeline.passages_in(folder / "pieces")],
    }


def _passage_text(passage: Passage) -> str:
    is_free = "comes through" if passage.is_open else "is held"
    by = f", {passage.by}" if passage.by else ""
    return f"{passage.item} {is_free} {passage.through}: room {passage.room:.1f} mm, size {passage.size:.1f} mm{by}."


def _change(change: tuple[KeyChange, ...], plain: dict[str, Any]) -> dict[str, Any] | None:
    """A change as edits of the job file as it is now; None where there is none."""
    if not change:
        return None
    return {"text": pipeline.change_words(change), "edits": pipeline.change_edits(change, plain)}


def release_view(desk: Desk) -> dict[str, Any]:
    """Every release of this job, the newest last; ready: pieces and findings are those of the job as it is."""
    folder, job = desk.opened()
    releases = []
    for path in pipeline.released_in(folder):
        plain = json.loads((path / "manifest.json").read_bytes())
        archive = pipeline.archive_of(path)
        releases.append({"name": path.name, "revision": plain.get("revision", ""), "date": plain.get("date", ""),
                         "zip": archive.name if archive.is_file() else None,
                         "files": [{"path": one["path"], "purpose": one["purpose"], "size": one["bytes"], "unit": one["unit"]}
                                   for one in plain["files"]]})
    late = pipeline.outdated(folder, job, desk.record(), desk.photo_sha256())
    is_fresh = not {"outline", "pieces", "findings"} & set(late)
    return {"releases": releases, "ready": is_fresh and (folder / "report.json").is_file()}
