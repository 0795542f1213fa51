"""Dimensions of channels, pockets and pads: widths, radii, and how far they stand from the outline."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.outline.channels import chords, gap_between, parallels
from afterpart.outline.dimensions import Item
from afterpart.outline.drawing import Layout
from afterpart.outline.part import Part

SAME_WAY_RAD = math.radians(4.0)
"""Edges whose directions differ by less run the same way."""


def channel_dimensions(part: Part, layout: Layout) -> list[Item]:
    """Distance from the outline of each pocket and pad; width and distance from the outline of each channel, and the radii and
    diameters of its walls; in drawing order.  (Sizes of pockets and pads stand among those of the openings.)"""
    items: list[Item] = []
    for i in layout.loops:
        if part.walls[i] == "pocket":
            items += _places(part, i)
    for match in parallels(part):
        lengths = chords(part, match.own)
        row, base = max(match.pairs, key=lambda pair: (not part.is_arc[pair[0]], lengths[pair[0]]))
        items.append(Item("gap", (base, row)) if part.roles[match.base] == "outer" else Item("width", (base, row)))
    for i in layout.loops:
        if i >= part.settled:
            rows = [part.begin[i] + (layout.start[i] + k) % part.chains[i].size for k in range(part.chains[i].size)]
            kind = "diameter" if part.chains[i].is_circle else "radius"
            items += [Item(kind, (row,)) for row in rows if part.is_arc[row]]
    return items


def _places(part: Part, own: int) -> list[Item]:
    """Distance of a pocket's edge to the nearest edge of the outline that runs against it, in each direction."""
    outline = next((i for i, role in enumerate(part.roles) if role == "outer"), None)
    if outline is None:
        return []
    gaps = [(abs(gap), row, other) for row in part.rows(own) for other in part.rows(outline)
            if not part.is_arc[row] and (gap := gap_between(part.is_arc, part.state, row, other)) is not None]
    items: list[Item] = []
    used: list[float] = []
    for _, row, other in sorted(gaps):
        direction = float(part.state[row, 0])
        if all(abs(math.remainder(direction - u, math.pi)) > SAME_WAY_RAD for u in used):
            used.append(direction)
            items.append(Item("gap", (other, row)))
    return items
