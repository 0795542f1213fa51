"""How many different things a maker should have to find before he starts.

Limits: judgement, from memory; a maker with a full drawer may ignore it.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.sources import Source
from afterpart.standards.table import Figure

MAKING_SOURCE = Source("Judgement: different tools and fasteners that a home workshop finds without buying", from_memory=True)

MOST_TOOLS = Figure(4, 4, "tools", MAKING_SOURCE)
MOST_FASTENERS = Figure(4, 4, "kinds", MAKING_SOURCE)
