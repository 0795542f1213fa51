"""Where the drawing falls in each photograph, and each photograph laid flat on the drawing.

Words: the *map's frame* is that of the rims; a *view* (model/edges.py) says how one photograph sees it.  A photograph of the
part's other face sees the drawing turned over.
Limits: everything is taken to lie in the plane of the face the photograph shows; walls, channels and the table are drawn where
they would be seen if they lay there.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import cv2
import numpy as np

from afterpart.model.edges import EdgeMap, OtherFace, PhotoView
from afterpart.model.outline import Outline
from afterpart.photo.load import Picture
from afterpart.photo.projection import project_plane
from afterpart.photo.several import Joint, Shown

LAID_QUALITY = 84
"""Of a JPEG for looking at."""

NET_PX = 16
"""Pixels of the laid picture from one place of the net to the next: 25 degrees aslant it strays by a hundredth of a pixel."""

MOST_STEP = 1.6
"""A picture with more pixels to each of the laid one's is made smaller first."""

Box = tuple[float, float, float, float]
ToPixels = Callable[[np.ndarray], np.ndarray]
"""Points (n, 2) of the drawing's frame -> pixels of a picture (n, 2)."""


def views_of_all(shown: Sequence[Shown], joint: Joint, face: str, other: OtherFace | None) -> tuple[PhotoView, ...]:
    """A view for every photograph that shows the drawn `face`, or the other one where it could be laid on it."""
    found = []
    for one, view in zip(shown, joint.together.views, strict=True):
        shift, turn = np.array(view.motion[:2]), math.degrees(view.motion[2])
        plain = PhotoView(one.shot.file, view.camera, joint.together.heights[view.face], turn, (float(shift[0]), float(shift[1])),
                          seen=one.traced.seen)
        if view.face == face:
            found.append(plain)
        elif other is not None:
            found.append(turned_over(plain, other))
    return tuple(found)


def turned_over(view: PhotoView, other: OtherFace) -> PhotoView:
    """The view of the map's points, for one that is told in the frame of the other face's own drawing."""
    back = np.array(other.shift) @ _turn(-other.turn_deg).T * np.array([1.0, -1.0]) / other.growth
    # turned over, R(-a) is R(a)
    shift = back @ _turn(view.turn_deg).T + np.array(view.shift)
    return PhotoView(view.file, view.camera, view.height, view.turn_deg + other.turn_deg, (float(shift[0]), float(shift[1])),
                     True, view.seen, view.growth / other.growth)


def _turn(angle_deg: float) -> np.ndarray:
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return np.array([[c, -s], [s, c]])


def view_of(edges: EdgeMap, file: str) -> PhotoView | None:
    """How the photograph of this name sees the map; None where it took no part, or nothing told its camera."""
    if edges.views:
        return next((view for view in edges.views if view.file == file), None)
    if edges.camera is None or edges.photos:
        return None
    return PhotoView(file, edges.camera, edges.face_height, seen=edges.seen)


def seen_px(view: PhotoView, points: np.ndarray) -> np.ndarray:
    """Points (n, 2) of the map's frame -> pixels of the view's upright picture (n, 2)."""
    flat = np.asarray(points, float) * np.array([-1.0 if view.mirrored else 1.0, 1.0]) * view.growth
    return project_plane(view.camera, flat @ _turn(view.turn_deg).T + np.array(view.shift), view.height)


def drawing_px(view: PhotoView, edges: EdgeMap, outline: Outline, xy: np.ndarray) -> np.ndarray:
    """Points (n, 2) of the drawing's frame -> pixels of the view's upright picture (n, 2)."""
    return seen_px(view, drawing_points(edges, outline, xy))


def drawing_points(edges: EdgeMap, outline: Outline, xy: np.ndarray) -> np.ndarray:
    """Points (n, 2) of the drawing's frame in the map's frame and unit."""
    world = np.asarray(xy, float) @ _turn(outline.datum.angle_deg).T + np.array(outline.datum.origin)
    # readings may have turned an outline of unknown size into mm
    is_scaled = edges.unit == "px" and outline.unit == "mm"
    return world * (outline.reference.px_per_mm if is_scaled else 1.0)


def laid_flat(picture: Picture, to_pixels: ToPixels, box: Box, longest_px: int) -> bytes:
    """A JPEG of the picture as if seen straight from above, over the box (left, bottom, right, top) of the drawing, its longer
    side longest_px; grey where the picture has nothing."""
    left, bottom, right, top = box
    scale = longest_px / max(right - left, top - bottom)
    width, height = (max(int(round(scale * side)), 2) for side in (right - left, top - bottom))
    # where the places of a coarse net lie in the picture; between them it is as good as straight
    rows, columns = height // NET_PX + 2, width // NET_PX + 2
    x, y = np.meshgrid(left + (np.arange(columns) * NET_PX + 0.5) / scale, top - (np.arange(rows) * NET_PX + 0.5) / scale)
    net = to_pixels(np.stack([x.ravel(), y.ravel()], axis=1)).reshape(rows, columns, 2)
    colour, step = picture.colour, float(np.hypot(*(net[rows // 2, columns // 2] - net[rows // 2, columns // 2 - 1]))) / NET_PX
    if step > MOST_STEP:
        colour = cv2.resize(colour, None, fx=1 / step, fy=1 / step, interpolation=cv2.INTER_AREA)
    net = net * np.array([colour.shape[1] / picture.colour.shape[1], colour.shape[0] / picture.colour.shape[0]]) - 0.5
    at = cv2.warpAffine(net.astype(np.float32), np.array([[1 / NET_PX, 0, 0], [0, 1 / NET_PX, 0]]), (width, height),
                        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP)
    flat = cv2.remap(colour, at, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=(128, 128, 128))
    return cv2.imencode(".jpg", flat, [cv2.IMWRITE_JPEG_QUALITY, LAID_QUALITY])[1].tobytes()
