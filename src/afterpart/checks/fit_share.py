"""The share of other people's machines that the cover will go on."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.checks.fit_changes import opening_changes
from afterpart.checks.fit_contacts import Locator, Spot, locators, longest, meets_machine, spots
from afterpart.checks.fit_spread import (
    Figures,
    contacts,
    distance_u,
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
from afterpart.checks.mate_places import distance_off
from afterpart.formulas.fit_montecarlo import fit_share as share_by_draws
from afterpart.formulas.fit_montecarlo import pair_share
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, KeyChange, Limit, Suggestion
from afterpart.words import counted, entry, paragraph, symbol_words, tell, together

FORMULA = entry("share of draws in which some shift and turn leaves every contact room")
PAIR_FORMULA = entry("P = 2 Phi(play / sqrt(u_L^2 + u_play^2)) - 1")
SEVERITY = 3
SENSITIVITY_DRAWS = 40_000
"""Draws behind a sensitivity: the same for each change, so that their chance cancels."""

PERCENT = 100.0


def fit_share(case: Case) -> tuple[Finding, ...]:
    """Share of other people's machines that the cover goes on.

    All contacts together, each draw in its best placement; and by closed form for the locating pair alone:

        fits:  min over (t, phi) max over i of (|w_i + t + phi k x p_i| - g_i) <= 0
        w: places' deviations (mating part, printer, outline, warmth); g: gaps (holes print too narrow by chance)
        pair:  P = 2 Phi(play / sqrt(u_L^2 + u_play^2)) - 1,  play = g1 + g2

    The pair can only fit more often than the whole.  Holds for: rigid parts, small turns, distances in the range of the mating
    part's tolerances.  The spread is assumed and told beside the share.  Where the mating part was photographed, its own offsets
    and their uncertainty stand instead of the tolerances: the share is then the chance that the print goes on that very machine.
    Sources: source_of.
    """
    if not meets_machine(case):
        return ()
    reason = why_not(case)
    if reason is not None:
        return (not_judged("fit_share", _subject(case), reason[0], missing=reason[1], severity=SEVERITY),)
    opening = opening_wanted(case)
    suggestions, change = (opening_suggestion(case, opening),), opening_changes(case, opening)
    return (_whole(case, suggestions, change), *_pair(case, suggestions, change))


def _whole(case: Case, suggestions: tuple[Suggestion, ...], change: tuple[KeyChange, ...]) -> Finding:
    wish, places, f = case.job.wishes.fit, spots(case), figures(case)
    length = longest(places)
    found = share_by_draws(*contacts(places, f), wish.draws, wish.seed)
    given = {"clearance": 1.0, "mating part": 1.0, "printer": 1.0, "undersize of holes": 1.0, "warmth": 1.0}

    def share(**times: float) -> float:
        return PERCENT * share_by_draws(*contacts(*scaled(places, f, times)), SENSITIVITY_DRAWS, wish.seed).share

    text = paragraph(_fits(case, _counted(places), PERCENT * found.share), spread_words(case, length),
                     tell("How far to open it is told under \"{check}\".", check=symbol_words("fit_clearance_wanted")))
    return judged("fit_share", _subject(case), PERCENT * found.share, "%", Limit(low=PERCENT * wish.wanted_share),
                  source=source_of(case), formula=FORMULA, advice=text, from_memory=True,
                  u=PERCENT * found.standard_error,
                  inputs=(*inputs_of(case, length), Input(tell("draws"), wish.draws, "", "fit.draws"),
                          Input(tell("least gap drawn"), min(s.gap for s in places), "mm", tell("the cover as built"))),
                  sensitivity=strongest(share, given), suggestions=suggestions, severity=SEVERITY, change=change)


def _pair(case: Case, suggestions: tuple[Suggestion, ...], change: tuple[KeyChange, ...]) -> tuple[Finding, ...]:
    """The two locating holes farthest apart."""
    holes = [one for one in locators(case) if one.size == 0.0 and one.gap is not None]
    pairs = [(a, b) for i, a in enumerate(holes) for b in holes[i + 1:]]
    if not pairs:
        return ()
    one, other = max(pairs, key=lambda p: math.dist(p[0].at, p[1].at))
    wish, f, length = case.job.wishes.fit, figures(case), math.dist(one.at, other.at)
    given = {"play": play_of(f, one, other), "u_distance": distance_u(f, length, wish.tool_specific, (one.id, other.id)),
             "u_play": play_u(f, one, other)}
    measured = distance_off(case.mate, one.id, other.id) if case.mate is not None else None
    off = f.print_scale * length - (measured[0] if measured is not None else 0.0)

    def percent(play: float, u_distance: float, u_play: float) -> float:
        return PERCENT * pair_share(play, u_distance, u_play, off)

    text = paragraph(_two_fit(case, length, given["play"], percent(**given)), spread_words(case, length))
    return (judged("fit_share", tell("holes {one_id} and {other_id} alone", one_id=one.id, other_id=other.id), percent(**given),
                   "%", Limit(low=PERCENT * wish.wanted_share), source=source_of(case), formula=PAIR_FORMULA, advice=text,
                   from_memory=True,
                   inputs=(Input(tell("play of both together"), given["play"], "mm", tell("the holes as built"), given["u_play"]),
                           *inputs_of(case, length)), sensitivity=strongest(percent, given), suggestions=suggestions,
                   severity=SEVERITY, change=change),)


def _subject(case: Case) -> str:
    return tell("other people's machines") if case.mate is None else tell("the machine in the picture")


def _fits(case: Case, places: str, percent: float) -> str:
    if case.mate is None:
        return tell("All {places} together fit {percent:.1f} % of machines.", places=places, percent=percent)
    return tell("All {places} together fit {percent:.1f} % of prints to the machine in the picture.", places=places,
                percent=percent)


def _two_fit(case: Case, length: float, play: float, percent: float) -> str:
    if case.mate is None:
        return tell("These two holes alone, {length:.1f} mm apart with {play:.2f} mm of play between them, take {percent:.1f} % "
                    "of machines (closed form).", length=length, play=play, percent=percent)
    return tell("These two holes alone, {length:.1f} mm apart with {play:.2f} mm of play between them, take {percent:.1f} % of "
                "prints to the machine in the picture (closed form).", length=length, play=play, percent=percent)


def play_of(f: Figures, *holes: Locator) -> float:
    """Gaps of the holes together, as they print on average, mm."""
    return math.fsum((one.gap or 0.0) - f.narrow(one) / 2.0 for one in holes)


def play_u(f: Figures, *holes: Locator) -> float:
    """Standard deviation of play_of: each hole's own, and the undersize common to all (rectangular)."""
    printed = sum(one.printed for one in holes)
    common = printed * (f.undersize_most - f.undersize_least) / 4.0 / math.sqrt(3.0)
    return math.hypot(math.sqrt(printed) * f.print_u / 2.0, common)


def _counted(places: tuple[Spot, ...]) -> str:
    bolts, walls = sum(s.normal is None for s in places), len({s.group for s in places if s.normal is not None})
    told = [counted("1 hole", "{count} holes", count=bolts)] * (bolts > 0)
    told += [counted("1 wall", "{count} walls", count=walls)] * (walls > 0)
    return together(told)
