"""Bands of friction in screwed joints, and how far a torque wrench strays.

Words: *K* is torque over clamp load times diameter; *friction* the coefficient in thread and under the head.
Limits: the bands of K are a supplier's; the coefficients beside them are those that give about the same K in the full torque
formula (from memory).  A dry, rusty, plated or re-used bolt may lie outside.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.sources import Source
from afterpart.standards.table import rows

K_SOURCE = Source("Bolt supplier's page on preload and torque", place="bands of K by state of the thread")
WRENCH_SOURCE = Source("Torque tool maker's glossary", place="scatter of clamp load by torque wrench, 30 %")

WRENCH_SCATTER = 0.30
"""Clamp load by torque wrench strays by this share (WRENCH_SOURCE): friction and tool together, about the middle of a known K."""

TOOL_SCATTER = 0.06
"""The tool alone (hand torque tools, permissible deviation, from memory: ISO 6789)."""

TOOL_SOURCE = Source("ISO 6789 Hand torque tools", place="permissible deviation", from_memory=True)


@dataclass(frozen=True)
class Friction:
    """state of thread and underside; band of K; band of friction coefficients that belong to it."""

    state: str
    k_low: float
    k_high: float
    friction_low: float
    friction_high: float
    source: Source = K_SOURCE


FRICTIONS: tuple[Friction, ...] = tuple(
    Friction(row["state"], *(float(row[k]) for k in ("k_low", "k_high", "friction_low", "friction_high")))
    for row in rows("friction.csv"))


def friction(state: str = "as received") -> Friction:
    """The band of a state: "waxed", "lubricated", "as received".  Raises KeyError, listing them."""
    for item in FRICTIONS:
        if item.state == state:
            return item
    raise KeyError(f"unknown state of thread {state!r}: known are {', '.join(f.state for f in FRICTIONS)}")
