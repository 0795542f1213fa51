"""The photograph with the outline drawn on it, for the maker's eye."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import cv2
import numpy as np

from afterpart.geometry.segments import loop_points, segment_middle
from afterpart.model.edges import EdgeMap
from afterpart.model.outline import Arc, Circle, Line, Loop, Outline
from afterpart.photo.load import Picture
from afterpart.photo.photoviews import drawing_points
from afterpart.photo.projection import project_plane

LONGEST_PX = 2400
LINE, MARK, PAPER = (30, 30, 220), (200, 90, 20), (255, 255, 255)
"""Blue-green-red: outline red, numbers and centres blue on white."""


def overlay_png(picture: Picture, edges: EdgeMap, outline: Outline) -> bytes:
    """PNG of the picture with the design outline, hole centres and dimension numbers, cut to the part's surroundings."""
    assert edges.camera is not None
    drawn = [(loop, picture_px(edges, outline, loop_points(loop))) for loop in outline.design]
    everything = np.concatenate([chain for _, chain in drawn]) if drawn else np.zeros((1, 2))
    low, high = everything.min(0), everything.max(0)
    margin = 0.25 * float((high - low).max()) + 40
    h, w = picture.colour.shape[:2]
    x0, y0 = np.maximum(low - margin, 0).astype(int)
    x1, y1 = np.minimum(high + margin, [w, h]).astype(int)
    crop = picture.colour[y0:y1, x0:x1]
    scale = min(2.0, LONGEST_PX / max(crop.shape[:2]))
    canvas = cv2.resize(crop, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA if scale < 1 else cv2.INTER_NEAREST)
    origin = np.array([x0, y0])
    for loop, chain in drawn:
        _polyline(canvas, (chain - origin) * scale)
        _centres(canvas, edges, outline, loop, origin, scale)
    _numbers(canvas, edges, outline, origin, scale)
    return cv2.imencode(".png", canvas)[1].tobytes()


def picture_px(edges: EdgeMap, outline: Outline, xy: np.ndarray) -> np.ndarray:
    """Points (n, 2) of the drawing's frame -> pixels of the upright picture (n, 2); the camera must be known."""
    assert edges.camera is not None
    return project_plane(edges.camera, drawing_points(edges, outline, xy), edges.face_height)


def _polyline(canvas: np.ndarray, points: np.ndarray) -> None:
    cv2.polylines(canvas, [np.round(points * 16 - 8).astype(np.int32)], True, LINE, 2, cv2.LINE_AA, 4)


def _centres(canvas: np.ndarray, edges: EdgeMap, outline: Outline, loop: Loop, origin: np.ndarray, scale: float) -> None:
    for s in loop.segments:
        if isinstance(s, Circle):
            x, y = (picture_px(edges, outline, np.array([s.center]))[0] - origin) * scale
            arm = 7
            for dx, dy in ((arm, 0), (0, arm)):
                cv2.line(canvas, (int(x - dx), int(y - dy)), (int(x + dx), int(y + dy)), MARK, 1, cv2.LINE_AA)


def _numbers(canvas: np.ndarray, edges: EdgeMap, outline: Outline, origin: np.ndarray, scale: float) -> None:
    """Ids of diameters and radii beside their curves."""
    segments = {s.id: s for loop in outline.design for s in loop.segments}
    for d in outline.dimensions:
        if d.kind not in ("diameter", "radius") or not d.of or d.of[0] not in segments:
            continue
        s = segments[d.of[0]]
        if isinstance(s, Line):
            continue
        at = np.array(s.center) + (np.array([0.72, 0.72]) * s.radius if isinstance(s, Circle) else 0)
        if isinstance(s, Arc):
            at = np.array(segment_middle(s))
        x, y = (picture_px(edges, outline, at[None])[0] - origin) * scale
        (w, h), _ = cv2.getTextSize(d.id, cv2.FONT_HERSHEY_SIMPLEX, 0.6, 1)
        corner = (int(x + 8), int(y - 8))
        cv2.rectangle(canvas, (corner[0] - 3, corner[1] - h - 3), (corner[0] + w + 3, corner[1] + 4), PAPER, -1)
        cv2.putText(canvas, d.id, corner, cv2.FONT_HERSHEY_SIMPLEX, 0.6, MARK, 1, cv2.LINE_AA)
