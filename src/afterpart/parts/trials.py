"""What the maker's trial prints say: the pilot hole, the printer's holes, the clearance of the fit.

Words: a *row* is one [[trial]] of the job.  A screw *snapped* in a hole too small, *drove* in one that suits it, *stripped* in
one too large, so along growing diameters the results must stand in that order; likewise tight and rubs, fits, loose.
Conventions: mm; the drawn size is what the coupon's drawing said, the printed size what was measured on it.
Limits: results are taken as certain; rows that contradict each other are refused, not averaged.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from afterpart.errors import JobError
from afterpart.model.wishes import Trial
from afterpart.words import entry, tell, together, translated

TOO_SMALL = {"pilot": (entry("snapped"),), "clearance": (entry("tight"), entry("rubs")), "fit": ("tight", "rubs")}
SUITS = {"pilot": (entry("drove"),), "clearance": (entry("fits"),), "fit": ("fits",)}
TOO_LARGE = {"pilot": (entry("stripped"),), "clearance": (entry("loose"),), "fit": ("loose",)}
BELONGS = (0.9, 1.3)
"""A clearance hole is at most this much larger than its screw (ISO 273 coarse is up to 1.2 times), and hardly drawn smaller."""
EDGES = ("", "outer", "lip")
"""What a row of the fit is of where it is of the edge that meets the machine, and of no one hole."""
_FIX = entry("measure or try these again and correct or delete the row that is wrong")


@dataclass(frozen=True)
class TrialChoice:
    """What rows of one kind settle.  size: the diameter (or clearance) to use, None where none suited; low, high: the tried
    sizes next to it that were too small and too large, None where none was; why: in words."""

    size: float | None
    low: float | None
    high: float | None
    why: str


def pilot_from_trials(trials: tuple[Trial, ...]) -> TrialChoice | None:
    """The pilot hole that the rows of what = "pilot" settle; None: no such row.

    Of the holes in which the screw drove the middle one; of an even number the wider of the two in the middle.  A neighbour of
    a hole that snapped or split leaves no reserve against a print that comes out narrower, one of a hole that stripped none
    against a wider one; where there is no middle, a screw that holds a little less is mended sooner than a stump in its boss.
    JobError: rows contradict each other, or a result that is none of a pilot hole's.
    """
    return _settled(trials, "pilot")


def clearance_from_trials(trials: tuple[Trial, ...], nominal: float) -> TrialChoice | None:
    """The smallest clearance hole that fitted a screw or bolt of this diameter; None: no row of what = "clearance" for it.

    A row is about the screw whose diameter its hole comes next to: drawn between the two shares BELONGS of it.
    JobError: as for the pilot hole.
    """
    low, high = BELONGS
    return _settled(trials, "clearance", lambda t: low * nominal < t.drawn <= high * nominal)


def fit_from_trials(trials: tuple[Trial, ...], of: tuple[str, ...] = EDGES) -> TrialChoice | None:
    """The smallest clearance that fitted at the edge, or at the hole named in `of`; None: no row of what = "fit" there.

    JobError: as for the pilot hole."""
    return _settled(trials, "fit", lambda t: t.of in of)


def _settled(trials: tuple[Trial, ...], what: str, concerns: Callable[[Trial], bool] = lambda _: True) -> TrialChoice | None:
    rows = [(number, trial) for number, trial in enumerate(trials, start=1) if trial.what == what and concerns(trial)]
    if not rows:
        return None
    for number, trial in rows:
        _refuse_unknown(number, trial)
    small, right, large = (_sorted(rows, names[what]) for names in (TOO_SMALL, SUITS, TOO_LARGE))
    _refuse_contradictions(small, right, large)
    low = small[-1][1].drawn if small else None
    high = large[0][1].drawn if large else None
    suited = sorted({trial.drawn for _, trial in right})
    size = (suited[len(suited) // 2] if what == "pilot" else suited[0]) if suited else None
    return TrialChoice(size, low, high, _in_words(what, size, low, high, tuple(suited)))


def _refuse_unknown(number: int, trial: Trial) -> None:
    known = (*TOO_SMALL[trial.what], *SUITS[trial.what], *TOO_LARGE[trial.what])
    if trial.result not in known:
        raise JobError(tell("[[trial]] row {number} (what = {what!r}, drawn = {drawn:g}): result {result!r} found, one of "
                            "{known} expected; write down what was seen", number=number, what=trial.what, drawn=trial.drawn,
                            result=trial.result, known=", ".join(known)))
    if not trial.drawn > 0 and trial.what != "fit":
        raise JobError(tell("[[trial]] row {number}: drawn = {drawn:g} found, above 0 expected; see the coupon's table",
                            number=number, drawn=trial.drawn))


def _sorted(rows: list[tuple[int, Trial]], results: tuple[str, ...]) -> list[tuple[int, Trial]]:
    return sorted((r for r in rows if r[1].result in results), key=lambda r: r[1].drawn)


def _refuse_contradictions(*groups: list[tuple[int, Trial]]) -> None:
    """Every row of an earlier group must be drawn smaller than every row of a later one."""
    for i, lower in enumerate(groups):
        for upper in groups[i + 1 :]:
            if lower and upper and lower[-1][1].drawn >= upper[0][1].drawn - 1e-9:
                (first, a), (second, b) = lower[-1], upper[0]
                raise JobError(tell("[[trial]] rows {first} and {second} contradict each other: at {drawn:g} mm {result!r}, at "
                                    "{drawn_2:g} mm {result_2!r}, but {result!r} must come at a smaller size than {result_2!r}; "
                                    "{fix}", first=first, second=second, drawn=a.drawn, result=a.result, drawn_2=b.drawn,
                                    result_2=b.result, fix=_FIX))


def _in_words(what: str, size: float | None, low: float | None, high: float | None, suited: tuple[float, ...]) -> str:
    thing = {"pilot": tell("pilot hole"), "clearance": tell("clearance hole"), "fit": tell("clearance of the fit")}[what]
    if size is None:
        bounds = [tell("larger than {low:g}", low=low)] if low is not None else []
        bounds += [tell("smaller than {high:g}", high=high)] if high is not None else []
        return tell("no {thing} tried so far suits; print a coupon with sizes {bounds} mm", thing=thing,
                    bounds=together(bounds))
    told = [tell("{thing} {size:g} mm: the {place_among} that {suits}", thing=thing, size=size,
                 place_among=_place_among(what, suited), suits=translated(SUITS[what][0])),
            tell("{low:g} mm {too_small}", low=low, too_small=translated(TOO_SMALL[what][0])) if low is not None
            else tell("smaller ones were not tried"),
            tell("{high:g} mm {too_large}", high=high, too_large=translated(TOO_LARGE[what][0])) if high is not None else ""]
    return ", ".join(filter(None, told))


def _place_among(what: str, suited: tuple[float, ...]) -> str:
    """Which of those that suited was taken."""
    if len(suited) == 1:
        return tell("only one")
    if what != "pilot":
        return "smallest"
    if len(suited) == 2:
        return tell("wider of the two ({suited:g} and {suited_2:g} mm)", suited=suited[0], suited_2=suited[1])
    return tell("middle one of those ({suited:g} to {suited_2:g} mm)", suited=suited[0], suited_2=suited[-1])
