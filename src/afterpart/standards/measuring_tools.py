"""How far a calliper or a rule may be off.

Words: *greatest permitted error* is what the tool's standard allows either way; a rule's *class* is printed on it as a Roman
number in an oval.  An unmarked rule is taken as class III.
Limits: tools as new and at 20 degC; wear, tilt and squeeze come on top.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.sources import Source
from afterpart.standards.table import rows

CALLIPER_SOURCE = Source("DIN 862 Vernier, dial and digital callipers, as printed in a public table",
                         place="permissible error by length")
RULE_SOURCE = Source("UK Measuring Instruments Regulations 2016 (S.I. 2016/1153), schedule 1I", "2016",
                     "material measures of length: a + b L")

INSIDE_MORE = 0.02
"""By how much inside and depth readings may err more, mm (CALLIPER_SOURCE)."""

_STEPS = [(row["tool"], float(row["up_to"]), float(row["greatest_error"])) for row in rows("measuring_tools.csv")]

CALLIPERS: dict[str, tuple[tuple[float, float], ...]] = {
    tool: tuple((longest, error) for name, longest, error in _STEPS if name == tool)
    for tool in dict.fromkeys(name for name, _, _ in _STEPS)}
"""(longest length, greatest permitted error) of each kind, mm (CALLIPER_SOURCE)."""

RULE_CLASSES: dict[str, tuple[float, float, float, float]] = {
    "I": (0.1, 0.1, 0.1, 0.1), "II": (0.3, 0.2, 0.2, 0.2), "III": (0.6, 0.4, 0.3, 0.3)}
"""a [mm], b [mm per m], more from an end face [mm], between neighbouring millimetre marks [mm] (RULE_SOURCE)."""


def calliper_error(length: float, tool: str = "digital calliper", inside: bool = False) -> float:
    """Greatest permitted error (mm) of a reading.  KeyError for another tool, ValueError past its longest length."""
    steps = CALLIPERS.get(tool)
    if steps is None:
        raise KeyError(f"unknown tool {tool!r}: known are {', '.join(CALLIPERS)}")
    for longest, error in steps:
        if length <= longest:
            return error + (INSIDE_MORE if inside else 0.0)
    raise ValueError(f"a {tool} is tabled up to {steps[-1][0]:g} mm, found {length:g} mm")


def rule_error(length: float, rule_class: str = "III", from_end: bool = False) -> float:
    """Greatest permitted error (mm) of a length on a rule: a + b L, L in m rounded up; more when counted from its end face."""
    a, b, end, _ = RULE_CLASSES[rule_class]
    return a + b * math.ceil(length / 1000.0 - 1e-9) + (end if from_end else 0.0)


def rectangular_u(greatest_error: float) -> float:
    """Standard uncertainty of an error of which only the limit is known: a / sqrt(3)."""
    return greatest_error / math.sqrt(3.0)


def resolution_u(step: float) -> float:
    """Standard uncertainty of a reading rounded to a step: r / sqrt(12)."""
    return step / math.sqrt(12.0)
