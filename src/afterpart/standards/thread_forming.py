"""Pilot holes, bosses and engagement for screws that form their own thread in plastic.

Conventions: all sizes as multiples of the screw's outside diameter.
Limits: the published rows are for moulded plastic.  A printed boss is weaker across its layers, so that no printed one should
be slimmer or shorter than `PRINTED_BOSS` and `PRINTED_ENGAGEMENT`; the pilot must be found with a hole coupon, because 0.05 mm
of diameter matters and printers differ by more.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.sources import Source
from afterpart.standards.table import Range, marked, rows

RULE_SOURCE = Source("Screw supplier's installation guide for thread-forming screws in plastic",
                     place="pilot, boss and engagement as multiples of the nominal diameter")
GUIDES_SOURCE = Source("Two further suppliers' guides to screws in plastic",
                       place="engagement 2.5 d, boss 2.0 to 2.5 d, depth 2.7 d, relief bore, seat at 70 % of the failing torque, "
                       "start at 75 to 80 % of the thread's height, at most 600 turns a minute")

TENSION_SOURCE = Source("Fastener handbook's table of screws for plastic", place="page 701: tension at break, 3.0 mm screw")

TENSION_BREAK_N: dict[float, float] = {3.0: 2700.0}
"""Pull (N) that breaks a screw for plastic, by outside diameter (mm): the one size that was read (TENSION_SOURCE)."""

PRINTED_BOSS = 2.5
PRINTED_ENGAGEMENT = 2.5
"""Least boss diameter and engagement in a print, multiples of the screw's outside diameter."""

PILOT_DEPTH = 2.7
"""Depth of the pilot hole, multiples of the outside diameter (GUIDES_SOURCE)."""

RELIEF_BORE = Range(1.05, 1.10, "of the outside diameter")
RELIEF_DEPTH = Range(0.25, 0.50, "of the outside diameter")
"""Short wider mouth of the pilot hole that keeps the boss's rim from bulging (GUIDES_SOURCE)."""

START_HEIGHT = Range(0.75, 0.80, "of the thread's height")
"""Share of the thread's height to begin trials with: (d - d_p) / (d - d3) (GUIDES_SOURCE)."""

FASTEST_RPM = 600.0
"""Turns a minute at which a driver still forms the thread instead of melting it (GUIDES_SOURCE)."""

SEATING_SHARE = 0.7
"""Seating torque over the torque that strips (GUIDES_SOURCE)."""

PILOT_PLUS = 0.08
"""By how much a moulded pilot hole up to 3 mm may exceed its size, mm (GUIDES_SOURCE)."""


@dataclass(frozen=True)
class BossRule:
    """pilot diameter, boss diameter and engagement length, as multiples of the screw's outside diameter."""

    material: str
    pilot: float
    boss: float
    engagement: float
    source: Source


RULES: tuple[BossRule, ...] = tuple(
    BossRule(row["material"], float(row["pilot"]), float(row["boss"]), float(row["engagement"]), marked(RULE_SOURCE, row["mark"]))
    for row in rows("boss_rules.csv"))


def boss_rule(material: str) -> BossRule:
    """The rule of a material such as "PETG", letter case ignored.  Raises KeyError, listing the materials with a rule."""
    for rule in RULES:
        if rule.material.lower() == material.strip().lower():
            return rule
    raise KeyError(f"no rule for thread-forming screws in {material!r}: known are {', '.join(r.material for r in RULES)}")
