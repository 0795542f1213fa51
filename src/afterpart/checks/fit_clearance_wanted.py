"""How far to open a snug cover so that it goes on the wanted share of machines."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.fit_changes import opening_changes
from afterpart.checks.fit_contacts import Spot, cover_of, longest, meets_machine, spots
from afterpart.checks.fit_spread import (
    contacts,
    figures,
    inputs_of,
    opening_suggestion,
    opening_wanted,
    scaled,
    source_of,
    spread_words,
    why_not,
)
from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.formulas.fit_montecarlo import opening_for
from afterpart.model.case import Case
from afterpart.model.feature import Hole
from afterpart.model.finding import Finding, Input, Limit
from afterpart.standards.clearance_holes import clearance_hole
from afterpart.words import entry, paragraph, tell

FORMULA = entry("the wanted share's quantile of the clearance that each draw still needs")
SEVERITY = 3
LADDER = (0.9, 0.95)
"""Shares told beside the wanted one."""

LADDER_DRAWS = 50_000
SENSITIVITY_DRAWS = 20_000


def fit_clearance_wanted(case: Case) -> tuple[Finding, ...]:
    """Clearance of the tightest place that reaches the wanted share, all places opened alike.

        x(P) = quantile P over the draws of  min over (t, phi) max over i of (|w_i + t + phi k x p_i| - g_i)
        wanted clearance = tightest gap as drawn + x(P)

    Opening every gap by x lowers each draw's need by x, so the quantile is the answer itself.  Holds as fit_share does; a hole
    past the coarse series of ISO 273 wants a wider washer, and is told.  Sources: source_of.
    """
    if not meets_machine(case):
        return ()
    reason = why_not(case)
    if reason is not None:
        return (not_judged("fit_clearance_wanted", tell("tightest place"), reason[0], missing=reason[1], severity=SEVERITY),)
    return (_wanted(case, spots(case)),)


def _wanted(case: Case, places: tuple[Spot, ...]) -> Finding:
    wish, f, length = case.job.wishes.fit, figures(case), longest(places)
    tightest = min(places, key=lambda s: s.gap)
    opening = opening_wanted(case)
    ladder = ", ".join(f"{share:.0%} {opening_for(*contacts(places, f), share, min(wish.draws, LADDER_DRAWS), wish.seed):+.2f}"
                       for share in LADDER if share < wish.wanted_share)
    given = {"mating part": 1.0, "printer": 1.0, "undersize of holes": 1.0, "warmth": 1.0}

    def needed(**times: float) -> float:
        return tightest.gap - opening_for(*contacts(*scaled(places, f, {"clearance": 1.0, **times})), wish.wanted_share,
                                          SENSITIVITY_DRAWS, wish.seed)

    to = tightest.gap + opening
    shares = tell("Shares and what to add all round, mm: {ladder}, {wanted_share:.1%} {opening:+.2f}.", ladder=ladder,
                  wanted_share=wish.wanted_share, opening=opening) if ladder else ""
    text = paragraph(_every_gap(case, opening), shares, _beyond_coarse(case, opening), spread_words(case, length))
    return judged("fit_clearance_wanted", tell("tightest place ({tightest})", tightest=tightest.name), tightest.gap, "mm",
                  Limit(low=to), source=source_of(case), formula=FORMULA, advice=text, from_memory=True,
                  severity=SEVERITY,
                  inputs=(*inputs_of(case, length), Input(tell("wanted share"), wish.wanted_share, "", "fit.wanted_share")),
                  sensitivity=strongest(needed, given), suggestions=(opening_suggestion(case, opening),),
                  change=opening_changes(case, opening))


def _every_gap(case: Case, opening: float) -> str:
    share, sizes = case.job.wishes.fit.wanted_share, _sizes(case, opening)
    if case.mate is None:
        return (tell("For {share:.1%} of machines every gap must grow by {opening:.2f} mm: {sizes}.", share=share,
                     opening=opening, sizes=sizes) if opening > 0 else tell("For {share:.1%} of machines every gap could even "
                                                                            "shrink by {opening:.2f} mm: {sizes}.", share=share,
                                                                            opening=-opening, sizes=sizes))
    return (tell("For {share:.1%} of prints to the machine in the picture every gap must grow by {opening:.2f} mm: {sizes}.",
                 share=share, opening=opening, sizes=sizes) if opening > 0
            else tell("For {share:.1%} of prints to the machine in the picture every gap could even shrink by {opening:.2f} mm: "
                      "{sizes}.", share=share, opening=-opening, sizes=sizes))


def _sizes(case: Case, opening: float) -> str:
    """The bolt holes that come of it, by diameter."""
    bolts = _bolts(case)
    found = [tell("{bolts} {d:g} to {d_2:.2f} mm", bolts=", ".join(h.id for h in bolts if h.diameter == d), d=d,
                  d_2=d + 2 * opening) for d in sorted({h.diameter for h in bolts})]
    return "; ".join(found) if found else tell("every wall alike")


def _beyond_coarse(case: Case, opening: float) -> str:
    """A warning where holes grow past the coarse series, else empty."""
    past = [h.id for h in _bolts(case) if h.diameter + 2 * opening > clearance_hole(h.screw).coarse]
    if not past:
        return ""
    return tell("{past} would be wider than the coarse series of ISO 273: give them a washer that reaches well over the hole, or "
                "leave them smaller and drill them to suit the machine that needs it.", past=", ".join(past))


def _bolts(case: Case) -> list[Hole]:
    cover = cover_of(case)
    assert cover is not None
    return [h for h in cover.features if isinstance(h, Hole) and h.purpose == "bolt"]
