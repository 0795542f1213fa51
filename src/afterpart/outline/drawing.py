"""A state of carriers -> loops of the drawing: closed exactly, ids the same whatever the state."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from afterpart.model.outline import Arc, Circle, Line, Loop, Point, Segment
from afterpart.outline.part import Part

DIGITS = 9


@dataclass(frozen=True)
class Layout:
    """Order and names.  loops: chains of the part in drawing order; start: first carrier of each chain (by chain); ids:
    row -> id;
    walls, depths (where told): by chain; number: of the part."""

    loops: tuple[int, ...]
    start: tuple[int, ...]
    ids: dict[int, str]
    walls: tuple[str, ...]
    number: int
    depths: tuple[float | None, ...] = ()


def lay_out(
    part: Part, corners: list[np.ndarray], walls: list[str], number: int, lines_before: int, circles_before: int
) -> Layout:
    """Names for all rows: outer loops first, openings in rows from the top, left to right; part in its main direction."""
    middles = [
        part.state[part.begin[i], :2] if chain.is_circle else corners[i].mean(axis=0) for i, chain in enumerate(part.chains)
    ]
    heights = np.array([m[1] for m in middles])
    pitch = max(float(np.ptp(heights)) / 12.0, 1e-9)
    rank = {"outer": 0, "opening": 1}
    loops = tuple(
        sorted(
            range(len(middles)),
            # walls of channels stay side by side, as the rims came
            key=lambda i: (2, i, 0.0)
            if part.roles[i] == "channel"
            else (rank.get(part.roles[i], 3), -round(middles[i][1] / pitch), middles[i][0]),
        )
    )
    start = tuple(int(np.argmin(np.roll(c, 1, axis=0).sum(axis=1))) if len(c) else 0 for c in corners)
    ids: dict[int, str] = {}
    line, circle = lines_before, circles_before
    for i in loops:
        chain = part.chains[i]
        for k in range(chain.size):
            row = part.begin[i] + (start[i] + k) % chain.size
            if chain.is_circle:
                circle += 1
                ids[row] = f"c{circle}"
            else:
                line += 1
                ids[row] = f"s{line}"
    return Layout(loops, start, ids, tuple(walls), number)


def draw(part: Part, layout: Layout, state: np.ndarray, corners: list[np.ndarray]) -> tuple[Loop, ...]:
    """Loops of a state (k, 3) of the part.  corners: ends of the segments in the state's frame, loop by loop (k, 2)."""
    loops = []
    for i in layout.loops:
        chain, begin = part.chains[i], part.begin[i]
        if chain.is_circle:
            row = state[begin]
            segments: list[Segment] = [Circle(layout.ids[begin], _point(row[:2]), _number(abs(row[2])))]
        else:
            ends = [_point(c) for c in corners[i]]
            segments = []
            for k in range(chain.size):
                own = (layout.start[i] + k) % chain.size
                row, start, end = state[begin + own], ends[own - 1], ends[own]
                name = layout.ids[begin + own]
                segments.append(
                    Arc(name, start, end, _point(row[:2]), _number(abs(row[2])), bool(row[2] > 0.0))
                    if chain.is_arc[own]
                    else Line(name, start, end)
                )
        depth = layout.depths[i] if layout.depths else None
        loops.append(Loop(part.roles[i], layout.number, tuple(segments), layout.walls[i], depth))
    return tuple(loops)


def _number(value: float) -> float:
    return round(float(value), DIGITS) + 0.0


def _point(pair: np.ndarray) -> Point:
    return _number(pair[0]), _number(pair[1])
