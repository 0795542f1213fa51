"""Where a matter of air begins to matter: thresholds that no standard gives.

Words: a *threshold* here is this program's judgement, from memory, and may be edited; a finding that rests on one gets
attention at best.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.sources import Source
from afterpart.standards.table import Figure

JUDGEMENT_SOURCE = Source("Judgement of this program", place="air", from_memory=True)
SQUEEZE_SOURCE = Source("Usual squeeze of a foam filter's rim", place="half of its thickness; a fifth at least", from_memory=True)

NOTICED_POWER_SHARE = Figure(0.02, 0.02, "share of power", JUDGEMENT_SOURCE)
"""Loss of power that a maker would notice: weather alone moves the air's density by as much."""

WORTH_A_CURVE = Figure(0.05, 0.05, "share of the allowed pressure drop", JUDGEMENT_SOURCE)
"""What a curved cut must save of the pressure drop the machine may have, to be worth the work."""

LEAST_RIM_SQUEEZE = Figure(0.20, 0.20, "share of the thickness", SQUEEZE_SOURCE)
"""Squeeze below which a rim may lose contact when the foam takes a set."""
