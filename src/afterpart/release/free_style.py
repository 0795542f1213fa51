"""How free geometry is drawn: segments that no relation or number settles, so that they keep their measured shape.

A dashed double-dotted narrow line: type 12 of ISO 128-2, its dashes 12 d, gaps 3 d and dots 0.5 d long at line width d (from
memory; the standard leaves the meaning of this type to the drawing, which therefore says it).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Set

from afterpart.model.outline import Loop, Segment

FREE_WIDTH = 0.18
"""Width d of a narrow line, mm."""
_GAP, _DOT = 3.0, 0.5
FREE_DASHES: tuple[float, ...] = tuple(FREE_WIDTH * n for n in (12.0, _GAP, _DOT, _GAP, _DOT, _GAP))
"""Marks and gaps in turn, mm."""


def runs_by_style(loop: Loop, free: Set[str]) -> list[tuple[bool, tuple[Segment, ...]]]:
    """The loop's segments as runs drawn in one style, (is free, segments), in order; a run over the loop's start is one run."""
    segments = loop.segments
    changes = [k for k in range(len(segments)) if (segments[k].id in free) != (segments[k - 1].id in free)]
    if not changes:
        return [(segments[0].id in free, segments)]
    turned = segments[changes[0]:] + segments[: changes[0]]
    starts = [k - changes[0] for k in changes] + [len(segments)]
    return [(turned[a].id in free, turned[a:b]) for a, b in zip(starts, starts[1:], strict=False)]

