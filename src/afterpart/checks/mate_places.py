"""What a measured mate says of the places where the cover meets it, for the checks of the fit.

Words: as in model/mate.py; a *standing* is how far the mate's feature stands off the cover's, as drawn.
Conventions: mm; drawing frame.
Limits: what a mate's picture does not show (a hole without a partner) stays as the table of tolerances has it.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from afterpart.checks.fit_contacts import Spot
from afterpart.model.mate import MateHole, MateMatch
from afterpart.model.outline import Point

COVERAGE = 2.0
"""Standard uncertainties in what a distance may be off by at worst."""


@dataclass(frozen=True)
class Standing:
    """off: mean; u: standard uncertainty in each direction."""

    off: Point
    u: float


def mate_hole(match: MateMatch, id: str) -> MateHole | None:
    """The hole of the cover with this id, where the mate has a partner for it."""
    return next((hole for hole in match.holes if hole.cover == id), None)


def standing(match: MateMatch, spot: Spot) -> Standing | None:
    """How the mate stands at a place of the cover; None where its picture does not show it.

    At a wall: what the room there differs by from the gap as drawn, along the way the mate is stopped."""
    if spot.normal is None:
        hole = mate_hole(match, spot.name) if not spot.size else None
        return None if hole is None else Standing(hole.offset, math.sqrt((hole.u[0] ** 2 + hole.u[1] ** 2) / 2.0))
    wall = next((wall for wall in match.walls if (wall.name, wall.at) == (spot.name, spot.at)), None)
    if wall is None:
        return None
    nearer = spot.gap - wall.room
    return Standing((nearer * spot.normal[0], nearer * spot.normal[1]), wall.u)


def usual_u(match: MateMatch) -> float:
    """Root mean square of the holes' standard uncertainties, each direction."""
    return math.sqrt(sum(hole.u[0] ** 2 + hole.u[1] ** 2 for hole in match.holes) / (2.0 * len(match.holes)))


def distance_off(match: MateMatch, one: str, other: str) -> tuple[float, float] | None:
    """By how much the mate's distance between two holes is longer than the cover's, and its standard uncertainty; None where one
    of them has no partner, or both are one."""
    a, b = mate_hole(match, one), mate_hole(match, other)
    if a is None or b is None or a is b:
        return None
    length = math.dist(a.at, b.at)
    along = ((b.at[0] - a.at[0]) / length, (b.at[1] - a.at[1]) / length)
    off = sum((q - p) * w for p, q, w in zip(a.offset, b.offset, along, strict=True))
    u = sum(((p * p + q * q) / 2.0 for hole in (a, b) for p, q in (hole.u,)), 0.0)
    return off, math.sqrt(u + (match.laying.growth_u * length) ** 2)


def lip_off(match: MateMatch, name: str, clearance: float) -> tuple[float, float] | None:
    """By how much the mate's width across a lip is off, at worst twice what its least room lacks of the clearance, and u."""
    rooms = [wall for wall in match.walls if wall.name == name]
    if not rooms:
        return None
    worst = min(rooms, key=lambda wall: wall.room)
    return 2.0 * (clearance - worst.room), 2.0 * worst.u


def worst_off(off: tuple[float, float]) -> float:
    """What a distance may be off by, either way: the measured difference and COVERAGE standard uncertainties."""
    return abs(off[0]) + COVERAGE * off[1]
