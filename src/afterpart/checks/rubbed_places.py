"""Whether what rubbed on a trial has more room now."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.fit_contacts import Spot, cover_of, spots
from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.formulas.trial_sizes import own_trials
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.model.wishes import Trial
from afterpart.words import entry, paragraph, tell, translated

SOURCE = entry('[[trial]] rows of what = "fit"')
FORMULA = entry("more = c - c_rubbed > 0")
SEVERITY = 4
RUBS = ("rubs", "tight")
LEAST_MORE = 0.01
"""Clearance is drawn in hundredths: one more is the least that is more, mm."""
DIGITS = 6
"""Of a millimetre: what is the same clearance has no difference."""


def rubbed_places(case: Case) -> tuple[Finding, ...]:
    """Clearance now, over the one at which each place rubbed or was tight.

        more = c - c_rubbed     c  clearance as built [mm], c_rubbed  largest at which the trial rubbed there [mm]

    A row that names no place is of the tightest.  Holds for: trials of this material and profile; the place by its id.
    """
    if cover_of(case) is None or not spots(case):
        return ()
    rows = [trial for trial in own_trials(case.job.wishes) if trial.what == "fit" and trial.result in RUBS]
    names = dict.fromkeys(trial.of for trial in rows)
    return tuple(_finding(case, max((t for t in rows if t.of == name), key=lambda t: t.drawn)) for name in names)


def _finding(case: Case, trial: Trial) -> Finding:
    place = _place(case, trial.of)
    if place is None:
        return not_judged("rubbed_places", trial.of,
                          tell("{of!r} is no place where this cover meets the machine: name a bolt hole by its id (c1), or leave "
                               "trial.of out.", of=trial.of), source=translated(SOURCE), formula=FORMULA, missing=("trial.of",),
                          severity=SEVERITY)

    def more(clearance: float, rubbed: float) -> float:
        return clearance - rubbed

    given = {"clearance": place.gap, "rubbed": trial.drawn}
    value = round(more(**given), DIGITS)
    was = (tell("It was tight at {drawn:.2f} mm all round; now it has {gap:.2f} mm.", drawn=trial.drawn, gap=place.gap)
           if trial.result == "tight"
           else tell("It rubbed at {drawn:.2f} mm all round; now it has {gap:.2f} mm.", drawn=trial.drawn, gap=place.gap))
    advice = paragraph(was, tell("Try it again.") if value >= LEAST_MORE else tell("Give it more."))
    suggestions = (Suggestion("role.clearance", place.gap, trial.drawn + 0.1, tell("a tenth more than where it rubbed")),)
    subject = tell("hole {place}", place=place.name) if place.size == 0.0 and place.normal is None else place.name
    return judged("rubbed_places", subject, value, "mm", Limit(low=LEAST_MORE), source=translated(SOURCE), formula=FORMULA,
                  advice=advice,
                  inputs=(Input(tell("clearance"), place.gap, "mm", tell("the cover as built")),
                          Input(tell("rubbed at"), trial.drawn, "mm", tell("[[trial]] drawn"))),
                  sensitivity=strongest(more, given), suggestions=suggestions, severity=SEVERITY,
                  doubt=tell("It was not tried again since.") if value >= LEAST_MORE else "")


def _place(case: Case, of: str) -> Spot | None:
    """The tightest place of this name; of all where none is named."""
    found = [spot for spot in spots(case) if of in ("", spot.name) or (of in ("outer", "lip") and spot.normal is not None)]
    return min(found, key=lambda spot: spot.gap) if found else None
