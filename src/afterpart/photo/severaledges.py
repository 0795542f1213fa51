"""The edge map of several photographs: pooled rims with their uncertainty, the photographs behind them, the heights they told."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from afterpart.model.edges import TWO_WALLS, EdgeMap, Note, OtherFace, PhotoUsed, Reference, Rim, SolvedLevel
from afterpart.photo.budget import HEIGHT_U, relative_scale_u
from afterpart.photo.channeldepth import agreed_depth
from afterpart.photo.jointbudget import shared_of
from afterpart.photo.otherface import lay_other_face
from afterpart.photo.photoviews import views_of_all
from afterpart.photo.pose import Pose
from afterpart.photo.several import Joint, Shown, Start, doubts_of, tilt_of, with_doubts
from afterpart.photo.shape import RimLook

OF_ONE = ("camera", "height_unknown", "rounding", "channel", "channel_seen", "pocket", "pad", "several_parts",
          "openings_not_looked_for")
"""Notes that are about one picture only; all others are passed on."""

DEPTH_TOLD_U = 0.05
"""Standard uncertainty of a depth told by depth rod, mm."""

CONFLICT_Z = 3.5
"""A height told so many standard uncertainties from what the photographs give is named."""


def edges_of_all(shown: Sequence[Shown], start: Start, joint: Joint, looks: Sequence[RimLook],
                 left_out: Mapping[str, PhotoUsed]) -> EdgeMap:
    """One edge map in the frame of the first photograph's world.  left_out: photographs that take no part, by file."""
    face = shown[0].shot.face
    drawn = joint.faces[face]
    first, view = shown[0], joint.together.views[0]
    height, u = joint.together.heights[face], joint.together.heights_u[face]
    shared = shared_of(joint.together, drawn, shown)
    depth, said = _depth(shown, face)
    rims = with_doubts(drawn.pooled.rims, doubts_of(shown, looks, drawn))
    if depth is not None:
        rims = tuple(replace(rim, depth=round(depth.value, 3)) if rim.wall in TWO_WALLS else rim for rim in rims)
    pose = first.station.pose
    photos = [_used(shown, joint, k) for k in range(len(shown))] + list(left_out.values())
    known = face in start.solved or first.shot.face_height is not None
    levels = [SolvedLevel("face", round(height, 4), round(u, 4), _how(shown, start, face))] if face in start.solved else []
    levels += [depth] if depth is not None else []
    other = _other(joint, face)
    other_face = next((name for name in joint.faces if name != face), None)
    if other_face is not None and other_face in start.solved:
        levels.append(SolvedLevel("other face", round(joint.together.heights[other_face], 4),
                                  round(joint.together.heights_u[other_face], 4), _how(shown, start, other_face)))
    notes = (*_passed_on(shown), *_told(joint, start, face, height, u), *said, *_photo_notes(photos),
             *_other_notes(other, joint, face))
    traced = first.traced
    return EdgeMap("mm", rims, Reference(_kinds([one.station.pose for one in shown]), traced.reference.px_per_mm,
                                         relative_scale_u(shared)),
                   view.camera, height, looks[0].shape.rounding, traced.photo, notes, traced.blur_px,
                   rim_bias_u=0.0 if known else traced.rim_bias_u, sharpening=traced.sharpening,
                   draft_deg=float(np.degrees(np.arctan(looks[0].shape.draft))), shared=shared,
                   photos=tuple(photos), levels=tuple(levels), other=other, seen=traced.seen,
                   views=views_of_all(shown, joint, face, other)) if pose.unit == "mm" else traced


def _kinds(poses: Sequence[Pose]) -> str:
    return "+".join(dict.fromkeys(kind for pose in poses for kind in pose.kind.split("+")))


def _used(shown: Sequence[Shown], joint: Joint, number: int) -> PhotoUsed:
    view, drawn = joint.together.views[number], joint.faces[shown[number].shot.face]
    share = float(drawn.pooled.shares[drawn.numbers.index(number)])
    return PhotoUsed(shown[number].shot.file, view.face, view.laying + 1, round(tilt_of(view), 3),
                     round(view.camera.position[2], 3), round(joint.together.rms_mm[number], 4), round(share, 4))


def left_out(shown: Shown, why: str) -> PhotoUsed:
    """A photograph that takes no part, and why."""
    camera = shown.station.pose.camera
    tilt = math.degrees(math.acos(min(1.0, max(-1.0, -camera.rotation[2][2]))))
    return PhotoUsed(shown.shot.file, shown.shot.face, 0, round(tilt, 3), round(camera.position[2], 3), 0.0, 0.0, why)


def _how(shown: Sequence[Shown], start: Start, face: str) -> str:
    own = [k for k, one in enumerate(shown) if one.shot.face == face]
    layings = [start.placed[k].laying for k in own]
    files = [shown[k].shot.file for k in own if layings.count(start.placed[k].laying) > 1]
    return f"triangulated from {', '.join(files)}"


def _depth(shown: Sequence[Shown], face: str) -> tuple[SolvedLevel | None, list[Note]]:
    """The channel's depth as the photographs and the depth rod tell it together."""
    own = [one for one in shown if one.shot.face == face]
    if not any(rim.wall in TWO_WALLS for one in own for rim in one.traced.rims):
        return None, []
    told = next((one.shot.channel_depth for one in own if one.shot.channel_depth is not None), None)
    found = agreed_depth([one.depth for one in own if one.depth is not None])
    if found is None:
        return None, []
    value, u = found
    said: list[Note] = []
    if told is not None:
        if abs(told - value) > CONFLICT_Z * math.hypot(u, DEPTH_TOLD_U):
            said.append(Note("depth_disagrees", f"The channel was told to be {told:g} mm deep; the photographs show {value:.2f} "
                             f"± {2 * u:.2f} mm. The told depth was used. Measure it again."))
            return None, said
        weight, own_weight = 1 / DEPTH_TOLD_U**2, 1 / u**2
        value, u = (told * weight + value * own_weight) / (weight + own_weight), (weight + own_weight) ** -0.5
    said.append(Note("channel_depth", f"The channel is {value:.2f} ± {2 * u:.2f} mm deep, as the strip of wall that is seen "
                     "aslant tells."))
    files = ", ".join(one.shot.file for one in own if one.depth is not None and one.depth.probes)
    return SolvedLevel("channel floor", round(value, 4), round(u, 4), f"wall seen aslant in {files}"), said


def _passed_on(shown: Sequence[Shown]) -> list[Note]:
    """Notes of the single pictures that matter for all; those of later pictures begin with their file."""
    out: list[Note] = []
    seen: set[tuple[str, str]] = set()
    for number, one in enumerate(shown):
        for note in one.traced.notes:
            if note.code in OF_ONE or (note.code, note.text) in seen:
                continue
            seen.add((note.code, note.text))
            out.append(note if number == 0 else Note(note.code, f"{one.shot.file}: {note.text}"))
    return out


def _told(joint: Joint, start: Start, face: str, height: float, u: float) -> list[Note]:
    """What to say of the face's height."""
    prior = next(p for p in joint.priors if p.face == face)
    is_told = prior.u <= HEIGHT_U
    if face not in start.solved:
        if is_told:
            return []
        return [Note("height_unknown", "The face's height was not told, and between the photographs part or sheet were moved, so "
                     "that they do not tell it. Leave everything as it lies and photograph it once more from another side, or "
                     "measure the height and say face_height.")]
    text = f"The face stands {height:.2f} ± {2 * u:.2f} mm above the table"
    if not is_told:
        return [Note("heights", f"{text}, as photographs from different sides tell.")]
    alone_u = (max(1 / u**2 - 1 / prior.u**2, 1e-9)) ** -0.5
    alone = height + (height - prior.value) * alone_u**2 / prior.u**2
    if abs(alone - prior.value) > CONFLICT_Z * math.hypot(alone_u, prior.u):
        return [Note("height_disagrees", f"The face was told to be {prior.value:g} mm above the table; photographs from "
                     f"different sides show {alone:.2f} ± {2 * alone_u:.2f} mm. Measure it again, and see that the part lay "
                     "flat.")]
    return [Note("heights", f"{text}, as the reading and photographs from different sides tell together.")]


def _photo_notes(photos: Sequence[PhotoUsed]) -> list[Note]:
    bad = [photo for photo in photos if photo.contradicts and photo.share == 0.0]
    doubtful = [photo for photo in photos if photo.contradicts and photo.share > 0.0]
    notes = [Note("photo_contradicts", f"{photo.file} contradicts the other photographs and was left out: {photo.contradicts}.")
             for photo in bad]
    if doubtful:
        notes.append(Note("photos_disagree", f"{' and '.join(photo.file for photo in doubtful)} contradict each other "
                          f"({doubtful[0].contradicts}). A third photograph would tell which is wrong."))
    return notes


def _other(joint: Joint, face: str) -> OtherFace | None:
    name = next((name for name in joint.faces if name != face), None)
    if name is None:
        return None
    return lay_other_face(joint.faces[face].pooled.rims, joint.faces[name].pooled.rims, joint.together.heights[name])


def _other_notes(other: OtherFace | None, joint: Joint, face: str) -> list[Note]:
    if len(joint.faces) < 2:
        return []
    if other is None:
        return [Note("other_face_unplaced", "The photographs of the other face could not be laid on the drawn one: too few edges "
                     "are common to both. Photograph it flat, with all of its outline in sight.")]
    only = [rim for rim in _only_on(other.rims, joint.faces[face].pooled.rims) if rim.role != "outer"]
    lean = f"The walls lean by {other.draft_deg:.2f} ± {2 * other.draft_u_deg:.2f} degrees, as the outlines of both faces differ"
    extra = f"; {len(only)} feature(s) show on the other face only" if only else ""
    return [Note("other_face", f"{lean}; both faces' common edges agree to {other.rms:.3f} mm (rms){extra}.")]


def _only_on(rims: Sequence[Rim], drawn: Sequence[Rim]) -> list[Rim]:
    """Rims with no drawn rim of the same role about the same place."""
    return [rim for rim in rims if not any(
        other.role == rim.role and np.hypot(*(other.points.mean(0) - rim.points.mean(0))) < 2.0 for other in drawn)]
