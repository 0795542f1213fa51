"""Hand measurements: taken in as weighted observations of the measured state; conflicts found; the next one named."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from afterpart.model.edges import Note
from afterpart.model.job import Reading
from afterpart.model.outline import NextReading
from afterpart.outline.budget import Errors
from afterpart.outline.contradictions import is_slip_of_hand, reading_conflict
from afterpart.outline.dimensions import Item
from afterpart.outline.part import Part, growth_slope, with_errors

CONFLICT_Z = 3.5
"""A reading this many standard uncertainties off what everything else says is named, not used."""

CALLIPER_U = 0.02

LOOSE_U = 1.0
"""Relative scale uncertainty tried when readings contradict the reference together: a mis-stated rule or sheet is off by half or
twice."""

SAYS_OTHERWISE = "reference that the readings contradict"


@dataclass(frozen=True)
class Settled:
    """parts: states and errors after the readings; used: ids of the readings taken in; against_reference: the relative size they
    gave the part where they contradict the reference together, else None."""

    parts: tuple[Part, ...]
    used: tuple[str, ...]
    notes: tuple[Note, ...]
    against_reference: float | None = None


@dataclass(frozen=True)
class Taken:
    """A reading at its place: the part (index) and dimension it is of, the dimension's value now and its slope (3k,); others:
    name and value of the part's other dimensions of that kind, at which it may have been taken by mistake."""

    reading: Reading
    part: int
    item: Item
    value: float
    slope: np.ndarray
    others: tuple[tuple[str, float], ...] = ()


def take_readings(parts: list[Part], readings: list[Taken]) -> Settled:
    """All parts of a picture after all readings: they share the picture's errors, so a reading of one sharpens the others."""
    if not readings:
        return Settled(tuple(parts), (), ())
    joint, cuts = joined([part.errors for part in parts])
    covariance = joint.covariance
    slopes = np.zeros((len(readings), cuts[-1]))
    for row, taken in enumerate(readings):
        slopes[row, cuts[taken.part] : cuts[taken.part + 1]] = taken.slope
    miss = np.array([taken.reading.value - taken.value for taken in readings])
    own = np.array([taken.reading.u**2 for taken in readings])
    good, notes = _agreeing(covariance, slopes, miss, own, readings)
    against = False
    if len(good) < len(readings) > 1:
        # the readings may agree with each other, and only the reference with none of them
        growth = np.concatenate([growth_slope(part) for part in parts])
        loose = joint.with_common(SAYS_OTHERWISE, LOOSE_U * growth)
        more, fewer_notes = _agreeing(loose.covariance, slopes, miss, own, readings)
        if len(more) > max(len(good), 1) and not _slipped_together([readings[i] for i in more]):
            joint, covariance, good, notes, against = loose, loose.covariance, more, fewer_notes, True
    if not good:
        return Settled(tuple(parts), (), tuple(notes))
    rows = slopes[good]
    gain = covariance @ rows.T @ np.linalg.inv(rows @ covariance @ rows.T + np.diag(own[good]))
    change = gain @ miss[good]
    after = joint.mapped(np.eye(cuts[-1]) - gain @ rows)
    # a reading's own error is common to the whole picture from now on
    count = after.common
    names_used = tuple(readings[i].reading.id for i in good)
    names = tuple(f"reading {name}" for name in names_used)
    after = replace(
        after,
        columns=np.column_stack((after.columns[:, :count], gain * np.sqrt(own[good]), after.columns[:, count:])),
        causes=after.causes[:count] + names + after.causes[count:],
        dof=after.dof[:count] + (math.inf,) * len(good) + after.dof[count:],
        common=count + len(good),
    )
    settled = []
    for k, part in enumerate(parts):
        state = part.state + change[cuts[k] : cuts[k + 1]].reshape(part.state.shape)
        settled.append(with_errors(replace(part, state=state), part_of(after, cuts[k], cuts[k + 1])))
    size = change @ growth / float(growth @ growth) if against else 0.0
    return Settled(tuple(settled), names_used, tuple(notes), 1.0 + float(size) if against else None)


def _slipped_together(readings: list[Taken]) -> bool:
    """Whether readings that agree with each other were all typed in another unit, or all halved."""
    ratios = [taken.reading.value / taken.value for taken in readings if taken.item.kind != "angle" and taken.value]
    return bool(ratios) and is_slip_of_hand(float(np.median(ratios)), [taken.item.kind for taken in readings])


def joined(errors: list[Errors]) -> tuple[Errors, list[int]]:
    """Errors of several parts of one picture as those of one state, and where each begins and ends in it."""
    if len(errors) == 1:
        return errors[0], [0, len(errors[0].noise)]
    sizes = [len(e.noise) for e in errors]
    cuts = [0, *np.cumsum(sizes).tolist()]
    common = errors[0].common
    noise = np.zeros((cuts[-1], cuts[-1]))
    columns = [np.concatenate([e.columns[:, :common] for e in errors])]
    for k, e in enumerate(errors):
        noise[cuts[k] : cuts[k + 1], cuts[k] : cuts[k + 1]] = e.noise
        own = np.zeros((cuts[-1], e.columns.shape[1] - common))
        own[cuts[k] : cuts[k + 1]] = e.columns[:, common:]
        columns.append(own)
    return Errors(
        noise,
        np.column_stack(columns),
        errors[0].causes[:common] + tuple(c for e in errors for c in e.causes[common:]),
        errors[0].dof[:common] + tuple(d for e in errors for d in e.dof[common:]),
        common,
        min(e.noise_dof for e in errors),
    ), cuts


def part_of(joint: Errors, begin: int, end: int) -> Errors:
    """The errors of one part out of a joint state's."""
    columns = joint.columns[begin:end]
    kept = np.flatnonzero((np.arange(columns.shape[1]) < joint.common) | (np.abs(columns).max(axis=0) > 0.0))
    return replace(
        joint,
        noise=joint.noise[begin:end, begin:end],
        columns=columns[:, kept],
        causes=tuple(joint.causes[k] for k in kept),
        dof=tuple(joint.dof[k] for k in kept),
    )


def _agreeing(
    covariance: np.ndarray, slopes: np.ndarray, miss: np.ndarray, own: np.ndarray, readings: list[Taken]
) -> tuple[list[int], list[Note]]:
    """Readings that agree with the picture and with each other; what contradicts is named, the worst first."""
    good, odd = agreeing(covariance, slopes, miss, own)
    notes = []
    for i, off, u, z in odd:
        taken = readings[i]
        notes.append(
            reading_conflict(
                taken.reading.id, taken.reading.value, taken.value + off, u, abs(z), taken.item.kind, taken.others
            )
        )
    return good, notes


def agreeing(
    covariance: np.ndarray, slopes: np.ndarray, miss: np.ndarray, own: np.ndarray
) -> tuple[list[int], list[tuple[int, float, float, float]]]:
    """Which observations (slopes (n, 3k), misses (n,), variances of their own (n,)) agree with a state's covariance and with each
    other; for each of the rest, the worst first: its index, the miss expected of it, the gap's standard uncertainty, and the gap
    in these."""
    good, odd = list(range(len(miss))), []
    while good:
        expected = [_from_the_rest(covariance, slopes, miss, own, good, i) for i in good]
        z = np.array([(miss[i] - e) / u for i, (e, u) in zip(good, expected, strict=True)])
        worst = int(np.argmax(np.abs(z)))
        if abs(z[worst]) < CONFLICT_Z:
            break
        off, u = expected[worst]
        odd.append((good.pop(worst), off, u, float(z[worst])))
    return good, odd


def _from_the_rest(
    covariance: np.ndarray, slopes: np.ndarray, miss: np.ndarray, own: np.ndarray, good: list[int], i: int
) -> tuple[float, float]:
    """What the picture and the other good readings expect of reading i (as a miss), and the standard uncertainty of the gap."""
    rest = [k for k in good if k != i]
    expected, variance = 0.0, float(slopes[i] @ covariance @ slopes[i])
    if rest:
        rows = slopes[rest]
        weight = np.linalg.inv(rows @ covariance @ rows.T + np.diag(own[rest]))
        cross = slopes[i] @ covariance @ rows.T
        expected = float(cross @ weight @ miss[rest])
        variance -= float(cross @ weight @ cross)
    return expected, math.sqrt(max(variance, 0.0) + own[i])


def next_readings(
    covariance: np.ndarray, options: list[tuple[str, np.ndarray, str]], count: int = 3
) -> tuple[NextReading, ...]:
    """The readings that would tell most, one after the other: gain = 1/2 log2(1 + variance / reading variance), in bits.

    covariance: (3k, 3k) of the state, scale included; options: id, slope (3k,) and how to take it.
    """
    left = list(options)
    found = []
    while left and len(found) < count:
        slopes = np.array([slope for _, slope, _ in left])
        variance = ((slopes @ covariance) * slopes).sum(axis=1)
        best = int(np.argmax(variance))
        name, slope, how = left.pop(best)
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
    hole = "pocket" if role == "channel" else "hole"
    if item.kind == "diameter":
        return f"outside jaws across {names[0]}" if role == "outer" else f"inside jaws in {hole} {names[0]}, the largest reading"
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
