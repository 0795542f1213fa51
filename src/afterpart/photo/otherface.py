"""The part's other face laid on the drawn one: mirrored, then moved until the rims both faces share lie on each other.

A wall that leans (*draft*) makes the two outlines differ by the part's height times the tangent of its lean, outwards along the
normals of all rims alike; that offset is an unknown of the fit, so that it does not pull the faces apart.  So is a small
*growth* of the whole face: when only a sheet tells the size, each laying of the part knows it to a thousandth or so by itself, a
tenth of a millimetre on a hand's breadth; the drawn face's size rules.
A rim counts by what is known of its place as a whole: a long outer rim does not outvote the holes.
Limits: the two faces are taken to be parallel; what only one of them shows (a channel, a pocket) takes no part in the fit.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from afterpart.model.edges import OtherFace, Rim
from afterpart.photo.laying import registrations
from afterpart.photo.rimchain import outward_normals, resample_closed
from afterpart.photo.rimmatch import answering, crossings

SAMPLES = 400
"""Points a rim for the search, about."""

CAUCHY_MM = 0.05
EDGE_U = 0.02
"""Standard uncertainty of where one face's whole outer rim is seen, mm: what remains of the rounding (judgement)."""

ALIKE_PLACES = 20.0
"""So many places of a rim say as much as the whole of it can: light and rounding draw all of it aside together (judgement)."""

GROWTH_U = 1e-3
"""Standard uncertainty of one face's size against the other's, as a share: what a sheet may be off by (ISO 216 lets its sides
differ by 2 mm)."""

TURNS = 12

WAYS = 6
"""A part that looks alike turned is laid in so many of these turns, and the best is kept."""


def lay_other_face(drawn: Sequence[Rim], other: Sequence[Rim], height: float) -> OtherFace | None:
    """The other face's rims (seen from their own side) in the frame of the drawn face's rims; None when they do not fit.

    height: between the two faces, mm."""
    turned_over = [replace(rim, points=(rim.points * np.array([-1.0, 1.0]))[::-1], u=rim.u[::-1]) for rim in other]
    ways = registrations(_cloud([rim for rim in turned_over if rim.role != "channel"]),
                         _cloud([rim for rim in drawn if rim.role != "channel"]), most=WAYS)
    laid = [way for rotation, shift, _ in ways if (way := _laid(drawn, turned_over, height, rotation, shift)) is not None]
    return min(laid, key=lambda way: way.rms, default=None)


def _laid(drawn: Sequence[Rim], turned_over: Sequence[Rim], height: float, rotation: np.ndarray,
          shift: np.ndarray) -> OtherFace | None:
    """The face laid from a rough rotation and shift to where its rims lie best."""
    shared = [rim for rim in turned_over if rim.role != "channel"]
    size = float(np.ptp(drawn[0].points, axis=0).max())
    lean, grown, left = 0.0, 1.0, np.zeros(0)
    about = drawn[0].points.mean(axis=0)
    for _ in range(TURNS):
        offset, slopes, share = _offsets(drawn, shared, rotation, shift, size)
        if len(offset) < 20:
            return None
        for _ in range(4):
            left = offset - lean
            weight = share / (1 + (left / CAUCHY_MM) ** 2)
            lean = float(weight @ offset / weight.sum())
        step = _step(offset, slopes, weight, grown)
        c, s = np.cos(-step[2]), np.sin(-step[2])
        turn = (1.0 - step[3]) * np.array([[c, -s], [s, c]])
        rotation, shift = turn @ rotation, turn @ (shift - about) + about - step[:2]
        lean, grown = float(step[4]), grown * (1.0 - float(step[3]))
        if np.abs(step[:2]).max() < 1e-6 and np.abs(step[2:4]).max() < 1e-8:
            break
    left = _offsets(drawn, shared, rotation, shift, size)[0] - lean
    rims = tuple(replace(rim, points=rim.points @ rotation.T + shift) for rim in turned_over)
    draft_u = np.degrees(np.sqrt(2.0) * EDGE_U / max(height, 1e-6))
    return OtherFace(rims, float(np.degrees(np.arctan2(lean, max(height, 1e-6)))), float(draft_u),
                     float(np.sqrt(np.mean(np.minimum(np.abs(left), 4 * CAUCHY_MM) ** 2))),
                     float(np.degrees(np.arctan2(rotation[1, 0], rotation[0, 0]))), (float(shift[0]), float(shift[1])), grown)


def _step(offset: np.ndarray, slopes: np.ndarray, weight: np.ndarray, grown: float) -> np.ndarray:
    """By how much the faces are apart (x, y, turn, growth, lean), by weighted least squares; the growth so far has a prior."""
    root = np.sqrt(weight)[:, None]
    known = EDGE_U / GROWTH_U
    rows = np.vstack([np.c_[slopes, np.ones(len(offset))] * root, [[0.0, 0.0, 0.0, known, 0.0]]])
    return np.linalg.lstsq(rows, np.append(offset * root[:, 0], known * (grown - 1.0)), rcond=None)[0]


def _cloud(rims: Sequence[Rim]) -> np.ndarray:
    """Points (n, 2) along the rims, evenly spaced."""
    longest = max(float(np.hypot(*(np.roll(r.points, -1, 0) - r.points).T).sum()) for r in rims)
    return np.concatenate([resample_closed(rim.points, longest / SAMPLES) for rim in rims])


def _offsets(drawn: Sequence[Rim], other: Sequence[Rim], rotation: np.ndarray, shift: np.ndarray,
             size: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """How far the other face's rims lie outside the drawn face's, (n,) mm, its slopes by a shift in x, y, a turn and a growth
    about the middle of the outer rim (n, 4), and the share with which each place counts (n,)."""
    placed = [rim.points @ rotation.T + shift for rim in other]
    about = drawn[0].points.mean(axis=0)
    offset, slopes, share = [np.empty(0)], [np.empty((0, 4))], [np.empty(0)]
    for rim in drawn:
        if rim.role == "channel":
            continue
        k = answering(rim, other, placed, rim.points, size)
        if k is None:
            continue
        step = max(1, len(rim.points) // SAMPLES)
        places, normals = rim.points[::step], outward_normals(rim.points, 3.0)[::step]
        met = crossings(places, normals, placed[k], placed[k], other[k].u)
        n, away = normals[met.place], places[met.place] - about
        offset.append(met.offset)
        share.append(np.full(len(met.offset), 1.0 / (1.0 + len(met.offset) / ALIKE_PLACES)))
        slopes.append(np.c_[n, away[:, 0] * n[:, 1] - away[:, 1] * n[:, 0], (away * n).sum(axis=1)])
    return np.concatenate(offset), np.concatenate(slopes), np.concatenate(share)
