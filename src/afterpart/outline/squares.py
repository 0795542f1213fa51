"""Four holes at the corners of a square about a bore: held by the square's side where that, not their pitch circle, was drawn.

Words: the *side* is the distance of neighbouring holes' centres; a *shared* square is one that much machinery has
(standards/hole_squares.py): its bore and its holes then have sizes of their own that are likely.
Limits: squares that stand straight in the part's frame; each of the holes' places may lie off the lattice, as a half side does.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.outline.frame import Lattice
from afterpart.outline.nominals import Choice, candidate_weights, likelihood
from afterpart.outline.quantities import Quantity
from afterpart.outline.relations import PitchCircle
from afterpart.outline.settling import Ledger, lattices_of
from afterpart.standards.hole_squares import HOLE_SQUARES, squares_of_side

ROUND_ODDS = 2.0
"""How much better four holes in a square must fit a pitch circle of round size than a square of one (judgement)."""

STRAIGHT = math.radians(1.0)
"""A square turned by less against the frame stands straight."""

SHARED_WORTH = 0.1
"""Weight per mm of each side that is shared: of the squares of holes within 100 mm, one in sixty is a shared one (judgement)."""

SHARED_BORE, SHARED_HOLE, SHARED_WIDTH = 3.0, 1.5, 1.0
"""Weights per mm of the bore, of the holes and of the body's width that a shared square has, where its side is held
(judgement)."""

PROBABLE = 0.5


def side_of(circle: PitchCircle, lattice: Lattice) -> Choice | None:
    """The side that was drawn and how probable it is; None where a pitch circle was, or the square stands aslant.

    The two sizes tell the same places: each has its candidates, and the best of all of them, against a size without any, wins."""
    if circle.bore is None or len(circle.rows) != 4 or abs(_off_straight(circle.start_rad)) > STRAIGHT:
        return None
    diameter = 2.0 * circle.radius
    u = math.hypot(2.0 * circle.u, diameter * lattice.scale_u) + 0.004
    lattices = lattices_of(Quantity("center_x", (0,)), lattice)
    shared = [(square.side, SHARED_WORTH) for square in HOLE_SQUARES] if lattice.profile.system == "metric" else []
    side, side_u = diameter * math.sqrt(0.5), u * math.sqrt(0.5)
    square = _weighed(side, side_u, candidate_weights(side, side_u, lattices, shared))
    round_ = _weighed(diameter, u, candidate_weights(diameter, u, lattices))
    if not square or max(round_.values(), default=0.0) > ROUND_ODDS * max(square.values()):
        return None
    ranked = sorted(square, key=lambda value: -square[value])
    total = lattice.free + sum(square.values()) + sum(round_.values()) / ROUND_ODDS
    choice = Choice(ranked[0], square[ranked[0]] / total, ranked[1] if len(ranked) > 1 else None)
    return choice if choice.probability > PROBABLE else None


def _off_straight(angle_rad: float) -> float:
    """Of the first hole's angle from the nearest diagonal."""
    return math.remainder(angle_rad - math.pi / 4, math.pi / 2)


def _weighed(value: float, u: float, weights: dict[float, float]) -> dict[float, float]:
    """Posterior weight of each candidate."""
    return {v: w * likelihood(value - v, u) for v, w in weights.items()}


def hold_square(ledger: Ledger, circle: PitchCircle, center: tuple[float, float], side: Choice) -> None:
    """Hold one hole at half a side from the centre, the others as its images, and tell what a shared square's bore and holes
    are."""
    assert side.value is not None
    rows = sorted(circle.rows, key=lambda row: math.atan2(*(ledger.state[row, 1::-1] - circle.center[::-1])))
    first, second, third, fourth = rows  # from the lower left one on, counter-clockwise
    for axis, kind in enumerate(("center_x", "center_y")):
        quantity, place = Quantity(kind, (first,)), center[axis] - 0.5 * side.value
        runner = None if side.runner_up is None else center[axis] - 0.5 * side.runner_up
        ledger.choices[quantity] = Choice(place, side.probability, runner)
        ledger.hold(quantity, place, side.probability)
    for kind, pair, value in (("sum_x", (first, second), 2.0 * center[0]), ("same_y", (first, second), 0.0),
                              ("same_x", (second, third), 0.0), ("sum_y", (second, third), 2.0 * center[1]),
                              ("same_x", (first, fourth), 0.0), ("same_y", (third, fourth), 0.0)):
        ledger.hold(Quantity(kind, pair), value, 0.99, relation=True)
    for square in squares_of_side(side.value):
        if square.bore is not None and circle.bore is not None:
            ledger.likely.setdefault(circle.bore, []).append((square.bore, SHARED_BORE))
        if square.width is not None:
            ledger.likely_widths.append((square.width, SHARED_WIDTH))
        if square.hole is not None:
            for row in rows:
                ledger.likely.setdefault(row, []).append((square.hole, SHARED_HOLE))
