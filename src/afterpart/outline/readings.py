"""Hand measurements: taken in as weighted observations of the measured state and its scale; conflicts found; the next
one named.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from afterpart.model.edges import Note
from afterpart.model.job import Reading
from afterpart.model.outline import NextReading
from afterpart.outline.dimensions import Item
from afterpart.outline.part import Part, scale_slope

CONFLICT_Z = 3.5
"""A reading this many standard uncertainties off what everything else says is named, not used."""

CALLIPER_U = 0.02


@dataclass(frozen=True)
class Settled:
    """part: state and local covariance after the readings; scale: true size over what the photo said; relative_u of it now."""

    part: Part
    scale: float
    relative_u: float
    used: tuple[str, ...]
    notes: tuple[Note, ...]


def take_readings(part: Part, relative_u: float, readings: list[tuple[Reading, Item, float, np.ndarray]]) -> Settled:
    """part: covariance without the common scale error; readings with their dimension, its value now and slope (3k,)."""
    growth = scale_slope(part.is_arc, part.state)
    size = len(growth)
    joint = np.zeros((size + 1, size + 1))
    joint[:size, :size] = part.covariance + relative_u**2 * np.outer(growth, growth)
    joint[:size, size] = joint[size, :size] = relative_u**2 * growth
    joint[size, size] = relative_u**2
    slopes = np.array([np.append(slope, 0.0) for _, _, _, slope in readings]).reshape(len(readings), size + 1)
    miss = np.array([reading.value - value for reading, _, value, _ in readings])
    own = np.array([reading.u**2 for reading, _, _, _ in readings])
    good = list(range(len(readings)))
    notes = []
    while good:
        z = np.array([_against_rest(joint, slopes, miss, own, good, i) for i in good])
        worst = int(np.argmax(np.abs(z)))
        if abs(z[worst]) < CONFLICT_Z:
            break
        reading, _, value, _ = readings[good.pop(worst)]
        notes.append(
            Note(
                "reading_conflict",
                f"Reading {reading.id} = {reading.value:g} does not agree with the photo and the other readings "
                f"({abs(z[worst]):.1f} standard uncertainties; the photo alone says {value:.3f}). It is not "
                "used: measure it again, or check the reference and its height.",
            )
        )
    if not good:
        return Settled(part, 1.0, relative_u, (), tuple(notes))
    rows = slopes[good]
    gain = joint @ rows.T @ np.linalg.inv(rows @ joint @ rows.T + np.diag(own[good]))
    change = gain @ miss[good]
    joint = joint - gain @ rows @ joint
    left = max(float(joint[size, size]), 1e-12)
    local = joint[:size, :size] - np.outer(joint[:size, size], joint[size, :size]) / left
    state = part.state + change[:size].reshape(part.state.shape)
    return Settled(
        replace(part, state=state, covariance=local),
        1.0 + float(change[size]),
        math.sqrt(left),
        tuple(readings[i][0].id for i in good),
        tuple(notes),
    )


def _against_rest(joint: np.ndarray, slopes: np.ndarray, miss: np.ndarray, own: np.ndarray, good: list[int], i: int) -> float:
    """Standardised distance of reading i from what the photo and the other good readings say."""
    rest = [k for k in good if k != i]
    expected, variance = 0.0, float(slopes[i] @ joint @ slopes[i])
    if rest:
        rows = slopes[rest]
        weight = np.linalg.inv(rows @ joint @ rows.T + np.diag(own[rest]))
        cross = slopes[i] @ joint @ rows.T
        expected = float(cross @ weight @ miss[rest])
        variance -= float(cross @ weight @ cross)
    return float((miss[i] - expected) / math.sqrt(max(variance, 0.0) + own[i]))


def next_readings(
    part: Part, relative_u: float, options: list[tuple[str, Item, float, np.ndarray, str]], count: int = 3
) -> tuple[NextReading, ...]:
    """The readings that would tell most, one after the other: gain = 1/2 log2(1 + variance / reading variance), in bits.

    options: id, dimension, value, slope (3k,) and how to take it.
    """
    growth = scale_slope(part.is_arc, part.state)
    covariance = part.covariance + relative_u**2 * np.outer(growth, growth)
    left = list(options)
    found = []
    while left and len(found) < count:
        slopes = np.array([slope for _, _, _, slope, _ in left])
        variance = np.einsum("ij,jk,ik->i", slopes, covariance, slopes)
        best = int(np.argmax(variance))
        name, _, _, slope, how = left.pop(best)
        gain = 0.5 * math.log2(1.0 + max(float(variance[best]), 0.0) / CALLIPER_U**2)
        if gain < 0.05:
            break
        found.append(NextReading(name, round(gain, 3), how))
        reach = covariance @ slope
        covariance = covariance - np.outer(reach, reach) / (float(slope @ reach) + CALLIPER_U**2)
    return tuple(found)


def how_to_take(item: Item, ids: dict[int, str], role: str) -> str | None:
    """One sentence on taking a reading with a calliper; None where a calliper cannot."""
    names = [ids[row] for row in item.rows]
    if item.kind == "diameter":
        return f"outside jaws across {names[0]}" if role == "outer" else f"inside jaws in hole {names[0]}, the largest reading"
    if item.kind == "width":
        return (
            f"outside jaws across edges {names[0]} and {names[1]}"
            if role == "outer"
            else f"inside jaws between edges {names[0]} and {names[1]}"
        )
    if item.kind == "distance":
        return (
            f"centre distance {names[0]} to {names[1]}: inside jaws over the far sides of both holes, and over the near sides; "
            "the mean of the two"
        )
    return None
