"""Whether the picture agrees with itself: whether the face lies level, and whether whole numbers allow its scale.

A part that rocks on a burr is seen in a perspective of its own.

A face that rises by a over its half width towards x, by b towards y, is laid on the plane it was said to lie in with its points
moved away from the camera's foot by (a x + b y) / (distance of the camera): parallel edges converge, equal holes differ along one
direction, four holes of a rectangle no longer make one.  What a part usually has (parallel and square edges, parallelograms of
equal holes, equal holes) is written as *statements* that are zero when the face is level; generalised least squares (Aitken)
gives a and b, and how many standard uncertainties they are from zero.
Limits: a part with few such relations says nothing; where the references leave the tilt open, the camera was set by the same
relations and no tilt of the face remains to be seen.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from afterpart.model.camera import Camera
from afterpart.model.edges import Note, SharedErrors
from afterpart.outline.budget import common_columns
from afterpart.outline.contradictions import rocking_conflict
from afterpart.outline.design import Design
from afterpart.outline.frame import find_lattice
from afterpart.outline.lattice_values import lattice_values
from afterpart.outline.part import Part
from afterpart.outline.settings import OutlineSettings

PLACE_TOLERANCE, SIZE_TOLERANCE, EDGE_TOLERANCE = 0.02, 0.01, 0.012
"""Scatter of a moulding's features about its own regularity, mm: places of holes; radii; ends of edges (judgement)."""

CALM = 0.25
"""Chi-square per statement to which their agreement among themselves may bring the stated errors down."""

BOW_U = 0.12
"""How far a moulding's face is from flat, mm at its rim, in each way (judgement; the booth's bows are up to 0.3 mm)."""

MOST_RISE = 1.5
"""What a burr under one side may lift it by, mm; a gap between features larger than this makes was meant by the designer."""

GATE_U = 3.0
SIGNIFICANT, LEAST_SIGNIFICANT = 4.0, 1.5
"""Standard uncertainties from zero at which a tilt is named, and which it keeps when any one feature is left out."""

LEAST_RISE = 0.3
"""A smaller rise from side to side does no harm that the budget does not hold, mm."""

LEAST_SPARE = 3
"""So many statements more than the two unknowns."""

MOST_MISFIT = 2.0
"""Chi-square per statement after the tilt beyond which the statements do not agree among themselves."""

LEAST_MARGIN = 3.0
"""Log odds from which a lattice counts as found (stage.py)."""

FAR_SCALE_U, FAR_MARGIN, FARTHEST = 0.008, 9.0, 0.025
"""Relative uncertainty of the scale with which a lattice is sought that the reference's own does not allow; how much better than
none it must be (log odds; right from about 9 on in all invented drawings but one); how far off it is believed."""

LEAST_EDGE = 6.0
"""Shorter straight edges say too little about their direction, mm."""

MOST_STATEMENTS = 80


@dataclass(frozen=True)
class Statement:
    """A number that is zero on a level face: value, slope (3k,) by the state, rows it is read from."""

    value: float
    slope: np.ndarray
    rows: tuple[int, ...]


@dataclass(frozen=True)
class Tilt:
    """rise: from one side of the part to the other, mm, with standard uncertainty u; direction_rad: towards the higher side, in
    the photo frame; z: standard uncertainties from zero; least_z: the same without the feature that says most; misfit:
    chi-square that remains, per statement to spare; evidence: number of statements."""

    rise: float
    u: float
    direction_rad: float
    z: float
    least_z: float
    misfit: float
    evidence: int

    @property
    def is_significant(self) -> bool:
        """Is it beyond doubt, and enough to matter?"""
        return (self.z > SIGNIFICANT and self.least_z > LEAST_SIGNIFICANT and self.rise > LEAST_RISE
                and self.misfit < MOST_MISFIT)


def far_scale(design: Design, settings: OutlineSettings) -> float | None:
    """True size over measured size as whole numbers want it, beyond what the reference allows; None where they do not say."""
    if design.lattice is not None and design.lattice.margin >= LEAST_MARGIN:
        return None
    values = lattice_values(design.measured, list(design.equal), list(design.pitch), settings)
    found = find_lattice(values, FAR_SCALE_U, settings.free_share, settings.origin, settings.drawn, FAR_MARGIN)
    off = found.scale * design.scale - 1.0
    return 1.0 + off if found.margin > FAR_MARGIN and abs(off) < FARTHEST else None


def level_notes(parts: Sequence[Part], middle: np.ndarray, camera: Camera | None, face_height: float) -> list[Note]:
    """A note for each part whose face is not level.  middle (2,): where the parts' frame has its origin in the photo frame."""
    if camera is None:
        return []
    notes = []
    for part in parts:
        tilt = face_tilt(part, middle, camera, face_height)
        if tilt is not None and tilt.is_significant:
            notes.append(rocking_conflict(tilt.rise, tilt.u, tilt.z, _side(tilt.direction_rad, camera), tilt.evidence))
    return notes


def face_tilt(part: Part, middle: np.ndarray, camera: Camera, face_height: float) -> Tilt | None:
    """The tilt of a face against the table as its regularity shows it; None where that says nothing.

    part: measured state, house unit mm, photo frame about `middle`."""
    anchors, reach = _anchors(part)
    columns = _lift_columns(part, middle, anchors, reach, camera, face_height)
    lift, bow = columns[:, :2], BOW_U * columns[:, 2:]
    spread = part.errors.covariance + np.diag(_tolerances(part)) + bow @ bow.T
    statements = _statements(part, lift, spread)
    if len(statements) < 2 + LEAST_SPARE:
        return None
    whole = _solved(statements, lift, spread)
    if whole is None:
        return None
    (a, b), covariance, z, misfit = whole
    size = math.hypot(a, b)
    if size < 1e-9:
        return None
    away = np.array([a, b]) / size
    extent = float(np.ptp(_ends(part) @ away))
    least = z
    for row in sorted({row for s in statements for row in s.rows}):
        fewer = _solved(_statements(part, lift, spread, row), lift, spread)
        least = min(least, fewer[2] if fewer is not None and fewer[0] @ away > 0 else 0.0)
    return Tilt(size * extent / reach, math.sqrt(float(away @ covariance @ away)) * extent / reach, math.atan2(b, a), z, least,
                misfit, len(statements))


def _anchors(part: Part) -> tuple[np.ndarray, float]:
    """(k, 2) a place amid each carrier's segment, and half the part's greatest extent."""
    places = []
    for chain in part.chains:
        if chain.is_circle:
            places.append(chain.state[:, :2])
        else:
            places.append(0.5 * (chain.corners + np.roll(chain.corners, 1, axis=0)))
    anchors = np.concatenate(places)
    return anchors, 0.5 * float(np.ptp(_ends(part), axis=0).max())


def _ends(part: Part) -> np.ndarray:
    """(n, 2) where segments end; of circles points all round."""
    turn = np.linspace(0.0, 2.0 * math.pi, 24, endpoint=False)
    ring = np.column_stack([np.cos(turn), np.sin(turn)])
    return np.concatenate([chain.state[0, :2] + abs(chain.state[0, 2]) * ring if chain.is_circle else chain.corners
                           for chain in part.chains])


def _lift_columns(part: Part, middle: np.ndarray, anchors: np.ndarray, reach: float, camera: Camera,
                  face_height: float) -> np.ndarray:
    """(3k, 5) change of the state when the face rises by 1 mm over `reach` towards x, towards y; when it is bowed by 1 mm in the
    three ways of the second degree."""
    centre = np.asarray(middle, float) + anchors.mean(axis=0)
    far = camera.position[2] - face_height
    away = (centre - np.array(camera.position[:2])) / far
    along_x, along_y = np.zeros((5, 10)), np.zeros((5, 10))
    # lift times place: the terms of geometry/cubic.py are 1, x, y, x2, xy, y2, x3, x2y, xy2, y3
    for row, (lift, by_x, by_y) in enumerate(((1, 3, 4), (2, 4, 5), (3, 6, 7), (4, 7, 8), (5, 8, 9))):
        along_x[row, [lift, by_x]] = away[0], reach / far
        along_y[row, [lift, by_y]] = away[1], reach / far
    centre = (float(centre[0]), float(centre[1]))
    field = SharedErrors(centre, reach, ("lift",) * 5, (None,) * 5, along_x, along_y)
    return common_columns(field, np.asarray(middle, float), 1.0, part.is_arc, part.state, anchors)


def _lengths(part: Part) -> np.ndarray:
    """(k,) length of each carrier's segment from end to end; 0 for circles."""
    return np.concatenate([np.zeros(chain.size) if chain.is_circle else
                           np.hypot(*(chain.corners - np.roll(chain.corners, 1, axis=0)).T) for chain in part.chains])


def _tolerances(part: Part) -> np.ndarray:
    """(3k,) variances of a moulding's features about its own regularity."""
    length = np.maximum(_lengths(part), 1.0)
    lines = np.zeros((len(length), 3))
    lines[:, 0] = 2.0 * (EDGE_TOLERANCE / length) ** 2
    arcs = np.tile([PLACE_TOLERANCE**2, PLACE_TOLERANCE**2, SIZE_TOLERANCE**2], (len(length), 1))
    return np.where(part.is_arc[:, None], arcs, lines).ravel()


def _statements(part: Part, lift: np.ndarray, spread: np.ndarray, without: int = -1) -> list[Statement]:
    """Those that a rise of up to MOST_RISE and the errors can explain: what is further off was meant so by the designer.
    without: a row to be left out."""
    groups = [[row for row in group if row != without] for group in _alike(part)]
    found = [*_edges(part, without), *_parallelograms(part, groups), *_equal_holes(part, groups)]
    kept = []
    for s in found:
        allowed = 0.5 * MOST_RISE * float(np.abs(s.slope @ lift).sum()) + GATE_U * math.sqrt(float(s.slope @ spread @ s.slope))
        if abs(s.value) < allowed:
            kept.append(s)
    return kept[:MOST_STATEMENTS]


def _edges(part: Part, without: int) -> list[Statement]:
    """Each straight edge against the longest that runs (nearly) along or square to it."""
    length = _lengths(part)
    straight = [row for row in range(len(length)) if not part.is_arc[row] and length[row] > LEAST_EDGE and row != without]
    lines = sorted(straight, key=lambda row: -length[row])
    out: list[Statement] = []
    leads: list[int] = []
    for row in lines:
        nearest = min(((abs(math.remainder(part.state[row, 0] - part.state[lead, 0], 0.5 * math.pi)), lead) for lead in leads),
                      default=(math.inf, -1))
        if nearest[0] > math.radians(1.0):
            leads.append(row)
            continue
        lead = nearest[1]
        slope = np.zeros(3 * len(length))
        slope[3 * row], slope[3 * lead] = 1.0, -1.0
        off = math.remainder(part.state[row, 0] - part.state[lead, 0], 0.5 * math.pi)
        out.append(Statement(off, slope, (row, lead)))
    return out


def _parallelograms(part: Part, groups: list[list[int]]) -> list[Statement]:
    """Pairs of equal holes with one middle: the corners of a parallelogram (two statements each)."""
    out: list[Statement] = []
    for group in groups:
        pairs = list(combinations(group, 2))
        middles = np.array([0.5 * (part.state[a, :2] + part.state[b, :2]) for a, b in pairs]).reshape(-1, 2)
        used: set[int] = set()
        for first in range(len(pairs)):
            if first in used:
                continue
            near = np.flatnonzero(np.abs(middles - middles[first]).max(axis=1) < 0.4)
            for other in near:
                if other <= first or set(pairs[other]) & set(pairs[first]):
                    continue
                used.add(int(other))
                rows = (*pairs[first], *pairs[other])
                for axis in (0, 1):
                    slope = np.zeros(part.state.size)
                    for row, sign in zip(rows, (1.0, 1.0, -1.0, -1.0), strict=True):
                        slope[3 * row + axis] += sign
                    out.append(Statement(float(slope @ part.state.ravel()), slope, rows))
    return out


def _equal_holes(part: Part, groups: list[list[int]]) -> list[Statement]:
    """Each hole of a group against the first of it."""
    out = []
    for group in groups:
        for row in group[1:]:
            slope = np.zeros(part.state.size)
            for which, sign in ((row, 1.0), (group[0], -1.0)):
                slope[3 * which + 2] = sign * math.copysign(1.0, part.state[which, 2])
            out.append(Statement(float(slope @ part.state.ravel()), slope, (row, group[0])))
    return out


def _alike(part: Part) -> list[list[int]]:
    """Holes within a tenth of a millimetre in diameter of the smallest of their group."""
    groups: list[list[int]] = []
    for row in sorted(part.circles(), key=lambda r: abs(part.state[r, 2])):
        if groups and abs(part.state[row, 2]) - abs(part.state[groups[-1][0], 2]) < 0.06:
            groups[-1].append(row)
        else:
            groups.append([row])
    return [group for group in groups if len(group) > 1]


def _solved(statements: list[Statement], lift: np.ndarray,
            spread: np.ndarray) -> tuple[np.ndarray, np.ndarray, float, float] | None:
    """Rises (2,) towards x and y, their covariance, how far from zero they are together, and the misfit left per statement."""
    if len(statements) < 3:
        return None
    rows = np.array([s.slope for s in statements])
    values = np.array([s.value for s in statements])
    own = rows @ spread @ rows.T
    # statements that follow from one another must not make it singular
    scale = np.sqrt(np.diag(own))
    weight = np.linalg.inv(own / np.outer(scale, scale) + 1e-3 * np.eye(len(rows))) / np.outer(scale, scale)
    slopes = rows @ lift
    normal = slopes.T @ weight @ slopes
    if np.linalg.cond(normal) > 1e8:
        return None
    covariance = np.linalg.inv(normal)
    rise = covariance @ (slopes.T @ weight @ values)
    left = values - slopes @ rise
    misfit = float(left @ weight @ left) / max(len(statements) - 2, 1)
    # errors that the statements have in common are no doubt of what they say of each other
    calm = min(max(misfit, CALM), 1.0)
    return rise, calm * covariance, math.sqrt(float(rise @ normal @ rise) / calm), misfit


def _side(direction_rad: float, camera: Camera) -> str:
    """The side of the picture a direction of the photo frame points to."""
    right, down, _ = np.array(camera.rotation) @ np.array([math.cos(direction_rad), math.sin(direction_rad), 0.0])
    if abs(right) > abs(down):
        return "right" if right > 0 else "left"
    return "lower" if down > 0 else "upper"
