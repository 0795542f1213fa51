"""The air that a machine asks for: what is stated first, else its own figures."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.formulas.airflow import air_asked


def test_a_compressor_breathes_every_turn_and_a_four_stroke_every_second() -> None:
    """160 cm3 x 2850 /min x 60 min/h x 0.85 = 23.26 m3/h, by hand."""
    asked = air_asked((None, None), "compressor", 160.0, 2850.0, 0.85)
    assert asked == pytest.approx(160e-6 * 2850 * 60 * 0.85) == pytest.approx(23.256)
    assert air_asked((None,), "engine four-stroke", 160.0, 2850.0, 0.85) == pytest.approx(asked / 2)


def test_the_largest_stated_flow_leads() -> None:
    assert air_asked((12.0, None, 15.0), "compressor", 160.0, 2850.0, 0.85) == 15.0


@pytest.mark.parametrize(("kind", "volume", "speed"), [("", 160.0, 2850.0), ("engine", 160.0, 2850.0), ("pump", None, 2850.0),
                                                       ("pump", 160.0, None)])
def test_what_is_not_told_is_not_guessed(kind: str, volume: float | None, speed: float | None) -> None:
    assert air_asked((None, None), kind, volume, speed, 0.85) is None
