"""Channels of the face in the drawing: traced along the outline where they follow it, and designed as parallel to it.

Words: a *channel* is two loops, its outer and its inner *wall*; a pocket or a pad is one.  A wall *follows* a base loop (the
outline; for the inner wall the outer one) when it runs beside it at one distance: its lines are parallel to the base's, its arcs
concentric or fillets of their own.  The measured wall keeps its own lines and arcs, fitted to its own points; the base only says
how many there are and of what kind.  In the design a following wall is the exact parallel of the designed base at a nominal
distance.
Conventions: the distance is positive to the left of the base's travel, so inwards from the outline; walls run against their base.
Limits: a wall that leaves its base anywhere is drawn free, as measured; so is a pad of unknown height.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from afterpart.errors import FitError
from afterpart.geometry.contour import edge_lengths
from afterpart.geometry.robust import spread
from afterpart.model.edges import TWO_WALLS, Note, Rim
from afterpart.outline.chain import Chain, junctions
from afterpart.outline.design import Design
from afterpart.outline.maker import FixedSize, Wish
from afterpart.outline.nominals import Choice, choose
from afterpart.outline.part import Part, moved
from afterpart.outline.quantities import Held, Quantity, read
from afterpart.outline.readings import CONFLICT_Z
from afterpart.outline.refine import Rope, fit_chain, with_covariance
from afterpart.outline.rounding import round_corners, sharpen_corners
from afterpart.outline.segment import Pieces, effective_weights
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.trace import trace_rims

AGAINST = ("outer", "pocket")
"""Walls that run against the outline."""

LEAST_ARC = 0.4
"""A parallel arc of a smaller radius is drawn as a corner, mm."""

FOLLOWS_SPREAD, FOLLOWS_FAR, FAR_SHARE = 0.09, 0.3, 0.04
"""A wall follows its base when its points scatter by less than the first about the fitted parallel, mm, and no more than
FAR_SHARE of them lie farther off than the second."""

PARALLEL_RAD, SAME_GAP = math.radians(1.5), 0.35
"""Lines this nearly parallel, and distances this nearly alike (mm), may be of one parallel."""

WIDTH_LATTICES = ((1.0, 0.3, 0.0), (0.5, 0.2, 0.0), (0.2, 0.15, 0.0), (0.1, 0.25, 0.0))
"""Steps (mm), shares and phases of channel widths: seal grooves are dimensioned in tenths (judgement)."""

TENTH_SHARE = 0.1
"""Share of distances from the outline that are whole tenths, beside the part's own lattice (judgement)."""

PARALLEL_PROBABILITY = 0.99
"""That a wall seen to follow its base was drawn parallel to it (judgement)."""

TAKEN = 0.5
"""A nominal this probable is taken."""


@dataclass(frozen=True)
class Parallel:
    """own: loop of the wall; base: loop it follows; pairs: (row of the wall, row of the base) of its lines and concentric arcs;
    fillets: rows of its arcs that are fillets of their own."""

    own: int
    base: int
    pairs: tuple[tuple[int, int], ...]
    fillets: tuple[int, ...]


def trace_all(rims: Sequence[Rim], points: list[np.ndarray], u: list[np.ndarray], settings: OutlineSettings) -> list[Chain]:
    """Chains of all rims, in their order.  points: (n, 2) mm, u: (n,) mm of each rim.  Raises FitError as trace_rims does."""
    plain = [i for i, rim in enumerate(rims) if rim.wall not in TWO_WALLS]
    chains, noise, length = trace_rims([points[i] for i in plain], [u[i] for i in plain], settings)
    found = dict(zip(plain, chains, strict=True))
    for i, rim in enumerate(rims):
        if rim.role != "channel" or (i in found and found[i].is_circle):
            continue
        outline = next((k for k in plain if rims[k].role == "outer" and rims[k].part == rim.part), None)
        chain = None
        if outline is not None and not found[outline].is_circle:
            chain = _along(found[outline], points[outline], points[i], rim.wall in AGAINST, noise, length, settings)
        if chain is not None:
            found[i] = chain
        elif i not in found:
            found[i] = trace_rims([points[i]], [u[i]], settings)[0][0]
    return [found[i] for i in range(len(rims))]


def _along(base: Chain, base_points: np.ndarray, points: np.ndarray, turned: bool, noise: float, length: float,
           settings: OutlineSettings) -> Chain | None:
    """The wall through points (n, 2) with as many lines and arcs as the parallel of its base has; None where that does not fit.
    turned: the wall runs against the base."""
    distance = float(np.median(cKDTree(base_points).query(points)[0]))
    is_arc, state, corners = _parallel(base, distance)
    if len(is_arc) < 2:
        return None
    if turned:
        is_arc, state, corners = is_arc[::-1].copy(), _reversed(is_arc, state)[::-1], np.roll(corners[::-1], -1, axis=0)
    ends = cKDTree(points).query(corners)[1]
    first = np.roll(ends, 1)
    order = np.argsort(first, kind="stable")
    if (np.diff(np.concatenate((first[order], first[order][:1] + len(points)))) < 2).any() or not _in_turn(first):
        return None
    steps = edge_lengths(points)
    along = np.concatenate(([0.0], np.cumsum(steps[:-1])))
    rope = Rope(points, effective_weights(points, length), noise, along, float(steps.sum()), settings.corner_guard,
                settings.tangent_price)
    try:
        chain = fit_chain(rope, Pieces(first[order], is_arc[order], math.inf, state[order]))
        chain = sharpen_corners(rope, round_corners(rope, chain))
    except (FitError, np.linalg.LinAlgError):
        return None
    scatter = spread(chain.residuals)
    if scatter > FOLLOWS_SPREAD or float((np.abs(chain.residuals) > FOLLOWS_FAR).mean()) > FAR_SHARE:
        return None
    return with_covariance(chain, chain.covariance * max(1.0, (scatter / noise) ** 2))


def _in_turn(first: np.ndarray) -> bool:
    """Whether indices round a closed rim rise, but for the one step over its end."""
    return int((np.diff(np.concatenate((first, first[:1]))) < 0).sum()) == 1


def _parallel(base: Chain, distance: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """is_arc (k,), state (k, 3) and corners (k, 2) of the curve `distance` to the left of a chain; arcs that vanish and lines
    that would run backwards are left out."""
    state = base.state.copy()
    state[~base.is_arc, 1] += distance
    state[base.is_arc, 2] -= distance
    kept = [k for k in range(base.size)
            if not base.is_arc[k] or (state[k, 2] * base.state[k, 2] > 0.0 and abs(state[k, 2]) > LEAST_ARC)]
    while len(kept) > 2:
        is_arc, own = base.is_arc[kept], state[kept]
        tangent = np.array([base.tangent[a] and (b - a) % base.size == 1 for a, b in zip(kept, kept[1:] + kept[:1], strict=True)])
        corners = junctions(is_arc, own, tangent, base.corners[kept])
        run = corners - np.roll(corners, 1, axis=0)
        back = ~is_arc & (run[:, 0] * np.cos(own[:, 0]) + run[:, 1] * np.sin(own[:, 0]) < 0.0)
        if not back.any():
            return is_arc, own, corners
        kept.pop(int(np.flatnonzero(back)[0]))
    return np.zeros(0, bool), np.zeros((0, 3)), np.zeros((0, 2))


def _reversed(is_arc: np.ndarray, state: np.ndarray) -> np.ndarray:
    """The same carriers (k, 3) travelled the other way."""
    other = state.copy()
    other[~is_arc, 0] = np.remainder(state[~is_arc, 0] + 2.0 * math.pi, 2.0 * math.pi) - math.pi
    other[~is_arc, 1] *= -1.0
    other[is_arc, 2] *= -1.0
    return other


def without_channels(part: Part) -> Part:
    """The part's outline, openings, pockets and pads alone (channels and loose pads are its last loops)."""
    count = part.settled
    if count == len(part.roles):
        return part
    rows = part.begin[count]
    return replace(part, chains=part.chains[:count], roles=part.roles[:count], walls=part.walls[:count], begin=part.begin[:count],
                   is_arc=part.is_arc[:rows], state=part.state[:rows], errors=part.errors.first(3 * rows),
                   covariance=part.covariance[: 3 * rows, : 3 * rows])


def parallels(part: Part) -> list[Parallel]:
    """For every wall that follows a base, what runs beside what; each outer wall comes before its inner one."""
    outline = next((i for i, role in enumerate(part.roles) if role == "outer"), None)
    found = []
    for own, wall in enumerate(part.walls):
        # a channel's walls stand side by side
        base = {"outer": outline, "inner": own - 1}.get(wall)
        if base is not None:
            match = _match(part, own, base)
            if match is not None:
                found.append(match)
    return found


def _match(part: Part, own: int, base: int) -> Parallel | None:
    """What of one loop runs beside what of another; None unless all of it does."""
    distances: list[tuple[float, float, int, int]] = []
    lengths = chords(part, own)
    for row in part.rows(own):
        for other in part.rows(base):
            gap = gap_between(part.is_arc, part.state, row, other)
            if gap is not None:
                distances.append((gap, lengths[row], row, other))
    if not distances:
        return None
    # the distance that most of the wall agrees on
    votes = [sum(weight for gap, weight, _, _ in distances if abs(gap - d) < SAME_GAP) for d, _, _, _ in distances]
    at = distances[int(np.argmax(votes))][0]
    at = float(np.median([gap for gap, _, _, _ in distances if abs(gap - at) < SAME_GAP]))
    pairs: dict[int, tuple[float, int]] = {}
    for gap, _, row, other in distances:
        if abs(gap - at) < SAME_GAP and (row not in pairs or abs(gap - at) < pairs[row][0]):
            pairs[row] = abs(gap - at), other
    fillets = [row for row in part.rows(own) if row not in pairs and part.is_arc[row] and _is_fillet(part, own, row, pairs)]
    if len(pairs) + len(fillets) < part.chains[own].size:
        return None
    return Parallel(own, base, tuple((row, other) for row, (_, other) in pairs.items()), tuple(fillets))


def gap_between(is_arc: np.ndarray, state: np.ndarray, row: int, other: int) -> float | None:
    """Distance of carrier `row` to the left of carrier `other`, which it runs against; None unless the two are parallel."""
    a, b = state[row], state[other]
    if is_arc[row] != is_arc[other]:
        return None
    if not is_arc[row]:
        turn = math.remainder(a[0] - b[0] - math.pi, 2.0 * math.pi)
        return float(-a[1] - b[1]) if abs(turn) < PARALLEL_RAD else None
    if a[2] * b[2] > 0.0 or float(np.hypot(*(a[:2] - b[:2]))) > SAME_GAP:
        return None
    return float(b[2] + a[2])


def _is_fillet(part: Part, own: int, row: int, pairs: dict[int, tuple[float, int]]) -> bool:
    """Whether an arc touches a line of the parallel on both sides."""
    chain, k = part.chains[own], row - part.begin[own]
    before, after = part.begin[own] + (k - 1) % chain.size, part.begin[own] + (k + 1) % chain.size
    return bool(chain.tangent[k] and chain.tangent[k - 1] and not part.is_arc[before] and not part.is_arc[after]
                and before in pairs and after in pairs)


def chords(part: Part, loop: int) -> dict[int, float]:
    """Chord of each segment of a loop (a circle's diameter) by row, mm."""
    chain = part.chains[loop]
    if chain.is_circle:
        return {part.begin[loop]: 2.0 * abs(float(part.state[part.begin[loop], 2]))}
    chord = np.hypot(*(chain.corners - np.roll(chain.corners, 1, axis=0)).T)
    return {row: float(chord[k]) for k, row in enumerate(part.rows(loop))}


def with_channels(design: Design, part: Part, settings: OutlineSettings, fixed: Sequence[FixedSize] = ()) -> Design:
    """The design of a whole part, from that of its outline and openings.  part: measured, photo frame, all loops; fixed: design
    values the maker sets."""
    rows = len(design.part.is_arc)
    if rows == len(part.is_arc):
        return design
    framed = moved(part, design.origin, design.angle_rad, design.scale)
    covariance, inside = framed.covariance.copy(), slice(0, 3 * rows)
    covariance[inside, inside] = design.measured.covariance
    framed = replace(framed, covariance=covariance)
    state = framed.state.copy()
    state[:rows] = design.part.state
    held, choices, concentric = list(design.held), dict(design.choices), list(design.concentric)
    radii = {size.item.rows[0]: size for size in fixed if size.item.kind == "radius" and size.item.rows[0] >= rows}
    drawn: list[FixedSize] = []
    for match in parallels(framed):
        choice, distance = _distance(design, framed, match, settings)
        told = _told_distance(framed, match, fixed)
        if told is not None:
            choice, distance = Choice(told.value, 1.0, None), math.copysign(told.value, distance)
        laid = _laid(framed, state, match, distance, settings, {row: size.value for row, size in radii.items()}, told is not None)
        if laid is None:
            continue
        drawn += [told] if told is not None else []
        for row in match.fillets:
            if row in radii:
                held.append(Held(Quantity("radius", (row,)), radii[row].value, 1.0, told=True))
                drawn.append(radii[row])
        for row, values in laid.items():
            state[row] = values
        for pair in match.pairs:
            if framed.is_arc[pair[0]]:
                concentric.append(pair)
                size = Quantity("same_radius", pair)
                held += [Held(Quantity(kind, pair), 0.0, PARALLEL_PROBABILITY) for kind in ("same_x", "same_y")]
            else:
                size = Quantity("sum_offset", pair)
                held.append(Held(Quantity("same_direction", pair), 0.0, PARALLEL_PROBABILITY))
            choices[size] = choice
            if choice.value is not None:
                held.append(Held(size, read(size, framed.is_arc, state)[0], choice.probability))
    missed = [size for size in fixed if max(size.item.rows) >= rows and size not in drawn]
    notes = (*design.notes, *(note for size in drawn for note in _far_off(size)), *(_not_a_channels(size) for size in missed))
    wishes = (*design.wishes, *(Wish((), size.name, size.name) for size in drawn))
    return replace(design, part=replace(framed, state=state), measured=framed, held=tuple(held), choices=choices,
                   concentric=tuple(concentric), wishes=wishes, notes=notes)


def _told_distance(framed: Part, match: Parallel, fixed: Sequence[FixedSize]) -> FixedSize | None:
    """The fixed distance of a wall from its base."""
    walls = [set(framed.rows(match.own)), set(framed.rows(match.base))]
    return next((size for size in fixed if size.item.kind in ("gap", "width") and len(size.item.rows) == 2
                 and all(wall & set(size.item.rows) for wall in walls)), None)


def _far_off(size: FixedSize) -> list[Note]:
    """What to say of a fixed size of a channel that the measurement contradicts."""
    z = abs(size.value - size.measured) / math.hypot(size.u, 0.01)
    if z < CONFLICT_Z:
        return []
    gap = abs(size.value - size.measured)
    return [Note("fixed_contradicts", f"{size.name}: the design value you fixed is {gap:.3f} mm from the measured "
                 f"{size.measured:.3f} (standard uncertainty {size.u:.3f}): {z:.1f} standard uncertainties. It is drawn as told. "
                 "Check the number, and whether it belongs to this dimension.")]


def _not_a_channels(size: FixedSize) -> Note:
    return Note("fixed_not_drawn", f"{size.name}: this size of the channel follows from the loop it runs beside, or its wall is "
                "drawn as measured, so that no value can be fixed for it. Fix the channel's width or its distance instead.")


def _distance(design: Design, framed: Part, match: Parallel, settings: OutlineSettings) -> tuple[Choice, float]:
    """The nominal distance of a wall from its base (value None where it has none), and the distance to draw it at."""
    lengths = chords(framed, match.own)
    pairs = [pair for pair in match.pairs if not framed.is_arc[pair[0]]] or list(match.pairs)
    weights = np.array([lengths[row] for row, _ in pairs])
    weights /= weights.sum()
    slope = np.zeros(framed.state.shape)
    measured = 0.0
    for (row, base), weight in zip(pairs, weights, strict=True):
        gap = gap_between(framed.is_arc, framed.state, row, base)
        assert gap is not None
        measured += weight * gap
        place = 2 if framed.is_arc[row] else 1
        sign = 1.0 if framed.is_arc[row] else -1.0
        slope[row, place] += sign * weight
        slope[base, place] += sign * weight
    u = math.sqrt(max(float(slope.ravel() @ framed.covariance @ slope.ravel()), 0.0) + 0.006**2)
    if design.lattice is None:
        return Choice(None, 0.0, None), measured
    inner = framed.roles[match.base] == "channel"
    profile = design.lattice.profile
    lattices = [(step, share, 0.0) for step, share in zip(profile.steps, profile.shares, strict=True)]
    if profile.system == "metric":
        lattices = list(WIDTH_LATTICES) if inner else [*lattices, (0.1, TENTH_SHARE, 0.0)]
    choice = choose(abs(measured), u, lattices, design.lattice.free)
    if choice.value is None or choice.probability < TAKEN or abs(choice.value - abs(measured)) > settings.move_limit:
        return Choice(None, 0.0, choice.runner_up), measured
    return choice, math.copysign(choice.value, measured)


def _laid(framed: Part, state: np.ndarray, match: Parallel, distance: float, settings: OutlineSettings,
          radii: dict[int, float], is_told: bool) -> dict[int, np.ndarray] | None:
    """The wall's rows laid exactly parallel to the base's as `state` has them, fillets with the radii (by row) where fixed; None
    where that leaves the measured wall, unless the distance is told."""
    out: dict[int, np.ndarray] = {}
    for row, base in match.pairs:
        own = state[base].copy()
        if framed.is_arc[row]:
            own[2] = -(state[base, 2] - distance)
            if own[2] * framed.state[row, 2] <= 0.0:
                return None
        else:
            own[0] = math.remainder(state[base, 0] + math.pi, 2.0 * math.pi)
            own[1] = -(state[base, 1] + distance)
        out[row] = own
    begin, size = framed.begin[match.own], framed.chains[match.own].size
    for row in match.fillets:
        before, after = (out[begin + (row - begin + step) % size] for step in (-1, 1))
        radius = math.copysign(radii[row], framed.state[row, 2]) if row in radii else framed.state[row, 2]
        normals = np.array([[-math.sin(line[0]), math.cos(line[0])] for line in (before, after)])
        if abs(np.linalg.det(normals)) < 1e-6:
            return None
        centre = np.linalg.solve(normals, np.array([before[1] + radius, after[1] + radius]))
        out[row] = np.array([centre[0], centre[1], radius])
    moves = [abs(values[1] - framed.state[row, 1]) for row, values in out.items() if not framed.is_arc[row]]
    return out if is_told or not moves or max(moves) < 3.0 * settings.move_limit else None
