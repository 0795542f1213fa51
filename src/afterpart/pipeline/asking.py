"""Openings the maker points at in the first photograph, looked for when they are not known yet."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

from afterpart.errors import JobError, PhotoError
from afterpart.model.edges import AskedRim, EdgeMap
from afterpart.model.job import Correction, Job
from afterpart.photo.load import Picture
from afterpart.photo.onehole import find_opening


def all_are_known(job: Job, edges: EdgeMap) -> bool:
    """Whether every opening the job points at has been looked for in these edges' picture."""
    known = {(item.at_px, item.photo) for item in edges.asked}
    return all((c.at_px, c.photo) in known for c in job.corrections if c.what == "hole")


def with_asked_openings(job: Job, picture: Picture, edges: EdgeMap) -> EdgeMap:
    """The edges with exactly the openings the job points at: those known before, the others looked for in `picture`, the first.

    Raises JobError where nothing closed is seen at a pixel, with the number of its row."""
    known = {(item.at_px, item.photo): item for item in edges.asked}
    asked: list[AskedRim] = []
    for row, correction in enumerate(job.corrections, start=1):
        if correction.what == "hole":
            found = known.get((_pixel(correction), correction.photo))
            asked.append(found or _looked_for(correction, row, picture, edges, asked))
    return edges if not asked and not edges.asked else replace(edges, asked=tuple(asked))


def _pixel(correction: Correction) -> tuple[float, float]:
    assert correction.at_px is not None
    return correction.at_px


def _looked_for(correction: Correction, row: int, picture: Picture, edges: EdgeMap, before: list[AskedRim]) -> AskedRim:
    if correction.photo != 1:
        raise JobError(f"edit.{row}.photo: found {correction.photo}, expected 1: a missed hole is looked for in the first "
                       "photograph. Point at it there.")
    try:
        rim = find_opening(picture, edges, _pixel(correction), [item.rim for item in before])
    except PhotoError as error:
        raise JobError(f"edit.{row}.at_px: {error}") from error
    return AskedRim(_pixel(correction), rim, correction.photo)
