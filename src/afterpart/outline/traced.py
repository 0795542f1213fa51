"""All parts of a picture traced: their carriers, what they are called, their dimensions; nothing solved yet.

This is the slow half of the stage and does not depend on readings: what follows it is solved anew after each reading.
House units: mm, or a part of UNSCALED_EXTENT where nothing told the size; frame: the photo's, about the middle of all rims.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import functools
import math
from dataclasses import dataclass, field, replace

import numpy as np

from afterpart.errors import UsageError
from afterpart.model.edges import EdgeMap, Note
from afterpart.outline.budget import SIZE, scale_alone
from afterpart.outline.chain import Chain
from afterpart.outline.channels import trace_all
from afterpart.outline.channelsizes import channel_dimensions
from afterpart.outline.consistency import level_notes
from afterpart.outline.damage import mend_rims
from afterpart.outline.dimensions import Ends, Item, list_dimensions, slope_of, value_of
from afterpart.outline.directions import main_direction
from afterpart.outline.drawing import Layout, lay_out
from afterpart.outline.maker import Told
from afterpart.outline.part import Part, assemble, growth_slope, move_points, moved, part_corners, with_errors
from afterpart.outline.settings import OutlineSettings

UNSCALED_EXTENT = 100.0
"""Size given to a part of unknown size while it is traced, so that settings in mm keep their meaning."""

UNSCALED_RELATIVE_U = 0.05
"""Scale uncertainty left open around the readings that settle an unknown size."""


@dataclass(frozen=True)
class TracedPart:
    """One part: its number in the picture, carriers, layout, dimensions with names and slopes (3k,) by the state; points: its
    rims (n, 2); near: rough ends of its segments; told: what the maker's corrections say of its rows."""

    number: int
    part: Part
    layout: Layout
    items: list[Item]
    names: list[str]
    slopes: list[np.ndarray]
    points: list[np.ndarray]
    near: list[np.ndarray]
    told: Told = field(default_factory=Told)

    @functools.cached_property
    def ends(self) -> Ends:
        """Where the segments begin and end."""
        return Ends(self.part, self.near)

    def value(self, index: int) -> float:
        """Value of one dimension."""
        return value_of(self.items[index], self.part, self.ends)


@dataclass(frozen=True)
class TracedPicture:
    """edges: what was traced; middle (2,) of all rims in its unit; unit: house units per unit of the edge map; notes: what the
    parts' own relations contradict."""

    edges: EdgeMap
    middle: np.ndarray
    unit: float
    parts: tuple[TracedPart, ...]
    notes: tuple[Note, ...] = field(default=())

    @property
    def names(self) -> set[str]:
        """Ids of all dimensions."""
        return {name for item in self.parts for name in item.names}


def trace_picture(edges: EdgeMap, settings: OutlineSettings) -> TracedPicture:
    """All parts of a picture.  settings: readings and datum are not asked for.

    Raises FitError when a rim cannot be drawn, UsageError for an edge map without rims.
    """
    if not edges.rims:
        raise UsageError("Found no rims in the edge map, expected at least the outer one; measure the photo again.")
    everything = np.concatenate([rim.points for rim in edges.rims])
    middle = 0.5 * (everything.min(axis=0) + everything.max(axis=0))
    unit = 1.0 if edges.unit == "mm" else UNSCALED_EXTENT / float(np.ptp(everything, axis=0).max())
    settings = _with_bias(settings, edges.rim_bias_u * unit)
    edges, mended = mend_rims(edges, unit, settings)
    traced = tuple(_trace_parts(edges, middle, unit, settings))
    notes = level_notes([item.part for item in traced], middle, edges.camera, edges.face_height) if edges.unit == "mm" else []
    return TracedPicture(edges, middle, unit, traced, (*notes, *mended))


def _with_bias(settings: OutlineSettings, rim_bias_u: float) -> OutlineSettings:
    """The settings with what the photo stage adds to the error common to a whole rim."""
    return replace(settings, edge_bias_u=math.hypot(settings.edge_bias_u, rim_bias_u))


def _trace_parts(edges: EdgeMap, middle: np.ndarray, unit: float, settings: OutlineSettings) -> list[TracedPart]:
    rims = edges.rims
    points = [(np.asarray(rim.points, float) - middle) * unit for rim in rims]
    chains = trace_all(rims, points, [np.asarray(rim.u, float) * unit for rim in rims], settings)
    traced: list[TracedPart] = []
    centre = (float(middle[0]), float(middle[1]))
    lines = circles = names = 0
    for number in sorted({rim.part for rim in rims}):
        own = [i for i, rim in enumerate(rims) if rim.part == number]
        part = assemble(
            [chains[i] for i in own],
            [rims[i] for i in own],
            settings,
            [points[i] for i in own],
            edges.shared or scale_alone(edges.reference.relative_u if edges.unit == "mm" else 0.0, centre),
            centre,
            unit,
        )
        turned = moved(part, (0.0, 0.0), main_direction(part))
        corners = part_corners(turned, [move_points(chain.corners, (0.0, 0.0), main_direction(part)) for chain in part.chains])
        layout = lay_out(turned, corners, [rims[i].wall for i in own], number, lines, circles)
        layout = replace(layout, depths=tuple(rims[i].depth for i in own))
        circles += sum(chain.is_circle for chain in part.chains)
        lines += sum(chain.size for chain in part.chains if not chain.is_circle)
        items = list_dimensions(turned, layout, corners) + channel_dimensions(turned, layout)
        labels = [f"d{names + k + 1}" for k in range(len(items))]
        names += len(items)
        near = [chain.corners for chain in part.chains]
        ends = Ends(part, near)
        slopes = [slope_of(item, part, ends) for item in items]
        traced.append(TracedPart(number, part, layout, items, labels, slopes, [points[i] for i in own], near))
    return traced


def size_open(item: TracedPart) -> TracedPart:
    """The part with its size left open round what the readings make of it."""
    growth = UNSCALED_RELATIVE_U * growth_slope(item.part)
    return replace(item, part=with_errors(item.part, item.part.errors.with_common(SIZE, growth)))


def grown(item: TracedPart, factor: float) -> TracedPart:
    """The part with all lengths times factor."""
    part = moved(item.part, (0.0, 0.0), 0.0, factor)
    chains = tuple(_grown_chain(chain, factor) for chain in part.chains)
    part, near = replace(part, chains=chains), [n * factor for n in item.near]
    ends = Ends(part, near)
    slopes = [slope_of(dimension, part, ends) for dimension in item.items]
    return replace(item, part=part, points=[p * factor for p in item.points], near=near, slopes=slopes)


def _grown_chain(chain: Chain, factor: float) -> Chain:
    state = chain.state * factor
    state[~chain.is_arc, 0] = chain.state[~chain.is_arc, 0]
    return replace(chain, state=state, corners=chain.corners * factor, residuals=chain.residuals * factor)
