"""From several photographs of a part to one edge map: the passes over the pictures, one picture open at a time.

Passes: stations (references, camera, rough contours), rims at the height known so far (again when the height turns out to be
another), a closer look along the common drawing.  Between them the joint adjustment.  Time grows with the number of photographs,
memory does not: what is kept of a picture are some thousand points.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from afterpart.errors import PhotoError
from afterpart.model.edges import EdgeMap, Note, PhotoUsed
from afterpart.model.job import Shot
from afterpart.model.store import PhotoRecord
from afterpart.outline.follow import follow_rims
from afterpart.outline.settings import OutlineSettings
from afterpart.photo.channeldepth import depth_evidence
from afterpart.photo.contradicting import Misfit, misfits, moved_between, shift_left, worst_of
from afterpart.photo.damage import leave_out_damage
from afterpart.photo.load import load_picture
from afterpart.photo.rounding import weighed_look
from afterpart.photo.secondlook import look_again, look_at_circles
from afterpart.photo.several import (
    Joint,
    Shown,
    Start,
    bring_together,
    expected_edges,
    moved_start,
    needs_another_trace,
    own_frame,
    set_apart,
    start_together,
)
from afterpart.photo.severaledges import edges_of_all, left_out
from afterpart.photo.shape import RimLook, agreed_looks
from afterpart.photo.stage import take_station, trace_station
from afterpart.photo.together import View, turned_camera
from afterpart.pipeline.folder import Say

MOST_TRACES = 3
"""Rims are traced at most so often while the face's height settles."""

MOST_LOOKS, LOOKED_OFF = 3, 0.05
"""So many closer looks at most, as long as the height moves by more than this, mm: seen at half a slope it moves an edge by half
as much."""


def edges_together(shots: Sequence[Shot], folder: Path, say: Say) -> tuple[EdgeMap, tuple[PhotoRecord, ...]]:
    """The pooled edges of all photographs, and what each was.  Raises an AfterpartError when the first cannot be measured, or
    none but it can."""
    say(f"finding references, cameras and part in {len(shots)} photographs")
    shown = [_station(shot, folder) for shot in shots]
    records = tuple(PhotoRecord(one.sha256, one.shot) for one in shown)
    aside = {one.shot.file: left_out(one, "nothing in it tells its size") for one in shown if one.station.pose.unit != "mm"}
    shown = [one for one in shown if one.shot.file not in aside]
    if not shown or shown[0].shot != shots[0]:
        raise PhotoError(f"{shots[0].file}: nothing in the first photograph tells its size; expected a sheet, a rule, a target "
                         "or a calliper beside the part, as in the others. Put another photograph first.")
    nudged: list[str] = []
    while True:
        nudged.clear()
        start = start_together(shown)
        shown, start, joint = _rims(shown, start, folder, say)
        looks = agreed_looks([one.look for one in shown if one.look is not None])
        shown, start, joint = _closest(shown, looks, start, joint, folder, say)
        start, joint, found = _with_moved_apart(shown, start, joint, nudged)
        worst = worst_of(found)
        if worst is None or worst == 0 and len(shown) < 3:
            break
        aside[shown[worst].shot.file] = left_out(shown[worst], found[worst].words())
        shown = [one for k, one in enumerate(shown) if k != worst]
        if shown[0].shot != shots[0]:
            raise PhotoError(f"{shots[0].file}: the first photograph contradicts all others: {found[worst].words()}. Put another "
                             "photograph first, or measure this one by itself.")
    edges = edges_of_all(shown, start, joint, looks, aside)
    if nudged:
        said = Note("photo_moved", f"Before {' and '.join(nudged)} the part or the sheet was moved a little: such a photograph "
                    "sharpens the outline, but tells no heights.")
        edges = replace(edges, notes=(*edges.notes, said))
    doubtful = {k: m for k, m in found.items() if m.contradicts}
    if doubtful:
        photos = tuple(replace(photo, contradicts=doubtful[k].words()) if k in doubtful else photo
                       for k, photo in enumerate(edges.photos))
        edges = replace(edges, photos=photos, notes=(*edges.notes, *_doubt(photos)))
    return edges, records


def _closest(shown: list[Shown], looks: Sequence[RimLook], start: Start, joint: Joint, folder: Path,
             say: Say) -> tuple[list[Shown], Start, Joint]:
    """A closer look along the common drawing, and another where the height turned out to be a little off: the foot of an
    opening's wall is looked for where the height puts it."""
    for _ in range(MOST_LOOKS):
        say("looking again along the common drawing")
        shown = [_closer(one, look, joint, k, folder) for k, (one, look) in enumerate(zip(shown, looks, strict=True))]
        joint = bring_together(shown, start)
        start = moved_start(start, joint)
        if all(abs(joint.together.heights[one.shot.face] - one.traced.face_height) < LOOKED_OFF for one in shown):
            break
    return shown, start, joint


def _with_moved_apart(shown: Sequence[Shown], start: Start, joint: Joint,
                      nudged: list[str]) -> tuple[Start, Joint, dict[int, Misfit]]:
    """The adjustment with every photograph before which something was moved in a laying of its own; their files go to
    `nudged`."""
    found = misfits(joint, _alone(shown, joint))
    for _ in range(len(shown)):
        candidates = moved_between(joint, found)
        if not candidates:
            break
        trials = []
        for number in candidates:
            apart = set_apart(start, number, shown)
            again = bring_together(shown, apart)
            trials.append((shift_left(again, held := misfits(again, _alone(shown, again))), number, apart, again, held))
        _, number, start, joint, found = min(trials, key=lambda trial: (trial[0], -trial[1]))
        nudged.append(shown[number].shot.file)
    return start, joint, found


def _alone(shown: Sequence[Shown], joint: Joint) -> list[View]:
    """The views as each photograph's own references place its camera."""
    return [replace(view, camera=turned_camera(one.station.pose.camera, view.turns))
            for view, one in zip(joint.started, shown, strict=True)]


def _doubt(photos: Sequence[PhotoUsed]) -> list[Note]:
    names = [photo.file for photo in photos if photo.contradicts and photo.share > 0.0]
    words = next(photo.contradicts for photo in photos if photo.contradicts and photo.share > 0.0)
    return [Note("photos_disagree", f"{' and '.join(names)} contradict each other: {words}. A third photograph would tell which "
                 "is wrong.")] if names else []


def _station(shot: Shot, folder: Path) -> Shown:
    picture = load_picture(folder / shot.file, shot)
    zoom: tuple[object, ...] = (picture.focal_35mm, *sorted(picture.grey.shape)) if picture.focal_35mm else (shot.file,)
    return Shown(shot, picture.sha256, zoom, take_station(picture, shot))


def _rims(shown: list[Shown], start: Start, folder: Path, say: Say) -> tuple[list[Shown], Start, Joint]:
    """Rims of all photographs, traced at heights that the adjustment confirms."""
    for turn in range(MOST_TRACES):
        say("tracing rims" if turn == 0 else "tracing rims at the height found")
        shown = [_traced(one, start.heights[one.shot.face], folder) for one in shown]
        joint = bring_together(shown, start)
        start = moved_start(start, joint)
        if not needs_another_trace(shown, joint):
            break
    return shown, start, joint


def _traced(shown: Shown, height: float, folder: Path) -> Shown:
    picture = load_picture(folder / shown.shot.file, shown.shot)
    shot = replace(shown.shot, face_height=max(height, 0.0))
    sight = trace_station(picture, shot, shown.station)
    station = replace(shown.station, pose=sight.pose)
    look = weighed_look(picture.light, sight.edges, sight.look)
    return replace(shown, station=station, edges=leave_out_damage(sight.edges, shot.damage), look=look)


def _closer(shown: Shown, look: RimLook, joint: Joint, number: int, folder: Path) -> Shown:
    """The photograph measured again where the common drawing says its rims are."""
    picture = load_picture(folder / shown.shot.file, shown.shot)
    expected = expected_edges(shown, look, joint, number)
    view = joint.together.views[number]
    drawn = joint.faces[view.face]
    whole = replace(expected, rims=drawn.pooled.rims)
    fitted = [None if chain is None else own_frame(chain, view) for chain in follow_rims(whole, OutlineSettings())]
    edges = look_at_circles(picture, look_again(picture, expected, fitted))
    edges = leave_out_damage(edges, shown.shot.damage)
    return replace(shown, edges=edges, look=look, depth=depth_evidence(picture, edges))
