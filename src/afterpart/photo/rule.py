"""Finds graduated rules (and ruled paper) in a picture by the rhythm of their ticks; nothing need be pointed at or read.

Where to look is told by small cells of reduced pictures (tickfield.py), what the ticks are is read at full resolution
(ruleread.py, ticks.py), which are longer says the ladder (tickladder.py), how far the rule's body goes rulebody.py.
Limits: at least 11 ticks in sight, 5 to 60 px each; a row of equal slots can look like a rule (its ladder is then "unknown").
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from afterpart.model.references import RuleTicks
from afterpart.photo.ruleread import read_rule
from afterpart.photo.tickfield import CELL, gather_cells, rows_of_grid, rows_of_ticks
from afterpart.photo.ticks import Row

LEVELS = (2, 4, 8, 16)  # reductions; each serves pitches of about 2.5 to 12 reduced pixels
MAX_CANDIDATES = 10  # per level, strongest first


@dataclass(frozen=True)
class _Found:
    """A rule that was read; middles: (n, 2) of its ticks, px; length: of a usual tick, px."""

    rule: RuleTicks
    middles: np.ndarray
    length: float

    @classmethod
    def of(cls, rule: RuleTicks) -> _Found:
        """A rule with what is asked of it again and again."""
        return cls(rule, np.array([tick.points.mean(axis=0) for tick in rule.ticks]),
                   float(np.median([tick.length_px for tick in rule.ticks])))


def find_rules(grey: np.ndarray) -> tuple[RuleTicks, ...]:
    """All rows of graduations in a grey picture (h, w) float32 0..255, most ticks first; empty where there is none."""
    found: list[_Found] = []
    image = grey
    factor = 1
    for level in LEVELS:
        while factor < level and min(image.shape) >= 2 * 12 * CELL:
            image = cv2.resize(
                image[: image.shape[0] // 2 * 2, : image.shape[1] // 2 * 2], None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA
            )
            factor *= 2
        if factor < level:
            break
        cells = gather_cells(image, factor)
        candidates = sorted(rows_of_ticks(cells), key=lambda item: -item[0])[:MAX_CANDIDATES]
        for _, row in candidates:
            if not _covered(row, found):
                rule = read_rule(grey, row)
                if rule is not None and not _repeats(rule, found):
                    found.append(_Found.of(rule))
        grids = [] if factor < 4 else [row for _, row in rows_of_grid(cells, image)]
        if grids and not any(_covered(row, found) for row in grids):
            read = [read_rule(grey, row) for row in grids]
            found += [_Found.of(rule) for rule in read if rule is not None and not _repeats(rule, found)]
    return tuple(sorted((one.rule for one in found), key=lambda rule: -len(rule.ticks)))


def _covered(row: Row, found: list[_Found]) -> bool:
    """True when the row's middle lies among ticks already read, or such ticks fill its region (a second scale on the same rule
    stands clear of them)."""
    normal = np.array([-row.stroke[1], row.stroke[0]])
    for one in found:
        middle = one.middles
        unit = (middle[-1] - middle[0]) / float(np.hypot(*(middle[-1] - middle[0])))
        offset = row.origin - middle[0]
        beside = abs(float(unit[0] * offset[1] - unit[1] * offset[0]))
        share = float(offset @ unit) / float(np.hypot(*(middle[-1] - middle[0])))
        if beside < 1.3 * one.length and -0.1 < share < 1.1:
            return True
        d = (middle - row.origin) @ row.stroke
        s = np.abs((middle - row.origin) @ normal)
        inside = (d > row.d_range[0]) & (d < row.d_range[1]) & (s < max(-row.s_range[0], row.s_range[1]))
        if inside.mean() > 0.3:
            return True
    return False


def _repeats(rule: RuleTicks, found: list[_Found]) -> bool:
    """True when its ticks are, for the greater part, points of a rule already found (and run the same way)."""
    own = np.concatenate([tick.points for tick in rule.ticks])
    way = rule.ticks[0].points[-1] - rule.ticks[0].points[0]
    for other in (one.rule for one in found):
        points = np.concatenate([tick.points for tick in other.ticks])
        gap = np.hypot(own[::7, None, 0] - points[None, :, 0], own[::7, None, 1] - points[None, :, 1]).min(axis=1)
        stroke = other.ticks[0].points[-1] - other.ticks[0].points[0]
        aligned = abs(float(way @ stroke)) > 0.8 * float(np.hypot(*way) * np.hypot(*stroke))
        if aligned and np.mean(gap < 1.5 * other.pitch_px) > 0.4:
            return True
    return False
