"""What the solved design says of each dimension: how probable, what else, where from; and the relations it holds.

A dimension's design value is *settled* when the held values and touching conditions leave it no room.  Held value i then enters
it with a weight w (its derivative by that value), and the dimension is right when all that enter are: their probabilities,
each given those before it, are multiplied.  Whatever leaves it room is free, whatever it looks like.  Values that are right tend
to be right together, so the product is too humble; what is stated is sharpened by what the whole study saw (``SHARPER``).
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from afterpart.model.outline import Relation
from afterpart.outline.datum import Place
from afterpart.outline.design import Design
from afterpart.outline.dimensions import Item
from afterpart.outline.maker import RELATION_WORDS
from afterpart.outline.quantities import Held, Quantity, gradient

ROOM = 2e-3
"""A dimension that may still move by this much (standard uncertainty given all that is held; mm or degrees) is free."""

ENTERS = 0.02
"""A held value enters a dimension when it moves it by at least this share of its own change."""

TOUCH_PROBABILITY = 0.999

SHARPER = 1.5
"""Power to which the odds of a product above one half are raised before they are stated.  Least log score of 8400 dimensions of
300 photographs calculated at 8 megapixels: 1.90 on the scenes of odd number, 1.89 on the even ones; 1.5 keeps the values stated
0.95 or more and wrong at 1 in 360 there, where 1.9 would let them come to 1 in 200.  Raising odds to a power is temperature
scaling (Guo, Pleiss, Sun, Weinberger 2017, from memory)."""


@dataclass(frozen=True)
class Verdict:
    probability: float
    runner_up: float | None
    origin: str


@dataclass(frozen=True)
class Grounds:
    """What holds a design: held values and touching conditions with their slopes (h, 3k), the covariance (3k, 3k) they act in,
    and the inverse (h, h) of slopes covariance slopes'."""

    design: Design
    held: tuple[Held, ...]
    slopes: np.ndarray
    covariance: np.ndarray
    inverse: np.ndarray

    def of(self, slopes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Room (n,) left to quantities of these slopes (n, 3k), and the weights (n, h) with which the held values enter each."""
        reach = slopes @ self.covariance
        squares = (slopes * reach).sum(axis=1)
        cross = reach @ self.slopes.T
        weights = cross @ self.inverse
        return np.sqrt(np.maximum(squares - (cross * weights).sum(axis=1), 0.0)), weights


def grounds_of(design: Design) -> Grounds:
    """The grounds of a design, at its own state."""
    part = design.part
    touches = tuple(Held(Quantity("touch", pair), 0.0, TOUCH_PROBABILITY) for pair in part.touches())
    held = (*design.held, *touches)
    slopes = np.array([gradient(item.quantity, part.is_arc, part.state)[1] for item in held]).reshape(len(held), part.state.size)
    # a little room of its own for every number, so that nothing is held by the measurement's covariance alone
    ease = np.where(np.repeat(part.is_arc, 3), 1e-6, np.tile([1e-10, 1e-6, 1e-6], len(part.is_arc)))
    covariance = design.measured.covariance + np.diag(ease)
    system = slopes @ covariance @ slopes.T
    weight = 1.0 / np.sqrt(np.maximum(np.diag(system), 1e-24))
    inverse = np.linalg.pinv(system * np.outer(weight, weight), rcond=1e-11, hermitian=True) * np.outer(weight, weight)
    return Grounds(design, held, slopes, covariance, inverse)


def judge_dimension(item: Item, grounds: Grounds, value: float, room: float, weights: np.ndarray, is_read: bool) -> Verdict:
    """value: of the dimension at the design's state; room and weights (h,): as the grounds have them for its slope there."""
    design = grounds.design
    if design.lattice is None or room > ROOM:
        return Verdict(0.0, None, "reading" if is_read else "free")
    probability, runner, least = design.lattice.probability, None, 1.0
    for at in np.flatnonzero(np.abs(weights) > ENTERS):  # a natural change is one at most
        held, weight = grounds.held[at], weights[at]
        if abs(weight) * _natural(held, item) > ENTERS:
            probability *= held.probability
            choice = design.choices.get(held.quantity)
            if choice is not None and choice.runner_up is not None and held.probability < least:
                # what the dimension would be, were the least sure of its values the next best one
                least, runner = held.probability, value + float(weight) * (choice.runner_up - held.value)
    if item.kind in ("diameter", "radius"):
        choice = design.choices.get(Quantity(item.kind, item.rows))
        runner = choice.runner_up if choice and choice.runner_up is not None else runner
    runner = None if runner is None or abs(runner - value) < ROOM else round(runner, 6)
    return Verdict(sharpened(probability), runner, "reading" if is_read else "inferred")


def sharpened(probability: float) -> float:
    """Of a product of probabilities (0 to 1) what is stated: its odds to the power SHARPER above one half, else itself."""
    if probability <= 0.5:
        return probability
    right, wrong = probability**SHARPER, (1.0 - probability) ** SHARPER
    return right / (right + wrong)


def _natural(held: Held, item: Item) -> float:
    """Change of a held value that matters, in its own unit, over that of the dimension: a degree of direction is worth a
    degree of angle, and a millimetre of nothing else."""
    if item.kind == "angle":
        return math.radians(1.0) if held.quantity.kind in ("direction", "same_direction") else 1.0
    return 1.0 if held.quantity.kind not in ("direction", "same_direction") else math.radians(1.0)


def list_relations(design: Design, ids: dict[int, str], place: Place) -> list[Relation]:
    """Relations the design holds, by segment ids."""
    out = [Relation("tangent", (ids[a], ids[b])) for a, b in design.part.touches()]
    out += [Relation("equal_radius", tuple(ids[row] for row in group)) for group in design.equal if len(group) > 1]
    out += [
        Relation("concentric", (ids[a], ids[b]))
        for a, b in design.concentric
        if math.hypot(*(design.part.state[a, :2] - design.part.state[b, :2])) < 1e-6
    ]
    known = {(relation.kind, frozenset(relation.of)) for relation in out}
    for told in design.relations:
        relation = Relation(RELATION_WORDS[told.what], tuple(ids[row] for row in told.rows))
        if (relation.kind, frozenset(relation.of)) not in known and relation.kind in ("equal_radius", "concentric", "symmetric"):
            out.append(relation)
    for circle in design.pitch:
        bore = (ids[circle.bore],) if circle.bore is not None else ()
        out.append(Relation("pitch_circle", (*bore, *(ids[row] for row in circle.rows))))
    gridded = [
        ids[row]
        for row in design.part.circles()
        if all(any(h.quantity == Quantity(kind, (row,)) for h in design.held) for kind in ("center_x", "center_y"))
        and not any(row in circle.rows for circle in design.pitch)
    ]
    if len(gridded) > 1:
        out.append(Relation("grid", tuple(gridded)))
    for _, pairs in place.mirrors:
        out += [Relation("symmetric", (ids[a], ids[b])) for a, b in pairs]
    return out + _line_relations(design, ids)


def _line_relations(design: Design, ids: dict[int, str]) -> list[Relation]:
    """For each line the next one parallel to it, in line with it, and square to it."""
    state = design.part.state
    lines = [row for row in range(len(state)) if not design.part.is_arc[row]]
    out = []
    for i, a in enumerate(lines):
        wanted = {"parallel", "collinear", "perpendicular"}
        for b in lines[i + 1 :]:
            turn = math.remainder(state[a, 0] - state[b, 0], math.pi)
            same_way = abs(math.remainder(state[a, 0] - state[b, 0], 2.0 * math.pi)) < 1e-9
            if abs(turn) < 1e-9:
                in_line = abs(state[a, 1] - (state[b, 1] if same_way else -state[b, 1])) < 1e-6
                kind = "collinear" if in_line else "parallel"
            elif abs(abs(turn) - math.pi / 2.0) < 1e-9:
                kind = "perpendicular"
            else:
                continue
            if kind in wanted:
                wanted.remove(kind)
                out.append(Relation(kind, (ids[a], ids[b])))
    return out
