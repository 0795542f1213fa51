"""From where to take the next photograph, and what it would gain: predicted with the joint adjustment before anything is taken.

The references' and rims' points of the photograph at hand are laid on their planes and seen again by a camera that stands
elsewhere, everything on the table left as it lies; what this predicted view would tell is added to the normal equations, and the
covariance of the face's height is read off.
Words: *bearing* is the direction in which the phone is moved, as seen in the photograph at hand, in degrees clockwise from its
top; *tilt* is how far it then looks aslant.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from afterpart.model.camera import Camera
from afterpart.model.edges import EdgeMap
from afterpart.photo.budget import UNTOLD_HEIGHT_U
from afterpart.photo.pooled import Seen, match_rims, tie_views
from afterpart.photo.pose import Pose
from afterpart.photo.projection import project, project_plane, to_plane
from afterpart.photo.together import HeightPrior, Ties, View, expected_height_u

TILT_DEG = 22.0
"""Tilt that is asked for: enough of a base line, and the rims still well seen (judgement)."""

BEARINGS_DEG = (0.0, 45.0, 90.0, 135.0, 180.0, 225.0, 270.0, 315.0)
FARTHER = (1.0, 1.12, 1.3)
"""How much farther away to stand, tried in turn until everything is in the picture."""

MARGIN_PX = 30.0


@dataclass(frozen=True)
class SecondShot:
    """Where to stand: bearing_deg clockwise from the picture's top, tilt_deg, distance from the part's middle in mm; height_u:
    the face height's standard uncertainty afterwards, mm, and before (inf: not told)."""

    bearing_deg: float
    tilt_deg: float
    distance: float
    height_u: float
    height_u_before: float

    def words(self) -> str:
        """One or two sentences for the maker."""
        where = ("towards the picture's top", "towards its upper right", "to its right", "towards its lower right",
                 "towards its bottom", "towards its lower left", "to its left", "towards its upper left")
        side = where[int(round(self.bearing_deg / 45.0)) % 8]
        before = "it is not known now" if self.height_u_before >= UNTOLD_HEIGHT_U else f"± {2 * self.height_u_before:.2f} mm now"
        return (f"Leave part and reference as they lie, move the phone {side} until it looks {self.tilt_deg:.0f} degrees aslant "
                f"from about {self.distance:.0f} mm, everything still in the picture, and take one more: the face's height would "
                f"then be known to ± {2 * self.height_u:.2f} mm without a calliper ({before}).")


def second_shot(edges: EdgeMap, pose: Pose) -> SecondShot | None:
    """The best place for the next photograph; None where the reference does not let heights be told (no whole sheet or target).

    edges: of the photograph at hand, with its camera; pose: as its references gave it."""
    lead = pose.kind.split("+")[0]
    if pose.unit != "mm" or lead not in ("sheet", "target") or not pose.strong or edges.camera is None:
        return None
    here = _view_of(edges, pose)
    middle = edges.rims[0].points.mean(axis=0)
    distance = float(np.linalg.norm(np.array(edges.camera.position) - [*middle, edges.face_height]))
    told = next((level.u for level in edges.levels if level.level == "face"), np.inf)
    for farther in FARTHER:
        found: list[SecondShot] = []
        for bearing in BEARINGS_DEG:
            camera = standing(edges.camera, middle, edges.face_height, bearing, TILT_DEG, farther * distance)
            there = _predicted(here, edges, camera)
            if there is not None:
                u = _height_u([here, there[0]], there[1], edges)
                found.append(SecondShot(bearing, TILT_DEG, farther * distance, u, told))
        if found:
            return min(found, key=lambda shot: shot.height_u)
    return None


def standing(camera: Camera, middle: np.ndarray, height: float, bearing_deg: float, tilt_deg: float, distance: float) -> Camera:
    """The camera moved to look at the part's middle (2,) aslant; its top stays up in the picture."""
    rotation = np.array(camera.rotation)
    # the picture's up and right on the table
    up, right = -rotation[1, :2], rotation[0, :2]
    b, t = np.radians(bearing_deg), np.radians(tilt_deg)
    flat = np.cos(b) * up / np.hypot(*up) + np.sin(b) * right / np.hypot(*right)
    back = np.array([*(np.sin(t) * flat / np.hypot(*flat)), np.cos(t)])
    across = np.cross(-back, [*(up / np.hypot(*up)), 0.0])
    across /= np.linalg.norm(across)
    rows = np.stack([across, np.cross(-back, across), -back])
    position = np.array([*middle, height]) + distance * back
    return replace(camera, rotation=tuple(map(tuple, rows.tolist())), position=tuple(position.tolist()))  # type: ignore[arg-type]


def _view_of(edges: EdgeMap, pose: Pose) -> View:
    empty = Ties(np.empty((0, 2)), np.empty(0, int), np.empty(0))
    assert edges.camera is not None
    return View(edges.camera, (*pose.observations, *pose.extra), pose.focal, 0, 0, 0, "mating", (0.0, 0.0, 0.0), empty)


def _predicted(here: View, edges: EdgeMap, camera: Camera) -> tuple[View, EdgeMap] | None:
    """What a camera standing elsewhere would see of the same references and rims; None where they would leave the picture."""
    observations = []
    for o in here.observations:
        xy = to_plane(here.camera, o.px, o.plane_z)
        px = project(camera, np.c_[xy, np.full(len(xy), o.plane_z)])
        if not _inside(px, camera) and not o.ties:
            return None
        observations.append(replace(o, px=px))
    if not _inside(project_plane(camera, edges.rims[0].points, edges.face_height), camera):
        return None
    return replace(here, camera=camera, observations=tuple(observations)), replace(edges, camera=camera)


def _inside(px: np.ndarray, camera: Camera) -> bool:
    return bool((px > MARGIN_PX).all() and (px < [camera.width_px - MARGIN_PX, camera.height_px - MARGIN_PX]).all())


def _height_u(views: Sequence[View], second: EdgeMap, edges: EdgeMap) -> float:
    """Standard uncertainty of the height once both views are there."""
    seen = [Seen(edges, 0, (0.0, 0.0, 0.0)), Seen(second, 0, (0.0, 0.0, 0.0))]
    drawing, ties = tie_views(seen, match_rims(seen, 0))
    tied = [replace(view, ties=own) for view, own in zip(views, ties, strict=True)]
    prior = HeightPrior("mating", edges.face_height, 10 * UNTOLD_HEIGHT_U)
    return expected_height_u(tied, drawing, [prior], {"mating": edges.face_height})["mating"]
