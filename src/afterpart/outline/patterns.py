"""Pitch circles: holes at equal angles, held with their centre, diameter and first angle at nominals where these are probable."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

from afterpart.outline.frame import Lattice
from afterpart.outline.nominals import candidate_weights, choose, likelihood
from afterpart.outline.part import Part
from afterpart.outline.quantities import Quantity
from afterpart.outline.relations import PitchCircle
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.settling import Ledger, lattices_of
from afterpart.outline.squares import ROUND_ODDS, hold_square, side_of


def hold_pitch_circles(
    ledger: Ledger, part: Part, pitch: list[PitchCircle], lattice: Lattice, settings: OutlineSettings
) -> list[PitchCircle]:
    """Hold the holes of each pitch circle at equal angles, its centre, diameter and first angle at nominals where probable."""
    kept = []
    for circle in pitch:
        count = len(circle.rows)
        lattices = lattices_of(Quantity("center_x", (0,)), lattice)
        side = side_of(circle, lattice)
        square = side is None and count == 4 and _all_on_lattice(ledger, circle, lattices, lattice.free)
        if square and not _rather_round(circle, lattice):
            continue
        center = []
        for axis, kind in enumerate(("center_x", "center_y")):
            value, u = circle.center[axis], math.hypot(circle.u, 0.006)
            if circle.bore is not None:
                bore_value, bore_u = ledger.look(Quantity(kind, (circle.bore,)))
                bore_u = math.hypot(bore_u, 0.004)
                value, u = (value / u**2 + bore_value / bore_u**2) / (u**-2 + bore_u**-2), (u**-2 + bore_u**-2) ** -0.5
            choice = choose(value, math.hypot(u, 0.006), lattices, lattice.free)
            center.append(choice.value if choice.value is not None and choice.probability > 0.5 else value)
        if circle.bore is not None:
            for axis, kind in enumerate(("center_x", "center_y")):
                ledger.hold(Quantity(kind, (circle.bore,)), center[axis], 0.98)
        if side is not None:
            hold_square(ledger, circle, (center[0], center[1]), side)
            continue
        size = Quantity("diameter", (circle.rows[0],))
        choice = choose(
            2.0 * circle.radius,
            math.hypot(2.0 * circle.u, 2.0 * circle.radius * lattice.scale_u) + 0.004,
            lattices_of(size, lattice),
            lattice.free,
        )
        diameter = choice.value if choice.value is not None and choice.probability > 0.5 else 2.0 * circle.radius
        start = _pattern_angle(circle, settings)
        probability = choice.probability if diameter == choice.value else 0.3
        for k, row in enumerate(circle.rows):
            at = start + 2.0 * math.pi * k / count
            ledger.hold(Quantity("center_x", (row,)), center[0] + 0.5 * diameter * math.cos(at), probability)
            ledger.hold(Quantity("center_y", (row,)), center[1] + 0.5 * diameter * math.sin(at), probability)
        kept.append(replace(circle, center=(center[0], center[1]), radius=0.5 * diameter, start_rad=start))
    return kept


def _all_on_lattice(ledger: Ledger, circle: PitchCircle, lattices: list[tuple[float, float, float]], free: float) -> bool:
    """Four holes in a square: do their own coordinates lie on the lattice?"""
    for row in circle.rows:
        for kind in ("center_x", "center_y"):
            value, u = ledger.look(Quantity(kind, (row,)))
            choice = choose(value, math.hypot(u, 0.006), [item for item in lattices if item[0] > 0.3], free)
            if choice.value is None or choice.probability < 0.5:
                return False
    return True


def _rather_round(circle: PitchCircle, lattice: Lattice) -> bool:
    """Four holes in a square about a bore: was their pitch circle drawn, not their distances?

    Each hole may lie near the lattice by itself, while all of them together tell which of the two sizes does.
    """
    if circle.bore is None:
        return False
    diameter, u = 2.0 * circle.radius, math.hypot(2.0 * circle.u, 2.0 * circle.radius * lattice.scale_u) + 0.004
    worth = []
    for value, own_u in ((diameter, u), (diameter * math.sqrt(0.5), u * math.sqrt(0.5))):
        weights = candidate_weights(value, own_u, lattices_of(Quantity("center_x", (0,)), lattice))
        worth.append(max((w * likelihood(value - v, own_u) for v, w in weights.items()), default=0.0))
    return worth[0] > ROUND_ODDS * worth[1]


def _pattern_angle(circle: PitchCircle, settings: OutlineSettings) -> float:
    """First hole's angle: a multiple of half the hole spacing, of 15 or 5 degrees if it lies that near, else as measured."""
    u_deg = math.degrees(circle.u / circle.radius) + 0.02
    half = 180.0 / len(circle.rows)
    choice = choose(math.degrees(circle.start_rad), u_deg, ((half, 0.6, 0.0), (15.0, 0.1, 0.0), (5.0, 0.05, 0.0)), 0.2 / half)
    return math.radians(choice.value) if choice.value is not None and choice.probability > 0.5 else circle.start_rad
