"""The order in which a piece's steps are carried out, and what several pieces have in common.  Imports no kernel.

Words: a *group* is what the kernel does at once: one step, or cuts that follow each other; a *recipe* is a piece's groups in
order; its *stem* is what it begins with and shares with another recipe, made once for both.
A first-layer chamfer comes before cuts that begin above it: neither meets the other, the body is the same, and frames that differ
in their pilot holes alone then share all but those holes.
Conventions: mm; the first layer lies at z = 0.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from itertools import takewhile

from afterpart.model.piece import Add, ChamferFirstLayer, Cut, Deboss, Prism, Step, TreatLoop

Group = tuple[Step, ...]

_APART = 0.01
"""How far above a chamfer a cut begins that does not meet it, mm."""

_LETTER, _WALL, _TREATED_WALL = 8, 1, 6
"""What a letter, a wall and a rounded or bevelled wall cost against each other."""


def recipe_of(steps: Sequence[Step]) -> tuple[Group, ...]:
    """The steps in groups, first-layer chamfers before the cuts that do not meet them."""
    groups = list(grouped(steps))
    for i in range(1, len(groups)):
        if isinstance(chamfer := groups[i][0], ChamferFirstLayer) and _begin_above(groups[i - 1], chamfer.width + _APART):
            groups[i - 1], groups[i] = groups[i], groups[i - 1]
    return tuple(groups)


def grouped(steps: Sequence[Step]) -> tuple[Group, ...]:
    """The steps in the order given.  Cuts one after the other go together: their order does not matter, and one large boolean is
    quicker than several."""
    groups: list[Group] = []
    for step in steps:
        if groups and isinstance(step, Cut) and isinstance(groups[-1][0], Cut):
            groups[-1] = (*groups[-1], step)
        else:
            groups.append((step,))
    return tuple(groups)


def _begin_above(group: Group, height: float) -> bool:
    solids = [solid for step in group if isinstance(step, Cut) for solid in step.prisms]
    return bool(solids) and all(min(solid.bottom, solid.top) > height for solid in solids)


def stems(recipes: Sequence[tuple[Group, ...]]) -> tuple[int, ...]:
    """For each recipe, how many of its first groups another of them begins with too, at most all but its last."""
    return tuple(max((_in_common(recipe[:-1], other) for j, other in enumerate(recipes) if i != j), default=0)
                 for i, recipe in enumerate(recipes))


def _in_common(recipe: tuple[Group, ...], other: tuple[Group, ...]) -> int:
    return len(list(takewhile(lambda pair: pair[0] == pair[1], zip(recipe, other, strict=False))))


def effort(steps: Sequence[Step]) -> int:
    """What building takes, roughly, in walls to be made: letters, and walls that are rounded or bevelled, count several times."""
    return sum(map(_effort_of, steps))


def _effort_of(step: Step) -> int:
    match step:
        case Deboss(texts):
            return _LETTER * sum(len(text.text) for text in texts)
        case Add(solids) | Cut(solids):
            return sum(_walls(solid) if isinstance(solid, Prism) else _WALL for solid in solids)
        case TreatLoop(chain):
            return _TREATED_WALL * len(chain)
    return 0


def _walls(prism: Prism) -> int:
    treated = sum(size > 0 for size in (prism.bottom_round, prism.bottom_bevel, prism.top_round, prism.top_bevel))
    return (len(prism.outer) + sum(map(len, prism.openings))) * (_WALL + _TREATED_WALL * treated)
