"""The error budget of a part's state: edge noise and, cause by cause, what moves many carriers together.

An error of the state is  noise + columns @ z  with independent z of unit variance: every column is what one standard uncertainty
of one cause does to all carriers.  A dimension with slope d (its derivative by the state) then has
    u2 = d' noise d + sum over columns of (d' column)2
which splits by cause (JCGM 100, 5.1.2; causes are independent of one another).  A hand reading turns into a new column, and
makes the old ones smaller: the linear estimator is applied to each.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from afterpart.geometry.cubic import cubic_slopes, cubic_terms
from afterpart.geometry.uncertainty import Contribution, combine
from afterpart.model.edges import SharedErrors

NOISE = "edge noise"
EDGE = "where light and material edge part"
LOOK = "rounding and lean of the rim"
PLACE = "place of a single rim"
OWN = "place of a single line or arc"
SIZE = "size not told"


@dataclass(frozen=True)
class Errors:
    """noise: (3k, 3k) covariance of the edge noise, with noise_dof degrees of freedom; columns: (3k, m); causes, dof: (m) name
    and degrees of freedom (inf: judged) of each; the first `common` columns are those of the whole picture."""

    noise: np.ndarray
    columns: np.ndarray
    causes: tuple[str, ...]
    dof: tuple[float, ...]
    common: int
    noise_dof: float

    @property
    def covariance(self) -> np.ndarray:
        """(3k, 3k) of everything together."""
        return self.noise + self.columns @ self.columns.T

    def with_common(self, cause: str, column: np.ndarray, dof: float = math.inf) -> Errors:
        """One more cause (3k,), common to the whole picture."""
        n = self.common
        return replace(self, columns=np.column_stack((self.columns[:, :n], column, self.columns[:, n:])), common=n + 1,
                       causes=(*self.causes[:n], cause, *self.causes[n:]), dof=(*self.dof[:n], dof, *self.dof[n:]))

    def mapped(self, jacobian: np.ndarray) -> Errors:
        """Errors of jacobian @ state."""
        return replace(self, noise=jacobian @ self.noise @ jacobian.T, columns=jacobian @ self.columns)

    def carried(self, blocks: np.ndarray) -> Errors:
        """Errors of a state whose carriers are mapped one by one, by blocks (k, 3, 3)."""
        return replace(self, noise=carried(blocks, self.noise), columns=_by_blocks(blocks, self.columns))

    def first(self, count: int) -> Errors:
        """Errors of the first `count` numbers of the state."""
        return replace(self, noise=self.noise[:count, :count], columns=self.columns[:count])

    def contributions(self, slopes: np.ndarray) -> list[tuple[Contribution, ...]]:
        """What each cause adds to each of the dimensions of these slopes (n, 3k), largest first."""
        names, group, dofs = self._by_cause
        by_column = (slopes @ self.columns) ** 2
        noise = np.maximum(((slopes @ self.noise) * slopes).sum(axis=1), 0.0)
        found = []
        for own, square in zip(by_column, noise, strict=True):
            squares = np.bincount(group, weights=own, minlength=len(names))
            squares[0] += square
            parts = [Contribution(*one) for one in zip(names, np.sqrt(squares).tolist(), dofs, strict=True)]
            # causes that add the same keep one order, whatever their last digits
            found.append(tuple(sorted(parts, key=lambda part: -round(part.u, 9))))
        return found

    @functools.cached_property
    def _by_cause(self) -> tuple[tuple[str, ...], np.ndarray, tuple[float, ...]]:
        """Names of the causes, the edge noise first; which of them each column belongs to; least degrees of freedom of each."""
        dofs = {NOISE: self.noise_dof}
        for cause, dof in zip(self.causes, self.dof, strict=True):
            dofs[cause] = min(dofs.get(cause, dof), dof)
        names = tuple(dofs)
        return names, np.array([names.index(cause) for cause in self.causes], dtype=int), tuple(dofs.values())


def carried(blocks: np.ndarray, covariance: np.ndarray) -> np.ndarray:
    """Covariance (3k, 3k) of a state whose carriers are mapped one by one, by blocks (k, 3, 3)."""
    return _by_blocks(blocks, _by_blocks(blocks, covariance).T).T


def _by_blocks(blocks: np.ndarray, columns: np.ndarray) -> np.ndarray:
    """The blocks (k, 3, 3) times columns (3k, m)."""
    return (blocks @ columns.reshape(len(blocks), 3, -1)).reshape(columns.shape)


def total(parts: Sequence[Contribution]) -> tuple[float, float]:
    """Standard uncertainty and effective degrees of freedom of independent contributions."""
    parts = [part for part in parts if part.u > 0.0]
    return combine(parts) if parts else (0.0, math.inf)


def scale_alone(relative_u: float, middle: tuple[float, float]) -> SharedErrors:
    """Shared errors of a picture that tells no more than how well its scale is known; nothing shifts at `middle`."""
    along_x, along_y = np.zeros((1, 10)), np.zeros((1, 10))
    along_x[0, 1] = along_y[0, 2] = relative_u
    return SharedErrors(middle, 1.0, ("scale of the reference",), (None,), along_x, along_y)


def common_columns(shared: SharedErrors, middle: np.ndarray, unit: float, is_arc: np.ndarray, state: np.ndarray,
                   anchors: np.ndarray) -> np.ndarray:
    """(3k, m): what each row of `shared` does to the carriers.

    state (k, 3) and anchors (k, 2), a place amid each carrier's points, in house units about `middle`; unit: house units per
    unit of the edge map.  To first order in the field about the anchor: a line shifts and turns, a circle shifts and grows.
    The field's shift and turn amid the anchors are left out: they move the part as a whole.
    """
    places = ((anchors / unit + middle) - np.array(shared.middle)) / shared.reach
    terms, (by_x, by_y) = cubic_terms(places), cubic_slopes(places)
    shift = unit * np.stack([terms @ shared.along_x.T, terms @ shared.along_y.T], axis=-1)
    # slopes of the field: house units per house unit
    xx, xy = (by_x @ shared.along_x.T / shared.reach, by_y @ shared.along_x.T / shared.reach)
    yx, yy = (by_x @ shared.along_y.T / shared.reach, by_y @ shared.along_y.T / shared.reach)
    amid = anchors.mean(axis=0)
    shift = shift - shift.mean(axis=0)
    whole = 0.5 * (yx - xy).mean(axis=0)
    shift = shift - np.stack([-whole * (anchors[:, 1:] - amid[1]), whole * (anchors[:, :1] - amid[0])], axis=-1)
    xy, yx = xy + whole, yx - whole
    out = np.zeros((len(state), 3, len(shared.causes)))
    for row in range(len(state)):
        if is_arc[row]:
            growth, turn = 0.5 * (xx[row] + yy[row]), 0.5 * (yx[row] - xy[row])
            away = state[row, :2] - anchors[row]
            out[row, 0] = shift[row, :, 0] + growth * away[0] - turn * away[1]
            out[row, 1] = shift[row, :, 1] + growth * away[1] + turn * away[0]
            out[row, 2] = growth * state[row, 2]
        else:
            cos, sin = math.cos(state[row, 0]), math.sin(state[row, 0])
            along_x, along_y = xx[row] * cos + xy[row] * sin, yx[row] * cos + yy[row] * sin
            turn = cos * along_y - sin * along_x
            out[row, 0] = turn
            out[row, 1] = -sin * shift[row, :, 0] + cos * shift[row, :, 1] - turn * (anchors[row] @ np.array([cos, sin]))
    return out.reshape(3 * len(state), -1)


def split_scale(errors: Errors, is_arc: np.ndarray, growth: np.ndarray) -> tuple[float, np.ndarray]:
    """The independent scale error in what is common to the picture, relative, and the covariance (3k, 3k) without it.

    growth: (3k,) change of the state when everything grows by 100 %.  1 / (g' C^-1 g) is the largest s2 for which C - s2 g g' is
    still a covariance; what the carriers' own errors would allow by themselves is no scale error and stays with them.
    """
    free = np.column_stack((np.ones(len(is_arc), bool), np.ones(len(is_arc), bool), is_arc)).ravel()
    covariance = errors.covariance
    own = covariance - errors.columns[:, : errors.common] @ errors.columns[:, : errors.common].T
    size = np.sqrt(np.maximum(np.diag(covariance)[free], 1e-18))
    g = growth[free] / size
    squares = []
    for part in (covariance, own):
        scaled = part[np.ix_(free, free)] / np.outer(size, size) + 1e-10 * np.eye(len(g))
        squares.append(1.0 / float(g @ np.linalg.solve(scaled, g)))
    square = max(squares[0] - squares[1], 0.0)
    return math.sqrt(square), covariance - square * np.outer(growth, growth)
