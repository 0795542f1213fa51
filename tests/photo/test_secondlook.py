"""Along which chain a rim is looked at again: spikes and bits that run back are no rim.

A square rim of 40 mm, exact; the fitted chains are what carriers that hardly turn against each other make of it.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
import pytest

from afterpart.model.edges import Rim
from afterpart.photo.secondlook import laid_along

PX = 0.1


def square(extra: dict[int, list[tuple[float, float]]]) -> np.ndarray:
    """The square's corners, counter-clockwise, with more corners after some of them."""
    corners = [(0.0, 0.0), (40.0, 0.0), (40.0, 40.0), (0.0, 40.0)]
    return np.array([p for k, corner in enumerate(corners) for p in (corner, *extra.get(k, []))])


def walked(corners: np.ndarray, step: float = 0.25) -> np.ndarray:
    ends = np.roll(corners, -1, axis=0)
    return np.concatenate([a + np.linspace(0.0, 1.0, max(2, round(np.hypot(*(b - a)) / step)), endpoint=False)[:, None] * (b - a)
                           for a, b in zip(corners, ends, strict=True)])


def rim() -> Rim:
    points = walked(square({}))
    return Rim("outer", 1, points, np.full(len(points), 0.01))


def length(chain: np.ndarray) -> float:
    return float(np.hypot(*(np.roll(chain, -1, axis=0) - chain).T).sum())


def test_a_good_chain_is_taken_as_it_is() -> None:
    chain = laid_along(rim(), walked(square({})), PX)
    assert chain is not None and length(chain) == pytest.approx(160.0, rel=0.005)


@pytest.mark.parametrize("back", [2.0, 6.0])
def test_what_runs_back_along_the_rim_is_left_out(back: float) -> None:
    """Up the right side to 20 mm, back by so much a quarter of a millimetre beside it, and on."""
    folded = walked(square({1: [(40.0, 20.0), (40.25, 20.0 - back), (40.0, 20.2)]}))
    assert length(folded) > 160.0 + 1.9 * back
    chain = laid_along(rim(), folded, PX)
    assert chain is not None and length(chain) == pytest.approx(160.0, rel=0.01)
    right = chain[(chain[:, 0] > 39.0) & (chain[:, 1] > 1.0) & (chain[:, 1] < 39.0)]
    assert (np.diff(right[:, 1]) > 0.0).all()


def test_a_spike_is_not_believed() -> None:
    """Two carriers that cross 9 mm beyond the corner."""
    assert laid_along(rim(), walked(square({0: [(39.9, 0.0), (40.0, -9.0)]})), PX) is None


def test_the_other_way_round_is_the_same_chain() -> None:
    chain = laid_along(rim(), walked(square({}))[::-1], PX)
    assert chain is not None and length(chain) == pytest.approx(160.0, rel=0.005)
