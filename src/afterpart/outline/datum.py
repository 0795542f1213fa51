"""Where the drawing's origin and x direction come from."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from afterpart.errors import UsageError
from afterpart.model.job import DatumChoice
from afterpart.outline.part import Part
from afterpart.words import tell

SYMMETRY_TOLERANCE = 0.02
"""Mirror images in the design must agree this well, mm; it is looked for in the solved drawing, not in the noise."""


@dataclass(frozen=True)
class Place:
    """Origin and direction of the datum in the design frame, and what it is in words; axes: "x", "y" of symmetry found."""

    origin: tuple[float, float]
    angle_rad: float
    text: str
    mirrors: tuple[tuple[str, tuple[tuple[int, int], ...]], ...] = ()


def place_datum(
    part: Part,
    corners: list[np.ndarray],
    equal: tuple[tuple[int, ...], ...],
    choice: DatumChoice,
    rows: dict[str, int],
    lines: bool,
) -> Place:
    """The datum of a designed part.  corners: ends of its segments; rows: id -> row.  Raises UsageError for unknown ids."""
    auto = _automatic(part, corners, equal, lines)
    if choice.kind == "auto":
        return auto
    if choice.kind == "point":
        cos, sin = math.cos(auto.angle_rad), math.sin(auto.angle_rad)
        x, y = choice.origin
        return Place((auto.origin[0] + x * cos - y * sin, auto.origin[1] + x * sin + y * cos),
                     auto.angle_rad + math.radians(choice.angle_deg),
                     tell("point ({x:g}, {y:g}) of the automatic datum, x turned by {angle:g} degrees, as told", x=x, y=y,
                          angle=choice.angle_deg), auto.mirrors)
    needed = 2 if choice.kind == "holes" else 1
    missing = [name for name in choice.of if name not in rows]
    if choice.kind not in ("holes", "edge") or len(choice.of) != needed or missing:
        raise UsageError(
            f"datum {choice.kind} of {', '.join(choice.of) or 'nothing'}: expected {needed} id(s) of this outline, one of "
            f"{', '.join(sorted(rows))}; take them from outline.json."
        )
    if choice.kind == "holes":
        first, second = (part.state[rows[name], :2] for name in choice.of)
        if not all(part.is_arc[rows[name]] for name in choice.of) or math.hypot(*(second - first)) < 1e-6:
            raise UsageError(f"datum holes {choice.of[0]}, {choice.of[1]}: expected two circles or arcs with different centres.")
        angle = math.atan2(second[1] - first[1], second[0] - first[0])
        return Place((float(first[0]), float(first[1])), angle,
                     tell("centre of {first}, x towards the centre of {second}, as told", first=choice.of[0],
                          second=choice.of[1]), auto.mirrors)
    row = rows[choice.of[0]]
    if part.is_arc[row]:
        raise UsageError(f"datum edge {choice.of[0]}: found an arc or circle, expected a line.")
    for i in range(len(part.chains)):
        if row in part.rows(i):
            start = corners[i][row - part.begin[i] - 1]
            return Place((float(start[0]), float(start[1])), float(part.state[row, 0]),
                         tell("start of edge {of}, x along it, as told", of=choice.of[0]), auto.mirrors)
    raise UsageError(f"datum edge {choice.of[0]}: not found in the outline.")


def _automatic(part: Part, corners: list[np.ndarray], equal: tuple[tuple[int, ...], ...], lines: bool) -> Place:
    direction = tell("longest edges") if lines else tell("hole pattern")
    points = _outer_points(part, corners)
    mirrors = {axis: _mirror(part, corners, axis, points) for axis in (0, 1)}
    pattern, pattern_text = _pattern_middle(part, equal, points)
    origin, words = [], []
    for axis, name in ((0, "x"), (1, "y")):
        found = mirrors[axis]
        if found:
            origin.append(found[0])
            words.append(tell("{name} from the axis of symmetry", name=name))
        else:
            origin.append(float(pattern[axis]))
            words.append(tell("{name} from {pattern}", name=name, pattern=pattern_text))
    strongest = tell("symmetry axis") if any(mirrors.values()) else direction
    return Place((origin[0], origin[1]), 0.0,
                 tell("x direction from the {strongest}; origin: {words}", strongest=strongest, words=", ".join(words)),
                 tuple(("y" if axis == 0 else "x", found[1]) for axis, found in mirrors.items() if found))


def _outer_points(part: Part, corners: list[np.ndarray]) -> np.ndarray:
    sets = []
    for i, chain in enumerate(part.chains):
        if chain.is_circle:
            row = part.state[part.begin[i]]
            sets.append(row[:2] + abs(row[2]) * np.array([[1, 0], [-1, 0], [0, 1], [0, -1]]))
        else:
            sets.append(corners[i])
    outer = [s for s, role in zip(sets, part.roles, strict=True) if role == "outer"]
    return np.concatenate(outer or sets)


def _pattern_middle(part: Part, equal: tuple[tuple[int, ...], ...], points: np.ndarray) -> tuple[np.ndarray, str]:
    """Middle of the largest group of equal holes (two at least), else of the outline."""
    largest = max(equal, key=lambda g: (len(g), -g[0]), default=())
    if len(largest) >= 2:
        centers = part.state[list(largest), :2]
        return 0.5 * (centers.min(axis=0) + centers.max(axis=0)), tell("the middle of the hole pattern")
    return 0.5 * (points.min(axis=0) + points.max(axis=0)), tell("the middle of the outline")


def _mirror(
    part: Part, corners: list[np.ndarray], axis: int, points: np.ndarray
) -> tuple[float, tuple[tuple[int, int], ...]] | None:
    """Place of a mirror line across `axis` and the mirrored pairs of circles, if the outline and all circles agree."""
    place = 0.5 * float(points[:, axis].min() + points[:, axis].max())
    if not _mirrored_points(points, axis, place):
        return None
    circles = part.circles()
    pairs, alone = [], 0
    for row in circles:
        image = part.state[row].copy()
        image[axis] = 2.0 * place - image[axis]
        gaps = [
            np.abs(np.abs(part.state[other]) * [0, 0, 1] - np.abs(image) * [0, 0, 1]).sum()
            + math.hypot(*(part.state[other, :2] - image[:2]))
            for other in circles
        ]
        best = int(np.argmin(gaps))
        if gaps[best] < SYMMETRY_TOLERANCE:
            pairs.append((row, circles[best]))
        else:
            alone += 1
    if alone:
        return None
    unique = tuple(sorted({(min(a, b), max(a, b)) for a, b in pairs if a != b}))
    return place, unique


def _mirrored_points(points: np.ndarray, axis: int, place: float) -> bool:
    image = points.copy()
    image[:, axis] = 2.0 * place - image[:, axis]
    gap = np.hypot(points[:, None, 0] - image[None, :, 0], points[:, None, 1] - image[None, :, 1])
    return bool((gap.min(axis=1) < 2.0 * SYMMETRY_TOLERANCE).all())
