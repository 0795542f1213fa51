"""The mate laid on the cover as the JSON of the page: the worst place first, its outline as SVG paths on the cover's drawing.

All lengths in mm, uncertainties at 95 % (twice the standard uncertainty); places in the axes of the cover's drawing.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from typing import Any

from afterpart import pipeline
from afterpart.model.mate import MateHole, MateMatch
from afterpart.web.desk import Desk


def mate_view(desk: Desk) -> dict[str, Any]:
    """photos: how many show the mate; fresh: the match is of the pictures and the drawing as they are; match: None where the
    mate was not laid on the cover yet."""
    folder, job = desk.opened()
    match = pipeline.mate_in(folder)
    return {"photos": len(job.shots_of("mate")), "way": job.mate.way, "ways": dict(pipeline.MATE_WAYS),
            "fresh": match is not None and pipeline.is_match_current(job, folder),
            "match": None if match is None else _match(match)}


def _match(match: MateMatch) -> dict[str, Any]:
    return {
        "of": match.of, "way": match.way, "as_expected": match.laying.as_expected,
        "holes": [_hole(hole) for hole in match.holes],
        "edges": [{"what": one.what, "least": one.least, "u95": 2 * one.u, "at": one.at, "most": one.most,
                   "must_clear": one.must_clear} for one in match.edges],
        "clashes": [{"text": one.text, "by": one.by, "at": one.at} for one in match.clashes],
        "lone_cover": match.lone_cover, "lone_mate": match.lone_mate,
        "notes": [{"code": note.code, "text": note.text} for note in match.notes],
        "paths": [{"role": loop.role, "d": pipeline.svg_path(loop.segments, len(loop.segments) > 1)} for loop in match.loops],
    }


def _hole(hole: MateHole) -> dict[str, Any]:
    return {"cover": hole.cover, "mate": hole.mate, "at": hole.at, "offset": hole.offset, "away": hole.away,
            "u95": 2 * hole.away_u, "moved": hole.moved, "bolt": hole.bolt, "gap": hole.gap, "room": hole.room}
