"""Several photographs of one part brought together: from what each shows to one set of rims, its heights and their uncertainty.

The pictures themselves are not kept: one at a time is open, and between the passes each is remembered as a `Shown`.  The order of
the passes stands in pipeline/several.py: stations, start, rims, joint adjustment, a closer look along the common drawing, joint
adjustment again.  Each face of the part is drawn by itself; otherface.py lays one on the other.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from afterpart.model.edges import EdgeMap, Rim
from afterpart.model.job import Shot
from afterpart.photo.adjust import tilt_deg
from afterpart.photo.budget import HEIGHT_U, UNTOLD_HEIGHT_U
from afterpart.photo.channeldepth import DepthEvidence
from afterpart.photo.laying import Placed, Rough, common_height, place_all
from afterpart.photo.pooled import Matched, Pooled, Seen, laid_again, match_rims, pool_rims, tie_views
from afterpart.photo.shape import ROUNDING_FLOOR, RimLook
from afterpart.photo.stage import Station
from afterpart.photo.together import Drawing, HeightPrior, Ties, Together, View, adjust_together, turned_camera

LAID_BACK = 0.3
"""A height solved so far from the one the rims were traced at asks for another trace, mm."""

TOLD_ROUNDING = 0.1
"""Standard uncertainty of a rounding that the maker told, as a share (radius gauge; judgement)."""

HELD_U = 1e-3
"""Holds a height that nothing tells where it was taken to be, mm; what that may do is added to the budget."""

FRAMES = ("sheet", "target")
"""References whose frame is the same from every side (a sheet's but for quarter turns)."""


@dataclass(frozen=True)
class Shown:
    """What is remembered of one photograph.  file, sha256; zoom: photographs of one camera and zoom have the same; edges and look
    of the latest trace (None: not yet traced); depth: what it says of a channel's depth."""

    shot: Shot
    sha256: str
    zoom: tuple[object, ...]
    station: Station
    edges: EdgeMap | None = None
    look: RimLook | None = None
    depth: DepthEvidence | None = None

    @property
    def traced(self) -> EdgeMap:
        """The edges, which must be there."""
        assert self.edges is not None
        return self.edges


@dataclass(frozen=True)
class Start:
    """Where each photograph's part lies, and each face's height to begin with; solved: faces whose height photographs tell."""

    placed: tuple[Placed, ...]
    heights: dict[str, float]
    solved: frozenset[str]


@dataclass(frozen=True)
class FaceDrawn:
    """One face: numbers of its photographs, the leading one (its number among these), rims matched and pooled in the frame of its
    first photograph's world."""

    numbers: tuple[int, ...]
    matched: Matched
    pooled: Pooled


@dataclass(frozen=True)
class Joint:
    """The adjustment, its views in the order of the photographs, what each face looks like, and what was adjusted: the views as
    they went in and the drawing, for questions that come later."""

    together: Together
    faces: dict[str, FaceDrawn]
    started: tuple[View, ...]
    drawing: Drawing
    priors: tuple[HeightPrior, ...]


def rough_of(shown: Shown, height: float) -> Rough:
    """What place_all needs of a photograph."""
    region = shown.station.regions[shown.station.chosen[0]]
    pose = shown.station.pose
    lead = pose.kind.split("+")[0]
    frame = lead if lead in FRAMES and pose.strong else ""
    return Rough(pose.camera, region.outer, region.openings, frame, height, shown.shot.face_height is not None)


def start_together(shown: Sequence[Shown]) -> Start:
    """Layings and first heights.  A height that was told begins there; else where rough contours of one laying agree."""
    placed: list[Placed] = [Placed(0, 0, (0.0, 0.0, 0.0), 0.0)] * len(shown)
    heights: dict[str, float] = {}
    solved: set[str] = set()
    for face in dict.fromkeys(one.shot.face for one in shown):
        own = [k for k, one in enumerate(shown) if one.shot.face == face]
        told = [one for k in own if (one := shown[k].shot.face_height) is not None]
        height = float(np.median(told)) if told else 0.0
        roughs = [rough_of(shown[k], height) for k in own]
        where = place_all(roughs)
        found = []
        for a in range(len(own)):
            for b in range(a + 1, len(own)):
                if where[a].laying == where[b].laying:
                    turns = where[b].turns - where[a].turns
                    apart = common_height(replace(roughs[a], told=False), roughs[b], turns, where[a], where[b])
                    found += [apart[0]] if apart is not None else []
        if found:
            solved.add(face)
        heights[face] = height if told else float(np.median(found)) if found else 0.0
        for k, place in zip(own, where, strict=True):
            placed[k] = replace(place, laying=own[place.laying])
    return Start(tuple(placed), heights, frozenset(solved))


def leading(edges: Sequence[EdgeMap]) -> int:
    """Number of the photograph that looks most nearly straight down on the part."""
    slopes = []
    for one in edges:
        assert one.camera is not None
        middle = one.rims[0].points.mean(axis=0)
        away = np.hypot(*(np.array(one.camera.position[:2]) - middle))
        slopes.append(float(away / (one.camera.position[2] - one.face_height)))
    return int(np.argmin(slopes))


def bring_together(shown: Sequence[Shown], start: Start) -> Joint:
    """The joint adjustment of all photographs' rims as last traced."""
    zooms = list(dict.fromkeys(one.zoom for one in shown))
    views: list[View | None] = [None] * len(shown)
    places: list[np.ndarray] = []
    normals: list[np.ndarray] = []
    matches: dict[str, tuple[list[int], Matched]] = {}
    for face in dict.fromkeys(one.shot.face for one in shown):
        own = [k for k, one in enumerate(shown) if one.shot.face == face]
        seen = [_seen(shown[k].traced, start.placed[k]) for k in own]
        matched = match_rims(seen, leading([s.edges for s in seen]))
        matches[face] = (own, matched)
        drawing, ties = tie_views(seen, matched)
        begin = sum(len(p) for p in places)
        places.append(drawing.places)
        normals.append(drawing.normals)
        for k, own_ties in zip(own, ties, strict=True):
            placed = replace(own_ties, place=own_ties.place + begin)
            views[k] = _view(shown[k], start.placed[k], zooms.index(shown[k].zoom), placed)
    ready = _one_lens([view for view in views if view is not None])
    drawing = Drawing(np.concatenate(places), np.concatenate(normals))
    priors = tuple(_prior(shown, face, start) for face in start.heights)
    together = adjust_together(ready, drawing, priors, start.heights)
    faces = {face: _drawn(own, matched, shown, together) for face, (own, matched) in matches.items()}
    return Joint(together, faces, tuple(ready), drawing, priors)


def _seen(edges: EdgeMap, placed: Placed) -> Seen:
    return Seen(edges, placed.turns, placed.motion)


def _view(shown: Shown, placed: Placed, lens: int, ties: Ties) -> View:
    pose, edges = shown.station.pose, shown.traced
    assert edges.camera is not None
    return View(turned_camera(edges.camera, placed.turns), (*pose.observations, *pose.extra), pose.focal, placed.turns, lens,
                placed.laying, shown.shot.face, placed.motion, ties, _rounding_u(shown))


def _rounding_u(shown: Shown) -> float:
    """Standard uncertainty of the rounding a photograph's rims were traced for, mm."""
    look = shown.look
    share = ROUNDING_FLOOR if look is None else TOLD_ROUNDING if look.rounding_told else look.rounding_u
    return share * shown.traced.edge_radius


def _one_lens(views: Sequence[View]) -> list[View]:
    """The views with one focal length and lens for each camera and zoom: their mean to begin with."""
    out = []
    for view in views:
        alike = [other.camera for other in views if other.lens == view.lens]
        focal, k1, k2 = (float(np.mean([getattr(c, name) for c in alike])) for name in ("focal_px", "k1", "k2"))
        out.append(replace(view, camera=replace(view.camera, focal_px=focal, k1=k1, k2=k2)))
    return out


def _prior(shown: Sequence[Shown], face: str, start: Start) -> HeightPrior:
    """What is known of a face's height beforehand: told, open, or, where nothing tells it, held where it was taken to be."""
    told = [height for one in shown if one.shot.face == face and (height := one.shot.face_height) is not None]
    if told:
        return HeightPrior(face, float(np.median(told)), HEIGHT_U)
    return HeightPrior(face, start.heights[face], 10 * UNTOLD_HEIGHT_U if face in start.solved else HELD_U)


def _drawn(own: Sequence[int], matched: Matched, shown: Sequence[Shown], together: Together) -> FaceDrawn:
    """Rims of one face, pooled through the adjusted cameras."""
    adjusted = []
    for k in own:
        view = together.views[k]
        camera = turned_camera(view.camera, -view.turns)
        before = Seen(shown[k].traced, view.turns, view.motion)
        adjusted.append(laid_again(before, camera, together.heights[view.face], view.motion))
    # the leading view's rims, laid through its adjusted camera, are what the others' offsets count from
    again = replace(matched, rims=tuple(replace(rim, points=adjusted[matched.lead].drawn(
        adjusted[matched.lead].edges.rims[answers[matched.lead]].points))  # type: ignore[index]
        for rim, answers in zip(matched.rims, matched.answers, strict=True)))
    return FaceDrawn(tuple(own), again, pool_rims(adjusted, again))


def moved_start(start: Start, joint: Joint) -> Start:
    """The start of the next pass: motions and heights as adjusted."""
    placed = tuple(replace(place, motion=view.motion) for place, view in zip(start.placed, joint.together.views, strict=True))
    return Start(placed, dict(joint.together.heights), start.solved)


def set_apart(start: Start, number: int, shown: Sequence[Shown]) -> Start:
    """The start with one photograph in a laying of its own: something was moved before it."""
    placed = list(start.placed)
    others = [k for k, place in enumerate(placed) if place.laying == placed[number].laying and k != number]
    fresh = max(place.laying for place in placed) + 1
    # a laying is called after its first photograph; the others keep theirs
    placed[number] = replace(placed[number], laying=number if placed[number].laying != number else fresh)
    face = shown[number].shot.face
    layings = [place.laying for k, place in enumerate(placed) if shown[k].shot.face == face]
    solved = start.solved if any(layings.count(one) > 1 for one in layings) else start.solved - {face}
    assert others
    return Start(tuple(placed), start.heights, solved)


def needs_another_trace(shown: Sequence[Shown], joint: Joint) -> bool:
    """Whether a face turned out so much higher or lower than its rims were traced at that they are to be traced again."""
    return any(abs(joint.together.heights[one.shot.face] - one.traced.face_height) > LAID_BACK for one in shown)


def expected_edges(shown: Shown, look: RimLook, joint: Joint, number: int) -> EdgeMap:
    """What this photograph should show if the common drawing is right: rims in its own frame, through its adjusted camera, with
    the rounding and draft agreed upon.  It is where a closer look begins."""
    view = joint.together.views[number]
    drawn = joint.faces[view.face]
    rims = tuple(replace(rim, points=own_frame(rim.points, view)) for rim in drawn.pooled.rims)
    return replace(shown.traced, rims=rims, camera=turned_camera(view.camera, -view.turns),
                   face_height=joint.together.heights[view.face], edge_radius=look.shape.rounding,
                   draft_deg=float(np.degrees(np.arctan(look.shape.draft))))


def own_frame(points: np.ndarray, view: View) -> np.ndarray:
    """Points (n, 2) of the drawing in a view's own world."""
    c, s = np.cos(view.motion[2]), np.sin(view.motion[2])
    world = points @ np.array([[c, s], [-s, c]]) + np.array(view.motion[:2])
    turn = view.turns % 4
    for _ in range(turn):
        world = np.stack([world[:, 1], -world[:, 0]], axis=1)
    return np.asarray(world)


def doubts_of(shown: Sequence[Shown], looks: Sequence[RimLook], drawn: FaceDrawn) -> list[tuple[float, ...]]:
    """For each pooled rim how far it may stand off together with others: each photograph's ways, counted as its rims are."""
    out: list[list[float]] = [[] for _ in drawn.matched.rims]
    for row, number in enumerate(drawn.numbers):
        share, usual = float(drawn.pooled.shares[row]), looks[number].usual_doubt
        if not len(usual):
            continue
        for ways, rim in zip(out, drawn.matched.rims, strict=True):
            ways += [share * float(v) for v in usual[:, 0 if rim.role == "outer" else 1]] if rim.role != "channel" \
                else [0.0] * len(usual)
    return [tuple(ways) for ways in out]


def tilt_of(view: View) -> float:
    """Angle of the camera's axis from straight down, degrees."""
    return tilt_deg(view.camera)


def with_doubts(rims: Sequence[Rim], doubts: Sequence[tuple[float, ...]]) -> tuple[Rim, ...]:
    """The rims with these ways to stand off together."""
    return tuple(replace(rim, doubts=ways) for rim, ways in zip(rims, doubts, strict=True))
