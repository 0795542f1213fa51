"""What was found in each photograph of a job, and each laid flat on the drawing: of the part or of the mate, alone or among
several.

Words: a *look* is a photograph with the edges and the drawing found in it; a view as in photo/photoviews.py.  A look is told only
while the file is the one that was measured; what is told about it may have changed since (the page says so elsewhere).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from afterpart.errors import FolderError
from afterpart.geometry.segments import segment_points, segments_box
from afterpart.model.edges import EdgeMap, PhotoView
from afterpart.model.job import Job, Shot, Span
from afterpart.model.mate import Laying, MateMatch
from afterpart.model.outline import Circle, Outline, Segment
from afterpart.model.store import EdgeRecord, parse_mate, parse_outline, read_stored
from afterpart.photo.adjust import ground_px_per_mm, tilt_deg
from afterpart.photo.load import load_picture
from afterpart.photo.photoviews import Box, ToPixels, drawing_px, laid_flat, seen_px, view_of
from afterpart.pipeline.mating import MATE_FOLDER
from afterpart.pipeline.measuring import earlier_run
from afterpart.pipeline.showing import Chain, Drawn, Spot, balloons, chain_of

LONGEST_PX = 1600
"""Longer side of a picture that is laid flat."""

ROOM = 0.1
"""Room round the drawing in it, as a share of its longer side."""

POINTS_A_RIM = 400

Digest = Callable[[Path], str]
"""SHA-256 of a file, "" where it is gone."""


@dataclass(frozen=True)
class Look:
    """A photograph as measured.  edges, outline: of the part, or of the mate by itself; view: None where the photograph took no
    part, `why` then says it."""

    shot: Shot
    edges: EdgeMap
    outline: Outline
    view: PhotoView | None
    why: str = ""


@dataclass(frozen=True)
class SeenReference:
    """Something of known size in the picture: its kind, its line in pixels (empty where it is not kept), and a sentence."""

    kind: str
    line: Chain
    text: str


@dataclass(frozen=True)
class SeenCamera:
    """Distance from the face, tilt from straight above, and both in a sentence."""

    distance: float
    tilt_deg: float
    text: str


@dataclass(frozen=True)
class Seen:
    """What was found in a photograph."""

    references: tuple[SeenReference, ...]
    camera: SeenCamera | None
    rims: tuple[Chain, ...]
    segments: tuple[Drawn, ...]
    balloons: tuple[Spot, ...]


def look_at_photo(folder: Path, job: Job, number: int, record: EdgeRecord | None, outline: Outline | None,
                  digest: Digest) -> Look | None:
    """Photograph `number` (from 1) as measured; None where it was not, or its file is another now.  record, outline: of the
    part."""
    shot = job.shots[number - 1]
    if shot.shows == "mate":
        record, outline = _mate_as_measured(folder)
    if record is None or outline is None or _measured_file(record, shot, job) != digest(folder / shot.file):
        return None
    view = view_of(record.edges, shot.file)
    why = next((one.contradicts for one in record.edges.photos if one.file == shot.file), "") if view is None else ""
    return Look(shot, record.edges, outline, view, why)


def _mate_as_measured(folder: Path) -> tuple[EdgeRecord | None, Outline | None]:
    place = folder / MATE_FOLDER
    path = place / "outline.json"
    try:
        return earlier_run(place), parse_outline(read_stored(path), str(path)) if path.exists() else None
    except FolderError:  # damaged, or of another version: laying the mate on the cover measures it anew
        return None, None


def _measured_file(record: EdgeRecord, shot: Shot, job: Job) -> str | None:
    """SHA-256 of the file behind this photograph's edges; None where it was not among those measured."""
    for one in record.all:
        if one.shot.file == shot.file:
            return one.sha256
    is_alone = not record.all and shot == job.shots_of(shot.shows)[0]
    return record.photo_sha256 if is_alone else None


def seen_in(look: Look) -> Seen:
    """What was found in the photograph."""
    edges, outline, view = look.edges, look.outline, look.view
    if view is None:
        return Seen((), None, (), (), ())
    if edges.unit == "px" and edges.camera is None:
        return Seen(_references(look, view), None, (), (), ())
    rims = edges.other.rims if view.mirrored and edges.other is not None else edges.rims
    chains = tuple(chain_of(seen_px(view, np.asarray(rim.points, float)[::max(1, len(rim.points) // POINTS_A_RIM)]))
                   for rim in rims)
    segments = tuple(Drawn(s.id, number, loop.part, loop.role, loop.wall, s.id in outline.free,
                           chain_of(drawing_px(view, edges, outline, _points(s))))
                     for number, loop in enumerate(outline.design, 1) for s in loop.segments)
    places = balloons(outline)
    at = drawing_px(view, edges, outline, np.array([spot.at for spot in places]).reshape(-1, 2))
    return Seen(_references(look, view), _camera(edges, view), chains, segments,
                tuple(Spot(spot.id, spot.number, px) for spot, px in zip(places, chain_of(at), strict=True)))


def _points(segment: Segment) -> np.ndarray:
    """Points along a segment, both ends in it."""
    points = segment_points(segment, 0.02)
    end = points[0] if isinstance(segment, Circle) else np.array(segment.end)
    return np.vstack([points, end])


def _references(look: Look, view: PhotoView) -> tuple[SeenReference, ...]:
    """The references in words, with the border round what was seen of each; of several photographs those seen in this one."""
    reference = look.edges.reference
    if reference.kind == "none":
        return (SeenReference("none", (), "Nothing of known size was found: lengths are in pixels."),)
    borders = {one.kind: one.border_px for one in view.seen}
    kinds = [kind for kind in reference.kind.split("+") if kind in borders or not look.edges.views]
    px_per_mm = reference.px_per_mm
    if look.edges.views and look.edges.rims:
        middle = seen_px(view, look.edges.rims[0].points.mean(axis=0)[None])[0]
        px_per_mm = ground_px_per_mm(view.camera, middle, view.height)
    scale = f"{px_per_mm:.2f} pixels per mm at the face, good to {100 * reference.relative_u:.2f} %"
    scale += " by all photographs together" if look.edges.views else ""
    return tuple(SeenReference(kind, _closed(borders.get(kind, ())) or _picked(kind, look.shot.span), f"{kind}: {scale}")
                 for kind in kinds)


def _closed(border: Chain) -> Chain:
    return (*border, *border[:1])


def _picked(kind: str, span: Span | None) -> Chain:
    return ((span.x1, span.y1), (span.x2, span.y2)) if kind == "span" and span is not None else ()


def _camera(edges: EdgeMap, view: PhotoView) -> SeenCamera | None:
    if edges.unit != "mm":
        return None
    distance, tilt = view.camera.position[2] - view.height, tilt_deg(view.camera)
    return SeenCamera(distance, tilt, f"The camera stood {distance:.0f} mm above the face, tilted by {tilt:.1f} degrees.")


def laid_box(outline: Outline) -> Box:
    """What pictures laid flat on this drawing show of it: the drawing with some room round it."""
    left, bottom, right, top = segments_box(s for loop in outline.design for s in loop.segments)
    room = ROOM * max(right - left, top - bottom)
    return left - room, bottom - room, right + room, top + room


def laid_photo(folder: Path, look: Look, drawing: Outline) -> bytes | None:
    """A JPEG of the photograph laid flat on the part's drawing, over laid_box; None where it is not known how it lies there: it
    took no part, or it shows a mate that was not laid on the cover yet.

    Raises FolderError, PhotoError."""
    to_pixels = _to_pixels(folder, look, drawing)
    if to_pixels is None:
        return None
    picture = load_picture(folder / look.shot.file, Shot(look.shot.file))
    return laid_flat(picture, to_pixels, laid_box(drawing), LONGEST_PX)


def can_be_laid(folder: Path, look: Look, drawing: Outline) -> bool:
    """Is it known how the photograph lies on the part's drawing?"""
    return _to_pixels(folder, look, drawing) is not None


def mate_in(folder: Path) -> MateMatch | None:
    """The mate laid on the cover, as the last match left it; None where there is none.  Raises FolderError for a damaged one."""
    path = folder / "mate.json"
    return parse_mate(read_stored(path), str(path)) if path.exists() else None


def _to_pixels(folder: Path, look: Look, drawing: Outline) -> ToPixels | None:
    view = look.view
    if view is None:
        return None
    if look.shot.shows == "part":
        return lambda xy: drawing_px(view, look.edges, drawing, xy)
    match = mate_in(folder)
    return None if match is None else lambda xy: drawing_px(view, look.edges, look.outline, own_places(match.laying, xy))


def own_places(laying: Laying, xy: np.ndarray) -> np.ndarray:
    """Points (n, 2) of the cover's drawing -> the mate's own drawing (the inverse of how it was laid on)."""
    c, s = math.cos(math.radians(laying.angle_deg)), math.sin(math.radians(laying.angle_deg))
    back = (np.asarray(xy, float) - np.array(laying.shift)) @ np.array([[c, -s], [s, c]]) / (1.0 + laying.growth)
    return np.asarray(back * np.array([1.0, -1.0 if laying.mirrored else 1.0]))
