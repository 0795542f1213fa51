"""Tolerances: ISO 286 grades, ISO 2768 general tolerances, DIN 16742 for moulded plastic.

Words: a *grade* (IT7) is the width of a tolerance for a size; *tool bound* sizes lie in one mould half, others span the parting
line or a slide.
Conventions: mm.  Every table has its range as data; a size outside raises ValueError, so that a check looks at the range first.
Limits: grades IT6 to IT14 up to 315 mm; of the groups of DIN 16742 only TG6, the one verified.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.sources import Source
from afterpart.standards.table import Range, number, rows

IT_SOURCE = Source("ISO 286-1 Limits and fits: standard tolerance grades, as printed in public tables", place="IT6 to IT14")
GENERAL_SOURCE = Source("ISO 2768-1 General tolerances, linear dimensions, as printed on several public pages", "1989", "table 1")
MOULDING_SOURCE = Source("Supplier's sheet of DIN 16742 (now ISO 20457) tolerances, two copies alike", place="group TG6")
PRINT_SOURCE = Source("Usual grades of material extrusion prints", place="IT12 to IT14", from_memory=True)

SIZE_RANGE = Range(0.0, 315.0, "mm")
GENERAL_RANGE = Range(0.5, 1000.0, "mm")
MOULDING_RANGE = Range(0.0, 400.0, "mm")

PRINT_GRADES = ("IT12", "IT13", "IT14")
"""Good, usual and coarse material extrusion (PRINT_SOURCE)."""

GRADES = tuple(name for name in rows("it_grades.csv")[0] if name.startswith("IT"))
GENERAL_CLASSES = tuple(row["class"] for row in rows("general_tolerances.csv"))

_GRADE_STEPS = tuple((float(row["up_to"]), {g: float(row[g]) for g in GRADES}) for row in rows("it_grades.csv"))
_GENERAL = {row["class"]: tuple((float(limit), number(cell)) for limit, cell in row.items() if limit != "class")
            for row in rows("general_tolerances.csv")}
_MOULDING = tuple((float(row["up_to"]), float(row["tool_bound"]), float(row["not_tool_bound"]))
                  for row in rows("moulding_tolerances.csv"))


def it_tolerance(size: float, grade: str) -> float:
    """Width of the tolerance (mm) of a size (mm) in a grade such as "IT12".

    Raises KeyError for a grade not in the table, ValueError for a size outside SIZE_RANGE.
    """
    if grade not in GRADES:
        raise KeyError(f"unknown grade {grade!r}: known are {', '.join(GRADES)}")
    if not 0.0 < size <= SIZE_RANGE.high:
        raise ValueError(f"grades are tabled up to {SIZE_RANGE.high:g} mm, found {size:g} mm")
    return next(1e-3 * widths[grade] for limit, widths in _GRADE_STEPS if size <= limit)


def general_tolerance(size: float, name: str = "m") -> float | None:
    """Permissible deviation either way (mm) of a size without tolerance: class f, m, c or v; None where the table has none.

    Raises KeyError for another class, ValueError outside GENERAL_RANGE.
    """
    if name not in _GENERAL:
        raise KeyError(f"unknown class {name!r}: known are {', '.join(GENERAL_CLASSES)}")
    if not GENERAL_RANGE.holds(size):
        raise ValueError(f"general tolerances are tabled from {GENERAL_RANGE}, found {size:g} mm")
    return next(value for limit, value in _GENERAL[name] if size <= limit)


def moulding_tolerance(size: float, tool_bound: bool = True) -> float:
    """Permissible deviation either way (mm) of a moulded size, group TG6.  ValueError outside MOULDING_RANGE."""
    if not 0.0 < size <= MOULDING_RANGE.high:
        raise ValueError(f"TG6 is tabled up to {MOULDING_RANGE.high:g} mm, found {size:g} mm")
    return next(bound if tool_bound else free for limit, bound, free in _MOULDING if size <= limit)


def moulding_scatter(size: float, tool_bound: bool = True) -> float:
    """Standard deviation (mm) of moulded parts of a size: a third of the tolerance (judgement: the tolerance is three sigma)."""
    return moulding_tolerance(size, tool_bound) / 3.0
