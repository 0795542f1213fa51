"""Shaded pictures of solids, drawn from their meshes.

Parallel projection, seen from the front, from above and a little from the right (from below with a negative elevation); light
from the upper left; edges drawn where neighbouring pixels differ in face direction, depth or body.  No perspective, so sizes
along one direction compare.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from afterpart.release.png import png_bytes
from afterpart.release.shown import Shown
from afterpart.release.zbuffer import seen_triangles
from afterpart.solid.body import Mesh

_OVERSAMPLING = 2
_PAPER = (255, 255, 255)
_INK = (38, 50, 56)
_LIGHT = np.array([-0.45, 0.35, 0.82])
_BORDER = 0.04
"""Of the larger side, left free all round."""
_BEND = 0.85
"""Cosine of the angle between faces from which on their edge is drawn."""
_JUMP_PX = 6.0
_ALIKE = 0.999
"""Cosine of the angle between faces up to which they are parallel: a step between them is an edge however low it is."""
_STEP_PX = 1.0
_UPRIGHT = 0.2
"""Faces seen more from the side than this have no depth that a step could be told by."""


@dataclass(frozen=True)
class View:
    """From where it is seen.  elevation_deg: 90 looks straight down, -90 up; turn_deg: about the upright axis."""

    elevation_deg: float = 58.0
    turn_deg: float = -12.0

    def axes(self) -> np.ndarray:
        """Rotation to the viewer's axes: x right, y up on the picture, z towards the eye."""
        e, t = math.radians(self.elevation_deg), math.radians(self.turn_deg)
        turn = np.array([[math.cos(t), -math.sin(t), 0], [math.sin(t), math.cos(t), 0], [0, 0, 1]])
        tilt = np.array([[1, 0, 0], [0, math.sin(e), math.cos(e)], [0, -math.cos(e), math.sin(e)]])
        return tilt @ turn


@dataclass(frozen=True)
class Drawn:
    """A picture with where things are on it.  pixels: (rows, columns, 3); owner: which of the shown is seen, -1 where none."""

    pixels: np.ndarray
    owner: np.ndarray
    view: View
    left: float
    top: float
    px_per_mm: float

    def at(self, points: np.ndarray) -> np.ndarray:
        """(column, row) in px of points (n, 3) in mm."""
        seen = np.asarray(points, dtype=float) @ self.view.axes().T
        return np.column_stack([(seen[:, 0] - self.left) * self.px_per_mm, (self.top - seen[:, 1]) * self.px_per_mm])


def solid_picture(meshes: tuple[Mesh, ...], width_px: int = 1400, elevation_deg: float = 58.0, turn_deg: float = -12.0) -> bytes:
    """PNG of the meshes in their places.  elevation_deg: 90 looks straight down; turn_deg: about the upright axis."""
    drawn = draw_solids(tuple(Shown("", mesh) for mesh in meshes), View(elevation_deg, turn_deg), width_px)
    return png_bytes(drawn.pixels)


def seen_size(shown: tuple[Shown, ...], view: View) -> tuple[float, float]:
    """Width and height in mm of the picture's window, its border included."""
    low, high = _window(shown, view)
    return float(high[0] - low[0]), float(high[1] - low[1])


def draw_solids(shown: tuple[Shown, ...], view: View, width_px: int, px_per_mm: float | None = None) -> Drawn:
    """The meshes in their places, `width_px` wide; px_per_mm: a scale of the caller's instead of the one that fills the width."""
    low, high = _window(shown, view)
    scale = px_per_mm or width_px / (high[0] - low[0])
    columns = width_px if px_per_mm is None else max(1, math.ceil((high[0] - low[0]) * scale))
    rows = max(1, math.ceil((high[1] - low[1]) * scale))
    fine = scale * _OVERSAMPLING
    vertices = np.vstack([one.mesh.vertices for one in shown])
    shifts = np.cumsum([0] + [len(one.mesh.vertices) for one in shown[:-1]])
    triangles = np.vstack([one.mesh.triangles + shift for one, shift in zip(shown, shifts, strict=True)])
    owner = np.repeat(np.arange(len(shown)), [len(one.mesh.triangles) for one in shown])
    seen = vertices @ view.axes().T
    screen = np.column_stack([(seen[:, 0] - low[0]) * fine, (high[1] - seen[:, 1]) * fine, seen[:, 2] * fine])
    face, near, behind = seen_triangles(screen, triangles, rows * _OVERSAMPLING, columns * _OVERSAMPLING)
    shades, normals = _shades(shown, vertices, triangles, owner, view)
    # four bytes a pixel, taken as one number; the index -1 is that of paper, the last
    picture = _as_numbers(shades).take(face, mode="wrap")
    picture.ravel()[_ink(face, near, behind, (normals @ view.axes().T).astype(np.float32), owner)] = _as_numbers(_INK)
    seen_owner = np.append(owner, -1)[face[::_OVERSAMPLING, ::_OVERSAMPLING]]
    return Drawn(_shrunk(picture.view(np.uint8).reshape(*face.shape, 4)[..., :3]), seen_owner, view, float(low[0]),
                 float(high[1]), scale)


def _as_numbers(colours: np.ndarray | tuple[int, int, int]) -> np.ndarray:
    """Colours (n, 3), or one, as numbers whose first three bytes they are."""
    rows = np.atleast_2d(np.array(colours, dtype=np.uint8))
    return np.hstack([rows, np.zeros((len(rows), 1), dtype=np.uint8)]).view(np.uint32).ravel()


def _window(shown: tuple[Shown, ...], view: View) -> tuple[np.ndarray, np.ndarray]:
    """Lowest and highest x and y in the viewer's axes, the border included, mm."""
    axes = view.axes()[:2].T
    ends = [extreme(one.mesh.vertices @ axes, axis=0) for one in shown for extreme in (np.min, np.max)]
    low, high = np.min(ends, axis=0), np.max(ends, axis=0)
    border = _BORDER * (high - low).max()
    return low - border, high + border


def _shades(shown: tuple[Shown, ...], vertices: np.ndarray, triangles: np.ndarray, owner: np.ndarray,
            view: View) -> tuple[np.ndarray, np.ndarray]:
    """The colour of each triangle (m + 1, 3), the last one of paper, and each triangle's unit normal."""
    sides = vertices[triangles]
    normals = np.cross(sides[:, 1] - sides[:, 0], sides[:, 2] - sides[:, 0])
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-12)
    # Seen from below, the light comes from below too: what is looked at is never all in the dark.
    light = _LIGHT * (1.0, 1.0, 1.0 if view.elevation_deg >= 0 else -1.0)
    strength = 0.42 + 0.58 * np.clip(normals @ (light / np.linalg.norm(light)), 0.0, 1.0)
    tints = np.array([one.tint for one in shown], dtype=float)
    lit = np.round(tints[owner] * strength[:, None]).astype(np.uint8)
    return np.vstack([lit, np.array([_PAPER], dtype=np.uint8)]), normals.astype(np.float32)


def _ink(face: np.ndarray, near: np.ndarray, behind: float, normals: np.ndarray, owner: np.ndarray) -> np.ndarray:
    """Where an edge is drawn, as places in the raveled picture: between neighbours of different direction, depth or body.
    normals: in the viewer's axes."""
    columns, inked = face.shape[1], []
    for axis in (0, 1):
        before, after = (face[:-1], face[1:]) if axis == 0 else (face[:, :-1], face[:, 1:])
        differs = np.flatnonzero(before != after)
        row, column = np.divmod(differs, before.shape[1])
        row_b, column_b = row + (axis == 0), column + (axis == 1)
        one, other = face[row, column], face[row_b, column_b]
        at_paper = (one < 0) | (other < 0)
        facing = normals.take(one, axis=0, mode="wrap")
        along = np.einsum("ij,ij->i", facing, normals.take(other, axis=0, mode="wrap"))
        turned = along < _BEND
        gap = (near[row, column].astype(float) + behind) - (near[row_b, column_b].astype(float) + behind)
        gap[at_paper] = 0.0
        slope = (1.0, -1.0)[axis] * facing[:, 1 - axis] / np.maximum(facing[:, 2], _UPRIGHT)
        is_step = (along > _ALIKE) & (facing[:, 2] > _UPRIGHT) & (np.abs(gap + slope) > _STEP_PX)
        others = owner.take(one, mode="wrap") != owner.take(other, mode="wrap")
        drawn = at_paper | turned | is_step | others | (np.abs(gap) > _JUMP_PX)
        inked.append((row * columns + column)[drawn])
    return np.concatenate(inked)


def _shrunk(picture: np.ndarray) -> np.ndarray:
    """Each block of fine pixels as its mean."""
    n = _OVERSAMPLING
    total = sum(picture[i::n, j::n].astype(np.uint16) for i in range(n) for j in range(n))
    return ((total + n * n // 2) // (n * n)).astype(np.uint8)
