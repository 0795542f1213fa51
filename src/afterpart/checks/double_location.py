"""Whether the cover is located once: enough to have a place, not so much that features fight each other."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.checks.fit_changes import clearing_changes
from afterpart.checks.fit_contacts import Locator, cover_of, locators, meets_machine
from afterpart.checks.fit_spread import MATE_GROUP
from afterpart.checks.judge import COUNTED, judged
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.tolerances import MOULDING_RANGE, MOULDING_SOURCE, moulding_tolerance
from afterpart.words import counted, entry, paragraph, tell, together, translated

FORMULA = entry("freedoms in the plane: 3 = two shifts and a turn; a round feature holds 2, a slot 1, a lip or edge 3")
SOURCE = entry("Statics of the plane: three freedoms")
SEVERITY_TWICE, SEVERITY_LOOSE = 4, 2
FREEDOMS = 3


def double_location(case: Case) -> tuple[Finding, ...]:
    """Locating features beyond the pair that holds place and direction (there may be none).

        extra = features left over once the held freedoms reach 3, the strongest taken first; fewer than 3 held is told as well

    A pair of round holes holds four freedoms: the one too many is their distance, judged by gap_at_locating.  Holds for: features
    told or completed as locating on the cover as built.  Source: SOURCE.
    """
    if cover_of(case) is None or not (meets_machine(case) or locators(case)):
        return ()
    found = locators(case)
    pair, extra = _split(found)
    held = min(sum(one.holds for one in pair), FREEDOMS)
    return (_twice(case, pair, extra), *((_loose(held, found),) if held < FREEDOMS else ()))


def _split(found: tuple[Locator, ...]) -> tuple[tuple[Locator, ...], tuple[Locator, ...]]:
    """What is needed, and what is more than that."""
    pair: list[Locator] = []
    extra: list[Locator] = []
    for one in sorted(found, key=lambda one: -one.holds):
        (extra if sum(p.holds for p in pair) >= FREEDOMS else pair).append(one)
    return tuple(pair), tuple(extra)


def _twice(case: Case, pair: tuple[Locator, ...], extra: tuple[Locator, ...]) -> Finding:
    names = together(one.name for one in pair) or tell("nothing")
    text = tell("Place and direction come from {names}; nothing else locates.", names=names)
    if extra:
        text = _too_many(together(one.name for one in extra), names, len(extra), len(pair), _fight(case, pair, extra))
    return judged("double_location", tell("locating features"), float(len(extra)), entry("features too many"), Limit(high=0.0),
                  source=translated(SOURCE), formula=FORMULA, advice=text, severity=SEVERITY_TWICE,
                  insensitive=translated(COUNTED),
                  inputs=(Input(tell("features that locate"), float(len(pair) + len(extra)), "", tell("the cover as built")),),
                  suggestions=tuple(Suggestion("role.role", "locates", "clears", tell("for {one}", one=one.name))
                                    for one in extra), change=clearing_changes(tuple(one.id for one in extra)))


def _too_many(extra: str, names: str, count: int, held_by: int, fight: str) -> str:
    if held_by == 1:
        told = counted("{extra} locates what {names} already holds.", "{extra} locate what {names} already holds.", count=count,
                       extra=extra, names=names)
    else:
        told = counted("{extra} locates what {names} already hold.", "{extra} locate what {names} already hold.", count=count,
                       extra=extra, names=names)
    return paragraph(told, fight, counted("Let it clear.", "Let them clear.", count=count))


def _fight(case: Case, pair: tuple[Locator, ...], extra: tuple[Locator, ...]) -> str:
    """By how much the machine may put them elsewhere, in words; empty where it is not tabled."""
    length = max(math.dist(a.at, b.at) for a in pair for b in extra)
    wish = case.job.wishes.fit
    if wish.mate_group != MATE_GROUP or not 0.0 < length <= MOULDING_RANGE.high:
        return ""
    return tell("On another machine they may lie {moulding_tolerance:.2f} mm elsewhere from each other ({place}).",
                moulding_tolerance=moulding_tolerance(length, wish.tool_specific), place=MOULDING_SOURCE.place)


def _loose(held: int, found: tuple[Locator, ...]) -> Finding:
    text = paragraph(tell("{found} alone does not locate it: the cover goes where it is put by eye.",
                          found=together(one.name for one in found)) if found
                     else tell("Nothing locates: the cover goes where it is put by eye."),
                     tell('A [[role]] row with role = "locates", or a [lip], gives it a place.'))
    return judged("double_location", tell("place and direction"), float(held), entry("freedoms held"), Limit(low=float(FREEDOMS)),
                  source=translated(SOURCE), formula=FORMULA, advice=text, severity=SEVERITY_LOOSE,
                  insensitive=translated(COUNTED))
