"""Stage 2: a picture and what the maker told of it, turned into rims in mm.

Order: references, camera, objects on the table, parts, rough rims, rounding and blur as the picture shows them, the camera once
more with the part's own regularity where the references know the tilt poorly, exact rims.  Nothing is read from or written to
disk here.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np

from afterpart.errors import PhotoError
from afterpart.model.camera import Camera
from afterpart.model.edges import EdgeMap, Note, Reference, Rim, SeenReference
from afterpart.model.job import Shot
from afterpart.photo.adjust import ground_px_per_mm, tilt_deg
from afterpart.photo.budget import relative_scale_u, shared_errors
from afterpart.photo.channel import part_channels
from afterpart.photo.channelwall import ChannelView
from afterpart.photo.damage import sound_circles
from afterpart.photo.load import Picture
from afterpart.photo.part import PartRegion, find_parts
from afterpart.photo.pose import Pose, check_heights, refine_pose, solve_pose
from afterpart.photo.profile import RimShape
from afterpart.photo.projection import project_plane, to_plane
from afterpart.photo.reference import Sighted, look_for_references
from afterpart.photo.regular import part_regularities
from afterpart.photo.reliefdisc import outermost_disc
from afterpart.photo.rimprobe import MEDIUM
from afterpart.photo.roundrim import arc_guess, circle_chain, robust_circle, round_guess
from afterpart.photo.shape import RimLook, settle_look
from afterpart.photo.sharpness import edge_width_px
from afterpart.photo.table import Objects, find_objects, reduced
from afterpart.photo.trace import TracedRim, rough_chains, trace_circles, trace_rims

LEAST_PART_MM2 = 60.0
LEAST_PART_PX = 900.0
MOST_PARTS = 12
MOST_GROWTH = 1.6
"""A round rim may come out this much larger than the rough contour it started from."""

UNKNOWN_RIM, UNKNOWN_RIM_PX = 0.12, 2.5
"""In mm and in px; about a third of a usual rounding (judgement)."""

RELIEF_SCATTER, RELIEF_REACH = 3.0, 0.16
"""Grey levels of scatter above which a face has a relief; share of the radius within which such a disc's rim is looked for."""

DARK_RELIEF, DARK_SCATTER = 0.05, 2.0
"""A dark face has a relief already when its scatter exceeds this share of its brightness and so many grey levels; moulded faces
have under 0.02 of it."""

USUAL_ROUNDING = 0.4
"""Rounding of a moulded edge in mm before the picture says otherwise; judgement."""

LEAST_WHOLE_SHARE = 0.25
"""A whole part is measured beside something that is cut off, unless it is smaller than this share of it."""

CUTS = {"border": ("the picture's border", "in the picture"), "sheet": ("the sheet's edge", "on the sheet"),
        "reference": ("the reference that lies over it", "clear of the reference")}

MOST_EDGE_WIDTH_PX = 17.0
"""10 to 90 % width of an edge beyond which neighbouring edges run into each other; judgement."""

LEAST_PX_PER_MM = 1.2
LEAST_EVIDENCE, LEAST_ROUND_EVIDENCE, SURE_EVIDENCE = 0.7, 0.6, 0.9
"""Share of an opening's probes that must see an edge; probes that agree on one circle vouch for each other."""

ROUGH_SCATTER_PX, ROUGH_SCATTER = 1.5, 0.06
"""A rough contour is round when it scatters by less about a circle: in px, or as a share of the radius."""


@dataclass(frozen=True)
class Station:
    """One picture before its rims are traced: the camera over the table, and where parts lie.

    pose: from the references alone; regions: parts, largest first; chosen: which of them are measured; notes: of the references.
    """

    pose: Pose
    regions: tuple[PartRegion, ...]
    chosen: tuple[int, ...]
    notes: tuple[Note, ...]


@dataclass(frozen=True)
class Sight:
    """What one picture shows of the part's rims: edges; pose and look they were traced with."""

    edges: EdgeMap
    pose: Pose
    look: RimLook


def recover_edges(picture: Picture, shot: Shot) -> EdgeMap:
    """Rims of every part in the picture.  Raises PhotoError when there is nothing that can be measured."""
    return trace_station(picture, shot, take_station(picture, shot)).edges


def take_station(picture: Picture, shot: Shot) -> Station:
    """Camera and parts, from what the references say.  Raises PhotoError when there is nothing that can be measured."""
    light = picture.light
    small, scale = reduced(picture.colour)
    sighted = look_for_references(picture.grey, light, small, scale, shot)
    pose = solve_pose(picture, sighted, shot)
    height = (shot.face_height or 0.0) if pose.unit == "mm" else 0.0
    check_heights(pose.camera, height)
    regions = _parts(picture, find_objects(small, scale, _zone(sighted), sighted.taken), sighted, pose, height)
    return Station(pose, tuple(regions), tuple(_choose(regions, shot.part)), sighted.notes)


def trace_station(picture: Picture, shot: Shot, station: Station) -> Sight:
    """The rims seen from a station, the face as high as the shot says.  Raises PhotoError for a part too small to measure."""
    light, pose, regions, chosen = picture.light, station.pose, list(station.regions), list(station.chosen)
    height = (shot.face_height or 0.0) if pose.unit == "mm" else 0.0
    check_heights(pose.camera, height)
    px = 1 / ground_px_per_mm(pose.camera, regions[chosen[0]].outer.mean(0), height)
    if pose.unit == "mm" and 1 / px < LEAST_PX_PER_MM:
        raise PhotoError(f"The part has only {1 / px:.1f} pixels per mm; expected at least {LEAST_PX_PER_MM}. Go closer or use "
                         "a longer lens.")
    shape = RimShape(height, shot.edge_radius if shot.edge_radius is not None else USUAL_ROUNDING, 0.0, pose.camera.position[2])
    if pose.unit == "px" or height == 0:
        shape = replace(shape, rounding=0.0)
    chains = rough_chains(light, pose.camera, regions[chosen[0]], shape, px)
    told = shot.edge_radius is not None or shape.rounding == 0
    # the rounding can only be told apart once the sight lines are known
    look = settle_look(light, pose.camera, chains, shape, px, told, not pose.strong)
    if not pose.strong:
        pose, look, chains = _square_up(light, pose, chains, look, px, height)
        look = settle_look(light, pose.camera, chains, look.shape, px, told)
        px = 1 / ground_px_per_mm(pose.camera, regions[chosen[0]].outer.mean(0), height)
    rims: list[Rim] = []
    notes = [*station.notes, *pose.notes]
    for number, index in enumerate(chosen, start=1):
        if number > 1:
            chains = rough_chains(light, pose.camera, regions[index], look.shape, px)
        first = trace_rims(light, pose.camera, chains, look, px)
        traced = _strayed_again(light, pose.camera, regions[index], first, look, px)
        usual = look.usual_doubt[:, [0] + [1] * (len(traced) - 1)]
        doubts = np.where([a is b for a, b in zip(first, traced, strict=True)], look.doubts, usual) if number == 1 else usual
        if _has_relief(regions[index]) or _has_dark_relief(regions[index]):
            traced[0] = _disc_or_as_traced(light, pose.camera, regions[index], traced[0], look, px)
        if shot.damage:
            traced = sound_circles(pose.camera, traced, shot.damage, height)
        own = _rims(traced, number, px, regions[index], doubts.T)
        notes += _unseen_face(regions[index], number)
        openings = tuple(rim.points for rim in own if rim.role == "opening")
        view = ChannelView(light, pose.camera, height, look.spread, px, look.shape.rounding, openings, shot.channel_depth,
                           pose.unit == "mm", shot.pad_height)
        walls, said = part_channels(view, regions[index].rings, number)
        rims += [*own, *walls]
        notes += said
    notes += _advice(pose, shot, height, look, regions, chosen)
    shared = shared_errors(pose, shot, height, rims[0].points)
    edges = EdgeMap(pose.unit, tuple(rims), Reference(pose.kind, 1 / px, relative_scale_u(shared)), pose.camera, height,
                    look.shape.rounding, picture.name, tuple(notes), look.spread.blur_px,
                    sharpening=look.spread.sharpening, draft_deg=float(np.degrees(np.arctan(look.shape.draft))),
                    rim_bias_u=_rim_bias(pose, shot, px), shared=shared, seen=_seen(pose))
    return Sight(edges, pose, look)


def _seen(pose: Pose) -> tuple[SeenReference, ...]:
    """The border round the points of each reference that were used, as the maker may want to see it."""
    seen = []
    for observed in (one for one in pose.observations if len(one.px)):
        hull = cv2.convexHull(np.asarray(observed.px, np.float32).reshape(-1, 2)).reshape(-1, 2)
        seen.append(SeenReference(observed.name, tuple((round(float(x), 1), round(float(y), 1)) for x, y in hull)))
    return tuple(seen)


def _rim_bias(pose: Pose, shot: Shot, px: float) -> float:
    """How far a whole rim may stand off when the face's height was not told: rounding and wall are then taken for edges."""
    if shot.face_height is not None and pose.unit == "mm":
        return 0.0
    return UNKNOWN_RIM_PX if pose.unit == "px" else max(UNKNOWN_RIM, 2 * px)


def _zone(sighted: Sighted) -> np.ndarray | None:
    """Corners (4, 2) of the sheet under the parts, or None for the whole picture."""
    return sighted.sheet.corners if sighted.sheet is not None else None


def _parts(picture: Picture, objects: Objects, sighted: Sighted, pose: Pose, height: float) -> list[PartRegion]:
    zone = _zone(sighted)
    middle = zone.mean(0) if zone is not None else np.array(picture.grey.shape[::-1]) / 2
    scale = ground_px_per_mm(pose.camera, middle, height)
    least = max(LEAST_PART_PX, LEAST_PART_MM2 * scale**2 if pose.unit == "mm" else 0.0005 * picture.grey.size)
    regions = [r for r in find_parts(picture.grey, objects, least)][:MOST_PARTS]
    if not regions:
        raise PhotoError(f"{picture.name}: no part was found on the table; expected one that stands out from it. "
                         "Lay it on plain paper of another brightness, without glare.")
    # a blurred edge of sheet or picture can pass for a part that is cut
    _check_sharp(edge_width_px(picture.grey, regions[0].outer), 1 / scale, pose.unit)
    whole = [r for r in regions if not r.cut]
    if not whole or whole[0].area_px < LEAST_WHOLE_SHARE * regions[0].area_px:
        raise PhotoError(f"{picture.name}: the part is cut off by {CUTS[regions[0].cut][0]}; expected the whole part "
                         f"{CUTS[regions[0].cut][1]}. "
                         "Move it and photograph it again.")
    return whole


def _choose(regions: list[PartRegion], part: int | None) -> list[int]:
    if part is None:
        return list(range(len(regions)))
    if not 1 <= part <= len(regions):
        raise PhotoError(f"Part {part} was asked for, but {len(regions)} part(s) were found; expected a number from 1 to "
                         f"{len(regions)}.")
    return [part - 1]


def _check_sharp(width: float, px: float, unit: str) -> None:
    """Raises PhotoError when edges are drawn too wide to measure.  width: in picture px; px: size of a pixel on the part."""
    if width > MOST_EDGE_WIDTH_PX:
        size = f" ({width * px:.1f} mm)" if unit == "mm" else ""
        raise PhotoError(f"The picture is too blurred to measure: the part's edge is {width:.0f} px{size} wide, expected under "
                         f"{MOST_EDGE_WIDTH_PX:.0f} px. Step back beyond the lens's closest focus, hold still, use more light.")


def _square_up(light: np.ndarray, pose: Pose, chains: list[np.ndarray], look: RimLook, px: float,
               height: float) -> tuple[Pose, RimLook, list[np.ndarray]]:
    """The pose with the part's own regularity, in two rounds: what counts as parallel narrows as the tilt becomes known."""
    for nearly in (2.5, 0.7):
        rims = trace_rims(light, pose.camera, chains, look, px, MEDIUM)
        extra = part_regularities(pose.camera, height, [r.points for r in rims if r.centre is None],
                                  [(r.seen, r.radius) for r in rims if r.centre is not None], px, nearly)
        before = pose.camera
        pose = refine_pose(pose, extra)
        chains = [_carry(before, pose.camera, r.points, height) for r in rims]
        look = replace(look, shape=replace(look.shape, camera_z=pose.camera.position[2]))
    return pose, look, chains


def _carry(before: Camera, after: Camera, points: np.ndarray, height: float) -> np.ndarray:
    """Points of the face's plane as seen by one camera, laid out again by another."""
    from_px = project_plane(before, points, height)
    return to_plane(after, from_px, height)


def _has_relief(region: PartRegion) -> bool:
    """Whether the face has a relief of its own, so that its brightness says nothing about where it ends."""
    return region.face is None or region.face.scatter > RELIEF_SCATTER


def _has_dark_relief(region: PartRegion) -> bool:
    """Whether a face too dark for `_has_relief` varies as only a relief does."""
    if region.face is None:
        return False
    level = float(region.face.at(region.outer.mean(0)))
    return region.face.scatter > max(DARK_SCATTER, DARK_RELIEF * level)


def _disc_or_as_traced(light: np.ndarray, camera: Camera, region: PartRegion, outer: TracedRim, look: RimLook,
                       px: float) -> TracedRim:
    """The outer rim of a round part with relief by vote; any other as it was traced."""
    rough = to_plane(camera, region.outer, look.shape.height)
    _, radius, scatter = robust_circle(rough)
    if scatter > 0.08 * radius:
        return outer
    disc = outermost_disc(light, camera, rough, look.shape, px, RELIEF_REACH * radius)
    if disc is None:
        return outer
    points = circle_chain(disc[0], disc[1], len(outer.points), False)
    return TracedRim(False, points, np.full(len(points), 0.3 * px), disc[0], disc[1], points, disc[2])


def _strayed_again(light: np.ndarray, camera: Camera, region: PartRegion, traced: list[TracedRim], look: RimLook,
                   px: float) -> list[TracedRim]:
    """The rims, with those of round openings that strayed to a wrong edge fitted anew from the circle they were first seen as, or
    as an arc of."""
    guesses: dict[int, tuple[np.ndarray, float, bool]] = {}
    for k, contour in enumerate(region.openings, start=1):
        rough = to_plane(camera, contour, look.shape.height)
        circle = round_guess(rough, px, ROUGH_SCATTER_PX, ROUGH_SCATTER)
        good = _stands_out(traced[k]) and traced[k].centre is not None and _grew_little(traced[k], contour, px)
        if circle is None and not _stands_out(traced[k]):
            circle = arc_guess(rough)
        if circle is not None and not good:
            guesses[k] = (*circle, True)
    circles = trace_circles(light, camera, list(guesses.values()), look, px, outer=traced[0].points)
    again = dict(zip(guesses, circles, strict=True))
    return [better if (better := again.get(k)) is not None and _is_better(better, rim) else rim for k, rim in enumerate(traced)]


def _is_better(circle: TracedRim, rim: TracedRim) -> bool:
    """Whether a circle is seen as well as the rim it would stand for, or well enough where that is not."""
    return circle.evidence >= min(rim.evidence, SURE_EVIDENCE) or (_stands_out(circle) and not _stands_out(rim))


def _unseen_face(region: PartRegion, number: int) -> list[Note]:
    """What to say of a part whose face did not stand out."""
    if region.face_seen:
        return []
    return [Note("openings_not_looked_for", f"Part {number}: its face does not show in one brightness, so openings were not "
                 "looked for and only its outline is drawn. A relief, glare or shadows hide them.")]


def _stands_out(rim: TracedRim) -> bool:
    """Whether enough of an opening's probes see an edge."""
    return rim.evidence > (LEAST_ROUND_EVIDENCE if rim.centre is not None else LEAST_EVIDENCE)


def _rims(traced: list[TracedRim], number: int, px: float, region: PartRegion, doubts: np.ndarray) -> list[Rim]:
    """The rims that count.  doubts: (chains, m) how far each may stand off, see RimLook."""
    outer = traced[0]
    ways = [tuple(row.tolist()) for row in doubts]
    out = [Rim("outer", number, outer.points, outer.u, doubts=ways[0])]
    textured = _has_relief(region)
    kept: list[TracedRim] = []
    order = {id(rim): k for k, rim in enumerate(traced)}
    # round ones first: what lies within a round opening is a piece of it, seen apart for its shade
    for rim in sorted(traced[1:], key=lambda r: (r.centre is None, -r.evidence)):
        hull = cv2.convexHull(rim.points.astype(np.float32))
        size = cv2.contourArea(rim.points.astype(np.float32))
        solid = size / max(cv2.contourArea(hull), 1e-9)
        big_enough = size > (8 * px) ** 2
        if big_enough and _stands_out(rim) and (not textured or (solid > 0.9 and rim.evidence > 0.95)) \
                and _grew_little(rim, region.openings[order[id(rim)] - 1], px) and not any(_within(rim, other) for other in kept):
            kept.append(rim)
    return out + [Rim("opening", number, rim.points, rim.u, doubts=ways[order[id(rim)]])
                  for rim in sorted(kept, key=lambda r: order[id(r)])]


def _grew_little(rim: TracedRim, rough: np.ndarray, px: float) -> bool:
    """Whether a round rim is about as large as the rough contour (n, 2) px it came from: a speck is no hole of a larger size."""
    if rim.centre is None:
        return True
    return rim.radius < MOST_GROWTH * px * float(np.sqrt(cv2.contourArea(rough.astype(np.float32)) / np.pi))


def _within(rim: TracedRim, other: TracedRim) -> bool:
    """Whether a rim's middle lies inside a round opening and the rim is no larger than a little more than that opening."""
    if other.centre is None:
        return False
    size = float(np.ptp(rim.points, axis=0).max())
    return bool(np.hypot(*(rim.points.mean(0) - other.centre)) < other.radius and size < 2.6 * other.radius)


def _advice(pose: Pose, shot: Shot, height: float, look: RimLook, regions: list[PartRegion], chosen: list[int]) -> list[Note]:
    notes: list[Note] = []
    if pose.unit == "mm" and shot.scan_dpi is None:
        notes.append(Note("camera", f"The camera stood {pose.camera.position[2]:.0f} mm above the table, tilted "
                          f"{tilt_deg(pose.camera):.1f} degrees."))
        if shot.face_height is None:
            per_mm = 100 / pose.camera.position[2]
            notes.append(Note("height_unknown", "The face's height was not told and taken as 0: each millimetre of it makes "
                              f"everything {per_mm:.2f} % "
                              "smaller. Measure it with the calliper's depth rod and say --face-height MM."))
    if not look.rounding_told and height > 0:
        notes.append(Note("rounding", f"The face's edge looks rounded by about {look.shape.rounding:.1f} mm."))
    if len(chosen) > 1:
        notes.append(Note("several_parts", f"{len(chosen)} parts were found and all measured, numbered from the largest; --part "
                          "N keeps one."))
    return notes
