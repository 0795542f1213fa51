"""What the solved design says of each dimension: how probable, what else, where from; and the relations it holds."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from afterpart.model.outline import Relation
from afterpart.outline.datum import Place
from afterpart.outline.design import Design
from afterpart.outline.dimensions import Item
from afterpart.outline.quantities import Held, Quantity


@dataclass(frozen=True)
class Verdict:
    probability: float
    runner_up: float | None
    origin: str


def judge_dimension(item: Item, design: Design, intended: float, is_read: bool) -> Verdict:
    """Probability of a dimension's design value: that of the held values it rests on, taken as independent."""
    if item.kind in ("diameter", "radius"):
        held = _size(item, design)
        choice = design.choices.get(held.quantity) if held else None
        probability = held.probability if held else 0.0
        runner = choice.runner_up if choice else None
    else:
        probability, runner = _rests_on(item, design), None
    if design.lattice is not None:
        probability *= design.lattice.probability
    origin = "reading" if is_read else "inferred" if probability > 0.0 else "free"
    return Verdict(probability, runner, origin)


def _size(item: Item, design: Design) -> Held | None:
    """The held value that gives a diameter or radius: its own, or that of an equal hole."""
    rows = next((group for group in design.equal if item.rows[0] in group), item.rows)
    for held in design.held:
        if held.quantity.kind == item.kind and held.quantity.rows[0] in rows:
            return held
    return None


def _rests_on(item: Item, design: Design) -> float:
    """Product over rows of the least probable held place of each; 0 when some row has none."""
    wanted = {
        "distance": ("center_x", "center_y"),
        "width": ("offset", "vertex_x", "vertex_y"),
        "length": ("offset", "vertex_x", "vertex_y"),
        "angle": ("direction", "vertex_x", "vertex_y"),
    }.get(item.kind, ())
    total = 1.0
    for row in item.rows:
        row = next((circle for own, circle in design.concentric if own == row), row) if item.kind == "distance" else row
        mine = [h.probability for h in design.held if h.quantity.kind in wanted and row in h.quantity.rows]
        implied = [q for q in design.choices if q.kind in wanted and row in q.rows and design.choices[q].probability > 0.5]
        if not mine and not implied:
            return 0.0
        total *= min(mine) if mine else 0.9
    return total


def list_relations(design: Design, ids: dict[int, str], place: Place) -> list[Relation]:
    """Relations the design holds, by segment ids."""
    out = [Relation("tangent", (ids[a], ids[b])) for a, b in design.part.touches()]
    out += [Relation("equal_radius", tuple(ids[row] for row in group)) for group in design.equal if len(group) > 1]
    out += [
        Relation("concentric", (ids[a], ids[b]))
        for a, b in design.concentric
        if math.hypot(*(design.part.state[a, :2] - design.part.state[b, :2])) < 1e-6
    ]
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
    lines = [row for row in range(len(design.part.is_arc)) if not design.part.is_arc[row]]
    for i, a in enumerate(lines):
        for b in lines[i + 1 :]:
            turn = math.remainder(design.part.state[a, 0] - design.part.state[b, 0], math.pi)
            if abs(turn) < 1e-9:
                out.append(Relation("parallel", (ids[a], ids[b])))
                break
    return out
