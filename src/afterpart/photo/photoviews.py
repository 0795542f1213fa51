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
    back = np.array(other.shift) @ _turn(-other.turn_deg).T * np.array([1.0, -1.0])
    # turned over, R(-a) is R(a)
    shift = back @ _turn(view.turn_deg).T + np.array(view.shift)
    return PhotoView(view.file, view.camera, view.height, view.turn_deg + other.turn_deg, (float(shift[0]), float(shift[1])),
                     True, view.seen)


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
    flat = np.asarray(points, float) * np.array([-1.0 if view.mirrored else 1.0, 1.0])
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
    width, height = (max(int(round(scale * side)), 1) for side in (right - left, top - bottom))
    x, y = np.meshgrid(left + (np.arange(width) + 0.5) / scale, top - (np.arange(height) + 0.5) / scale)
    px = to_pixels(np.stack([x.ravel(), y.ravel()], axis=1)).reshape(height, width, 2)
    colour, step = picture.colour, _px_per_place(px)
    if step > 1.0:
        colour = cv2.resize(colour, None, fx=1 / step, fy=1 / step, interpolation=cv2.INTER_AREA)
    at = (px * np.array([colour.shape[1] / picture.colour.shape[1], colour.shape[0] / picture.colour.shape[0]]) - 0.5)
    flat = cv2.remap(colour, at.astype(np.float32), None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT,
                     borderValue=(128, 128, 128))
    return cv2.imencode(".jpg", flat, [cv2.IMWRITE_JPEG_QUALITY, LAID_QUALITY])[1].tobytes()


def _px_per_place(px: np.ndarray) -> float:
    """Picture pixels from one place of the laid picture to the next, in its middle."""
    rows, columns = px.shape[0] // 2, px.shape[1] // 2
    steps = [np.hypot(*(px[rows, columns] - px[max(rows - 1, 0), columns])),
             np.hypot(*(px[rows, columns] - px[rows, max(columns - 1, 0)]))]
    return float(min(step for step in steps))
