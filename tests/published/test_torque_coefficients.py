"""Torque over clamp load times diameter, as a bolt supplier prints it by the state of the thread.

Source: a bolt supplier's page on preload: K 0.10 to 0.14 waxed, 0.14 to 0.18 lubricated, 0.18 to 0.25 as received; a torque tool
maker's glossary: a wrench strays by 30 %.  The formula T = K d F is that of the same page.  Tolerance: none.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.formulas.bolted import load_of_torque, torque_of_load
from afterpart.standards.friction import K_SOURCE, WRENCH_SCATTER, WRENCH_SOURCE, friction

PRINTED = {"waxed": (0.10, 0.14), "lubricated": (0.14, 0.18), "as received": (0.18, 0.25)}


@pytest.mark.parametrize("state", PRINTED)
def test_bands_as_printed(state: str) -> None:
    row = friction(state)
    assert (row.k_low, row.k_high) == PRINTED[state]
    assert not K_SOURCE.from_memory


def test_the_bands_join_and_the_wrench_strays_more_than_any_of_them_is_wide() -> None:
    bands = list(PRINTED.values())
    assert all(low[1] == high[0] for low, high in zip(bands, bands[1:], strict=False))
    assert WRENCH_SCATTER == 0.30 and not WRENCH_SOURCE.from_memory
    assert all(2 * WRENCH_SCATTER > (high - low) / (0.5 * (high + low)) for low, high in bands)


@pytest.mark.parametrize("k", [0.10, 0.18, 0.25])
def test_torque_and_load_are_each_others_inverse(k: float) -> None:
    """M6 at 1000 N: T = K d F is 6 K N m."""
    assert torque_of_load(1000.0, 6.0, k) == pytest.approx(6.0 * k)
    assert load_of_torque(torque_of_load(1000.0, 6.0, k), 6.0, k) == pytest.approx(1000.0)
