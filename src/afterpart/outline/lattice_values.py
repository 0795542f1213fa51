"""Coordinates and sizes of a part that may lie on the designer's lattice, each with its standard uncertainty.

What was drawn once speaks once: a row of holes has one place, equal holes one size.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np

from afterpart.outline.evidence import Values
from afterpart.outline.features import arc_rows, axis_quarter, line_rows, vertex_pairs, wide_arcs
from afterpart.outline.part import Part
from afterpart.outline.quantities import Quantity
from afterpart.outline.relations import PitchCircle, concentric_rows, deviation
from afterpart.outline.settings import OutlineSettings


def lattice_values(part: Part, equal: list[tuple[int, ...]], pitch: list[PitchCircle], settings: OutlineSettings) -> Values:
    """Coordinates and sizes of a turned part that may lie on the designer's lattice."""
    xs: list[tuple[float, float]] = []
    ys: list[tuple[float, float]] = []
    sizes: list[tuple[float, float]] = []
    either: list[tuple[float, float, float, float]] = []
    patterned = {row for circle in pitch if len(circle.rows) != 4 or circle.bore is not None for row in circle.rows}
    for circle in pitch:
        if len(circle.rows) == 4:
            if circle.bore is not None:
                diameter, u = 2.0 * circle.radius, 2.0 * circle.u + 0.004
                either.append((diameter, u, diameter * math.sqrt(0.5), u * math.sqrt(0.5)))
            continue
        sizes.append((2.0 * circle.radius, 2.0 * circle.u + 0.004))
        if circle.bore is None:
            xs.append((circle.center[0], circle.u))
            ys.append((circle.center[1], circle.u))
    for row in part.circles():
        if row not in patterned:
            xs.append(deviation(part, Quantity("center_x", (row,))))
            ys.append(deviation(part, Quantity("center_y", (row,))))
    for group in equal:
        values = [deviation(part, Quantity("diameter", (row,))) for row in group]
        sizes.append((float(np.mean([v for v, _ in values])), max(2.0 * settings.edge_bias_u, min(u for _, u in values))))
    for row in line_rows(part):
        value, u = deviation(part, Quantity("offset", (row,)))
        quarter = axis_quarter(part.state[row, 0])
        if quarter is not None:
            (ys if quarter % 2 == 0 else xs).append((value if quarter in (0, 3) else -value, u))
    held_up = {row for row, _ in concentric_rows(part)}
    for a, b in vertex_pairs(part):
        if part.following()[a] in held_up:
            continue
        for kind, axis, values in (("vertex_x", 1, xs), ("vertex_y", 0, ys)):
            if all(axis_quarter(part.state[row, 0]) is None or axis_quarter(part.state[row, 0]) % 2 != axis for row in (a, b)):
                value, u = deviation(part, Quantity(kind, (a, b)))
                if u < 0.2:
                    values.append((value, u))
    for row in wide_arcs(part):
        xs.append(deviation(part, Quantity("center_x", (row,))))
        ys.append(deviation(part, Quantity("center_y", (row,))))
    for row in arc_rows(part):
        value, u = deviation(part, Quantity("radius", (row,)))
        if u < 0.2:
            sizes.append((value, max(u, settings.edge_bias_u)))
    xs, ys = _shared(xs), _shared(ys)
    if either:
        (xs, width), (ys, height) = _about_middle(xs), _about_middle(ys)
        sizes += _alike(width + height)
    columns = [
        np.array([v for v, _ in values]) if k == 0 else np.array([u for _, u in values])
        for values in (xs, ys, sizes)
        for k in (0, 1)
    ]
    return Values(*columns, either=tuple(either))


def _about_middle(places: list[tuple[float, float]]) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
    """Coordinates of an axis of a plate with a square of holes about its bore, and widths: two sides alike about the one middle
    there is were given one number, their distance."""
    if len(places) != 3:
        return places, []
    low, middle, high = places
    off, u = 0.5 * (low[0] + high[0]) - middle[0], math.hypot(0.5 * low[1], 0.5 * high[1], middle[1])
    if abs(off) > 3.0 * u:
        return places, []
    # what light and rounding do to an edge they do to both: the errors add
    return [middle], [(high[0] - low[0], low[1] + high[1])]


def _alike(widths: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """A square plate's two widths are one number."""
    if len(widths) == 2 and abs(widths[0][0] - widths[1][0]) < 2.0 * math.hypot(widths[0][1], widths[1][1]):
        return [(0.5 * (widths[0][0] + widths[1][0]), max(u for _, u in widths))]
    return widths


def _shared(values: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Coordinates that agree within their errors, made one: a row of holes was given its place once."""
    merged: list[list[tuple[float, float]]] = []
    for value, u in sorted(values):
        if merged:
            mean, mean_u = _pooled(merged[-1])
            if abs(value - mean) < 3.0 * math.hypot(u, mean_u) + 0.01:
                merged[-1].append((value, u))
                continue
        merged.append([(value, u)])
    return [_pooled(group) for group in merged]


def _pooled(group: list[tuple[float, float]]) -> tuple[float, float]:
    weight = [u**-2 for _, u in group]
    return sum(w * v for w, (v, _) in zip(weight, group, strict=True)) / sum(weight), max(sum(weight) ** -0.5, 0.006)
