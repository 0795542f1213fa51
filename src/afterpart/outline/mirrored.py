"""Two outer sides that lie alike about a middle that is held: their distance carries the number, each lies half of it away.

A plate 42.3 wide about its bore has sides at 21.15, which lies on no lattice of tenths; its width does.
Limits: sides along the frame's axes, the outermost of their direction; the middle is a circle's, held before.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.outline.features import axis_quarter, line_rows
from afterpart.outline.frame import Lattice
from afterpart.outline.nominals import Choice, choose
from afterpart.outline.part import Part
from afterpart.outline.quantities import Held, Quantity
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.settling import Ledger, lattices_of

ALIKE_U = 3.0
"""Sides whose middle lies off the held one by more standard uncertainties do not lie alike about it."""

AS_WIDE = 0.3
"""Weight per mm of the width the part already has the other way (judgement)."""


def hold_mirrored_sides(ledger: Ledger, part: Part, lattice: Lattice, settings: OutlineSettings, threshold: float) -> bool:
    """Hold the sides of each direction whose width has a nominal this probable; True when any is held now."""
    held_now = False
    for axis, kind in (("x", "center_x"), ("y", "center_y")):
        sides = _outermost(ledger, part, axis)
        middles = sorted({h.value for h in ledger.held if h.quantity.kind == kind})
        if sides is None or not middles:
            continue
        low, high = sides
        width, u = ledger.look(Quantity("sum_offset", (low, high)))
        place = 0.5 * (_coordinate(ledger, low) + _coordinate(ledger, high))
        middle = min(middles, key=lambda value: abs(value - place))
        _, place_u = ledger.look(Quantity("same_offset", (low, high)))
        if abs(middle - place) > ALIKE_U * math.hypot(0.5 * place_u, 0.006):
            continue
        others = {round(abs(value), 6) for value in _widths_held(ledger, part)}
        choice = choose(abs(width), math.hypot(u, 0.005), lattices_of(Quantity(kind, (low,)), lattice), lattice.free,
                        [*((value, AS_WIDE) for value in sorted(others)), *ledger.likely_widths])
        if choice.value is None or choice.probability < threshold:
            continue
        if 0.5 * abs(choice.value - abs(width)) > settings.move_limit:
            continue
        _hold(ledger, (low, high), middle, choice)
        held_now = True
    return held_now


def _outermost(ledger: Ledger, part: Part, axis: str) -> tuple[int, int] | None:
    """The lowest and the highest side across an axis, where they face each other, neither is held and both run straight along
    the other axis."""
    turned = [h for h in ledger.held if h.quantity.kind == "direction"]
    square = {h.quantity.rows[0] for h in turned if axis_quarter(h.value, 1e-9) is not None}
    across = [row for row in line_rows(part) if row in square and _is_across(ledger, row, axis)]
    if len(across) < 2:
        return None
    low, high = (pick(across, key=lambda row: _coordinate(ledger, row)) for pick in (min, max))
    taken = {row for h in ledger.held if h.quantity.kind == "offset" for row in h.quantity.rows}
    facing = axis_quarter(ledger.state[low, 0]) != axis_quarter(ledger.state[high, 0])
    return (low, high) if facing and not taken & {low, high} else None


def _is_across(ledger: Ledger, row: int, axis: str) -> bool:
    """Whether a line's coordinate is one of this axis."""
    quarter = axis_quarter(ledger.state[row, 0])
    return quarter is not None and (quarter % 2 == 1) == (axis == "x")


def _coordinate(ledger: Ledger, row: int) -> float:
    """Of a line along an axis."""
    return _sign(ledger, row) * float(ledger.state[row, 1])


def _sign(ledger: Ledger, row: int) -> float:
    """Of a line's coordinate against its offset along its left normal."""
    return 1.0 if axis_quarter(ledger.state[row, 0]) in (0, 3) else -1.0


def _widths_held(ledger: Ledger, part: Part) -> list[float]:
    """Distances of outermost sides that are both held."""
    out = []
    for axis in ("x", "y"):
        places = [_coordinate(ledger, row) for row in _rows_held(ledger.held) if _is_across(ledger, row, axis)]
        if len(places) > 1:
            out.append(max(places) - min(places))
    return out


def _rows_held(held: list[Held]) -> list[int]:
    """Lines whose offset is held."""
    return [h.quantity.rows[0] for h in held if h.quantity.kind == "offset"]


def _hold(ledger: Ledger, sides: tuple[int, int], middle: float, width: Choice) -> None:
    """Each side half the width from the middle."""
    assert width.value is not None
    for row, way in zip(sides, (-0.5, 0.5), strict=True):
        quantity, sign = Quantity("offset", (row,)), _sign(ledger, row)
        runner = None if width.runner_up is None else sign * (middle + way * width.runner_up)
        place = sign * (middle + way * width.value)
        ledger.choices[quantity] = Choice(place, width.probability, runner)
        ledger.hold(quantity, place, width.probability)
