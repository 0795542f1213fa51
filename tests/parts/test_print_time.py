"""The print-time estimate against its formula worked by hand."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.parts.print_time import PrinterPace, pace_in_words, print_minutes

PACE = PrinterPace(line_width=0.5, layer=0.25, first_speed_mm_per_s=25.0, speed_mm_per_s=50.0, idle_share=0.2, start_minutes=4.0)


def test_formula_by_hand() -> None:
    # 1000 mm2 / 0.5 mm = 2000 mm a layer: 80 s for the first, 5 x 40 s for the others; 280 s x 1.2 = 336 s = 5.6 min.
    assert print_minutes(1000.0, 1.5, PACE) == pytest.approx(4.0 + 5.6)


@pytest.mark.parametrize(("thickness", "layers"), [(1.0, 4), (1.01, 5), (1.25, 5), (2.0, 8)])
def test_layers_are_rounded_up(thickness: float, layers: int) -> None:
    assert f"in {layers} solid layers" in pace_in_words(1000.0, thickness, PACE)
    assert print_minutes(1000.0, thickness, PACE) == pytest.approx(4.0 + 1.2 * (80 + 40 * (layers - 1)) / 60)
