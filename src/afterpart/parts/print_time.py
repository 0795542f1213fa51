"""How long a thin flat piece takes on a plain printer: an estimate from its area.

        minutes = start + (1 + idle) * A / w * (1 / v1 + (n - 1) / v) / 60
            A   area of the piece seen from above [mm2]
            w   width of a printed line [mm]
            v1  speed in the first layer [mm/s];  v in all others
            n   layers = thickness / layer height, rounded up
            idle  share for travel, speeding up and slowing down;  start: heating and homing [min]
Holds for: solid pieces (no infill pattern), one nozzle of 0.4 mm.  A quick machine takes less than half.
Source: figures of PLAIN_PRINTER from memory; a print that was timed beats them.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from afterpart.words import tell


@dataclass(frozen=True)
class PrinterPace:
    line_width: float
    layer: float
    first_speed_mm_per_s: float
    speed_mm_per_s: float
    idle_share: float
    start_minutes: float


PLAIN_PRINTER = PrinterPace(
    line_width=0.45, layer=0.2, first_speed_mm_per_s=20.0, speed_mm_per_s=60.0, idle_share=0.15, start_minutes=3.0
)


def print_minutes(area_mm2: float, thickness: float, pace: PrinterPace = PLAIN_PRINTER) -> float:
    """Minutes for a solid piece of this area and thickness (formula in the module's head)."""
    layers = math.ceil(thickness / pace.layer - 1e-9)
    path = area_mm2 / pace.line_width
    seconds = path / pace.first_speed_mm_per_s + (layers - 1) * path / pace.speed_mm_per_s
    return pace.start_minutes + (1 + pace.idle_share) * seconds / 60


def pace_in_words(area_mm2: float, thickness: float, pace: PrinterPace = PLAIN_PRINTER) -> str:
    """The formula with its figures, for the maker to hold against the own machine."""
    layers = math.ceil(thickness / pace.layer - 1e-9)
    return tell("{area_mm2:.0f} mm2 in {layers} solid layers of {layer:g} mm, lines {line_width:g} mm wide, "
                "{first_speed_mm_per_s:g} mm/s in the first layer and {speed_mm_per_s:g} mm/s above, {idle_share:.0%} for "
                "travel, {start_minutes:g} min to heat up", area_mm2=area_mm2, layers=layers, layer=pace.layer,
                line_width=pace.line_width, first_speed_mm_per_s=pace.first_speed_mm_per_s, speed_mm_per_s=pace.speed_mm_per_s,
                idle_share=pace.idle_share, start_minutes=pace.start_minutes)
