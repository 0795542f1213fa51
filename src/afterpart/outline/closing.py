"""All that is held solved together with the touching conditions, so that the drawing closes exactly.

What does not fit together, makes an edge run backwards or leaves the measured rim is dropped, the least probable first; what the
maker says is dropped last.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from afterpart.outline.chain import distances, junctions, off_carriers
from afterpart.outline.features import turn_between
from afterpart.outline.part import Part, move_points
from afterpart.outline.quantities import Held, Quantity
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.solve import close

WILD_TURN = math.radians(60.0)
"""An arc that nominals make turn by so much more or less than its rim does has been drawn the wrong way round."""


@dataclass(frozen=True)
class PhotoFrame:
    """The frame the rims were seen in.  rims: of the part's loops, each (n, 2); origin, angle_rad, scale: the way into the
    part's own."""

    rims: list[np.ndarray]
    origin: tuple[float, float]
    angle_rad: float
    scale: float

    def into_part(self, points: np.ndarray) -> np.ndarray:
        """Points (n, 2) in the part's own frame."""
        return move_points(points, self.origin, self.angle_rad, self.scale)


def closed(part: Part, held: list[Held], photo: PhotoFrame, settings: OutlineSettings) -> tuple[np.ndarray, tuple[Held, ...]]:
    """Solve all that is held with the touching conditions; drop what does not fit together or leaves the measured rim.  The state
    (rows, 3) and what is still held."""
    ease = np.where(np.repeat(part.is_arc, 3), 1e-6, np.tile([1e-10, 1e-6, 1e-6], len(part.is_arc)))
    covariance = part.covariance + np.diag(ease) if part.state.size else part.covariance
    touches = [Held(Quantity("touch", pair), 0.0) for pair in part.touches()]
    state = part.state.copy()
    kept: list[Held] = []
    for rows in _independent(part, held):
        own = [h for h in held if set(h.quantity.rows) & rows]
        local = [t for t in touches if set(t.quantity.rows) & rows]
        index = np.array(sorted(rows))
        state[index], own = _solve_group(part, covariance, index, own, local, photo, settings)
        kept += own
    return state, tuple(kept)


def _independent(part: Part, held: list[Held]) -> list[set[int]]:
    """Rows that hang together through loops or held relations."""
    groups = [set(part.rows(i)) for i in range(len(part.chains))]
    for item in held:
        if len(item.quantity.rows) > 1:
            hit = [g for g in groups if g & set(item.quantity.rows)]
            if len(hit) > 1:
                merged = set().union(*hit)
                groups = [g for g in groups if g not in hit] + [merged]
    return groups


def _solve_group(
    part: Part,
    covariance: np.ndarray,
    index: np.ndarray,
    held: list[Held],
    touches: list[Held],
    photo: PhotoFrame,
    settings: OutlineSettings,
) -> tuple[np.ndarray, list[Held]]:
    place = {int(row): k for k, row in enumerate(index)}
    inside = (3 * index[:, None] + np.arange(3)[None, :]).ravel()
    local_covariance = covariance[np.ix_(inside, inside)]
    is_arc, measured = part.is_arc[index], part.state[index]

    def localised(items: list[Held]) -> list[Held]:
        own = [(h.quantity, h.value) for h in items]
        return [Held(Quantity(q.kind, tuple(place[row] for row in q.rows), q.told), value) for q, value in own]

    held, expected = list(held), measured
    while any(h.told for h in held):
        told = [h for h in held if h.told]
        expected, gap = close(is_arc, measured, local_covariance, localised(touches + told))
        if gap < 1e-7:
            expected = _with_radii(part, index, touches, held, localised, local_covariance, expected)
            break
        held.remove(told[-1])
        expected = measured
    while True:
        state, gap = close(is_arc, measured, local_covariance, localised(touches) + localised(held))
        offenders = [] if gap < 1e-7 else _least_sure(held)
        if not offenders and held:
            offenders = _running_back(part, index, state, held, photo) or _off_the_rim(
                part, index, state, expected, held, photo, settings
            )
        if not offenders:
            return state, held
        held = [h for h in held if h not in offenders]


def _with_radii(part: Part, index: np.ndarray, touches: list[Held], held: list[Held],
                localised: Callable[[list[Held]], list[Held]], covariance: np.ndarray, expected: np.ndarray) -> np.ndarray:
    """What is expected of the maker's word alone, fillets carried along at their radii: where an edge is moved its fillets move
    with it and do not grow.  The state `expected` where that cannot be."""
    told = [h for h in held if h.told]
    sized = {h.quantity.rows[0]: h.value for h in held if h.quantity.kind == "radius"}
    spoken = {row for h in told for row in h.quantity.rows if h.quantity.kind in ("radius", "same_radius", "length")}
    pairs = [touch.quantity.rows for touch in touches]
    both = [a for a, _ in pairs if a in {b for _, b in pairs}]
    radii = [Held(Quantity("radius", (row,)), sized.get(row, abs(float(part.state[row, 2]))))
             for row in both if part.is_arc[row] and row not in spoken]
    carried, gap = close(part.is_arc[index], part.state[index], covariance, localised(touches + told + radii))
    return carried if gap < 1e-7 else expected


def _least_sure(held: list[Held]) -> list[Held]:
    """The least probable value held, the maker's last of all; of those that say something of the same rows as the maker's
    first."""
    told = {row for h in held if h.told for row in h.quantity.rows}
    own = [h for h in held if not h.told]
    about = [h for h in own if told & set(h.quantity.rows)]
    pool = about or own or held
    return [min(pool, key=lambda h: h.probability)] if pool else []


def _running_back(
    part: Part,
    index: np.ndarray,
    state: np.ndarray,
    held: list[Held],
    photo: PhotoFrame,
) -> list[Held]:
    """The least probable value about an edge that would run backwards (fillets too large for it) or miss its neighbour, or an arc
    that would turn quite otherwise than its rim; [] when all is well."""
    place = {int(row): k for k, row in enumerate(index)}
    for i, chain in enumerate(part.chains):
        rows = list(part.rows(i))
        if rows[0] not in place or chain.is_circle:
            continue
        own = state[[place[row] for row in rows]]
        corners = junctions(chain.is_arc, own, chain.tangent, photo.into_part(chain.corners))
        missed = off_carriers(chain.is_arc, own, corners, 1e-6)
        for k in range(chain.size):
            run = corners[k] - corners[k - 1]
            back = not chain.is_arc[k] and run[0] * math.cos(own[k, 0]) + run[1] * math.sin(own[k, 0]) < -1e-9
            other_way = chain.is_arc[k] and WILD_TURN < abs(
                turn_between(own[k], corners[k - 1], corners[k])
                - turn_between(chain.state[k], chain.corners[k - 1], chain.corners[k])
            )
            if back or missed[k] or other_way:
                about = {rows[k], rows[k - 1], rows[(k + 1) % chain.size]}
                mine = [h for h in held if about & set(h.quantity.rows) and h.quantity.kind == "radius"]
                mine = mine or [h for h in held if about & set(h.quantity.rows)]
                mine = [h for h in mine if not h.told] or mine
                return [min(mine, key=lambda h: h.probability)] if mine else []
    return []


def _off_the_rim(
    part: Part,
    index: np.ndarray,
    state: np.ndarray,
    expected: np.ndarray,
    held: list[Held],
    photo: PhotoFrame,
    settings: OutlineSettings,
) -> list[Held]:
    """Held values of carriers whose rim would lie farther off than the limit allows: the least probable of the worst carrier.
    expected: the measured state, changed by what the maker says alone."""
    worst: tuple[float, int] | None = None
    place = {int(row): k for k, row in enumerate(index)}
    for i, chain in enumerate(part.chains):
        rows = list(part.rows(i))
        if rows[0] not in place:
            continue
        local = photo.into_part(photo.rims[i])
        for k, row in enumerate(rows):
            begin, end = chain.first[k], chain.first[(k + 1) % chain.size]
            own = local if chain.size == 1 else local[(begin + np.arange((end - begin) % len(local))) % len(local)]
            if not len(own):
                continue
            is_arc = bool(part.is_arc[row])
            away = np.abs(distances(is_arc, state[place[row]], own) - distances(is_arc, expected[place[row]], own))
            # most edges stay where they are: no quantile lies beyond the largest
            moved_by = float(np.quantile(away, 0.9)) if away.max() > settings.move_limit else 0.0
            if moved_by > settings.move_limit and (worst is None or moved_by > worst[0]):
                worst = moved_by, row
    if worst is None:
        return []
    mine = [h for h in held if worst[1] in h.quantity.rows and not h.told] or [h for h in held if not h.told]
    return [min(mine, key=lambda h: h.probability)] if mine else []
