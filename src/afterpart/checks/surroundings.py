"""What the plastic meets in service, and which plastics endure all of it at once.

Words: an *exposure* is moisture, oil, fuel or uv; a plastic *endures* the job when it stands its heat, clamped, and every
exposure at least fairly.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable

from afterpart.checks.bolted_joint import temperature_of
from afterpart.model.case import Case
from afterpart.model.finding import Suggestion
from afterpart.standards.materials import CLAMPED_MARGIN_C, MATERIALS, Material
from afterpart.words import tell

RATINGS = {"good": 3.0, "fair": 2.0, "poor": 1.0}
LEAST = RATINGS["fair"]
MOST_NAMED = 4

COLUMNS = {"moisture": "moisture", "water": "moisture", "spray": "moisture", "oil": "oil", "fuel": "fuel", "uv": "uv"}
"""What the part meets, and the column of the tables that tells of it."""

PLACES = {"outdoors": ("moisture", "uv"), "near an engine": ("oil",)}
"""What a place of service brings with it (judgement)."""

Suits = Callable[[Material], bool]


def exposures(case: Case) -> dict[str, str]:
    """What the part is exposed to (moisture | oil | fuel | uv), and where that is told."""
    service, machine = case.job.wishes.service, case.job.wishes.machine
    told = [(name, "service.exposed") for name in service.exposed] + [(name, "machine.media") for name in machine.media]
    told += [(name, tell('service.place "{place}"', place=service.place)) for name in PLACES.get(service.place, ())]
    found: dict[str, str] = {}
    for name, source in told:
        if name in COLUMNS:
            found.setdefault(COLUMNS[name], f"{source}: {name}" if name != COLUMNS[name] else source)
    return found


def rating(plastic: Material, column: str) -> str:
    """good | fair | poor of a plastic against moisture, oil, fuel or uv."""
    return {"moisture": plastic.moisture, "oil": plastic.oil, "fuel": plastic.fuel, "uv": plastic.uv}[column]


def high_load_doubt(plastic: Material, hottest_c: float) -> str:
    """Why a plastic that keeps its form under little load may not do so clamped; empty when it does."""
    figure = plastic.hdt_high_load_c
    if figure is None or hottest_c <= figure.low - CLAMPED_MARGIN_C:
        return ""
    return tell("Under high load {plastic} sags at {figure_low:g} degC already: keep the clamp load small, or use sleeves.",
                plastic=plastic.name, figure_low=figure.low)


def endures(case: Case, plastic: Material) -> bool:
    """Whether a rigid plastic stands the heat, clamped, and everything else the job tells of."""
    hottest, limit = temperature_of(case), plastic.service_limit_c(clamped=True)
    if limit is None or any(RATINGS[rating(plastic, each)] < LEAST for each in exposures(case)):
        return False
    return hottest is None or (limit >= hottest.celsius and not high_load_doubt(plastic, hottest.celsius))


def rigid_that(case: Case, suits: Suits) -> tuple[str, ...]:
    """Names of the rigid plastics that suit: first those that endure the whole job, each time the one that softens first."""
    found = [m for m in MATERIALS if m.softens_c is not None and suits(m)]
    return tuple(m.name for m in sorted(found, key=lambda m: (not endures(case, m), m.softens_c.low if m.softens_c else 0.0)))


def other_plastic(case: Case, key: str, now: str, suits: Suits, why: str) -> tuple[Suggestion, ...]:
    """The change of printer.material to a rigid plastic that suits and endures the whole job; () for another key and where
    there is none."""
    names = rigid_that(case, lambda plastic: suits(plastic) and endures(case, plastic))
    return (Suggestion(key, now, names[0], why),) if names and key == "printer.material" else ()


def named(names: tuple[str, ...]) -> str:
    """Some of the names, for an advice."""
    return ", ".join(names[:MOST_NAMED]) if names else tell("None in the tables")
