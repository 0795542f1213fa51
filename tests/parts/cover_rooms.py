"""Grooves and seats for tests of the cover, laid by hand into a lid of 120 x 80 (drawings.gauge_lid)."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.model.feature import Groove, Seat
from tests.parts import drawings


def sealed(inset: float, width: float = 3.0, depth: float = 2.0) -> Groove:
    outer, inner = (drawings.rounded_rectangle(-60 + d, -40 + d, 60 - d, 40 - d, 4, "outer", 60).segments
                    for d in (inset, inset + width))
    return Groove(inner, outer, inner, width, depth, 0.0, 6.0, 0.0, 2.4, 4.0, (0, 0), inset, 9.0, "dust", "test")


def seated(inset: float = 20.0) -> Seat:
    pocket = drawings.rounded_rectangle(-60 + inset, -40 + inset, 60 - inset, 40 - inset, 4, "outer", 60).segments
    opening = drawings.rounded_rectangle(-55 + inset, -35 + inset, 55 - inset, 35 - inset, 4, "outer", 70).segments
    return Seat(pocket, 3.0, opening, (), (), 0.0, 5.0, 3.0)
