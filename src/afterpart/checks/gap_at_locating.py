"""What is left of the gap where the cover locates, when everything that can be off is off at once."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.checks.fit_changes import opening_changes
from afterpart.checks.fit_contacts import Locator, cover_of, locators
from afterpart.checks.fit_spread import SIGMAS, Figures, figures, inputs_of, source_of, why_not, worst_distance, worst_width
from afterpart.checks.judge import judged, not_judged, strongest, value_that_passes
from afterpart.formulas.fits import worst_case
from afterpart.model.case import Case
from afterpart.model.feature import Hole
from afterpart.model.finding import Finding, Input, KeyChange, Limit, Sensitivity, Suggestion
from afterpart.standards.clearance_holes import clearance_hole
from afterpart.words import entry, paragraph, symbol_words, tell

FORMULA = entry("left = (g1 + g2 - dL) / 2, dL the distance's worst deviation")
SEVERITY = 2
LIP_REACH = 2.0
"""Largest clearance of a lip looked for, mm; of a hole: that of the coarse series of ISO 273."""


def gap_at_locating(case: Case) -> tuple[Finding, ...]:
    """Gap left at each locating feature in the worst case.

        two holes:  left = (g1 + g2 - dL) / 2      g  least radial gap: (D - s - 3 u_p - d) / 2 [mm]
        a lip:      left = c - dL / 2              s  most a hole prints too narrow, u_p the printer, d the bolt's nominal
        dL = tolerance of the mating part + 3 u_p + 2 u of the outline + growth by warmth, over the distance L

    Half of what a pair has left stands at each end, as the best placement shares it out.  Holds for: rigid parts, distances in
    the range of the mating part's tolerances (a mate that was measured stands with its own distances and 2 u); a deviation less
    likely than one in hundreds.  Sources: source_of.
    """
    cover, found = cover_of(case), locators(case) if cover_of(case) else ()
    if cover is None or not found:
        return ()
    reason = why_not(case)
    if reason is not None:
        return (not_judged("gap_at_locating", tell("locating features"), reason[0], missing=reason[1], severity=SEVERITY),)
    known = [one for one in found if one.gap is not None]
    unknown = tuple(not_judged("gap_at_locating", one.name,
                               tell("What stands in it on the machine is not known, so neither is its gap: measure it and "
                                    "compare."), severity=SEVERITY) for one in found if one.gap is None)
    return (*_holes(case, [one for one in known if one.size == 0.0]), *(_lip(case, one) for one in known if one.size > 0.0),
            *unknown)


def least_gap(gap: float, undersize: float, printer_u: float) -> float:
    """Radial gap of a printed hole drawn with this gap, at worst, mm."""
    return gap - (undersize + SIGMAS * printer_u) / 2.0


def pair_left(clearance_1: float, clearance_2: float, undersize: float, printer_u: float, distance_off: float) -> float:
    """What is left at each of two locating holes, mm."""
    return (least_gap(clearance_1, undersize, printer_u) + least_gap(clearance_2, undersize, printer_u) - distance_off) / 2.0


def _holes(case: Case, holes: list[Locator]) -> tuple[Finding, ...]:
    """One finding for each hole with its farthest partner, no pair twice; a hole alone against its own bolt."""
    if len(holes) == 1:
        return (_pair(case, holes[0], holes[0]),)
    farthest = [max((h for h in holes if h is not one), key=lambda h: math.dist(h.at, one.at)) for one in holes]
    pairs = dict.fromkeys((min(i, j), max(i, j)) for i, j in enumerate(holes.index(one) for one in farthest))
    return tuple(_pair(case, holes[i], holes[j]) for i, j in pairs)


def _printed(f: Figures, *of: Locator) -> tuple[float, float]:
    """Undersize and printer as they act on these holes: not at all in a metal sleeve."""
    return (max(f.narrow_most(one) for one in of), f.print_u) if any(one.printed for one in of) else (0.0, 0.0)


def _pair(case: Case, one: Locator, other: Locator) -> Finding:
    assert one.gap is not None and other.gap is not None
    length, f = math.dist(one.at, other.at), figures(case)
    causes = worst_distance(case, length, (one.id, other.id)) if one is not other else ()
    off, (undersize, printer) = worst_case([by for _, by in causes]), _printed(f, one, other)
    given = {"clearance_1": one.gap, "clearance_2": other.gap, "undersize": undersize, "printer_u": printer, "distance_off": off}
    if one is other:
        value, subject = least_gap(one.gap, undersize, printer), tell("{one} (its own bolt)", one=one.name)
    else:
        value, subject = pair_left(**given), tell("holes {one_id} and {other_id}, {length:.1f} mm apart", one_id=one.id,
                                                  other_id=other.id, length=length)
    now = min(one.gap, other.gap)
    reach = _coarse_gap(case, one)
    to = value_that_passes(lambda c: value + c - now, now, reach) if reach > now else None
    change = opening_changes(case, to - now, (one.id, other.id)) if to is not None and value < 0 else ()
    return _told(case, subject, value, length, causes, strongest(pair_left, given), now, to,
                 (Input(tell("clearance all round, smallest"), now, "mm", tell("the holes as built, less the bolt's nominal")),),
                 change=change)


def _coarse_gap(case: Case, one: Locator) -> float:
    """Radial gap of the coarse series for what goes through the hole, mm."""
    cover = cover_of(case)
    assert cover is not None
    row = clearance_hole(next(h.screw for h in cover.features if isinstance(h, Hole) and h.id == one.id))
    return (row.coarse - row.nominal) / 2.0


def _lip(case: Case, one: Locator) -> Finding:
    assert one.gap is not None
    causes = worst_width(case, one)
    off = worst_case([by for _, by in causes])

    def left(clearance: float, distance_off: float) -> float:
        return clearance - distance_off / 2.0

    to = value_that_passes(lambda c: left(c, off), one.gap, max(one.gap, LIP_REACH))
    return _told(case, tell("{one}, {size:.1f} mm across", one=one.name, size=one.size), left(one.gap, off), one.size, causes,
                 strongest(left, {"clearance": one.gap, "distance_off": off}), one.gap, to,
                 (Input(tell("clearance all round"), one.gap, "mm", tell("the lip as built")),), "lip.clearance")


def _left_in_words(value: float, causes: str) -> str:
    """causes: what the distance may be off by, "" where nothing is known of it."""
    if value >= 0:
        return (tell("At worst {value:.2f} mm is left (distance off by: {causes} mm).", value=value, causes=causes) if causes
                else tell("At worst {value:.2f} mm is left.", value=value))
    return (tell("At worst {value:.2f} mm is lacking (distance off by: {causes} mm).", value=-value, causes=causes) if causes
            else tell("At worst {value:.2f} mm is lacking.", value=-value))


def _wider_in_words(value: float, now: float, to: float | None) -> str:
    share = symbol_words("fit_share")
    if to is None:
        return tell("It takes {wanted:.2f} mm clearance all round to do even then, more than is usual; how often it comes to "
                    "that is told under \"{check}\".", wanted=now - value, check=share)
    return tell("{to:.2f} mm clearance all round instead of {now:.2f} would do even then; how often it comes to that is told "
                "under \"{check}\".", to=to, now=now, check=share)


def _told(case: Case, subject: str, value: float, length: float, causes: tuple[tuple[str, float], ...],
          sensitivity: tuple[Sensitivity, ...], now: float, to: float | None, inputs: tuple[Input, ...],
          key: str = "role.clearance", change: tuple[KeyChange, ...] = ()) -> Finding:
    text = paragraph(_left_in_words(value, ", ".join(f"{name} {by:.2f}" for name, by in causes)),
                     _wider_in_words(value, now, to) if value < 0 else "")
    suggestions = ((Suggestion(key, now, to, tell("leaves a gap even when everything is off at once")),) if value < 0 and to
                   else ())
    return judged("gap_at_locating", subject, value, "mm", Limit(low=0.0), source=source_of(case), formula=FORMULA,
                  advice=text, inputs=(*inputs, *inputs_of(case, length)), from_memory=True, sensitivity=sensitivity,
                  suggestions=suggestions, severity=SEVERITY, change=change)
