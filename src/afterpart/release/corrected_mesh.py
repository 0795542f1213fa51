"""A mesh for one printer: moved so little that what comes off the bed has the sizes as drawn.

Words: a *wall* is the round wall of a hole or the outside edge; its vertices move along their normal, all others stay, then
everything is scaled in the plane of the bed:
    sent hole = (drawn + undersize) / scale,   sent outside = (drawn - oversize) / scale
Conventions: mm; the piece's own frame, z up from the bed.  A vertex moves by its place alone, so that a closed mesh stays closed.
Limits: only the straight walls of round holes and of the outer edge; chamfers keep their own rims, and so
grow or shrink by the move.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np

from afterpart.geometry.chain import counter_clockwise
from afterpart.model.assembly import PrintCorrection
from afterpart.model.feature import Hole
from afterpart.model.outline import Arc, Circle, Line
from afterpart.model.piece import Piece
from afterpart.release.characteristics import edge_of
from afterpart.solid.body import Mesh

NEAR = 2e-3
"""A vertex this close to a wall stands on it, mm."""
CIRCUMSCRIBED = 0.03
"""Corners of circumscribed holes lie outside their circle by at most this share."""
NOT_CORRECTED = ("hole_coupon", "check_plate")
_SAME = 1e-6
_OPPOSITE = 1e-3
"""Two edges that meet in a spike of this sharpness are moved along one of them only."""


def is_corrected(piece: Piece, correction: PrintCorrection | None) -> bool:
    """Is this piece one whose files the correction is for?"""
    return correction is not None and piece.kind not in NOT_CORRECTED and piece.material == correction.material


def corrected_mesh(mesh: Mesh, piece: Piece, correction: PrintCorrection, circumscribed: bool = False) -> Mesh:
    """The mesh to send to the printer.  circumscribed: its round holes lie wholly outside their circles."""
    vertices = np.array(mesh.vertices, dtype=float)
    shift = _outside_shift(vertices, piece, -correction.oversize / 2.0)
    for hole in (f for f in piece.features if isinstance(f, Hole)):
        if not any(abs(hole.diameter - kept) < _SAME for kept in correction.kept):
            shift += _hole_shift(vertices, hole, correction.undersize / 2.0, circumscribed)
    vertices[:, :2] = (vertices[:, :2] + shift) / correction.scale
    return Mesh(vertices, mesh.triangles)


def _hole_shift(vertices: np.ndarray, hole: Hole, outwards: float, circumscribed: bool) -> np.ndarray:
    """(n, 2) shifts of the vertices on the hole's wall, away from its axis."""
    radius = hole.diameter / 2.0
    arm = vertices[:, :2] - np.array(hole.center)
    reach = np.hypot(arm[:, 0], arm[:, 1])
    beyond = CIRCUMSCRIBED * radius if circumscribed else NEAR
    on_wall = (reach > radius - NEAR) & (reach < radius + beyond)
    on_wall &= (vertices[:, 2] > hole.bottom - NEAR) & (vertices[:, 2] < hole.top + NEAR)
    shift = np.zeros((len(vertices), 2))
    shift[on_wall] = outwards * arm[on_wall] / reach[on_wall, None]
    return shift


def _outside_shift(vertices: np.ndarray, piece: Piece, outwards: float) -> np.ndarray:
    """(n, 2) shifts of the vertices on the outer edge; at a corner both edges move by the same."""
    normals, count = np.zeros((len(vertices), 2)), np.zeros(len(vertices))
    if outwards == 0.0:
        return normals
    for segment in counter_clockwise(edge_of(piece)):
        on_it, normal = _on_segment(vertices[:, :2], segment)
        # the tangent neighbour of an edge has its normal at their common end, and adds nothing there
        along = np.einsum("ij,ij->i", normals, normal)
        fresh = on_it & ((count == 0) | (along < count - _OPPOSITE)) & (along > _OPPOSITE - 1.0)
        normals[fresh] += normal[fresh]
        count[fresh] += 1.0
    two = count == 2
    normals[two] /= np.maximum(0.5 * np.einsum("ij,ij->i", normals, normals)[two], _OPPOSITE)[:, None]
    return outwards * normals


def _on_segment(points: np.ndarray, segment: Line | Arc | Circle) -> tuple[np.ndarray, np.ndarray]:
    """Which points (n, 2) stand on a segment of a counter-clockwise chain, and the normal out of it at each."""
    if isinstance(segment, Line):
        start, along = np.array(segment.start), np.subtract(segment.end, segment.start)
        length = float(np.hypot(*along))
        along = along / length
        normal = np.array([along[1], -along[0]])
        s, off = (points - start) @ along, (points - start) @ normal
        return (np.abs(off) < NEAR) & (s > -NEAR) & (s < length + NEAR), np.broadcast_to(normal, points.shape)
    arm = points - np.array(segment.center)
    reach = np.maximum(np.hypot(arm[:, 0], arm[:, 1]), _SAME)
    on_it = np.abs(reach - segment.radius) < NEAR
    sign = 1.0
    if isinstance(segment, Arc):
        sign = 1.0 if segment.ccw else -1.0
        on_it &= _within_arc(arm, segment)
    return on_it, sign * arm / reach[:, None]


def _within_arc(arm: np.ndarray, arc: Arc) -> np.ndarray:
    """Whether directions (n, 2) from the centre lie within the arc, its ends included."""
    sign, slack = (1.0 if arc.ccw else -1.0), NEAR / arc.radius
    first, last = (np.arctan2(p[1] - arc.center[1], p[0] - arc.center[0]) for p in (arc.start, arc.end))
    turn = (sign * (np.arctan2(arm[:, 1], arm[:, 0]) - first) + slack) % (2.0 * np.pi)
    return turn <= (sign * (last - first)) % (2.0 * np.pi) + 2.0 * slack
