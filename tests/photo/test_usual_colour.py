"""The table's usual colour round an object, counted instead of sorted.

Source: the median as numpy has it."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
import pytest

from afterpart.photo.part import _off_table, _usual_colour


@pytest.mark.parametrize("count", [1, 2, 3, 10, 11, 4096])
def test_it_is_the_median(count: int) -> None:
    colours = np.random.default_rng([67, count]).integers(0, 256, (count, 3)).astype(np.uint8)
    assert np.array_equal(_usual_colour(colours), np.median(colours, axis=0))


def test_where_there_is_none_it_is_black() -> None:
    assert not _usual_colour(np.zeros((0, 3), np.uint8)).any()


def test_what_is_far_from_it_is_told_by_the_distance_of_colours() -> None:
    small = np.random.default_rng(67).integers(0, 256, (30, 40, 3)).astype(np.uint8)
    table = np.array([200.0, 190.5, 180.0])
    assert np.allclose(_off_table(small, table), np.linalg.norm(small - table, axis=2), rtol=1e-6)
