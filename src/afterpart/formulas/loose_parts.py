"""What keeps a loose thing out of a machine: rules without tables, and how much is solid behind a formed thread.

Words: a *hold* is one thing that keeps a part in its place by itself (a screw, a hook); a *break* is one crack that must run
right through before a part of a print is loose; *solid behind* is what closes a blind hole.
Limits: the rules are judgement; whether a screw turns out or a bar breaks in service is not computed here.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.sources import Source

CAPTIVE_SOURCE = Source("Practice for inlets: what can come loose is captive, screened off, or outside",
                        place="width of the way as built against the smallest width of the thing")
SINGLE_FAILURE_SOURCE = Source("Practice: no single failure may free what a machine would swallow", from_memory=True)
BLIND_SOURCE = Source("Practice for inlets: threads are formed in blind holes, on the bench, with the cover off",
                      place="one whole layer is the least that a printer closes a hole with")

LEAST_HOLDS = 2
"""Holds, or breaks, that must all go before a thing is free (SINGLE_FAILURE_SOURCE)."""


def solid_behind(open_face: float, pilot_depth: float, far_face: float) -> float:
    """What closes a blind hole: |far face - open face| - depth, mm; zero or less when it goes through."""
    # Rounded far below any layer: a hole that leaves one layer to the drawing must not fail by the last binary digit.
    return round(abs(far_face - open_face) - pilot_depth, 6)
