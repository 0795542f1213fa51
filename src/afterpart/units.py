"""The house units and the few conversions at the doors.

House units: mm, N, N/mm2, degrees; a bare length means mm, every other unit stands in the name.
This module imports nothing of ours.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

MM_PER_INCH = 25.4
"""Exact by definition (international yard and pound agreement, 1959)."""

POINTS_PER_MM = 72.0 / MM_PER_INCH
"""PDF user-space units per millimetre (ISO 32000: 1/72 inch)."""

SMALL_FORMAT_WIDTH = 36.0
"""Width of the 35 mm film frame in mm; its diagonal is 43.267 mm."""

SMALL_FORMAT_DIAGONAL = 43.2666153055679
