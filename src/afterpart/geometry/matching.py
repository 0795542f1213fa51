"""Two faces laid on each other: which hole belongs to which, by how much each is off, and the placing that leaves most room.

Words: the *own* places stay, the *other* ones are moved; a *motion* mirrors the other face (y -> -y) or not, lets it grow, turns
it about the origin and shifts it; *room* is what is left of a gap, negative where two things would stand in each other.
Three questions, three answers.  *Who belongs to whom*: every pair of holes of one face is laid on every equally long pair of the
other, the motion that brings most holes together wins.  *Who is off*: a fit by those that agree with one another (least median
of squares over pairs, then least squares over what is kept), so that one moved hole does not pull the others and shows its whole
offset.  *Do all go through*: the motion whose tightest place has the most room left.  A least squares fit would not tell: bolts
go through when every single one does.
Conventions: mm, radians; small motions in `roomiest`.
Limits: rigid faces; two holes at least.  Among three holes a moved one is
seen but cannot be told from the others; among four it can.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import linprog, nnls

from afterpart.errors import FitError
from afterpart.model.outline import Arc, Circle, Segment

WITHIN = 3.0
"""Holes of the two faces that lie no farther apart than this may belong together, mm (judgement)."""

DOUBT = 0.01
"""Chance, over all holes together, that an honest one is called moved."""

LONGEST_PAIRS = 60
"""So many pairs of a face, the longest ones, are tried on the other."""

TIE = 1e-6
"""Room that walls give up so that the round places can be placed, mm."""

FACETS = 48
"""A round room is taken as a polygon of so many sides, told too large by 0.2 %."""


@dataclass(frozen=True)
class Motion:
    """Where a point of the other face goes: mirrored if so, grown by 1 + growth, turned about the origin, shifted."""

    mirrored: bool
    angle_rad: float
    shift: tuple[float, float]
    growth: float = 0.0

    def of(self, points: np.ndarray) -> np.ndarray:
        """Points (n, 2) moved."""
        flat = np.asarray(points, float).reshape(-1, 2) * np.array([1.0, -1.0 if self.mirrored else 1.0])
        return np.asarray((1.0 + self.growth) * flat @ _turn(self.angle_rad) + np.array(self.shift))

    def of_chain(self, chain: Sequence[Segment]) -> tuple[Segment, ...]:
        """A chain moved; a mirrored one runs the other way round."""
        return tuple(self._of_segment(segment) for segment in chain)

    def _of_segment(self, segment: Segment) -> Segment:
        size = 1.0 + self.growth
        if isinstance(segment, Circle):
            return replace(segment, center=self._at(segment.center), radius=segment.radius * size)
        ends = replace(segment, start=self._at(segment.start), end=self._at(segment.end))
        if not isinstance(ends, Arc):
            return ends
        return replace(ends, center=self._at(ends.center), radius=ends.radius * size, ccw=ends.ccw != self.mirrored)

    def _at(self, point: tuple[float, float]) -> tuple[float, float]:
        x, y = self.of(np.array([point]))[0]
        return float(x), float(y)


@dataclass(frozen=True)
class Pairing:
    """A way to lay the other face: motion, the pairs (own, other) it brings together, and their mean squared distance, mm2."""

    motion: Motion
    pairs: tuple[tuple[int, int], ...]
    cost: float


@dataclass(frozen=True)
class PlaceFit:
    """The other places laid on the own ones.  kept (n,): those the fit stands on; off (n, 2): other less own, mm; covariance
    (n, 2, 2) of each offset; growth_u: standard uncertainty of the motion's growth; spread: by how much the kept ones scatter
    more than their uncertainties say, 1 where they do not."""

    motion: Motion
    kept: np.ndarray
    off: np.ndarray
    covariance: np.ndarray
    growth_u: float
    spread: float


@dataclass(frozen=True)
class Roomiest:
    """The placing with the most room: shift and turn of the own face about `amid`; room (n,) and walls (m,) left there, mm."""

    shift: tuple[float, float]
    turn_rad: float
    amid: tuple[float, float]
    room: np.ndarray
    walls: np.ndarray


def _turn(angle_rad: float) -> np.ndarray:
    """What turns rows of points."""
    return np.array([[math.cos(angle_rad), math.sin(angle_rad)], [-math.sin(angle_rad), math.cos(angle_rad)]])


def pairings(own: np.ndarray, other: np.ndarray, mirrored: bool, within: float = WITHIN) -> tuple[Pairing, ...]:
    """Ways to lay the other holes (m, 2) on the own ones (n, 2), those that bring most together first; ways whose pairs are
    the same are told once.  FitError: fewer than two holes on a face."""
    if min(len(own), len(other)) < 2:
        raise FitError(f"Found {len(own)} and {len(other)} holes, expected two or more on each face to lay one on the other.")
    found: dict[tuple[tuple[int, int], ...], Pairing] = {}
    theirs = other * np.array([1.0, -1.0 if mirrored else 1.0])
    for i, j in _longest(own):
        for k, m in itertools.permutations(range(len(other)), 2):
            if abs(math.dist(own[i], own[j]) - math.dist(other[k], other[m])) > within:
                continue
            (ax, ay), (bx, by) = own[j] - own[i], theirs[m] - theirs[k]
            angle = math.atan2(ay, ax) - math.atan2(by, bx)
            bare = Motion(mirrored, angle, (0.0, 0.0))
            x, y = 0.5 * (own[i] + own[j] - bare.of(other[[k, m]]).sum(axis=0))
            pairing = _assigned(own, other, replace(bare, shift=(float(x), float(y))), within)
            if pairing is not None and (pairing.pairs not in found or pairing.cost < found[pairing.pairs].cost):
                found[pairing.pairs] = pairing
    return tuple(sorted(found.values(), key=lambda p: (-len(p.pairs), p.cost)))


def _longest(own: np.ndarray) -> list[tuple[int, int]]:
    pairs = sorted(itertools.combinations(range(len(own)), 2), key=lambda p: -math.dist(own[p[0]], own[p[1]]))
    return pairs[:LONGEST_PAIRS]


def _assigned(own: np.ndarray, other: np.ndarray, motion: Motion, within: float) -> Pairing | None:
    """Each own hole with its nearest other one, where both choose each other and lie near enough; None for fewer than two."""
    apart = np.hypot(*(own[:, None] - motion.of(other)[None]).transpose(2, 0, 1))
    pairs = tuple((i, int(k)) for i, k in enumerate(apart.argmin(axis=1)) if apart[:, k].argmin() == i and apart[i, k] <= within)
    if len(pairs) < 2:
        return None
    return Pairing(motion, pairs, float(np.mean([apart[i, k] ** 2 for i, k in pairs])))


def fit_places(own: np.ndarray, other: np.ndarray, u: np.ndarray, growth_u: float, start: Motion) -> PlaceFit:
    """The other places (n, 2) laid on the own ones (n, 2), pair by pair.  u (n,): standard uncertainty of a pair's distance in
    each direction; growth_u: of the two faces' sizes to each other, which the fit may use.  A place is left out when its offset
    from what the others say is beyond chance (DOUBT).  FitError: fewer than two places."""
    n = len(own)
    if n < 2:
        raise FitError(f"Found {n} pairs of holes, expected two or more to lay one face on the other.")
    far = -2.0 * math.log(DOUBT / n)
    kept = np.ones(n, bool)
    motion = start
    if n > 3:
        motion, z2 = _least_median(own, other, u, start)
        kept = z2 <= max(far, np.sort(z2)[n // 2])
    for _ in range(2 * n):
        motion, inverse = _least_squares(own, other, u, growth_u, motion, kept)
        off = motion.of(other) - own
        spread = _spread(off, u, kept)
        covariance = _covariances(own, u * spread, inverse * spread**2, kept)
        now = np.einsum("ni,nij,nj->n", off, np.linalg.inv(covariance), off) <= far if n > 3 else kept
        if now.sum() < max(2, n / 2) or (now == kept).all():
            break
        kept = now
    return PlaceFit(motion, kept, off, covariance, float(np.sqrt(inverse[3, 3])), spread)


def _least_median(own: np.ndarray, other: np.ndarray, u: np.ndarray, start: Motion) -> tuple[Motion, np.ndarray]:
    """The motion through two pairs at which the middle squared residual is least, and all squares there, in uncertainties."""
    best, least = start, np.full(len(own), np.inf)
    for i, j in itertools.combinations(range(len(own)), 2):
        two = np.zeros(len(own), bool)
        two[[i, j]] = True
        motion, _ = _least_squares(own, other, u, 1e-9, start, two)
        # the other end of a short pair swings: what two places cannot know is no fault of the rest
        z2 = ((motion.of(other) - own) ** 2).sum(axis=1) / u**2
        if np.sort(z2)[len(own) // 2] < np.sort(least)[len(own) // 2]:
            best, least = motion, z2
    return best, least


def _least_squares(own: np.ndarray, other: np.ndarray, u: np.ndarray, growth_u: float, start: Motion,
                   kept: np.ndarray) -> tuple[Motion, np.ndarray]:
    """The motion of least squares over the kept places, and the covariance (4, 4) of shift, turn and growth about their
    middle."""
    flat = np.asarray(other, float) * np.array([1.0, -1.0 if start.mirrored else 1.0])
    w = np.where(kept, u**-2.0, 0.0)
    amid, goal = w @ flat / w.sum(), w @ own / w.sum()
    angle, growth = start.angle_rad, start.growth
    inverse = np.eye(4)
    for _ in range(20):
        arm = (flat - amid) @ _turn(angle)
        at = (1.0 + growth) * arm
        # rows of x, then of y, by shift x, shift y, turn, growth
        by = np.stack([np.stack([np.ones(len(own)), np.zeros(len(own)), -at[:, 1], arm[:, 0]], 1),
                       np.stack([np.zeros(len(own)), np.ones(len(own)), at[:, 0], arm[:, 1]], 1)])
        residual = own - goal - at
        normal = np.einsum("dni,n,dnj->ij", by, w, by)
        normal[3, 3] += growth_u**-2.0
        right = np.einsum("dni,n,nd->i", by, w, residual)
        right[3] -= growth / growth_u**2
        inverse = np.linalg.inv(normal)
        step = inverse @ right
        goal, angle, growth = goal + step[:2], angle + float(step[2]), growth + float(step[3])
        if np.abs(step).max() < 1e-12:
            break
    bare = Motion(start.mirrored, angle, (0.0, 0.0), growth)
    x, y = goal - (1.0 + growth) * amid @ _turn(angle)
    return replace(bare, shift=(float(x), float(y))), inverse


def _spread(off: np.ndarray, u: np.ndarray, kept: np.ndarray) -> float:
    """Root of the kept offsets' chi-square by its degrees of freedom, at least 1."""
    freedom = 2 * int(kept.sum()) - 3
    if freedom < 2:
        return 1.0
    return math.sqrt(max(1.0, float(((off[kept] ** 2).sum(axis=1) / u[kept] ** 2).sum()) / freedom))


def _covariances(own: np.ndarray, u: np.ndarray, inverse: np.ndarray, kept: np.ndarray) -> np.ndarray:
    """Covariance (n, 2, 2) of each offset: its own, less (kept) or more (left out) what the motion's uncertainty makes there."""
    w = np.where(kept, u**-2.0, 0.0)
    arm = own - w @ own / w.sum()
    out = np.empty((len(own), 2, 2))
    for k, (x, y) in enumerate(arm):
        by = np.array([[1.0, 0.0, -y, x], [0.0, 1.0, x, y]])
        moved = by @ inverse @ by.T
        value, vector = np.linalg.eigh(u[k] ** 2 * np.eye(2) + (-moved if kept[k] else moved))
        out[k] = (vector * np.maximum(value, 1e-3 * u[k] ** 2)) @ vector.T
    return out


def roomiest(at: np.ndarray, off: np.ndarray, gaps: np.ndarray, wall_at: np.ndarray, wall_normal: np.ndarray,
             wall_gaps: np.ndarray) -> Roomiest:
    """The small motion of the own face whose tightest place has the most room.

    at, off (n, 2): round places and where the other face's pins stand off their middles; gaps (n,): radial gaps; wall_at,
    wall_normal (m, 2), wall_gaps (m,): places of walls, the way the own face must not move there, and how far it may.
    max over (t, phi) of min( g_i - |off_i - t - phi k x p_i| , w_j - n_j . (t + phi k x q_j) ), a linear programme with round
    rooms as polygons of FACETS sides; rooms are told exactly at its answer.  Where the walls alone settle that least room, the
    round places get the most that is left to them.  FitError: no place at all."""
    if not len(at) + len(wall_at):
        raise FitError("Found no hole and no wall, expected one at least to place a face by.")
    amid = np.vstack([at, wall_at]).mean(axis=0)
    reach = float(np.abs(np.vstack([at, wall_at]) - amid).max()) or 1.0
    angle = np.arange(FACETS) * 2 * np.pi / FACETS
    facets = np.stack([np.cos(angle), np.sin(angle)], axis=1)

    def by(places: np.ndarray, along: np.ndarray) -> np.ndarray:
        """Rows (k, 3): how far a motion moves the places along a direction."""
        arm = (places - amid) / reach
        return np.column_stack([along, arm[:, 0] * along[:, 1] - arm[:, 1] * along[:, 0]])

    places, along = np.repeat(at, FACETS, axis=0), np.tile(facets, (len(at), 1))
    # a facet's room: g - (off - motion) . d >= s; a wall's: w - motion . n >= s
    rows = np.vstack([-by(places, along), by(wall_at, wall_normal)])
    limit = np.concatenate([np.repeat(gaps, FACETS) - (np.repeat(off, FACETS, axis=0) * along).sum(axis=1), wall_gaps])
    x, y, turned, least = _most_room(rows, limit, np.ones(len(rows)))
    if len(at) and len(wall_at):
        is_round = np.arange(len(rows)) < len(along)
        x, y, turned, _ = _most_room(rows, limit - np.where(is_round, 0.0, least - TIE), is_round.astype(float))
    arm = (at - amid) / reach
    left = off - np.array([x, y]) - turned * np.column_stack([-arm[:, 1], arm[:, 0]])
    return Roomiest((float(x), float(y)), float(turned) / reach, (float(amid[0]), float(amid[1])), gaps - np.hypot(*left.T),
                    wall_gaps - by(wall_at, wall_normal) @ np.array([x, y, turned]))


def _most_room(rows: np.ndarray, limit: np.ndarray, shares: np.ndarray) -> np.ndarray:
    """Motion and room (4,): the most room r with rows @ motion + shares r <= limit."""
    solved = linprog([0.0, 0.0, 0.0, -1.0], A_ub=np.column_stack([rows, shares]), b_ub=limit, bounds=[(None, None)] * 4,
                     method="highs")
    if not solved.success:
        raise FitError(f"No placing was found for {len(rows)} limits of holes and walls ({solved.message}).")
    return np.asarray(solved.x)


def own_uncertainties(count: int, ends: Sequence[tuple[int, int]], u: Sequence[float]) -> np.ndarray:
    """Standard uncertainty (count,) of each place along any direction, from those of distances between them:
    u(L_ij)^2 = u_i^2 + u_j^2, least squares with none below zero; the root mean square of all where a place is at no end."""
    rows = np.zeros((len(ends), count))
    for row, (i, j) in zip(rows, ends, strict=True):
        row[[i, j]] = 1.0
    if not len(ends):
        raise FitError("Found no distance between the holes, expected their uncertainties to come from some.")
    squares = nnls(rows, np.square(u))[0]
    usual = float(np.mean(np.square(u))) / 2.0
    # a share of none is chance: no place is known better than half as well as usual
    return np.sqrt(np.where(rows.any(axis=0), np.maximum(squares, 0.25 * usual), usual))
