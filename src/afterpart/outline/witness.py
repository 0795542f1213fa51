"""What the mating part's picture adds to the design of this one: both were made to one drawing.

Words: the *witness* is the mate's picture; a hole *was moved* when it stands elsewhere on one of the two parts than the drawing
had it.  Places of holes are what both parts have in common (their diameters are not: a clearance hole lies on a thread).
The mate's places, laid on the part by a motion that is itself unknown (shift, turn, growth), are an observation of the part's
state as its drawing has it, with what making may be off by (MADE) beside the measuring.  Likelihoods of the design's candidates
are then those of both pictures together.  The hypothesis "moved" is weighed first (geometry/moved.py): a moved hole is no
witness, and what is left of the doubt goes into each probability:
        p = (1 - m) p(both) + m p(own picture alone),      m: one of the two holes was moved
Conventions: house units of the outline stage, mm where this is used.
Limits: the measured state stays the part's own; only the design hears the witness.  The largest part alone.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from afterpart.geometry.moved import moved_places, open_motion
from afterpart.model.edges import Witness
from afterpart.model.outline import ByMate
from afterpart.outline.dimensions import Item
from afterpart.outline.part import Part, with_errors
from afterpart.outline.traced import TracedPart

MADE = 0.035
"""Standard deviation of a hole's place on either part from its drawing, each direction, mm: drilled by a jig or moulded beside
(judgement; 0.05 mm on a distance of two)."""

SAME = 1.0
"""A hole of the witness is one of the part's when their middles agree so far, mm: they were measured in one frame."""

BY_MATE = "the mate's picture"


@dataclass(frozen=True)
class Heard:
    """part: as its drawing has it by both pictures; rows (n,): circles that the witness saw; moved (n,): probabilities; kept
    (n,): the holes it speaks of; places (n, 2): the mate's, in its own frame; u (n,): standard uncertainty of each, each
    direction; growth_u: of its size, relative."""

    part: Part
    rows: tuple[int, ...]
    moved: np.ndarray
    kept: np.ndarray
    places: np.ndarray
    u: np.ndarray
    growth_u: float

    def says(self, item: Item, alone: float) -> ByMate | None:
        """What the witness says of a dimension; None for other than a distance of two holes it saw.  alone: probability of the
        design value without it."""
        if item.kind != "distance" or not set(item.rows) <= set(self.rows):
            return None
        i, j = (self.rows.index(row) for row in item.rows)
        length = math.dist(self.places[i], self.places[j])
        u = math.sqrt(self.u[i] ** 2 + self.u[j] ** 2 + (self.growth_u * length) ** 2)
        used = bool(self.kept[i] and self.kept[j])
        return ByMate(round(length, 6), round(u, 6), round(self.doubt(item), 4), round(alone, 4), used)

    def doubt(self, item: Item) -> float:
        """Probability that one of a dimension's holes was moved."""
        mine = [self.moved[self.rows.index(row)] for row in item.rows if row in self.rows]
        return float(1.0 - np.prod([1.0 - p for p in mine]))


def hear(item: TracedPart, witness: Witness, middle: np.ndarray) -> Heard | None:
    """The part as both pictures have it; None where they share fewer than two holes.  middle (2,): of the edge map, where the
    state's frame has its origin."""
    found = _shared(item.part, witness, middle)
    if len(found) < 2:
        return None
    rows = tuple(row for row, _ in found)
    places = np.array([witness.holes[k].mate for _, k in found])
    u = np.array([witness.holes[k].u for _, k in found])
    own = item.part.state[list(rows), :2]
    off = _laid(own, places, witness.mirrored) - own
    numbers = np.array([3 * row + axis for row in rows for axis in (0, 1)])
    covariance = item.part.errors.covariance
    apart = np.diag(np.repeat(u**2 + 2.0 * MADE**2, 2))
    moved = moved_places(own, off, covariance[np.ix_(numbers, numbers)] + apart, witness.growth_u)
    kept = np.repeat(moved.kept, 2)
    part = item.part if moved.kept.sum() < 2 else _updated(item.part, numbers[kept], off[moved.kept], own[moved.kept],
                                                           apart[np.ix_(kept, kept)], witness.growth_u)
    return Heard(part, rows, moved.probability, moved.kept, places, u, witness.growth_u)


def _shared(part: Part, witness: Witness, middle: np.ndarray) -> list[tuple[int, int]]:
    """(row, number of the witness's hole) of the circles that are both's."""
    out = []
    for row in part.circles():
        away = [math.dist(part.state[row, :2], np.array(hole.own) - middle) for hole in witness.holes]
        k = int(np.argmin(away)) if away else -1
        if k >= 0 and away[k] < SAME and k not in {taken for _, taken in out}:
            out.append((row, k))
    return out


def _laid(own: np.ndarray, places: np.ndarray, mirrored: bool) -> np.ndarray:
    """The mate's places (n, 2) on the part's, by the shift and turn of least squares."""
    theirs = places * np.array([1.0, -1.0 if mirrored else 1.0])
    one, two = ((p - p.mean(axis=0)) @ np.array([1.0, 1.0j]) for p in (own, theirs))
    turn = np.vdot(two, one)
    laid = two * (turn / abs(turn))
    return np.column_stack([laid.real, laid.imag]) + own.mean(axis=0)


def _updated(part: Part, numbers: np.ndarray, off: np.ndarray, own: np.ndarray, apart: np.ndarray, growth_u: float) -> Part:
    """The part after the observation that its circles' centres (numbers of the state) lie `off` (n, 2) from where it has them
    (own), with the motion's uncertainty and that of the places by themselves (apart)."""
    errors = part.errors
    motion = open_motion(own, growth_u)
    noise = apart + motion @ motion.T
    rows = np.zeros((len(numbers), part.state.size))
    rows[np.arange(len(numbers)), numbers] = 1.0
    covariance = errors.covariance
    gain = covariance @ rows.T @ np.linalg.inv(rows @ covariance @ rows.T + noise)
    state = part.state + (gain @ off.ravel()).reshape(part.state.shape)
    after = errors.mapped(np.eye(part.state.size) - gain @ rows)
    own_errors = gain @ np.linalg.cholesky(noise)
    count = after.common
    after = replace(after, columns=np.column_stack((after.columns[:, :count], own_errors, after.columns[:, count:])),
                    causes=after.causes[:count] + (BY_MATE,) * len(numbers) + after.causes[count:],
                    dof=after.dof[:count] + (math.inf,) * len(numbers) + after.dof[count:], common=count + len(numbers))
    return with_errors(replace(part, state=state), after)
