"""Bars across an opening, so that the element does not sag through it: what they leave of it, and the windows between them.

Words: the *free span* is the clear width between two bars, or between a bar and the rib; a *crossing bar* runs the long way and
holds the others where they would be too slender.
Where they lie is laid in geometry/bar_layout.py; here they end exactly on the opening.  mm.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely.geometry import LineString, Polygon

from afterpart.errors import JobError
from afterpart.geometry.bar_layout import BarRule, bar_strips
from afterpart.geometry.chain import chain_area, chain_points
from afterpart.geometry.offset import offset_chain
from afterpart.geometry.region import subtract
from afterpart.model.feature import Bar, Chain
from afterpart.model.outline import Point
from afterpart.words import tell

WINDOW_CORNER = 1.0
"""Radius of the windows' corners beside the bars."""
SMALLEST_WINDOW = 4.0
"""Windows below this area, mm2, are filled: a printer would close them anyhow."""
_CHORD = 0.002


@dataclass(frozen=True)
class Bars:
    """The bars with their places, and the windows that are left of the opening."""

    bars: tuple[Bar, ...]
    windows: tuple[Chain, ...]


def lay_bars(opening: Chain, free_span: float, width: float, bottom: float, top: float) -> Bars:
    """Bars of this width from bottom to top across the opening.

    JobError: a span or width that is not above 0, or bars that would leave less than half the opening free.
    """
    if free_span <= 0 or width < 0.8:
        raise JobError(tell("holder.free_span, holder.bar_width: {free_span:g} mm and {width:g} mm found, a span above 0 and "
                            "bars of 0.8 mm (two lines) or more expected", free_span=free_span, width=width))
    strips = bar_strips(Polygon(chain_points(opening, _CHORD)), BarRule(free_span, width, top - bottom))
    windows = _windows(opening, [strip.outline for strip in strips])
    share = sum(abs(chain_area(w)) for w in windows) / abs(chain_area(opening))
    if share < 0.5:
        raise JobError(tell("holder.free_span, holder.bar_width: bars of {width:g} mm every {free_span:g} mm leave {share:.0%} "
                            "of the opening free, half of it or more expected; make the span larger or the bars thinner",
                            width=width, free_span=free_span, share=share))
    lines = [(strip.start, strip.end) for strip in strips]
    return Bars(tuple(bar for line in lines for bar in _trimmed(opening, line, width, bottom, top)), windows)


def _windows(opening: Chain, strips: list[Chain]) -> tuple[Chain, ...]:
    left = [region.outer for region in subtract(opening, *strips)] if strips else [opening]
    windows = []
    for chain in left:
        inner = offset_chain(chain, -WINDOW_CORNER)
        made = offset_chain(inner[0], WINDOW_CORNER) if inner else ()
        if made and abs(chain_area(made[0])) >= SMALLEST_WINDOW:
            windows.append(made[0])
    return tuple(windows)


def _trimmed(opening: Chain, line: tuple[Point, Point], width: float, bottom: float, top: float) -> list[Bar]:
    """The parts of a bar's middle line that lie in the opening."""
    cut = LineString(line).intersection(Polygon(chain_points(opening, _CHORD)))
    parts = [cut] if cut.geom_type == "LineString" else list(getattr(cut, "geoms", ()))
    return [
        Bar(_point(np.array(p.coords[0])), _point(np.array(p.coords[-1])), width, bottom, top) for p in parts if p.length > width
    ]


def _point(xy: np.ndarray) -> Point:
    return float(xy[0]), float(xy[1])
