"""What trial rows say: tables of rows with the answer each must give."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import itertools
import random

import pytest

from afterpart.errors import JobError
from afterpart.model.wishes import Trial
from afterpart.parts.trials import clearance_from_trials, fit_from_trials, pilot_from_trials

READERS = {"pilot": pilot_from_trials, "fit": fit_from_trials, "clearance": lambda given: clearance_from_trials(given, 2.4)}
LADDER = (2.30, 2.35, 2.40, 2.45, 2.50, 2.55)


def rows(results: str, what: str = "pilot", drawn: tuple[float, ...] = LADDER) -> tuple[Trial, ...]:
    """One row for each letter: N snapped, D drove, X stripped, T tight, R rubs, F fits, L loose, - not tried."""
    words = {"N": "snapped", "D": "drove", "X": "stripped", "T": "tight", "R": "rubs", "F": "fits", "L": "loose"}
    return tuple(Trial(what, d, words[r]) for d, r in zip(drawn, results, strict=False) if r != "-")


@pytest.mark.parametrize(
    ("results", "size", "low", "high"),
    [
        ("NNDDXX", 2.45, 2.35, 2.50),
        ("NDDDXX", 2.40, 2.30, 2.50),
        ("NDDDDX", 2.45, 2.30, 2.55),
        ("DDDDDD", 2.45, None, None),
        ("--D---", 2.40, None, None),
        ("N----X", None, 2.30, 2.55),
        ("NNNNNN", None, 2.55, None),
        ("XXXXXX", None, None, 2.30),
        ("NNNNND", 2.55, 2.50, None),
        ("DXXXXX", 2.30, None, 2.35),
    ],
)
def test_the_middle_hole_that_drove_is_the_pilot_of_two_the_wider(
    results: str, size: float | None, low: float | None, high: float | None
) -> None:
    choice = pilot_from_trials(rows(results))
    assert choice is not None and (choice.size, choice.low, choice.high) == (size, low, high)
    assert (f"{size:g}" if size else "suits") in choice.why


def test_every_table_is_either_in_order_or_refused() -> None:
    """All 3^5 tables of five holes: accepted exactly when the results never step back, and then never outside the bounds."""
    for letters in itertools.product("NDX", repeat=5):
        given = rows("".join(letters))
        in_order = list(letters) == sorted(letters, key="NDX".index)
        if not in_order:
            with pytest.raises(JobError, match="contradict"):
                pilot_from_trials(given)
            continue
        choice = pilot_from_trials(given)
        assert choice is not None
        assert (choice.size is not None) == ("D" in letters)
        if choice.size is not None:
            assert (choice.low or 0.0) < choice.size < (choice.high or 9.0)
            drove = [trial.drawn for trial in given if trial.result == "drove"]
            narrower, wider = (sum(sign * (d - choice.size) > 1e-9 for d in drove) for sign in (-1, 1))
            assert 0 <= narrower - wider <= 1, "as many on either side, or one more below"


def test_the_order_of_the_rows_does_not_matter() -> None:
    given = list(rows("NNDDXX"))
    first = pilot_from_trials(tuple(given))
    for seed in range(8):
        random.Random(seed).shuffle(given)
        assert pilot_from_trials(tuple(given)) == first


def test_contradicting_rows_are_named() -> None:
    with pytest.raises(JobError, match=r"rows 3 and 2 contradict each other: at 2.4 mm 'snapped', at 2.35 mm 'drove'"):
        pilot_from_trials(rows("NDNDXX"))
    both = (Trial("pilot", 2.4, "drove"), Trial("pilot", 2.4, "stripped"))
    with pytest.raises(JobError, match="rows 1 and 2"):
        pilot_from_trials(both)


@pytest.mark.parametrize(("what", "result"), [("pilot", "fits"), ("fit", "drove"), ("clearance", "stripped")])
def test_a_result_of_another_kind_is_refused(what: str, result: str) -> None:
    with pytest.raises(JobError, match=rf"row 1 .*{result}.*expected"):
        READERS[what]((Trial(what, 2.4, result),))


def test_a_diameter_of_nothing_is_refused() -> None:
    with pytest.raises(JobError, match="row 1: drawn = 0"):
        pilot_from_trials((Trial("pilot", 0.0, "drove"),))


@pytest.mark.parametrize(
    ("results", "size"), [("TRFFL", 0.2), ("TTRR-", None), ("--F-L", 0.2), ("FFFFF", 0.0), ("LLLLL", None)]
)
def test_the_fit_takes_the_smallest_clearance_that_fits(results: str, size: float | None) -> None:
    drawn = (0.0, 0.1, 0.2, 0.3, 0.4)
    choice = fit_from_trials(rows(results, "fit", drawn))
    assert choice is not None and choice.size == size


def test_kinds_do_not_mix() -> None:
    given = rows("NNDDXX") + rows("TF", "clearance", (3.2, 3.4)) + rows("RF", "fit", (0.1, 0.3))
    found = [pilot_from_trials(given), clearance_from_trials(given, 3.0), fit_from_trials(given)]
    assert [c.size for c in found if c is not None] == [2.45, 3.4, 0.3]
    assert fit_from_trials(rows("NNDDXX")) is None


def test_clearance_rows_of_two_screws_are_told_apart() -> None:
    given = rows("TFF", "clearance", (3.2, 3.4, 3.6)) + rows("TRF", "clearance", (6.2, 6.4, 6.6))
    found = [clearance_from_trials(given, nominal) for nominal in (3.0, 6.0, 4.0)]
    assert [c.size if c else None for c in found] == [3.4, 6.6, None]


def test_rows_of_one_hole_say_nothing_of_the_edge_or_of_another() -> None:
    """At 0.3 one hole rubs, another fits, the edge fits: no contradiction, each has its own."""
    given = (Trial("fit", 0.3, "rubs", of="c4"), Trial("fit", 0.4, "fits", of="c4"), Trial("fit", 0.3, "fits", of="c1"),
             Trial("fit", 0.2, "fits"))
    sizes = {of: fit_from_trials(given, of) for of in (("c4",), ("c1",), ("c2",))}
    assert [choice.size if choice else None for choice in sizes.values()] == [0.4, 0.3, None]
    edge = fit_from_trials(given)
    assert edge is not None and (edge.size, edge.low) == (0.2, None)
