"""All chains of one part as one state with one covariance, and its motions.

Errors: the fits' own noise, then column by column what is common to a carrier, to a rim (material edge against light edge) and
to the whole picture (camera, reference, heights).  The scale, common to everything, is told apart from the rest.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from afterpart.model.edges import TWO_WALLS, Rim, SharedErrors, is_loose
from afterpart.outline.budget import EDGE, LOOK, OWN, PLACE, Errors, carried, common_columns, split_scale
from afterpart.outline.chain import Chain, junctions
from afterpart.outline.quantities import Held, Quantity
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.solve import close

SHARED_BIAS = 0.6
"""Share of the edge bias's variance that all rims of a picture have in common (one light, one material; judgement)."""


@dataclass(frozen=True)
class Part:
    """chains: shapes of the loops (their own state is replaced by the rows below); roles, walls: of the loops, as in Rim;
    settled: how many of the loops, the first ones, the design settles by itself (channels follow others, loose pads stay as
    measured); begin: (loops,) first row of each;
    is_arc (k,), state (k, 3), covariance (3k, 3k) of the state apart from its scale, whose relative standard uncertainty is
    scale_u; errors: all of it, the scale included, by cause."""

    chains: tuple[Chain, ...]
    roles: tuple[str, ...]
    walls: tuple[str, ...]
    settled: int
    begin: tuple[int, ...]
    is_arc: np.ndarray
    state: np.ndarray
    covariance: np.ndarray
    scale_u: float
    errors: Errors
    amid: tuple[float, float]

    def rows(self, loop: int) -> range:
        """Rows of one loop."""
        return range(self.begin[loop], self.begin[loop] + self.chains[loop].size)

    def circles(self) -> list[int]:
        """Rows that are whole circles."""
        return [self.begin[i] for i, chain in enumerate(self.chains) if chain.is_circle]

    def following(self) -> dict[int, int]:
        """Row -> the next row round its loop; circles left out."""
        after: dict[int, int] = {}
        for i, chain in enumerate(self.chains):
            if not chain.is_circle:
                rows = list(self.rows(i))
                after.update(zip(rows, rows[1:] + rows[:1], strict=True))
        return after

    def touches(self) -> list[tuple[int, int]]:
        """Pairs of rows that meet smoothly."""
        pairs = []
        for i, chain in enumerate(self.chains):
            rows = list(self.rows(i))
            pairs += [(rows[k], rows[(k + 1) % chain.size]) for k in range(chain.size) if chain.tangent[k]]
        return pairs


def assemble(
    chains: list[Chain],
    rims: Sequence[Rim],
    settings: OutlineSettings,
    points: list[np.ndarray],
    shared: SharedErrors,
    middle: tuple[float, float],
    unit: float,
) -> Part:
    """One state of all chains with all its errors.

    rims: what the chains were fitted to; points: theirs (n, 2), house units about `middle` (in the edge map's unit); unit: house
    units per unit of the edge map."""
    begin = np.concatenate(([0], np.cumsum([chain.size for chain in chains])))
    size = int(begin[-1])
    is_arc = np.concatenate([chain.is_arc for chain in chains])
    state = np.concatenate([chain.state for chain in chains])
    anchors = np.concatenate([_anchors(chain, rim) for chain, rim in zip(chains, points, strict=True)])
    noise = np.zeros((3 * size, 3 * size))
    columns = [*common_columns(shared, np.asarray(middle), unit, is_arc, state, anchors).T]
    causes = list(shared.causes)
    shift = offset_slope(is_arc)
    spread = np.repeat(np.arange(len(chains)), 3 * np.diff(begin))
    doubts = [rim.doubts for rim in rims]
    for way in zip(*(d or (0.0,) * max(map(len, doubts)) for d in doubts), strict=True):
        columns.append(-unit * np.array(way)[spread] * shift)
        causes.append(LOOK)
    columns.append(math.sqrt(SHARED_BIAS) * settings.edge_bias_u * shift)
    causes.append(EDGE)
    own_share = math.sqrt(1.0 - SHARED_BIAS) * settings.edge_bias_u
    for i, chain in enumerate(chains):
        inside = slice(3 * begin[i], 3 * begin[i + 1])
        noise[inside, inside] = chain.covariance * (1.0 if chain.is_circle else settings.fit_doubt**2)
        along = shift_slopes(chain.is_arc, chain.state)
        for cause, share, slope in ((EDGE, own_share, shift[inside]), *((PLACE, settings.place_u, a) for a in along)):
            columns.append(np.zeros(3 * size))
            columns[-1][inside] = share * slope
            causes.append(cause)
        if not chain.is_circle:
            for row in range(begin[i], begin[i + 1]):
                for number in (0, 1, 2) if is_arc[row] else (1,):
                    columns.append(np.zeros(3 * size))
                    columns[-1][3 * row + number] = settings.edge_own_u
                    causes.append(OWN)
    dof = [math.inf if d is None else d for d in shared.dof] + [math.inf] * (len(columns) - len(shared.dof))
    samples = sum(len(chain.residuals) for chain in chains)
    common = len(shared.causes) + causes.count(LOOK)
    errors = Errors(noise, np.array(columns).T, tuple(causes), tuple(dof), common, max(samples / 6.0, 4.0))
    amid = anchors.mean(axis=0)
    rows = tuple(int(b) for b in begin[:-1])
    settled = next((i for i, rim in enumerate(rims) if rim.wall in TWO_WALLS or is_loose(rim)), len(rims))
    return with_errors(
        Part(tuple(chains), tuple(rim.role for rim in rims), tuple(rim.wall for rim in rims), settled, rows, is_arc, state, noise,
             0.0, errors, (float(amid[0]), float(amid[1])))
    )


def _anchors(chain: Chain, points: np.ndarray) -> np.ndarray:
    """(k, 2) for each carrier the middle one of its points; a circle's centre."""
    if chain.is_circle:
        return chain.state[:, :2].copy()
    count = len(points)
    stretch = np.remainder(np.roll(chain.first, -1) - chain.first, count)
    return points[np.remainder(chain.first + stretch // 2, count)]


def with_errors(part: Part, errors: Errors | None = None) -> Part:
    """The part with these errors (None: its own), its scale told apart from the rest."""
    errors = errors or part.errors
    scale_u, covariance = split_scale(errors, part.is_arc, growth_slope(part))
    return replace(part, errors=errors, scale_u=scale_u, covariance=covariance)


def touching(part: Part) -> Part:
    """The part with its touching conditions met to the last digits, the state moved as little as its covariance allows."""
    state = part.state.copy()
    for i, chain in enumerate(part.chains):
        if not chain.tangent.any() or chain.is_circle:
            continue
        rows = part.rows(i)
        inside = slice(3 * rows.start, 3 * rows.stop)
        ease = np.where(np.repeat(chain.is_arc, 3), 1e-6, np.tile([1e-10, 1e-6, 1e-6], chain.size))
        held = [Held(Quantity("touch", (k, (k + 1) % chain.size)), 0.0) for k in range(chain.size) if chain.tangent[k]]
        state[rows.start : rows.stop], _ = close(
            chain.is_arc, state[rows.start : rows.stop], part.covariance[inside, inside] + np.diag(ease), held
        )
    return replace(part, state=state)


def offset_slope(is_arc: np.ndarray) -> np.ndarray:
    """(3k,) change of the state when the whole curve moves 1 mm to its left."""
    slope = np.zeros((len(is_arc), 3))
    slope[~is_arc, 1] = 1.0
    slope[is_arc, 2] = -1.0
    return slope.ravel()


def scale_slope(is_arc: np.ndarray, state: np.ndarray) -> np.ndarray:
    """(3k,) change of the state when everything grows by 100 % about the origin."""
    slope = state.copy()
    slope[~is_arc, 0] = 0.0
    slope[~is_arc, 2] = 0.0
    return slope.ravel()


def growth_slope(part: Part) -> np.ndarray:
    """(3k,) change of the state when the part grows by 100 % about its middle."""
    along_x, along_y = shift_slopes(part.is_arc, part.state)
    return scale_slope(part.is_arc, part.state) - part.amid[0] * along_x - part.amid[1] * along_y


def turn_slope(is_arc: np.ndarray, state: np.ndarray) -> np.ndarray:
    """(3k,) change of the state when everything turns by 1 rad counter-clockwise about the origin."""
    slope = np.zeros_like(state)
    slope[~is_arc, 0] = 1.0
    slope[is_arc, 0] = -state[is_arc, 1]
    slope[is_arc, 1] = state[is_arc, 0]
    return slope.ravel()


def shift_slopes(is_arc: np.ndarray, state: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(3k,) twice: change of the state when everything moves by 1 mm along x, along y."""
    along_x, along_y = np.zeros_like(state), np.zeros_like(state)
    along_x[is_arc, 0] = along_y[is_arc, 1] = 1.0
    along_x[~is_arc, 1], along_y[~is_arc, 1] = -np.sin(state[~is_arc, 0]), np.cos(state[~is_arc, 0])
    return along_x.ravel(), along_y.ravel()


def moved(part: Part, origin: tuple[float, float], angle_rad: float, scale: float = 1.0) -> Part:
    """The part in a frame whose origin lies at `origin` and whose x axis is turned by angle_rad, lengths times scale."""
    is_arc, state = part.is_arc, part.state
    new = move_state(is_arc, state, origin, angle_rad, scale)
    size = len(is_arc)
    blocks = np.zeros((size, 3, 3))
    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    blocks[is_arc] = scale * np.array([[cos, sin, 0.0], [-sin, cos, 0.0], [0.0, 0.0, 1.0]])
    lines = np.flatnonzero(~is_arc)
    blocks[lines, 0, 0] = 1.0
    blocks[lines, 1, 0] = scale * (np.cos(state[lines, 0]) * origin[0] + np.sin(state[lines, 0]) * origin[1])
    blocks[lines, 1, 1] = scale
    blocks[lines, 2, 2] = 1.0
    return replace(
        part,
        state=new,
        covariance=carried(blocks, part.covariance),
        errors=part.errors.carried(blocks),
        amid=tuple(move_points(np.array([part.amid]), origin, angle_rad, scale)[0].tolist()),
    )


def move_state(
    is_arc: np.ndarray, state: np.ndarray, origin: tuple[float, float], angle_rad: float, scale: float = 1.0
) -> np.ndarray:
    """(k, 3) state in a frame at `origin`, turned by angle_rad, lengths times scale."""
    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    new = state.copy()
    gap = state[is_arc, :2] - np.asarray(origin)
    new[is_arc, 0], new[is_arc, 1] = scale * (gap[:, 0] * cos + gap[:, 1] * sin), scale * (gap[:, 1] * cos - gap[:, 0] * sin)
    new[is_arc, 2] = scale * state[is_arc, 2]
    direction = state[~is_arc, 0]
    new[~is_arc, 0] = np.remainder(direction - angle_rad + np.pi, 2.0 * np.pi) - np.pi
    new[~is_arc, 1] = scale * (state[~is_arc, 1] - (np.cos(direction) * origin[1] - np.sin(direction) * origin[0]))
    return new


def move_points(points: np.ndarray, origin: tuple[float, float], angle_rad: float, scale: float = 1.0) -> np.ndarray:
    """(n, 2) points in the same new frame as `moved`."""
    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    x, y = (np.asarray(points) - np.asarray(origin)).T
    return scale * np.column_stack((x * cos + y * sin, y * cos - x * sin))


def part_corners(part: Part, near: list[np.ndarray]) -> list[np.ndarray]:
    """Ends of all segments, loop by loop (k, 2); near: rough places in the same frame."""
    out = []
    for i, chain in enumerate(part.chains):
        rows = part.rows(i)
        if chain.is_circle:
            out.append(np.zeros((0, 2)))
        else:
            out.append(junctions(chain.is_arc, part.state[rows.start : rows.stop], chain.tangent, near[i]))
    return out
