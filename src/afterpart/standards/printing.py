"""Rules of thumb of printing by material extrusion, as figures that a maker may replace by his own printer's.

Limits: the guides behind the published rows contradict each other; none is a property of your printer.  A hole coupon and a
check plate are.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.sources import Source
from afterpart.standards.table import Figure, marked, rows

GUIDES_SOURCE = Source("Four print services' design guides, mutually inconsistent",
                       place="overhang, bridge, wall, feature, hole, tolerance")

RULES: dict[str, Figure] = {
    row["rule"]: Figure(float(row["low"]), float(row["high"]), row["unit"], marked(GUIDES_SOURCE, row["mark"]))
    for row in rows("printing.csv")}


def rule(name: str) -> Figure:
    """The figure of a rule such as "wall_least".  Raises KeyError, listing the rules."""
    if name not in RULES:
        raise KeyError(f"no printing rule {name!r}: known are {', '.join(RULES)}")
    return RULES[name]
